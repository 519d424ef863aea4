"""Free ground, where a trench may lie, cut into triangles that know their neighbours.

Metres in a plane; nothing here knows of sites or rules. The ground is cleaned first: what overlaps is merged,
and corners are rounded to 1e-8 m, so that obstacles which touch are joined there and leave no gap. Where they
touch in one point, the triangles round that point fall into several fans; each fan gets a corner of its own,
and no way leads from one fan to the next.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, MultiLineString, MultiPolygon, Point, Polygon
from shapely.geometry.base import BaseGeometry

REACH_M = 1e-6
"""A point this near to the free ground counts as in it."""

_GRID_M = 1e-8
_ALONG_M = 2 * _GRID_M
"""A wall this near to an edge runs along it: rounding moves the boundary by less."""

_FLAT = 1e-11

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]
Piece = tuple[float, float, float, float]


def side(ax: float, ay: float, bx: float, by: float) -> int:
    """Tell on which side of direction a the direction b points.

    Returns
    -------
    int
        1 left, -1 right, 0 along or against, within 1e-11 of the two products that make up the cross product.

    Examples
    --------
    >>> side(1.0, 0.0, 5.0, 2.0), side(1.0, 0.0, 5.0, -2.0), side(1.0, 0.0, 5.0, 0.0)
    (1, -1, 0)
    """
    here = ax * by
    there = ay * bx
    cross = here - there
    slack = _FLAT * (abs(here) + abs(there))
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
    fan, fan_start : list of int
        The half-edges that leave corner ``v`` are ``fan[fan_start[v] : fan_start[v + 1]]``.
    before, after : list of int
        By corner: its neighbours along the boundary, free ground on the left; both -1 where the ground makes
        a corner of less than half a turn, because no shortest line bends there.
    """

    x: list[float]
    y: list[float]
    tail: list[int]
    head: list[int]
    third: list[int]
    twin: list[int]
    right: list[int]
    left: list[int]
    fan: list[int]
    fan_start: list[int]
    before: list[int]
    after: list[int]


class FreeGround:
    """Where a trench may lie.

    Parameters
    ----------
    area : Polygon or MultiPolygon
        Metres in a plane. May be empty, in several parts, or overlap itself; a hole wins over its outline.
    """

    def __init__(self, area: Polygon | MultiPolygon) -> None:
        self._area = _cleaned(area)
        self._triangles = shapely.get_parts(shapely.constrained_delaunay_triangles(self._area))
        self._tree = shapely.STRtree(self._triangles)
        self.mesh = _joined(self._triangles)
        self._corners = shapely.points(self.mesh.x, self.mesh.y)

    @property
    def area(self) -> BaseGeometry:
        """The ground as it was cleaned: a Polygon or MultiPolygon, metres."""
        return self._area

    def holds(self, x: float, y: float) -> bool:
        """Tell whether a point lies inside or on the boundary, within 1e-6 m."""
        return bool(self.triangles_at(x, y))

    def triangles_at(self, x: float, y: float) -> list[int]:
        """Return the triangles within 1e-6 m of a point: several on an edge, none off the ground."""
        found = self._tree.query(Point(x, y), predicate="dwithin", distance=REACH_M)
        return [int(triangle) for triangle in np.sort(found)]

    def pieces(self, walls: LineString | MultiLineString) -> dict[int, list[Piece]]:
        """Cut walls along the triangles.

        Returns
        -------
        dict
            By triangle: the straight pieces ``(x1, y1, x2, y2)`` that lie in it or, within 2e-8 m, along its edges.
            A piece may be a single point.
        """
        lines = shapely.get_parts(walls)
        points, line = shapely.get_coordinates(lines, return_index=True)
        ends = np.stack([points[:-1], points[1:]], axis=1)
        ends = ends[(line[1:] == line[:-1]) & (ends[:, 0] != ends[:, 1]).any(axis=1)]
        spans = shapely.linestrings(ends)
        span, triangle = self._tree.query(spans, predicate="dwithin", distance=_ALONG_M)
        ends, spans, triangles = ends[span], spans[span], self._triangles[triangle]
        pieces: dict[int, list[Piece]] = {}

        def keep(which: Ints, starts: Floats, stops: Floats) -> None:
            for where, piece in zip(which.tolist(), np.hstack([starts, stops]).tolist(), strict=True):
                pieces.setdefault(where, []).append(tuple(piece))

        crossing = shapely.intersection(spans, triangles)
        across = shapely.get_type_id(crossing) == shapely.GeometryType.LINESTRING
        across &= ~shapely.is_empty(crossing)
        cut = shapely.get_coordinates(crossing[across]).reshape(-1, 4)
        keep(triangle[across], cut[:, :2], cut[:, 2:])
        for end in (ends[:, 0], ends[:, 1]):
            touch = shapely.dwithin(shapely.points(end), triangles, _ALONG_M)
            keep(triangle[touch], end[touch], end[touch])
        rings = shapely.get_coordinates(triangles).reshape(-1, 4, 2)
        for edge in range(3):
            along, starts, stops = _along(ends, rings[:, edge : edge + 2])
            keep(triangle[along], starts, stops)
        return pieces

    def straight_m(self, target: BaseGeometry) -> list[float]:
        """Return the straight distance from every corner to a target, metres."""
        distances: list[float] = shapely.distance(self._corners, target).tolist()
        return distances


def _cleaned(area: Polygon | MultiPolygon) -> BaseGeometry:
    """Merge what overlaps, join what touches, and drop the measured heights."""
    flat = shapely.force_2d(area)
    if not flat.is_valid:
        flat = shapely.make_valid(flat, method="structure", keep_collapsed=False)
    joined = shapely.set_precision(flat, _GRID_M)
    return shapely.set_precision(joined, 0.0, mode="pointwise")


def _along(spans: Floats, edges: Floats) -> tuple[Bools, Floats, Floats]:
    """Tell which spans run along their edge, both (n, 2, 2), and from where to where these do."""
    start, way = spans[:, 0], spans[:, 1] - spans[:, 0]
    share = np.einsum("ikj,ij->ik", edges - start[:, None], way) / np.einsum("ij,ij->i", way, way)[:, None]
    low, high = np.clip(np.sort(share, axis=1), 0.0, 1.0).T
    starts, stops = start + low[:, None] * way, start + high[:, None] * way
    along = low < high
    for ends in (starts, stops):
        along &= shapely.dwithin(shapely.points(ends), shapely.linestrings(edges), _ALONG_M)
    return along, starts[along], stops[along]


def _joined(triangles: NDArray[Any]) -> Mesh:
    x, y, tail = _corners(triangles)
    half_edges = np.arange(len(tail))
    onward = half_edges + np.tile([1, 1, -2], len(triangles))
    backward = half_edges + np.tile([2, -1, -1], len(triangles))
    twin = _twins(tail, tail[onward])
    x, y, tail = _split_where_fans_meet(x, y, tail, twin, backward)
    head = tail[onward]
    before, after = _bends(x, y, tail, head, twin)
    return Mesh(
        x=x.tolist(),
        y=y.tolist(),
        tail=tail.tolist(),
        head=head.tolist(),
        third=tail[backward].tolist(),
        twin=twin.tolist(),
        right=twin[onward].tolist(),
        left=twin[backward].tolist(),
        fan=np.argsort(tail, kind="stable").tolist(),
        fan_start=np.searchsorted(np.sort(tail), np.arange(len(x) + 1)).tolist(),
        before=before.tolist(),
        after=after.tolist(),
    )


def _corners(triangles: NDArray[Any]) -> tuple[Floats, Floats, Ints]:
    """Give the places where triangles meet: x, y, and by half-edge the place it leaves."""
    rings = shapely.get_coordinates(triangles).reshape(-1, 4, 2)[:, :3]
    clockwise = ~shapely.is_ccw(shapely.get_exterior_ring(triangles))
    rings[clockwise] = rings[clockwise][:, ::-1]
    places, tail = np.unique(rings.reshape(-1, 2).copy().view(np.complex128), return_inverse=True)
    return places.real.copy(), places.imag.copy(), tail.reshape(-1).astype(np.int64)


def _twins(tail: Ints, head: Ints) -> Ints:
    """Find for every half-edge the one that runs the other way, -1 if there is none."""
    if len(tail) == 0:
        return tail
    places = int(tail.max()) + 1
    key, wanted = tail * places + head, head * places + tail
    order = np.argsort(key)
    spot = np.minimum(np.searchsorted(key[order], wanted), len(key) - 1)
    return np.where(key[order][spot] == wanted, order[spot], -1)


def _split_where_fans_meet(
    x: Floats, y: Floats, tail: Ints, twin: Ints, backward: Ints
) -> tuple[Floats, Floats, Ints]:
    """Give each fan of triangles at a shared place its own corner."""
    edge = np.flatnonzero(twin < 0)
    _, first = np.unique(tail[edge], return_index=True)
    further = np.setdiff1d(np.arange(len(edge)), first)
    copies = tail[edge[further]]
    tail = tail.copy()
    for corner, start in enumerate(edge[further].tolist(), start=len(x)):
        half_edge = start
        while half_edge >= 0:
            tail[half_edge] = corner
            half_edge = int(twin[backward[half_edge]])
    return np.append(x, x[copies]), np.append(y, y[copies]), tail


def _bends(x: Floats, y: Floats, tail: Ints, head: Ints, twin: Ints) -> tuple[Ints, Ints]:
    """Return the boundary neighbours of every corner round which a line can bend."""
    edge = twin < 0
    before = np.full(len(x), -1)
    after = before.copy()
    before[head[edge]] = tail[edge]
    after[tail[edge]] = head[edge]
    here, there = (x - x[before]) * (y[after] - y), (y - y[before]) * (x[after] - x)
    narrows = here - there > _FLAT * (abs(here) + abs(there))
    before[narrows] = -1
    after[narrows] = -1
    return before, after
