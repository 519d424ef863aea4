"""The plot plan that goes to the office with an application: the drawing to scale, the distances, what is lacking.

It holds the union of what health departments ask (``plot_checklist`` names them); the form of the office decides.
"""

from __future__ import annotations

from collections.abc import Iterable

from siteplan.check.finding import Finding
from siteplan.document.cautions import DECIDES
from siteplan.document.drawing import LEGEND_ROW_PT, PlanDrawing, draw_legend, legend_rows, looks_of
from siteplan.document.model import Plan
from siteplan.document.pages import LEAST_PT, SMALL_PT, Book, Flow, make_book, title_block
from siteplan.document.plot_checklist import Entry, checklist
from siteplan.document.plot_map import (
    CONTOUR_M,
    Chosen,
    choose,
    draw_lot,
    draw_site,
    view_of,
    whole_lot_height,
    whole_lot_view,
)
from siteplan.document.rule_words import on_every_sheet
from siteplan.document.sheet import LETTER, Box, Paper
from siteplan.document.symbols import Look
from siteplan.document.table import Cell, Column, Row, Table
from siteplan.document.vicinity import vicinity
from siteplan.document.well_rings import Ring, rings_required, search_ring
from siteplan.document.words import feature_name
from siteplan.measure.plot import FromWell, from_well, lot_of, lot_sides
from siteplan.site.catalogue import methods
from siteplan.site.evidence import Evidence
from siteplan.units import Printer

_LEAST_MAP_PT, _MOST_LOT_PT, _ABOVE_PT = 200.0, 480.0, 30.0
_PAD_PT = 2.0
_BLANK = "________________"
_DISTANCE_COLUMNS = (
    Column("To (nearest edge)", 112),
    Column("Distance", 58, "right"),
    Column("Ground there", 74, "right"),
    Column("Required, verdict (No. of the setback review)", 136),
    Column("How known", 132),
    Column("Inspector verified", 60),
)
_SIDE_COLUMNS = (
    Column("Side", 30),
    Column("Length", 72, "right"),
    Column("From the well", 82, "right"),
    Column("Of", 180),
    Column("How known", 140),
    Column("Inspector verified", 60),
)
_LACKING_COLUMNS = (Column("", 58), Column("Asked for", 190), Column("What there is", 320))


def plot_plan(plan: Plan, paper: Paper = LETTER) -> bytes:
    """Print the plot plan.

    Parameters
    ----------
    plan : Plan
    paper : Paper
        As it stands upright; the drawing turns it if that gives the larger scale.

    Returns
    -------
    bytes
        A PDF: the drawing to an accepted scale, what is lacking, the distances from the well, the sides of the lot. The same
        plan gives the same bytes.
    """

    def draw(book: Book) -> None:
        flow = Flow(book, "for the application")
        _title(flow, book)
        legend_pt = _legend_pt(plan, flow.width)
        chosen = choose(plan, Box(0, 0, flow.width, flow.room - legend_pt - _ABOVE_PT))
        here = chosen.whole
        if not here:
            turned, chosen, legend_fits = _on_its_own_page(plan, book)
        entries = checklist(plan, chosen)
        _scale_words(flow, plan, chosen)
        if here:
            _drawing(flow, book, plan, chosen, flow.room - legend_pt)
        else:
            _lacking(flow, entries)
            if not legend_fits:
                _legend(flow, book, looks_of(plan))
            page = Flow(book, "drawing", turned=turned)
            below_pt = _legend_pt(plan, page.width) if legend_fits else 0.0
            _drawing(page, book, plan, chosen, page.room - below_pt, legend=legend_fits)
            flow = page if page.room > _LEAST_MAP_PT else Flow(book, "distances, and what it shows")
        _whole_lot(flow, book, plan, chosen)
        if here:
            _lacking(flow, entries)
        _distances(flow, plan)
        _sides(flow, plan)
        _there(flow, plan, entries)
        vicinity(flow, book, plan)

    return make_book(plan, "PLOT PLAN", paper, draw)


def _on_its_own_page(plan: Plan, book: Book) -> tuple[bool, Chosen, bool]:
    """Choose the drawing of a page of its own: on the paper's long side or not, what, and whether the legend fits below it."""
    offers = []
    for turned in (False, True):
        box = book.free(turned=turned)
        for legend_pt in (_legend_pt(plan, box.width), 0.0):
            chosen = choose(plan, Box(box.x, box.y, box.width, box.height - legend_pt))
            offers.append((turned, chosen, legend_pt > 0))
    return max(offers, key=lambda offer: (offer[1].fits, offer[1].whole, -offer[1].scale.ratio, offer[2]))


def _title(flow: Flow, book: Book) -> None:
    paper = book.plan.site.paper
    title_block(
        flow,
        book,
        (
            ("Licence", paper.licence),
            ("Drawn by", paper.prepared_by),
            ("Legal", paper.legal),
            ("Approved", ""),
        ),
    )
    if said := on_every_sheet(book.plan):
        flow.text(" ".join(said), size=LEAST_PT)


def _scale_words(flow: Flow, plan: Plan, chosen: Chosen) -> None:
    printer = Printer(plan.site.units)
    usual = "of the engineer's scales" if printer.unit == "ft" else "of the usual metric scales"
    ruled = "of the scales that the rules accept" if plan.requirements.plot_plan.scales else usual
    whose = "of the scales that the office accepts" if plan.site.paper.scales else ruled
    every = printer.length(CONTOUR_M[printer.unit])
    contours = "" if plan.ground is None else f" Thin dashes: contours, every {every}."
    fits = "" if chosen.fits else " NOT ALL FITS: print on larger paper."
    words = (
        f"Scale {chosen.scale.text}, {whose}. Distances are level, from the edge of the casing to the nearest edge;"
        f" lot sides are numbered.{contours}{fits}"
    )
    flow.text(words, size=SMALL_PT, bold=True)


def _legend_pt(plan: Plan, width: float) -> float:
    """Height of the legend of all that may be drawn [points]."""
    return len(legend_rows(looks_of(plan), width)) * LEGEND_ROW_PT + 22


def _drawing(flow: Flow, book: Book, plan: Plan, chosen: Chosen, room: float, *, legend: bool = True) -> None:
    rings = _rings(plan)
    used: list[Look] = []

    def draw(box: Box) -> None:
        drawing = PlanDrawing(book.pen, plan, view_of(chosen, box))
        draw_site(drawing, rings)
        used.extend(drawing.used.values())

    height = min(room, max(chosen.height_pt(), _LEAST_MAP_PT)) if chosen.whole else room
    flow.block(height, draw)
    if legend:
        _legend(flow, book, used)


def _legend(flow: Flow, book: Book, looks: Iterable[Look]) -> None:
    rows = legend_rows(looks, flow.width)
    flow.block(len(rows) * LEGEND_ROW_PT, lambda box: draw_legend(book.pen, box, rows))


def _rings(plan: Plan) -> list[Ring]:
    """The search circle, and the largest distance that a rule asks round the well."""
    return [search_ring(plan), *rings_required(plan)[:1]]


def _whole_lot(flow: Flow, book: Book, plan: Plan, chosen: Chosen) -> None:
    if chosen.whole or lot_of(plan.site).is_empty:
        return
    height = whole_lot_height(plan, Box(0, 0, flow.width, min(_MOST_LOT_PT, flow.full_room - 40)))
    flow.heading("The whole lot", below=height)
    flow.block(height, lambda box: draw_lot(PlanDrawing(book.pen, plan, whole_lot_view(plan, box))))


def _lacking(flow: Flow, entries: list[Entry]) -> None:
    wanted = [entry for entry in entries if entry.state in ("LACKING", "BLANK")]
    wanted.sort(key=lambda entry: entry.state, reverse=True)
    flow.heading("What this plan still lacks", below=60)
    if not wanted:
        flow.text("Nothing of what was asked for here; the form of the office decides.", size=SMALL_PT)
        return
    rows = [
        Row((Cell(entry.state, SMALL_PT, bold=True), Cell(entry.item, SMALL_PT), Cell(entry.words, SMALL_PT)))
        for entry in wanted
    ]
    flow.table(Table(_LACKING_COLUMNS, rows, flow.width, pad=_PAD_PT))


def _there(flow: Flow, plan: Plan, entries: list[Entry]) -> None:
    flow.heading("What it shows, and what was looked for and not found", below=30)
    said = [
        f"{entry.item}: {'none, ' if entry.state == 'none' else ''}{entry.words.rstrip('.')}."
        for entry in entries
        if entry.state in ("shown", "none")
    ]
    flow.columns(said, size=LEAST_PT)
    paper = plan.site.paper
    measured = paper.measured.isoformat() if paper.measured else _BLANK
    words = f"Measured by {paper.measured_by or _BLANK} on {measured} with {paper.instruments or _BLANK}."
    flow.text(words, size=SMALL_PT)
    flow.text(f"Signature {_BLANK * 2}   Date {_BLANK}", size=SMALL_PT)
    flow.text(DECIDES, size=SMALL_PT, bold=True)


def _distances(flow: Flow, plan: Plan) -> None:
    rows = [_distance_row(plan, one) for one in from_well(plan.site, plan.ground)]
    flow.heading("Distances from the well, the nearest first", below=60)
    if not rows:
        flow.text("Nothing but the well is drawn.", size=SMALL_PT)
        return
    flow.table(Table(_DISTANCE_COLUMNS, rows, flow.width, pad=_PAD_PT))


def _distance_row(plan: Plan, one: FromWell) -> Row:
    printer, feature = Printer(plan.site.units), plan.site.feature(one.to)
    judged = [
        finding
        for finding in plan.findings
        if finding.topic == "setback"
        and (finding.subject, finding.to) == (plan.site.well.id, one.to)
        and finding.verdict != "not applicable"
    ]
    return Row(
        (
            Cell(feature_name(feature), SMALL_PT),
            printer.length(one.distance_m),
            Cell(_rise(one, printer), SMALL_PT),
            Cell("; ".join(map(_verdict, judged)) or "no rule held names it", SMALL_PT),
            Cell(_known(feature.evidence, printer), LEAST_PT),
            "",
        )
    )


def _verdict(finding: Finding) -> str:
    verdict = finding.verdict if finding.verdict == "clear" else finding.verdict.upper()
    force = "" if finding.citation is None or finding.citation.force == "required" else " advised"
    return f"{finding.required_text}{force}: {verdict} (No. {finding.number})"


def _rise(one: FromWell, printer: Printer) -> str:
    if one.rise_m is None:
        return "no level"
    words = printer.length(abs(one.rise_m))
    if not any(digit in words for digit in "123456789"):
        return "level"
    return f"{words} {'higher' if one.rise_m > 0 else 'lower'}"


def _sides(flow: Flow, plan: Plan) -> None:
    printer, sides = Printer(plan.site.units), lot_sides(plan.site)
    if not sides:
        return
    first = "northernmost corner" if plan.frame.north_known else "corner farthest along +y"
    flow.heading(f"Sides of the lot, clockwise from its {first}", below=60)
    rows = []
    for side in sides:
        feature = plan.site.feature(side.of)
        rows.append(
            Row(
                (
                    Cell(str(side.number), bold=True),
                    printer.length(side.length_m),
                    printer.length(side.well_m),
                    Cell(feature_name(feature), SMALL_PT),
                    Cell(_known(feature.evidence, printer), LEAST_PT),
                    "",
                )
            )
        )
    flow.table(Table(_SIDE_COLUMNS, rows, flow.width, pad=_PAD_PT))


def _known(evidence: Evidence, printer: Printer) -> str:
    name = methods()[evidence.method].name if evidence.method in methods() else evidence.method
    return f"{name}, ± {printer.length(evidence.radius_m)}"
