"""Shortest lines against lengths published elsewhere."""

from __future__ import annotations

import pytest
from shapely import LineString, Point, Polygon, box

from siteplan.route.mesh import FreeGround
from siteplan.route.shortest import shortest_to_point, shortest_to_walls

# "Arena" map of the Moving AI benchmarks as a navigation mesh (Cui and Harabor 2017, MIT licence), with the
# optimal Euclidean lengths published in the polyanya test suite, meshes/v2/arena.mesh and tests/arena.rs,
# https://github.com/vleue/polyanya. Outline and holes were read off the mesh. Six figures are published, and the
# number of corners on the line as it was found there, some of which the line passes straight.
ARENA = [
    (1, 15), (3, 15), (3, 18), (2, 18), (2, 23), (1, 23), (1, 26), (2, 26), (2, 27), (3, 27), (3, 30), (1, 30),
    (1, 31), (3, 31), (3, 34), (2, 34), (2, 35), (1, 35), (1, 47), (3, 47), (3, 48), (15, 48), (15, 47), (19, 47),
    (19, 48), (20, 48), (20, 46), (23, 46), (23, 47), (24, 47), (24, 48), (26, 48), (26, 46), (29, 46), (29, 47),
    (30, 47), (30, 48), (31, 48), (31, 47), (35, 47), (35, 48), (47, 48), (47, 47), (48, 47), (48, 35), (47, 35),
    (47, 31), (48, 31), (48, 19), (47, 19), (47, 15), (48, 15), (48, 3), (47, 3), (47, 1), (35, 1), (35, 2),
    (34, 2), (34, 3), (31, 3), (31, 1), (30, 1), (30, 2), (29, 2), (29, 3), (26, 3), (26, 1), (23, 1), (23, 2),
    (20, 2), (20, 1), (19, 1), (19, 2), (18, 2), (18, 3), (15, 3), (15, 1), (3, 1), (3, 2), (2, 2), (2, 3), (1, 3),
]  # fmt: skip
ARENA_HOLES = [
    [(18, 34), (18, 35), (15, 35), (15, 31), (19, 31), (19, 34)],
    [(15, 19), (15, 15), (19, 15), (19, 18), (18, 18), (18, 19)],
    [(23, 10), (23, 8), (24, 8), (24, 7), (26, 7), (26, 10)],
    [(31, 31), (35, 31), (35, 34), (34, 34), (34, 35), (31, 35)],
    [(31, 15), (35, 15), (35, 18), (34, 18), (34, 19), (31, 19)],
]
ARENA_LENGTHS = [
    ((1, 12), (2, 37), 25.7678, 6),
    ((1, 10), (19, 18), 21.0575, 2),
    ((1, 10), (43, 40), 52.0087, 2),
    ((1, 4), (44, 45), 59.5469, 2),
    ((1, 4), (43, 46), 59.4245, 2),
    ((1, 13), (4, 23), 10.8907, 1),
    ((1, 35), (5, 33), 4.60555, 1),
    ((1, 11), (21, 17), 21.2675, 1),
    ((1, 11), (3, 36), 25.4721, 1),
    ((1, 11), (5, 42), 31.5461, 1),
    ((1, 11), (43, 27), 45.245, 1),
]


@pytest.mark.parametrize(("start", "goal", "length_m", "corners"), ARENA_LENGTHS)
def test_arena(start: tuple[float, float], goal: tuple[float, float], length_m: float, corners: int) -> None:
    ground = FreeGround(Polygon(ARENA, ARENA_HOLES))
    for a, b in ((start, goal), (goal, start)):
        found = shortest_to_point(ground, Point(a), Point(b))
        assert found is not None
        assert found.length_m == pytest.approx(length_m, abs=2e-4)
        assert 1 <= len(found.line.coords) - 2 <= corners


def test_round_two_triangles() -> None:
    """The worked example of pyvisgraph's README (MIT licence), section Usage: the line it prints.

    https://github.com/TaipanRex/pyvisgraph. The length follows from the line.
    """
    triangles = [Polygon([(0, 1), (3, 1), (1.5, 4)]), Polygon([(4, 4), (7, 4), (5.5, 8)])]
    ground = FreeGround(box(-20, -20, 30, 30).difference(triangles[0]).difference(triangles[1]))
    found = shortest_to_point(ground, Point(1.5, 0), Point(4, 6))
    assert found is not None
    assert list(found.line.coords) == [(1.5, 0), (3, 1), (4, 6)]
    assert found.length_m == pytest.approx(6.901795, abs=1e-6)


def test_least_distance_between_two_areas() -> None:
    """JTS Topology Suite, testxml/general/TestDistance.xml: two areas that see each other, 71.55417527999327.

    https://github.com/locationtech/jts, modules/tests/src/test/resources. The least distance between two areas
    starts at a corner of one of them.
    """
    first = Polygon([(100, 320), (60, 120), (240, 180), (200, 260), (100, 320)])
    second = Polygon([(420, 320), (280, 260), (400, 100), (420, 320)])
    ground = FreeGround(box(0, 0, 500, 500).difference(first).difference(second))
    lengths = []
    for here, there in ((first, second), (second, first)):
        walls = LineString(there.exterior.coords)
        for corner in here.exterior.coords[:-1]:
            found = shortest_to_walls(ground, Point(corner), walls)
            assert found is not None
            lengths.append(found.length_m)
    assert min(lengths) == pytest.approx(71.55417527999327, abs=1e-9)


def test_no_distance_to_the_area_that_holds_a_point() -> None:
    """JTS Topology Suite, testxml/general/TestWithinDistance.xml: a point in an area, distance 0."""
    area = Polygon([(100, 260), (340, 180), (100, 60), (180, 160), (100, 260)])
    assert FreeGround(area).holds(240, 160)
    assert not FreeGround(area).holds(110, 160)
