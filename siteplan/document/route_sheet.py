"""The route sheet: what the operator takes to the machine, from finding the line to the last cut."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from siteplan.document.cautions import cautions, unconfirmed
from siteplan.document.drawing import (
    LEGEND_ROW_PT,
    PlanDrawing,
    draw_legend,
    key_shapes,
    legend_rows,
    tied_stations,
)
from siteplan.document.hazards import hazards
from siteplan.document.model import Plan
from siteplan.document.pages import SMALL_PT, TEXT_PT, WARNING_PT, Book, Flow, make_book, title_block
from siteplan.document.pdf import Stroke, shorten, text_width, wrap
from siteplan.document.profile import profile
from siteplan.document.route_tables import pull_table, station_tables, two_ties
from siteplan.document.rule_words import on_every_sheet
from siteplan.document.sheet import LETTER, Box, Paper, fit, scales
from siteplan.document.strip import NO_LEVELS, strip_pages
from siteplan.document.symbols import Look
from siteplan.document.table import Cell, Column, Row, Table
from siteplan.document.trench_section import sections
from siteplan.document.words import named, reach_title
from siteplan.measure.model import SpoilPile, Station
from siteplan.route.model import Reach
from siteplan.rules.clock import CONFIRM, day_words
from siteplan.units import Printer

_LEAST_KEY_PT = 250.0
_WORDS_PT = 11.0
_PAD_PT = 2.5
_TIES_PT, _TIES_HEAD_PT = 236.0, 18.0
"""Width of the ties where they stand beside the key plan, and height of the words over them."""


def route_sheet(plan: Plan, paper: Paper = LETTER) -> bytes:
    """Print the route sheet.

    Parameters
    ----------
    plan : Plan
    paper : Paper
        Upright; the tables turn it.

    Returns
    -------
    bytes
        A PDF: key plan, strips, profile and sections, tables. The same plan gives the same bytes.
    """

    def draw(book: Book) -> None:
        _first_page(book, plan)
        for reach in plan.layout.reaches:
            strip_pages(book, plan, reach)
        flow = Flow(book, "profile and sections" if plan.works.levelled else "sections")
        if not plan.works.levelled:
            flow.text(NO_LEVELS, size=WARNING_PT + 4, bold=True)
            flow.text("No levels were taken. Every cut is measured down from the ground at that station.")
        for reach in plan.layout.reaches:
            profile(flow, book.pen, plan, reach)
        pull_table(flow, plan)
        sections(flow, book.pen, plan)
        station_tables(book, plan)

    return make_book(plan, "ROUTE SHEET", paper, draw)


def _first_page(book: Book, plan: Plan) -> None:
    printer, rules = Printer(plan.site.units), plan.requirements
    flow = Flow(book, "find the line")
    title_block(flow, book)
    _ticket(flow, book, plan)
    warning = (
        f"CALL {rules.locate.call} AND WAIT. HAND DIG NEAR MARKS. LOOK UP. "
        f"NO ENTRY AT {printer.length(rules.trench.protection_depth_m.value)} OR DEEPER UNPROTECTED."
    )
    flow.text(warning, size=WARNING_PT - 1, bold=True)
    if said := on_every_sheet(plan):
        flow.text(" ".join(said), size=SMALL_PT)
    if not plan.works.levelled:
        flow.text(NO_LEVELS, size=WARNING_PT, bold=True)
    starts = [_start(plan, reach) for reach in plan.layout.reaches]
    hurts = hazards(plan)
    lines = sum(len(wrap(text, flow.width - 14, _WORDS_PT)) for text in (*starts, *hurts))
    needed = lines * 1.25 * _WORDS_PT + 3 * (len(starts) + len(hurts)) + 2 * 20 + 14
    tied = tied_stations(plan, [reach.name for reach in plan.layout.reaches])
    bends = [station for station in tied if station.kind == "bend"]
    beside = next((some for some in (tied, bends) if _fits_beside(plan, some, flow.room - needed)), [])
    others = [station for station in tied if station not in beside]
    used: list[Look] = []

    def key_plan(box: Box) -> None:
        wide = box.width - (_TIES_PT + 8 if beside else 0)
        used.extend(_key_plan(book, plan, replace(box, width=wide)))
        if beside:
            left = box.right - _TIES_PT
            book.pen.text(left, box.top - TEXT_PT, _ties_heading(plan), TEXT_PT, bold=True)
            _ties_beside(plan, beside).draw(book.pen, left, box.top - _TIES_HEAD_PT, range(len(beside)))

    flow.block(max(_LEAST_KEY_PT, flow.room - needed), key_plan)
    flow.heading("Start, end, spoil side looking up-station", below=60)
    flow.items(starts, size=_WORDS_PT)
    flow.heading("What can hurt", below=30)
    flow.items(hurts, size=_WORDS_PT)
    if others:
        flow.heading(_ties_heading(plan) + (": starts and ends" if beside else ""), below=60)
        flow.table(_ties(plan, others, flow.width, _WORDS_PT, "; "))
    flow.heading("Cautions", below=30)
    flow.items([str(caution) for caution in cautions(plan)], size=_WORDS_PT)
    rows = legend_rows(used, flow.width)
    flow.heading("Line types", below=len(rows) * LEGEND_ROW_PT)
    flow.block(len(rows) * LEGEND_ROW_PT, lambda box: draw_legend(book.pen, box, rows))
    flow.text(
        "Numbers along thin dotted lines on the key plan are tape distances to the corners named there.",
        size=SMALL_PT,
    )
    if plan.layout.certificate:
        flow.text(plan.layout.certificate, size=SMALL_PT)


def _ties_heading(plan: Plan) -> str:
    return f"Ties, tape held level, in {Printer(plan.site.units).unit}"


def _fits_beside(plan: Plan, stations: list[Station], room: float) -> bool:
    return bool(stations) and _ties_beside(plan, stations).height + _TIES_HEAD_PT <= room


def _ties_beside(plan: Plan, stations: list[Station]) -> Table:
    return _ties(plan, stations, _TIES_PT, SMALL_PT, "\n")


def _ties(plan: Plan, stations: list[Station], width: float, size: float, between: str) -> Table:
    """Table of the ties that find the line: start, bends and end of every reach."""
    printer = Printer(plan.site.units)
    columns = (Column("Find", 80), Column("Station", 46), Column("Ties", 110))
    rows = [
        Row(
            (
                Cell(station.what, size, bold=True),
                Cell(f"{station.reach} {printer.station(station.distance_m)}", size),
                Cell(between.join(tie for tie in two_ties(station, printer) if tie != "–"), size),
            )
        )
        for station in stations
    ]
    return Table(columns, rows, width, pad=_PAD_PT)


def _start(plan: Plan, reach: Reach) -> str:
    printer = Printer(plan.site.units)
    words = f"{reach_title(plan, reach)}: START at {printer.station(0.0)}, end at {printer.station(reach.length_m)}."
    for spoil in plan.works.spoil:
        if spoil.reach == reach.name:
            words += f" Spoil {spoil.side.upper()}, strip {printer.length(spoil.strip_m)}."
            words += "".join(_pile_elsewhere(spoil, printer))
            if plan.site.digging.machine_width_m:
                words += f" Machine needs {printer.length(plan.site.digging.machine_width_m)} beside it."
    for bored in reach.bored:
        stretch = f"{printer.station(bored.from_m)} to {printer.station(bored.to_m)}"
        words += f" BORE {stretch}, under {named(plan, bored.feature)}: do not open."
    return words


def _pile_elsewhere(spoil: SpoilPile, printer: Printer) -> Iterator[str]:
    """Stretches where the pile lies on the other side, or has no room."""
    for side, words in (
        ("left", "Spoil LEFT"),
        ("right", "Spoil RIGHT"),
        ("neither", "NO ROOM FOR SPOIL, haul it:"),
    ):
        stretches = [
            f"{printer.station(fit.from_m)} to {printer.station(fit.to_m)}"
            for fit in spoil.fits
            if fit.side == side != spoil.side
        ]
        if stretches:
            yield f" {words} {', '.join(stretches)}."


def _ticket(flow: Flow, book: Book, plan: Plan) -> None:
    """Place a row of blanks for the locate ticket, and the telephone number to call if something does not match."""
    phone, dates, rule = plan.site.paper.phone, plan.locate_dates, plan.requirements.clock
    start = expires = doubt = ""
    if dates and rule:
        doubt = unconfirmed(rule.citation)
        start = day_words(dates.start, year=False) if dates.start else "when all answer"
        expires = day_words(dates.expires, year=False) if dates.expires else ""
    values = (("TICKET NO.", ""), ("DIG FROM", start), ("EXPIRES", expires), ("PHONE", phone))
    blank = 0.22 * flow.width
    start_pt, expires_pt, phone_pt = (_ticket_width(*value, blank) for value in values[1:])
    phone_pt = min(phone_pt, blank)
    widths = (flow.width - start_pt - expires_pt - phone_pt, start_pt, expires_pt, phone_pt)

    def draw(box: Box) -> None:
        pen, x = book.pen, box.x
        pen.box(box, Stroke(1.2))
        for (label, value), width in zip(values, widths, strict=True):
            end = x + width
            after = x + 10 + text_width(label, SMALL_PT, bold=True)
            pen.text(x + 5, box.y + 8, label, SMALL_PT, bold=True)
            if value:
                pen.text(
                    after, box.y + 8, shorten(value, end - after - 4, TEXT_PT, bold=True), TEXT_PT, bold=True
                )
            else:
                pen.line([(after, box.y + 6), (end - 6, box.y + 6)], Stroke(0.8))
            x = end

    flow.block(24, draw)
    if dates:
        flow.text(
            f"Worked out from a call on {day_words(dates.call)}{doubt}. {dates.gate.capitalize()}. {CONFIRM}",
            size=SMALL_PT,
        )


def _ticket_width(label: str, value: str, blank: float) -> float:
    """Width of a label with its value; that of a blank to fill in without one."""
    needed = text_width(label, SMALL_PT, bold=True) + text_width(value, TEXT_PT, bold=True) + 20
    return needed if value else blank


def _key_plan(book: Book, plan: Plan, box: Box) -> list[Look]:
    reaches = plan.layout.reaches
    drawing = PlanDrawing(book.pen, plan, fit(key_shapes(plan), box, scales(plan.site.units), margin_pt=16))
    drawing.surroundings()
    drawing.hand_dig(reaches)
    corners = drawing.ties(reaches)
    drawing.trenches(reaches)
    drawing.bends(reaches)
    drawing.crossings(reaches)
    drawing.corners(corners)
    drawing.finish()
    return list(drawing.used.values())
