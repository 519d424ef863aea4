"""Least length of a tree of trenches on open ground: nothing in the way can make one shorter.

The shortest network that joins some places (points, or convex areas met anywhere) is a tree whose further joints meet three
at a time. For one way of joining, let a pull of at most 1 act at each place, all pulls in balance, and no part of the tree
pull on the rest by more than 1: then no tree joined that way is shorter than minus the sum of pull times place (weak duality;
at the shortest tree the pulls are the directions of its ends, so nothing is lost). The least over all ways of joining is a
proven bound for whatever stands in the way.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

Floats = NDArray[np.float64]
Edges = tuple[tuple[int, int], ...]

MOST_PLACES = 5
"""15 ways of joining; with more places it is not tried."""

_STEPS = 120


def open_tree_m(places: Sequence[BaseGeometry]) -> float:
    """Length [m] that no network joining all the places falls below, whatever stands in its way.

    Parameters
    ----------
    places : sequence of shapely geometry
        At least two; each is met anywhere in its convex hull.

    Returns
    -------
    float
        Proven, not above the shortest; 0.0 with more places than ``MOST_PLACES``.

    Examples
    --------
    Three points whose least tree is published: (0, 0), (2, 0), (1, 1) joined at (1, 0.57735) take 2.7320508.

    >>> points = shapely.points([(0, 0), (2, 0), (1, 1)])
    >>> round(open_tree_m(points), 4)
    2.7321
    """
    hulls = [shapely.convex_hull(place) for place in places]
    if len(hulls) == 2:
        return float(hulls[0].distance(hulls[1]))
    if len(hulls) > MOST_PLACES:
        return 0.0
    return max(0.0, min(_least_of(edges, hulls) for edges in _joinings(len(hulls))))


def _joinings(count: int) -> Iterator[Edges]:
    """Every tree with the places 0 .. count-1 at its ends and joints of three between, as pairs of numbers."""
    trees: list[Edges] = [((0, count), (1, count), (2, count))]
    for place in range(3, count):
        joint = count + place - 2
        trees = [
            (*(edge for edge in tree if edge != cut), (cut[0], joint), (cut[1], joint), (place, joint))
            for tree in trees
            for cut in tree
        ]
    yield from trees


def _least_of(edges: Edges, hulls: Sequence[BaseGeometry]) -> float:
    """Proven least length [m] of a tree with this joining."""
    count = len(hulls)
    pulls = _directions(edges, hulls)
    pulls -= pulls.mean(axis=0)
    sides = [sorted(_side(edges, edge, count)) for edge in edges]
    largest = max(float(np.hypot(*pulls[side].sum(axis=0))) for side in sides)
    pulls /= max(1.0, largest)
    corners = [shapely.get_coordinates(hull) for hull in hulls]
    return -sum(float((corner @ pull).max()) for corner, pull in zip(corners, pulls, strict=True))


def _side(edges: Edges, cut: tuple[int, int], count: int) -> set[int]:
    """Places on the side of the second end of one edge of a tree."""
    reached, waiting = set(cut), [cut[1]]
    while waiting:
        here = waiting.pop()
        beyond = {number for edge in edges if here in edge for number in edge} - reached
        reached |= beyond
        waiting += beyond
    return {number for number in reached - {cut[0]} if number < count}


def _directions(edges: Edges, hulls: Sequence[BaseGeometry]) -> Floats:
    """Directions in which the tree leaves the places, near its shortest form; shape (places, 2).

    Reweighted least squares (Weiszfeld), with lengths rounded off near zero so that joints may fall onto places.
    """
    count, joints = len(hulls), len(hulls) - 2
    at = np.array([(hull.centroid.x, hull.centroid.y) for hull in hulls])
    spread = float(np.ptp(at, axis=0).max()) or 1.0
    neighbour = {place: joint for place, joint in edges if place < count}
    inner = at.mean(axis=0) + np.zeros((joints, 2))
    points = np.vstack((at, inner))
    for step in range(_STEPS):
        soft = spread * max(1e-7, 0.1 * 0.8**step)
        weights = [1 / np.hypot(np.hypot(*(points[a] - points[b])), soft) for a, b in edges]
        matrix, given = np.zeros((joints, joints)), np.zeros((joints, 2))
        for (a, b), weight in zip(edges, weights, strict=True):
            for one, other in ((a, b), (b, a)):
                if one < count:
                    continue
                matrix[one - count, one - count] += weight
                if other < count:
                    given[one - count] += weight * points[other]
                else:
                    matrix[one - count, other - count] -= weight
        points[count:] = np.linalg.solve(matrix, given)
        for place, hull in enumerate(hulls):
            if hull.geom_type != "Point":
                here = shapely.Point(points[neighbour[place]])
                points[place] = shapely.get_coordinates(shapely.shortest_line(hull, here))[0]
    ways = np.array([points[neighbour[place]] - points[place] for place in range(count)])
    directions: Floats = ways / np.maximum(np.hypot(*ways.T), soft)[:, None]
    return directions
