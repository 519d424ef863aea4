"""The shortest line over free ground, exact: to a point, or to wherever it first meets a wall.

A shortest line is straight between corners and bends only round them, tight like a string. So the search goes
from corner to corner, first where the length so far plus the straight distance left is least (A*), and looks
from each corner only in the directions in which a tight line can go on.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely
from shapely import LineString, MultiLineString, Point

from siteplan.route.mesh import FreeGround
from siteplan.route.sight import Sight
from siteplan.route.walls import Piece, pieces_by_triangle

_START = -1

Place = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Shortest:
    """A shortest line.

    Attributes
    ----------
    line : LineString
        From start to goal, metres in the plane; two equal points if the start is on the goal.
    length_m : float
        Its length.
    """

    line: LineString
    length_m: float


def shortest_to_point(ground: FreeGround, start: Point, goal: Point) -> Shortest | None:
    """Find the shortest line between two points over free ground.

    Parameters
    ----------
    ground : FreeGround
        Where the line may lie, its boundary included; a gap without width is closed.
    start, goal : Point
        Metres, in the plane of the ground.

    Returns
    -------
    Shortest or None
        None if there is no way, or if either point is more than 1e-6 m off the ground.

    Examples
    --------
    >>> from shapely import box
    >>> yard = FreeGround(box(0, 0, 10, 10).difference(box(3, 0, 7, 8)))
    >>> round(shortest_to_point(yard, Point(0, 4), Point(10, 4)).length_m, 6)
    14.0
    """
    triangles = ground.triangles_at(goal.x, goal.y)
    if not triangles:
        return None
    spot = ground.onto(goal.x, goal.y)
    points = _search(ground, start, {triangle: [(*spot, *spot)] for triangle in triangles})
    return _line([*points[:-1], (goal.x, goal.y)]) if points else None


def shortest_to_walls(
    ground: FreeGround, start: Point, walls: MultiLineString | LineString
) -> Shortest | None:
    """Find the shortest line from a point to anywhere on some walls.

    Parameters
    ----------
    ground : FreeGround
        Where the line may lie, its boundary included; a gap without width is closed.
    start : Point
        Metres, in the plane of the ground.
    walls : LineString or MultiLineString
        Where the line may end: on the boundary of the ground, or across it. They do not stand in the way.
        Parts more than 1e-6 m off the ground are left out.

    Returns
    -------
    Shortest or None
        Ends at the foot of the perpendicular from the last bend or at an end of a wall, whichever is nearest.
        None if there is no way, or if the start is more than 1e-6 m off the ground.

    Examples
    --------
    >>> from shapely import box
    >>> yard = FreeGround(box(0, 0, 10, 10).difference(box(3, 0, 7, 8)))
    >>> shortest_to_walls(yard, Point(0, 9), LineString([(7, 1), (7, 6)])).line.wkt
    'LINESTRING (0 9, 7 8, 7 6)'
    """
    points = _search(ground, start, pieces_by_triangle(ground, walls))
    return _line(points) if points else None


def _search(ground: FreeGround, start: Point, pieces: dict[int, list[Piece]]) -> list[Place]:
    """Return the points of the shortest line to any piece of the goal; none if there is no way."""
    around = ground.triangles_at(start.x, start.y)
    if not around or not pieces:
        return []
    mesh = ground.mesh
    origin = ground.onto(start.x, start.y)
    places = {_START: origin}
    straight_m = _straight_m(ground, pieces)
    length_m = {_START: 0.0}
    previous: dict[int, int] = {}
    done: set[int] = set()
    queue = [(0.0, _START)]
    best_m, best_end, best_last = math.inf, origin, _START
    while queue:
        bound_m, corner = heapq.heappop(queue)
        if bound_m >= best_m:
            break
        if corner in done:
            continue
        done.add(corner)
        sight = Sight(mesh, pieces, *places[corner])
        if corner == _START:
            sight.look_around(around)
        else:
            sight.look_past(corner, *places[previous[corner]])
        so_far_m = length_m[corner]
        if so_far_m + sight.nearest_m < best_m:
            best_m, best_end, best_last = so_far_m + sight.nearest_m, sight.nearest, corner
        for bend, leg_m in sight.bends():
            total_m = so_far_m + leg_m
            if bend not in done and total_m < length_m.get(bend, math.inf):
                length_m[bend], previous[bend] = total_m, corner
                places[bend] = mesh.x[bend], mesh.y[bend]
                bound_m = total_m + straight_m(bend)
                if bound_m < best_m:
                    heapq.heappush(queue, (bound_m, bend))
    if math.isinf(best_m):
        return []
    points, corner = [best_end], best_last
    while corner != _START:
        points.append(places[corner])
        corner = previous[corner]
    return [(start.x, start.y), *points[::-1]]


def _straight_m(ground: FreeGround, pieces: dict[int, list[Piece]]) -> Callable[[int], float]:
    """Return how to tell the straight distance from a corner of the ground to the nearest piece of the goal."""
    mesh = ground.mesh
    ends = list(dict.fromkeys(piece for here in pieces.values() for piece in here))
    x, y, *other = ends[0]
    if len(ends) == 1 and other == [x, y]:
        return lambda corner: math.hypot(mesh.x[corner] - x, mesh.y[corner] - y)
    lines = shapely.linestrings(np.array(ends).reshape(-1, 2, 2))
    distances: list[float] = shapely.distance(ground.corners, shapely.multilinestrings(lines)).tolist()
    return distances.__getitem__


def _line(points: list[Place]) -> Shortest:
    """Join points, leaving out repeats, but keeping two."""
    kept = points[:1] + [here for last, here in pairwise(points) if here != last]
    line = LineString(kept if len(kept) > 1 else kept * 2)
    return Shortest(line=line, length_m=line.length)
