"""Free ground, where a trench may lie, cut into triangles that know their neighbours.

Metres in a plane; nothing here knows of sites or rules. The ground is cleaned first: what overlaps is merged,
and corners are rounded to 1e-8 m, so that obstacles which touch are joined there and leave no gap. Where they
touch in one point, the triangles round that point fall into several fans; each fan gets a corner of its own,
and no way leads from one fan to the next.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon, Point, Polygon
from shapely.geometry.base import BaseGeometry

REACH_M = 1e-6
"""A point this near to the free ground counts as in it."""

IN_LINE = 1e-11
"""Directions count as one if their cross product is less than this share of the two products that make it up."""

_GRID_M = 1e-8
_NEARLY_FLAT = 1e-3
"""Turn in radians below which rounding may decide which way a boundary bends."""


Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Triangles = NDArray[Any]
"""Polygons of three corners."""


def side(ax: float, ay: float, bx: float, by: float) -> int:
    """Tell on which side of direction a the direction b points.

    Returns
    -------
    int
        1 left, -1 right, 0 along or against, within ``IN_LINE``.

    Examples
    --------
    >>> side(1.0, 0.0, 5.0, 2.0), side(1.0, 0.0, 5.0, -2.0), side(1.0, 0.0, 5.0, 0.0)
    (1, -1, 0)
    """
    here = ax * by
    there = ay * bx
    cross = here - there
    slack = IN_LINE * (abs(here) + abs(there))
    if cross > slack:
        return 1
    if cross < -slack:
        return -1
    return 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Mesh:
    """Triangles joined by half-edges, as plain lists for the search.

    Half-edge ``h`` belongs to triangle ``h // 3`` and runs counterclockwise round it.

    Attributes
    ----------
    x, y : list of float
        Corners, metres.
    tail, head, third : list of int
        By half-edge: the corner it leaves, the corner it meets, and the other corner of its triangle.
    twin : list of int
        By half-edge: the same edge seen from the neighbour, -1 on the boundary.
    right, left : list of int
        By half-edge: for a ray that comes in across it, the half-edge across which the ray goes on into the
        next triangle, right or left of ``third``; -1 where the ground ends.
    first : list of int
        By corner: the half-edge that leaves it along the boundary.
    before, after : list of int
        By corner: its neighbours along the boundary, free ground on the left; both -1 where the ground makes
        a corner of clearly less than half a turn, because no shortest line bends there.
    """

    x: list[float]
    y: list[float]
    tail: list[int]
    head: list[int]
    third: list[int]
    twin: list[int]
    right: list[int]
    left: list[int]
    first: list[int]
    before: list[int]
    after: list[int]

    def fan(self, corner: int) -> list[int]:
        """Return the half-edges that leave a corner, counterclockwise from the boundary to the boundary."""
        half_edges = []
        half_edge = self.first[corner]
        while half_edge >= 0:
            half_edges.append(half_edge)
            half_edge = self.left[half_edge]
        return half_edges


class FreeGround:
    """Where a trench may lie; it is cut into triangles when they are first asked for.

    Parameters
    ----------
    area : Polygon or MultiPolygon
        Metres in a plane. May be empty, in several parts, or overlap itself; a hole wins over its outline.
    """

    def __init__(self, area: Polygon | MultiPolygon) -> None:
        self.area = cleaned(area)

    @classmethod
    def of_triangles(cls, triangles: Triangles) -> FreeGround:
        """Join triangles that fill a ground, edge to edge; every corner lies on its boundary."""
        ground = cls.__new__(cls)
        ground.triangles = triangles
        return ground

    @cached_property
    def triangles(self) -> Triangles:
        """The triangles, in the order of the half-edges of ``mesh``."""
        return triangulated(self.area)

    @cached_property
    def tree(self) -> shapely.STRtree:
        """Finds the triangles."""
        return shapely.STRtree(self.triangles)

    @cached_property
    def mesh(self) -> Mesh:
        """How the triangles join."""
        return _joined(self.triangles)

    @cached_property
    def area(self) -> BaseGeometry:
        """The ground as it was cleaned: a Polygon or MultiPolygon, metres."""
        return shapely.coverage_union_all(self.triangles)

    @cached_property
    def corners(self) -> NDArray[Any]:
        """The corners of ``mesh``, as array of Point."""
        points: NDArray[Any] = shapely.points(self.mesh.x, self.mesh.y)
        return points

    def holds(self, x: float, y: float) -> bool:
        """Tell whether a point lies inside or on the boundary, within 1e-6 m."""
        return bool(self.triangles_at(x, y))

    def triangles_at(self, x: float, y: float) -> list[int]:
        """Return the triangles within 1e-6 m of a point: several on an edge, none off the ground."""
        found = self.tree.query(Point(x, y), predicate="dwithin", distance=REACH_M)
        return [int(triangle) for triangle in np.sort(found)]

    def onto(self, x: float, y: float) -> tuple[float, float]:
        """Move a point that the ground holds onto it: to a corner within 1e-6 m, or else the least way."""
        triangles = self.triangles_at(x, y)
        for half_edge in (3 * triangle + k for triangle in triangles for k in range(3)):
            corner = self.mesh.tail[half_edge]
            if math.dist((x, y), (self.mesh.x[corner], self.mesh.y[corner])) <= REACH_M:
                return self.mesh.x[corner], self.mesh.y[corner]
        ways = shapely.shortest_line(self.triangles[triangles], Point(x, y))
        ends = shapely.get_coordinates(ways).reshape(-1, 2, 2)
        nearest = ends[np.argmin(shapely.length(ways)), 0]
        return float(nearest[0]), float(nearest[1])


def cleaned(area: Polygon | MultiPolygon) -> BaseGeometry:
    """Merge what overlaps, join what touches within 1e-8 m, and drop the measured heights."""
    flat = shapely.force_2d(area)
    if not flat.is_valid:
        flat = shapely.make_valid(flat, method="structure", keep_collapsed=False)
    joined = shapely.set_precision(flat, _GRID_M)
    return shapely.set_precision(joined, 0.0, mode="pointwise")


def triangulated(area: BaseGeometry) -> Triangles:
    """Cut an area that was cleaned into triangles, with no corners but its own."""
    triangles: Triangles = shapely.get_parts(shapely.constrained_delaunay_triangles(area))
    return triangles


def _joined(triangles: Triangles) -> Mesh:
    x, y, tail = _corners(triangles)
    half_edges = np.arange(len(tail))
    onward = half_edges + np.tile([1, 1, -2], len(triangles))
    backward = half_edges + np.tile([2, -1, -1], len(triangles))
    twin = _twins(tail, tail[onward])
    edge = np.flatnonzero(twin < 0)
    x, y, tail = _split_where_fans_meet(x, y, tail, edge, twin[backward])
    head = tail[onward]
    first = np.empty(len(x), dtype=np.int64)
    first[tail[edge]] = edge
    before, after = _bends(x, y, tail[edge], head[edge])
    return Mesh(
        x=x.tolist(),
        y=y.tolist(),
        tail=tail.tolist(),
        head=head.tolist(),
        third=tail[backward].tolist(),
        twin=twin.tolist(),
        right=twin[onward].tolist(),
        left=twin[backward].tolist(),
        first=first.tolist(),
        before=before.tolist(),
        after=after.tolist(),
    )


def _corners(triangles: Triangles) -> tuple[Floats, Floats, Ints]:
    """Give the places where triangles meet: x, y, and by half-edge the place it leaves."""
    rings = shapely.get_coordinates(triangles).reshape(-1, 4, 2)[:, :3]
    clockwise = ~_counterclockwise(triangles, rings)
    rings[clockwise] = rings[clockwise][:, ::-1]
    xs, column = np.unique(rings[:, :, 0], return_inverse=True)
    ys, row = np.unique(rings[:, :, 1], return_inverse=True)
    places, tail = np.unique(column * len(ys) + row, return_inverse=True)
    return xs[places // len(ys)], ys[places % len(ys)], tail.reshape(-1)


def _counterclockwise(triangles: Triangles, rings: Floats) -> NDArray[np.bool_]:
    """Tell which triangles run counterclockwise; in exact arithmetic where rounding might decide."""
    one, other = rings[:, 1] - rings[:, 0], rings[:, 2] - rings[:, 0]
    here, there = one[:, 0] * other[:, 1], one[:, 1] * other[:, 0]
    runs: NDArray[np.bool_] = here > there
    close = np.flatnonzero(np.abs(here - there) <= IN_LINE * (np.abs(here) + np.abs(there)))
    runs[close] = shapely.is_ccw(shapely.get_exterior_ring(triangles[close]))
    return runs


def _twins(tail: Ints, head: Ints) -> Ints:
    """Find for every half-edge the one that runs the other way, -1 if there is none."""
    key = np.minimum(tail, head) * len(tail) + np.maximum(tail, head)
    order = np.argsort(key)
    pair = np.flatnonzero(key[order[1:]] == key[order[:-1]])
    one, other = order[pair], order[pair + 1]
    twin = np.full(len(tail), -1)
    twin[one] = other
    twin[other] = one
    return twin


def _split_where_fans_meet(
    x: Floats, y: Floats, tail: Ints, edge: Ints, left: Ints
) -> tuple[Floats, Floats, Ints]:
    """Give each fan of triangles at a shared place its own corner: as many as boundary edges leave it."""
    _, at = np.unique(tail[edge], return_index=True)
    further = np.delete(edge, at)
    copies = tail[further]
    tail = tail.copy()
    for corner, start in enumerate(further.tolist(), start=len(x)):
        half_edge = start
        while half_edge >= 0:
            tail[half_edge] = corner
            half_edge = int(left[half_edge])
    return np.append(x, x[copies]), np.append(y, y[copies]), tail


def _bends(x: Floats, y: Floats, tail: Ints, head: Ints) -> tuple[Ints, Ints]:
    """Return the boundary neighbours of every corner round which a line can bend, from the boundary edges."""
    before = np.full(len(x), -1)
    after = before.copy()
    before[head] = tail
    after[tail] = head
    in_x, in_y, out_x, out_y = x - x[before], y - y[before], x[after] - x, y[after] - y
    turn = in_x * out_y - in_y * out_x
    narrows = turn > _NEARLY_FLAT * np.hypot(in_x, in_y) * np.hypot(out_x, out_y)
    before[narrows] = -1
    after[narrows] = -1
    return before, after
