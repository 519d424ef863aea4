"""Ground that is hard on a router: lengths worked by hand, or compared with the same ground in an easier form."""

from __future__ import annotations

import math
from itertools import combinations

import numpy as np
import pytest
import shapely
from shapely import LineString, Point, Polygon, affinity, box
from shapely.geometry.base import BaseGeometry

from siteplan.route.grown import grown
from siteplan.route.mesh import FreeGround
from siteplan.route.shortest import Shortest, shortest_to_point, shortest_to_walls

PARCEL = box(0, 0, 40, 40)
TURNS = [0.0, 30.0, 45.0, 77.7]


def free(*obstacles: BaseGeometry, land: BaseGeometry = PARCEL) -> FreeGround:
    return FreeGround(land.difference(shapely.union_all(obstacles)))


def length_m(found: Shortest | None) -> float:
    return math.inf if found is None else found.length_m


# --- corridors -----------------------------------------------------------------------------------


@pytest.mark.parametrize("turn", TURNS)
@pytest.mark.parametrize(("wider_m", "is_open"), [(-1e-3, False), (0.0, False), (1e-6, True), (1e-3, True)])
def test_a_corridor_as_wide_as_the_trench(turn: float, wider_m: float, is_open: bool) -> None:
    """Half the trench is kept off each house: between them nothing is left, or a little."""
    half_m, gap_m = 0.305, 0.61 + wider_m
    houses = [box(-25, 0, 0, 4), box(gap_m, 0, 25, 4)]
    turned = [affinity.rotate(house, turn, origin=(0, 0)) for house in houses]
    land = affinity.rotate(box(-20, -10, 20, 14), turn, origin=(0, 0))
    ground = free(*(grown(house, half_m, corners="outside") for house in turned), land=land)
    ends = [affinity.rotate(Point(gap_m / 2, y), turn, origin=(0, 0)) for y in (-8, 12)]
    found = shortest_to_point(ground, *ends)
    assert (found is not None) == is_open
    if found:
        assert found.length_m == pytest.approx(20, abs=1e-6)
        assert all(found.line.distance(house) > half_m - 1e-6 for house in turned)


def test_a_corridor_that_narrows_to_nothing_and_widens_again() -> None:
    left, right = Polygon([(0, 0), (10, 0), (20, 20), (10, 40), (0, 40)]), box(20, 0, 40, 40)
    assert shortest_to_point(free(left, right), Point(15, 1), Point(15, 39)) is None
    apart = affinity.translate(right, 1e-5, 0)
    assert length_m(shortest_to_point(free(left, apart), Point(15, 1), Point(15, 39))) == pytest.approx(
        2 * math.hypot(5, 19), abs=1e-5
    )


def test_a_maze_of_forty_corridors_a_millimetre_wide() -> None:
    walls = [box(0 if k % 2 else 0.001, k - 0.999, 40 if not k % 2 else 39.999, k) for k in range(1, 40)]
    ground = free(*walls, land=box(0, 0, 40, 39.001))
    found = shortest_to_point(ground, Point(0, 0), Point(40, 39.001))
    assert found is not None
    along = math.hypot(39.999, 0.001) + 38 * math.hypot(39.998, 0.001)
    assert found.length_m == pytest.approx(along + 38 * 0.999 + math.hypot(0.001, 1.0), abs=1e-6)
    assert ground.area.buffer(1e-7).covers(found.line)


# --- corners and edges ---------------------------------------------------------------------------


@pytest.mark.parametrize("turn", TURNS[:2])
def test_thousands_of_points_on_an_edge_change_nothing(turn: float) -> None:
    """Where the edges slant, the points lie beside them by rounding."""
    outline = LineString(box(10, 10, 30, 30).exterior)
    dense = Polygon([outline.interpolate(share, normalized=True) for share in np.linspace(0, 1, 2001)])
    plain, many = (free(affinity.rotate(house, turn)) for house in (box(10, 10, 30, 30), dense))
    assert len(many.mesh.x) > 2000
    ends = [affinity.rotate(Point(p), turn, origin=(20, 20)) for p in ((9, 20), (31, 21), (20, 9))]
    for start, goal in combinations(ends, 2):
        expected = length_m(shortest_to_point(plain, start, goal))
        assert length_m(shortest_to_point(many, start, goal)) == pytest.approx(expected, abs=1e-6)


def test_a_pond_of_two_thousand_corners() -> None:
    """Round a circle: two tangents and the arc between them."""
    ground = free(Point(20, 20).buffer(10, quad_segs=500))
    found = shortest_to_point(ground, Point(5, 20), Point(35, 20))
    tangent, arc = math.sqrt(15**2 - 10**2), 10 * (math.pi - 2 * math.acos(10 / 15))
    assert length_m(found) == pytest.approx(2 * tangent + arc, abs=1e-4)


def test_from_every_corner_to_every_corner() -> None:
    """An L, a triangle and the parcel: between any two corners the line is as long there as back, and not through."""
    shapes = [
        Polygon([(8, 8), (30, 8), (30, 12), (12, 12), (12, 30), (8, 30)]),
        Polygon([(20, 20), (35, 20), (20, 35)]),
    ]
    ground = free(*shapes)
    corners = [Point(p) for shape in (*shapes, PARCEL) for p in shape.exterior.coords[:-1]]
    for start, goal in combinations(corners, 2):
        there, back = shortest_to_point(ground, start, goal), shortest_to_point(ground, goal, start)
        assert there is not None
        assert there.length_m == pytest.approx(length_m(back), rel=1e-12)
        assert not any(there.line.crosses(shape) for shape in shapes)
    assert length_m(shortest_to_point(ground, Point(8, 8), Point(12, 12))) == pytest.approx(22 + 4 + 18)


@pytest.mark.parametrize("width_m", [1e-7, 1e-5, 1e-3, 0.1])
@pytest.mark.parametrize("turn", TURNS)
def test_needles(width_m: float, turn: float) -> None:
    """A fan of long thin triangles, tips to the middle: the line goes from tip to tip or straight past."""
    needle = Polygon([(1, 0), (30, -width_m / 2), (30, width_m / 2)])
    needles = [affinity.rotate(needle, turn + 60 * k, origin=(0, 0)) for k in range(6)]
    ground = free(*needles, land=Point(0, 0).buffer(29, quad_segs=16))
    ends = [affinity.rotate(Point(20, 0), turn + 60 * k + 30, origin=(0, 0)) for k in range(6)]
    tip = math.hypot(20 - math.cos(math.pi / 6), 0.5)
    for k in range(6):
        assert length_m(shortest_to_point(ground, ends[k], ends[(k + 1) % 6])) == pytest.approx(
            2 * tip, abs=1e-6
        )
        assert length_m(shortest_to_point(ground, ends[k], ends[(k + 2) % 6])) == pytest.approx(
            2 * tip + 1, abs=1e-6
        )
        assert length_m(shortest_to_point(ground, ends[k], ends[(k + 3) % 6])) == pytest.approx(40, abs=1e-6)


# --- holes, overlaps, odd parcels ----------------------------------------------------------------


def test_free_ground_inside_an_obstacle_inside_a_court() -> None:
    """Rings in one another, each with free ground inside: no way from one to the next, straight ways within."""
    rings = [box(k, k, 40 - k, 40 - k).difference(box(k + 2, k + 2, 38 - k, 38 - k)) for k in (2, 7, 12)]
    ground = free(*rings, box(19, 15, 21, 21))
    inside = [Point(1, 1), Point(5, 5), Point(10, 10), Point(18, 18)]
    for start, goal in combinations(inside, 2):
        assert shortest_to_point(ground, start, goal) is None
    assert length_m(shortest_to_point(ground, Point(18, 18), Point(22, 18))) == pytest.approx(
        math.hypot(1, 3) * 2 + 2
    )
    assert length_m(shortest_to_point(ground, Point(5, 5), Point(35, 5))) == 30.0
    assert shortest_to_walls(ground, Point(18, 18), LineString([(0, 0), (0, 40)])) is None


def test_a_ring_of_overlapping_ponds_shuts_in() -> None:
    ponds = [
        Point(20 + 12 * math.cos(a), 20 + 12 * math.sin(a)).buffer(4) for a in np.linspace(0, 2 * math.pi, 24)
    ]
    assert shortest_to_point(free(*ponds), Point(20, 20), Point(1, 1)) is None
    opened = free(*ponds[3:-1])
    assert shortest_to_point(opened, Point(20, 20), Point(1, 1)) is not None


def test_the_same_obstacle_many_times_is_one() -> None:
    house = affinity.rotate(box(10, 10, 30, 30), 13)
    copies = [affinity.rotate(house, 1e-9 * k) for k in range(20)]
    once, often = (
        length_m(shortest_to_point(free(*h), Point(2, 20), Point(38, 20))) for h in ([house], copies)
    )
    assert often == pytest.approx(once, abs=1e-6)


def test_a_parcel_wound_up_like_a_spiral() -> None:
    """A wall in two and a half turns: the line hugs its corners from the inner end to the outer one."""
    wall = [
        (5, 5),
        (35, 5),
        (35, 35),
        (5, 35),
        (5, 10),
        (30, 10),
        (30, 30),
        (10, 30),
        (10, 15),
        (25, 15),
        (25, 25),
    ]
    ground = free(LineString(wall).buffer(0.5, join_style="mitre", cap_style="flat"))
    found = shortest_to_point(ground, Point(20, 20), Point(20, 0))
    assert found is not None
    inner = [(24.5, 25), (25.5, 25), (25.5, 14.5), (9.5, 14.5), (9.5, 30.5), (30.5, 30.5), (30.5, 9.5)]
    assert list(found.line.coords) == [(20, 20), *inner, (5, 5.5), (5, 4.5), (20, 0)]


def test_a_parcel_of_two_arms() -> None:
    """Round the neck between the arms; neither a start on the boundary nor a goal at a corner stands in the way."""
    land = Polygon([(0, 0), (40, 0), (40, 40), (30, 40), (30, 10), (10, 10), (10, 40), (0, 40)])
    found = shortest_to_point(free(land=land), Point(0, 40), Point(40, 40))
    assert length_m(found) == pytest.approx(2 * math.hypot(10, 30) + 20)
    assert length_m(shortest_to_point(free(land=land), Point(10, 40), Point(30, 40))) == 80.0


# --- far from the origin -------------------------------------------------------------------------


@pytest.mark.parametrize("far_m", [1e6, -1e6])
def test_a_site_a_thousand_kilometres_away(far_m: float) -> None:
    """Corners given to the millimetre; there a float steps by 1e-10 m."""
    rng = np.random.default_rng(8)
    shapes = [affinity.rotate(box(x, y, x + w, y + 2), 50 * w) for x, y, w in rng.uniform(3, 30, (9, 3))]
    shapes = [shapely.set_precision(shape, 0.001) for shape in shapes]

    def away(shape: BaseGeometry) -> BaseGeometry:
        return affinity.translate(shape, far_m, far_m)

    here, there = free(*shapes), free(*map(away, shapes), land=away(PARCEL))
    spots = [Point(p) for p in ((0, 0), (40, 40), (0, 40), (40, 0), (20, 0), (20, 40))]
    for start, goal in combinations(spots, 2):
        near = length_m(shortest_to_point(here, start, goal))
        assert length_m(shortest_to_point(there, away(start), away(goal))) == pytest.approx(near, abs=1e-6)
