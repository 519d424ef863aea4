"""Sleeves: the pipe round a line under a drive or in a bore, so that it can be drawn out again."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby

from siteplan.measure.bends import is_conduit, wiring_method
from siteplan.measure.surfaces import Stretch
from siteplan.route.model import Reach
from siteplan.site.features import Line
from siteplan.site.site import Site

SLACK_M = 0.6096
"""Sleeve beyond each edge, and tracer wire at each end [m]: 2 ft. Common practice, no source."""

_PAVED = ("drive", "walk", "road")


@dataclass(frozen=True, slots=True, kw_only=True)
class Sleeve:
    """A sleeve of one line under a feature, from and to in metres along the reach; at the end of a reach it may run past it."""

    line: Line
    feature: str
    bored: bool
    from_m: float
    to_m: float

    @property
    def length_m(self) -> float:
        """Length [m]."""
        return self.to_m - self.from_m


def sleeves(site: Site, reach: Reach, stretches: Sequence[Stretch]) -> Iterator[Sleeve]:
    """One sleeve for each line without a conduit of its own: in each bore, and under each paved surface that is opened.

    Parameters
    ----------
    stretches : sequence of Stretch
        The whole of the reach, in order.
    """
    for line in site.lines:
        if is_conduit(line) and wiring_method(line) is not None:
            continue
        for bored in reach.bored:
            if line.id in reach.lines_at((bored.from_m + bored.to_m) / 2):
                yield _sleeve(line, bored.feature, bored.from_m, bored.to_m, bored=True)
        here = [each for each in stretches if not each.bored and line.id in each.lines]
        for surface, group in groupby(here, key=lambda each: each.feature):
            if surface is not None and surface.kind in _PAVED:
                first, *_, last = 2 * list(group)
                yield _sleeve(line, surface.id, first.from_m, last.to_m, bored=False)


def _sleeve(line: Line, feature: str, from_m: float, to_m: float, *, bored: bool) -> Sleeve:
    return Sleeve(line=line, feature=feature, bored=bored, from_m=from_m - SLACK_M, to_m=to_m + SLACK_M)
