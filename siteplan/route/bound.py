"""What is proven about the least length of a layout.

The proof is made on the same ground with round corners cut inside the true round, so that no trench is lost that keeps
its distances. One trench: the exact shortest. A tree: walking round it visits all its ends and uses each trench twice,
so it is no shorter than half the shortest round trip; no shorter than the way to its farthest end; and no shorter than the
least tree on open ground. Trenches may leave a building by different walls, so a round trip may go through the building where
it starts, at no length, and the least tree on open ground is used only where it starts at a point.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise, permutations

import shapely
from shapely import Point

from siteplan.route.between import Goal, shortest_between
from siteplan.route.mesh import FreeGround
from siteplan.route.open_tree import open_tree_m
from siteplan.route.shortest import shortest_to_walls

ROUND_TRIP_ENDS = 6
"""With more ends than this only the way to the farthest is used."""

PIECE_M = 3.0
"""Walls are taken in pieces of this length [m] where both start and end are walls."""


def least_m(ground: FreeGround, start: Goal, ends: Sequence[Goal]) -> float:
    """Return a length [m] that no tree from the start to all ends falls below.

    Parameters
    ----------
    ground : FreeGround
        Everything where a trench might lie.
    start : Point or MultiLineString
        The start.
    ends : sequence of Point or MultiLineString
        One or more; there is a way to each.

    Examples
    --------
    Three corners of an even-sided triangle of 2 m on open ground: the least tree has 2 sqrt(3) m.

    >>> ground = FreeGround(shapely.box(-5, -5, 5, 5))
    >>> round(least_m(ground, Point(0, 0), [Point(2, 0), Point(1, 3**0.5)]), 6)
    3.464102
    """
    places = [start, *ends]
    between: dict[frozenset[int], float] = {}
    numbers = range(len(places))
    pairs = [(0, j) for j in numbers[1:]]
    if 1 < len(ends) <= ROUND_TRIP_ENDS:
        pairs = [(i, j) for i in numbers for j in numbers if i < j]
    for i, j in pairs:
        apart_m = _between_m(ground, places[i], places[j])
        if i > 0 and not isinstance(start, Point):
            apart_m = min(apart_m, between[frozenset((0, i))] + between[frozenset((0, j))])
        between[frozenset((i, j))] = apart_m
    farthest_m = max(between[frozenset((0, j))] for j in numbers[1:])
    if len(pairs) == len(ends):
        return farthest_m
    trips = (
        sum(between[frozenset(leg)] for leg in pairwise((0, *order, 0)))
        for order in permutations(numbers[1:])
    )
    open_m = open_tree_m(places) if isinstance(start, Point) else 0.0
    return max(farthest_m, min(trips) / 2, open_m)


def _between_m(ground: FreeGround, start: Goal, goal: Goal) -> float:
    """Return a length [m] that no line between two places falls below: exact unless both are walls."""
    if isinstance(start, Point) or isinstance(goal, Point):
        found = shortest_between(ground, start, goal)
        return found.length_m if found else math.inf
    least_m = math.inf
    for piece in shapely.get_parts(shapely.segmentize(start, PIECE_M)):
        for one, other in pairwise(piece.coords):
            middle = Point((one[0] + other[0]) / 2, (one[1] + other[1]) / 2)
            found = shortest_to_walls(ground, middle, goal)
            if found:
                least_m = min(least_m, found.length_m - math.dist(one, other) / 2)
    return max(least_m, float(start.distance(goal)))
