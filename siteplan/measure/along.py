"""Distances along a centreline: where it bends, what it runs into, and what its width sweeps."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import lru_cache
from itertools import pairwise
from math import atan2, degrees
from typing import NamedTuple

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString
from shapely.geometry.base import BaseGeometry
from shapely.ops import substring

TOUCH_M = 1e-6
"""Two distances nearer than this are one place."""

SHORT_M = 0.01
"""Stretches shorter than this are not printed, nor dug on their own."""

Interval = tuple[float, float]
Numbers = NDArray[np.float64]


class Turn(NamedTuple):
    """One bend of a path: distance along it [m], place, and deflection [deg], positive to the left."""

    distance_m: float
    x: float
    y: float
    deflection_deg: float


class _Legs(NamedTuple):
    """Straight parts of a path: distance [m] at which each begins, both ends, (n, 2, 2), direction, (n, 2), length [m]."""

    start_m: Numbers
    ends: Numbers
    run: Numbers
    length_m: Numbers

    def touching(self, place: BaseGeometry) -> list[list[float]]:
        """Directions of the parts that meet a place."""
        near = shapely.distance(shapely.linestrings(self.ends), place) <= TOUCH_M
        found: list[list[float]] = self.run[near].tolist()
        return found


@lru_cache(maxsize=64)
def _legs(path: BaseGeometry) -> _Legs:
    """Straight parts of a line, those of no length left out."""
    places = shapely.get_coordinates(path)
    steps = np.diff(places, axis=0)
    length_m = np.hypot(steps[:, 0], steps[:, 1])
    kept = length_m > TOUCH_M
    length_m = length_m[kept]
    return _Legs(
        start_m=np.concatenate(([0.0], np.cumsum(length_m)))[:-1],
        ends=np.stack((places[:-1], places[1:]), axis=1)[kept],
        run=steps[kept] / length_m[:, None],
        length_m=length_m,
    )


def turns(path: LineString) -> list[Turn]:
    """Bends of a path, in order; straight-through points are left out.

    >>> [round(turn.deflection_deg) for turn in turns(LineString([(0, 0), (10, 0), (10, 5), (20, 5)]))]
    [90, -90]
    """
    legs = _legs(path)
    found = []
    runs: list[list[float]] = legs.run.tolist()
    behind = zip(legs.start_m[1:].tolist(), legs.ends[1:, 0].tolist(), strict=True)
    for ((ax, ay), (bx, by)), (start_m, (x, y)) in zip(pairwise(runs), behind, strict=True):
        deflection_deg = degrees(atan2(ax * by - ay * bx, ax * bx + ay * by))
        if abs(deflection_deg) > 1e-6:
            found.append(Turn(start_m, x, y, deflection_deg))
    return found


def met(path: LineString, shape: BaseGeometry) -> list[Interval]:
    """Where a path meets a shape: distances from and to [m], in order; both alike where it meets a line.

    >>> met(LineString([(0, 0), (10, 0)]), shapely.box(4, -1, 6, 1))
    [(4.0, 6.0)]
    """
    legs = _legs(path)
    leg, places, firsts = _shared(shapely.linestrings(legs.ends), shape)
    off = places - legs.ends[leg, 0]
    low_m, high_m = _least_and_most(legs.start_m[leg] + np.hypot(off[:, 0], off[:, 1]), firsts)
    return joined(zip(low_m.tolist(), high_m.tolist(), strict=True))


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

    >>> [(round(a, 2), round(b, 2)) for a, b in swept(LineString([(0, 0), (10, 0)]), shapely.box(4, 0.2, 6, 1), 0.3)]
    [(4.0, 6.0)]
    """
    legs = _legs(path)
    along = half_width_m * legs.run
    across = np.stack((-along[:, 1], along[:, 0]), axis=1)
    before, behind = legs.ends[:, 0] - along, legs.ends[:, 1] + along
    strips = np.stack((before + across, behind + across, behind - across, before - across), axis=1)
    leg, places, firsts = _shared(shapely.polygons(strips), zone)
    reached_m = ((places - legs.ends[leg, 0]) * legs.run[leg]).sum(axis=1)
    low_m, high_m = _least_and_most(reached_m, firsts)
    here = leg[firsts]
    begin_m = legs.start_m[here] + np.minimum(low_m, legs.length_m[here])
    end_m = legs.start_m[here] + np.maximum(high_m, 0.0)
    spans = zip(
        np.maximum(begin_m, 0.0).tolist(), np.minimum(end_m, float(path.length)).tolist(), strict=True
    )
    return [(begin, end) for begin, end in joined(spans) if end - begin > SHORT_M]


def _shared(
    shapes: NDArray[np.object_], other: BaseGeometry
) -> tuple[NDArray[np.intp], Numbers, NDArray[np.intp]]:
    """What shapes share with another: the number of the shape of each place, the places (n, 2), and where each part begins."""
    parts, shape = shapely.get_parts(shapely.intersection(shapes, other), return_index=True)
    places, part = shapely.get_coordinates(parts, return_index=True)
    return shape[part], places, np.flatnonzero(np.diff(part, prepend=-1))


def _least_and_most(values: Numbers, firsts: NDArray[np.intp]) -> tuple[Numbers, Numbers]:
    """Least and greatest of each group of values that begins at ``firsts``."""
    if not len(firsts):
        return values, values
    return np.minimum.reduceat(values, firsts), np.maximum.reduceat(values, firsts)


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
    theirs = [run for part in shapely.get_parts(other) for run in _legs(part).touching(place)]
    ours = _legs(path).touching(place)
    return min((_acute_deg(a, b) for a in ours for b in theirs), default=90.0)


def _acute_deg(a: Sequence[float], b: Sequence[float]) -> float:
    return degrees(atan2(abs(a[0] * b[1] - a[1] * b[0]), abs(a[0] * b[0] + a[1] * b[1])))
