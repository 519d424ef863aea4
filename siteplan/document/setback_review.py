"""The setback review: what the inspector reads. What is not settled comes first, with a key map; then what is clear.

Rules and ways to measure stand in the tables by a short code and are spelled out once: R3 in the list of rules, T under
the table.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from shapely import MultiPoint

from siteplan.check.finding import WORST_FIRST, Finding
from siteplan.document.codes import Codes, as_listed, listed_rules
from siteplan.document.drawing import LEGEND_ROW_PT, PlanDrawing, draw_legend, legend_rows
from siteplan.document.model import Plan
from siteplan.document.pages import LEAST_PT, SMALL_PT, Book, Flow, make_book, title_block
from siteplan.document.rule_words import (
    frost_block,
    in_words_only,
    not_whole,
    replaced,
    set_aside,
    silent,
    unlooked,
    warnings,
)
from siteplan.document.sheet import LETTER, Box, Paper, fit, scales
from siteplan.document.summary import error_text, margin_text, measured_text
from siteplan.document.symbols import BORED, TRENCH_POWER, TRENCH_WATER, Look, is_on_the_ground, look
from siteplan.document.table import Cell, Column, Row, Table
from siteplan.document.words import feature_name, named
from siteplan.rules.model import LayerNote
from siteplan.site.catalogue import methods
from siteplan.units import Printer

_LEAST_MAP_PT, _MOST_MAP_PT = 190.0, 420.0
_PAD_PT = 2.0
_SAID_PT = 11.0
_OPEN_COLUMNS = (
    Column("No.", 28),
    Column("from (point) – to (edge), or stretch", 100),
    Column("Rule", 42),
    Column("Required", 52, "right"),
    Column("Measured", 56, "right"),
    Column("How", 28),
    Column("±", 42, "right"),
    Column("Margin", 63, "right"),
    Column("Verdict", 75),
    Column("Inspector verified", 54),
)
_CLEAR_COLUMNS = (
    Column("No.", 30),
    Column("from (point) – to (edge), or stretch", 151),
    Column("Rule", 42),
    Column("Required", 73, "right"),
    Column("Measured", 56, "right"),
    Column("How", 28),
    Column("±", 42, "right"),
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
        title_block(flow, book)
        _rules_in_doubt(flow, plan)
        _summary(flow, plan)
        _table(flow, plan, codes, "Not clear", unsettled)
        _unlooked(flow, plan, codes)
        _map(flow, book, plan, unsettled, clear)
        _table(flow, plan, codes, "CLEAR: the margin is at least the error", clear)
        _not_applicable(flow, plan, codes)
        _frost(flow, plan)
        _evidence(flow, plan)
        _rules(flow, plan, codes)

    return make_book(plan, "SETBACK REVIEW", paper, draw)


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
        flow.text(f"{words}.", size=LEAST_PT)


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
    if finding.required_text.endswith(f" {printer.unit}"):
        return finding.required_text
    return f"{finding.required_text} ({shown})" if finding.required_text else shown


def _place(plan: Plan, group: Sequence[Finding]) -> str:
    """From where to where: the points and edges of the rule if it is a setback, else the words and the stations."""
    finding = group[0]
    row = finding.citation.row if finding.citation else ""
    for setback in plan.requirements.setbacks:
        if (setback.of, setback.to, setback.citation.row) == (finding.subject, finding.to, row):
            start = f"{named(plan, setback.of)}, {setback.from_point}"
            return f"{start} – {named(plan, setback.to)}, {setback.to_edge}"
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


def _map(flow: Flow, book: Book, plan: Plan, unsettled: Sequence[Finding], clear: Sequence[Finding]) -> None:
    """Draw the rows that are not clear and all setbacks of the well, end to end."""
    of_well = [finding for finding in clear if finding.subject == plan.site.well.id]
    drawn = [*unsettled, *of_well]
    shapes = [plan.site.well.shape, *(MultiPoint(finding.points) for finding in drawn if finding.points)]
    if len(shapes) == 1:
        shapes += [reach.path for reach in plan.layout.reaches]
    used: list[Look] = []

    def draw(box: Box) -> None:
        drawing = PlanDrawing(book.pen, plan, fit(shapes, box, scales(plan.site.units), margin_pt=12))
        drawing.surroundings()
        drawing.hand_dig(plan.layout.reaches)
        drawing.trenches(plan.layout.reaches)
        drawing.crossings(plan.layout.reaches)
        drawing.measured(drawn)
        drawing.finish()
        used.extend(drawing.used.values())

    looks = [TRENCH_WATER, TRENCH_POWER, BORED, *map(look, filter(is_on_the_ground, plan.site.features))]
    legend = len(legend_rows(looks, flow.width)) * LEGEND_ROW_PT + 10
    flow.heading("Key map: boxed numbers are rows, ringed numbers crossings", below=_LEAST_MAP_PT + legend)
    flow.block(min(max(_LEAST_MAP_PT, flow.room - legend), _MOST_MAP_PT), draw)
    rows = legend_rows(used, flow.width)
    flow.block(len(rows) * LEGEND_ROW_PT, lambda box: draw_legend(book.pen, box, rows))


def _not_applicable(flow: Flow, plan: Plan, codes: Codes) -> None:
    by_reason: dict[str, list[str]] = {}
    for one in plan.findings:
        if one.verdict == "not applicable":
            words = f"{one.number}. {one.what} ({codes.rule_and_force(one.citation)})"
            by_reason.setdefault("; ".join(one.because), []).append(words)
    if by_reason:
        flow.heading("Not applicable: the rule speaks of this pair, its conditions are not met", below=30)
        flow.items([f"{reason}: {'; '.join(pairs)}." for reason, pairs in by_reason.items()], size=LEAST_PT)


def _rules(flow: Flow, plan: Plan, codes: Codes) -> None:
    rules = plan.requirements
    flow.heading("Rules", below=30)
    flow.columns(listed_rules(codes), size=LEAST_PT)
    doubtful = [code for citation, code in codes.rules.items() if not citation.confirmed]
    doubtful += dict.fromkeys(
        f"{citation.text} ({citation.standing})"
        for citation in rules.unconfirmed
        if as_listed(citation) not in codes.rules
    )
    if doubtful:
        flow.text(
            f"Unconfirmed, read at second hand or from memory, look these up: {'; '.join(doubtful)}.",
            size=LEAST_PT,
        )
    flow.heading("Rule set, and what it does not cover", below=30)
    flow.items(
        [_rule_set(note) for note in rules.stack],
        size=LEAST_PT,
    )
    said = "; ".join(replaced(plan)) or "nothing"
    looked = [f"{kind.replace('_', ' ')}: {words}" for kind, words in sorted(plan.site.looked.items())]
    flow.text(f"Replaced for this site, with the reason: {said}.", size=LEAST_PT)
    flow.text(
        (f"Looked for and not found: {'; '.join(looked)}. " if looked else "")
        + "This sheet compares measured distances with the rules in the rows shown; silence is not a pass.",
        size=LEAST_PT,
    )


def _rule_set(note: LayerNote) -> str:
    gaps = "; ".join(note.gaps)
    parts = (
        f"{note.layer}: {note.title}, {note.authority}, edition {note.edition or 'not stated'}.",
        "Not whole: see the first page." if note.thin else gaps and f"Not covered: {gaps}.",
        note.silent and f"Read, and no number for: {silent(note)}.",
        *(f"{words[0].upper()}{words[1:]}." for words in set_aside(note)),
    )
    return " ".join(part for part in parts if part)


def _frost(flow: Flow, plan: Plan) -> None:
    if words := frost_block(plan):
        flow.heading("Computed frost depth", below=90)
        flow.text(f"{'; '.join(words)}.", size=LEAST_PT)


def _evidence(flow: Flow, plan: Plan) -> None:
    printer, known = Printer(plan.site.units), methods()
    by_method: dict[str, dict[str, list[str]]] = {}
    for feature in filter(is_on_the_ground, plan.site.features):
        known_by = feature.evidence
        edge = f", the edge itself ± {printer.length(known_by.edge_m)}" if known_by.edge_m else ""
        zone = f", the line ± {printer.length(known_by.zone_m)} from it" if known_by.zone_m else ""
        within = f"± {printer.length(known_by.radius_m)}{edge}{zone}"
        by_method.setdefault(known_by.method, {}).setdefault(within, []).append(feature_name(feature))
    flow.heading("How positions are known (radius that holds 95 %)", below=30)
    flow.items(
        [
            f"{known[method].name if method in known else method}: "
            + "; ".join(f"{', '.join(things)} ({within})" for within, things in by_radius.items())
            + "."
            for method, by_radius in sorted(by_method.items())
        ],
        size=LEAST_PT,
    )
    flow.text("Measured by ______________________   on ______________   with ______________________")
