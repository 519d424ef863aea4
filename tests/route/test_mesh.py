"""The free ground: what belongs to it, and how its triangles join."""

from __future__ import annotations

import math

import pytest
import shapely
from shapely import LineString, MultiLineString, MultiPolygon, Point, Polygon, affinity, box

from siteplan.route.mesh import FreeGround, Mesh, side
from siteplan.route.walls import pieces_by_triangle

YARD = box(0, 0, 20, 20).difference(box(5, 5, 15, 15))


def corners_at(mesh: Mesh, x: float, y: float) -> list[int]:
    return [v for v in range(len(mesh.x)) if (mesh.x[v], mesh.y[v]) == (x, y)]


# --- what belongs to the ground ------------------------------------------------------------------


def test_holds_inside_on_the_boundary_and_within_a_micrometre() -> None:
    ground = FreeGround(YARD)
    for x, y in ((1, 1), (0, 7), (20, 20), (5, 9), (15, 15), (5 + 9e-7, 9), (-9e-7, 3)):
        assert ground.holds(x, y), (x, y)
    for x, y in ((10, 10), (5 + 2e-6, 9), (-2e-6, 3), (21, 3)):
        assert not ground.holds(x, y), (x, y)


def test_empty_ground_holds_nothing() -> None:
    for empty in (Polygon(), MultiPolygon()):
        ground = FreeGround(empty)
        assert ground.area.is_empty
        assert not ground.holds(0, 0)


def test_clean_input_keeps_its_corners() -> None:
    shape = Polygon([(0.123, 0.457), (31.001, 2.999), (18.7, 44.444)], [[(12, 10), (13, 10.5), (12.345, 12)]])
    assert FreeGround(shape).area.equals(shape)


def test_ground_is_not_left_on_the_rounding_grid() -> None:
    """Else everything made from the area would be rounded too, and a small growth would come out empty."""
    area = FreeGround(YARD).area
    assert shapely.get_precision(area) == 0.0
    assert area.buffer(1e-9).covers(area)


def test_overlaps_are_merged_and_heights_dropped() -> None:
    parts = MultiPolygon([Polygon([(0, 0, 7), (6, 0, 7), (6, 4, 7), (0, 4, 7)]), box(5, 0, 9, 4)])
    area = FreeGround(parts).area
    assert area.equals(box(0, 0, 9, 4))
    assert not area.has_z


def test_a_place_in_two_holes_is_not_ground() -> None:
    outline = box(0, 0, 20, 20).exterior
    ground = FreeGround(Polygon(outline, [box(3, 3, 9, 9).exterior, box(7, 7, 12, 12).exterior]))
    assert not ground.holds(8, 8)
    assert ground.area.area == 400 - 36 - 25 + 4


def test_triangles_fill_the_ground_exactly() -> None:
    ponds = [Point(6 * i + 5, 7 * j + 5).buffer(2.4, quad_segs=5) for i in range(5) for j in range(4)]
    ground = FreeGround(box(0, 0, 34, 32).difference(shapely.union_all(ponds)))
    assert shapely.area(ground.triangles).sum() == pytest.approx(ground.area.area, rel=1e-12)
    assert all(ground.area.buffer(1e-9).covers(triangle) for triangle in ground.triangles)


# --- how the triangles join ----------------------------------------------------------------------


def test_neighbours_see_the_same_edge_the_other_way() -> None:
    mesh = FreeGround(YARD).mesh
    inner = 0
    for edge, twin in enumerate(mesh.twin):
        if twin >= 0:
            assert mesh.twin[twin] == edge
            assert (mesh.tail[twin], mesh.head[twin]) == (mesh.head[edge], mesh.tail[edge])
            inner += 1
    assert inner == len(mesh.tail) - 8  # the yard has eight boundary edges


def test_triangles_run_counterclockwise() -> None:
    mesh = FreeGround(YARD).mesh
    for edge, (tail, head, third) in enumerate(zip(mesh.tail, mesh.head, mesh.third, strict=True)):
        along = (mesh.x[head] - mesh.x[tail], mesh.y[head] - mesh.y[tail])
        assert side(*along, mesh.x[third] - mesh.x[tail], mesh.y[third] - mesh.y[tail]) == 1, edge


def test_lines_bend_at_obstacle_corners_only() -> None:
    mesh = FreeGround(YARD).mesh
    bends = {(mesh.x[v], mesh.y[v]) for v, before in enumerate(mesh.before) if before >= 0}
    assert bends == {(5, 5), (15, 5), (15, 15), (5, 15)}
    (corner,) = corners_at(mesh, 5, 5)
    before, after = mesh.before[corner], mesh.after[corner]
    assert (mesh.x[before], mesh.y[before]) == (15, 5)
    assert (mesh.x[after], mesh.y[after]) == (5, 15)


@pytest.mark.parametrize("turn", [0.0, 33.3])
def test_a_touch_has_one_corner_on_each_side(turn: float) -> None:
    blocks = [box(2, 2, 6, 6), box(6, 6, 9, 9), Polygon([(3, 2), (4, 0.5), (2, 0.5)])]
    area = box(0, 0, 20, 20).difference(shapely.union_all(blocks))
    ground = FreeGround(affinity.rotate(area, turn, origin=(0, 0)))
    mesh = ground.mesh
    for touch, corners in ((Point(6, 6), 2), (Point(3, 2), 2), (Point(2, 6), 1)):
        x, y = affinity.rotate(touch, turn, origin=(0, 0)).coords[0]
        near = [v for v in range(len(mesh.x)) if math.dist((mesh.x[v], mesh.y[v]), (x, y)) < 1e-7]
        assert len(near) == corners
    fans = [mesh.fan(corner) for corner in range(len(mesh.x))]
    assert sorted(edge for fan in fans for edge in fan) == list(range(len(mesh.tail)))
    for corner, fan in enumerate(fans):
        assert all(mesh.tail[edge] == corner for edge in fan)
        assert sum(mesh.twin[edge] < 0 for edge in fan) == 1


def test_onto_moves_to_corners_and_walls() -> None:
    ground = FreeGround(YARD)
    assert ground.onto(5 + 6e-7, 5 + 6e-7) == (5.0, 5.0)
    assert ground.onto(5 + 6e-7, 9.25) == (5.0, 9.25)
    assert ground.onto(1.5, 2.5) == (1.5, 2.5)


# --- walls in the triangles ----------------------------------------------------------------------


def covered(ground: FreeGround, walls: LineString | MultiLineString) -> float:
    """Return the length of the pieces laid together, metres."""
    pieces = pieces_by_triangle(ground, walls).values()
    lines = [
        LineString([piece[:2], piece[2:]]) for here in pieces for piece in here if piece[:2] != piece[2:]
    ]
    return float(shapely.union_all(lines, grid_size=1e-7).length) if lines else 0.0


def test_pieces_cover_a_wall_on_the_boundary() -> None:
    ground = FreeGround(YARD)
    assert covered(ground, LineString([(5, 6.25), (5, 13.5)])) == pytest.approx(7.25)
    assert covered(ground, LineString(box(5, 5, 15, 15).exterior)) == pytest.approx(40)


def test_pieces_leave_out_what_is_off_the_ground() -> None:
    assert covered(FreeGround(YARD), LineString([(-3, 9), (23, 9)])) == pytest.approx(10)
    assert pieces_by_triangle(FreeGround(YARD), LineString([(6, 6), (9, 9)])) == {}


def test_pieces_of_a_wall_beside_the_boundary_are_moved_onto_it() -> None:
    pieces = pieces_by_triangle(FreeGround(YARD), LineString([(5 + 5e-7, 6), (5 + 5e-7, 14)]))
    assert {x for here in pieces.values() for x1, _, x2, _ in here for x in (x1, x2)} == {5.0}


def test_pieces_of_a_wall_lie_in_their_triangle() -> None:
    ground = FreeGround(YARD)
    walls = MultiLineString([[(1, 1), (4, 17), (18, 16)], [(5, 5), (15, 5)]])
    for triangle, pieces in pieces_by_triangle(ground, walls).items():
        for piece in pieces:
            shape = ground.triangles[triangle]
            assert max(shape.distance(Point(piece[:2])), shape.distance(Point(piece[2:]))) < 1e-9
