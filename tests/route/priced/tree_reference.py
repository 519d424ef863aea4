"""A plain reference for trees: every link of a coarse grid priced with shapely alone, and sets of ends joined one by one."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.sparse.csgraph import dijkstra
from shapely import Point, box

from siteplan.route.approach import Approach
from siteplan.route.scene import Charge, Patch, Scene

Floats = NDArray[np.float64]
SIDE_M = 40.0
STEP_M = 3.0


def charge(price: float, row: str = "") -> Charge:
    return Charge(row=row, price=price)


def at(x: float, y: float) -> Approach:
    return Approach(feature="", places=((Point(x, y), (0.0, 0.0)),), leg_m=0.0)


def yard(seed: int, *, ends: int = 3, tee: float = 0.0, drive: bool = False) -> tuple[Scene, list[Approach]]:
    """A yard of 40 m with four buildings and two trees, and some places on it."""
    random = np.random.default_rng(seed)
    free = box(0, 0, SIDE_M, SIDE_M)
    for x, y in random.uniform(4, SIDE_M - 4, (4, 2)):
        free = free.difference(box(x - 4, y - 2.5, x + 4, y + 2.5))
    for x, y in random.uniform(4, SIDE_M - 4, (2, 2)):
        free = free.difference(Point(x, y).buffer(3, quad_segs=3))
    free = max(shapely.get_parts(free), key=lambda part: part.area)
    places: list[Approach] = []
    while len(places) < ends + 1:
        x, y = random.uniform(1, SIDE_M - 1, 2)
        if free.contains(Point(x, y)):
            places.append(at(x, y))
    x = random.uniform(10, SIDE_M - 10)
    road = Patch(feature="drive", area=box(x - 2, -1, x + 2, SIDE_M + 1), restore=charge(20.0, "drive"))
    scene = Scene(
        free=free,
        dig=charge(10.0),
        restore=charge(2.0),
        tee=charge(tee),
        patches=(road,) if drive else (),
    )
    return scene, places


def link_prices(scene: Scene, one: Floats, other: Floats) -> Floats:
    """Price links without bores and crossed lines; infinite off the free ground."""
    lines = shapely.linestrings(np.stack([one, other], axis=1))
    area = scene.free.buffer(1e-6)
    shapely.prepare(area)
    may = shapely.covers(area, lines)
    whole, lines = np.full(len(lines), np.inf), lines[may]
    price = shapely.length(lines) * scene.plain
    for patch in scene.patches:
        assert patch.restore is not None
        within_m = shapely.length(shapely.intersection(lines, patch.area))
        price = price + (patch.restore.price - scene.restore.price) * within_m
    whole[may] = price
    return whole


def grid_tree_price(scene: Scene, places: list[Approach]) -> float:
    """Price of the cheapest tree over a coarse grid, the corners of the ground and the places; it could be dug."""
    x, y = np.meshgrid(np.arange(1.0, SIDE_M, STEP_M), np.arange(1.0, SIDE_M, STEP_M))
    grid = np.column_stack([x.ravel(), y.ravel()])
    grid = grid[shapely.contains_xy(scene.free, grid)]
    corners = shapely.get_coordinates(scene.free)
    goals = np.array([(way.goal.x, way.goal.y) for way in places])
    nodes = np.unique(np.vstack([goals, grid, corners]), axis=0)
    one, other = np.triu_indices(len(nodes), 1)
    price = link_prices(scene, nodes[one], nodes[other])
    graph = np.zeros((len(nodes), len(nodes)))
    may = np.isfinite(price)
    graph[one[may], other[may]] = price[may]
    between = dijkstra(graph, directed=False)
    numbers = [int(np.flatnonzero((nodes == goal).all(axis=1))[0]) for goal in goals]
    trees = {frozenset([end]): between[end] for end in numbers[1:]}
    for size in range(2, len(numbers)):
        for ends in map(frozenset, combinations(numbers[1:], size)):
            joined = [
                trees[frozenset(part)] + trees[ends - frozenset(part)] + scene.tee.price
                for count in range(1, size)
                for part in combinations(sorted(ends), count)
            ]
            trees[ends] = (np.min(joined, axis=0)[:, None] + between).min(axis=0)
    return float(trees[frozenset(numbers[1:])][numbers[0]])
