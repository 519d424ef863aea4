"""Shortest lines, against a brute-force sight graph that shares no code with them."""

from __future__ import annotations

import heapq
import math
from collections.abc import Iterator
from itertools import pairwise

import numpy as np
import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely import LineString, MultiLineString, MultiPolygon, Point, Polygon, affinity, box
from shapely.geometry.base import BaseGeometry

from siteplan.route.mesh import FreeGround
from siteplan.route.shortest import Shortest, shortest_to_point, shortest_to_walls

SIDE = 20.0
PARCEL = box(0, 0, SIDE, SIDE)
NEAR = 1e-9
"""The brute force lets a line cut into an obstacle by this much, so that rounding does not hide a corner."""


# --- brute force ---------------------------------------------------------------------------------


class SightGraph:
    """Every pair of corners joined if the straight line between them is covered by the free area.

    Where obstacles touch in one point, a line may not go from one side of the touch to the other: each part
    of the area round that point is a place of its own.
    """

    ROUND = 1e-4

    def __init__(self, area: BaseGeometry) -> None:
        self.area = area
        self.grown = shapely.buffer(area, NEAR, join_style="mitre")
        shapely.prepare(self.grown)
        self.corners = np.unique(shapely.get_coordinates(area), axis=0)
        self.parts = [self.parts_at(Point(c)) for c in self.corners]
        self.touches = [i for i, parts in enumerate(self.parts) if len(parts) > 1]
        self.places = [(i, k) for i, parts in enumerate(self.parts) for k in range(len(parts))]
        ends = np.array([self.corners[i] for i, _ in self.places])
        a, b = np.triu_indices(len(self.places), 1)
        seen = shapely.covers(self.grown, shapely.linestrings(np.stack([ends[a], ends[b]], axis=1)))
        self.legs: dict[int, list[tuple[int, float]]] = {n: [] for n in range(len(self.places))}
        for n, m in zip(a[seen].tolist(), b[seen].tolist(), strict=True):
            if not np.array_equal(ends[n], ends[m]) and self.open(ends[n], ends[m], n, m):
                leg = math.dist(ends[n], ends[m])
                self.legs[n].append((m, leg))
                self.legs[m].append((n, leg))

    def parts_at(self, spot: Point) -> list[BaseGeometry]:
        disc = shapely.intersection(self.area, spot.buffer(self.ROUND))
        return [p for p in shapely.get_parts(disc) if p.area > 0 and p.distance(spot) < NEAR]

    def open(self, a: np.ndarray, b: np.ndarray, at_a: int | None, at_b: int | None) -> bool:
        """Tell whether a line that is covered keeps to one side wherever obstacles touch."""
        step = (b - a) / math.dist(a, b) * self.ROUND / 2
        for place, just_off in ((at_a, a + step), (at_b, b - step)):
            if place is not None:
                i, k = self.places[place]
                if self.parts[i][k].distance(Point(just_off)) > NEAR:
                    return False
        line = LineString([a, b])
        for i in self.touches:
            spot = self.corners[i]
            if min(math.dist(spot, a), math.dist(spot, b)) > NEAR and line.distance(Point(spot)) < NEAR:
                before, behind = Point(spot - step), Point(spot + step)
                if not any(max(p.distance(before), p.distance(behind)) < NEAR for p in self.parts[i]):
                    return False
        return True

    def sees(self, spot: tuple[float, float]) -> Iterator[tuple[int, float]]:
        """Give the places in sight of any spot on the ground."""
        here = np.array(spot)
        for n, (i, _) in enumerate(self.places):
            there = self.corners[i]
            leg = math.dist(here, there)
            if leg < NEAR:
                yield n, 0.0
            elif shapely.covers(self.grown, LineString([here, there])) and self.open(here, there, None, n):
                yield n, leg

    def length_m(self, start: tuple[float, float], ends: list[tuple[float, float]]) -> float:
        """Return the length of the shortest line from a start to any of some ends (Dijkstra)."""
        best = math.inf
        left: dict[int, float] = {}
        for end in ends:
            if self.area.distance(Point(end)) > NEAR:
                continue
            leg = math.dist(start, end)
            if leg < NEAR:
                return 0.0
            line = LineString([start, end])
            if shapely.covers(self.grown, line) and self.open(np.array(start), np.array(end), None, None):
                best = min(best, leg)
            for n, last in self.sees(end):
                left[n] = min(last, left.get(n, math.inf))
        length = dict(self.sees(start))
        queue = [(d, n) for n, d in length.items()]
        heapq.heapify(queue)
        while queue:
            d, n = heapq.heappop(queue)
            if d > length[n]:
                continue
            best = min(best, d + left.get(n, math.inf))
            for m, leg in self.legs[n]:
                if d + leg < length.get(m, math.inf):
                    length[m] = d + leg
                    heapq.heappush(queue, (d + leg, m))
        return best

    def length_to_walls_m(self, start: tuple[float, float], walls: MultiLineString) -> float:
        """Return the shortest length to walls; the last leg is a perpendicular or goes to a wall's end."""
        ends = []
        for wall in walls.geoms:
            for a, b in pairwise(np.array(wall.coords)):
                ends += [tuple(a), tuple(b)]
                for bend in [np.array(start), *self.corners]:
                    share = np.dot(bend - a, b - a) / np.dot(b - a, b - a)
                    if 0 < share < 1:
                        ends.append(tuple(a + share * (b - a)))
        return self.length_m(start, ends)


# --- small random sites --------------------------------------------------------------------------


def touching_blocks(rng: np.random.Generator) -> list[Polygon]:
    """Blocks on a coarse grid: many share walls or touch in one corner."""
    corners = rng.integers(1, 9, (rng.integers(3, 8), 2)) * 2
    sizes = rng.integers(1, 4, corners.shape) * 2
    return [box(x, y, min(x + w, 19), min(y + h, 19)) for (x, y), (w, h) in zip(corners, sizes, strict=True)]


def triangles(rng: np.random.Generator) -> list[Polygon]:
    """Triangles that overlap each other and the parcel line."""
    shapes = [Polygon(np.round(rng.uniform(0, SIDE, 2) + rng.uniform(-6, 6, (3, 2)), 3)) for _ in range(6)]
    return [shape for shape in shapes if shape.area > 0.5]


def grid_triangles(rng: np.random.Generator) -> list[Polygon]:
    """Triangles on whole metres: points touch slanting walls, corners stand in line."""
    shapes = [Polygon(rng.integers(1, 10, 2) * 2 + rng.integers(-3, 4, (3, 2))) for _ in range(6)]
    return [shape for shape in shapes if shape.area > 0.5]


def thin_walls(rng: np.random.Generator) -> list[Polygon]:
    """Long walls a few millimetres to decimetres thick."""
    walls = []
    for x, y in rng.uniform(2, 18, (6, 2)):
        length, thick = rng.uniform(4, 14), rng.choice([0.005, 0.05, 0.3])
        wall = affinity.rotate(box(x - length / 2, y, x + length / 2, y + thick), rng.choice([0, 90, 37, 81]))
        walls.append(Polygon(np.round(wall.exterior.coords, 3)))
    return [wall for wall in walls if wall.area > 0]


def sites(rng: np.random.Generator, kind: int) -> Polygon | MultiPolygon:
    """Return the free area of a site, as it would come: a difference, or raw holes that may overlap."""
    make = (touching_blocks, triangles, grid_triangles, thin_walls)[kind % 4]
    parcel: BaseGeometry = PARCEL
    if kind // 4 % 2:
        angle = np.sort(rng.uniform(0, 2 * math.pi, 9))
        reach = rng.uniform(3, 10, 9)
        star = np.round(10 + np.c_[reach * np.cos(angle), reach * np.sin(angle)], 2)
        parcel = Polygon(star) if Polygon(star).is_valid else PARCEL
    blocks = make(rng)
    if make is not triangles and kind // 8 % 2 and parcel is PARCEL:
        return Polygon(PARCEL.exterior, [block.exterior for block in blocks])
    return parcel.difference(shapely.union_all(blocks))


def spots(rng: np.random.Generator, area: BaseGeometry, count: int) -> list[tuple[float, float]]:
    """Return places on the ground: inside, at corners, and along the boundary."""
    low_x, low_y, high_x, high_y = area.bounds
    corners = shapely.get_coordinates(area)
    found: list[tuple[float, float]] = []
    while len(found) < count:
        pick = rng.random()
        if pick < 0.2:
            spot = Point(rng.choice(corners))
        elif pick < 0.4:
            spot = area.boundary.interpolate(rng.random(), normalized=True)
        else:
            spot = Point(np.round(rng.uniform((low_x, low_y), (high_x, high_y)), int(rng.integers(0, 4))))
        if area.distance(spot) < NEAR:
            found.append((spot.x, spot.y))
    return found


def length_m(found: Shortest | None) -> float:
    return math.inf if found is None else found.length_m


def agrees(ours: float, theirs: float) -> bool:
    return math.isclose(ours, theirs, rel_tol=1e-9, abs_tol=1e-9)


def check_line(found: Shortest, area: BaseGeometry, start: tuple[float, float]) -> None:
    assert found.line.coords[0] == start
    assert len(found.line.coords) >= 2
    assert found.length_m == pytest.approx(found.line.length, rel=1e-12)
    assert area.buffer(1e-6).covers(found.line)
