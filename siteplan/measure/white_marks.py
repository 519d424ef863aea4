"""White marks on the ground before the call: where each dash of the centreline goes."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import ceil

from siteplan.measure.along import SHORT_M
from siteplan.measure.model import Bend
from siteplan.route.model import Reach
from siteplan.units import FOOT_M, INCH_M

MOST_SPACING_M = 20 * FOOT_M
"""Farthest from one white mark to the next [m]: 4 to 20 ft, in the pre-marking guidelines of one-call centres (secondary)."""

DASH_M = (6 * INCH_M, 12 * INCH_M)
"""Length of a dash [m]: 6 to 12 in, 2 in wide (the same guidelines, secondary)."""

DASH_WIDTH_M = 2 * INCH_M


@dataclass(frozen=True, slots=True, kw_only=True)
class WhiteMarks:
    """Marks of one trench: distances [m] along it, one at each end and bend, and how far apart they are at the most [m]."""

    reach: str
    at_m: tuple[float, ...]

    @property
    def spacing_m(self) -> float:
        """Farthest from one mark to the next [m]."""
        return max(after - before for before, after in pairwise(self.at_m))


def white_marks(reach: Reach, bends: tuple[Bend, ...]) -> WhiteMarks:
    """Place the marks of a trench: one at each end and bend, between them as few as the spacing allows, evenly.

    Examples
    --------
    A straight of 50 ft takes four marks, 16 ft 8 in apart.

    >>> from shapely import LineString
    >>> path = LineString([(0, 0), (50 * FOOT_M, 0)])
    >>> marks = white_marks(Reach(name="Main", path=path, runs=(), starts_at="well", ends_at="house"), ())
    >>> [round(at_m / FOOT_M, 1) for at_m in marks.at_m]
    [0.0, 16.7, 33.3, 50.0]
    """
    stops = [0.0, *sorted(bend.distance_m for bend in bends if bend.reach == reach.name), reach.length_m]
    at_m = [0.0]
    for from_m, to_m in pairwise(stops):
        if to_m - from_m < SHORT_M:
            continue
        steps = ceil((to_m - from_m) / MOST_SPACING_M - 1e-9)
        at_m += [from_m + n * (to_m - from_m) / steps for n in range(1, steps + 1)]
    return WhiteMarks(reach=reach.name, at_m=tuple(at_m))
