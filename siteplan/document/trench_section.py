"""Trench cross-sections to scale, looking up-station: every line in its place, with cover, cut, bedding and width."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from shapely import Polygon

from siteplan.document.cautions import unconfirmed
from siteplan.document.model import Plan
from siteplan.document.pages import SMALL_PT, WARNING_PT, Flow
from siteplan.document.pdf import HAIR, Pen, Stroke, shorten, text_width, wrap
from siteplan.document.sheet import Box, Scale, detail_scales, largest_scale
from siteplan.document.speech import Speech
from siteplan.document.words import named
from siteplan.measure.along import without
from siteplan.measure.model import LaidLine, Section
from siteplan.units import INCH_M, Printer

TAPE_OVER_M = 12 * INCH_M
"""Warning tape over the line [m]: NEC 300.5(D)(3), which asks it over service conductors; good practice over the others."""

_TAPE = Stroke(1.6, (5, 2.5))
_ACROSS = 2
_MOST_PT = 150.0
_AROUND_PT = 52.0
_SIDES_PT = 118.0
_LINE_PT = 12.0
_WALL = Stroke(1.8)
_GROUND = Stroke(1.0)


def sections(flow: Flow, pen: Pen, plan: Plan) -> None:
    """Place the drawings of all sections, each as large as fits: two beside each other, a sloped one alone."""
    rows: list[list[Section]] = []
    for section in plan.works.sections:
        alone = section.side_slope > 0
        if rows and not alone and len(rows[-1]) < _ACROSS and rows[-1][0].side_slope == 0:
            rows[-1].append(section)
        else:
            rows.append([section])
    placed = [_Row(plan, row, flow.width) for row in rows]
    flow.heading(plan.say("Sections, looking up-station"), below=placed[0].height if placed else 0.0)
    for row in placed:
        flow.block(row.height, partial(row.draw, pen))


class _Row:
    """One row of sections with their texts below."""

    def __init__(self, plan: Plan, row: Sequence[Section], width: float) -> None:
        self._plan = plan
        self._cell = width if row[0].side_slope > 0 else width / _ACROSS
        room = Box(0, 0, self._cell - _SIDES_PT, _MOST_PT)
        choices = detail_scales(plan.site.units)
        self._sections = [
            (
                one,
                largest_scale(choices, (one.top_width_m, one.cut_m), room),
                _texts(plan, one, self._cell - 16),
            )
            for one in row
        ]
        self._drawn = max(scale.points(one.cut_m) for one, scale, _ in self._sections) + _AROUND_PT
        self.height = self._drawn + max(len(lines) for _, _, lines in self._sections) * _LINE_PT + 6

    def draw(self, pen: Pen, box: Box) -> None:
        """Draw the row into a box of its height."""
        for n, (section, scale, lines) in enumerate(self._sections):
            place = Box(box.x + n * self._cell, box.top - self._drawn, self._cell - 8, self._drawn)
            _draw(pen, self._plan, section, scale, place)
            for down, line in enumerate(lines):
                pen.text(place.x, place.y - 12 - down * _LINE_PT, line, SMALL_PT)


def _letter(n: int) -> str:
    return chr(ord("a") + n)


def _texts(plan: Plan, section: Section, width: float) -> list[str]:
    printer, say = Printer(plan.site.units), plan.say
    texts = [
        say(
            "{letter}: {name}: cover {cover}; {asked}, {form}, {citation}",
            letter=_letter(n),
            name=named(plan, laid.line),
            cover=printer.short(laid.cover_m),
            asked=say("no number in the rules: ask")
            if laid.required.least_m is None
            else say("asked {depth}", depth=printer.short(laid.required.least_m)),
            form=laid.required.form,
            citation=laid.required.citation.text + unconfirmed(laid.required.citation, say),
        )
        for n, laid in enumerate(section.lines)
    ]
    water = [_letter(n) for n, laid in enumerate(section.lines) if carries_water(plan, laid)]
    if is_opened(plan, section):
        texts.append(say("Warning tape {over} over the upper line.", over=printer.short(TAPE_OVER_M)))
    if water:
        texts.append(say("Tracer wire along {lines}, both ends in reach.", lines=", ".join(water)))
    return [line for text in texts for line in wrap(text, width, SMALL_PT)]


def carries_water(plan: Plan, laid: LaidLine) -> bool:
    """Whether a line carries water."""
    return plan.site.line(laid.line).carries == "water"


def is_opened(plan: Plan, section: Section) -> bool:
    """Is a trench of this section dug anywhere, or is it bored wherever it holds."""
    return any(
        without([(from_m, to_m)], ((each.from_m, each.to_m) for each in plan.layout.reach(name).bored))
        for name, from_m, to_m, here in plan.works.stretches(plan.layout.reaches)
        if here.name == section.name
    )


def _draw(pen: Pen, plan: Plan, section: Section, scale: Scale, box: Box) -> None:
    printer = Printer(plan.site.units)
    middle, ground = box.x + box.width / 2, box.top - 24
    top_half = scale.points(section.top_width_m) / 2
    dug = is_opened(plan, section)
    surface = plan.say(section.surface)
    surface = surface if dug else plan.say("{surface}, BORED", surface=surface)
    title = plan.say(
        "SECTION {name}: {surface}, {scale}", name=section.name, surface=surface, scale=scale.text
    )
    pen.text(box.x, box.top - 11, shorten(title, box.width, 12, bold=True), 12, bold=True)
    if dug:
        _trench(pen, plan, section, scale, (middle, ground, box))
        _tape(pen, plan.say, section, scale, (middle, ground))
    else:
        pen.line([(box.x + 8, ground), (box.right - 8, ground)], _GROUND)
    _lines(pen, printer, section.lines, scale, (middle, ground, middle - top_half - 12))


def _tape(pen: Pen, say: Speech, section: Section, scale: Scale, at: tuple[float, float]) -> None:
    """Draw the warning tape where it lies, if the cover holds it."""
    middle, ground = at
    down_m = min(laid.cover_m for laid in section.lines) - TAPE_OVER_M
    if down_m <= 0:
        return
    half, y = scale.points(section.width_m) / 2 - 3, ground - scale.points(down_m)
    pen.line([(middle - half, y), (middle + half, y)], _TAPE)
    pen.text(middle, y + 3, say("tape"), SMALL_PT, align="centre")


def _trench(pen: Pen, plan: Plan, section: Section, scale: Scale, at: tuple[float, float, Box]) -> None:
    """Walls, bottom and bedding with their numbers."""
    printer, say = Printer(plan.site.units), plan.say
    middle, ground, box = at
    half, top_half = scale.points(section.width_m) / 2, scale.points(section.top_width_m) / 2
    bottom = ground - scale.points(section.cut_m)
    bedding = ground - scale.points(section.cut_m - section.bedding_m)
    pen.line([(box.x + 8, ground), (middle - top_half, ground)], _GROUND)
    pen.line([(middle + top_half, ground), (box.right - 8, ground)], _GROUND)
    for left in (-1, 1):
        pen.line([(middle + left * top_half, ground), (middle + left * half, bottom)], _WALL)
    pen.line([(middle - half, bottom), (middle + half, bottom)], _WALL)
    grown = half + scale.points(section.bedding_m) * section.side_slope
    area = Polygon(
        [
            (middle - half, bottom),
            (middle + half, bottom),
            (middle + grown, bedding),
            (middle - grown, bedding),
        ]
    )
    pen.hatch(area, Stroke(0.7, (1, 2)), spacing=4)
    pen.line([(middle - grown, bedding), (middle + grown, bedding)], HAIR)
    right = middle + top_half + 14
    _upright(
        pen,
        right + 8,
        ground,
        bottom,
        say("cut {cut}", cut=printer.length(section.cut_m)),
        WARNING_PT,
        bold=True,
    )
    if section.bedding_m > 0:
        pen.line([(middle + half, (bottom + bedding) / 2), (right, bottom - 10)], HAIR)
        words = say("bedding {depth}", depth=printer.short(section.bedding_m))
        pen.text(right + 2, bottom - 15, words, SMALL_PT)
    words = say("width {width}", width=printer.short(section.width_m))
    _flat(pen, middle - half, middle + half, bottom - 12, words, below=True)
    if section.side_slope > 0:
        words = say(
            "top {width}, slope {slope} to 1",
            width=printer.length(section.top_width_m),
            slope=f"{section.side_slope:g}",
        )
        pen.text(middle, ground + 6, words, SMALL_PT, align="centre")


def _lines(
    pen: Pen, printer: Printer, lines: Sequence[LaidLine], scale: Scale, at: tuple[float, float, float]
) -> None:
    middle, ground, left = at
    for n, laid in enumerate(lines):
        x = middle - scale.points(laid.offset_m)
        top = ground - scale.points(laid.cover_m)
        radius = max(scale.points(laid.outside_m) / 2, 2.4)
        pen.circle(x, top - radius, radius, Stroke(1.4))
        pen.text(x, top + 4, _letter(n), 12, bold=True, align="centre")
        column = left - 18 * n
        pen.line([(column - 4, top), (x - radius, top)], HAIR)
        words = f"{_letter(n)} {printer.short(laid.cover_m)}"
        _upright(pen, column, ground, top, words, SMALL_PT, down=n * _LINE_PT)


def _upright(
    pen: Pen,
    x: float,
    top: float,
    low: float,
    words: str,
    size: float,
    *,
    bold: bool = False,
    down: float = 0.0,
) -> None:
    """Dimension line from top to low, its words beside it: turned where they fit between, else level (``down`` lower)."""
    _arrowed(pen, (x, top), (x, low))
    middle = (top + low) / 2
    if text_width(words, size, bold=bold) <= top - low:
        pen.text(x + (size + 1 if bold else -3), middle, words, size, bold=bold, align="centre", turn_deg=90)
    elif bold:
        pen.text(x + 6, middle - size / 3, words, size, bold=True)
    else:
        pen.text(x - 6, middle - size / 3 - down, words, size, align="right")


def _flat(pen: Pen, left: float, right: float, y: float, words: str, *, below: bool) -> None:
    _arrowed(pen, (left, y), (right, y))
    pen.text((left + right) / 2, y - 12 if below else y + 3, words, SMALL_PT, align="centre")


def _arrowed(pen: Pen, start: tuple[float, float], end: tuple[float, float]) -> None:
    pen.arrow(start, end, HAIR, 5)
    pen.arrow(end, start, HAIR, 5)
