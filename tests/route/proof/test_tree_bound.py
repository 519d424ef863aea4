"""What no tree costs less than: never above a tree that can be dug, and close to it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely import MultiLineString, Point, box

from siteplan.route.approach import Approach
from siteplan.route.between import Goal, shortest_between
from siteplan.route.mesh import FreeGround
from siteplan.route.priced.tree import cheapest_tree
from siteplan.route.proof.all_ways import AllWays
from siteplan.route.proof.tree_cells import least_tree_m
from siteplan.route.proof.trees import PairBound, least_tree
from siteplan.route.proof.wider import wider
from siteplan.route.scene import Patch, Scene
from tests.route.priced.tree_reference import charge, grid_tree_price, yard

ABOVE_ALL = 1.02
"""The best price is given as this much more than it is, so that a bound that is too high shows."""


def straight(scene: Scene) -> PairBound:
    """Bound single ways by their exact length at plain prices, the least in these scenes."""
    ground = FreeGround(scene.free)

    def bound(one: Goal, other: Goal) -> float:
        found = shortest_between(ground, one, other)
        assert found is not None
        return scene.plain * found.length_m

    return bound


def goals_of(places: list[Approach]) -> tuple[Goal, list[Goal]]:
    return places[0].goal, [way.goal for way in places[1:]]


@pytest.mark.parametrize("seed", range(14))
def test_never_above_a_tree_that_can_be_dug(seed: int) -> None:
    scene, places = yard(
        seed, ends=3 if seed % 5 == 0 else 2, tee=float(20 * (seed % 3)), drive=seed % 2 == 0
    )
    start, ends = goals_of(places)
    found = cheapest_tree(scene, places[0], places[1:])
    assert found is not None
    best = found.price
    if seed < 8:
        best = min(best, grid_tree_price(scene, places))
    bound = least_tree(scene, start, ends, best=ABOVE_ALL * best, pair_bound=straight(scene), wanted=0.005)
    assert bound <= best * (1 + 1e-9)
    assert bound >= 0.5 * best


@pytest.mark.parametrize("seed", range(30, 34))
def test_never_above_a_tree_with_its_bends(seed: int) -> None:
    scene, places = yard(seed, ends=2, tee=30.0)
    scene = replace(scene, bends=((60.0, charge(25.0)), (170.0, charge(50.0))))
    start, ends = goals_of(places)
    found = cheapest_tree(scene, places[0], places[1:])
    assert found is not None
    bound = least_tree(
        scene, start, ends, best=ABOVE_ALL * found.price, pair_bound=straight(scene), wanted=0.005
    )
    assert 0.75 * found.price <= bound <= found.price * (1 + 1e-9)


@pytest.mark.parametrize("seed", range(20, 24))
def test_within_a_hundredth_where_the_ground_costs_the_same(seed: int) -> None:
    scene, places = yard(seed, ends=3, tee=float(20 * (seed % 3)))
    found = cheapest_tree(scene, places[0], places[1:])
    assert found is not None
    start, ends = goals_of(places)
    bound = least_tree(scene, start, ends, best=found.price, pair_bound=straight(scene), wanted=0.01)
    assert 0.99 * found.price * (1 - 1e-9) <= bound <= found.price * (1 + 1e-9)


def test_two_walls_of_a_building_may_both_be_left() -> None:
    """House of 10 m with 1 m kept off, ends 30 m off on either side: 24 m each, by hand."""
    house = box(-6, -6, 6, 6)
    scene = Scene(free=box(-60, -60, 60, 60).difference(house), dig=charge(10.0), restore=charge(0.0))
    walls = MultiLineString([list(house.exterior.coords)[i : i + 2] for i in range(4)])
    bound = least_tree(
        scene, walls, [Point(-30, 0), Point(30, 0)], best=500.0, pair_bound=straight(scene), wanted=0.01
    )
    assert 0.98 * 480 <= bound <= 480 * (1 + 1e-9)


def test_a_road_right_across_counts_once() -> None:
    """Two ends beyond a road of 6 m that costs 100 a metre more: the open tree and 600, by hand."""
    road = Patch(feature="road", area=box(10, -101, 16, 101), restore=charge(102.0))
    scene = Scene(free=box(-100, -100, 100, 100), dig=charge(10.0), restore=charge(2.0), patches=(road,))
    least = 12 * (40 + 20 * 3**0.5) + 600
    bound = least_tree(
        scene,
        Point(0, 0),
        [Point(40, 20), Point(40, -20)],
        best=least,
        pair_bound=straight(scene),
        wanted=0.01,
    )
    assert 0.98 * least <= bound <= least * (1 + 1e-6)


def test_tees_are_counted_but_where_an_end_is_passed() -> None:
    scene = Scene(free=box(-100, -100, 100, 100), dig=charge(10.0), restore=charge(0.0), tee=charge(30.0))
    corners = [Point(0, 0), Point(40, 0), Point(20, 20 * 3**0.5)]
    with_tee = 10 * 40 * 3**0.5 + 30
    bound = least_tree(scene, corners[0], corners[1:], best=with_tee, pair_bound=straight(scene), wanted=0.01)
    assert with_tee * 0.98 <= bound <= with_tee
    in_line = [Point(0, 0), Point(20, 0), Point(40, 0)]
    passed = least_tree(scene, in_line[0], in_line[1:], best=430.0, pair_bound=straight(scene), wanted=0.01)
    assert 0.98 * 400 <= passed <= 400 * (1 + 1e-9)


@pytest.mark.parametrize("factor", [1e-3, 1e4])
def test_the_scale_of_prices_does_not_matter(factor: float) -> None:
    scene, places = yard(21, tee=20.0)
    start, ends = goals_of(places)
    dearer = replace(scene, dig=charge(10 * factor), restore=charge(2 * factor), tee=charge(20 * factor))
    found = cheapest_tree(scene, places[0], places[1:])
    assert found is not None
    best = found.price
    bound = least_tree(scene, start, ends, best=best, pair_bound=straight(scene))
    scaled = least_tree(dearer, start, ends, best=factor * best, pair_bound=straight(dearer))
    assert scaled == pytest.approx(factor * bound, rel=1e-9)


def test_all_ways_are_the_exact_shortest() -> None:
    """Against the search that finds one shortest line at a time, to a point and to walls."""
    scene, places = yard(2)
    ground = FreeGround(scene.free)
    building = box(30, 30, 36, 34)
    walls = MultiLineString([list(building.exterior.coords)])
    ground = FreeGround(scene.free.difference(building))
    random = np.random.default_rng(0)
    at = random.uniform(0, 40, (60, 2))
    at = at[shapely.contains_xy(ground.area, at)]
    goals: list[Goal] = [places[0].goal, walls]
    found = AllWays(ground, goals).lengths_m(at)
    for goal, lengths_m in zip(goals, found, strict=True):
        for place, length_m in zip(shapely.points(at), lengths_m, strict=True):
            exact = shortest_between(ground, place, goal)
            assert length_m == pytest.approx(exact.length_m if exact else np.inf, abs=1e-5)


@pytest.mark.parametrize("tolerance_m", [0.01, 0.1, 1.0])
def test_wider_ground_holds_the_ground(tolerance_m: float) -> None:
    scene, _ = yard(4)
    round_corners = scene.free.buffer(-1.0, quad_segs=16)
    grown = wider(round_corners, tolerance_m)
    assert grown.buffer(1e-7).covers(round_corners)
    assert shapely.hausdorff_distance(grown.boundary, round_corners.boundary) <= tolerance_m + 1e-6
    assert shapely.get_num_coordinates(grown) < shapely.get_num_coordinates(round_corners)


def test_of_many_places_those_far_apart_are_joined() -> None:
    ground = FreeGround(box(0, 0, 90, 90))
    places = [Point(x, 10) for x in range(5, 86, 8)]
    assert 0.97 * 80 <= least_tree_m(ground, places, best_m=80.0, wanted=0.02) <= 80
