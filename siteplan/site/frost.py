"""What a site states of its winters and its soil, so that a frost depth can be computed beside the adopted one."""

from __future__ import annotations

from dataclasses import dataclass

from siteplan.site.features import Source

_GRAIN_DENSITY = 2750.0
"""Density of soil grains [kg/m3], at the heavy end of common minerals (common practice, no source)."""


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
