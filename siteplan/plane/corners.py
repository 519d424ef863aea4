"""Corners of things on the ground, named by the side that they are on."""

from __future__ import annotations

from math import atan2, degrees

import numpy as np
import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

LEAST_CROSSING_DEG = 30.0
"""Two tapes that cross flatter fix a place nearly three times worse than they measure, or more. Trade study, own calculation."""

_OCTANTS = ("N", "NE", "E", "SE", "S", "SW", "W", "NW")
_CORNER_DEG = 10.0


def named_corners(shape: BaseGeometry) -> list[tuple[str, float, float]]:
    """Corners of an area as side ("NE", a second one "NE 2"), x and y [ground m]; clockwise from the north-most.

    >>> [side for side, _, _ in named_corners(shapely.box(0, 0, 60, 8))]
    ['NE', 'SE', 'SW', 'NW']
    """
    counts = dict.fromkeys(_OCTANTS, 0)
    found = []
    for x, y in _outer_corners(shape):
        octant = _octant(x, y, shape)
        counts[octant] += 1
        found.append((octant if counts[octant] == 1 else f"{octant} {counts[octant]}", x, y))
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
