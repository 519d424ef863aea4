"""The rows of the setback review: who is compared with whom, what is asked, what is measured and how, and the verdict."""

from __future__ import annotations

from collections.abc import Sequence

from siteplan.check.finding import Finding
from siteplan.document.codes import Codes
from siteplan.document.model import Plan
from siteplan.document.pages import LEAST_PT, SMALL_PT
from siteplan.document.rule_words import in_words_only
from siteplan.document.summary import error_text, margin_text, measured_text
from siteplan.document.table import Cell, Column, Row, Table
from siteplan.document.words import named
from siteplan.units import Printer

SAID_PT = 11.0
_PAD_PT = 1.0
_NEAREST = "nearest edge"
_INCHES_READ_M = 4.0
_MOST_IN_PLACE = 70
_OPEN_COLUMNS = (
    Column("No.", 28),
    Column("From (point) – to (edge)", 104),
    Column("Rule", 38),
    Column("Required", 54, "right"),
    Column("Measured", 57, "right"),
    Column("How", 29),
    Column("±", 48, "right"),
    Column("Margin", 57, "right"),
    Column("Verdict", 75),
    Column("Inspector verified", 54),
)
_CLEAR_COLUMNS = (
    Column("No.", 39),
    Column("From (point) – to (edge)", 158),
    Column("Rule", 46),
    Column("Required", 56, "right"),
    Column("Measured", 57, "right"),
    Column("How", 29),
    Column("±", 48, "right"),
    Column("Margin", 66, "right"),
    Column("Inspector verified", 54),
)


def review_table(plan: Plan, codes: Codes, findings: Sequence[Finding], width: float) -> Table:
    """Compose the table of findings that are all clear or all not; what says the same is one row."""
    columns = _CLEAR_COLUMNS if findings[0].verdict == "clear" else _OPEN_COLUMNS
    rows = [_row(plan, codes, groups) for groups in _joined(plan, findings)]
    return Table(columns, rows, width, note_indent=24, pad=_PAD_PT)


def _joined(plan: Plan, findings: Sequence[Finding]) -> list[list[list[Finding]]]:
    """Put the groups together that are one row.

    Those are the lines to lay that one rule keeps from one thing, and keeps so by the same numbers: the nearest line first.
    """
    lines = {line.id for line in plan.site.lines}
    rows: dict[object, list[list[Finding]]] = {}
    for group in _grouped(plan, findings):
        one = group[0]
        alike = one.verdict == "clear" and one.subject in lines and one.to not in lines and bool(one.to)
        same = (one.topic, one.to, one.citation, one.required_text, one.method, one.because)
        rows.setdefault(same if alike else one.number, []).append(group)
    return list(rows.values())


def _grouped(plan: Plan, findings: Sequence[Finding]) -> list[list[Finding]]:
    """Put the findings of one pair side by side; those that differ in the stretch or in the rule alone are one group."""
    printer = Printer(plan.site.units)
    groups: dict[tuple[str, str], dict[object, list[Finding]]] = {}
    for finding in findings:
        numbers = [text(finding, printer) for text in (measured_text, error_text, margin_text)]
        said = (finding.required_text, finding.method, finding.verdict, finding.settle, finding.because)
        differs: object = finding.number
        if finding.topic == "cover":
            differs = finding.citation
        elif finding.topic == "setback" and finding.measured_m is not None:
            differs = _place(plan, [finding])
        pair = groups.setdefault((finding.subject, finding.to), {})
        pair.setdefault((*numbers, *said, differs), []).append(finding)
    return [group for pair in groups.values() for group in pair.values()]


def _row(plan: Plan, codes: Codes, groups: Sequence[Sequence[Finding]]) -> Row:
    group, others = groups[0], groups[1:]
    finding, printer = group[0], Printer(plan.site.units)
    settle = f"To settle No. {finding.number}: {finding.settle}"
    notes = [Cell(settle, SAID_PT, bold=True)] if finding.settle else []
    place = _place(plan, group)
    said = "; ".join([*finding.because, *(_farther(plan, one, printer) for other in others for one in other)])
    if said and finding.verdict == "clear" and len(place) + len(said) < _MOST_IN_PLACE:
        place = f"{place} ({said})"
    elif said:
        notes.append(Cell(f"{said}.", LEAST_PT))
    cited = dict.fromkeys(codes.rule_and_force(one.citation) for one in group)
    return Row(
        (
            Cell(", ".join(str(one.number) for one in group), bold=True),
            Cell(place, LEAST_PT),
            Cell(", ".join(cited), LEAST_PT),
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


def _farther(plan: Plan, finding: Finding, printer: Printer) -> str:
    """Say one more line that the same rule keeps from the same thing: "No. 23, Water to barn: 53.0 ft ± 0.5 ft"."""
    error = error_text(finding, printer)
    measured = measured_text(finding, printer) + (f" ± {error}" if error else "")
    return f"No. {finding.number}, {named(plan, finding.subject)}: {measured}"


def _required(finding: Finding, printer: Printer) -> str:
    """Return the number in the rule's own unit, and in the sheet's unit if that takes reckoning."""
    if in_words_only(finding):
        return "in words"
    if finding.required_m is None or finding.unit == "deg":
        return finding.required_text or "–"
    shown = printer.length(finding.required_m)
    unit = finding.required_text.rpartition(" ")[2]
    plain = (unit, printer.unit) == ("mm", "m") or (
        (unit, printer.unit) == ("in", "ft") and finding.required_m < _INCHES_READ_M
    )
    if plain or unit == printer.unit or measured_text(finding, printer).endswith(f" {unit}"):
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
