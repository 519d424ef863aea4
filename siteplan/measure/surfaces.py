"""Which ground the centreline crosses, and which lines lie there: the stretches of a reach."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from shapely.geometry.base import BaseGeometry

from siteplan.errors import Fault, InputFaults
from siteplan.measure.along import SHORT_M, Interval, met
from siteplan.route.model import Reach
from siteplan.site.catalogue import kinds, surfaces
from siteplan.site.features import Feature
from siteplan.site.site import Site

YARD = "yard"


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """A stretch of a reach with the same ground above and the same lines in it.

    Attributes
    ----------
    surface : str
        A surface of ``layers/surfaces.toml``.
    feature : Feature or None
        The drive, walk, road, ledge, woods, field or lawn; ``None`` in the yard.
    lines : tuple of str
        Ids of the lines that lie in it.
    bored : bool
        It is bored, not opened.
    """

    from_m: float
    to_m: float
    surface: str
    feature: Feature | None
    lines: tuple[str, ...]
    bored: bool = False

    @property
    def length_m(self) -> float:
        """Map length [m]."""
        return self.to_m - self.from_m

    @property
    def cover_class(self) -> str:
        """Surface class that the cover rules know."""
        return surfaces()[self.surface].cover_class


def stretches(site: Site, reach: Reach) -> tuple[Stretch, ...]:
    """Stretches of one reach, in order, from 0 to its length.

    The edge of a surface is taken where it is drawn: deeper cover begins and ends there, and no rule that was read
    says how far it goes on beside a drive. Where two surfaces overlap, the one later in the files is on top,
    but soft ground is never on top of what is harder.

    Raises
    ------
    InputFaults
        A drive, walk or road that the trench crosses is drawn as a line without its width.
    """
    crossed = [
        (feature, interval)
        for feature in site.features
        if kinds()[feature.kind].dig == "surface"
        for interval in met(reach.path, _extent(feature, reach))
        if interval[1] - interval[0] > SHORT_M
    ]
    edges = [edge for _, interval in crossed for edge in interval]
    edges += [edge for run in reach.runs for edge in (run.from_m, run.to_m)]
    edges += [edge for bored in reach.bored for edge in (bored.from_m, bored.to_m)]
    found: list[Stretch] = []
    for begin, end in pairwise(_apart(edges, reach.length_m)):
        middle = (begin + end) / 2
        feature = _on_top(crossed, middle)
        lines = reach.lines_at(middle)
        bored = any(each.from_m < middle < each.to_m for each in reach.bored)
        goes_on = bool(found) and (found[-1].feature, found[-1].lines, found[-1].bored) == (
            feature,
            lines,
            bored,
        )
        found.append(
            Stretch(
                from_m=found.pop().from_m if goes_on else begin,
                to_m=end,
                surface=feature.kind if feature else YARD,
                feature=feature,
                lines=lines,
                bored=bored,
            )
        )
    return tuple(found)


def _extent(feature: Feature, reach: Reach) -> BaseGeometry:
    width_m = feature.facts.get("width")
    if feature.shape.area:
        return feature.shape
    if width_m is None:
        if not feature.shape.intersects(reach.path):
            return feature.shape
        raise InputFaults(
            [
                Fault(
                    file=feature.source.file,
                    line=feature.source.line,
                    where=feature.id,
                    found=f"{kinds()[feature.kind].name} drawn as a line without a width, and the trench crosses it",
                    expected="its width, because the cover may be deeper under it",
                    mend='add "width": "12 ft" (as it is on the ground), or draw it as an area',
                )
            ]
        )
    return feature.shape.buffer(float(width_m) / 2, cap_style="flat")


def _on_top(crossed: Sequence[tuple[Feature, Interval]], distance_m: float) -> Feature | None:
    here = [feature for feature, (begin, end) in crossed if begin <= distance_m <= end]
    kept = [feature for feature in here if not surfaces()[feature.kind].soft] or here
    return kept[-1] if kept else None


def _apart(edges: list[float], length_m: float) -> list[float]:
    """Both ends of the reach, and the edges between them that lie a centimetre or more apart."""
    kept = [0.0]
    for edge in sorted(edges):
        if kept[-1] + SHORT_M <= edge <= length_m - SHORT_M:
            kept.append(edge)
    return [*kept, length_m]
