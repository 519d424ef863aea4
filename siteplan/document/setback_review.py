"""The setback review: what the inspector reads. What is not settled comes first, with a key map; then what is clear.

Rules and ways to measure stand in the tables by a short code and are spelled out once: R3 in the list of rules, T under
the table.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from shapely import MultiPoint

from siteplan.check.finding import WORST_FIRST, Finding
from siteplan.document.codes import Codes
from siteplan.document.drawing import LEGEND_ROW_PT, PlanDrawing, draw_legend, legend_rows
from siteplan.document.model import Plan
from siteplan.document.pages import LEAST_PT, SMALL_PT, Book, Flow, make_book, title_block
from siteplan.document.review_notes import evidence, frost, not_applicable, rules
from siteplan.document.review_wellhead import wellhead
from siteplan.document.rule_words import (
    in_words_only,
    not_whole,
    unlooked,
    warnings,
)
from siteplan.document.sheet import LETTER, Box, Paper, fit, scales
from siteplan.document.summary import error_text, margin_text, measured_text
from siteplan.document.symbols import BORED, TRENCH_POWER, TRENCH_WATER, Look, is_on_the_ground, look
from siteplan.document.table import Cell, Column, Row, Table
from siteplan.document.well_rings import beyond, draw_beyond, draw_rings, rings_required
from siteplan.document.words import named
from siteplan.measure.plot import circle
from siteplan.units import Printer

_LEAST_MAP_PT, _MOST_MAP_PT = 190.0, 300.0
_PAD_PT = 1.5
_NEAREST = "nearest edge"
_PLAIN = " Distances are between nearest edges unless another is named."
_SAID_PT = 11.0
_OPEN_COLUMNS = (
    Column("No.", 28),
    Column("from (point) – to (edge), or stretch", 94),
    Column("Rule", 42),
    Column("Required", 52, "right"),
    Column("Measured", 57, "right"),
    Column("How", 28),
    Column("±", 47, "right"),
    Column("Margin", 63, "right"),
    Column("Verdict", 75),
    Column("Inspector verified", 54),
)
_CLEAR_COLUMNS = (
    Column("No.", 30),
    Column("from (point) – to (edge), or stretch", 136),
    Column("Rule", 78),
    Column("Required", 52, "right"),
    Column("Measured", 57, "right"),
    Column("How", 27),
    Column("±", 47, "right"),
    Column("Margin", 64, "right"),
    Column("Inspector verified", 54),
)


def setback_review(plan: Plan, paper: Paper = LETTER) -> bytes:
    """Print the setback review.

    Parameters
    ----------
    plan : Plan
    paper : Paper
        Upright.

    Returns
    -------
    bytes
        A PDF: rows that are not clear, key map with the same numbers, clear rows, what does not apply, what nobody
        looked for, rules. The same plan gives the same bytes.
    """

    def draw(book: Book) -> None:
        codes = Codes(plan)
        asked = [one for one in plan.findings if one.topic != "unlooked" and one.verdict != "not applicable"]
        unsettled = [one for one in asked if one.verdict != "clear"]
        clear = [one for one in asked if one.verdict == "clear"]
        flow = Flow(book, "worst first")
        paper = plan.site.paper
        title_block(flow, book, (("Licence", paper.licence), ("Drawn by", paper.prepared_by)))
        _rules_in_doubt(flow, plan)
        _summary(flow, plan)
        _table(flow, plan, codes, "Not clear", unsettled)
        _unlooked(flow, plan, codes)
        _map(flow, book, plan, unsettled, clear)
        wellhead(flow, plan, codes)
        heading = "CLEAR: the margin is at least the error; the well first, then the lines"
        _table(flow, plan, codes, heading, _well_first(plan, clear))
        not_applicable(flow, plan, codes)
        frost(flow, plan)
        evidence(flow, plan)
        rules(flow, plan, codes)

    return make_book(plan, "SETBACK REVIEW", paper, draw)


def _well_first(plan: Plan, findings: Sequence[Finding]) -> list[Finding]:
    """Put the findings of the lines to lay after the others, worst first among themselves."""
    lines = {line.id for line in plan.site.lines}
    return sorted(findings, key=lambda one: one.subject in lines)


def _rules_in_doubt(flow: Flow, plan: Plan) -> None:
    for words in warnings(plan):
        flow.text(words, size=SMALL_PT, bold=True)
    for words in not_whole(plan):
        flow.text(words, size=LEAST_PT, bold=True)


def _summary(flow: Flow, plan: Plan) -> None:
    counts = Counter(finding.verdict for finding in plan.findings)
    said = ", ".join(f"{counts[verdict]} {verdict}" for verdict in WORST_FIRST if counts[verdict])
    percent = f"{plan.requirements.confidence * 100:.0f} %"
    flow.text(f"{len(plan.findings)} findings: {said}. ± is the one-sided error at {percent}.", size=_SAID_PT)


def _table(flow: Flow, plan: Plan, codes: Codes, heading: str, findings: Sequence[Finding]) -> None:
    flow.heading(heading, below=60)
    if not findings:
        flow.text("None of the rows that were compared.")
        return
    clear = findings[0].verdict == "clear"
    rows = [_row(plan, codes, group) for group in _grouped(plan, findings)]
    columns = _CLEAR_COLUMNS if clear else _OPEN_COLUMNS
    flow.table(Table(columns, rows, flow.width, note_indent=24, pad=_PAD_PT))
    if words := codes.in_words(findings):
        flow.text(f"{words}.{_PLAIN if clear else ''}", size=LEAST_PT)


def _grouped(plan: Plan, findings: Sequence[Finding]) -> list[list[Finding]]:
    """Put the rows of one pair side by side; cover of one line with the same numbers is one row."""
    printer = Printer(plan.site.units)
    groups: dict[tuple[str, str], dict[object, list[Finding]]] = {}
    for finding in findings:
        numbers = [text(finding, printer) for text in (measured_text, error_text, margin_text)]
        said = (finding.required_text, finding.method, finding.verdict, finding.settle, finding.because)
        same = (*numbers, *said, finding.citation) if finding.topic == "cover" else finding.number
        groups.setdefault((finding.subject, finding.to), {}).setdefault(same, []).append(finding)
    return [group for pair in groups.values() for group in pair.values()]


def _row(plan: Plan, codes: Codes, group: Sequence[Finding]) -> Row:
    finding, printer = group[0], Printer(plan.site.units)
    settle = f"To settle No. {finding.number}: {finding.settle}"
    notes = [Cell(settle, _SAID_PT, bold=True)] if finding.settle else []
    if finding.because:
        notes.append(Cell("; ".join(finding.because) + ".", LEAST_PT))
    return Row(
        (
            Cell(", ".join(str(one.number) for one in group), bold=True),
            Cell(_place(plan, group), LEAST_PT),
            Cell(codes.rule_and_force(finding.citation), LEAST_PT),
            _required(finding, printer),
            measured_text(finding, printer) or "–",
            Cell(codes.method(finding), SMALL_PT),
            error_text(finding, printer) or "–",
            Cell(margin_text(finding, printer) or "–", bold=True),
            *([] if finding.verdict == "clear" else [Cell(finding.verdict.upper(), bold=True)]),
            "",
        ),
        notes=tuple(notes),
    )


def _required(finding: Finding, printer: Printer) -> str:
    """Return the number in the rule's own unit, and in the sheet's unit if that is another."""
    if in_words_only(finding):
        return "in words"
    if finding.required_m is None or finding.unit == "deg":
        return finding.required_text or "–"
    shown = printer.length(finding.required_m)
    unit = finding.required_text.rpartition(" ")[2]
    if unit == printer.unit or measured_text(finding, printer).endswith(f" {unit}"):
        return finding.required_text
    return f"{finding.required_text} ({shown})" if finding.required_text else shown


def _place(plan: Plan, group: Sequence[Finding]) -> str:
    """From where to where: the points and edges of the rule if it is a setback, else the words and the stations."""
    finding = group[0]
    row = finding.citation.row if finding.citation else ""
    for setback in plan.requirements.setbacks:
        if (setback.of, setback.to, setback.citation.row) == (finding.subject, finding.to, row):
            ends = ((setback.of, setback.from_point), (setback.to, setback.to_edge))
            plain = finding.verdict == "clear"
            return " – ".join(
                named(plan, thing) if plain and edge == _NEAREST else f"{named(plan, thing)}, {edge}"
                for thing, edge in ends
            )
    stretches: dict[str, list[str]] = {}
    for one in group:
        stretches.setdefault(one.what, []).append(_stretch(plan, one))
    said, last = [], None
    for what, found in stretches.items():
        head, _, surface = what.rpartition(", ")
        words = surface if head == last else what
        said.append(", ".join(word for word in (words, *dict.fromkeys(found)) if word))
        last = head
    return "; ".join(said)


def _stretch(plan: Plan, finding: Finding) -> str:
    if finding.from_m is None or finding.to_m is None:
        return ""
    printer = Printer(plan.site.units)
    ends = dict.fromkeys((printer.station(finding.from_m), printer.station(finding.to_m)))
    return f"{finding.reach} {' to '.join(ends)}"


def _unlooked(flow: Flow, plan: Plan, codes: Codes) -> None:
    by_rule: dict[str, list[str]] = {}
    for finding, name in unlooked(plan):
        by_rule.setdefault(codes.rule_and_force(finding.citation), []).append(f"{finding.number}. {name}")
    if by_rule:
        listed = "; ".join(f"{', '.join(names)} ({rule})" for rule, names in by_rule.items())
        flow.text(
            f"Nobody looked, NOT CHECKED: {listed}. To settle: look here and on the neighbours' land;"
            " draw it, or write down who looked and how far.",
            size=_SAID_PT,
            bold=True,
        )
    if not rings_required(plan):
        return
    ring = rings_required(plan)[0]
    if said := plan.site.paper.beyond_lot:
        flow.text(f"Beyond the lot, within {ring.words} of the well: {said}.", size=LEAST_PT)
    elif not beyond(plan, ring).is_empty:
        words = f"Hatched on the key map, beyond the lot within the circle of {ring.words}: nobody looked."
        flow.text(words, size=_SAID_PT, bold=True)


def _map(flow: Flow, book: Book, plan: Plan, unsettled: Sequence[Finding], clear: Sequence[Finding]) -> None:
    """Draw the rows that are not clear and all setbacks of the well, end to end."""
    of_well = [finding for finding in clear if finding.subject == plan.site.well.id]
    drawn = [*unsettled, *of_well]
    rings = rings_required(plan)
    shapes = [plan.site.well.shape, *(MultiPoint(finding.points) for finding in drawn if finding.points)]
    if len(shapes) == 1:
        shapes += [reach.path for reach in plan.layout.reaches]
    ringed = [*shapes, *(circle(plan.site.well.shape, ring.radius_m) for ring in rings[:1])]
    used: list[Look] = []

    def draw(box: Box) -> None:
        close, wide = (fit(each, box, scales(plan.site.units), margin_pt=12) for each in (shapes, ringed))
        drawing = PlanDrawing(book.pen, plan, wide if wide.scale == close.scale else close)
        for ring in rings[:1]:
            draw_beyond(drawing, ring)
        drawing.measured(drawn)
        drawing.surroundings()
        draw_rings(drawing, rings)
        drawing.hand_dig(plan.layout.reaches)
        drawing.trenches(plan.layout.reaches)
        drawing.crossings(plan.layout.reaches)
        drawing.finish()
        used.extend(drawing.used.values())

    looks = [TRENCH_WATER, TRENCH_POWER, BORED, *map(look, filter(is_on_the_ground, plan.site.features))]
    legend = len(legend_rows(looks, flow.width)) * LEGEND_ROW_PT + 10
    flow.heading(
        "Key map: boxed numbers are rows, ringed ones crossings; circles round the well",
        below=_LEAST_MAP_PT + legend,
    )
    flow.block(min(max(_LEAST_MAP_PT, flow.room - legend), _MOST_MAP_PT), draw)
    rows = legend_rows(used, flow.width)
    flow.block(len(rows) * LEGEND_ROW_PT, lambda box: draw_legend(book.pen, box, rows))
