"""The variance appendix: for each setback that is short or not settled, the rule, what was tried, and blanks for the decision.

Nothing is argued here that was not computed or stated; why a distance cannot be met is for the applicant to write.
"""

from __future__ import annotations

from collections.abc import Sequence

import shapely
from shapely import MultiPoint, Point

from siteplan.check.finding import Finding
from siteplan.check.setbacks import edge_of, half_spread_m
from siteplan.document.cautions import DECIDES
from siteplan.document.codes import rule_in_words
from siteplan.document.drawing import NAME_PT, PlanDrawing
from siteplan.document.model import Plan
from siteplan.document.pages import LEAST_PT, SMALL_PT, Book, Flow, make_book, title_block
from siteplan.document.pdf import THIN, Stroke
from siteplan.document.rule_words import on_every_sheet
from siteplan.document.sheet import LETTER, Box, Paper, fit, scales
from siteplan.document.summary import error_text, margin_text, measured_text
from siteplan.document.table import Cell, Column, Row, Table
from siteplan.document.words import bearing_deg, compass, named
from siteplan.measure.elsewhere import Elsewhere, apart_m, elsewhere, ways_apart
from siteplan.rules.model import Setback
from siteplan.site.features import Feature
from siteplan.units import Printer

ASKS = ("short", "needs approval", "too close to call")
_MAP_PT = 240.0
_BLANK = "____________________"
_WRITE_PT = 20.0
_PLACE = Stroke(0.6, (4, 2))
_FACTS = (Column("Asked for", 96), Column("What is stated, and what was measured", 460))
_TRIED = (
    Column("Tried", 226),
    Column("Distance", 70, "right"),
    Column("Margin", 70, "right"),
    Column("What comes of it", 190),
)


def to_ask(plan: Plan) -> list[Finding]:
    """Return the setbacks that a variance may be asked for: required ones that are short or not settled, worst first."""
    return [
        finding
        for finding in plan.findings
        if finding.topic == "setback"
        and finding.verdict in ASKS
        and (finding.citation is None or finding.citation.force != "advised")
    ]


def variance(plan: Plan, paper: Paper = LETTER) -> bytes:
    """Print the variance appendix.

    Parameters
    ----------
    plan : Plan
    paper : Paper
        Upright.

    Returns
    -------
    bytes
        A PDF: a map, then for each setback of ``to_ask`` the rule, the measured distance, what was tried with its margin, and
        blanks for the reason and the decision. The same plan gives the same bytes.
    """

    def draw(book: Book) -> None:
        flow = Flow(book, "appendix to the setback review")
        owner = plan.site.paper
        title_block(flow, book, (("Licence", owner.licence), ("Legal", owner.legal)))
        if said := on_every_sheet(plan):
            flow.text(" ".join(said), size=LEAST_PT)
        asked = to_ask(plan)
        if not asked:
            flow.text("No required setback is short, needs approval or is too close to call.")
            return
        _map(flow, book, plan, asked)
        for finding in asked:
            _request(flow, book, plan, finding)
        flow.text(DECIDES, size=SMALL_PT, bold=True)

    return make_book(plan, "VARIANCE APPENDIX", paper, draw)


def _map(flow: Flow, book: Book, plan: Plan, asked: Sequence[Finding]) -> None:
    """Draw the measured lines of what is asked for, and where the well would keep every distance."""
    places = [place for well in _wells(plan, asked) if (place := _place(plan, well)) is not None]
    shapes = [plan.site.well.shape, *(MultiPoint(one.points) for one in asked if one.points), *places]
    shapes += [reach.path for reach in plan.layout.reaches] if len(shapes) == 1 else []

    def draw(box: Box) -> None:
        drawing = PlanDrawing(book.pen, plan, fit(shapes, box, scales(plan.site.units), margin_pt=20))
        drawing.surroundings()
        drawing.trenches(plan.layout.reaches)
        drawing.measured(asked)
        for well in _wells(plan, asked):
            found = _elsewhere(plan, well)
            if found is not None and not found.area.is_empty:
                drawing.pen.lines(drawing.view.outline(found.area), _PLACE)
                _name_ground(drawing, found)
        for place in places:
            x, y = drawing.view.place(place.x, place.y)
            book.pen.circle(x, y, 4, THIN)
            drawing.labels.add((x, y), "nearest such place", NAME_PT)
        drawing.finish()

    words = "Boxed numbers are those of the setback review. Dashed: ground where the well would keep all required distances."
    flow.heading("Map", below=_MAP_PT)
    flow.text(words, size=LEAST_PT)
    flow.block(_MAP_PT, draw)


def _wells(plan: Plan, asked: Sequence[Finding]) -> list[Feature]:
    subjects = {finding.subject for finding in asked}
    return [well for well in plan.site.of_kind("well") if well.id in subjects]


def _name_ground(drawing: PlanDrawing, found: Elsewhere) -> None:
    """Write into the largest part that shows what the dashed outline holds."""
    parts = shapely.get_parts(drawing.view.on_page(found.area))
    if len(parts):
        spot = max(parts, key=lambda part: part.area).representative_point()
        drawing.labels.add((spot.x, spot.y), "the well would keep all distances here", NAME_PT, centred=True)


def _elsewhere(plan: Plan, well: Feature) -> Elsewhere | None:
    """Where the well would keep every distance by at least the error that it has now."""
    spare_m = {
        one.to: one.error_m
        for one in reversed(plan.findings)
        if (one.topic, one.subject) == ("setback", well.id) and one.error_m is not None
    }
    return elsewhere(plan.site, plan.requirements, well, spare_m)


def _place(plan: Plan, well: Feature) -> Point | None:
    """Return the nearest place that keeps all distances, unless the well lies in it."""
    found = _elsewhere(plan, well)
    return found.place if found is not None and found.away_m > 0 else None


def _request(flow: Flow, book: Book, plan: Plan, finding: Finding) -> None:
    flow.heading(f"No. {finding.number}, {finding.what}: {finding.verdict.upper()}", below=200)
    facts = [
        Row((Cell(name, SMALL_PT, bold=True), Cell(words, SMALL_PT))) for name, words in _facts(plan, finding)
    ]
    flow.table(Table(_FACTS, facts, flow.width, pad=2.0))
    _lines(flow, book, "Why the distance cannot be met (the applicant writes):", 3)
    rows = _of_the_well(plan, finding) if _is_well(plan, finding) else _of_the_line(plan, finding)
    flow.table(Table(_TRIED, rows, flow.width, pad=2.0))
    others = _others(plan, finding)
    if others:
        flow.text(f"Other distances that the same rules require here: {'; '.join(others)}.", size=LEAST_PT)
    _decision(flow)


def _facts(plan: Plan, finding: Finding) -> list[tuple[str, str]]:
    printer, setback = Printer(plan.site.units), _setback(plan, finding)
    percent = f"{finding.confidence * 100:.0f} %"
    said = [("Rule", rule_in_words(finding.citation) if finding.citation else "no rule")]
    if finding.citation is not None and finding.citation.url:
        said.append(("Read at", finding.citation.url))
    ends = f", {setback.from_point} to {setback.to_edge}" if setback else ""
    said.append(("Required", f"{finding.required_text}{ends}"))
    if setback is not None and setback.approvable is not None:
        who = f": {setback.approval}" if setback.approval else ""
        said.append(("May be granted", f"down to {setback.approvable}{who}"))
    measured = f"{measured_text(finding, printer)} ± {error_text(finding, printer)} ({percent}, one-sided)"
    said.append(("Measured", f"{measured}, margin {margin_text(finding, printer)}; {finding.method}"))
    if finding.chance is not None:
        said.append(
            ("Chance", f"{finding.chance * 100:.0f} % that the true distance is at least the required one")
        )
    if finding.settle:
        said.append(("To settle it", finding.settle))
    if finding.because:
        said.append(("Conditions", "; ".join(finding.because)))
    return said


def _of_the_well(plan: Plan, finding: Finding) -> list[Row]:
    """Say what another place of the well on the lot gives, and what the other wells of the site do."""
    printer, well = Printer(plan.site.units), plan.site.feature(finding.subject)
    rows = [_tried("As planned", finding.measured_m, finding, printer, finding.verdict)]
    found = _elsewhere(plan, well)
    setback = _setback(plan, finding)
    if found is None:
        rows.append(_words("The well elsewhere on the lot", "not tried: no lot is drawn"))
    elif found.place is None:
        words = "no place on the lot keeps every distance that these rules require by its error"
        rows.append(_words("The well elsewhere on the lot", words))
    elif found.away_m == 0:
        rows.append(
            _words("The well elsewhere on the lot", "it keeps every distance by its error where it is")
        )
    elif setback is not None:
        there = apart_m(plan.site, setback, well, found.place)
        way = _way(plan, well.shape, found.place)
        name = f"The well {printer.length(found.away_m)}{way}: the nearest place that keeps every distance by its error"
        ground = printer.area(found.area.area)
        words = f"{ground} of the lot do; whether there is water, and a way in for the rig, nobody says"
        rows.append(_tried(name, there, finding, printer, words))
    wells = {other.id for other in plan.site.of_kind("well")} - {well.id}
    for other in plan.findings:
        if (other.topic, other.to) == ("setback", finding.to) and other.subject in wells:
            name = f"The other source, {named(plan, other.subject)}"
            rows.append(_tried(name, other.measured_m, other, printer, other.verdict))
    rows.append(_words("Another way for the trench", "does not change the distance of the well"))
    return rows


def _of_the_line(plan: Plan, finding: Finding) -> list[Row]:
    """Say how far the other ways that the router found keep."""
    printer, others = Printer(plan.site.units), plan.layout.alternatives
    rows = [_tried("As planned", finding.measured_m, finding, printer, finding.verdict)]
    half_m = half_spread_m(plan.works, finding.subject)
    kept = ways_apart(others, edge_of(plan.site.feature(finding.to)), half_m)
    for other, distance_m in zip(others, kept, strict=True):
        rows.append(_tried(f"Trenches {other.name}", distance_m, finding, printer, other.why))
    if not others:
        rows.append(_words("Another way for the trench", "the router found none of another kind"))
    return rows


def _tried(name: str, distance_m: float | None, rule: Finding, printer: Printer, words: str) -> Row:
    """Row of one thing tried, held against the distance of a rule."""
    if distance_m is None or rule.required_m is None:
        return _words(name, words)
    cells = (printer.length(distance_m), Cell(printer.signed(distance_m - rule.required_m), bold=True))
    return Row((Cell(name, SMALL_PT), *cells, Cell(words, LEAST_PT)))


def _words(name: str, words: str) -> Row:
    return Row((Cell(name, SMALL_PT), "–", "–", Cell(words, LEAST_PT)))


def _others(plan: Plan, finding: Finding) -> list[str]:
    """Return the other required distances of the same well or line, with their margins, the worst first."""
    printer = Printer(plan.site.units)
    return [
        f"No. {other.number} {named(plan, other.to)} {measured_text(other, printer)} of {other.required_text},"
        f" {other.verdict}"
        for other in plan.findings
        if (other.topic, other.subject) == ("setback", finding.subject)
        and other.number != finding.number
        and other.verdict != "not applicable"
        and other.measured_m is not None
        and (other.citation is None or other.citation.force != "advised")
    ]


def _decision(flow: Flow) -> None:
    said = (
        f"Site visit on {_BLANK} with {_BLANK}",
        "[ ] granted   [ ] granted on these conditions   [ ] refused",
        f"Conditions {_BLANK * 3}",
        f"By {_BLANK} title {_BLANK} on {_BLANK}",
        f"Recorded with the property: book, page or instrument {_BLANK} on {_BLANK}",
    )
    flow.heading("Decision, in writing", below=len(said) * 18.0)
    for words in said:
        flow.space(5)
        flow.text(words, size=SMALL_PT)
    flow.space(8)


def _lines(flow: Flow, book: Book, words: str, count: int) -> None:
    """Set words, and lines to write on below them."""
    flow.keep(14 + count * _WRITE_PT)
    flow.text(words, size=SMALL_PT, bold=True)

    def draw(box: Box) -> None:
        for n in range(count):
            y = box.top - (n + 1) * _WRITE_PT + 3
            book.pen.line([(box.x, y), (box.right, y)], THIN)

    flow.block(count * _WRITE_PT, draw)


def _setback(plan: Plan, finding: Finding) -> Setback | None:
    row = finding.citation.row if finding.citation else ""
    asked = (finding.subject, finding.to, row)
    rows = plan.requirements.setbacks
    return next((one for one in rows if (one.of, one.to, one.citation.row) == asked), None)


def _is_well(plan: Plan, finding: Finding) -> bool:
    return any(well.id == finding.subject for well in plan.site.of_kind("well"))


def _way(plan: Plan, start: Point, end: Point) -> str:
    if not plan.frame.north_known:
        return ""
    return f" {compass(bearing_deg((start.x, start.y), (end.x, end.y)))}"
