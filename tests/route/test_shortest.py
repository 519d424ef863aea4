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
from shapely.ops import substring

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
        self.ends = ends = np.array([self.corners[i] for i, _ in self.places])
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
            if min(math.dist(spot, a), math.dist(spot, b)) > NEAR and line.distance(Point(spot)) < 1e-7:
                before, behind = Point(spot - step), Point(spot + step)
                if not any(max(p.distance(before), p.distance(behind)) < NEAR for p in self.parts[i]):
                    return False
        return True

    def sees(self, spot: tuple[float, float]) -> Iterator[tuple[int, float]]:
        """Give the places in sight of any spot on the ground."""
        here = np.array(spot)
        legs = np.hypot(*(self.ends - here).T)
        lines = np.stack([np.broadcast_to(here, self.ends.shape), self.ends], axis=1)
        seen = shapely.covers(self.grown, shapely.linestrings(lines))
        for n in np.flatnonzero(seen | (legs < NEAR)).tolist():
            if legs[n] < NEAR:
                yield n, 0.0
            elif self.open(here, self.ends[n], None, n):
                yield n, float(legs[n])

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


def grown_rings(rng: np.random.Generator) -> list[Polygon]:
    """Ponds kept off by a rounded clearance: many flat corners."""
    centres = rng.uniform(3, 17, (4, 2))
    return [Point(c).buffer(rng.uniform(1, 3), quad_segs=int(rng.integers(2, 6))) for c in centres]


KINDS = (touching_blocks, triangles, grid_triangles, thin_walls, grown_rings)


def free_area(rng: np.random.Generator, kind: int) -> Polygon | MultiPolygon:
    """Return the free area of a site, as it would come: a difference, or raw holes that may overlap."""
    blocks = KINDS[kind % 5](rng)
    form = rng.integers(4)
    if form == 0 and all(PARCEL.contains_properly(block) for block in blocks):
        return Polygon(PARCEL.exterior, [block.exterior for block in blocks])
    if form == 1:
        angle, reach = np.sort(rng.uniform(0, 2 * math.pi, 9)), rng.uniform(3, 10, 9)
        star = Polygon(np.round(10 + np.c_[reach * np.cos(angle), reach * np.sin(angle)], 2))
        if star.is_valid:
            return star.difference(shapely.union_all(blocks))
    return PARCEL.difference(shapely.union_all(blocks))


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


def picked_wall(rng: np.random.Generator, area: BaseGeometry) -> MultiLineString:
    """Return a part of a boundary ring, a whole ring, or a line across the ground."""
    rings = shapely.get_rings(shapely.get_parts(area))
    ring = LineString(rings[rng.integers(len(rings))])
    pick = rng.integers(3)
    if pick == 0:
        begin = rng.uniform(0, 0.8)
        wall = substring(ring, begin, begin + rng.uniform(0.02, 0.6), normalized=True)
    elif pick == 1:
        wall = ring
    else:
        wall = LineString(np.round(rng.uniform(0, SIDE, (3, 2)), 2)).intersection(area)
    parts = shapely.get_parts(wall)
    return MultiLineString([part for part in parts if part.geom_type == "LineString" and part.length > 1e-3])


# --- against the brute force ---------------------------------------------------------------------


@pytest.mark.parametrize("kind", range(len(KINDS)), ids=[make.__name__ for make in KINDS])
def test_agrees_with_brute_force(kind: int) -> None:
    ways = none = 0
    for seed in range(40):
        rng = np.random.default_rng([seed, kind])
        area = free_area(rng, kind)
        ground = FreeGround(area)
        graph = SightGraph(ground.area)
        *starts, last = spots(rng, ground.area, 4)
        for start, goal in pairwise([*starts, last]):
            found = shortest_to_point(ground, Point(start), Point(goal))
            assert agrees(length_m(found), graph.length_m(start, [goal])), (seed, start, goal)
            ways, none = ways + (found is not None), none + (found is None)
            if found:
                check_line(found, ground.area, start)
                assert found.line.coords[-1] == goal
        walls = picked_wall(rng, ground.area)
        for start in starts[:2]:
            found = shortest_to_walls(ground, Point(start), walls)
            assert agrees(length_m(found), graph.length_to_walls_m(start, walls)), (seed, start, walls.wkt)
            if found:
                check_line(found, ground.area, start)
                assert walls.distance(Point(found.line.coords[-1])) < 1e-6
    assert ways > 40
    assert none < ways


def test_no_sampled_point_of_a_wall_is_nearer() -> None:
    for seed in range(20):
        rng = np.random.default_rng([seed, 99])
        ground = FreeGround(free_area(rng, seed))
        (spot,) = spots(rng, ground.area, 1)
        start, walls = Point(spot), picked_wall(rng, ground.area)
        found = length_m(shortest_to_walls(ground, start, walls))
        samples = [walls.interpolate(share, normalized=True) for share in np.linspace(0, 1, 60)]
        sampled = min((length_m(shortest_to_point(ground, start, s)) for s in samples), default=math.inf)
        assert found <= sampled + 1e-9
        assert math.isinf(found) or sampled - found < walls.length / 59


# --- single cases, worked by hand ----------------------------------------------------------------

YARD = FreeGround(PARCEL.difference(box(5, 5, 15, 15)))


def test_straight_line_in_the_open() -> None:
    found = shortest_to_point(YARD, Point(1, 1), Point(4, 5))
    assert found is not None
    assert list(found.line.coords) == [(1, 1), (4, 5)]
    assert found.length_m == 5.0


def test_line_bends_at_corners_only() -> None:
    found = shortest_to_point(YARD, Point(1, 10), Point(19, 11))
    assert found is not None
    assert list(found.line.coords) == [(1, 10), (5, 15), (15, 15), (19, 11)]
    assert found.length_m == pytest.approx(math.hypot(4, 5) + 10 + math.hypot(4, 4), rel=1e-15)


def test_start_and_goal_on_the_boundary() -> None:
    found = shortest_to_point(YARD, Point(5, 10), Point(10, 5))
    assert found is not None
    assert list(found.line.coords) == [(5, 10), (5, 5), (10, 5)]


def test_heights_of_points_are_left_out() -> None:
    found = shortest_to_point(YARD, Point(1, 1, 250), Point(4, 5, 260))
    assert found is not None
    assert not found.line.has_z
    assert found.length_m == 5.0


def test_same_point_gives_two_points_and_no_length() -> None:
    found = shortest_to_point(YARD, Point(1, 2), Point(1, 2))
    assert found is not None
    assert (list(found.line.coords), found.length_m) == ([(1, 2), (1, 2)], 0.0)


def test_walls_foot_of_the_perpendicular() -> None:
    found = shortest_to_walls(YARD, Point(1, 9), LineString([(5, 6), (5, 14)]))
    assert found is not None
    assert list(found.line.coords) == [(1, 9), (5, 9)]


def test_walls_trimmed_end_is_exact() -> None:
    walls = MultiLineString([[(5, 6.3), (5, 13.7)], [(14.1, 15), (14.2, 15)]])
    found = shortest_to_walls(YARD, Point(1, 3.3), walls)
    assert found is not None
    assert list(found.line.coords) == [(1, 3.3), (5, 6.3)]
    assert found.length_m == 5.0


def test_walls_behind_the_corner() -> None:
    found = shortest_to_walls(YARD, Point(1, 11), LineString([(15, 14), (15, 6)]))
    assert found is not None
    assert list(found.line.coords) == [(1, 11), (5, 15), (15, 15), (15, 14)]


def test_start_on_the_wall_has_no_length() -> None:
    found = shortest_to_walls(YARD, Point(5, 9), LineString([(5, 6), (5, 14)]))
    assert found is not None
    assert (list(found.line.coords), found.length_m) == ([(5, 9), (5, 9)], 0.0)


def test_tee_anywhere_on_a_line_across_the_ground() -> None:
    trunk = LineString([(0, 2), (10, 2), (10, -3)])
    for y in (0.5, 3.5):
        found = shortest_to_walls(YARD, Point(7, y), trunk)
        assert found is not None
        assert list(found.line.coords) == [(7, y), (7, 2)]


def test_wall_off_the_ground_is_no_goal() -> None:
    assert shortest_to_walls(YARD, Point(1, 1), LineString([(7, 7), (9, 12)])) is None
    assert shortest_to_walls(YARD, Point(1, 1), LineString([(40, 0), (40, 9)])) is None
    assert shortest_to_walls(YARD, Point(1, 1), LineString()) is None


def test_off_the_ground_there_is_no_way() -> None:
    assert shortest_to_point(YARD, Point(7, 7), Point(1, 1)) is None
    assert shortest_to_point(YARD, Point(1, 1), Point(7, 7)) is None
    assert shortest_to_walls(YARD, Point(7, 7), LineString([(5, 6), (5, 14)])) is None


def test_empty_ground_has_no_way() -> None:
    for empty in (Polygon(), MultiPolygon()):
        ground = FreeGround(empty)
        assert shortest_to_point(ground, Point(0, 0), Point(1, 1)) is None
        assert shortest_to_walls(ground, Point(0, 0), LineString([(0, 0), (1, 1)])) is None


def test_parts_that_do_not_meet_have_no_way() -> None:
    ground = FreeGround(MultiPolygon([box(0, 0, 4, 4), box(5, 0, 9, 4)]))
    assert shortest_to_point(ground, Point(1, 1), Point(8, 1)) is None
    assert shortest_to_point(ground, Point(5, 1), Point(8, 1)) is not None
    assert shortest_to_walls(ground, Point(1, 1), LineString([(5, 0), (5, 4)])) is None


def test_parts_that_overlap_are_one() -> None:
    found = shortest_to_point(
        FreeGround(MultiPolygon([box(0, 0, 6, 4), box(5, 0, 9, 4)])), Point(1, 1), Point(8, 1)
    )
    assert length_m(found) == 7.0


def test_holes_that_overlap_hold_together() -> None:
    holes = [box(5, -1, 9, 8).exterior, box(7, 4, 11, 19).exterior]
    ground = FreeGround(Polygon(box(0, -2, SIDE, SIDE).exterior, holes))
    assert not ground.holds(8, 6)
    found = shortest_to_point(ground, Point(4, 6), Point(12, 6))
    assert found is not None
    assert list(found.line.coords) == [(4, 6), (5, -1), (9, -1), (12, 6)]


@pytest.mark.parametrize("turn", [0.0, 17.0, 45.0, 81.3])
@pytest.mark.parametrize("shift", [0.0, 5e5])
def test_a_gap_without_width_is_closed(turn: float, shift: float) -> None:
    """A point against a wall, and two blocks corner to corner, stay closed however the site is turned."""

    def placed(shape: BaseGeometry) -> BaseGeometry:
        return affinity.translate(affinity.rotate(shape, turn, origin=(3, 4)), shift, shift)

    blocks = [box(0, 5, 7, 7), Polygon([(4, 7), (5, 12), (2.5, 12)]), box(7, 7, 20, 9)]
    ground = FreeGround(placed(PARCEL).difference(shapely.union_all([placed(block) for block in blocks])))
    assert shortest_to_point(ground, placed(Point(6, 4)), placed(Point(6, 8))) is None
    held_off = shortest_to_point(ground, placed(Point(3, 7.5)), placed(Point(5, 7.5)))
    assert length_m(held_off) == pytest.approx(math.hypot(0.5, 4.5) + 2.5 + math.hypot(0, 4.5), abs=1e-7)


def test_corners_in_line_do_not_stop_a_line() -> None:
    walls = [box(2, 0, 4, 10), box(6, 10, 8, 20), box(10, 0, 12, 10), Polygon([(15, 10), (14, 0), (16, 0)])]
    ground = FreeGround(PARCEL.difference(shapely.union_all(walls)))
    assert length_m(shortest_to_point(ground, Point(0, 10), Point(20, 10))) == 20.0


def test_points_along_a_wall_do_not_stop_a_line() -> None:
    """Between the upper and the lower block the view is a line without width, and the lower wall has points on it."""
    upper = box(2, 10, 6, 20)
    lower = Polygon([(8, 0), (18, 0), (18, 10), (15, 10), (13, 10), (8, 10)])
    ground = FreeGround(Polygon(PARCEL.exterior).difference(upper).difference(lower))
    for a, b in ((Point(0, 10), Point(20, 10)), (Point(20, 10), Point(0, 10)), (Point(14, 10), Point(1, 10))):
        assert length_m(shortest_to_point(ground, a, b)) == a.distance(b)


def test_a_line_bends_round_the_bluntest_corner() -> None:
    ground = FreeGround(PARCEL.difference(Polygon([(2, 5), (10, 5.0004), (18, 5), (10, 2)])))
    found = shortest_to_point(ground, Point(2, 5), Point(18, 5))
    assert found is not None
    assert list(found.line.coords) == [(2, 5), (10, 5.0004), (18, 5)]


def test_start_and_goal_just_off_a_slanting_wall() -> None:
    """A point computed to lie on a wall lies beside it by rounding; the line still runs along the wall."""
    rng = np.random.default_rng(5)
    for _ in range(40):
        turn, share = rng.uniform(0, 360), rng.uniform(0, 1)
        house = affinity.rotate(box(5, 5, 15, 15), turn, origin=(10, 10))
        ground = FreeGround(box(-20, -20, 40, 40).difference(house))
        ring = house.exterior
        start, goal = ring.interpolate(10 * share), ring.interpolate(10 + 10 * share)
        for a, b in ((start, goal), (goal, start)):
            assert length_m(shortest_to_point(ground, a, b)) == pytest.approx(10.0, abs=1e-7)


def test_a_long_way_needs_no_deep_stack() -> None:
    """Six hundred walls in turn: a search that called itself would fail here."""
    count = 600
    walls = [box(2 * i + 1, -1 if i % 2 else 1, 2 * i + 1.5, 19 if i % 2 else 21) for i in range(count)]
    ground = FreeGround(box(0, 0, 2 * count + 1, SIDE).difference(shapely.union_all(walls)))
    found = shortest_to_point(ground, Point(0.5, 0.5), Point(2 * count + 0.5, 0.5))
    assert found is not None
    bends = 1 + 2 * (count - 1)
    assert len(found.line.coords) == bends + 2


# --- properties ----------------------------------------------------------------------------------

SEEDS = st.integers(0, 10_000)


@settings(max_examples=40, deadline=None, derandomize=True)
@given(SEEDS)
def test_there_and_back_are_equal(seed: int) -> None:
    rng = np.random.default_rng([seed, 1])
    ground = FreeGround(free_area(rng, seed))
    start, goal = (Point(spot) for spot in spots(rng, ground.area, 2))
    there, back = shortest_to_point(ground, start, goal), shortest_to_point(ground, goal, start)
    assert agrees(length_m(there), length_m(back))


@settings(max_examples=40, deadline=None, derandomize=True)
@given(SEEDS)
def test_one_more_obstacle_never_shortens(seed: int) -> None:
    rng = np.random.default_rng([seed, 2])
    area = free_area(rng, seed)
    x, y = rng.uniform(0, SIDE - 5, 2)
    fewer = FreeGround(area)
    more = FreeGround(fewer.area.difference(box(x, y, x + rng.uniform(1, 5), y + rng.uniform(1, 5))))
    assume(not more.area.is_empty)
    start, goal = (Point(spot) for spot in spots(rng, more.area, 2))
    walls = picked_wall(rng, more.area)
    for find, end in ((shortest_to_point, goal), (shortest_to_walls, walls)):
        before, after = length_m(find(fewer, start, end)), length_m(find(more, start, end))
        assert before <= after + 1e-6
        assert math.isinf(before) or before >= start.distance(end) - 1e-6


@settings(max_examples=60, deadline=None, derandomize=True)
@given(SEEDS, st.floats(0, 360), st.sampled_from([0.1, 1.0, 30.0]), st.sampled_from([0.0, 4e5]))
def test_turning_scaling_and_shifting_change_nothing(
    seed: int, turn: float, scale: float, shift: float
) -> None:
    """Beyond the 1e-8 m to which corners are rounded."""
    rng = np.random.default_rng([seed, 3])
    area = free_area(rng, seed)
    along, across = scale * math.cos(math.radians(turn)), scale * math.sin(math.radians(turn))

    def moved(shape: BaseGeometry) -> BaseGeometry:
        return affinity.affine_transform(shape, [along, -across, across, along, shift, shift])

    here, there = FreeGround(area), FreeGround(moved(area))
    start, goal = (Point(spot) for spot in spots(rng, here.area, 2))
    for find, end in ((shortest_to_point, goal), (shortest_to_walls, picked_wall(rng, here.area))):
        first, second = find(here, start, end), find(there, moved(start), moved(end))
        assert math.isclose(length_m(first), length_m(second) / scale, rel_tol=1e-9, abs_tol=1e-6)
        if second:
            assert there.area.buffer(2e-6).covers(second.line)
