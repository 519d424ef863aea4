"""The shortest line between two places over free ground, each of them a point or some walls."""

from __future__ import annotations

from itertools import pairwise
from typing import TypeAlias

import shapely
from shapely import LineString, MultiLineString, Point

from siteplan.route.mesh import FreeGround
from siteplan.route.shortest import Shortest, shortest_to_point, shortest_to_walls

Goal: TypeAlias = Point | MultiLineString

_ROUNDS = 20
_TRIED = 2
_GAIN_M = 1e-4


def shortest_between(ground: FreeGround, start: Goal, goal: Goal) -> Shortest | None:
    """Find the shortest line from anywhere on one place to anywhere on another.

    Exact if one of them is a point. Between walls it is sought from the middle of every wall, and from the best two of
    these back and forth between the walls until nothing is gained.

    Parameters
    ----------
    ground : FreeGround
        Where the line may lie.
    start, goal : Point or MultiLineString
        Metres, in the plane of the ground.

    Returns
    -------
    Shortest or None
        None if there is no way.

    Examples
    --------
    >>> walls = [MultiLineString([[(x, 0), (x, 4)]]) for x in (1, 9)]
    >>> shortest_between(FreeGround(shapely.box(0, 0, 10, 10)), *walls).length_m
    8.0
    """
    if isinstance(goal, Point):
        if isinstance(start, Point):
            return shortest_to_point(ground, start, goal)
        back = shortest_to_walls(ground, goal, start)
        return turned(back) if back else None
    if isinstance(start, Point):
        return shortest_to_walls(ground, start, goal)
    middles = [part.interpolate(0.5, normalized=True) for part in start.geoms]
    first = [found for middle in middles if (found := shortest_to_walls(ground, middle, goal))]
    settled = [_settled(ground, start, goal, found) for found in sorted(first, key=length_of)[:_TRIED]]
    return min(settled, key=length_of, default=None)


def turned(found: Shortest) -> Shortest:
    """Return the same line from its other end."""
    return Shortest(line=shapely.reverse(found.line), length_m=found.length_m)


def length_of(found: Shortest) -> float:
    """Return the length [m], for sorting."""
    return found.length_m


def piece_at(walls: MultiLineString, place: Point) -> LineString:
    """Return the straight piece of some walls that is nearest to a place."""
    pieces = [LineString(piece) for wall in walls.geoms for piece in pairwise(wall.coords)]
    return min(pieces, key=lambda piece: float(piece.distance(place)))


def _settled(ground: FreeGround, start: MultiLineString, goal: MultiLineString, found: Shortest) -> Shortest:
    """Go back and forth between two walls until nothing is gained; straight across where nothing is in between."""
    best = found
    for _ in range(_ROUNDS):
        back = shortest_to_walls(ground, Point(best.line.coords[-1]), start)
        forth = back and shortest_to_walls(ground, Point(back.line.coords[-1]), goal)
        if not forth:
            break
        straight = _straight(start, goal, forth)
        across = shortest_to_point(ground, *straight) or forth
        shorter = min(forth, across, key=length_of)
        if shorter.length_m > best.length_m - _GAIN_M:
            break
        best = shorter
    return best


def _straight(start: MultiLineString, goal: MultiLineString, found: Shortest) -> tuple[Point, Point]:
    """Return the nearest places of the two straight pieces that a line joins."""
    begin, end = (Point(found.line.coords[i]) for i in (0, -1))
    one, other = piece_at(start, begin), piece_at(goal, end)
    places = shapely.shortest_line(one, other).coords
    return Point(places[0]), Point(places[1])
