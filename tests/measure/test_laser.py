"""The rod: what is read at the trench bottom, and where one reading holds."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import box
from trench_scene import FT, HOUSE, IN, PIPE_OD_M, WELL, feature, layout, reach, requirements, site

from siteplan.measure import measure
from siteplan.measure.laser import HELD_WITHIN_FT_M, LEAST_HELD_FT_M
from siteplan.measure.model import BenchMark, Works
from siteplan.plane.ground import GroundSurface
from siteplan.route.model import Bored
from siteplan.site.site import StatedMark

CUT_M = 54 * IN + PIPE_OD_M + 4 * IN


def valley(*grades_m: float) -> GroundSurface:
    """Ground that changes every 5 m along x, level across."""
    return GroundSurface([(5.0 * n, y, grade) for n, grade in enumerate(grades_m) for y in (-60, 60)])


def works(ground: GroundSurface | None, **more: object) -> Works:
    return measure(replace(site(), **more), requirements(), layout(reach((0, 0), (30, 0))), ground)  # type: ignore[arg-type]


def test_a_level_run_of_the_handbooks() -> None:
    """Two published runs of the height-of-instrument method, in ft.

    Differential levelling in a study guide for the FE surveying examination (open-exam-prep.com, FE surveying, section 7.5): mark
    100.00, rod on it 4.20, rod at the first turning point 2.50, its elevation 101.70. A leveling example of polycalc.online (FE,
    surveying): mark 520.50, rod 4.25, turning point 517.95 with a rod of 6.80.
    """
    for mark, back, elevation, fore in ((100.00, 4.20, 101.70, 2.50), (520.50, 4.25, 517.95, 6.80)):
        assert back + BenchMark(elevation_m=mark * FT).below_m(elevation * FT) / FT == pytest.approx(fore)


def test_without_a_stated_mark_it_is_the_ground_at_the_casing() -> None:
    made = works(valley(*[100 + 0.5 * n for n in range(7)]))
    mark = made.bench_mark
    assert mark is not None
    assert (mark.at, mark.reach, mark.distance_m) == ("", "Main", 0.0)
    assert mark.elevation_m == pytest.approx(100.0)
    casing = made.stations[0]
    assert casing.bottom_m is not None
    assert mark.below_m(casing.bottom_m) == pytest.approx(CUT_M)


def test_a_stated_mark_is_taken_and_no_levels_give_none() -> None:
    stated = StatedMark(at="nail in the pole", elevation_m=101.5, rod_m=1.2)
    mark = works(valley(*[100.0] * 7), bench_mark=stated).bench_mark
    assert mark == BenchMark(at="nail in the pole", elevation_m=101.5, rod_m=1.2)
    bare = works(None, bench_mark=stated)
    assert bare.bench_mark is None
    assert bare.held == ()


def test_level_ground_is_one_reading_and_a_hillside_none() -> None:
    (held,) = works(valley(*[100.0] * 7)).held
    assert (held.reach, held.from_m, held.to_m) == ("Main", 0.0, 30.0)
    assert held.level_m == pytest.approx(100 - CUT_M)
    assert works(valley(*[100 + 0.5 * n for n in range(7)])).held == ()


def test_one_reading_ends_where_the_ground_leaves_the_tenth() -> None:
    """Level to 15 m, then 1 in 10: the bottom is 0.2 ft higher 0.61 m farther, and no other stretch is long enough."""
    (held,) = works(valley(100, 100, 100, 100, 100.5, 101, 101.5)).held
    assert held.from_m == 0.0
    assert 15.5 <= held.to_m <= 15.61
    assert held.level_m == pytest.approx(100 - CUT_M + HELD_WITHIN_FT_M, abs=0.01)


def test_nothing_is_held_over_a_bore() -> None:
    road = feature("road", "road", box(10, -40, 20, 40), surface="paved")
    bored = replace(reach((0, 0), (30, 0)), bored=(Bored(feature="road", from_m=10.0, to_m=20.0),))
    made = measure(site(WELL, HOUSE, road), requirements(), layout(bored), valley(*[100.0] * 7))
    assert [(one.from_m, one.to_m) for one in made.held] == [(0.0, 10.0), (20.0, 30.0)]


@settings(max_examples=40, deadline=None)
@given(st.lists(st.floats(-0.4, 0.4), min_size=6, max_size=6))
def test_held_readings_hold_and_none_is_missed(steps: list[float]) -> None:
    """Against the bottom itself, every 5 cm by interpolation: each reading holds, and what is left holds none that is longer."""
    grades = [100.0, *(100.0 + float(sum(steps[: n + 1])) for n in range(6))]
    held = works(valley(*grades)).held
    along = np.arange(0.0, 30.0001, 0.05)
    bottom = np.interp(along, [5.0 * n for n in range(7)], grades) - CUT_M
    for one in held:
        inside = bottom[(along >= one.from_m) & (along <= one.to_m)]
        assert np.abs(inside - one.level_m).max() <= HELD_WITHIN_FT_M + 1e-6
        assert one.to_m - one.from_m >= LEAST_HELD_FT_M - 1e-6
    for one, other in pairwise(held):
        assert one.to_m <= other.from_m + 1e-9
    edges = [0.0, *(edge for one in held for edge in (one.from_m, one.to_m)), 30.0]
    for start, end in zip(edges[::2], edges[1::2], strict=True):
        for first in np.arange(start, end - LEAST_HELD_FT_M - 0.5, 0.05):
            window = bottom[(along >= first) & (along <= first + LEAST_HELD_FT_M + 0.5)]
            assert np.ptp(window) > 2 * HELD_WITHIN_FT_M - 1e-6
