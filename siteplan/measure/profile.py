"""One trench from end to end: its stretches, their sections, and the ground over it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise
from math import isnan

import numpy as np
import shapely
from numpy.typing import NDArray

from siteplan.measure.along import TOUCH_M
from siteplan.measure.model import Section
from siteplan.measure.sections import SectionKey, section_key
from siteplan.measure.surfaces import Stretch
from siteplan.plane.ground import GroundSurface
from siteplan.route.model import Reach

Numbers = NDArray[np.float64]
Part = tuple[Stretch, Section]


@dataclass(frozen=True, slots=True, kw_only=True)
class Trench:
    """A reach with all that is dug there.

    Attributes
    ----------
    parts : tuple of (Stretch, Section)
        In order along the reach; together they are the whole of it.
    ground : GroundSurface or None
        ``None``: no levels, cut from ground surface only.
    breaks_m : array
        Distances [m] at which the grade over the trench may change, both ends with them.
    break_grades_m : array
        Ground elevations [m] there.
    """

    reach: Reach
    parts: tuple[Part, ...]
    ground: GroundSurface | None
    breaks_m: Numbers
    break_grades_m: Numbers

    @classmethod
    def of(
        cls,
        reach: Reach,
        stretches: tuple[Stretch, ...],
        sections: Mapping[SectionKey, Section],
        ground: GroundSurface | None,
    ) -> Trench:
        """Put a reach together."""
        breaks_m = np.array([0.0, reach.length_m]) if ground is None else ground.breaks_along(reach.path)
        return cls(
            reach=reach,
            parts=tuple((stretch, sections[section_key(stretch)]) for stretch in stretches),
            ground=ground,
            breaks_m=breaks_m,
            break_grades_m=_grades_m(reach, ground, breaks_m),
        )

    @property
    def name(self) -> str:
        """Name of the reach."""
        return self.reach.name

    @property
    def opened(self) -> tuple[Part, ...]:
        """The parts that are dug from above; the others are bored."""
        return tuple(part for part in self.parts if not part[0].bored)

    @property
    def half_top_m(self) -> float:
        """Half the width [m] at the ground where it is widest."""
        return max(section.top_width_m for _, section in self.parts) / 2

    def at(self, distance_m: float) -> Part:
        """Return what begins or lies at a distance [m]."""
        begun = [part for part in self.parts if part[0].from_m <= distance_m + TOUCH_M]
        return begun[-1] if begun else self.parts[0]

    def between(self, a_m: float, b_m: float) -> list[Part]:
        """Parts that lie between two distances [m], in order from the first to the second."""
        low, high = sorted((a_m, b_m))
        found = [
            part for part in self.parts if part[0].from_m < high - TOUCH_M and part[0].to_m > low + TOUCH_M
        ]
        return found if a_m <= b_m else found[::-1]

    def grades_m(self, distances_m: Numbers) -> Numbers:
        """Ground elevations [m] at distances along the reach; NaN where there are no levels."""
        return _grades_m(self.reach, self.ground, distances_m)

    def slope_length_m(self, *spans_m: tuple[float, float]) -> float:
        """Length [m] along the slope of the ground over these spans of distance; the map length where there are no levels.

        The bottom follows the ground, so a line in the trench is as long.
        """
        ends_m = np.sort(np.reshape(spans_m, (-1, 2)), axis=1)
        grades_m = self.grades_m(ends_m.ravel()).reshape(-1, 2)
        return sum(
            self._slope_length_m(*ends) for ends in zip(ends_m.tolist(), grades_m.tolist(), strict=True)
        )

    def _slope_length_m(self, ends_m: list[float], end_grades_m: list[float]) -> float:
        """Length [m] along the slope between two distances, the lesser first, with the elevations [m] there."""
        inside = (self.breaks_m > ends_m[0]) & (self.breaks_m < ends_m[1])
        along_m = np.concatenate((ends_m[:1], self.breaks_m[inside], ends_m[1:]))
        grades_m = np.concatenate((end_grades_m[:1], self.break_grades_m[inside], end_grades_m[1:]))
        return float(np.hypot(np.diff(along_m), np.nan_to_num(np.diff(grades_m))).sum())

    def off_chord(self, listed_m: list[float], least_m: float) -> list[float]:
        """Grade breaks [m] at which the ground lies more than ``least_m`` off the straight line between its neighbours.

        The farthest first, so that few of them say it all.
        """
        breaks = _levelled(self.breaks_m.tolist(), self.break_grades_m)
        ends = _levelled(listed_m, self.grades_m(np.array(listed_m)))
        return sorted(m for a, b in pairwise(ends) for m in _farthest(a, b, breaks, least_m))


def _grades_m(reach: Reach, ground: GroundSurface | None, distances_m: Numbers) -> Numbers:
    if ground is None:
        return np.full(len(distances_m), np.nan)
    places = shapely.line_interpolate_point(reach.path, distances_m)
    return ground.elevations(shapely.get_coordinates(places))


def _levelled(along_m: list[float], grades_m: Numbers) -> list[tuple[float, float]]:
    """Distances with the elevations there [m], where there are levels."""
    return [each for each in zip(along_m, grades_m.tolist(), strict=True) if not isnan(each[1])]


def _farthest(
    a: tuple[float, float], b: tuple[float, float], breaks: list[tuple[float, float]], least_m: float
) -> list[float]:
    between = [each for each in breaks if a[0] + TOUCH_M < each[0] < b[0] - TOUCH_M]
    if not between:
        return []
    slope = (b[1] - a[1]) / (b[0] - a[0])
    off_m, worst = max((abs(m - a[1] - slope * (d - a[0])), (d, m)) for d, m in between)
    if off_m <= least_m:
        return []
    return [
        *_farthest(a, worst, between, least_m),
        worst[0],
        *_farthest(worst, b, between, least_m),
    ]
