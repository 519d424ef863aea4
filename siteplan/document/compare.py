"""One site under several sets of rules, side by side: what each asks of each pair, and what it makes of it."""

from __future__ import annotations

import io
from collections.abc import Mapping

from siteplan.check.finding import WORST_FIRST, Finding
from siteplan.document.cautions import DECIDES
from siteplan.document.model import Plan
from siteplan.document.rule_words import nobody_looked, thin_notes, warnings
from siteplan.document.summary import measured_text
from siteplan.units import Printer

TOPICS = ("setback", "cover")


def compare_table(plans: Mapping[str, Plan], width: int = 118) -> str:
    """Pairs down, sets of rules across; each cell holds the governing requirement and its verdict.

    Parameters
    ----------
    plans : mapping of str to Plan
        Plan of the same site by the name of its rules, in the order of the columns. Each was routed under its own rules.
    """
    from rich import box
    from rich.console import Console
    from rich.table import Table
    from rich.text import Text

    table = Table(box=box.SIMPLE, pad_edge=False, header_style="")
    table.add_column("from - to")
    for name in plans:
        table.add_column(name)
    cells = {name: _governing(plan) for name, plan in plans.items()}
    for what in dict.fromkeys(what for rows in cells.values() for what in rows):
        row = [Text(_cell(cells[name].get(what), plans[name])) for name in plans]
        table.add_row(Text(what), *row)
    out = io.StringIO()
    console = Console(file=out, width=width, force_terminal=False, color_system=None)
    (first, *_) = plans.values()
    console.print(Text(f"{first.site.name} under {len(plans)} sets of rules; each is routed under its own."))
    console.print(table)
    for name, plan in plans.items():
        length = Printer(plan.site.units).length(plan.layout.length_m)
        gaps = [gap for note in plan.requirements.stack for gap in note.gaps]
        said = (
            f"trench {length}",
            nobody_looked(plan),
            *(f"rules of {note.layer} NOT WHOLE" for note in thin_notes(plan)),
            *warnings(plan),
            gaps and f"not covered: {'; '.join(gaps)}",
        )
        console.print(Text(f"{name}: " + "; ".join(words for words in said if words)))
    console.print(Text(f"Site overrides are left out here. {DECIDES}"))
    return out.getvalue()


def _governing(plan: Plan) -> dict[str, Finding]:
    """The worst finding for each pair in words, required before advised, the larger number first among equals."""
    governing: dict[str, Finding] = {}
    for finding in sorted(plan.findings, key=_rank):
        if finding.topic in TOPICS and finding.verdict != "not applicable":
            governing.setdefault(finding.what, finding)
    return governing


def _rank(finding: Finding) -> tuple[int, int, float]:
    advised = finding.citation is not None and finding.citation.force == "advised"
    return (WORST_FIRST.index(finding.verdict), advised, -(finding.required_m or 0.0))


def _cell(finding: Finding | None, plan: Plan) -> str:
    if finding is None:
        return "no number"
    print_ = Printer(plan.site.units)
    advised = " advised" if finding.citation and finding.citation.force == "advised" else ""
    numbers = f"{finding.required_text}{advised}: " if finding.required_text else ""
    measured = measured_text(finding, print_)
    return f"{numbers}{finding.verdict}" + (f" ({measured})" if measured else "")
