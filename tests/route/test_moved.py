"""Free ground after a drag, against the same ground made anew."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from itertools import pairwise

import numpy as np
import pytest
import shapely
from shapely import LineString, MultiPolygon, Point, Polygon, affinity, box
from shapely.geometry.base import BaseGeometry

from siteplan.route import moved
from siteplan.route.mesh import FreeGround
from siteplan.route.moved import Obstructed, obstructed
from siteplan.route.shortest import Shortest, shortest_to_point, shortest_to_walls

SIDE = 40.0
LAND = box(0, 0, SIDE, SIDE)
SPOTS = [Point(1, 2), Point(39, 38), Point(2, 37.5), Point(20, 0.5)]


@pytest.fixture
def rebuilt(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """Note how often a drag makes the whole ground anew."""
    times: list[int] = []

    def noted(land: BaseGeometry, obstacles: Sequence[BaseGeometry]) -> Obstructed:
        times.append(len(obstacles))
        return obstructed(land, obstacles)

    monkeypatch.setattr(moved, "obstructed", noted)
    return times


def anew(yard: Obstructed) -> FreeGround:
    return FreeGround(yard.land.difference(shapely.union_all(yard.obstacles)))


def length_m(found: Shortest | None) -> float:
    return math.inf if found is None else found.length_m


def assert_same(yard: Obstructed) -> None:
    """The ground holds the same places, and every way over it is as long, as if it were made anew."""
    fresh = anew(yard)
    assert yard.ground.area.symmetric_difference(fresh.area).area < 1e-9
    assert len(yard.ground.mesh.twin) == len(fresh.mesh.twin)
    assert len(yard.ground.mesh.x) == len(fresh.mesh.x)
    walls = LineString([(5, 33), (30, 36), (36, 8)])
    for start, goal in pairwise(SPOTS):
        here, there = (length_m(shortest_to_point(ground, start, goal)) for ground in (yard.ground, fresh))
        assert math.isclose(here, there, rel_tol=1e-12), (start, goal)
        here, there = (length_m(shortest_to_walls(ground, start, walls)) for ground in (yard.ground, fresh))
        assert math.isclose(here, there, rel_tol=1e-12), (start, walls)


# --- a hundred and eighty drags -------------------------------------------------------------------------


def apart(rng: np.random.Generator) -> list[Polygon]:
    """Ponds and houses, turned anyhow."""
    shapes = []
    for x in range(3):
        for y in range(3):
            at = (7 + 13 * x, 7 + 13 * y)
            house = affinity.rotate(box(-3, -2, rng.uniform(0, 4), rng.uniform(0, 3)), rng.uniform(0, 360))
            pond = Point(0, 0).buffer(rng.uniform(1, 4), quad_segs=int(rng.integers(1, 5)))
            shapes.append(affinity.translate(house if rng.random() < 0.5 else pond, *at))
    return shapes


def on_the_grid(rng: np.random.Generator) -> list[Polygon]:
    """Blocks on whole metres, wide ones between narrow ones: they touch each other and the edge of the land."""
    sizes = rng.integers(2, 9, (9, 2))
    return [
        box(13 * (n % 3) + 3, 13 * (n // 3) + 3, 13 * (n % 3) + 3 + w, 13 * (n // 3) + 3 + h)
        for n, (w, h) in enumerate(sizes.tolist())
    ]


def anyhow(rng: np.random.Generator, shape: BaseGeometry) -> BaseGeometry:
    far = rng.choice([0.5, 5.0, 30.0])
    return affinity.rotate(affinity.translate(shape, *rng.uniform(-far, far, 2)), rng.uniform(-20, 20))


def by_metres(rng: np.random.Generator, shape: BaseGeometry) -> BaseGeometry:
    return affinity.translate(shape, *rng.integers(-9, 10, 2).tolist())


@pytest.mark.parametrize(("shapes", "drag"), [(apart, anyhow), (on_the_grid, by_metres)])
def test_a_drag_equals_a_rebuild(
    rebuilt: list[int],
    shapes: Callable[[np.random.Generator], list[Polygon]],
    drag: Callable[[np.random.Generator, BaseGeometry], BaseGeometry],
) -> None:
    """Anywhere: clear, touching, over one another, over the edge of the land, and off it."""
    drags = 0
    for seed in range(6):
        rng = np.random.default_rng([seed, 11])
        first = yard = obstructed(LAND, shapes(rng))
        for _ in range(15):
            which = int(rng.integers(len(yard.obstacles)))
            yard = yard.moved(which, drag(rng, yard.obstacles[which]))
            drags += 1
            assert_same(yard)
            if rng.random() < 0.2:
                yard = first
    assert drags == 90
    assert 18 < len(rebuilt) < 72  # both ways were taken


def test_a_long_drag_in_small_steps_ends_where_it_would_in_one(rebuilt: list[int]) -> None:
    """Two hundred patches on top of each other, round a pond and back."""
    house = affinity.translate(affinity.rotate(box(-3, -2, 3, 2), 10), 20, 10)
    pond = Point(20, 20).buffer(4, quad_segs=4)
    start = yard = obstructed(LAND, [house, pond])
    for step in range(1, 201):
        yard = yard.moved(0, affinity.rotate(house, 1.8 * step, origin=(20, 20)))
    assert not rebuilt
    assert_same(yard)
    ways = [length_m(shortest_to_point(y.ground, Point(20, 1), Point(20, 39))) for y in (start, yard)]
    assert ways[0] == pytest.approx(ways[1], abs=1e-7)


# --- single cases --------------------------------------------------------------------------------


def test_the_former_ground_stays_as_it_was() -> None:
    yard = obstructed(LAND, [box(10, 0.5, 30, 39)])
    before = length_m(shortest_to_point(yard.ground, Point(5, 20), Point(35, 20)))
    later = yard.moved(0, box(10, 1, 30, 20))
    assert length_m(shortest_to_point(yard.ground, Point(5, 20), Point(35, 20))) == before
    assert length_m(shortest_to_point(later.ground, Point(5, 20), Point(35, 20))) == 30.0
    assert yard.obstacles == (box(10, 0.5, 30, 39),)


def test_only_what_was_touched_is_made_anew(rebuilt: list[int]) -> None:
    ponds = [Point(3 * i + 2, 3 * j + 2).buffer(1, quad_segs=3) for i in range(12) for j in range(12)]
    yard = obstructed(LAND, ponds)
    later = yard.moved(70, affinity.translate(ponds[70], 0.3, -0.2))
    kept = set(map(id, yard.ground.triangles)) & set(map(id, later.ground.triangles))
    assert not rebuilt
    assert len(kept) > 0.95 * len(yard.ground.triangles)


def test_an_obstacle_under_the_one_moved_comes_to_light(rebuilt: list[int]) -> None:
    yard = obstructed(LAND, [box(10, 10, 30, 30), box(18, 18, 22, 22), box(1, 20, 3, 22)])
    later = yard.moved(0, box(31, 31, 38, 38))
    assert rebuilt
    assert not later.ground.holds(20, 20)
    assert later.ground.holds(15, 15)
    assert_same(later)


def test_a_shape_with_a_court_or_of_two_parts(rebuilt: list[int]) -> None:
    court = box(10, 10, 20, 20).difference(box(13, 13, 17, 17))
    yard = obstructed(LAND, [court, box(25, 25, 30, 30)])
    for to in (affinity.translate(court, 3, 9), MultiPolygon([box(5, 5, 8, 8), box(11, 5, 14, 8)])):
        yard = yard.moved(0, to)
        assert_same(yard)
    assert len(rebuilt) == 2
    yard = yard.moved(1, box(24, 20, 29, 25))
    assert len(rebuilt) == 2
    assert_same(yard)


def test_an_obstacle_moved_round_a_smaller_one(rebuilt: list[int]) -> None:
    """The court of the one moved holds the other, and free ground round it."""
    court = box(20, 20, 30, 30).difference(box(22, 22, 28, 28))
    yard = obstructed(LAND, [court, box(9, 9, 11, 11)]).moved(0, affinity.translate(court, -15, -15))
    assert yard.ground.holds(8, 8)
    assert shortest_to_point(yard.ground, Point(8, 8), Point(1, 1)) is None
    assert_same(yard)


def test_a_gap_that_a_drag_closes_and_opens(rebuilt: list[int]) -> None:
    yard = obstructed(LAND, [box(-1, 18, 20, 22), box(20.5, 18, 41, 22)])
    ways = []
    for left in (20.0, 20.5, 20.0 + 1e-6, 19.0):
        yard = yard.moved(1, box(left, 18, 41, 22))
        ways.append(length_m(shortest_to_point(yard.ground, Point(20, 10), Point(20, 30))))
    assert ways == [math.inf, 20.0, pytest.approx(20.0), math.inf]


def test_a_drag_off_the_land_and_back() -> None:
    house = box(10, 10, 30, 30)
    yard = obstructed(LAND, [house])
    gone = yard.moved(0, affinity.translate(house, 100, 0))
    assert gone.ground.area.equals(LAND)
    assert_same(gone.moved(0, house))
    assert_same(yard.moved(0, affinity.translate(house, 15, 0)))


def test_an_obstacle_may_change_its_shape(rebuilt: list[int]) -> None:
    yard = obstructed(LAND, [box(10, 10, 30, 30), box(33, 33, 36, 36)])
    for shape in (Point(20, 20).buffer(9, quad_segs=8), Polygon([(5, 5), (30, 8), (12, 25)])):
        yard = yard.moved(0, shape)
        assert_same(yard)
    assert not rebuilt
