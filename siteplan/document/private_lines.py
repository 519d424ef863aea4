"""The page of private lines: what the one-call centre does not mark, for the owner to answer line by line and to initial."""

from __future__ import annotations

from dataclasses import dataclass

import shapely
from shapely import LineString
from shapely.geometry.base import BaseGeometry

from siteplan.document.drawing import LEGEND_ROW_PT, PlanDrawing, draw_legend, legend_rows
from siteplan.document.model import Plan
from siteplan.document.pages import SMALL_PT, Book, Flow
from siteplan.document.pdf import THIN, Stroke, line_parts
from siteplan.document.sheet import Box, fit, scales
from siteplan.document.symbols import BORED, TRENCH_POWER, TRENCH_WATER, Look, is_on_the_ground, look
from siteplan.document.table import Cell, Column, Row, Table
from siteplan.document.words import feature_name, named
from siteplan.measure.suspected import HALF_BAND_M, suspected_lines
from siteplan.site.features import Feature
from siteplan.site.marks import MARKED
from siteplan.units import Printer

HEADING = "Private lines: the one-call centre does not mark these"
_PRIVATE_KINDS = ("building_sewer", "effluent_line")
_OTHERS = (
    "Old pump cable or water line",
    "Propane or fuel line",
    "Septic line, footing drain, drain tile",
    "Line to an outbuilding, gate or hot tub",
    "Irrigation, dog fence, yard lighting",
)
_LEAST_SKETCH_PT, _MOST_SKETCH_PT = 220.0, 420.0
_GAPS_PT = 24.0
_BOX = "[ ]"
_PAD_PT = 2.0


@dataclass(frozen=True, slots=True)
class PrivateLine:
    """A row of the page: its number, its words, whether somebody drew it, and where it is (``None``: nobody knows)."""

    number: str
    words: str
    drawn: bool
    shape: BaseGeometry | None


def private_lines(plan: Plan) -> tuple[PrivateLine, ...]:
    """List the private lines that are drawn, those that are to be suspected, and what is to be asked in any case."""
    drawn = [
        (f"{feature_name(each)} ({'marked' if _is_marked(each) else 'drawn'})", True, each.shape)
        for each in plan.site.features
        if is_private(each)
    ]
    guessed = []
    for line in suspected_lines(plan.site, plan.layout):
        station = Printer(plan.site.units).station(line.at_m)
        near = f", near trench {line.reach} {station}" if line.reach else ""
        ends = f"{named(plan, line.start)} to {named(plan, line.end)}"
        guessed.append((f"Suspected: {line.what}, {ends}{near}", False, line.path))
    asked = [(words, False, None) for words in _OTHERS]
    return tuple(
        PrivateLine(f"P{number}", *row) for number, row in enumerate([*drawn, *guessed, *asked], start=1)
    )


def is_private(feature: Feature) -> bool:
    """Is it a line in the ground that no member of the one-call centre marks, as far as is stated."""
    if feature.status == "proposed":
        return False
    return feature.kind in _PRIVATE_KINDS or (
        feature.kind == "buried_line" and feature.facts.get("private") is not False
    )


def not_located(plan: Plan) -> tuple[Feature, ...]:
    """Return the private lines whose place nobody marked on the ground."""
    return tuple(each for each in plan.site.features if is_private(each) and not _is_marked(each))


def _is_marked(feature: Feature) -> bool:
    return feature.evidence.method == MARKED


def private_page(book: Book, plan: Plan) -> Flow:
    """Begin a page for the owner and set the lines, the boxes and the sketch on it."""
    flow = Flow(book, "private lines: for the owner")
    lines = private_lines(plan)
    flow.heading(HEADING)
    flow.text(
        "They are yours, and whoever digs does not know where they are. One cross in each row, and your initials."
        " What nobody knows, a private locator can find before the dig; what is not found is found by the bucket.",
        size=SMALL_PT,
    )
    flow.table(_table(lines, flow.width))
    flow.text(f"Owner {'_' * 34}   date {'_' * 16}   private locator, phone {'_' * 26}", size=SMALL_PT)
    placed = [line for line in lines if line.shape is not None]
    if placed:
        _sketch(flow, book, plan, placed)
    return flow


def _table(lines: tuple[PrivateLine, ...], width: float) -> Table:
    columns = (
        Column("", 26),
        Column("Private line", 238),
        Column("Known, as drawn", 54, "centre"),
        Column("None here", 44, "centre"),
        Column("Not known", 48, "centre"),
        Column("Will hire a locator", 58, "centre"),
        Column("Owner's initials", 72),
    )
    rows = [
        Row(
            (
                Cell(line.number, bold=True),
                line.words,
                _BOX if line.shape is not None else "",
                _BOX,
                _BOX,
                _BOX,
                "",
            ),
            least_height=18,
        )
        for line in lines
    ]
    return Table(columns, rows, width, pad=_PAD_PT)


def legend_room(plan: Plan, width: float) -> float:
    """Height [points] that the legend under a drawing of everything may take, with its gaps."""
    looks = {look(each) for each in plan.site.features if is_on_the_ground(each)}
    return LEGEND_ROW_PT * len(legend_rows({*looks, TRENCH_WATER, TRENCH_POWER, BORED}, width)) + _GAPS_PT


def _sketch(flow: Flow, book: Book, plan: Plan, lines: list[PrivateLine]) -> None:
    used: list[Look] = []
    shapes = [line.shape for line in lines if line.shape is not None]
    shown = [*shapes, *(reach.path for reach in plan.layout.reaches)]

    def draw(box: Box) -> None:
        view = fit(shown, box, scales(plan.site.units), margin_pt=24)
        drawing = PlanDrawing(book.pen, plan, view)
        drawing.surroundings()
        drawing.trenches(plan.layout.reaches)
        for line in lines:
            _number(drawing, line)
        if book.total:  # words are placed once, not while the sheets are counted
            drawing.finish()
        used.extend(drawing.used.values())

    side = Printer(plan.site.units).length(HALF_BAND_M)
    guessed = any(not line.drawn for line in lines)
    band = (
        f" Hatched: suspected, {side} each side of a straight line, a guess: dig by hand there."
        if guessed
        else ""
    )
    below_pt = legend_room(plan, flow.width)
    flow.keep(_LEAST_SKETCH_PT + 40 + below_pt)
    flow.text(f"Where they are drawn.{band} A drawn line may lie elsewhere too.", size=SMALL_PT)
    flow.block(max(_LEAST_SKETCH_PT, min(flow.room - below_pt, _MOST_SKETCH_PT)), draw)
    rows = legend_rows(used, flow.width)
    flow.block(len(rows) * LEGEND_ROW_PT, lambda box: draw_legend(book.pen, box, rows))


def _number(drawing: PlanDrawing, line: PrivateLine) -> None:
    assert line.shape is not None
    if not line.drawn:
        band = drawing.view.on_page(line.shape.buffer(HALF_BAND_M))
        drawing.pen.hatch(band, Stroke(0.5), spacing=6.0)
        drawing.pen.lines(band, THIN)
    parts = [part for part in line_parts(drawing.view.on_page(line.shape)) if isinstance(part, LineString)]
    if parts:
        spot = shapely.line_interpolate_point(max(parts, key=lambda part: part.length), 0.5, normalized=True)
        drawing.labels.add((spot.x, spot.y), line.number, SMALL_PT, bold=True, framed=True)
