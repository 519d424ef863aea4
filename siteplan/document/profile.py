"""The profile of one trench: ground, required cover and trench bottom over the stations, with what is crossed."""

from __future__ import annotations

from itertools import pairwise
from math import ceil, floor

from siteplan.document.model import Plan
from siteplan.document.pages import SMALL_PT, Flow
from siteplan.document.pdf import HAIR, Pen, Stroke, text_width
from siteplan.document.sheet import Box, Scale, largest_scale, scales
from siteplan.document.speech import Speech
from siteplan.measure.crossing import Crossing
from siteplan.measure.model import Section, Station
from siteplan.route.model import Reach
from siteplan.units import FOOT_M, Printer

_MOST_PT = 176.0
_LEFT_PT, _RIGHT_PT, _LOW_PT, _HIGH_PT = 62.0, 20.0, 54.0, 34.0
_EXAGGERATIONS = (40, 30, 20, 15, 10, 8, 6, 5, 4, 3, 2, 1)
_LABEL_PT = 9.0
_RING_PT = 16.0
_GROUND = Stroke(1.2)
_COVER = Stroke(1.0, (6, 4))
_BOTTOM = Stroke(2.6)

_Spot = tuple[float, float]


class _Axes:
    """Distance along and elevation to page points."""

    def __init__(self, box: Box, scale: Scale, times: int, low_m: float) -> None:
        self.box = box
        self.scale = scale
        self._across = scale.points(1.0)
        self._up = scale.points(1.0) * times
        self._low_m = low_m

    def place(self, along_m: float, elevation_m: float) -> _Spot:
        return self.box.x + along_m * self._across, self.box.y + (elevation_m - self._low_m) * self._up


def profile(flow: Flow, pen: Pen, plan: Plan, reach: Reach) -> None:
    """Place the profile of a reach; nothing if it has no levels."""
    stations = [station for station in plan.works.stations if station.reach == reach.name]
    levelled = [station for station in stations if station.grade_m is not None]
    if len(levelled) < 2:
        return
    ground, cover, bottom = _lines(plan, stations)
    levels = [spot[1] for line in (*ground, *cover, *bottom) for spot in line]
    step_m = _step_m(plan, max(levels) - min(levels))
    low_m, high_m = floor(min(levels) / step_m) * step_m, ceil(max(levels) / step_m) * step_m
    room = Box(0, 0, flow.width - _LEFT_PT - _RIGHT_PT, _MOST_PT)
    scale, times = _scales(plan, reach, high_m - low_m, room)
    height = scale.points(high_m - low_m) * times

    def draw(whole: Box) -> None:
        axes = _Axes(Box(whole.x + _LEFT_PT, whole.y + _LOW_PT, room.width, height), scale, times, low_m)
        _frame(pen, plan, reach, stations, axes, (low_m, high_m, step_m))
        words = plan.say(
            "Profile of {reach}: horizontal {scale}, vertical {times} times that. Elevations in {unit}.",
            reach=reach.name,
            scale=scale.text,
            times=str(times),
            unit=Printer(plan.site.units).unit,
        )
        pen.text(whole.x, whole.top - 12, words, SMALL_PT, bold=True)
        for lines, stroke in ((ground, _GROUND), (cover, _COVER), (bottom, _BOTTOM)):
            for line in lines:
                pen.line([axes.place(*spot) for spot in line], stroke)
        _cuts(pen, plan, reach, stations, axes)
        _bores(pen, plan, reach, axes, axes.place(0, high_m)[1])
        _crossings(pen, plan, reach, stations, axes, axes.place(0, high_m)[1])
        _key(pen, plan.say, whole.x + _LEFT_PT, whole.y + 3)

    tiers = max((tier for tier, _ in _ringed(plan, reach, scale)), default=0)
    flow.block(height + _LOW_PT + _HIGH_PT + tiers * _RING_PT, draw)


def _frame(
    pen: Pen,
    plan: Plan,
    reach: Reach,
    stations: list[Station],
    axes: _Axes,
    elevations: tuple[float, float, float],
) -> None:
    printer, box = Printer(plan.site.units), axes.box
    low_m, high_m, step_m = elevations
    high = axes.place(0, high_m)[1]
    right = axes.place(reach.length_m, 0)[0]
    for n in range(round((high_m - low_m) / step_m) + 1):
        level = low_m + n * step_m
        y = axes.place(0, level)[1]
        pen.line([(box.x, y), (right, y)], Stroke(0.5, (1, 3)))
        pen.text(box.x - 6, y - 3, printer.number(level), _LABEL_PT, align="right")
    after = -100.0
    for station in stations:
        x = axes.place(station.distance_m, 0)[0]
        if station.kind in ("interval", "start", "end"):
            pen.line([(x, box.y), (x, high)], Stroke(0.5, (1, 3)))
            if x - after > 12 or station.kind == "start":
                pen.text(
                    x + 3,
                    box.y - 5,
                    printer.station(station.distance_m),
                    _LABEL_PT,
                    align="right",
                    turn_deg=90,
                )
                after = x


def _cuts(pen: Pen, plan: Plan, reach: Reach, stations: list[Station], axes: _Axes) -> None:
    """Write the cut between ground and bottom, once for each stretch of one section that has room for it."""
    grades = _grades(stations)
    for _, from_m, to_m, section in plan.works.stretches([reach]):
        middle_m = (from_m + to_m) / 2
        grade = _between(grades, middle_m)
        words = plan.say("cut {cut}", cut=Printer(plan.site.units).length(section.cut_m))
        wide = text_width(words, _LABEL_PT, bold=True) + 4
        room = axes.place(to_m, 0)[0] - axes.place(from_m, 0)[0]
        bored = any(each.from_m <= middle_m <= each.to_m for each in reach.bored)
        if grade is None or bored:
            continue
        x, y = axes.place(middle_m, grade - section.cut_m / 2)
        if room < wide or axes.place(0, grade)[1] - y < _LABEL_PT:
            continue
        pen.fill(Box(x - wide / 2, y - 3, wide, _LABEL_PT + 2))
        pen.text(x, y, words, _LABEL_PT, bold=True, align="centre")


def _bores(pen: Pen, plan: Plan, reach: Reach, axes: _Axes, high: float) -> None:
    """Draw the two ends of each bore, and the word between them."""
    for bored in reach.bored:
        left, right = (axes.place(at_m, 0)[0] for at_m in (bored.from_m, bored.to_m))
        for x in (left, right):
            pen.line([(x, axes.box.y), (x, high)], Stroke(1.0, (5, 2.5)))
        pen.text((left + right) / 2, axes.box.y + 4, plan.say("BORE"), _LABEL_PT, bold=True, align="centre")


def _key(pen: Pen, say: Speech, x: float, y: float) -> None:
    for stroke, words in (
        (_GROUND, say("ground")),
        (_COVER, say("cover required")),
        (_BOTTOM, say("trench bottom")),
    ):
        pen.line([(x, y + 3), (x + 34, y + 3)], stroke)
        pen.text(x + 40, y, words, _LABEL_PT)
        x += 130


def _lines(
    plan: Plan, stations: list[Station]
) -> tuple[list[list[_Spot]], list[list[_Spot]], list[list[_Spot]]]:
    """Ground, required cover and bottom as lines of (along, elevation); broken where there are no levels."""
    ground: list[list[_Spot]] = [[]]
    cover: list[list[_Spot]] = [[]]
    bottom: list[list[_Spot]] = [[]]
    section: Section | None = None
    for station in stations:
        begins = plan.works.section(station.section) if station.section else section
        if station.grade_m is None:
            for lines in (ground, cover, bottom):
                lines.append([])
            section = begins
            continue
        along, grade = station.distance_m, station.grade_m
        ground[-1].append((along, grade))
        for before in (section, begins) if section is not begins else (begins,):
            if before is not None:
                bottom[-1].append((along, grade - before.cut_m))
                if before.governed_by.least_m is not None:
                    cover[-1].append((along, grade - before.governed_by.least_m))
        section = begins
    return ground, cover, bottom


def _crossings(pen: Pen, plan: Plan, reach: Reach, stations: list[Station], axes: _Axes, high: float) -> None:
    """Draw where their lines are, ringed numbers over the profile, and what is clear where there is room to say it."""
    printer, grades = Printer(plan.site.units), _grades(stations)
    ringed = _ringed(plan, reach, axes.scale)
    for n, (tier, crossing) in enumerate(ringed):
        grade = _between(grades, crossing.distance_m)
        if grade is None:
            continue
        depth = crossing.their_depth_m
        x, y = axes.place(crossing.distance_m, grade - (depth or 0.0))
        above = high + tier * _RING_PT
        pen.line([(x, axes.box.y), (x, above)], Stroke(0.8, (1.5, 2.5)))
        if depth is None:
            words = plan.say("depth unknown")
        else:
            pen.circle(x, y, 3.5, _GROUND)
            clear_m = crossing.clear_m
            words = "" if clear_m is None else plan.say("{distance} clear", distance=printer.short(clear_m))
        after = [axes.place(other.distance_m, 0)[0] for _, other in ringed[n + 1 :]]
        room = min(after, default=axes.box.right + _RIGHT_PT + 8) - 8 - (x + 10)
        if text_width(words, _LABEL_PT) <= room:
            pen.text(x + 10, above + 4, words, _LABEL_PT)
        pen.circle(x, above + 7, 7.5, HAIR)
        pen.text(x, above + 3.5, str(crossing.number), SMALL_PT, bold=True, align="centre")


def _ringed(plan: Plan, reach: Reach, scale: Scale) -> list[tuple[int, Crossing]]:
    """Crossings of a reach along it, each on the lowest tier over the profile on which no ring lies on another."""
    ends: list[float] = []
    found = []
    for crossing in sorted(plan.works.crossings, key=lambda one: one.distance_m):
        if crossing.reach == reach.name:
            x = scale.points(crossing.distance_m)
            tier = next((tier for tier, end in enumerate(ends) if end <= x), len(ends))
            ends[tier : tier + 1] = [x + _RING_PT]
            found.append((tier, crossing))
    return found


def _grades(stations: list[Station]) -> list[_Spot]:
    return [(station.distance_m, station.grade_m) for station in stations if station.grade_m is not None]


def _between(grades: list[tuple[float, float]], along_m: float) -> float | None:
    for (start, low), (end, high) in pairwise(grades):
        if start <= along_m <= end:
            return low if end == start else low + (high - low) * (along_m - start) / (end - start)
    return None


def _step_m(plan: Plan, range_m: float) -> float:
    unit_m = FOOT_M if Printer(plan.site.units).unit == "ft" else 0.5
    return next(unit_m * step for step in (1, 2, 5, 10, 20, 50, 100, 1000) if range_m / (unit_m * step) <= 9)


def _scales(plan: Plan, reach: Reach, range_m: float, box: Box) -> tuple[Scale, int]:
    scale = largest_scale(scales(plan.site.units), (reach.length_m, 0.0), box)
    for times in _EXAGGERATIONS:
        if scale.points(range_m) * times <= box.height:
            return scale, times
    return largest_scale(scales(plan.site.units), (reach.length_m, range_m), box), 1
