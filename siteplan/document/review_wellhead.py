"""The wellhead on the setback review: what the rules ask of the casing, what is stated, blanks for what is seen on site."""

from __future__ import annotations

from siteplan.check.finding import Finding
from siteplan.document.codes import Codes
from siteplan.document.model import Plan
from siteplan.document.pages import LEAST_PT, SMALL_PT, Flow
from siteplan.document.summary import error_text, margin_text, measured_text
from siteplan.document.table import Cell, Column, Row, Table
from siteplan.document.words import feature_name, named
from siteplan.site.features import Feature
from siteplan.units import Printer

_COLUMNS = (
    Column("Wellhead", 132),
    Column("Asked", 190),
    Column("Stated", 186),
    Column("Inspector verified", 54),
)
_SEEN = "cap sealed and its vent screened; ground falls away on all sides; annulus sealed"


def wellhead(flow: Flow, plan: Plan, codes: Codes) -> None:
    """Place one table for each well in use."""
    for well in plan.site.of_kind("well"):
        if well.status != "abandoned":
            rows = [
                *_judged(plan, codes, well),
                _flood(plan, well),
                _pitless(plan, well),
                _casing(plan, well),
                _row("Cap, drainage, annulus", _SEEN, "to be seen on site"),
            ]
            flow.heading(f"Wellhead: {feature_name(well)}", below=90)
            flow.table(Table(_COLUMNS, rows, flow.width, note_indent=24, pad=1.0))


def _row(item: str, asked: str, stated: str) -> Row:
    return Row(
        (Cell(item, SMALL_PT, bold=True), Cell(asked, LEAST_PT), Cell(stated or "not stated", SMALL_PT), "")
    )


def _judged(plan: Plan, codes: Codes, well: Feature) -> list[Row]:
    printer, name = Printer(plan.site.units), f"{well.name}: "
    found = [one for one in plan.findings if (one.topic, one.subject) == ("wellhead", well.id)]
    return [
        _row(
            one.what.removeprefix(name).capitalize(),
            _asked(one, codes),
            _verdict(one, printer),
        )
        for one in found
    ]


def _asked(finding: Finding, codes: Codes) -> str:
    note = finding.citation.note if finding.citation else ""
    asked = f"{finding.required_text} ({codes.rule_and_force(finding.citation)})"
    return f"{asked} {note}" if note else asked


def _verdict(finding: Finding, printer: Printer) -> str:
    measured, error = measured_text(finding, printer), error_text(finding, printer)
    margin = margin_text(finding, printer)
    words = [
        f"{measured} ± {error}" if error else measured,
        finding.method if measured else "",
        f"margin {margin}" if margin else "",
        f"{finding.verdict.upper()} (No. {finding.number})",
    ]
    return ", ".join(word for word in words if word)


def _flood(plan: Plan, well: Feature) -> Row:
    printer = Printer(plan.site.units)
    item, asked = "Flood elevation", "of the 100-year flood at the well"
    plains = [plain for plain in plan.site.of_kind("floodplain") if plain.shape.intersects(well.shape)]
    said = []
    for plain in plains:
        elevation = plain.facts.get("elevation")
        height = printer.length(elevation) if isinstance(elevation, float) else "elevation not stated"
        said.append(f"{feature_name(plain)}: {height}")
    ground = well.facts.get("ground_elevation")
    if isinstance(ground, float):
        said.append(f"ground at the well {printer.length(ground)}")
    if not plains:
        none = plan.site.looked.get("floodplain", "no flood plain drawn, nobody looked")
        said.insert(0, none)
    return _row(item, asked, "; ".join(said))


def _pitless(plan: Plan, well: Feature) -> Row:
    printer, depth = Printer(plan.site.units), well.facts.get("pitless_depth")
    covers = [
        f"{named(plan, laid.line)} leaves at {printer.short(laid.cover_m)} of cover"
        for section in plan.works.sections
        if section.name == _first_section(plan, well)
        for laid in section.lines
        if plan.site.line(laid.line).carries == "water"
    ]
    stated = f"{printer.short(depth)} below grade" if isinstance(depth, float) else ""
    return _row("Pitless unit", "; ".join(covers) or "bury as the line's cover", stated)


def _first_section(plan: Plan, well: Feature) -> str:
    """Name of the section of the trench that starts at a well; ``""`` if none does."""
    starts = {reach.name for reach in plan.layout.reaches if reach.starts_at == well.id}
    return next((one.section for one in plan.works.stations if one.reach in starts and one.section), "")


def _casing(plan: Plan, well: Feature) -> Row:
    printer = Printer(plan.site.units)
    depth, across = well.facts.get("casing_depth"), well.facts.get("casing_diameter")
    said = [
        f"{printer.short(across)} across" if isinstance(across, float) else "",
        f"to {printer.length(depth)}" if isinstance(depth, float) else "depth not stated",
    ]
    return _row("Casing", "as the conditions of the rules ask", ", ".join(word for word in said if word))
