"""Corners to tape from, and the two best tapes to each point of the trench."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import combinations
from math import atan2, degrees, floor, hypot, radians, sin

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from siteplan.measure.model import Corner
from siteplan.site.features import Feature
from siteplan.site.site import Site

ONE_TAPE_M = 30.48
"""A tape of 100 ft. Common practice, no source."""

LONG_TAPE_M = 60.96
"""A tape of 200 ft, taken where no good pair is within one tape. Common practice, no source."""

LEAST_CROSSING_DEG = 30.0
"""Flatter, and the fix is nearly three times worse than the tapes. Trade study, own calculation."""

_OCTANTS = ("N", "NE", "E", "SE", "S", "SW", "W", "NW")
_STAKE = "stake"
_SHORTEST_M = 0.3
_CORNER_DEG = 10.0

Ties = tuple[tuple[str, float], ...]


def corners(site: Site) -> tuple[Corner, ...]:
    """Points to tape from: well casings, corners of buildings that stand, and stakes of buildings to come.

    A corner is named by the side of the building it is on.
    """
    found = [
        Corner(name=f"{well.name} casing", x=well.shape.centroid.x, y=well.shape.centroid.y)
        for well in site.of_kind("well")
    ]
    for building in site.of_kind("building"):
        if building.status != "abandoned":
            found += _corners_of(building)
    return tuple(found)


class Tapes:
    """Chooses tapes; buildings stand in the way of some.

    Parameters
    ----------
    corners : tuple of Corner
        Points to tape from, as ``corners`` names them.
    """

    def __init__(self, site: Site, corners: tuple[Corner, ...]) -> None:
        self._corners = corners
        self._places = np.array([(corner.x, corner.y) for corner in corners]).reshape(-1, 2)
        self._stands = np.array([_STAKE not in corner.name for corner in corners], dtype=bool)
        self._walls = [
            building.shape.buffer(-0.01)  # a tape may lie along a wall
            for building in site.of_kind("building")
            if building.status != "abandoned"
        ]

    def ties(self, x: float, y: float) -> Ties:
        """Return the two tapes that cross best at a place, the shorter first; one or none where no more can be seen.

        What stands and is within one tape comes first, then what stands within a long tape, then stakes; the next is tried if
        no pair crosses at 30 to 150 degrees.
        """
        offsets = self._places - (x, y)
        tape_m = np.hypot(offsets[:, 0], offsets[:, 1])
        usable = self._seen(x, y) & (tape_m >= _SHORTEST_M) & (tape_m <= LONG_TAPE_M)
        choices = [
            np.flatnonzero(each).tolist()
            for each in (usable & self._stands & (tape_m <= ONE_TAPE_M), usable & self._stands, usable)
        ]
        pairs = [pair for each in choices if (pair := _best_pair(each, offsets, tape_m))]
        good = [pair for pair in pairs if _squareness(*pair, offsets) >= sin(radians(LEAST_CROSSING_DEG))]
        taken: Iterable[int] = next(iter([*good, *reversed(pairs)]), choices[-1])
        chosen = sorted((float(tape_m[n]), self._corners[n].name) for n in taken)
        return tuple((name, length_m) for length_m, name in chosen)

    def _seen(self, x: float, y: float) -> NDArray[np.bool_]:
        here = np.broadcast_to((x, y), self._places.shape)
        sights = shapely.linestrings(np.stack((here, self._places), axis=1))
        hidden = np.zeros(len(self._places), dtype=bool)
        for wall in self._walls:
            hidden |= shapely.intersects(wall, sights)
        return ~hidden


def _best_pair(
    found: list[int], offsets: NDArray[np.float64], tape_m: NDArray[np.float64]
) -> tuple[int, int] | None:
    """Pair of corners that cross nearest to a right angle (to 1 part in 20), the shorter tapes if alike."""

    def rank(pair: tuple[int, int]) -> tuple[float, float, tuple[int, int]]:
        return -floor(20 * _squareness(*pair, offsets)), float(tape_m[pair[0]] + tape_m[pair[1]]), pair

    return min(combinations(found, 2), key=rank, default=None)


def _squareness(a: int, b: int, offsets: NDArray[np.float64]) -> float:
    """Sine of the angle at which two tapes cross: 1 for a right angle."""
    (ax, ay), (bx, by) = offsets[a], offsets[b]
    return float(abs(ax * by - ay * bx) / (hypot(ax, ay) * hypot(bx, by)))


def _corners_of(building: Feature) -> list[Corner]:
    counts = dict.fromkeys(_OCTANTS, 0)
    name = building.name if building.status == "existing" else f"{building.name} {_STAKE}"
    found = []
    for x, y in _outer_corners(building.shape):
        octant = _octant(x, y, building.shape)
        counts[octant] += 1
        again = f" {counts[octant]}" if counts[octant] > 1 else ""
        found.append(Corner(name=f"{name} {octant}{again}", x=x, y=y))
    return found


def _outer_corners(shape: BaseGeometry) -> list[tuple[float, float]]:
    """Corners of a building, clockwise from the north-most; a point on a straight wall is no corner."""
    found = []
    for part in shapely.get_parts(shape):
        assert isinstance(part, Polygon)
        ring = shapely.get_coordinates(part.normalize().exterior)[:-1]
        before, after = ring - np.roll(ring, 1, axis=0), np.roll(ring, -1, axis=0) - ring
        cross = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
        turned_deg = np.abs(np.degrees(np.arctan2(cross, np.sum(before * after, axis=1))))
        places = [(x, y) for x, y in ring[turned_deg > _CORNER_DEG].tolist()]
        first = max(range(len(places)), key=lambda n: (places[n][1], places[n][0]), default=0)
        found += places[first:] + places[:first]
    return found


def _octant(x: float, y: float, shape: BaseGeometry) -> str:
    """Side of a building, as if it were drawn square: so a long barn still has a NE corner."""
    west, south, east, north = shape.bounds
    bearing = degrees(
        atan2((x - (west + east) / 2) / (east - west), (y - (south + north) / 2) / (north - south))
    )
    return _OCTANTS[round(bearing / 45) % 8]
