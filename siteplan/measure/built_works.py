"""Pieces of built lines as small works of their own, so that what was built is checked as a plan is.

Each piece has a layout of one reach, named as the reach of the plan, and a site whose laying error is the error of the shots.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from itertools import count

from shapely import Point
from shapely.ops import substring

from siteplan.measure.along import SHORT_M, TOUCH_M, turns
from siteplan.measure.built_lines import planned_in_section
from siteplan.measure.crossing import Crossing
from siteplan.measure.crossings import crossings, hand_spans
from siteplan.measure.model import Pull, Section, Works
from siteplan.measure.profile import Trench
from siteplan.measure.record_model import Built, BuiltCover, BuiltLine, BuiltPoint, BuiltStretch
from siteplan.measure.sections import section_key, sections
from siteplan.measure.surfaces import stretches
from siteplan.plane.ground import GroundSurface
from siteplan.route.model import Bored, Layout, LinePath, Reach, Run
from siteplan.rules.model import Requirements
from siteplan.site.evidence import Z95_ONE_SIDED, Evidence, one_sided_m, pair_sigma_m
from siteplan.site.site import Site

SAME_CROSSING_M = 9.144
"""A built line that meets a thing within 30 ft [m] of where the plan does makes that crossing (common practice, no source)."""

NEAR_END_M = 1.524
"""Within this [m] of either end lines come together, and their distance says nothing: 5 ft (common practice, no source)."""


SIDE_BY_SIDE_M = 0.0431
"""Error [m, one-sided at 95 %] between two lines that one crew taped alike: 0.1 ft each (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Beside:
    """Two lines where they lie nearest to each other: works of one section, and the error of their distance [m]."""

    works: Works
    error_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """A piece of one built line, ready to be checked.

    Attributes
    ----------
    site : Site
        Its laying and depth errors are those of the piece.
    layout, works
        Of this piece alone.
    from_m, to_m : float
        Stations on the reach of the plan [m] of its two ends, in the order of its path.
    measured : bool
    """

    line: str
    site: Site
    layout: Layout
    works: Works
    from_m: float
    to_m: float
    measured: bool

    def station_m(self, along_m: float) -> float:
        """Station on the plan [m] of a distance along the piece."""
        share = along_m / self.layout.reaches[0].length_m
        return self.from_m + (self.to_m - self.from_m) * share


class BuiltWorks:
    """Makes the pieces of everything that was built.

    Parameters
    ----------
    site, requirements, layout, works, ground
        As planned, in ground metres.
    """

    def __init__(
        self,
        site: Site,
        requirements: Requirements,
        layout: Layout,
        works: Works,
        ground: GroundSurface | None,
        built: Built,
    ) -> None:
        self._site, self._requirements, self._ground = site, requirements, ground
        self._layout, self._works, self._built = layout, works, built
        self._new_numbers = count(len(works.crossings) + 1)
        self._more: list[Crossing] = []

    def places(self, line: BuiltLine) -> Iterator[Piece]:
        """Pieces of a line by how their position is known; crossings at the built cover."""
        for stretch in line.stretches:
            reach = self._reach(line, stretch)
            measured = stretch.position == "measured"
            walked = stretches(self._site, reach)
            cut = sections(self._site, self._requirements, walked)
            trench = Trench.of(reach, walked, cut, self._ground)
            by_hand = hand_spans(self._site, self._requirements, (trench,))
            register = crossings(self._site, self._requirements, (trench,), by_hand)
            station_m = _linear(stretch.from_m, stretch.to_m, reach.length_m)
            works = replace(
                self._works,
                sections=tuple(cut.values()) if measured else self._works.sections,
                crossings=tuple(
                    self._crossing(line, each, trench, station_m(each.distance_m)) for each in register
                ),
                stations=(),
            )
            digging = replace(
                self._site.digging, laying=stretch.evidence, depth_error_m=self._depth_error_m(line, stretch)
            )
            yield Piece(
                line=line.line,
                site=replace(self._site, digging=digging),
                layout=self._alone(line.line, reach),
                works=works,
                from_m=stretch.from_m,
                to_m=stretch.to_m,
                measured=measured,
            )

    def covers(self, line: BuiltLine) -> Iterator[Piece]:
        """Pieces of a line by how their cover is known: sections of the built cover, under the ground that lies over it."""
        for cover in line.covers:
            reach = self._reach(line, cover)
            parts = list(
                self._as_planned(cover, reach) if cover.covers_m is None else self._as_taped(cover, reach)
            )
            station = self._works.stations[0]
            cuts = [
                replace(station, reach=reach.name, distance_m=from_m, section=section.name)
                for from_m, section in parts
            ]
            digging = replace(self._site.digging, depth_error_m=cover.error_m)
            yield Piece(
                line=line.line,
                site=replace(self._site, digging=digging),
                layout=self._alone(line.line, reach),
                works=replace(
                    self._works,
                    stations=tuple(cuts),
                    sections=tuple(section for _, section in parts),
                    crossings=(),
                ),
                from_m=cover.from_m,
                to_m=cover.to_m,
                measured=cover.standing == "measured",
            )

    def beside(self, of: str, to: str) -> Beside | None:
        """How two new lines lie to each other, at the measured point of either where they are nearest; ``None``: not measured."""
        lines = (self._built.line(of), self._built.line(to))
        gaps = [*_gaps(lines[0], lines[1]), *_gaps(lines[1], lines[0])]
        if not gaps:
            return None
        gap_m, sigma_m = min(gaps)
        laid = {one.line: one for section in self._works.sections for one in section.lines}
        both = (replace(laid[of], offset_m=gap_m), replace(laid[to], offset_m=0.0))
        section = replace(self._works.sections[0], lines=both)
        return Beside(
            replace(self._works, sections=(section,)), one_sided_m(sigma_m, self._requirements.confidence)
        )

    def pulls(self) -> tuple[Pull, ...]:
        """Pulls of the plan with the bends of the conduits that were measured; what is within the error of a shot is no bend."""
        found = []
        for pull in self._works.pulls:
            line = self._built.line(pull.line)
            measured = [stretch for stretch in line.stretches if stretch.position == "measured"]
            if not measured:
                continue
            ends_m = [_built_m(line, along_m) for along_m in (pull.from_m, pull.to_m)]
            error_m = max(stretch.evidence.radius_m for stretch in measured)
            path = substring(line.path, *ends_m).simplify(error_m)
            plan_deg = sum(abs(turn.deflection_deg) for turn in turns(path))
            found.append(replace(pull, plan_deg=plan_deg, sum_deg=plan_deg + pull.risers_deg))
        return tuple(found)

    def _depth_error_m(self, line: BuiltLine, stretch: BuiltStretch) -> float:
        """Largest error of a cover on a stretch: that of the dig, where a part of it was not taped."""
        low, high = sorted((stretch.from_m, stretch.to_m))
        errors_m = [
            cover.error_m
            for cover in line.covers
            if cover.reach == stretch.reach
            and min(cover.from_m, cover.to_m) < high - SHORT_M
            and max(cover.from_m, cover.to_m) > low + SHORT_M
        ]
        return max(errors_m, default=self._site.digging.depth_error_m)

    def _reach(self, line: BuiltLine, piece: BuiltStretch | BuiltCover) -> Reach:
        length_m = float(piece.path.length)
        low, high = sorted((piece.from_m, piece.to_m))
        bored = []
        for each in self._layout.reach(piece.reach).bored:
            begin, end = max(each.from_m, low), min(each.to_m, high)
            if end - begin > SHORT_M:
                ends = sorted(
                    length_m * (m - piece.from_m) / (piece.to_m - piece.from_m) for m in (begin, end)
                )
                bored.append(Bored(feature=each.feature, from_m=ends[0], to_m=ends[1]))
        return Reach(
            name=piece.reach,
            path=piece.path,
            runs=(Run(line=line.line, from_m=0.0, to_m=length_m),),
            starts_at="",
            ends_at="",
            bored=tuple(sorted(bored, key=lambda each: each.from_m)),
        )

    def _alone(self, line: str, reach: Reach) -> Layout:
        path = LinePath(
            line=line, legs=((reach.name, 0.0, reach.length_m),), entry=Point(reach.path.coords[-1])
        )
        return replace(self._layout, reaches=(reach,), paths=(path,), kept_off=())

    def _as_taped(self, cover: BuiltCover, reach: Reach) -> Iterator[tuple[float, Section]]:
        assert cover.covers_m is not None
        cover_m = _linear(*cover.covers_m, reach.length_m)
        walked = stretches(self._site, reach)
        cut = sections(self._site, self._requirements, walked)
        for number, stretch in enumerate(walked, start=1):
            section = cut[section_key(stretch)]
            least_m = min(cover_m(stretch.from_m), cover_m(stretch.to_m))
            lines = tuple(replace(laid, cover_m=least_m) for laid in section.lines)
            yield stretch.from_m, replace(section, name=str(number), lines=lines)

    def _as_planned(self, cover: BuiltCover, reach: Reach) -> Iterator[tuple[float, Section]]:
        low, high = sorted((cover.from_m, cover.to_m))
        parts = [
            (max(begin, low), min(end, high), section)
            for _, begin, end, section in self._works.stretches([self._layout.reach(cover.reach)])
            if min(end, high) - max(begin, low) > TOUCH_M
        ]
        if cover.from_m > cover.to_m:
            parts = [(end, begin, section) for begin, end, section in reversed(parts)]
        for number, (begin, _, section) in enumerate(parts, start=1):
            along_m = reach.length_m * (begin - cover.from_m) / (cover.to_m - cover.from_m)
            mine = tuple(laid for laid in section.lines if laid.line == cover.line)
            yield along_m, replace(section, name=str(number), lines=mine)

    def _crossing(self, line: BuiltLine, crossing: Crossing, trench: Trench, station_m: float) -> Crossing:
        laid = trench.at(crossing.distance_m)[1].lines[0]
        cover_m = self._cover_m(line, trench.name, station_m)
        numbered = replace(crossing, number=self._number(crossing))
        if crossing.their_depth_m is None or cover_m is None:
            return numbered
        over_m = crossing.their_depth_m - (cover_m + laid.outside_m)
        seen = crossing.seen
        facts = self._site.feature(crossing.feature).facts
        diameter = seen.size_m if seen and seen.size_m is not None else facts.get("diameter")
        under_m = cover_m - crossing.their_depth_m - (diameter if isinstance(diameter, float) else 0.0)
        if over_m >= under_m:
            return replace(numbered, over=True, clear_m=over_m)
        return replace(numbered, over=False, clear_m=under_m if isinstance(diameter, float) else None)

    def _cover_m(self, line: BuiltLine, reach: str, station_m: float) -> float | None:
        for cover in line.covers:
            low, high = sorted((cover.from_m, cover.to_m))
            if (
                cover.reach == reach
                and low - TOUCH_M <= station_m <= high + TOUCH_M
                and cover.covers_m is not None
            ):
                share = (station_m - cover.from_m) / (cover.to_m - cover.from_m)
                return cover.covers_m[0] + (cover.covers_m[1] - cover.covers_m[0]) * share
        laid = planned_in_section(self._works, self._layout, reach, station_m, line.line)
        return None if laid is None else laid.cover_m

    def _number(self, crossing: Crossing) -> int:
        """Number in the register of the plan; a crossing that the plan did not have gets the next."""
        place = Point(crossing.x, crossing.y)
        for known in (*self._works.crossings, *self._more):
            if (
                known.feature == crossing.feature
                and place.distance(Point(known.x, known.y)) <= SAME_CROSSING_M
            ):
                return known.number
        self._more.append(replace(crossing, number=next(self._new_numbers)))
        return self._more[-1].number


def _built_m(line: BuiltLine, along_m: float) -> float:
    """Distance [m] along a built line of a distance along the planned one."""
    planned_m = built_m = 0.0
    for stretch in line.stretches:
        length_m, laid_m = abs(stretch.to_m - stretch.from_m), float(stretch.path.length)
        if along_m <= planned_m + length_m:
            return built_m + laid_m * (along_m - planned_m) / length_m
        planned_m, built_m = planned_m + length_m, built_m + laid_m
    return built_m


def _linear(first: float, last: float, length_m: float) -> Callable[[float], float]:
    return lambda along_m: first + (last - first) * along_m / length_m


def _gaps(of: BuiltLine, to: BuiltLine) -> Iterator[tuple[float, float]]:
    """Distances from points of one line to the measured stretches of another, away from the ends of either; their sigmas [m]."""
    if not (of.stretches and to.stretches):
        return
    ends = [Point(line.path.coords[n]) for line in (of, to) for n in (0, -1)]
    measured = [stretch for stretch in to.stretches if stretch.position == "measured"]
    for point in of.points:
        place = Point(point.x, point.y)
        if point.measurement.placed and measured and all(end.distance(place) > NEAR_END_M for end in ends):
            nearest = min(measured, key=lambda stretch: stretch.path.distance(place))
            theirs = min(
                (each for each in to.points if each.measurement.placed),
                key=lambda each: place.distance(Point(each.x, each.y)),
            )
            yield float(nearest.path.distance(place)), _beside_sigma_m(point, theirs, nearest.evidence)


def _beside_sigma_m(ours: BuiltPoint, theirs: BuiltPoint, evidence: Evidence) -> float:
    """Sigma [m] of the distance of two lines: what is shared by shots of one crew, day and way of placing cancels."""
    a, b = ours.measurement, theirs.measurement
    together = (a.day, a.crew, a.placing, a.evidence.method) == (b.day, b.crew, b.placing, b.evidence.method)
    if together and a.placing in ("ties", "offset"):
        return SIDE_BY_SIDE_M / Z95_ONE_SIDED
    return pair_sigma_m(a.evidence, evidence)
