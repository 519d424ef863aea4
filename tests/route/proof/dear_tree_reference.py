"""Yards with dear ground and tolled lines, and the cheapest tree over a coarse grid of them, priced with shapely alone."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.sparse.csgraph import dijkstra
from shapely import LineString, MultiLineString, Point, box

from siteplan.route.between import Goal
from siteplan.route.scene import Charge, Crossed, Patch, Scene

Floats = NDArray[np.float64]
SIDE_M = 30.0
STEP_M = 2.0


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
    area = scene.free.buffer(1e-6)
    shapely.prepare(area)
    may = shapely.covers(area, lines)
    whole, lines = np.full(len(lines), np.inf), lines[may]
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
    whole[may] = price
    return whole


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
