"""The plan drawing that all sheets share: what is there, the trenches, hand-dig bands, bends, crossings, measured lines."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import cos, radians, sin

import shapely
from shapely import LineString, Point
from shapely.geometry.base import BaseGeometry
from shapely.ops import substring

from siteplan.check.finding import Finding
from siteplan.document.hazards import hand_dig_stretches
from siteplan.document.labels import Labels
from siteplan.document.model import Plan
from siteplan.document.pdf import HAIR, THIN, Pen, Stroke, line_parts, shorten_within, text_width
from siteplan.document.scale_bar import bar_scale, north_arrow
from siteplan.document.sheet import Box, Viewport
from siteplan.document.speech import ENGLISH, Speech
from siteplan.document.symbols import (
    ALL_LOOKS,
    BORED,
    LETTERS,
    PROPERTY,
    TRENCH_POWER,
    TRENCH_WATER,
    Look,
    is_on_the_ground,
    letter,
    look,
)
from siteplan.document.words import coded, feature_name
from siteplan.measure.along import opened
from siteplan.measure.model import Station
from siteplan.route.model import Reach
from siteplan.site.features import Feature
from siteplan.units import Printer

NAME_PT = 9.0
_CORNER_NAME_PT = 150.0
_LETTER_STEP_PT = 95.0
_LEAST_BAND_PT = 9.0
_CASING_PT = 2.4
_TIE_PT = 10.0
_MOST_FULL_RATIO = 1200.0
"""Smaller than 1 in = 100 ft a drawing has no room for all names."""
_LEAST_TIED_RATIO, _MOST_TIED = 500.0, 7
_SYMBOL_WEIGHT, _SCALE_WEIGHT = 40.0, 120.0
_LEAST_NAMED_PT2 = 30.0
_FRAME = Stroke(1.0)
_TIE = Stroke(0.7, (2, 2.5))


class PlanDrawing:
    """One plan drawing in the making: draw the parts in order, then ``finish``.

    Parameters
    ----------
    pen : Pen
    plan : Plan
    view : Viewport
    sparse : bool
        Leave out names and words that would cover others: what is left out stands on another sheet.
    """

    def __init__(self, pen: Pen, plan: Plan, view: Viewport, *, sparse: bool = False) -> None:
        self.pen = pen
        self.plan = plan
        self.view = view
        self.labels = Labels(view.box)
        self.used: dict[str, Look] = {}
        self._sparse = sparse or view.scale.ratio > _MOST_FULL_RATIO
        self._rings: list[tuple[float, float, str]] = []
        self._printer = Printer(plan.site.units)

    def surroundings(self) -> None:
        """Draw what is on the ground, with names."""
        self.show(filter(is_on_the_ground, self.plan.site.features))

    def show(self, features: Iterable[Feature]) -> None:
        """Draw these things, with names."""
        for feature in features:
            self._feature(feature)

    def trenches(self, reaches: Sequence[Reach]) -> None:
        """Draw trench centrelines, heavy, with the letters of what lies in them; a bore as the outline of its casing."""
        for reach in reaches:
            carries = {self.plan.site.line(run.line).carries for run in reach.runs}
            self._bores(reach)
            shape = opened(reach.path, ((bored.from_m, bored.to_m) for bored in reach.bored))
            letters = "+".join(letter for word, letter in LETTERS.items() if word in carries)
            self.line(shape, TRENCH_WATER if "water" in carries else TRENCH_POWER, letters)

    def line(self, shape: BaseGeometry, drawn: Look, letters: str = "") -> None:
        """Draw a line to find, in its line type, with letters set into it."""
        self._use(drawn)
        on_page = self.view.on_page(shape)
        self.pen.lines(on_page, drawn.stroke)
        self.labels.keep_clear_along(on_page, 5.0, 4.0)
        self._letters(on_page, letters, 11.0)

    def _bores(self, reach: Reach) -> None:
        for bored in reach.bored:
            shape = self.view.on_page(substring(reach.path, bored.from_m, bored.to_m))
            if shape.is_empty:
                continue
            self._use(BORED)
            for aside in (_CASING_PT, -_CASING_PT):
                self.pen.lines(shapely.offset_curve(shape, aside), BORED.stroke)
            self.labels.keep_clear_along(shape, 5.0, 4.0)
            spot = shape.interpolate(0.5, normalized=True)
            self.labels.add((spot.x, spot.y), self.plan.say("BORE"), NAME_PT, bold=True)

    def hand_dig(self, reaches: Sequence[Reach], *, words_pt: float = NAME_PT) -> None:
        """Draw the hatched hand-dig bands, with the words."""
        names = {reach.name: reach for reach in reaches}
        tolerance_m = self.plan.requirements.locate.tolerance_m.value
        half_m = max(tolerance_m, _LEAST_BAND_PT / self.view.scale.points(1.0))
        for name, from_m, to_m in hand_dig_stretches(self.plan):
            if name not in names:
                continue
            reach = names[name]
            stretch = substring(reach.path, max(from_m, 0.0), min(to_m, reach.length_m))
            band = self.view.on_page(stretch.buffer(half_m, cap_style="flat"))
            if band.is_empty:
                continue
            self.pen.hatch(band, Stroke(0.8), spacing=4.0)
            self.pen.lines(band, THIN)
            self.labels.keep_clear_along(band, 3.0, 2.0)
            middle = band.representative_point()
            self.labels.add(
                (middle.x, middle.y), self.plan.say("HAND DIG"), words_pt, bold=True, optional=self._sparse
            )

    def crossings(self, reaches: Sequence[Reach]) -> None:
        """Draw the numbers of the crossings, ringed."""
        names = {reach.name for reach in reaches}
        for crossing in self.plan.works.crossings:
            if crossing.reach in names and self.view.shows(crossing.x, crossing.y):
                x, y = self.view.place(crossing.x, crossing.y)
                self._rings.append((x, y, str(crossing.number)))
                self.labels.keep_clear(Box(x - 8, y - 8, 16, 16), _SYMBOL_WEIGHT)

    def bends(self, reaches: Sequence[Reach]) -> None:
        """Draw the bends, named."""
        names = {reach.name for reach in reaches}
        for bend in self.plan.works.bends:
            if bend.reach in names and self.view.shows(bend.x, bend.y):
                at = self.view.place(bend.x, bend.y)
                self.pen.circle(*at, 3.4, _FRAME, fill="black")
                self.labels.keep_clear(Box(at[0] - 4, at[1] - 4, 8, 8), _SYMBOL_WEIGHT)
                self.labels.add(at, bend.name, 10, bold=True)

    def corners(self, names: Iterable[str]) -> None:
        """Draw the corners to tape from, numbered and named."""
        wanted = set(names)
        for corner in self.plan.works.corners:
            if corner.name in wanted and self.view.shows(corner.x, corner.y):
                x, y = self.view.place(corner.x, corner.y)
                self.pen.fill(Box(x - 3, y - 3, 6, 6), black=True)
                self.labels.keep_clear(Box(x - 4, y - 4, 8, 8), _SYMBOL_WEIGHT)
                word = shorten_within(coded(self.plan, corner.name), _CORNER_NAME_PT, NAME_PT, bold=True)
                self.labels.add((x, y), word, NAME_PT, bold=True)

    def ties(self, reaches: Sequence[Reach]) -> set[str]:
        """Draw the ties of starts, bends and ends with their distances; returns the corners they hang on.

        On a small drawing, or with many of them, they would hide it: then none is drawn.
        """
        corners = {corner.name: corner for corner in self.plan.works.corners}
        names = {reach.name for reach in reaches}
        used: set[str] = set()
        tied = tied_stations(self.plan, names)
        if self.view.scale.ratio > _LEAST_TIED_RATIO or len(tied) > _MOST_TIED:
            return {name for station in tied for name, _ in station.ties}
        for station in tied:
            for name, distance_m in station.ties:
                corner = corners[name]
                tie = self.view.on_page(LineString([(station.x, station.y), (corner.x, corner.y)]))
                if tie.is_empty:
                    continue
                used.add(name)
                self.pen.lines(tie, _TIE)
                number = self._printer.number(distance_m)
                if tie.length > 1.5 * text_width(number, _TIE_PT, bold=True):
                    self.labels.add_along(tie, number, _TIE_PT, bold=True)
                else:
                    spot = tie.interpolate(0.5, normalized=True)
                    self.labels.add((spot.x, spot.y), number, _TIE_PT, bold=True)
        return used

    def measured(self, findings: Iterable[Finding]) -> None:
        """Draw measured lines end to end, with the numbers of their findings in a box."""
        numbers: dict[tuple[tuple[float, float], ...], list[int]] = {}
        for finding in findings:
            if len(finding.points) == 2:
                numbers.setdefault(finding.points, []).append(finding.number)
        for points, found in numbers.items():
            line = self.view.on_page(LineString(points))
            if line.is_empty:
                continue
            self.pen.lines(line, Stroke(1.05))
            for x, y in (self.view.place(*point) for point in points):
                self.pen.circle(x, y, 2.0, THIN, fill="black")
            text = ", ".join(str(number) for number in found)
            if line.length > 30:
                self.labels.add_along(line, text, 10, bold=True, framed=True)
            else:
                spot = line.interpolate(0.5, normalized=True)
                self.labels.add((spot.x, spot.y), text, 10, bold=True, framed=True)

    def finish(self) -> None:
        """Draw north arrow, bar scale, the words and the frame."""
        drawn = [bar_scale(self.pen, self.view, self.plan)]
        if self.plan.frame.north_known:
            drawn.append(north_arrow(self.pen, self.view))
        for around in drawn:
            self.labels.keep_clear(around, _SCALE_WEIGHT)
        self.labels.draw(self.pen)
        for x, y, number in self._rings:
            self.pen.circle(x, y, 7.5, _FRAME)
            self.pen.text(x, y - 3.5, number, 10, bold=True, align="centre")
        self.pen.box(self.view.box, _FRAME)

    def _feature(self, feature: Feature) -> None:
        shape = self.view.on_page(feature.shape)
        if shape.is_empty:
            return
        if feature.shape.geom_type in ("Point", "MultiPoint"):
            for spot in shapely.get_parts(shape):
                self._point(feature, spot)
            return
        drawn, mark = look(feature), letter(feature)
        self._use(drawn)
        outline = self.view.outline(feature.shape)
        self.pen.lines(outline, drawn.stroke)
        area = feature.shape.geom_type in ("Polygon", "MultiPolygon")
        self.labels.keep_clear_along(outline, 2.0, 0.6)
        name = feature_name(feature, self.plan.say)
        if drawn is PROPERTY:
            if not outline.is_empty:
                spot = max(line_parts(outline), key=lambda part: part.length).interpolate(
                    0.3, normalized=True
                )
                self.labels.add(
                    (spot.x, spot.y),
                    self.plan.say("property line, {name}", name=name),
                    NAME_PT,
                    optional=self._sparse,
                )
        elif area:
            if shape.area < _LEAST_NAMED_PT2:
                return
            spot = shape.representative_point()
            lettered = f"{mark}  {name}" if mark else name
            self.labels.add((spot.x, spot.y), lettered, NAME_PT, centred=True, optional=self._sparse)
        else:
            self._letters(outline, mark, NAME_PT)
            spot = max(line_parts(outline), key=lambda part: part.length).interpolate(0.35, normalized=True)
            self.labels.add((spot.x, spot.y), name, NAME_PT, optional=self._sparse)

    def _point(self, feature: Feature, spot: Point) -> None:
        x, y, pen = spot.x, spot.y, self.pen
        if feature.kind == "well":
            pen.circle(x, y, 6, Stroke(1.6))
            pen.line([(x - 6, y), (x + 6, y)], THIN)
            pen.line([(x, y - 6), (x, y + 6)], THIN)
            pen.circle(x, y, 2, THIN, fill="black")
        elif feature.kind == "tree":
            pen.circle(x, y, 5, THIN)
            for turn in (0, 60, 120):
                dx, dy = 5 * cos(radians(turn)), 5 * sin(radians(turn))
                pen.line([(x - dx, y - dy), (x + dx, y + dy)], HAIR)
        else:
            mark = letter(feature)
            pen.circle(x, y, 8 if len(mark) > 1 else 5, THIN)
            pen.text(x, y - 3, mark, NAME_PT, align="centre")
        self.labels.keep_clear(Box(x - 6, y - 6, 12, 12), _SYMBOL_WEIGHT)
        name = feature_name(feature, self.plan.say)
        well = feature.kind == "well"
        self.labels.add((x, y), name, NAME_PT, bold=well, optional=self._sparse and not well)

    def _letters(self, page_line: BaseGeometry, letters: str, size: float) -> None:
        if not letters:
            return
        for part in line_parts(page_line):
            count = max(1, int(part.length / _LETTER_STEP_PT))
            for n in range(count):
                stretch = substring(part, n / count, (n + 1) / count, normalized=True)
                self.labels.add_along(stretch, letters, size, bold=True)

    def _use(self, drawn: Look) -> None:
        self.used.setdefault(drawn.legend, drawn)


def tied_stations(plan: Plan, reaches: Iterable[str]) -> list[Station]:
    """Starts, bends and ends of reaches, which the line is found by, as far as they have ties."""
    names = set(reaches)
    return [
        station
        for station in plan.works.stations
        if station.reach in names and station.kind in ("start", "bend", "end") and station.ties
    ]


LEGEND_ROW_PT = 13.0


def legend_rows(used: Iterable[Look], width: float) -> list[list[Look]]:
    """Line types in use, laid out in rows of so much width [points]."""
    looks = [drawn for drawn in ALL_LOOKS if drawn in set(used)]
    across = max(1, int(width / 178))
    return [looks[n : n + across] for n in range(0, len(looks), across)]


def looks_of(plan: Plan) -> list[Look]:
    """Line types of all that a drawing of the whole site shows; a point has a mark of its own."""
    carried = [{plan.site.line(run.line).carries for run in reach.runs} for reach in plan.layout.reaches]
    trenches = [TRENCH_WATER if "water" in carries else TRENCH_POWER for carries in carried]
    bored = [BORED] if any(reach.bored for reach in plan.layout.reaches) else []
    lines = [
        look(feature)
        for feature in plan.site.features
        if is_on_the_ground(feature) and feature.shape.geom_type not in ("Point", "MultiPoint")
    ]
    return [*trenches, *bored, *lines]


def draw_legend(pen: Pen, box: Box, rows: Sequence[Sequence[Look]], say: Speech = ENGLISH) -> None:
    """Draw line types with their words, from the top of a box."""
    across = max(len(row) for row in rows)
    for down, row in enumerate(rows):
        for column, drawn in enumerate(row):
            x, y = box.x + column * box.width / across, box.top - LEGEND_ROW_PT * (down + 1) + 4
            for aside in (_CASING_PT, -_CASING_PT) if drawn.double else (0.0,):
                pen.line([(x, y + 3 + aside), (x + 42, y + 3 + aside)], drawn.stroke)
            if drawn.letter:
                width = text_width(drawn.letter, NAME_PT, bold=True) + 3
                pen.fill(Box(x + 21 - width / 2, y - 1, width, 9))
                pen.text(x + 21, y, drawn.letter, NAME_PT, bold=True, align="centre")
            pen.text(x + 48, y, say(drawn.legend), NAME_PT)


def key_shapes(plan: Plan) -> list[BaseGeometry]:
    """What a key plan must show: the trenches, the well and the corners to tape from."""
    corners = [Point(corner.x, corner.y) for corner in plan.works.corners]
    return [reach.path for reach in plan.layout.reaches] + [plan.site.well.shape, *corners]
