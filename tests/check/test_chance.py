"""Chances against Rice and normal distributions of a reference library, and against plain simulation."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
import shapely
from scipy import stats
from shapely import LineString, Point, Polygon, box
from shapely.affinity import rotate
from shapely.geometry.base import BaseGeometry

from siteplan.check import chance as module
from siteplan.check.chance import Counted, Spread, spread
from siteplan.check.pair_error import PairError
from siteplan.site.evidence import Z95_ONE_SIDED
from tests.check.scenes import FT

WELL = Point(0, 0)
NOTCH = Polygon([(50, -8), (90, -8), (90, 8), (50, 8), (60, 0)])


def reading(chance: Callable[[float], float], share: float) -> float:
    """Reading [ft] at which a rising chance passes a share, by halves."""
    low, high = 0.0, 150.0
    for _ in range(16):
        middle = (low + high) / 2
        low, high = (middle, high) if chance(middle) < share else (low, middle)
    return high


def counted(there: BaseGeometry, error: PairError, limit_m: float, half_m: float = 0.0) -> Spread:
    found = spread(WELL, there, half_m, error, [limit_m])
    assert found.counted
    return found


@pytest.mark.parametrize(
    ("distance", "s1", "s2", "limit", "rice"),
    [
        (52.0, 1.5, 1.5, 50.0, 0.832381),
        (50.0, 1.5, 1.5, 50.0, 0.508465),
        (100.5, 0.5, 1.2, 100.0, 0.652138),
    ],
)
def test_moved_points_are_as_far_apart_as_rice_says(
    distance: float, s1: float, s2: float, limit: float, rice: float
) -> None:
    """Distance of two points with circular normal errors: the Rice distribution, scipy.stats.rice, before any weighing."""
    sigma = math.hypot(s1, s2)
    assert stats.rice(distance / sigma, scale=sigma).sf(limit) == pytest.approx(rice, abs=1e-6)
    moved = module._counted(WELL, Point(distance, 0), 0.0, PairError(position_m=sigma), by_corner=False)
    assert (moved.distance_m >= limit).mean() == pytest.approx(rice, abs=0.003)


@pytest.mark.parametrize("sigma", [5.0, 9.25, 18.0, 26.0])
def test_a_pair_of_points_is_called_clear_wrongly_as_often_as_it_says(sigma: float) -> None:
    """Two points truly 50 ft apart: read past the band once in twenty (Rice), at errors of 10 % to 52 % of the distance.

    Counted without the weights it would be 11 % at 26 ft, and 7 % by the normal distribution.
    """
    pair, rice = PairError(position_m=sigma), stats.rice(50.0 / sigma, scale=sigma)
    clear_from = reading(lambda read: counted(Point(read, 0), pair, 50.0).chance(50.0), 0.95)
    assert 0.044 <= rice.sf(clear_from) <= 0.053
    if sigma == 26.0:

        def plainly(read: float) -> float:
            return float((counted(Point(read, 0), pair, 50.0).counted[0].distance_m >= 50.0).mean())

        assert rice.sf(reading(plainly, 0.95)) > 0.10
        assert rice.sf(50.0 + 1.6449 * sigma) > 0.07


def test_short_of_two_points_once_in_twenty() -> None:
    pair = PairError(position_m=9.25)
    short_from = reading(lambda read: counted(Point(read, 0), pair, 50.0).chance(50.0), 0.05)
    assert stats.rice(50.0 / 9.25, scale=9.25).cdf(short_from) == pytest.approx(0.05, abs=0.006)


@pytest.mark.parametrize(
    ("there", "own"),
    [
        (NOTCH, 2.9),
        (rotate(box(50, 0, 80, 20), 45, origin=(50, 0)), 2.9),
        (box(50, -2, 54, 2), 0.0),
        (Polygon([(50, 0), (60, 0), (60, 20), (90, 20), (90, -30), (52, -30)]), 2.9),
    ],
    ids=["two corners", "one corner", "small and whole", "bent"],
)
def test_a_thing_that_stands_on_the_limit_is_seldom_called_clear(there: BaseGeometry, own: float) -> None:
    """Things truly at the limit, read 150 times with errors of their own: at most one in twenty is called clear (+ 3 sigma)."""
    sigma, draws = 3.0, np.random.default_rng(5)
    limit = WELL.distance(there)
    numbers = module._corners(there)
    rest = math.sqrt(sigma**2 - own**2)
    clear = 0
    for _ in range(150):
        at = shapely.get_coordinates(there) + own * draws.normal(size=(numbers.max() + 1, 2))[numbers]
        read = shapely.set_coordinates(np.array([there]), at + rest * draws.normal(size=2))[0]
        found = spread(WELL, read, 0.0, PairError(position_m=sigma, corners_m=(0.0, own)), [limit])
        clear += found.measured_m - limit >= found.error_m(limit, 0.95)
    assert clear / 150 <= 0.05 + 3.0 * math.sqrt(0.05 * 0.95 / 150)


def test_the_nearest_of_several_corners_is_read_too_near_and_the_count_knows() -> None:
    """Two corners at one distance, each with an error of its own: the least of two is 0.564 sigma lower (order statistics)."""
    error = PairError(position_m=1.0, corners_m=(0.0, 1.0))
    prongs = Polygon([(50, -30), (90, -30), (90, 30), (50, 30), (80, 0)])
    limit = WELL.distance(prongs)
    found = counted(prongs, error, limit)
    whole, by_corner = (
        np.average(each.distance_m, weights=np.diff(each.share, prepend=0.0)) for each in found.counted
    )
    assert by_corner - limit == pytest.approx(-1.0 / math.sqrt(math.pi), abs=0.05)
    assert whole - limit == pytest.approx(-math.sqrt(2.0 / math.pi) * 30.0 / limit, abs=0.05)
    assert found.chance(limit - 1.0) < stats.norm.cdf(1.0)


def test_one_straight_edge_is_left_to_the_normal_distribution() -> None:
    edge, error = box(20, -40, 30, 40), PairError(position_m=1.5, edges_m=0.5, corners_m=(0.5, 1.0))
    plain = spread(WELL, edge, 0.1, error, [18.0])
    assert plain.counted == ()
    assert plain.chance(18.0) == pytest.approx(stats.norm.cdf(1.9 / math.hypot(1.5, 0.5)))
    whole = module._counted(WELL, edge, 0.1, error, by_corner=False)
    for limit in (17.0, 18.0, 19.9, 21.0):
        assert whole.chance(limit) == pytest.approx(plain.chance(limit), abs=0.015)


@pytest.mark.parametrize("there", [Point(52, 0), NOTCH, box(50, -2, 80, 2), Point(60, 0).buffer(8)])
@pytest.mark.parametrize("confidence", [0.9, 0.95, 0.99])
def test_the_band_and_the_chance_say_the_same(there: BaseGeometry, confidence: float) -> None:
    error = PairError(position_m=6.0, edges_m=1.0, corners_m=(1.0, 3.0))
    for limit in np.linspace(30.0, 75.0, 46):
        found = spread(WELL, there, 0.1, error, [limit])
        margin, band = found.measured_m - limit, found.error_m(limit, confidence)
        assert (margin >= band) == (found.chance(limit) >= confidence)
        if found.counted:
            assert (-margin > band) <= (found.chance(limit) <= 1.0 - confidence)


def test_the_less_sure_of_two_counts_is_told() -> None:
    def of(share: float) -> Counted:
        return Counted(distance_m=np.array([10.0, 0.0]), share=np.array([share, 1.0]))

    both = [((0.97, 0.93), 0.93), ((0.04, 0.2), 0.2), ((0.3, 0.8), 0.5)]
    for shares, told in both:
        found = Spread(measured_m=8.0, sigma_m=1.0, counted=tuple(of(share) for share in shares))
        assert found.chance(5.0) == pytest.approx(told)


def test_far_from_every_limit_nothing_is_counted() -> None:
    error = PairError(position_m=1.0, corners_m=(0.0, 1.0))
    gap = WELL.distance(NOTCH)
    assert spread(WELL, NOTCH, 0.0, error, [gap - 6.1, gap + 6.1]).counted == ()
    assert spread(WELL, NOTCH, 0.0, error, [gap - 5.9]).counted
    assert spread(WELL, NOTCH, 0.0, PairError(position_m=0.0, edges_m=1.0), [50.0]).counted == ()


def test_the_same_input_gives_the_same_bytes() -> None:
    error = PairError(position_m=3.0, edges_m=1.0, corners_m=(1.0, 2.0))
    first = counted(NOTCH, error, 50.0)
    for cached in (module._draws, module._shifts):
        cached.cache_clear()
    again = counted(NOTCH, error, 50.0)
    for one, other in zip(first.counted, again.counted, strict=True):
        assert one.distance_m.tobytes() == other.distance_m.tobytes()
        assert one.share.tobytes() == other.share.tobytes()


def test_a_thing_farther_off_is_never_less_likely_to_be_clear() -> None:
    error = PairError(position_m=3.0, corners_m=(1.0, 2.0))
    away = [counted(shapely.affinity.translate(NOTCH, by), error, 50.0) for by in np.linspace(0, 8, 17)]
    chances = [each.chance(50.0) for each in away]
    assert chances == sorted(chances)


def test_inside_counts_below_zero() -> None:
    """A well 1 ft outside of a tank, known to 3 ft: as often inside as the normal distribution of one straight side says."""
    tank = box(1, -20, 60, 20)
    moved = module._counted(WELL, tank, 0.0, PairError(position_m=3.0), by_corner=False)
    assert (moved.distance_m < 0.0).mean() == pytest.approx(stats.norm.cdf(-1 / 3.0), abs=0.01)
    assert moved.distance_m.min() < -5.0


def test_a_well_that_may_stand_on_the_neighbours_land_is_not_far_from_the_line() -> None:
    """5 m inside a corner of the land, known to 10 m: at 3 m or more only where it truly is inside, counted one by one."""
    land, sigma, asked = box(-5, -5, 300, 300), 10.0, 3.0
    moved = module._counted(WELL, land.boundary, 0.0, PairError(position_m=sigma), by_corner=False)
    at = np.random.default_rng(8).normal(scale=sigma, size=(40_000, 2))
    inner = land.buffer(-asked, join_style="mitre")
    within = shapely.contains(inner, shapely.points(at)).mean()
    assert (moved.distance_m >= asked).mean() == pytest.approx(within, abs=0.01)
    assert within == pytest.approx(stats.norm.cdf(0.2) ** 2, abs=0.01)


def test_a_traced_round_has_no_corners_and_a_rectangle_has_four() -> None:
    assert module._corners(Point(9, 9).buffer(3)).max() == 0
    assert module._corners(box(0, 0, 2, 1)).tolist() == [0, 1, 2, 3, 0]
    assert module._corners(LineString([(0, 0), (5, 0), (10, 0.5), (10, 9)])).tolist() == [0, 0, 1, 2]
    ring = box(0, 0, 9, 9).difference(box(3, 3, 6, 6))
    assert module._corners(ring).max() == 7
    both = shapely.union_all([box(0, 0, 1, 1), box(5, 5, 6, 6)])
    assert len(set(module._corners(both).tolist())) == 8


def test_a_fuzzy_edge_widens_a_count() -> None:
    sharp = counted(Point(52 * FT, 0), PairError(position_m=1.0), 50 * FT)
    fuzzy = counted(Point(52 * FT, 0), PairError(position_m=1.0, edges_m=2.0), 50 * FT)
    assert fuzzy.error_m(50 * FT, 0.95) == pytest.approx(math.hypot(1.0, 2.0) * Z95_ONE_SIDED, rel=0.08)
    assert sharp.error_m(50 * FT, 0.95) < fuzzy.error_m(50 * FT, 0.95)
