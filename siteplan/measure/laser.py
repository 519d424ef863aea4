"""Depth by a laser or a level: the bench mark, how far each trench bottom lies below it, and where one rod reading holds.

Differential levelling: height of instrument = elevation of the bench mark + rod on it; rod at a point = height of instrument -
elevation of the point. So the rod at the bottom is the rod on the bench mark + the depth of the bottom below the bench mark.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from math import isnan

import numpy as np
from numpy.typing import NDArray

from siteplan.measure.along import TOUCH_M
from siteplan.measure.model import BenchMark, HeldReading, Station
from siteplan.measure.profile import Trench
from siteplan.measure.surfaces import Stretch
from siteplan.site.site import Site

HELD_WITHIN_FT_M, HELD_WITHIN_M = 0.03048, 0.03
"""How far the bottom may lie from one held reading [m]: 0.1 ft, or 3 cm on a metric sheet. Trade study, section 4.3."""

LEAST_HELD_FT_M, LEAST_HELD_M = 3.048, 3.0
"""Shortest stretch that is named [m]: 10 ft, or 3 m. Common practice, no source."""

STEP_M = 0.25
"""The bottom is looked at so often [m], and at every break; a stretch is found to within that."""


@dataclass(frozen=True, slots=True)
class _Bottom:
    """Trench bottom over the distance along a reach [m], in order; two at one distance where it steps."""

    along_m: list[float]
    level_m: list[float]


def bench_mark(site: Site, stations: Sequence[Station]) -> BenchMark | None:
    """Return the bench mark of the site; if none is stated the ground at the first station that has a level.

    ``None``: there are no levels, so that no reading can be given.
    """
    levelled = next((station for station in stations if station.grade_m is not None), None)
    if levelled is None or levelled.grade_m is None:
        return None
    stated = site.bench_mark
    if stated is not None:
        return BenchMark(at=stated.at, elevation_m=stated.elevation_m, rod_m=stated.rod_m)
    return BenchMark(reach=levelled.reach, distance_m=levelled.distance_m, elevation_m=levelled.grade_m)


def held_readings(site: Site, trenches: Iterable[Trench]) -> Iterator[HeldReading]:
    """Stretches of the opened trench over which one rod reading holds, the longest of each reach first found, in order.

    They do not overlap; between them the bottom rises or falls too fast to hold any.
    """
    in_feet = site.units.startswith("ft")
    within_m = HELD_WITHIN_FT_M if in_feet else HELD_WITHIN_M
    least_m = LEAST_HELD_FT_M if in_feet else LEAST_HELD_M
    for trench in trenches:
        found = [
            HeldReading(
                reach=trench.name,
                from_m=bottom.along_m[first],
                to_m=bottom.along_m[last],
                level_m=(max(held) + min(held)) / 2,
            )
            for bottom in _bottoms(trench)
            for first, last in _held(bottom, within_m, least_m)
            for held in [bottom.level_m[first : last + 1]]
        ]
        yield from sorted(found, key=lambda one: one.from_m)


def _bottoms(trench: Trench) -> Iterator[_Bottom]:
    """The bottom of each stretch that is opened and has levels, without a gap."""
    spots_m = [_spots_m(trench, stretch) for stretch, _ in trench.parts]
    ground_m = iter(trench.grades_m(np.concatenate(spots_m)).tolist())
    along: list[float] = []
    level: list[float] = []
    for (stretch, section), here_m in zip(trench.parts, spots_m, strict=True):
        for spot_m in here_m.tolist():
            grade_m = next(ground_m)
            if stretch.bored or isnan(grade_m):
                if along:
                    yield _Bottom(along, level)
                along, level = [], []
                continue
            along.append(spot_m)
            level.append(grade_m - section.cut_m)
    if along:
        yield _Bottom(along, level)


def _spots_m(trench: Trench, stretch: Stretch) -> NDArray[np.float64]:
    """Where the bottom of a stretch is looked at, distances [m] along the reach."""
    breaks_m = trench.breaks_m[(trench.breaks_m > stretch.from_m) & (trench.breaks_m < stretch.to_m)]
    plain_m = np.arange(stretch.from_m + STEP_M, stretch.to_m, STEP_M)
    return np.unique(np.concatenate(([stretch.from_m], breaks_m, plain_m, [stretch.to_m])))


def _held(bottom: _Bottom, within_m: float, least_m: float) -> Iterator[tuple[int, int]]:
    """First and last spot of each stretch, the longest first, then the longest of what is left."""
    waiting = [(0, len(bottom.along_m) - 1)]
    while waiting:
        first, last = waiting.pop()
        low, high = _longest(bottom, first, last, within_m)
        if bottom.along_m[high] - bottom.along_m[low] < least_m:
            continue
        yield low, high
        waiting += [(first, low), (high, last)]


def _longest(bottom: _Bottom, first: int, last: int, within_m: float) -> tuple[int, int]:
    """Longest run of spots between two whose levels are all within so much of their middle; the first of equals."""
    along_m, level_m = bottom.along_m, bottom.level_m
    best, start = (first, first), first
    lowest: deque[int] = deque()  # of the run, ever higher: the first is its lowest spot
    highest: deque[int] = deque()
    for end in range(first, last + 1):
        while lowest and level_m[lowest[-1]] >= level_m[end]:
            lowest.pop()
        while highest and level_m[highest[-1]] <= level_m[end]:
            highest.pop()
        lowest.append(end)
        highest.append(end)
        while level_m[highest[0]] - level_m[lowest[0]] > 2 * within_m + TOUCH_M:
            start += 1
            if lowest[0] < start:
                lowest.popleft()
            if highest[0] < start:
                highest.popleft()
        if along_m[end] - along_m[start] > along_m[best[1]] - along_m[best[0]] + TOUCH_M:
            best = (start, end)
    return best
