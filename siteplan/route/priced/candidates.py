"""Where a cheapest trench may well bend.

Bends are often best off the corners of what is in the way: where the sides of a round thing, made longer, meet. So every
ring gives the corners of the polygon of few sides round it; long edges at which the price changes give points along them.
Where the slightest bend is free, all corners of ground of more than one price are taken as well. The edges of ground that may
only be bored under are taken always, with where they leave the free ground: a bore leads straight from edge to edge.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise

import numpy as np
import shapely
from shapely import LinearRing, Polygon
from shapely.geometry.base import BaseGeometry

from siteplan.route.mesh import Floats
from siteplan.route.priced.zones import NEAR_M
from siteplan.route.scene import Scene

APART_M = 0.05
"""Candidates this near to each other [m] are one."""

_OBSTACLE_DEG = 45.0
_PATCH_DEG = 60.0
_ALONG = 16
"""Points along a long edge are this part of the size of the free ground apart."""

_FAR_OUT = 3.0
"""A corner made by longer sides is not taken further off than this many times the distance between them."""


def candidates(scene: Scene) -> Floats:
    """Return places in the free ground where bends are worth trying: array (n, 2), each once.

    Examples
    --------
    >>> from shapely import box
    >>> from siteplan.route.scene import Charge
    >>> dig = Charge(row="", price=1.0)
    >>> yard = box(0, 0, 9, 9).difference(box(3, 0, 6, 5))
    >>> candidates(Scene(free=yard, dig=dig, restore=dig)).tolist()
    [[3.0, 5.0], [6.0, 5.0]]
    """
    found: list[tuple[float, float]] = []
    corner, _, opposite, *_ = shapely.get_coordinates(shapely.oriented_envelope(scene.free))
    apart_m = math.dist(corner, opposite) / _ALONG
    for part in shapely.get_parts(shapely.orient_polygons(scene.free)):
        for ring in (part.exterior, *part.interiors):
            found += round_ring(ring, _OBSTACLE_DEG)
    changes = [patch.area for patch in scene.patches if not patch.area.is_empty]
    changes += [crossed.zone for crossed in scene.crossed if crossed.least_angle_deg > 0]
    if scene.bend_price == 0.0 and changes:
        found += shapely.get_coordinates([scene.free, *changes]).tolist()
    edges = [patch.area.boundary.intersection(scene.free) for patch in scene.patches if patch.shut]
    found += shapely.get_coordinates(edges).tolist()
    for area in changes:
        for part in _polygons(area):
            for ring in (part.exterior, *part.interiors):
                found += round_ring(shapely.reverse(ring), _PATCH_DEG)
                found += _along(ring, apart_m)
    return in_free(scene.free, np.array(found).reshape(-1, 2))


def in_free(free: BaseGeometry, places: Floats) -> Floats:
    """Keep the places that free ground holds, the first of any that are nearly the same."""
    near = shapely.dwithin(free, shapely.points(places), NEAR_M)
    kept = places[near]
    _, first = np.unique((kept / APART_M).round(), axis=0, return_index=True)
    chosen: Floats = kept[np.sort(first)]
    return chosen


def round_ring(ring: LinearRing, step_deg: float) -> Iterator[tuple[float, float]]:
    """Give the corners of a polygon of few sides round what lies to the right of a ring.

    Sides are taken from the ring, so far apart that they turn by about ``step_deg``, or by more at a sharp corner.
    """
    corners = shapely.get_coordinates(ring)[:-1]
    sides = np.concatenate([corners[1:], corners[:1]]) - corners
    long = np.hypot(sides[:, 0], sides[:, 1]) > NEAR_M
    corners, sides = corners[long], sides[long]
    count = len(corners)
    if count < 3:
        return
    turns: list[float] = _right_deg(np.concatenate([sides[-1:], sides[:-1]]), sides).tolist()
    first = max(range(count), key=lambda i: turns[i])
    side, turned = (first - 1) % count, 0.0
    for k in range(count + 1):
        i = (first + k) % count
        if turned > 0.0 and (turns[i] < -1.0 or turned + turns[i] > step_deg + 1e-6):
            yield from _meet(corners, sides, side, (i - 1) % count)
            side, turned = (i - 1) % count, 0.0
        if turns[i] < -1.0:
            side, turned = i, 0.0
        else:
            turned += turns[i]
        if turned > step_deg:
            yield from _meet(corners, sides, side, i)
            side, turned = i, 0.0


def _right_deg(before: Floats, after: Floats) -> Floats:
    """Return how far each side turns to the right from the one before it."""
    cross = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    turns: Floats = -np.degrees(np.arctan2(cross, before[:, 0] * after[:, 0] + before[:, 1] * after[:, 1]))
    return turns


def _meet(corners: Floats, sides: Floats, i: int, j: int) -> Iterator[tuple[float, float]]:
    """Give the place where two sides meet, made longer, unless that is far out."""
    if (i + 1) % len(corners) == j:
        yield float(corners[j][0]), float(corners[j][1])
        return
    cross = sides[i][0] * sides[j][1] - sides[i][1] * sides[j][0]
    gap = corners[j] - corners[i]
    end = corners[(i + 1) % len(corners)]
    if abs(cross) > 1e-12:
        place = corners[i] + sides[i] * (gap[0] * sides[j][1] - gap[1] * sides[j][0]) / cross
        apart_m = math.dist(end, corners[j])
        if math.dist(place, end) <= _FAR_OUT * apart_m + NEAR_M:
            yield float(place[0]), float(place[1])
            return
    yield float(end[0]), float(end[1])


def _along(ring: LinearRing, apart_m: float) -> Iterator[tuple[float, float]]:
    """Give points along the long edges of a ring."""
    for (x1, y1), (x2, y2) in pairwise(shapely.get_coordinates(ring).tolist()):
        parts = round(math.dist((x1, y1), (x2, y2)) / apart_m)
        for k in range(1, parts):
            yield x1 + (x2 - x1) * k / parts, y1 + (y2 - y1) * k / parts


def _polygons(area: BaseGeometry) -> Sequence[Polygon]:
    """Give the polygons of an area, the area to the left of their rings."""
    parts: Sequence[Polygon] = shapely.orient_polygons(shapely.get_parts(area))
    return parts
