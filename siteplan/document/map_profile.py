"""Cover and cut along one trench, as an SVG drawing in the page: ground, tops of the lines, bottom, crossings, stations.

Heights are drawn at a scale of their own, which is stated. The attributes ``data-reach``, ``data-left`` and ``data-per-m``
let the page find the place on the map that lies under the pointer.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from math import ceil

from siteplan.document.map_shapes import hand_digs, slug
from siteplan.document.model import Plan
from siteplan.document.page import escaped
from siteplan.measure.model import Section, Station
from siteplan.route.model import Reach
from siteplan.units import FOOT_M, Printer

_LEFT, _RIGHT, _LEAST_WIDTH = 62.0, 16.0, 420.0
_TOP, _PLOT, _AXIS = 62.0, 150.0, 30.0
_LEAST_PER_M = 4.0
_LETTER_PX, _STATION_PX = 8.2, 58.0

_Place = tuple[float, float]


@dataclass(slots=True)
class _Profile:
    """Scales of one drawing, and how far its rows of words are taken."""

    plan: Plan
    reach: Reach
    stations: Sequence[Station]
    stretches: Sequence[tuple[float, float, Section]]
    levelled: bool
    per_m: float
    taken: list[tuple[float, float, float]] = field(default_factory=list)
    high: float = field(init=False)
    low: float = field(init=False)

    def __post_init__(self) -> None:
        self.high = max(self.ground(station) for station in self.stations)
        self.low = min(self.ground(station) - section.cut_m for station, section in self.each())

    def ground(self, station: Station) -> float:
        return station.grade_m if self.levelled and station.grade_m is not None else 0.0

    def ground_at(self, distance_m: float) -> float:
        """Ground between two stations, straight."""
        for before, after in pairwise(self.stations):
            if distance_m <= after.distance_m:
                part = (distance_m - before.distance_m) / (after.distance_m - before.distance_m)
                return self.ground(before) + part * (self.ground(after) - self.ground(before))
        return self.ground(self.stations[-1])

    def x(self, distance_m: float) -> float:
        return _LEFT + distance_m * self.per_m

    @property
    def heights_per_m(self) -> float:
        return _PLOT / (self.high - self.low)

    def y(self, height: float) -> float:
        return _TOP + (self.high - height) * self.heights_per_m

    def each(self) -> Iterator[tuple[Station, Section]]:
        """Stations of every stretch with the section there; one at the end of a stretch comes with both."""
        for from_m, to_m, section in self.stretches:
            for station in self.stations:
                if from_m <= station.distance_m <= to_m:
                    yield station, section

    def along(self, depths_m: Sequence[tuple[float, float, float]]) -> list[_Place]:
        """Places of a line that lies so deep [m] from one distance to another."""
        return [
            (self.x(station.distance_m), self.y(self.ground(station) - depth_m))
            for from_m, to_m, depth_m in depths_m
            for station in self.stations
            if from_m <= station.distance_m <= to_m
        ]

    def room(self, y: float, x: float, text: str) -> bool:
        """Is there room for centred words in a row; takes it."""
        half = len(text) * _LETTER_PX / 2 + 3
        if any(row == y and left < x + half and x - half < right for row, left, right in self.taken):
            return False
        self.taken.append((y, x - half, x + half))
        return True


def profile(plan: Plan, reach: Reach) -> str:
    """Draw the profile of one reach: one ``<svg>`` element, its texts escaped."""
    stations = [station for station in plan.works.stations if station.reach == reach.name]
    drawn = _Profile(
        plan=plan,
        reach=reach,
        stations=stations,
        stretches=[
            (from_m, to_m, section)
            for name, from_m, to_m, section in plan.works.stretches(plan.layout.reaches)
            if name == reach.name
        ],
        levelled=all(station.grade_m is not None for station in stations),
        per_m=max((_LEAST_WIDTH - _LEFT - _RIGHT) / reach.length_m, _LEAST_PER_M),
    )
    width, height = drawn.x(reach.length_m) + _RIGHT, _TOP + _PLOT + _AXIS
    inside = "\n".join(
        (
            *_body(drawn),
            *_lines(drawn),
            *_crossings(drawn),
            *_bends(drawn),
            *_axis(drawn),
            f'<line class="pointer" y1="{_TOP - 24:.0f}" y2="{height - _AXIS:.0f}" x1="-9" x2="-9"/>',
        )
    )
    return (
        f'<svg class="profile" width="{width:.0f}" height="{height:.0f}" viewBox="0 0 {width:.0f} {height:.0f}" role="img"'
        f' aria-label="{escaped(f"Profile of {reach.name}")}" data-reach="{escaped(reach.name)}" data-left="{_LEFT}"'
        f' data-per-m="{drawn.per_m:.4f}">\n{inside}\n</svg>'
    )


def scrolled(plan: Plan, reach: Reach) -> str:
    """Put the profile in a frame along which the arrow keys move the mark, and a line for what is read there."""
    unit_m = 1.0 if plan.site.units == "m" else FOOT_M
    return (
        f'<div class="scroll" tabindex="0" role="slider" aria-label="{escaped(f"Place along {reach.name}")}" aria-valuemin="0"'
        f' aria-valuemax="{reach.length_m / unit_m:.1f}" aria-valuenow="0" aria-valuetext="no place chosen">'
        f'{profile(plan, reach)}</div><p class="read-out"></p>'
    )


def profile_note(plan: Plan, reach: Reach) -> str:
    """Say what the heights of the drawing are."""
    stations = [station for station in plan.works.stations if station.reach == reach.name]
    if all(station.grade_m is not None for station in stations):
        return "Elevations on the left. Heights and lengths have scales of their own."
    return "No levels were taken: the ground is drawn flat, cut from ground surface only."


def _path(places: Sequence[_Place], classes: str) -> str:
    points = " ".join(f"{x:.1f},{y:.1f}" for x, y in places)
    return f'<polyline class="{classes}" points="{points}"/>'


def _text(x: float, y: float, text: str, classes: str = "") -> str:
    return f'<text class="{classes}" x="{x:.1f}" y="{y:.1f}">{escaped(text)}</text>'


def _body(drawn: _Profile) -> Iterator[str]:
    """The trench, its hand-dig stretches, the ground, and what the ground is where it is not yard."""
    cuts = [(from_m, to_m, section.cut_m) for from_m, to_m, section in drawn.stretches]
    ground = drawn.along([(0.0, drawn.reach.length_m, 0.0)])
    bottom = drawn.along(cuts)
    yield _path([*ground, *reversed(bottom)], "dug")
    for begin, end in _hand_spans(drawn):
        wide = max(drawn.x(end) - drawn.x(begin), 3.0)
        yield f'<rect class="by-hand" x="{drawn.x(begin):.1f}" y="{_TOP:.0f}" width="{wide:.1f}" height="{_PLOT:.0f}"/>'
    for bored in drawn.reach.bored:
        left, right = drawn.x(bored.from_m), drawn.x(bored.to_m)
        yield f'<rect class="bore" x="{left:.1f}" y="{_TOP:.0f}" width="{right - left:.1f}" height="{_PLOT:.0f}"/>'
        if drawn.room(_TOP + _PLOT - 5, (left + right) / 2, "bore"):
            yield _text((left + right) / 2, _TOP + _PLOT - 5, "bore")
    yield _path(bottom, "bottom")
    yield _path(ground, "ground")
    printer = Printer(drawn.plan.site.units)
    for from_m, to_m, section in drawn.stretches:
        words = f"cut {printer.length(section.cut_m)}"
        if drawn.x(to_m) - drawn.x(from_m) > len(words) * _LETTER_PX:
            middle = (from_m + to_m) / 2
            yield _text(
                drawn.x(middle), drawn.y(drawn.ground_at(middle) - section.cut_m / 2) + 5, words, "cut"
            )
    for from_m, to_m, section in drawn.stretches:
        if section.surface != "yard":
            yield _path([(x, y - 5) for x, y in drawn.along([(from_m, to_m, 0.0)])], "surface")
            middle = (drawn.x(from_m) + drawn.x(to_m)) / 2
            if drawn.room(16, middle, section.surface):
                yield _text(middle, 16, section.surface)


def _hand_spans(drawn: _Profile) -> Iterator[_Place]:
    spans = {(each.from_m, each.to_m) for each in hand_digs(drawn.plan) if each.reach == drawn.reach.name}
    spans |= {
        (each.hand_from_m, each.hand_to_m)
        for each in drawn.plan.works.crossings
        if each.reach == drawn.reach.name
    }
    for begin, end in sorted(spans):
        if end > begin:
            yield max(begin, 0.0), min(end, drawn.reach.length_m)


def _lines(drawn: _Profile) -> Iterator[str]:
    """The cover asked by whichever line sets the cut, and the top of each line: its cover."""
    asked = [
        (from_m, to_m, section.governed_by.least_m)
        for from_m, to_m, section in drawn.stretches
        if section.governed_by.least_m is not None
    ]
    if asked:
        yield _path(drawn.along(asked), "asked")
    for line in dict.fromkeys(run.line for run in drawn.reach.runs):
        depths = [
            (from_m, to_m, laid.cover_m)
            for from_m, to_m, section in drawn.stretches
            for laid in section.lines
            if laid.line == line
        ]
        yield _path(drawn.along(depths), f"pipe {slug(drawn.plan.site.line(line).carries)}")


def _crossings(drawn: _Profile) -> Iterator[str]:
    for crossing in drawn.plan.works.crossings:
        if crossing.reach != drawn.reach.name:
            continue
        x = drawn.x(crossing.distance_m)
        yield f'<line class="crossed" x1="{x:.1f}" x2="{x:.1f}" y1="38" y2="{_TOP + _PLOT:.0f}"/>'
        if crossing.their_depth_m is not None:
            depth_y = drawn.y(drawn.ground_at(crossing.distance_m) - crossing.their_depth_m)
            yield f'<circle class="crossed" cx="{x:.1f}" cy="{depth_y:.1f}" r="5"/>'
        yield f'<rect class="crossed" x="{x - 11:.1f}" y="22" width="22" height="20"/>'
        yield _text(x, 37, str(crossing.number))
        drawn.room(37, x, "000")


def _bends(drawn: _Profile) -> Iterator[str]:
    for bend in drawn.plan.works.bends:
        x = drawn.x(bend.distance_m)
        if bend.reach == drawn.reach.name and drawn.room(16, x, bend.name):
            yield _text(x, 16, bend.name)
            yield f'<line class="turned" x1="{x:.1f}" x2="{x:.1f}" y1="20" y2="{_TOP + _PLOT:.0f}"/>'


def _axis(drawn: _Profile) -> Iterator[str]:
    """Stations below, elevations (or depths) on the left, and the deepest cut where it is."""
    printer = Printer(drawn.plan.site.units)
    base = _TOP + _PLOT
    yield f'<line class="axis" x1="{_LEFT}" x2="{drawn.x(drawn.reach.length_m):.1f}" y1="{base}" y2="{base}"/>'
    for station in drawn.stations:
        if station.kind in ("start", "end", "interval"):
            x = drawn.x(station.distance_m)
            yield f'<line class="axis" x1="{x:.1f}" x2="{x:.1f}" y1="{base}" y2="{base + 6}"/>'
    last, plain = drawn.stations[-1], [each for each in drawn.stations if each.kind == "interval"]
    every = ceil(_STATION_PX / (drawn.x(plain[0].distance_m) - _LEFT)) if plain else 1
    for station in (last, drawn.stations[0], *plain[every - 1 :: every]):
        x, text = drawn.x(station.distance_m), printer.station(station.distance_m).removesuffix(".0")
        if drawn.room(base, x, text):
            yield _text(min(x, drawn.x(last.distance_m) - 8), base + 22, text)
    names = (drawn.high, drawn.low) if drawn.levelled else (0.0, drawn.low)
    for height in names:
        text = printer.number(height if drawn.levelled else -height)
        yield _text(_LEFT - 6, drawn.y(height) + 5, text, "height")
