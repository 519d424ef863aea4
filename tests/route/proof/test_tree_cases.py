"""Trees over dear ground and tolled lines: the bound is never above a tree that can be dug, found by brute force."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
import shapely
from numpy.typing import NDArray
from scipy.sparse.csgraph import dijkstra
from shapely import LineString, MultiLineString, Point, Polygon, box

from siteplan.route.between import Goal
from siteplan.route.proof.trees import least_tree
from siteplan.route.scene import Charge, Crossed, Patch, Scene

Floats = NDArray[np.float64]
SIDE_M = 30.0
STEP_M = 2.0
ABOVE_ALL = 1.25
"""The best price is given as this much more than it is, so that a bound that is too high shows."""


def charge(price: float) -> Charge:
    return Charge(row="", price=price)


def yard(seed: int, ends: int) -> tuple[Scene, list[Goal]]:
    """A yard of 30 m: two buildings, a dear strip, a round dear place, a tolled line in its zone; points, or a wall."""
    random = np.random.default_rng([seed, 77])
    free = box(0, 0, SIDE_M, SIDE_M)
    for x, y in random.uniform(4, SIDE_M - 4, (2, 2)):
        free = free.difference(box(x - 3, y - 2, x + 3, y + 2))
    free = max(shapely.get_parts(free), key=lambda part: part.area)
    across = random.uniform(8, SIDE_M - 8, 3)
    far = SIDE_M + 1 if seed % 3 else random.uniform(15, 25)
    axis = LineString(
        [(across[0], -1 if seed % 2 else random.uniform(2, 8)), (across[1], 15), (across[2], far)]
    )
    zone = axis.buffer(1.5, cap_style="flat")
    y = random.uniform(8, SIDE_M - 8)
    road = LineString([(-1, y), (14, y + random.uniform(-5, 5)), (SIDE_M + 1, y)]).buffer(2)
    root = Point(*random.uniform(5, SIDE_M - 5, 2)).buffer(random.uniform(2, 4), quad_segs=4)
    patches = (
        Patch(feature="road", area=road, restore=charge(float(random.uniform(2, 20)))),
        Patch(feature="root", area=root, dig=charge(40.0)),
        Patch(feature="zone", area=zone, dig=charge(float(random.uniform(20, 60)))),
    )
    crossed = (
        Crossed(
            feature="line",
            axis=axis,
            zone=zone,
            toll=charge(float(random.uniform(10, 150))),
            least_angle_deg=0,
        ),
    )
    places: list[Goal] = []
    while len(places) < ends + 1:
        x, y = random.uniform(1, SIDE_M - 1, 2)
        if free.contains(Point(x, y)):
            places.append(Point(x, y))
    if seed % 4 == 3:
        places[1] = MultiLineString([[(1.0, 20.0), (1.0, 29.0)], [(1.0, 29.0), (6.0, 29.0)]]).intersection(
            free
        )
        if not isinstance(places[1], MultiLineString):
            places[1] = Point(1.0, 1.0) if free.contains(Point(1.0, 1.0)) else Point(29.0, 1.0)
    scene = Scene(free=free, dig=charge(10.0), restore=charge(2.0), patches=patches, crossed=crossed)
    return scene, places


def link_prices(scene: Scene, lines: NDArray[np.object_]) -> Floats:
    """Price of straight links, each piece of ground at its dearest digging and restoring; infinite off the free ground."""
    dear = [(patch.dig.price - 10, patch.area) for patch in scene.patches if patch.dig]
    dear.sort(key=lambda one: -one[0])
    price = shapely.length(lines) * scene.plain
    taken = Point(0, 0).buffer(0)
    for more, area in dear:
        price = price + more * shapely.length(shapely.intersection(lines, area.difference(taken)))
        taken = taken.union(area)
    for patch in scene.patches:
        if patch.restore:
            price = price + (patch.restore.price - 2) * shapely.length(
                shapely.intersection(lines, patch.area)
            )
    for crossed in scene.crossed:
        met = shapely.intersection(lines, crossed.axis)
        price = price + crossed.toll.price * shapely.get_num_geometries(met) * ~shapely.is_empty(met)
    area = scene.free.buffer(1e-6)
    shapely.prepare(area)
    return np.where(shapely.covers(area, lines), price, np.inf)


def tree_price(scene: Scene, places: list[Goal]) -> float:
    """Price of the cheapest tree over a coarse grid, corners and places, tees and bends free; it could be dug."""
    random = np.random.default_rng(5)
    x, y = np.meshgrid(np.arange(1.0, SIDE_M, STEP_M), np.arange(1.0, SIDE_M, STEP_M))
    grid = np.column_stack([x.ravel(), y.ravel()]) + random.uniform(-0.3, 0.3, (x.size, 2))
    grid = grid[shapely.contains_xy(scene.free, grid)]
    goals = [shapely.get_coordinates(shapely.segmentize(place, 1.0)) for place in places]
    spots = np.vstack([grid, shapely.get_coordinates(scene.free), *goals])
    one, other = np.triu_indices(len(spots), 1)
    lines = shapely.linestrings(np.stack([spots[one], spots[other]], axis=1))
    near = shapely.length(lines) < 14.0
    price = np.full(len(one), np.inf)
    price[near] = link_prices(scene, lines[near])
    graph = np.zeros((len(spots), len(spots)))
    may = np.isfinite(price)
    graph[one[may], other[may]] = np.maximum(price[may], 1e-9)
    between = dijkstra(graph, directed=False)
    at = [np.flatnonzero((spots[:, None] == goal[None]).all(axis=2).any(axis=1)) for goal in goals]
    trees = {frozenset([end]): between[at[end]].min(axis=0) for end in range(1, len(places))}
    for size in range(2, len(places)):
        for ends in map(frozenset, combinations(range(1, len(places)), size)):
            joined = [
                trees[frozenset(part)] + trees[ends - frozenset(part)]
                for count in range(1, size)
                for part in combinations(sorted(ends), count)
            ]
            trees[ends] = (np.min(joined, axis=0)[:, None] + between).min(axis=0)
    return float(trees[frozenset(range(1, len(places)))][at[0]].min())


@pytest.mark.parametrize("seed", [0, 2, 3, 6, 8, 21, 22, 31])
def test_never_above_a_tree_found_by_brute_force(seed: int) -> None:
    scene, places = yard(seed, 2 + seed % 2)
    found = tree_price(scene, places)
    bound = least_tree(
        scene,
        places[0],
        places[1:],
        best=ABOVE_ALL * found,
        pair_bound=lambda one, other: 0.0,
        wanted=0.02,
    )
    assert 0.5 * found <= bound <= found * (1 + 1e-9)


def test_a_line_right_across_is_paid_once_with_its_zone() -> None:
    """By hand: 40 m and 20 m at 12, a toll of 100, 3 m of hand digging at 48 more; a tree with a tee may save a little."""
    zone = box(18.5, -1, 21.5, 61)
    line = Crossed(
        feature="line",
        axis=LineString([(20, -1), (20, 61)]),
        zone=zone,
        toll=charge(100.0),
        least_angle_deg=0,
    )
    scene = Scene(
        free=box(0, 0, 60, 60),
        dig=charge(10.0),
        restore=charge(2.0),
        patches=(Patch(feature="zone", area=zone, dig=charge(58.0)),),
        crossed=(line,),
    )
    places: list[Goal] = [Point(10, 30), Point(50, 30), Point(50, 50)]
    least = 60 * 12 + 100 + 3 * 48
    bound = least_tree(
        scene,
        places[0],
        places[1:],
        best=1.1 * least,
        pair_bound=lambda one, other: 0.0,
        wanted=0.005,
    )
    joined_m = (
        40**2 + 20**2 + 3**0.5 * 40 * 20
    ) ** 0.5  # least tree of a right angle: law of cosines at 150 degrees
    assert 0.98 * (least - 12 * (60 - joined_m)) <= bound <= least


def test_a_bend_at_an_end_that_is_only_passed_is_counted() -> None:
    """20 m east and 20 m north by way of an end: straight corners cost one bend, or a tee elsewhere."""
    free = box(-100, -100, 100, 100)
    bends = ((22.5, charge(20.0)), (45.0, charge(35.0)), (90.0, charge(50.0)))
    scene = Scene(free=free, dig=charge(10.0), restore=charge(0.0), tee=charge(200.0), bends=bends)
    bound = least_tree(
        scene,
        Point(0, 0),
        [Point(20, 0), Point(20, 20)],
        best=455.0,
        pair_bound=lambda one, other: 0.0,
        wanted=0.005,
    )
    assert 0.99 * 450 <= bound <= 450


def test_one_bend_before_an_end_that_is_passed_is_counted_once() -> None:
    """Round the end of a wall, and straight on through an end: one bend of 29.8 degrees, by hand."""
    free = box(-50, -50, 80, 50).difference(Polygon([(16, -40), (18, -40), (18, 1)]))
    bends = ((22.5, charge(20.0)), (45.0, charge(35.0)), (90.0, charge(50.0)))
    scene = Scene(free=free, dig=charge(10.0), restore=charge(0.0), tee=charge(200.0), bends=bends)
    end = np.array([20.0, 0.0])
    beyond = end + 20 * np.array([2.0, -1.0]) / 5**0.5
    least = 10 * (325**0.5 + 5**0.5 + 20) + 35
    bound = least_tree(
        scene,
        Point(0, 0),
        [Point(*end), Point(*beyond)],
        best=1.25 * least,
        pair_bound=lambda one, other: 0.0,
        wanted=0.005,
    )
    assert 0.9 * least <= bound <= least
