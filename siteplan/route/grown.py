"""Shapes grown by a distance: exact along straight edges, corners cut straight outside or inside the true round."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache
from typing import Literal, TypeAlias

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from siteplan.route.mesh import Floats, Ints

ROUND_M = 0.05
"""Round corners are cut straight: nowhere more than this [m] outside the true distance (2 in: less than a tape shows)."""

Corners: TypeAlias = Literal["outside", "inside"]
"""Whether corners that are cut straight contain the true round or lie in it."""

_TURNED_BACK = 1e-9


@lru_cache(maxsize=1024)
def grown(shape: BaseGeometry, distance_m: float, *, corners: Corners) -> BaseGeometry:
    """Grow a shape by a distance.

    Things that were not moved are not grown again.

    Parameters
    ----------
    shape : shapely geometry
        Ground metres.
    distance_m : float
        0 or more.
    corners : {"outside", "inside"}
        ``outside``: contains the true area, at most ``ROUND_M`` over it. ``inside``: lies within the true area.

    Returns
    -------
    shapely geometry
        A Polygon or MultiPolygon.

    Examples
    --------
    A place kept off by 3 m: 9 pi = 28.27 square metres lie between the two.

    >>> inside, outside = (grown(shapely.Point(0, 0), 3.0, corners=how) for how in ("inside", "outside"))
    >>> round(inside.area, 1), round(outside.area, 1)
    (27.7, 28.6)
    """
    return grown_each([shape], [distance_m], corners=corners)[0]


def grown_each(
    shapes: Sequence[BaseGeometry], distances_m: Sequence[float], *, corners: Corners
) -> list[BaseGeometry]:
    """Grow shapes, each by a distance of its own, as ``grown`` does; all of them in one go."""
    parts, of = shapely.get_parts(np.array(shapes, dtype=object), return_index=True)
    asked_m = np.asarray(distances_m, dtype=float)
    grows = asked_m[of] > 0.0
    parts, of = parts[grows], of[grows]
    outer = _gone_round(*_rings(parts), asked_m[of], corners)
    for i in np.flatnonzero(shapely.get_num_interior_rings(parts) > 0).tolist():
        outer[i] = outer[i].difference(_courts(parts[i], asked_m[of[i]], corners))
    found: list[BaseGeometry] = list(shapes)
    for i in np.flatnonzero(asked_m > 0.0).tolist():
        own = outer[of == i] if len(shapes) > 1 else outer
        found[i] = own[0] if len(own) == 1 else shapely.union_all(own)
    return found


def _courts(part: Polygon, distance_m: float, corners: Corners) -> BaseGeometry:
    """Return what is left of the holes of a polygon."""
    return shapely.union_all(
        [
            Polygon(ring).difference(grown(LineString(ring), distance_m, corners=corners))
            for ring in part.interiors
        ]
    )


def _rings(parts: NDArray[np.object_]) -> tuple[Floats, Ints]:
    """Return the places that one goes round, and which part each is of: a line is there and back, as a polygon without width."""
    is_area = shapely.get_type_id(parts) == shapely.GeometryType.POLYGON
    areas, others = np.flatnonzero(is_area), np.flatnonzero(~is_area)
    outlines = shapely.get_exterior_ring(shapely.orient_polygons(parts[areas]))
    places, ring = shapely.get_coordinates(outlines, return_index=True)
    closing = np.append(ring[1:] != ring[:-1], True)[: len(ring)]
    there_and_back = [
        np.concatenate([way, way[-2:0:-1]]) for way in map(shapely.get_coordinates, parts[others])
    ]
    part = np.concatenate([areas[ring[~closing]], np.repeat(others, [len(way) for way in there_and_back])])
    places = np.concatenate([places[~closing], *there_and_back])
    order = np.argsort(part, kind="stable")
    return places[order], part[order]


def _gone_round(places: Floats, ring: Ints, distance_m: Floats, corners: Corners) -> NDArray[np.object_]:
    """Go round rings, which run counterclockwise, each at a distance on its right.

    Where a ring turns left the corner is rounded; where it turns right the way takes the short cut, from where the strips along
    its two edges meet. If no way crosses itself then, it goes round the union of the shape, of a strip along each edge and of a
    round at each left turn. If one does, it goes to each corner on its right and out again: all of these areas are gone round
    counterclockwise then, and what the way winds round, once or more, is their union, which ``buffer`` by 0 returns.
    """
    if not len(ring):
        return np.array([], dtype=object)
    at_corners = _Corners(places, ring, distance_m)
    found = at_corners.ways(corners, cut_short=True)
    crossed = ~(at_corners.may_be_cut_short() & shapely.is_valid(found))
    if crossed.any():
        long_ways = at_corners.ways(corners, cut_short=False)[crossed]
        found[crossed] = shapely.buffer(long_ways, 0.0)
    return found


class _Corners:
    """The corners of rings, one after the other: where each is, how the ring arrives there and how it turns.

    Parameters
    ----------
    places : array (n, 2)
        Of all rings, one after the other; a place may follow itself.
    ring : array of int (n,)
        Which ring each is of: 0, 1 and so on, none left out.
    distance_m : array (rings,)
        At which each is gone round.
    """

    def __init__(self, places: Floats, ring: Ints, distance_m: Floats) -> None:
        before = _neighbours(ring)[0]
        stays = (places == places[before]).all(axis=1)
        moves = np.bincount(ring, ~stays, len(distance_m))
        first = np.append(True, ring[1:] != ring[:-1])
        kept = np.flatnonzero(~stays | (first & (moves[ring] == 0)))
        alone = moves[ring[kept]] == 0
        kept = np.repeat(kept, np.where(alone, 2, 1))
        places, self._ring = places[kept], ring[kept]
        before, self._after = _neighbours(self._ring)
        step = places - places[before]
        self._length_m: Floats = np.hypot(step[:, 0], step[:, 1])
        arrive = np.where(
            self._length_m > 0.0,
            np.arctan2(step[:, 1], step[:, 0]),
            np.where(before < np.arange(len(before)), math.pi, 0.0),  # a place alone is a line without length
        )
        turn = np.remainder(arrive[self._after] - arrive + math.pi, math.tau) - math.pi
        turn[turn < _TURNED_BACK - math.pi] += math.tau
        self._places, self._turn, self._right = places, turn, arrive - math.pi / 2.0
        self._distance_m: Floats = distance_m[self._ring]

    def may_be_cut_short(self) -> NDArray[np.bool_]:
        """Tell of which rings every edge keeps some of its length where the corners on its right are cut short."""
        taken_m = np.where(self._turn < 0.0, self._distance_m * np.tan(-self._turn / 2.0), 0.0)
        left_m = self._length_m[self._after] - taken_m - taken_m[self._after]
        short = self._ring[(left_m <= 0.0) & (taken_m + taken_m[self._after] > 0.0)]
        none: NDArray[np.bool_] = np.bincount(short, minlength=self._ring[-1] + 1) == 0
        return none

    def ways(self, corners: Corners, *, cut_short: bool) -> NDArray[np.object_]:
        """Return the way round each ring, as a polygon."""
        right_turn = self._turn < 0.0
        widest = 2.0 * np.arccos(self._distance_m / (self._distance_m + ROUND_M))
        cuts = np.maximum(1, np.ceil(self._turn / widest)).astype(int)
        half = self._turn / cuts / 2.0
        outside = corners == "outside"
        stops = np.where(right_turn, 1 if cut_short else 3, cuts if outside else cuts + 1)
        at = np.repeat(np.arange(len(stops)), stops)
        k = np.arange(len(at)) - np.repeat(np.cumsum(stops) - stops, stops)
        reach = (self._distance_m / np.cos(half) if outside else self._distance_m)[at]
        angle = self._right[at] + (2 * k + outside) * half[at]
        back = right_turn[at]
        if cut_short:
            reach[back] = (self._distance_m / np.cos(self._turn / 2.0))[at[back]]
            angle[back] = (self._right + self._turn / 2.0)[at[back]]
        else:
            reach[back] = np.where(k == 1, 0.0, self._distance_m[at])[back]
            angle[back] = (self._right[at] + np.where(k == 2, self._turn[at], 0.0))[back]
        places = self._places[at] + reach[:, None] * np.column_stack([np.cos(angle), np.sin(angle)])
        found: NDArray[np.object_] = shapely.polygons(shapely.linearrings(places, indices=self._ring[at]))
        return found


def _neighbours(ring: Ints) -> tuple[Ints, Ints]:
    """Return which place comes before each of its ring, and which after it."""
    at = np.arange(len(ring))
    first = np.append(True, ring[1:] != ring[:-1])
    begin = at[first]
    end = np.append(begin[1:], len(ring)) - 1
    before = at - 1
    before[begin] = end
    after = at + 1
    after[end] = begin
    return before, after
