"""Distances along a centreline: where it bends, what it runs into, and what its width sweeps."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import pairwise
from math import atan2, degrees, hypot
from typing import NamedTuple

import shapely
from shapely import LineString
from shapely.geometry.base import BaseGeometry
from shapely.ops import substring

TOUCH_M = 1e-6
"""Two distances nearer than this are one place."""

SHORT_M = 0.01
"""Stretches shorter than this are not printed, nor dug on their own."""

Interval = tuple[float, float]


class Turn(NamedTuple):
    """One bend of a path: distance along it [m], place, and deflection [deg], positive to the left."""

    distance_m: float
    x: float
    y: float
    deflection_deg: float


def legs(path: LineString) -> Iterator[tuple[float, LineString]]:
    """Straight parts of a path, each with the distance [m] at which it begins."""
    start_m = 0.0
    for pair in pairwise(path.coords):
        leg = LineString(pair)
        if leg.length > TOUCH_M:
            yield start_m, leg
            start_m += leg.length


def turns(path: LineString) -> list[Turn]:
    """Bends of a path, in order; straight-through points are left out.

    >>> [round(turn.deflection_deg) for turn in turns(LineString([(0, 0), (10, 0), (10, 5), (20, 5)]))]
    [90, -90]
    """
    found = []
    for (_, before), (start_m, after) in pairwise(legs(path)):
        (ax, ay), (bx, by) = _run(before), _run(after)
        deflection_deg = degrees(atan2(ax * by - ay * bx, ax * bx + ay * by))
        if abs(deflection_deg) > 1e-6:
            x, y = after.coords[0]
            found.append(Turn(start_m, x, y, deflection_deg))
    return found


def met(path: LineString, shape: BaseGeometry) -> list[Interval]:
    """Where a path meets a shape: distances from and to [m], in order; both alike where it meets a line.

    >>> met(LineString([(0, 0), (10, 0)]), shapely.box(4, -1, 6, 1))
    [(4.0, 6.0)]
    """
    found = []
    for start_m, leg in legs(path):
        x, y = leg.coords[0]
        for part in shapely.get_parts(leg.intersection(shape)):
            ends = [start_m + hypot(px - x, py - y) for px, py in shapely.get_coordinates(part).tolist()]
            if ends:
                found.append((min(ends), max(ends)))
    return joined(found)


def swept(path: LineString, zone: BaseGeometry, half_width_m: float) -> list[Interval]:
    """Where a trench of some width reaches into a zone.

    Parameters
    ----------
    half_width_m : float
        Half the width [m] of the trench, more than 0.

    Returns
    -------
    list of (float, float)
        Distances from and to [m] along the centreline between which any point across the trench lies in the zone. At
        a bend the outer corner counts as well, as half a width more of either leg.
    """
    found = []
    for start_m, leg in legs(path):
        x, y = leg.coords[0]
        run_x, run_y = (part / leg.length for part in _run(leg))
        strip = leg.buffer(half_width_m, cap_style="square")
        for part in shapely.get_parts(strip.intersection(zone)):
            reached = [
                (px - x) * run_x + (py - y) * run_y for px, py in shapely.get_coordinates(part).tolist()
            ]
            if reached:
                begin, end = min(*reached, leg.length), max(*reached, 0.0)
                found.append((max(start_m + begin, 0.0), min(start_m + end, path.length)))
    return [(begin, end) for begin, end in joined(found) if end - begin > SHORT_M]


def joined(intervals: Iterable[Interval]) -> list[Interval]:
    """Intervals in order, those that touch or overlap made one.

    >>> joined([(5, 7), (0, 2), (2, 3)])
    [(0, 3), (5, 7)]
    """
    found: list[Interval] = []
    for begin, end in sorted(intervals):
        if found and begin <= found[-1][1] + TOUCH_M:
            found[-1] = (found[-1][0], max(found[-1][1], end))
        else:
            found.append((begin, end))
    return found


def without(intervals: Iterable[Interval], taken: Iterable[Interval]) -> list[Interval]:
    """Intervals, what others take of them left out; pieces too short to dig on their own go too.

    >>> without([(0, 10)], [(4, 6)])
    [(0, 4), (6, 10)]
    """
    left = list(intervals)
    for from_m, to_m in taken:
        left = [
            (begin, end)
            for low, high in left
            for begin, end in ((low, min(high, from_m)), (max(low, to_m), high))
            if end - begin > SHORT_M
        ]
    return left


def opened(path: LineString, bored: Iterable[Interval]) -> BaseGeometry:
    """Return what is left of a path to be opened: a MultiLineString without the stretches that are bored, maybe empty.

    >>> opened(LineString([(0, 0), (10, 0)]), [(4, 6)]).wkt
    'MULTILINESTRING ((0 0, 4 0), (6 0, 10 0))'
    """
    left = without([(0.0, float(path.length))], bored)
    return shapely.MultiLineString([substring(path, from_m, to_m) for from_m, to_m in left])


def angle_between_deg(path: LineString, other: BaseGeometry, x: float, y: float) -> float:
    """Least angle [deg, 0 to 90] between a path and a line that meet at (x, y); 90 if they do not meet there."""
    place = shapely.Point(x, y)
    theirs = [
        _run(leg)
        for part in shapely.get_parts(other)
        for _, leg in legs(part)
        if leg.distance(place) <= TOUCH_M
    ]
    ours = [_run(leg) for _, leg in legs(path) if leg.distance(place) <= TOUCH_M]
    return min((_acute_deg(a, b) for a in ours for b in theirs), default=90.0)


def _acute_deg(a: tuple[float, float], b: tuple[float, float]) -> float:
    return degrees(atan2(abs(a[0] * b[1] - a[1] * b[0]), abs(a[0] * b[0] + a[1] * b[1])))


def _run(leg: LineString) -> tuple[float, float]:
    (ax, ay), (bx, by) = leg.coords
    return bx - ax, by - ay
