"""Places from tapes: against plain geometry, against simulated tapes, and against the trade's own figures for weak crossings."""

from __future__ import annotations

from math import cos, hypot, inf, radians, sin

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from siteplan.measure.tape_fix import tape_fixes

FT = 0.3048
PLACES = st.tuples(st.floats(-30, 30), st.floats(-30, 30))


def tapes_to(place: tuple[float, float], corners: list[tuple[float, float]]) -> list[float]:
    return [hypot(place[0] - x, place[1] - y) for x, y in corners]


def test_three_four_five() -> None:
    """The triangle of 3, 4 and 5: the right angle stands 1.8 along and 2.4 off the side of 5, on either side."""
    places = [(fix.x, fix.y) for fix in tape_fixes([(0, 0), (5, 0)], [3, 4])]
    assert places == [pytest.approx((1.8, 2.4)), pytest.approx((1.8, -2.4))]


@settings(deadline=None)
@given(PLACES, st.lists(PLACES, min_size=2, max_size=3))
def test_true_tapes_give_the_true_place(
    place: tuple[float, float], corners: list[tuple[float, float]]
) -> None:
    assume(all(hypot(a[0] - b[0], a[1] - b[1]) > 1 for n, a in enumerate(corners) for b in corners[:n]))
    assume(min(tapes_to(place, corners)) > 0.5)
    fixes = tape_fixes(corners, tapes_to(place, corners))
    assume(min(fix.weakness for fix in fixes) < 5)
    assert min(hypot(fix.x - place[0], fix.y - place[1]) for fix in fixes) < 1e-4


@pytest.mark.parametrize(("angle_deg", "error_ft"), [(90, 0.1), (30, 0.27), (10, 0.8)])
def test_weak_crossings(angle_deg: float, error_ft: float) -> None:
    """Tapes good to 0.1 ft fix a place to 0.1 ft where they cross at 90 degrees, 0.27 ft at 30, 0.8 ft at 10 (trade study)."""
    corners = [(-20.0, 0.0), (-20 * cos(radians(angle_deg)), -20 * sin(radians(angle_deg)))]
    best = min(tape_fixes(corners, [20.0, 20.0]), key=lambda fix: hypot(fix.x, fix.y))
    assert hypot(best.x, best.y) < 1e-9
    assert 0.1 * best.weakness == pytest.approx(error_ft, abs=0.015)


@pytest.mark.parametrize("corners", [[(0, 0), (12, 3)], [(0, 0), (12, 3), (20, -9)]])
def test_weakness_against_simulated_tapes(corners: list[tuple[float, float]]) -> None:
    """2000 sets of tapes with a normal error of 1 cm: the spread in the worst direction is the error times the weakness."""
    random = np.random.default_rng(7)
    place = (15.0, 14.0)
    true = np.array(tapes_to(place, corners))
    found = []
    for errors in random.normal(0, 0.01, (2000, len(corners))):
        fixes = tape_fixes(corners, list(true + errors))
        found.append(min(((f.x, f.y) for f in fixes), key=lambda p: hypot(p[0] - place[0], p[1] - place[1])))
    worst = float(np.sqrt(np.linalg.eigvalsh(np.cov(np.array(found).T))[-1]))
    weakness = min(tape_fixes(corners, list(true)), key=lambda f: hypot(f.x - 15, f.y - 14)).weakness
    assert worst == pytest.approx(0.01 * weakness, rel=0.05)


def test_tapes_that_miss_each_other_say_by_how_much() -> None:
    [short] = tape_fixes([(0, 0), (10, 0)], [4, 5])  # a gap of 1 m
    assert (short.x, short.y) == pytest.approx((4.5, 0))
    assert short.misfit_m == pytest.approx(0.5)
    assert short.weakness == inf
    for tapes, x in (([20, 5], 17.5), ([5, 20], -7.5)):  # one circle inside the other, 5 m apart
        [inside] = tape_fixes([(0, 0), (10, 0)], tapes)
        assert inside.x == pytest.approx(x)
        assert inside.misfit_m == pytest.approx(2.5)


def test_a_third_tape_settles_which_side() -> None:
    corners = [(0.0, 0.0), (10.0, 0.0), (4.0, 8.0)]
    fixes = tape_fixes(corners, tapes_to((3.0, -5.0), corners))
    assert (fixes[0].x, fixes[0].y) == pytest.approx((3, -5), abs=1e-6)
    assert fixes[0].misfit_m < 1e-6
    assert all(fix.misfit_m > 0.5 for fix in fixes[1:])


def test_three_corners_of_one_wall_leave_both_sides() -> None:
    corners = [(0.0, 0.0), (10.0, 0.0), (4.0, 0.0)]
    fixes = tape_fixes(corners, tapes_to((3.0, -5.0), corners))
    assert sorted(round(fix.y, 6) for fix in fixes) == [-5, 5]
    assert all(fix.misfit_m < 1e-6 for fix in fixes)
