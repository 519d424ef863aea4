"""The setback review: what the inspector reads, worst margin first, each distance with its method, error and rule."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence

from shapely import LineString

from siteplan.check.finding import WORST_FIRST, Finding
from siteplan.document.drawing import LEGEND_ROW_PT, PlanDrawing, draw_legend, key_shapes, legend_rows
from siteplan.document.model import Plan
from siteplan.document.pages import SMALL_PT, Book, Flow, make_book, title_block
from siteplan.document.sheet import LETTER, Box, Paper, fit, scales
from siteplan.document.symbols import Look
from siteplan.document.table import Cell, Column, Row, Table
from siteplan.document.words import named
from siteplan.rules.model import Citation
from siteplan.site.catalogue import methods
from siteplan.units import Printer

_LEAST_MAP_PT = 300.0
_SETBACK_TOPICS = ("setback", "wellhead")
_FORCE = {"required": "", "advised": "advised", "by_approval": "by approval"}


def setback_review(plan: Plan, paper: Paper = LETTER) -> bytes:
    """Print the setback review.

    Parameters
    ----------
    plan : Plan
    paper : Paper
        Upright; the review turns it.

    Returns
    -------
    bytes
        A PDF: tables worst first, key map with the same numbers, rule set, what nobody looked at. The same plan gives the
        same bytes.
    """

    def draw(book: Book) -> None:
        flow = Flow(book, "worst margin first", turned=book.narrow)
        title_block(flow, book)
        _summary(flow, plan)
        decided = [
            one for one in plan.findings if one.verdict != "not applicable" and one.topic != "unlooked"
        ]
        around = [one for one in decided if one.topic in _SETBACK_TOPICS]
        along = [one for one in decided if one.topic not in _SETBACK_TOPICS]
        _table(flow, plan, "Setbacks", around, place="from (point)  –  to (edge)")
        _table(
            flow,
            plan,
            "Lines: cover, separation, crossings, bends",
            along,
            place="what, from station to station",
        )
        _others(flow, plan)
        _rules(flow, plan)
        _evidence(flow, plan)
        _map(flow, book, plan, around)

    return make_book(plan, "SETBACK REVIEW", paper, draw)


def rule_in_words(citation: Citation | None) -> str:
    """Citation as the tables print it: text, edition, force, and the word unconfirmed where it is due."""
    if citation is None:
        return "no rule"
    words = (
        citation.text,
        citation.edition,
        _FORCE[citation.force],
        "" if citation.confirmed else "unconfirmed",
    )
    return ", ".join(word for word in words if word)


def _summary(flow: Flow, plan: Plan) -> None:
    counts = Counter(finding.verdict for finding in plan.findings)
    said = ", ".join(f"{counts[verdict]} {verdict}" for verdict in WORST_FIRST if counts[verdict])
    percent = f"{plan.requirements.confidence * 100:.0f} %"
    flow.text(f"{len(plan.findings)} findings: {said}. ± is the one-sided error at {percent}.")


def _table(flow: Flow, plan: Plan, heading: str, findings: Sequence[Finding], *, place: str) -> None:
    flow.heading(heading, below=90)
    if not findings:
        flow.text("None.")
        return
    columns = (
        Column("No.", 30, "right"),
        Column(place, 146),
        Column("Rule and section", 130),
        Column("Required", 62, "right"),
        Column("Measured", 64, "right"),
        Column("How measured", 100),
        Column("±", 48, "right"),
        Column("Margin", 76, "right"),
        Column("Verdict", 86),
        Column("Inspector verified", 64),
    )
    flow.table(Table(columns, [_row(plan, finding) for finding in findings], flow.width, note_indent=34))


def _row(plan: Plan, finding: Finding) -> Row:
    printer = Printer(plan.site.units)
    in_degrees = finding.unit == "deg"

    def shown(value: float | None, *, sign: bool = False) -> str:
        if value is None:
            return "–"
        if in_degrees:
            return f"{value:+.0f}°" if sign else f"{value:.0f}°"
        return printer.signed(value) if sign else printer.length(value)

    notes = [Cell(f"To settle No. {finding.number}: {finding.settle}", bold=True)] if finding.settle else []
    if finding.because:
        notes.append(Cell("; ".join(finding.because) + ".", SMALL_PT))
    return Row(
        (
            Cell(str(finding.number), bold=True),
            Cell(_place(plan, finding), SMALL_PT),
            Cell(rule_in_words(finding.citation), SMALL_PT),
            _required(finding, printer, shown(finding.required_m)),
            shown(finding.measured_m),
            Cell(finding.method or "–", SMALL_PT),
            shown(finding.error_m),
            Cell(shown(finding.margin_m, sign=True), bold=True),
            Cell(finding.verdict.upper(), bold=True),
            "",
        ),
        notes=tuple(notes),
        least_height=24,
    )


def _required(finding: Finding, printer: Printer, shown: str) -> str:
    """Return the number in the rule's own unit, and in the sheet's unit if that is another."""
    same = (
        finding.required_m is None
        or finding.unit == "deg"
        or finding.required_text.endswith(f" {printer.unit}")
    )
    if not finding.required_text or same:
        return finding.required_text or shown
    return f"{finding.required_text} ({shown})"


def _place(plan: Plan, finding: Finding) -> str:
    """From where to where: the points and edges of the rule if it is a setback, else the words and the stations."""
    printer = Printer(plan.site.units)
    row = finding.citation.row if finding.citation else ""
    for setback in plan.requirements.setbacks:
        if (setback.of, setback.to, setback.citation.row) == (finding.subject, finding.to, row):
            start = f"{named(plan, setback.of)}, {setback.from_point}"
            return f"{start}  –  {named(plan, setback.to)}, {setback.to_edge}"
    if finding.from_m is None or finding.to_m is None:
        return finding.what
    start, end = printer.station(finding.from_m), printer.station(finding.to_m)
    return f"{finding.what}, {finding.reach} {start}" + (f" to {end}" if end != start else "")


def _map(flow: Flow, book: Book, plan: Plan, findings: Iterable[Finding]) -> None:
    measured = [finding for finding in findings if len(finding.points) == 2]
    used: list[Look] = []

    def draw(box: Box) -> None:
        lines = [LineString(finding.points) for finding in measured]
        shapes = [*key_shapes(plan), *lines]
        drawing = PlanDrawing(book.pen, plan, fit(shapes, box, scales(plan.site.units), margin_pt=16))
        drawing.surroundings()
        drawing.hand_dig(plan.layout.reaches)
        drawing.trenches(plan.layout.reaches)
        drawing.crossings(plan.layout.reaches)
        drawing.measured(measured)
        drawing.finish()
        used.extend(drawing.used.values())

    flow.keep(_LEAST_MAP_PT + 80)
    flow.heading(
        "Key map: boxed numbers are those of the table, ringed numbers are crossings", below=_LEAST_MAP_PT
    )
    flow.block(max(_LEAST_MAP_PT, flow.room - 4 * LEGEND_ROW_PT - 20), draw)
    rows = legend_rows(used, flow.width)
    flow.block(len(rows) * LEGEND_ROW_PT, lambda box: draw_legend(book.pen, box, rows))


def _others(flow: Flow, plan: Plan) -> None:
    unlooked = [finding for finding in plan.findings if finding.topic == "unlooked"]
    applies_not = [finding for finding in plan.findings if finding.verdict == "not applicable"]
    columns = (
        Column("No.", 30, "right"),
        Column("What", 230),
        Column("Rule and section", 180),
        Column("Why", 280),
    )
    for heading, findings, why in (
        ("Nobody looked: not shown, not measured, not passed", unlooked, "nobody says to have looked"),
        ("Not applicable: the rule speaks of this pair, its conditions are not met", applies_not, ""),
    ):
        if findings:
            rows = [
                Row(
                    (
                        Cell(str(finding.number), bold=True),
                        Cell(finding.what, SMALL_PT),
                        Cell(rule_in_words(finding.citation), SMALL_PT),
                        Cell("; ".join(finding.because) or why, SMALL_PT),
                    )
                )
                for finding in findings
            ]
            flow.heading(heading, below=60)
            flow.table(Table(columns, rows, flow.width))
    if plan.site.looked:
        flow.heading("Looked for and not found", below=20)
        flow.items([f"{kind.replace('_', ' ')}: {words}" for kind, words in sorted(plan.site.looked.items())])


def _rules(flow: Flow, plan: Plan) -> None:
    rules = plan.requirements
    flow.heading("Rule set", below=30)
    flow.items(
        [
            f"{note.layer}: {note.title}, {note.authority}, edition {note.edition or 'not stated'}."
            + (f" Not covered: {'; '.join(note.gaps)}." if note.gaps else "")
            for note in rules.stack
        ]
    )
    flow.heading("Replaced for this site, with the reason", below=20)
    flow.items([f"{row.text} ({row.row}): {row.note}" for row in rules.overridden] or ["Nothing."])
    if rules.unconfirmed:
        flow.heading("Unconfirmed: read at second hand or from memory, look these up", below=20)
        flow.items(
            [f"{row.text} ({row.row}), {row.standing}, unconfirmed" for row in rules.unconfirmed],
            size=SMALL_PT,
        )


def _evidence(flow: Flow, plan: Plan) -> None:
    printer = Printer(plan.site.units)
    by_method: dict[str, list[str]] = {}
    for feature in plan.site.features:
        known_by, name = feature.evidence, feature.name or feature.id
        edge = f", its edge ± {printer.length(known_by.edge_m)}" if known_by.edge_m else ""
        by_method.setdefault(known_by.method, []).append(
            f"{name} (± {printer.length(known_by.radius_m)}{edge})"
        )
    known = methods()
    flow.heading("How positions are known (radius that holds 95 %)", below=30)
    flow.items(
        [
            f"{known[method].name if method in known else method}: {', '.join(things)}."
            for method, things in sorted(by_method.items())
        ],
        size=SMALL_PT,
    )
    flow.text("Measured by ______________________   on ______________   with ______________________")
    flow.text(
        "This sheet compares measured distances with the rules named."
        " Only the rows shown were compared, and silence is not a pass."
    )
