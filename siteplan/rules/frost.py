"""Frost depth computed from the winter and the soil of a site, to stand beside the adopted one.

The formulas of Stefan and of Berggren (modified) as UFC 3-130-06 (TM 5-852-6) uses them: one soil from the surface down, at the
mean annual temperature when the winter begins, and a surface that is then cold by the same degrees for the whole season. They
take no credit for snow on the ground, for insulation or for heat from a building.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import ceil, erf, erfc, exp, log10, pi, sqrt

from siteplan.rules.citation import Citation
from siteplan.site.catalogue import frost_soils, frost_surfaces
from siteplan.site.frost import FrostInputs
from siteplan.units import Length, LengthUnit, Printer

LATENT_HEAT_J_KG = 144 * 2326.0
"""Latent heat of fusion of water [J/kg]: 144 Btu/lb (UFC 3-130-05 chapter 12: 144 x 62.4 = 8986 Btu/ft3)."""
GRAIN_HEAT_J_KG_K = 0.17 * 4186.8
"""Heat capacity of dry soil [J/(kg K)]: 0.17 Btu/(lb F) in TM 5-852-6, read second-hand. UFC 3-130-05 takes 0.2."""
WATER_HEAT_J_KG_K = 0.75 * 4186.8
"""Mean heat capacity of water (1.0) and ice (0.5 Btu/(lb F)) [J/(kg K)], as the same manual averages them."""
DAY_S = 86_400.0
_STEPS: dict[LengthUnit, float] = {"in": 1.0, "ft": 0.1, "m": 0.01, "cm": 1.0, "mm": 10.0}

CITATION = Citation(
    row="computed-frost",
    layer="site",
    text="frost depth computed by the modified Berggren formula, UFC 3-130-06 (TM 5-852-6)",
    url="http://buildingcriteria1.tpub.com/ufc_3_130_04/ufc_3_130_040167.htm",
    standing="memory",
    force="advised",
    note="the form of the formula was read, its soil equations are from memory; never lessens an adopted depth",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class ComputedFrost:
    """A computed frost depth and every number on the way to it.

    Attributes
    ----------
    inputs : FrostInputs
        What it was computed from.
    surface_index_c_days : float
        Freezing index of the surface [C-days].
    chill_c : float
        Mean of the surface below freezing over the season [°C].
    frozen_w_m_k, unfrozen_w_m_k : float
        Conductivity of the soil [W/(m K)].
    latent_heat_j_m3, heat_capacity_j_m3_k : float
        Latent heat [J/m3], and heat capacity [J/(m3 K)] averaged over frozen and unfrozen soil.
    thermal_ratio, fusion_parameter, coefficient : float
        alpha, mu and lambda of the modified Berggren formula.
    stefan_m, depth_m : float
        Depth [m] by the Stefan formula with the mean conductivity, and ``coefficient`` times that: the frost depth.
    """

    inputs: FrostInputs
    surface_index_c_days: float
    chill_c: float
    frozen_w_m_k: float
    unfrozen_w_m_k: float
    latent_heat_j_m3: float
    heat_capacity_j_m3_k: float
    thermal_ratio: float
    fusion_parameter: float
    coefficient: float
    stefan_m: float
    depth_m: float

    def rounded_up(self, unit: LengthUnit) -> Length:
        """Return the depth up to the next whole inch or centimetre (0.1 ft, 0.01 m), in the unit of a rule."""
        step = _STEPS[unit]
        steps = ceil(self.depth_m / Length(step, unit).metres - 1e-9)
        return Length(round(steps * step, 2), unit)


def latent_heat_j_m3(dry_density_kg_m3: float, water_percent: float) -> float:
    """Latent heat of the water in a soil [J/m3], for a dry density [kg/m3] and water [% of dry weight], all of which freezes.

    UFC 3-130-05 chapter 12.

    >>> round(latent_heat_j_m3(1922, 12) / 1e6, 2)  # a textbook prints 77 MJ/m3
    77.25
    """
    return LATENT_HEAT_J_KG * dry_density_kg_m3 * water_percent / 100


def heat_capacity_j_m3_k(dry_density_kg_m3: float, water_percent: float) -> float:
    """Heat capacity of a soil [J/(m3 K)], averaged over frozen and unfrozen; TM 5-852-6 chapter 2, read second-hand.

    >>> round(heat_capacity_j_m3_k(1601.85, 15) / 1e6, 3)
    1.895
    """
    return dry_density_kg_m3 * (GRAIN_HEAT_J_KG_K + WATER_HEAT_J_KG_K * water_percent / 100)


def conductivity_w_m_k(soil: str, dry_density_kg_m3: float, water_percent: float) -> tuple[float, float]:
    """Conductivity of a soil, frozen and unfrozen.

    Parameters
    ----------
    soil : str
        A soil of ``layers/frost_soils.toml``, which names the source (Kersten 1949) and the ranges.
    dry_density_kg_m3, water_percent : float
        Dry density [kg/m3], and water in percent of the dry weight, above 0.

    Returns
    -------
    tuple of float
        [W/(m K)]; measured soils lie within about 25 %.

    Examples
    --------
    >>> [round(k, 2) for k in conductivity_w_m_k("silt-clay", 1601.85, 15)]
    [1.39, 1.24]
    """
    row = frost_soils()[soil]
    a, b, c = row.unfrozen
    p, q, r, s = row.frozen
    density, water = dry_density_kg_m3, water_percent
    unfrozen = (a * log10(water) + b) * 10 ** (c * density)
    return p * 10 ** (q * density) + r * water * 10 ** (s * density), unfrozen


def stefan_depth_m(conductivity: float, surface_index_c_days: float, latent_heat: float) -> float:
    """Frost depth by the Stefan formula, all heat being latent: deeper than the frost really goes.

    Parameters
    ----------
    conductivity : float
        Of the frozen soil, or its mean with the unfrozen one under the modified Berggren formula [W/(m K)].
    surface_index_c_days : float
        Freezing index of the surface [C-days].
    latent_heat : float
        Latent heat of the soil [J/m3], above 0.

    Returns
    -------
    float
        Depth [m]: sqrt(2 k n FI / L).

    Examples
    --------
    >>> round(stefan_depth_m(3.3, 50, 77e6), 3)  # Geotechnical Engineering, 5th ed., example 11.7: 0.6 m
    0.609
    """
    return sqrt(2 * conductivity * surface_index_c_days * DAY_S / latent_heat)


def berggren_coefficient(thermal_ratio: float, fusion_parameter: float) -> float:
    """Coefficient lambda of the modified Berggren formula: the share of the Stefan depth to which the frost goes.

    The manual reads it off a chart, which Aldrich and Paynter drew from Neumann's solution with one mean conductivity and heat
    capacity for frozen and unfrozen soil. Here that solution itself is solved: with g = lambda sqrt(mu / 2),
    exp(-g²) (1 / erf g - alpha / erfc g) = g sqrt(pi) / mu. It has one root, and lambda is at most 1. Their closed form
    1 / sqrt(1 + mu (alpha + 0.5)) is not used: it lies far above in mild places (0.82 against 0.64 at alpha = 2, mu = 0.2).

    Parameters
    ----------
    thermal_ratio : float
        alpha: mean annual temperature above freezing, over the mean chill of the surface; 0 or more.
    fusion_parameter : float
        mu: heat capacity times the mean chill, over the latent heat; above 0 and up to 10.

    Returns
    -------
    float
        Above 0 and up to 1.

    Raises
    ------
    ValueError
        Out of these ranges.

    Examples
    --------
    >>> round(berggren_coefficient(0.33, 0.20), 2)  # the chart: 0.89 (TM 5-852-6 paragraph 3-3, from memory)
    0.9
    """
    if not (thermal_ratio >= 0 and 0 < fusion_parameter <= 10):
        raise ValueError(f"no coefficient for alpha = {thermal_ratio}, mu = {fusion_parameter}")
    low, high = 0.0, sqrt(fusion_parameter / 2)
    for _ in range(60):
        g = (low + high) / 2
        gain = exp(-g * g) * (1 / erf(g) - thermal_ratio / erfc(g))
        low, high = (g, high) if gain > g * sqrt(pi) / fusion_parameter else (low, g)
    return high * sqrt(2 / fusion_parameter)


def computed_frost(inputs: FrostInputs) -> ComputedFrost:
    """Compute the frost depth by the modified Berggren formula.

    Parameters
    ----------
    inputs : FrostInputs
        Within its ranges.

    Returns
    -------
    ComputedFrost
        lambda sqrt(2 k n FI / L), k the mean of frozen and unfrozen soil (UFC 3-130-06; in feet sqrt(48 k n FI / L)).

    Raises
    ------
    ValueError
        Inputs far out of their ranges.
    """
    frozen, unfrozen = conductivity_w_m_k(inputs.soil, inputs.dry_density_kg_m3, inputs.water_percent)
    latent = latent_heat_j_m3(inputs.dry_density_kg_m3, inputs.water_percent)
    capacity = heat_capacity_j_m3_k(inputs.dry_density_kg_m3, inputs.water_percent)
    surface_index = inputs.n_factor * inputs.freezing_index_c_days
    chill = surface_index / inputs.season_days
    alpha, mu = inputs.mean_annual_c / chill, chill * capacity / latent
    coefficient = berggren_coefficient(alpha, mu)
    stefan = stefan_depth_m((frozen + unfrozen) / 2, surface_index, latent)
    return ComputedFrost(
        inputs=inputs,
        surface_index_c_days=surface_index,
        chill_c=chill,
        frozen_w_m_k=frozen,
        unfrozen_w_m_k=unfrozen,
        latent_heat_j_m3=latent,
        heat_capacity_j_m3_k=capacity,
        thermal_ratio=alpha,
        fusion_parameter=mu,
        coefficient=coefficient,
        stefan_m=stefan,
        depth_m=coefficient * stefan,
    )


def frost_under(inputs: FrostInputs, cover_class: str) -> ComputedFrost:
    """Compute the frost depth under one class of surface: what traffic or paving keeps bare freezes at least as a pavement."""
    pavement = frost_surfaces()["concrete"]
    if cover_class == "yard" or inputs.n_factor >= pavement.n_cleared:
        return computed_frost(inputs)
    surface = f"{pavement.name}, snow cleared off"
    return computed_frost(replace(inputs, n_factor=pavement.n_cleared, surface=surface))


def frost_used(
    adopted: Length | None, computed: ComputedFrost | None, unit: LengthUnit
) -> tuple[Length | None, str]:
    """Return the deeper of the adopted and the computed frost depth, and the words for it; ``unit`` holds if none is adopted.

    >>> frost_used(Length(42, "in"), None, "in")
    (Length(value=42, unit='in'), 'frost 42 in')
    """
    if computed is None:
        return adopted, f"frost {adopted}" if adopted else "frost"
    if adopted is None:
        depth = computed.rounded_up(unit)
        return depth, f"frost {depth} computed (none adopted)"
    depth = computed.rounded_up(adopted.unit)
    if depth.metres > adopted.metres:
        return depth, f"frost {depth} computed (adopted {adopted})"
    return adopted, f"frost {adopted} adopted (computed {depth})"


def frost_words(computed: ComputedFrost, printer: Printer) -> tuple[str, ...]:
    """Tell how a frost depth was computed: its inputs, each step and its limits, as lines to print."""
    one, show = computed.inputs, printer.ground
    soil = frost_soils()[one.soil]
    mean = (computed.frozen_w_m_k + computed.unfrozen_w_m_k) / 2
    return (
        f"computed frost depth {printer.short(computed.depth_m)} by the modified Berggren formula (UFC 3-130-06)",
        f"  winter: air freezing index {show(one.freezing_index_c_days, 'freezing_index')} in a season of "
        f"{show(one.season_days, 'season')}; mean annual temperature {show(one.mean_annual_c, 'temperature')}",
        f"  surface: {one.surface}, n-factor {one.n_factor:g}: surface index "
        f"{show(computed.surface_index_c_days, 'freezing_index')}, on average {show(computed.chill_c, 'chill')}",
        f"  soil: {soil.name}, dry density {show(one.dry_density_kg_m3, 'dry_density')}, "
        f"water {show(one.water_percent, 'water')} of the dry weight",
        f"  conductivity frozen {show(computed.frozen_w_m_k, 'conductivity')}, unfrozen "
        f"{show(computed.unfrozen_w_m_k, 'conductivity')}, mean {show(mean, 'conductivity')}",
        f"  {soil.source}",
        f"  latent heat {show(computed.latent_heat_j_m3, 'latent_heat')}, "
        f"heat capacity {show(computed.heat_capacity_j_m3_k, 'heat_capacity')}",
        f"  Stefan depth {printer.short(computed.stefan_m)} x {computed.coefficient:.3f} "
        f"(thermal ratio {computed.thermal_ratio:.2f}, fusion parameter {computed.fusion_parameter:.2f})",
        "  soils differ from the equations by about 25 %, the depth by 12 %; a computed depth never lessens an adopted one",
        "  no credit for snow on the ground, and none for insulation unless the rules grant it",
    )
