"""Earthwork against published tables; numbers and sources as printed there."""

from __future__ import annotations

from math import atan, degrees

import pytest

from siteplan.measure.earthwork import compacted_m3, loose_m3, pile, prismoidal_m3, trench_m3
from siteplan.site.catalogue import Soil, soils
from siteplan.units import CUBIC_YARD_M3, FOOT_M


def yards_of_cut(base_ft: float, slope: float, cut_ft: float) -> float:
    """Cubic yards in 100 ft of cut with a level bottom."""
    cut_m = cut_ft * FOOT_M
    return trench_m3(100 * FOOT_M, base_ft * FOOT_M, slope, cut_m, cut_m) / CUBIC_YARD_M3


# Vose, Handbook of Railroad Construction (19th century, public domain), section 106: cubic yards in 100 ft of cut, side slopes
# 1.5 : 1 (earth) and 0.25 : 1 (rock). The page does not print the base widths; 19 and 18 ft were fitted, so the first two rows
# of each column check nothing on their own. The row for 7 ft of earth is garbled in the scan and left out.
@pytest.mark.parametrize(
    ("cut_ft", "earth_cy", "rock_cy"),
    [
        (1, 76, 68),
        (2, 163, 137),
        (3, 261, 208),
        (4, 371, 282),
        (5, 491, 356),
        (6, 622, 433),
        (8, 919, 593),
        (9, 1083, 675),
        (10, 1260, 759),
    ],
)
def test_railroad_table_of_cuts(cut_ft: float, earth_cy: float, rock_cy: float) -> None:
    assert yards_of_cut(19, 1.5, cut_ft) == pytest.approx(earth_cy, abs=1)
    assert yards_of_cut(18, 0.25, cut_ft) == pytest.approx(rock_cy, abs=1)


def test_swell_from_densities() -> None:
    # A worked exercise (question 30170401 of a solutions site, a weak source): 2000 lb of soil weighing 3400 lb/CY in the bank
    # and 2700 lb/CY loose is 0.59 CY in the bank, 0.74 CY loose; swell 26 % on the bank volume.
    soil = soil_of(swell=3400 / 2700 - 1, shrink=0.0)
    bank_cy = 2000 / 3400
    assert bank_cy == pytest.approx(0.59, abs=0.005)
    assert loose_m3(bank_cy, soil) == pytest.approx(0.74, abs=0.005)
    assert 100 * soil.swell == pytest.approx(26, abs=0.5)


def test_sand_in_bank_loose_and_compacted() -> None:
    # US Navy NAVEDTRA, Engineering Aid, Table 10-1 Soil Conversion Factors (quoted second-hand): 100 CY of sand in place is
    # 111 CY loose and 95 CY compacted.
    sand = soils()["sand"]
    assert loose_m3(100.0, sand) == pytest.approx(111, abs=0.5)
    assert compacted_m3(100.0, sand) == pytest.approx(95, abs=0.5)


@pytest.mark.parametrize(("run", "angle_deg"), [(0.75, 53), (1.0, 45), (1.5, 34)])
def test_steepest_slopes_are_the_printed_angles(run: float, angle_deg: float) -> None:
    # 29 CFR 1926 subpart P appendix B, Table B-1 (two restatements agree): 3/4:1, 1:1 and 1 1/2:1 for types A, B and C, printed
    # as 53, 45 and 34 degrees. A wedge of the side slope alone has that angle.
    wedge_m2 = trench_m3(1.0, 0.0, run, 1.0, 1.0)
    assert degrees(atan(1 / wedge_m2)) == pytest.approx(angle_deg, abs=0.5)


def test_varying_depth_is_exact() -> None:
    # Prismoidal formula V = L (A1 + 4 Am + A2) / 6 as stated in surveying texts. 100 ft, 2 ft bottom, 1 : 1, 4 to 6 ft deep:
    # the integral is 3533.333 cu ft; average end areas give 3600.
    exact_cuft = trench_m3(100 * FOOT_M, 2 * FOOT_M, 1.0, 4 * FOOT_M, 6 * FOOT_M) / FOOT_M**3
    assert exact_cuft == pytest.approx(3533.3333, abs=1e-3)
    assert exact_cuft / 27 == pytest.approx(130.864, abs=1e-3)


def test_pyramid() -> None:
    # Railroad construction text (public-domain scan), section 110: average end areas are off by a half of the true volume in the
    # extreme case, a pyramid of base 30 and height 100: 1000 true, 1500 by end areas.
    assert prismoidal_m3(100, 30, 30 / 4, 0) == pytest.approx(1000, abs=1e-9)


def test_pile_holds_what_was_dug() -> None:
    # Triangle of width 2 sqrt(A / tan r) (own geometry): its area is A and its sides stand at r.
    height_m, width_m = pile(1.7, soils()["sand"])
    assert height_m * width_m / 2 == pytest.approx(1.7)
    assert degrees(atan(height_m / (width_m / 2))) == pytest.approx(34)


def soil_of(*, swell: float, shrink: float) -> Soil:
    return Soil(
        id="x", name="x", osha_class="C", swell=swell, shrink=shrink, repose_deg=35, source="as tested"
    )
