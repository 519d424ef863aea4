"""The computed frost depth against what manuals and textbooks print, and against a numerical solution of its own equation."""

from __future__ import annotations

from math import erf, erfc, exp, pi, sqrt

import numpy as np
import pytest

from siteplan.rules.frost import (
    DAY_S,
    LATENT_HEAT_J_KG,
    berggren_coefficient,
    computed_frost,
    conductivity_w_m_k,
    heat_capacity_j_m3_k,
    latent_heat_j_m3,
    stefan_depth_m,
)
from siteplan.site.catalogue import frost_surfaces
from siteplan.site.features import Source
from siteplan.site.frost import FrostInputs

PCF = 16.018463
BTU_FT3 = 37_258.9458
BTU_FT3_F = 67_066.1024
BTU_H_FT_F = 1.7307347
FOOT = 0.3048


def test_latent_heat_of_water() -> None:
    """UFC 3-130-05 chapter 12 prints 144 x 62.4 = 8986 Btu/ft3 (read)."""
    water = LATENT_HEAT_J_KG * 62.4 * PCF / BTU_FT3
    assert water == pytest.approx(8986, abs=1)


@pytest.mark.parametrize(
    ("surface", "n"),
    [
        ("concrete", 0.75),
        ("asphalt", 0.7),
        ("bare_soil", 0.7),
        ("shaded", 0.9),
        ("turf", 0.5),
        ("trees", 0.3),
    ],
)
def test_n_factors(surface: str, n: float) -> None:
    """UFC 3-130-04 (TM 5-852-4) table 4-1, freezing (read). Cleared of snow, no surface counts for less."""
    row = frost_surfaces()[surface]
    assert row.n == n
    assert row.n_cleared >= max(n, 0.7)


@pytest.mark.parametrize(
    ("soil", "pcf", "water", "frozen", "unfrozen"),
    [
        ("sandy", 130, 5, 1.3, 1.5),
        ("sandy", 130, 10, 2.4, 1.8),
        ("sandy", 120, 5, 1.0, 1.2),
        ("sandy", 120, 15, 2.3, 1.6),
        ("silt-clay", 120, 10, 1.0, 0.9),
        ("silt-clay", 110, 10, 0.8, 0.7),
        ("silt-clay", 110, 18, 1.2, 1.0),
        ("silt-clay", 100, 10, 0.6, 0.6),
        ("silt-clay", 100, 20, 1.0, 0.8),
        ("silt-clay", 90, 10, 0.5, 0.5),
        ("silt-clay", 90, 30, 1.2, 0.7),
        ("silt-clay", 100, 15, 0.80, 0.72),
        ("sandy", 135, 5, 1.80, 1.65),
    ],
)
def test_conductivity(soil: str, pcf: float, water: float, frozen: float, unfrozen: float) -> None:
    """Geotechnical Engineering, 5th ed., table 11.1 after Kersten, Btu/(h ft F); the last two rows: a pavement guide that reads
    Kersten's charts. All secondary. The table prints tenths; the worst miss is the frozen gravel base, off a chart: 11 %.
    """
    own = [k / BTU_H_FT_F for k in conductivity_w_m_k(soil, pcf * PCF, water)]
    for mine, printed in zip(own, (frozen, unfrozen), strict=True):
        assert abs(mine - printed) <= max(0.0501, 0.11 * printed)


def test_stefan_with_a_printed_answer() -> None:
    """Geotechnical Engineering, 5th ed., example 11.7 (secondary): sandy soil, 120 pcf, 12 % water, -5 C for 10 days.

    It prints k = 3.3 W/(m K), L = 77 000 kJ/m3, and a depth of 0.6 m (24 in). Our equations give k = 3.5.
    """
    assert round(stefan_depth_m(3.3, 50, 77e6), 1) == 0.6
    latent = latent_heat_j_m3(120 * PCF, 12)
    assert latent == pytest.approx(77e6, rel=0.005)
    frozen, _ = conductivity_w_m_k("sandy", 120 * PCF, 12)
    assert frozen == pytest.approx(3.3, rel=0.08)
    assert stefan_depth_m(frozen, 50, latent) / 0.0254 == pytest.approx(24, abs=1)


EXAMPLE_A = FrostInputs(
    freezing_index_c_days=2500 / 1.8,
    mean_annual_c=(37.2 - 32) / 1.8,
    season_days=160,
    n_factor=1.0,
    surface="as stated",
    soil="silt-clay",
    dry_density_kg_m3=100 * PCF,
    water_percent=15,
    source=Source(file="site.toml"),
)


def test_modified_berggren_with_a_printed_answer() -> None:
    """TM 5-852-6 paragraph 3-3, all numbers from memory: L 2160, C 28.3, vs 15.6, alpha .33, mu .20, lambda .89; 5.8 ft."""
    found = computed_frost(EXAMPLE_A)
    assert found.latent_heat_j_m3 / BTU_FT3 == pytest.approx(2160, abs=1)
    assert found.heat_capacity_j_m3_k / BTU_FT3_F == pytest.approx(28.3, abs=0.1)
    assert found.frozen_w_m_k / BTU_H_FT_F == pytest.approx(0.80, abs=0.01)
    assert found.unfrozen_w_m_k / BTU_H_FT_F == pytest.approx(0.72, abs=0.01)
    assert found.chill_c * 1.8 == pytest.approx(15.6, abs=0.05)
    assert found.thermal_ratio == pytest.approx(0.33, abs=0.005)
    assert found.fusion_parameter == pytest.approx(0.20, abs=0.005)
    assert found.coefficient == pytest.approx(0.89, abs=0.01)
    assert round(found.depth_m / FOOT, 1) == 5.8


def test_coefficient_against_the_closed_form() -> None:
    """Aldrich and Paynter 1953, equation 2-33, as a university climate group uses it (secondary): 0.926 at alpha .33, mu .20.

    The chart reads 0.89 there (from memory). Neumann's solution sides with the chart.
    """
    closed = 1 / sqrt(1 + 0.2 * (0.33 + 0.5))
    assert closed == pytest.approx(0.926, abs=0.001)
    own = berggren_coefficient(0.33, 0.20)
    assert abs(own - 0.89) < abs(closed - 0.89) / 3


def test_coefficient_of_soil_at_the_freezing_point() -> None:
    """With alpha 0 it is Neumann's one-phase problem: at mu (the Stefan number) 1 its root is 0.6201 (textbooks, from memory)."""
    assert berggren_coefficient(0.0, 1.0) / sqrt(2) == pytest.approx(0.6201, abs=0.0001)


@pytest.mark.parametrize(
    ("alpha", "mu"), [(0.0, 0.01), (0.33, 0.2), (2.0, 0.2), (1.0, 1.0), (200.0, 0.001), (0.0, 10.0)]
)
def test_root_of_neumann_s_equation(alpha: float, mu: float) -> None:
    """Heat that leaves the front upward, less what reaches it from below, freezes the soil (Carslaw and Jaeger, ch. 11)."""
    g = berggren_coefficient(alpha, mu) * sqrt(mu / 2)
    up, below = exp(-g * g) / erf(g), alpha * exp(-g * g) / erfc(g)
    assert up - below == pytest.approx(g * sqrt(pi) / mu, rel=1e-9)


@pytest.mark.parametrize(
    ("mean_annual_c", "chill_c", "days", "soil", "pcf", "water"),
    [
        (2.89, 8.68, 160, "silt-clay", 100, 15),
        (7.5, 6.0, 120, "sandy", 120, 8),
        (10.0, 3.0, 60, "silt-clay", 110, 12),
    ],
)
def test_against_finite_differences(
    mean_annual_c: float, chill_c: float, days: float, soil: str, pcf: float, water: float
) -> None:
    """The enthalpy method on a grid of its own: no error function, no root. 240 cells over five Stefan depths, 1.5 %."""
    one = FrostInputs(
        freezing_index_c_days=chill_c * days,
        mean_annual_c=mean_annual_c,
        season_days=days,
        n_factor=1.0,
        surface="as stated",
        soil=soil,
        dry_density_kg_m3=pcf * PCF,
        water_percent=water,
        source=Source(file="site.toml"),
    )
    found = computed_frost(one)
    latent, capacity = latent_heat_j_m3(pcf * PCF, water), heat_capacity_j_m3_k(pcf * PCF, water)
    conductivity = sum(conductivity_w_m_k(soil, pcf * PCF, water)) / 2
    step_m = 5 * found.stefan_m / 240
    count = int(days * DAY_S / (0.4 * step_m**2 * capacity / conductivity)) + 1
    step_s = days * DAY_S / count
    heat = np.full(240, latent + capacity * mean_annual_c)
    for _ in range(count):
        warm = (np.minimum(heat, 0) + np.maximum(heat - latent, 0)) / capacity
        flow = -conductivity * np.diff(warm) / step_m
        top = -conductivity * (warm[0] + chill_c) / (step_m / 2)
        heat -= step_s / step_m * np.diff(flow, prepend=top, append=0.0)
    frozen_m = float(np.sum(1 - np.clip(heat / latent, 0, 1))) * step_m
    assert found.depth_m == pytest.approx(frozen_m, rel=0.015)
    assert found.depth_m < found.stefan_m
