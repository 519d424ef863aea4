"""The locate request: the answers in the order in which the call taker asks, as a sheet and as plain text."""

from __future__ import annotations

from math import ceil

import shapely
from shapely.ops import substring

from siteplan.document.cautions import cautions
from siteplan.document.dig_area import STRIP_M, corners, corners_on_earth, dig_area
from siteplan.document.drawing import LEGEND_ROW_PT, NAME_PT, PlanDrawing, draw_legend, legend_rows
from siteplan.document.locate_answers import BLANK, answers, dates
from siteplan.document.model import Plan
from siteplan.document.pages import SMALL_PT, WARNING_PT, Book, Flow, make_book, title_block
from siteplan.document.pdf import Stroke
from siteplan.document.private_lines import is_private, legend_room, private_lines, private_page
from siteplan.document.rule_words import on_every_sheet
from siteplan.document.sheet import LETTER, Box, Paper, fit, scales
from siteplan.document.symbols import Look
from siteplan.document.table import Cell, Column, Row, Table
from siteplan.document.words import feature_name
from siteplan.measure.white_marks import DASH_M, DASH_WIDTH_M, MOST_SPACING_M, WhiteMarks, white_marks
from siteplan.route.model import Reach
from siteplan.site.features import Feature
from siteplan.site.marks import MARKED
from siteplan.units import Printer

_LEAST_PLAN_PT, _MOST_PLAN_PT = 280.0, 480.0
_PAD_PT = 2.5
_HALF_DASH_PT = 3.0
_CORNERS_ACROSS = 3
_BLANK_ROWS = 8 * (("", "", "", "", ""),)


def locate_request(plan: Plan, paper: Paper = LETTER) -> bytes:
    """Print the locate request.

    Parameters
    ----------
    plan : Plan
    paper : Paper
        Upright.

    Returns
    -------
    bytes
        A PDF. The same plan gives the same bytes.
    """

    def draw(book: Book) -> None:
        flow = Flow(book)
        title_block(flow, book)
        flow.text("DO NOT DIG UNTIL EVERY OWNER HAS ANSWERED.", size=WARNING_PT, bold=True)
        if said := on_every_sheet(plan):
            flow.text(" ".join(said), size=SMALL_PT)
        _answers_table(flow, plan)
        _white_marks(flow, book, plan)
        private_page(book, plan)
        flow = Flow(book, "answers")
        _response_log(flow, plan)
        flow.heading("Cautions", below=30)
        flow.columns([str(caution) for caution in cautions(plan)])

    return make_book(plan, "LOCATE REQUEST", paper, draw)


def locate_request_text(plan: Plan) -> str:
    """Return the locate request as plain text, to be read over the telephone or pasted into a form.

    Returns
    -------
    str
        Lines ``question: answer``, then the corners of the dig area; ends with a line feed.
    """
    lines = [f"LOCATE REQUEST: {' '.join(plan.site.name.split())}", ""]
    lines += [f"{question}: {' '.join(answer.split())}" for question, answer in answers(plan)]
    lines += ["", _how_to_mark(plan)]
    spots = corners_on_earth(plan)
    if spots:
        lines += ["", "Corners of the dig area, latitude, longitude (WGS 84):"]
        lines += [f"{n}. {latitude:.6f}, {longitude:.6f}" for n, (latitude, longitude) in enumerate(spots, 1)]
    lines += ["", "Private lines to ask the owner about:"]
    lines += [f"{line.number}. {' '.join(line.words.split())}" for line in private_lines(plan)]
    lines += [
        "",
        *on_every_sheet(plan),
        *(str(caution) for caution in cautions(plan) if caution.id in ("locate", "private", "decides")),
    ]
    return "\n".join(lines) + "\n"


def _answers_table(flow: Flow, plan: Plan) -> None:
    rows = [
        Row((Cell(str(n), SMALL_PT), Cell(question, SMALL_PT), Cell(answer, bold=answer != BLANK)))
        for n, (question, answer) in enumerate(answers(plan), 1)
    ]
    flow.table(
        Table(
            (Column("", 24, "right"), Column("Asked", 136), Column("Answer", 380)),
            rows,
            flow.width,
            pad=_PAD_PT,
        )
    )


def _white_marks(flow: Flow, book: Book, plan: Plan) -> None:
    rows, places = _mark_rows(plan), _corner_table(plan, flow.width)
    flow.heading("White-mark plan: mark before you call", below=_LEAST_PLAN_PT)
    flow.text(_how_to_mark(plan), size=SMALL_PT)
    below_pt = 90.0 + 20 * len(rows) + legend_room(plan, flow.width) + (places.height if places else 20.0)
    _plan_drawing(flow, book, plan, below_pt)
    columns = (
        Column("Trench", 90),
        Column("Length", 70, "right"),
        Column("White marks", 70, "right"),
        Column("Farthest apart", 80, "right"),
        Column("Trench, widest", 80, "right"),
        Column("Locate each side", 80, "right"),
        Column("Marked by, on", 110),
    )
    flow.table(Table(columns, rows, flow.width, pad=_PAD_PT))
    side = Printer(plan.site.units).length(STRIP_M)
    flow.heading(f"Corners of the dig area ({side} or a little more each side), WGS 84", below=60)
    if places:
        flow.table(places)
    else:
        flow.text(
            "This site is drawn in a tape grid without a place on the earth: give the words above and the sketch."
        )


def _how_to_mark(plan: Plan) -> str:
    printer = Printer(plan.site.units)
    short, long = (printer.short(length_m) for length_m in DASH_M)
    return (
        f"White paint or flags (black on snow). Dashes on the centreline, {short} to {long} long and"
        f" {printer.short(DASH_WIDTH_M)} wide, with an arrow head at each bend and end, never over"
        f" {printer.length(MOST_SPACING_M)} apart. Write the width and your company's initials beside the first and the last."
    )


def _mark_rows(plan: Plan) -> list[Row]:
    printer, bends = Printer(plan.site.units), plan.works.bends
    rows = []
    for reach in plan.layout.reaches:
        marks = white_marks(reach, bends)
        sections = [section for *_, section in plan.works.stretches([reach])]
        cells = (
            reach.name,
            printer.length(reach.length_m),
            str(len(marks.at_m)),
            printer.length(marks.spacing_m),
            printer.length(max(section.top_width_m for section in sections)),
            printer.length(STRIP_M),
            "",
        )
        rows.append(Row(cells))
    return rows


def _plan_drawing(flow: Flow, book: Book, plan: Plan, below_pt: float) -> None:
    area = dig_area(plan)
    used: list[Look] = []

    def draw(box: Box) -> None:
        drawing = PlanDrawing(
            book.pen, plan, fit([area, plan.site.well.shape], box, scales(plan.site.units), margin_pt=20)
        )
        drawing.surroundings()
        for reach in plan.layout.reaches:
            _draw_marks(drawing, reach, white_marks(reach, plan.works.bends))
        drawing.bends(plan.layout.reaches)
        drawing.pen.lines(drawing.view.outline(area), Stroke(1.4, (9, 4)))
        for n, corner in enumerate(corners(area), 1):
            x, y = drawing.view.place(*corner)
            drawing.pen.circle(x, y, 2, Stroke(0.8), fill="black")
            drawing.labels.add((x, y), str(n), SMALL_PT, bold=True)
        outer = shapely.get_parts(drawing.view.on_page(area.boundary))
        if len(outer):
            drawing.labels.add_along(
                max(outer, key=lambda part: part.length), "LOCATE INSIDE THIS LINE", NAME_PT, bold=True
            )
        if book.total:  # words are placed once, not while the sheets are counted
            drawing.finish()
        used.extend(drawing.used.values())

    flow.block(max(_LEAST_PLAN_PT, min(flow.room - below_pt, _MOST_PLAN_PT)), draw)
    rows = legend_rows(used, flow.width)
    flow.block(len(rows) * LEGEND_ROW_PT, lambda box: draw_legend(book.pen, box, rows))


def _draw_marks(drawing: PlanDrawing, reach: Reach, marks: WhiteMarks) -> None:
    """Draw each white mark as a heavy dash on a thin centreline, an arrow head at the end."""
    path = drawing.view.on_page(reach.path)
    if path.geom_type != "LineString":
        return
    drawing.pen.lines(path, Stroke(0.6))
    drawing.labels.keep_clear_along(path, 5.0, 4.0)
    for at_m in marks.at_m:
        along = path.length * at_m / reach.length_m
        drawing.pen.lines(
            substring(path, max(along - _HALF_DASH_PT, 0.0), along + _HALF_DASH_PT), Stroke(3.2)
        )
    tip = path.interpolate(path.length)
    tail = path.interpolate(max(path.length - 10, 0.0))
    drawing.pen.arrow((tail.x, tail.y), (tip.x, tip.y), Stroke(1.4), 8)


def _corner_table(plan: Plan, width: float) -> Table | None:
    """Corners of the dig area on the earth, three in a row; ``None`` for a site without a place on it."""
    cells = [
        (str(n), f"{latitude:.6f}", f"{longitude:.6f}")
        for n, (latitude, longitude) in enumerate(corners_on_earth(plan), 1)
    ]
    if not cells:
        return None
    down = ceil(len(cells) / _CORNERS_ACROSS)
    cells += [("", "", "")] * (_CORNERS_ACROSS * down - len(cells))
    columns = (
        Column("No.", 26, "right"),
        Column("Latitude", 76, "right"),
        Column("Longitude", 84, "right"),
    ) * _CORNERS_ACROSS
    rows = [Row(tuple(Cell(word, SMALL_PT) for one in cells[n::down] for word in one)) for n in range(down)]
    return Table(columns, rows, width, pad=_PAD_PT)


def _response_log(flow: Flow, plan: Plan) -> None:
    columns = (
        Column("Owner of lines", 160),
        Column("Answer: marked, clear, not yet", 120),
        Column("Date, time", 90),
        Column("Marks seen on the ground", 90),
        Column("Initials", 60),
    )
    rows = [Row(cells, least_height=22) for cells in (*_owners(plan), *_BLANK_ROWS)]
    table = Table(columns, rows, flow.width)
    facts = dict(dates(plan))
    flow.heading("Answers of the line owners", below=table.height + 40)
    flow.text(
        f"Ticket number {'_' * 20}. Dig from: {facts['Dig from']}. Renewal: {facts['Renew by; expires']}.",
        size=SMALL_PT,
    )
    flow.text("No digging until each row has an answer and the marks were seen on the ground.", bold=True)
    flow.table(table)


def _owners(plan: Plan) -> list[tuple[str, ...]]:
    """A row for each owner of a public line that the site names; what is marked already is said."""
    lines: dict[str, list[Feature]] = {}
    for feature in plan.site.of_kind("buried_line", "overhead_line"):
        owner = str(feature.facts.get("owner", ""))
        if feature.evidence.method == MARKED or (owner and not is_private(feature)):
            lines.setdefault(owner, []).append(feature)
    return [_owner_row(owner, owned) for owner, owned in lines.items()]


def _owner_row(owner: str, owned: list[Feature]) -> tuple[str, ...]:
    marked = [feature for feature in owned if feature.evidence.method == MARKED]
    names = ", ".join(feature_name(feature) for feature in owned)
    tickets = dict.fromkeys(str(feature.facts["ticket"]) for feature in marked if "ticket" in feature.facts)
    days = dict.fromkeys(str(feature.facts["date"]) for feature in marked if "date" in feature.facts)
    said = ", ticket ".join(["marked", *([", ".join(tickets)] if tickets else [])]) if marked else ""
    return f"{owner or BLANK}: {names}", said, ", ".join(days), "", ""
