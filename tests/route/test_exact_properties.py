"""What holds of every shortest line, on small random sites; and a thousand of them against a plain sight graph."""

from __future__ import annotations

import math

import numpy as np
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.sparse.csgraph import dijkstra
from shapely import LineString, Point, Polygon, affinity, box
from shapely.geometry.base import BaseGeometry
from shapely.ops import substring

from siteplan.route.grown import grown
from siteplan.route.mesh import FreeGround
from siteplan.route.shortest import Shortest, shortest_to_point, shortest_to_walls

SIDE = 12
PARCEL = box(0, 0, SIDE, SIDE)

metres = st.integers(0, SIDE)
spots = st.builds(Point, metres, metres)
blocks = st.lists(
    st.builds(
        lambda x, y, w, h: box(x, y, x + w, y + h), metres, metres, st.integers(1, 5), st.integers(1, 5)
    ),
    max_size=6,
)
whole_metres = settings(max_examples=150, deadline=None, derandomize=True)
"""Blocks on whole metres share walls and corners all the time; a gap without width is closed."""


def free(obstacles: list[Polygon]) -> BaseGeometry:
    return PARCEL.difference(shapely.union_all(obstacles))


def length_m(found: Shortest | None) -> float:
    return math.inf if found is None else found.length_m


# --- what holds of every line --------------------------------------------------------------------


@whole_metres
@given(blocks, spots, spots, spots)
def test_a_detour_is_never_shorter(obstacles: list[Polygon], start: Point, via: Point, goal: Point) -> None:
    """Leave out places where obstacles touch: from there both sides can be reached, and no line goes through."""
    area = free(obstacles)
    ground = FreeGround(area)
    around = [part for part in shapely.get_parts(area.intersection(via.buffer(0.1))) if part.area > 0]
    assume(len(around) <= 1)
    direct = length_m(shortest_to_point(ground, start, goal))
    first, second = shortest_to_point(ground, start, via), shortest_to_point(ground, via, goal)
    assert direct <= (length_m(first) + length_m(second)) * (1 + 1e-12)


@whole_metres
@given(blocks, spots, spots, st.floats(0, 1), st.floats(0, 1))
def test_every_part_of_a_shortest_line_is_shortest(
    obstacles: list[Polygon], start: Point, goal: Point, one: float, other: float
) -> None:
    ground = FreeGround(free(obstacles))
    found = shortest_to_point(ground, start, goal)
    assume(found is not None and found.length_m > 0.0)
    part = substring(found.line, min(one, other), max(one, other), normalized=True)
    ends = Point(part.coords[0]), Point(part.coords[-1])
    assert math.isclose(length_m(shortest_to_point(ground, *ends)), part.length, rel_tol=1e-9, abs_tol=1e-7)


@whole_metres
@given(blocks, spots, st.tuples(metres, metres, metres, metres))
def test_the_way_to_a_wall_is_the_least_way_to_its_places(
    obstacles: list[Polygon], start: Point, ends: tuple[int, int, int, int]
) -> None:
    wall = LineString([ends[:2], ends[2:]])
    assume(wall.length > 0)
    ground = FreeGround(free(obstacles))
    found = shortest_to_walls(ground, start, wall)
    ways = [
        length_m(shortest_to_point(ground, start, wall.interpolate(share, normalized=True)))
        for share in np.linspace(0, 1, 13)
    ]
    assert length_m(found) <= min(ways) + 1e-9
    if found:
        assert math.isclose(
            length_m(shortest_to_point(ground, start, Point(found.line.coords[-1]))),
            found.length_m,
            rel_tol=1e-9,
            abs_tol=1e-7,
        )


@settings(max_examples=60, deadline=None, derandomize=True)
@given(
    st.lists(st.tuples(st.floats(1, 11), st.floats(1, 11), st.floats(0.2, 3), st.floats(0, 180)), max_size=5),
    st.floats(0.1, 1.5),
)
def test_a_line_keeps_its_distance(things: list[tuple[float, float, float, float]], keep_m: float) -> None:
    """A millimetre is what a sheet prints; the line keeps its distance to a micrometre."""
    shapes = [
        affinity.rotate(box(x - size, y - 0.2, x + size, y + size / 2), turn) for x, y, size, turn in things
    ]
    ground = FreeGround(free([grown(shape, keep_m, corners="outside") for shape in shapes]))
    for start, goal in (
        (Point(0, 0), Point(12, 12)),
        (Point(0, 12), Point(12, 0)),
        (Point(6, 0), Point(6, 12)),
    ):
        found = shortest_to_point(ground, start, goal)
        if found:
            assert PARCEL.buffer(1e-6).covers(found.line)
            assert all(found.line.distance(shape) > keep_m - 1e-6 for shape in shapes)


# --- a thousand sites against a plain sight graph ------------------------------------------------

SHRUNK_M = 1e-6
"""The sight graph stands on ground drawn in by this much: gaps without width are shut, with no rule made for them."""


def grid_blocks(rng: np.random.Generator) -> list[Polygon]:
    corners, sizes = rng.integers(0, SIDE, (6, 2)), rng.integers(1, 5, (6, 2))
    return [box(x, y, x + w, y + h) for (x, y), (w, h) in zip(corners.tolist(), sizes.tolist(), strict=True)]


def corner_chains(rng: np.random.Generator) -> list[Polygon]:
    """Squares set corner to corner: a fence without gaps, or with one where a square is left out."""
    turn = rng.choice([-1, 1])
    x, y = 0, int(rng.integers(2, 8)) + (3 if turn < 0 else 0)
    squares = [box(x + k, y + turn * k, x + k + 1, y + turn * k + 1) for k in range(SIDE)]
    return [square for square in squares if rng.random() < 0.9]


def triangles(rng: np.random.Generator) -> list[Polygon]:
    shapes = [Polygon(np.round(rng.uniform(0, SIDE, 2) + rng.uniform(-4, 4, (3, 2)), 3)) for _ in range(5)]
    return [shape for shape in shapes if shape.area > 0.2]


def turned_boards(rng: np.random.Generator) -> list[Polygon]:
    shapes = [box(-3, 0, rng.uniform(1, 3), rng.choice([0.01, 0.3])) for _ in range(5)]
    return [
        affinity.translate(affinity.rotate(shape, rng.choice([0, 45, 90, 71])), *rng.integers(2, SIDE - 2, 2))
        for shape in shapes
    ]


KINDS = (grid_blocks, corner_chains, triangles, turned_boards)


def sight_graph_m(area: BaseGeometry, places: list[Point]) -> np.ndarray:
    """Return all lengths between some places: every pair of corners in sight of each other is joined."""
    shrunk = shapely.buffer(area, -SHRUNK_M, join_style="mitre")
    ends = np.concatenate(
        [shapely.get_coordinates(places), np.unique(shapely.get_coordinates(shrunk), axis=0)]
    )
    slack = shapely.buffer(shrunk, SHRUNK_M / 10, join_style="mitre")
    shapely.prepare(slack)
    a, b = np.triu_indices(len(ends), 1)
    seen = shapely.covers(slack, shapely.linestrings(np.stack([ends[a], ends[b]], axis=1)))
    legs = np.zeros((len(ends), len(ends)))
    legs[a[seen], b[seen]] = np.hypot(*(ends[a] - ends[b])[seen].T)
    return dijkstra(legs, directed=False, indices=range(len(places)))[:, : len(places)]


def test_a_thousand_sites_agree_with_a_plain_sight_graph() -> None:
    ways = none = 0
    for seed in range(1000):
        rng = np.random.default_rng([seed, 17])
        area = free(KINDS[seed % len(KINDS)](rng))
        tried = shapely.points(np.round(rng.uniform(0, SIDE, (12, 2)), 2))
        clear = [spot for spot in tried if area.contains(spot) and area.boundary.distance(spot) > 1e-3][:3]
        expected = sight_graph_m(area, clear)
        ground = FreeGround(area)
        for i, start in enumerate(clear):
            for j, goal in enumerate(clear[:i]):
                found = length_m(shortest_to_point(ground, start, goal))
                ways, none = ways + math.isfinite(found), none + math.isinf(found)
                assert found <= expected[i, j] + 1e-8, (seed, start.wkt, goal.wkt, found, expected[i, j])
                assert expected[i, j] <= found + 1e-4, (seed, start.wkt, goal.wkt, found, expected[i, j])
    assert ways > 2000
    assert none > 100
