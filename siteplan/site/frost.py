"""Winters and soils as a site states them, and as the tables know them: what a frost depth is computed from."""

from __future__ import annotations

from dataclasses import dataclass

from siteplan.site.features import Source

_GRAIN_DENSITY = 2750.0
"""Density of soil grains [kg/m3], at the heavy end of common minerals (common practice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FrostSoil:
    """One soil as the frost depth knows it: how well it conducts, and where the equations of that hold.

    Attributes
    ----------
    unfrozen : (a, b, c)
        k = (a log10 w + b) 10^(c r) in W/(m K), with water w in percent and dry density r in kg/m3.
    frozen : (a, b, c, d)
        k = a 10^(b r) + c w 10^(d r).
    density_kg_m3 : (least, most)
    least_water_percent : float
    """

    id: str
    name: str
    unfrozen: tuple[float, float, float]
    frozen: tuple[float, float, float, float]
    density_kg_m3: tuple[float, float]
    least_water_percent: float
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FrostSurface:
    """One surface as the frost depth knows it: its n-factor where snow is left lying, and where it is cleared off."""

    id: str
    name: str
    n: float
    n_cleared: float
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FrostInputs:
    """The inputs of a computed frost depth.

    Attributes
    ----------
    freezing_index_c_days : float
        Air freezing index [C-days], of the winter that the depth is for: above 0.
    mean_annual_c : float
        Mean annual air temperature [°C], taken as that of the ground below the frost: above 0 (no permafrost).
    season_days : float
        Length of the freezing season [days].
    n_factor : float
        Freezing index of the surface over that of the air, 0 to 1.
    surface : str
        The surface in words, as they print.
    soil : str
        A soil of ``layers/frost_soils.toml``.
    dry_density_kg_m3, water_percent : float
        Dry density [kg/m3], and water in percent of the dry weight.
    """

    freezing_index_c_days: float
    mean_annual_c: float
    season_days: float
    n_factor: float
    surface: str
    soil: str
    dry_density_kg_m3: float
    water_percent: float
    source: Source


def most_water_percent(dry_density_kg_m3: float) -> float:
    """Water [% of dry weight] that fills all pores of a mineral soil of a dry density [kg/m3] below that of its grains.

    >>> round(most_water_percent(1602), 1)
    26.1
    """
    return 100 * 1000.0 * (1 / dry_density_kg_m3 - 1 / _GRAIN_DENSITY)
