"""The locate request: the answers in the order in which the call taker asks, as a sheet and as plain text."""

from __future__ import annotations

import shapely

from siteplan.document.cautions import cautions
from siteplan.document.dig_area import STRIP_M, corners, corners_on_earth, dig_area
from siteplan.document.drawing import LEGEND_ROW_PT, NAME_PT, PlanDrawing, draw_legend, legend_rows
from siteplan.document.hazards import overhead_in_words, overhead_lines
from siteplan.document.model import Plan
from siteplan.document.pages import SMALL_PT, WARNING_PT, Book, Flow, make_book, title_block
from siteplan.document.pdf import Stroke
from siteplan.document.rule_words import on_every_sheet
from siteplan.document.sheet import LETTER, Box, Paper, fit, scales
from siteplan.document.symbols import Look
from siteplan.document.table import Cell, Column, Row, Table
from siteplan.document.words import feature_name, named, reach_in_words
from siteplan.rules.clock import day_words
from siteplan.site.features import Feature
from siteplan.site.marks import MARKED
from siteplan.units import Printer

_BLANK = "________________________"
_LEAST_PLAN_PT, _MOST_PLAN_PT = 300.0, 480.0
_PAD_PT = 2.5
_PRIVATE_KINDS = ("building_sewer", "effluent_line")
_SUSPECTED = (
    "septic line, house to tank and tank to field",
    "propane or fuel line",
    "old pump cable or water line",
    "line to an outbuilding",
    "irrigation, drain tile",
    "dog fence, yard lighting",
)
_RESPONSE_ROWS = 6


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
        _plan_drawing(flow, book, plan)
        _corner_table(flow, plan)
        _private_table(flow, plan)
        _response_log(flow, plan)
        flow.heading("Cautions", below=30)
        flow.items([str(caution) for caution in cautions(plan)])

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
    spots = corners_on_earth(plan)
    if spots:
        lines += ["", "Corners of the dig area, latitude, longitude (WGS 84):"]
        lines += [f"{n}. {latitude:.6f}, {longitude:.6f}" for n, (latitude, longitude) in enumerate(spots, 1)]
    lines += [
        "",
        *on_every_sheet(plan),
        *(str(caution) for caution in cautions(plan) if caution.id in ("locate", "private", "decides")),
    ]
    return "\n".join(lines) + "\n"


def answers(plan: Plan) -> list[tuple[str, str]]:
    """Questions of the call taker with the answers that the plan knows; a blank for the others."""
    site, paper, printer = plan.site, plan.site.paper, Printer(plan.site.units)
    rules = plan.requirements.locate
    overhead = overhead_lines(plan)
    near = [overhead_in_words(plan, *found) for found in overhead if found[1] != "on the site"]
    side = printer.length(STRIP_M)
    deepest = max(station.cut_m for station in plan.works.stations)
    widest = max(section.top_width_m for section in plan.works.sections)
    lines = ", ".join(line.name for line in site.lines)
    return [
        ("Caller and company", paper.contractor or _BLANK),
        ("Phone", paper.phone or _BLANK),
        ("Other contact, e-mail", _BLANK),
        ("Work for", paper.owner or _BLANK),
        ("Type of work", f"trench for a private well service: {lines}"),
        ("Equipment", site.digging.machine or _BLANK),
        (
            "Depth",
            f"{printer.length(deepest)} at the deepest; trench {printer.length(widest)} wide at the top",
        ),
        ("Explosives, boring, near a railway", _boring(plan)),
        ("Start date and time; how long", _BLANK),
        ("County, town, in or out of limits", _BLANK),
        ("Address", paper.address or _BLANK),
        ("Nearest cross street, distance and direction", _BLANK),
        ("How to get there", paper.directions or _BLANK),
        ("Parcel, subdivision, lot", paper.parcel_number or _BLANK),
        ("Township, range, section", _BLANK),
        ("Latitude, longitude of the well", _well_on_earth(plan)),
        ("Where to mark", " ".join(reach_in_words(plan, reach, side) for reach in plan.layout.reaches)),
        ("Front, rear or side of the property", _BLANK),
        ("Private land or right-of-way", _BLANK),
        ("Marked in white", "[ ] yes  [ ] no, on ______________"),
        (
            f"Overhead lines within {side}",
            f"yes: {'; '.join(near)}" if near else _overhead_no(bool(overhead)),
        ),
        ("Gates, dogs, access", _BLANK),
        ("Special instructions", _BLANK),
        ("Notice that the rules ask", f"{rules.notice}; confirm with the one-call centre"),
        ("Ticket life", f"{rules.life}; confirm with the one-call centre"),
        *_dates(plan),
    ]


def _boring(plan: Plan) -> str:
    under = dict.fromkeys(
        named(plan, bored.feature) for reach in plan.layout.reaches for bored in reach.bored
    )
    return f"boring under {', '.join(under)}; explosives, railway: {_BLANK}" if under else _BLANK


def _dates(plan: Plan) -> list[tuple[str, str]]:
    """Ticket number and dig dates: worked out where the time of the call and the rule are known, else blank."""
    dates, ticket = plan.locate_dates, ("Ticket number", _BLANK)
    if dates is None:
        unknown = "the rules held do not say how the wait is counted: ask the one-call centre"
        told = [("Dates from the time of the call", unknown)] if plan.call else []
        return [*told, ticket, ("Dig from", _BLANK), ("Renew by; expires", _BLANK)]
    start = (
        f"{day_words(dates.start)}, if the ticket says no later"
        if dates.start
        else "when every owner has answered"
    )
    ends = (("renew by", dates.refresh_by), ("expires at the end of", dates.expires))
    life = "; ".join(f"{what} {day_words(day)}" for what, day in ends if day)
    return [
        ("Dates from the time of the call", " ".join(dates.words)),
        ticket,
        ("Dig from", start),
        ("Renew by; expires", f"{life}, if the ticket says no earlier" if life else _BLANK),
    ]


def _overhead_no(any_drawn: bool) -> str:
    return "none drawn nearer; look up on the day" if any_drawn else "none drawn; look up on the day"


def _well_on_earth(plan: Plan) -> str:
    if not plan.frame.placed:
        return _BLANK
    spot = plan.frame.to_lonlat(plan.site.well.shape).centroid
    return f"{spot.y:.6f}, {spot.x:.6f} (WGS 84)"


def _answers_table(flow: Flow, plan: Plan) -> None:
    rows = [
        Row((Cell(str(n), SMALL_PT), Cell(question, SMALL_PT), Cell(answer, bold=answer != _BLANK)))
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


def _plan_drawing(flow: Flow, book: Book, plan: Plan) -> None:
    area = dig_area(plan)
    used: list[Look] = []

    def draw(box: Box) -> None:
        drawing = PlanDrawing(
            book.pen, plan, fit([area, plan.site.well.shape], box, scales(plan.site.units), margin_pt=20)
        )
        drawing.surroundings()
        drawing.trenches(plan.layout.reaches)
        drawing.pen.lines(drawing.view.outline(area), Stroke(1.4, (9, 4)))
        for n, corner in enumerate(corners(area), 1):
            x, y = drawing.view.place(*corner)
            drawing.pen.circle(x, y, 2, Stroke(0.8), fill="black")
            drawing.labels.add((x, y), str(n), SMALL_PT, bold=True)
        outer = shapely.get_parts(drawing.view.on_page(area.boundary))
        if len(outer):
            drawing.labels.add_along(
                max(outer, key=lambda part: part.length), "MARK INSIDE THIS LINE", NAME_PT, bold=True
            )
        drawing.finish()
        used.extend(drawing.used.values())

    flow.heading(
        "White-mark plan: paint the centreline in white dashes, with company initials", below=_LEAST_PLAN_PT
    )
    flow.block(max(_LEAST_PLAN_PT, min(flow.room - 60, _MOST_PLAN_PT)), draw)
    rows = legend_rows(used, flow.width)
    flow.block(len(rows) * LEGEND_ROW_PT, lambda box: draw_legend(book.pen, box, rows))


def _corner_table(flow: Flow, plan: Plan) -> None:
    spots = corners_on_earth(plan)
    printer = Printer(plan.site.units)
    flow.heading(f"Corners of the dig area ({printer.length(STRIP_M)} or a little more each side)", below=60)
    if not spots:
        flow.text(
            "This site is drawn in a tape grid without a place on the earth: give the words above and the sketch."
        )
        return
    half = (len(spots) + 1) // 2
    cells = [
        (str(n), f"{latitude:.6f}", f"{longitude:.6f}") for n, (latitude, longitude) in enumerate(spots, 1)
    ]
    right = [*cells[half:], *[("", "", "")] * (2 * half - len(cells))]
    columns = (
        Column("No.", 30, "right"),
        Column("Latitude", 110, "right"),
        Column("Longitude", 120, "right"),
    ) * 2
    rows = [Row((*one, *other)) for one, other in zip(cells[:half], right, strict=True)]
    flow.table(Table(columns, rows, flow.width, pad=_PAD_PT))


def _private_table(flow: Flow, plan: Plan) -> None:
    known = [
        feature
        for feature in plan.site.features
        if feature.kind in _PRIVATE_KINDS
        or (feature.kind == "buried_line" and feature.facts.get("private") is not False)
    ]
    rows = [
        Row((f"{feature_name(feature)} ({_how(feature)})", "[x]", "[ ]", "[ ]", ""), least_height=18)
        for feature in known
    ]
    rows += [Row((name, "[ ]", "[ ]", "[ ]", ""), least_height=18) for name in _SUSPECTED]
    columns = (
        Column("Private line", 250),
        Column("Known", 54, "centre"),
        Column("None here", 66, "centre"),
        Column("Hire a locator", 84, "centre"),
        Column("Owner's initials", 86),
    )
    table = Table(columns, rows, flow.width, pad=_PAD_PT)
    flow.heading("Private lines: the one-call centre does not mark these", below=table.height)
    flow.table(table)


def _how(feature: Feature) -> str:
    return "marked" if feature.evidence.method == MARKED else "drawn"


def _response_log(flow: Flow, plan: Plan) -> None:
    columns = (
        Column("Line owner", 150),
        Column("Answered (date, time)", 120),
        Column("Marked", 60),
        Column("Clear", 60),
        Column("Note, who called back", 150),
    )
    marked = [feature for feature in plan.site.features if feature.evidence.method == MARKED]
    known = [
        (
            str(feature.facts.get("owner", "")),
            "",
            str(feature.facts.get("date", "yes")),
            "",
            f"{feature_name(feature)}, ticket {feature.facts.get('ticket', _BLANK)}",
        )
        for feature in marked
    ]
    blank = [("", "", "", "", "")] * max(_RESPONSE_ROWS - len(known), 1)
    rows = [Row(cells, least_height=20) for cells in (*known, *blank)]
    table = Table(columns, rows, flow.width)
    flow.heading("Answers of the line owners", below=table.height)
    flow.table(table)
