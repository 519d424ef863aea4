"""One trench from end to end: its stretches, their sections, and the ground over it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise

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
    """

    reach: Reach
    parts: tuple[Part, ...]
    ground: GroundSurface | None
    breaks_m: Numbers

    @classmethod
    def of(
        cls,
        reach: Reach,
        stretches: tuple[Stretch, ...],
        sections: Mapping[SectionKey, Section],
        ground: GroundSurface | None,
    ) -> Trench:
        """Put a reach together."""
        return cls(
            reach=reach,
            parts=tuple((stretch, sections[section_key(stretch)]) for stretch in stretches),
            ground=ground,
            breaks_m=np.array([0.0, reach.length_m]) if ground is None else ground.breaks_along(reach.path),
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
        if self.ground is None:
            return np.full(len(distances_m), np.nan)
        places = shapely.line_interpolate_point(self.reach.path, distances_m)
        return self.ground.elevations(shapely.get_coordinates(places))

    def slope_length_m(self, a_m: float, b_m: float) -> float:
        """Length [m] along the slope of the ground between two distances; the map length where there are no levels.

        The bottom follows the ground, so a line in the trench is as long.
        """
        low, high = sorted((a_m, b_m))
        inside = self.breaks_m[(self.breaks_m > low) & (self.breaks_m < high)]
        distances_m = np.concatenate(([low], inside, [high]))
        rises_m = np.nan_to_num(np.diff(self.grades_m(distances_m)))
        return float(np.hypot(np.diff(distances_m), rises_m).sum())

    def off_chord(self, listed_m: list[float], least_m: float) -> list[float]:
        """Grade breaks [m] at which the ground lies more than ``least_m`` off the straight line between its neighbours.

        The farthest first, so that few of them say it all.
        """
        grades_m = self.grades_m(self.breaks_m)
        breaks = [
            (float(distance), float(grade))
            for distance, grade in zip(self.breaks_m, grades_m, strict=True)
            if not np.isnan(grade)
        ]
        known = self.grades_m(np.array(listed_m))
        ends = [(m, float(g)) for m, g in zip(listed_m, known, strict=True) if not np.isnan(g)]
        return sorted(m for a, b in pairwise(ends) for m in _farthest(a, b, breaks, least_m))


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
