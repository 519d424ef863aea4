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
from siteplan.document.hazards import hazards, span
from siteplan.document.model import Plan
from siteplan.document.pages import SMALL_PT, TEXT_PT, WARNING_PT, Book, Flow, make_book, title_block
from siteplan.document.pdf import Stroke, shorten, text_width, wrap
from siteplan.document.profile import profile
from siteplan.document.route_tables import pull_table, station_tables, two_ties
from siteplan.document.rule_words import on_every_sheet
from siteplan.document.sheet import LETTER, Box, Paper, fit, scales
from siteplan.document.speech import Speech, word
from siteplan.document.strip import NO_LEVELS, strip_pages
from siteplan.document.symbols import Look
from siteplan.document.table import Cell, Column, Row, Table
from siteplan.document.trench_section import sections
from siteplan.document.words import named, reach_title
from siteplan.measure.model import SpoilPile, Station
from siteplan.measure.way_in import way_in
from siteplan.route.model import Reach
from siteplan.rules.clock import CONFIRM
from siteplan.units import Printer

_LEAST_KEY_PT = 250.0
_WORDS_PT = 11.0
_MOST_PHONE = 0.3
"""Most of the row of the ticket that the telephone number may take."""

_PAD_PT = 1.5
_FIND_PT, _STATION_PT, _TIE_PT, _TIES_HEAD_PT = 62.0, 52.0, (90.0, 150.0), 18.0
"""Widths of the columns of the ties where they stand beside the key plan, and height of the words over them."""


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
        say = plan.say
        flow = Flow(book, say("profile and sections") if plan.works.levelled else say("sections"))
        if not plan.works.levelled:
            flow.text(say(NO_LEVELS), size=WARNING_PT + 4, bold=True)
            flow.text(
                say("No levels were taken. Every cut is measured down from the ground at that station.")
            )
        for reach in plan.layout.reaches:
            profile(flow, book.pen, plan, reach)
        pull_table(flow, plan)
        sections(flow, book.pen, plan)
        station_tables(book, plan)

    return make_book(plan, plan.say("ROUTE SHEET"), paper, draw)


def _first_page(book: Book, plan: Plan) -> None:
    printer, rules, say = Printer(plan.site.units), plan.requirements, plan.say
    flow = Flow(book, say("find the line"))
    title_block(flow, book, without=("Site", "Phone"))
    _ticket(flow, book, plan)
    warning = say(
        "CALL {number} AND WAIT. HAND DIG NEAR MARKS. LOOK UP. NO ENTRY AT {depth} OR DEEPER UNPROTECTED.",
        number=rules.locate.call,
        depth=printer.length(rules.trench.protection_depth_m.value),
    )
    flow.text(warning, size=WARNING_PT - 1, bold=True)
    if said := on_every_sheet(plan):
        flow.text(" ".join(said), size=SMALL_PT)
    if not plan.works.levelled:
        flow.text(say(NO_LEVELS), size=WARNING_PT, bold=True)
    starts = [_way_in(plan), *(_start(plan, reach) for reach in plan.layout.reaches)]
    hurts = hazards(plan)
    lines = sum(len(wrap(text, flow.width - 14, _WORDS_PT)) for text in (*starts, *hurts))
    needed = lines * 1.25 * _WORDS_PT + 3 * (len(starts) + len(hurts)) + 2 * 20 + 14
    tied = tied_stations(plan, [reach.name for reach in plan.layout.reaches])
    starting = [station for station in tied if station.kind != "end"]
    bends = [station for station in tied if station.kind == "bend"]
    choices = (tied, starting, bends)
    beside = next((some for some in choices if _fits_beside(plan, some, flow.room - needed)), [])
    others = [station for station in tied if station not in beside]
    used: list[Look] = []

    def key_plan(box: Box) -> None:
        table = _ties_beside(plan, beside)
        wide = box.width - (table.width + 8 if beside else 0)
        used.extend(_key_plan(book, plan, replace(box, width=wide)))
        if beside:
            left = box.right - table.width
            book.pen.text(left, box.top - TEXT_PT, _ties_heading(plan), TEXT_PT, bold=True)
            table.draw(book.pen, left, box.top - _TIES_HEAD_PT, range(len(beside)))

    flow.block(max(_LEAST_KEY_PT, flow.room - needed), key_plan)
    flow.heading(say("Start, end, spoil side looking up-station"), below=60)
    flow.items(starts, size=_WORDS_PT)
    flow.heading(say("What can hurt"), below=30)
    flow.items(hurts, size=_WORDS_PT)
    if others:
        flow.heading(_ties_heading(plan), below=60)
        flow.table(_ties(plan, others, flow.width, _WORDS_PT, "; "))
    flow.heading(say("Cautions"), below=30)
    flow.items([str(caution) for caution in cautions(plan)], size=_WORDS_PT)
    if say.language != "en":
        _for_the_foreman(flow, plan)
    rows = legend_rows(used, flow.width)
    flow.heading(say("Line types"), below=len(rows) * LEGEND_ROW_PT)
    flow.block(len(rows) * LEGEND_ROW_PT, lambda box: draw_legend(book.pen, box, rows, say))
    flow.text(
        say(
            "C1, C2: corners to tape from, by the same numbers on the key plan, in the tables and on the tie list."
            " Numbers along thin dotted lines are tape distances."
        ),
        size=SMALL_PT,
    )


def _for_the_foreman(flow: Flow, plan: Plan) -> None:
    """Say that the cautions of a translated sheet are to be read by somebody who knows both languages, and the trade words."""
    say, example_m = plan.say, 41.0
    station, length = Printer(plan.site.units).station(example_m), Printer(plan.site.units).length(example_m)
    flow.text(
        say(
            "Have a bilingual foreman or safety trainer read the cautions and warnings of this translated sheet before it"
            " is used."
        ),
        bold=True,
    )
    flow.text(
        say(
            "Key to the trade words: station {station} is {length} along the trench.",
            station=station,
            length=length,
        )
    )


def _way_in(plan: Plan) -> str:
    """Say where the machine comes in; where nobody stated it, the drive that meets the property line, as a question."""
    say, stated = plan.say, plan.site.digging.way_in
    if not stated and (found := way_in(plan.site)):
        drive = named(plan, found[0])
        return say("Machine way in and out: by {drive}? Agree on it: {blank}", drive=drive, blank="_" * 30)
    return say("Machine way in and out: {words}.", words=stated or "_" * 40)


def _ties_heading(plan: Plan) -> str:
    return plan.say("Ties, tape held level, in {unit}", unit=Printer(plan.site.units).unit)


def _fits_beside(plan: Plan, stations: list[Station], room: float) -> bool:
    return bool(stations) and _ties_beside(plan, stations).height + _TIES_HEAD_PT <= room


def _ties_beside(plan: Plan, stations: list[Station]) -> Table:
    ties = (tie for station in stations for tie in two_ties(plan, station))
    least, most = _TIE_PT
    tie = min(max(text_width(tie, SMALL_PT) + 8 for tie in (*ties, "")), most)
    columns = _find_pt(plan, stations) + _STATION_PT + max(tie, least)
    heading = text_width(_ties_heading(plan), TEXT_PT, bold=True)
    return _ties(plan, stations, max(columns, heading), SMALL_PT, "\n")


def _find_pt(plan: Plan, stations: list[Station]) -> float:
    """Width of the first column: its longest word is not broken."""
    parts = [part for station in stations for part in _find(plan, station).split()]
    widths = [text_width(part, SMALL_PT, bold=True) + 7 for part in parts]
    return min(max([_FIND_PT, *widths]), 2 * _FIND_PT)


def _ties(plan: Plan, stations: list[Station], width: float, size: float, between: str) -> Table:
    """Table of the ties that find the line: start, bends and end of every reach."""
    printer, say = Printer(plan.site.units), plan.say
    find, station = (
        (_find_pt(plan, stations), _STATION_PT) if between == "\n" else (0.34 * width, 0.2 * width)
    )
    columns = (
        Column(say("Find"), find),
        Column(say("Station"), station),
        Column(say("Ties"), width - find - station),
    )
    rows = [
        Row(
            (
                Cell(_find(plan, station), size, bold=True),
                Cell(f"{station.reach} {printer.station(station.distance_m)}", size),
                Cell(between.join(tie for tie in two_ties(plan, station) if tie != "–"), size),
            )
        )
        for station in stations
    ]
    return Table(columns, rows, width, pad=_PAD_PT)


def _find(plan: Plan, station: Station) -> str:
    """What to look for: "bend B1", or the first words of the station."""
    here = (station.reach, round(station.distance_m, 3))
    for bend in plan.works.bends:
        if station.kind == "bend" and (bend.reach, round(bend.distance_m, 3)) == here:
            return plan.say("bend {name}", name=bend.name)
    return plan.say.first(station.what)


def _start(plan: Plan, reach: Reach) -> str:
    printer, say = Printer(plan.site.units), plan.say
    words = [
        say(
            "{title}: START at {start}, end at {end}.",
            title=reach_title(plan, reach),
            start=printer.station(0.0),
            end=printer.station(reach.length_m),
        )
    ]
    for spoil in plan.works.spoil:
        if spoil.reach == reach.name:
            strip = printer.length(spoil.strip_m)
            words.append(
                say(
                    "Spoil LEFT, strip {strip}." if spoil.side == "left" else "Spoil RIGHT, strip {strip}.",
                    strip=strip,
                )
            )
            words += _pile_elsewhere(spoil, printer, say)
            if plan.site.digging.machine_width_m:
                width = printer.length(plan.site.digging.machine_width_m)
                words.append(say("Machine needs {width} beside it.", width=width))
    for bored in reach.bored:
        stretch = span(printer, bored.from_m, bored.to_m, say)
        name = named(plan, bored.feature)
        words.append(say("BORE {stretch}, under {name}: do not open.", stretch=stretch, name=name))
    return " ".join(words)


_PILE = {
    "left": word("Spoil LEFT {stretches}."),
    "right": word("Spoil RIGHT {stretches}."),
    "neither": word("NO ROOM FOR SPOIL, haul it: {stretches}."),
}


def _pile_elsewhere(spoil: SpoilPile, printer: Printer, say: Speech) -> Iterator[str]:
    """Stretches where the pile lies on the other side, or has no room."""
    for side, words in _PILE.items():
        stretches = [
            span(printer, fit.from_m, fit.to_m, say) for fit in spoil.fits if fit.side == side != spoil.side
        ]
        if stretches:
            yield say(words, stretches=", ".join(stretches))


def _ticket(flow: Flow, book: Book, plan: Plan) -> None:
    """Place a row of blanks for the locate ticket, and the telephone number to call if something does not match."""
    phone, dates, rule = plan.site.paper.phone, plan.locate_dates, plan.requirements.clock
    say = plan.say
    start = expires = doubt = ""
    if dates and rule:
        doubt = unconfirmed(rule.citation, say)
        start = say.day(dates.start, year=False) if dates.start else say("when all answer")
        expires = say.day(dates.expires, year=False) if dates.expires else ""
    values = (
        (say("TICKET NO."), ""),
        (say("DIG FROM"), start),
        (say("EXPIRES"), expires),
        (say("PHONE"), phone),
    )
    blank = 0.22 * flow.width
    start_pt, expires_pt, phone_pt = (_ticket_width(*value, blank) for value in values[1:])
    phone_pt = min(phone_pt, _MOST_PHONE * flow.width)
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
        words = say("Worked out from a call on {day}{doubt}.", day=say.day(dates.call), doubt=doubt)
        gate = say(dates.gate)
        flow.text(f"{words} {gate[:1].upper()}{gate[1:]}. {say(CONFIRM)}", size=SMALL_PT)


def _ticket_width(label: str, value: str, blank: float) -> float:
    """Width of a label with its value; that of a blank to fill in without one."""
    needed = text_width(label, SMALL_PT, bold=True) + text_width(value, TEXT_PT, bold=True) + 20
    return needed if value else blank


def _key_plan(book: Book, plan: Plan, box: Box) -> list[Look]:
    reaches = plan.layout.reaches
    view = fit(key_shapes(plan), box, scales(plan.site.units), margin_pt=16)
    drawing = PlanDrawing(book.pen, plan, view, sparse=True)
    drawing.surroundings()
    drawing.hand_dig(reaches)
    corners = drawing.ties(reaches)
    drawing.trenches(reaches)
    drawing.bends(reaches)
    drawing.crossings(reaches)
    drawing.corners(corners)
    drawing.finish()
    return list(drawing.used.values())
