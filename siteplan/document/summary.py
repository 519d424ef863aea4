"""What the terminal shows: the plan in a dozen lines, and the review as a table."""

from __future__ import annotations

import io
from collections import Counter

from siteplan.check.finding import WORST_FIRST, Finding
from siteplan.document.cautions import DECIDES
from siteplan.document.model import Plan
from siteplan.document.price_list import alternative_words, price_words, sharing_words, tolerance_words
from siteplan.document.rule_words import in_words_only, nobody_looked, not_whole, replaced, warnings
from siteplan.document.tape_table import worst_words
from siteplan.units import Printer

SMALL_M = 2.0
"""Covers and separations below this [m] print as sizes (inches, millimetres), larger ones as lengths."""


def summary(plan: Plan) -> str:
    """Length, depth, volumes and verdicts in a dozen lines."""
    print_ = Printer(plan.site.units)
    works, volumes = plan.works, plan.works.volumes
    cuts = [station.cut_m for station in works.stations]
    lines = [
        f"{plan.site.name}: rules {plan.site.rules}",
        f"  trench      {print_.length(plan.layout.length_m)} in {_count(len(plan.layout.reaches), 'reach', 'reaches')}: "
        + ", ".join(f"{reach.name} {print_.length(reach.length_m)}" for reach in plan.layout.reaches),
        f"  price       {price_words(plan)}",
        *([f"  sharing     {sharing_words(plan)}"] if sharing_words(plan) else []),
        f"  route       {plan.layout.certificate}",
        *(f"  or          {name}: {why}" for name, why in alternative_words(plan)),
        *([f"  tapes       {worst_words(plan.site.net, print_)}"] if plan.site.net else []),
        *(f"  drawing     {plan_holds}" for plan_holds in tolerance_words(plan)[:1]),
        f"  cut         {print_.length(min(cuts))} to {print_.length(max(cuts))}"
        + ("" if works.levelled else ", from ground surface only"),
        f"  dirt        {print_.volume(volumes.bank_m3)} bank, {print_.volume(volumes.loose_m3)} loose, "
        f"haul off {print_.volume(volumes.haul_off_m3)} loose",
        f"  crossings   {len(works.crossings)}",
    ]
    lines += _locate_lines(plan)
    counts = Counter(finding.verdict for finding in plan.findings)
    lines.append(
        "  verdicts    "
        + ", ".join(f"{counts[verdict]} {verdict}" for verdict in WORST_FIRST if counts[verdict])
    )
    for finding in plan.findings:
        if finding.verdict in ("short", "needs approval", "too close to call"):
            lines.append(
                f"    {finding.number}. {finding.verdict}: {finding.what}{_numbers(finding, print_)}"
            )
            if finding.settle:
                lines.append(f"       {finding.settle}")
    if left := nobody_looked(plan):
        lines.append(f"    not checked: {left}")
    lines += [f"  {words}" for words in _of_the_rules(plan)]
    lines.append(f"  {_caution(plan, print_)}")
    return "\n".join(lines)


def _of_the_rules(plan: Plan) -> list[str]:
    return [
        *warnings(plan),
        *not_whole(plan),
        *(f"Replaced for this site: {words}." for words in replaced(plan)),
    ]


def _locate_lines(plan: Plan) -> list[str]:
    if plan.call is None:
        return []
    unknown = ("the rules held do not say how the wait is counted: ask the one-call centre",)
    dates = plan.locate_dates
    first, *others = dates.words if dates else unknown
    return [f"  locate      {first}", *(f"              {line}" for line in others)]


def _numbers(finding: Finding, print_: Printer) -> str:
    if finding.measured_m is None:
        return ""
    advised = " advised" if finding.citation and finding.citation.force == "advised" else ""
    return f", {measured_text(finding, print_)} against {finding.required_text}{advised}"


def measured_text(finding: Finding, print_: Printer) -> str:
    """Print a measured value: a length, a size (cover, separation) or degrees; ``""`` if there is none.

    A value that is not clear never prints as its requirement does: it is printed finer, or as just under or over it.
    """
    measured, required = finding.measured_m, finding.required_m
    text = _value(finding, measured, print_)
    if measured is None or required is None or finding.verdict == "clear" or measured == required:
        return text
    if text == _value(finding, required, print_):
        text = _value(finding, measured, print_, finer=True)
        if text == _value(finding, required, print_, finer=True):
            text = f"just {'under' if measured < required else 'over'} {text}"
    return text


def margin_text(finding: Finding, print_: Printer) -> str:
    """Print a margin with its sign, finer where the measured value is; ``""`` if there is none."""
    margin = finding.margin_m
    text = _value(finding, margin, print_)
    if finding.verdict != "clear" and text and not _says_something(text):
        text = _value(finding, margin, print_, finer=True)
    if not _says_something(text):
        return text.removeprefix("-")
    return f"+{text}" if margin is not None and margin > 0 else text


def _says_something(number: str) -> bool:
    return any(digit in number for digit in "123456789")


def error_text(finding: Finding, print_: Printer) -> str:
    """Print an error band; ``""`` if there is none."""
    return _value(finding, finding.error_m, print_)


def where_text(finding: Finding, print_: Printer) -> str:
    """Print the stretch of trench that a finding speaks of: `` (Main 0+00.0 to 1+35.5)``; ``""`` if it has none."""
    if finding.from_m is None or finding.to_m is None:
        return ""
    stations = [print_.station(finding.from_m), print_.station(finding.to_m)]
    return f" ({finding.reach} {' to '.join(dict.fromkeys(stations))})"


def _value(finding: Finding, value: float | None, print_: Printer, *, finer: bool = False) -> str:
    if value is None:
        return ""
    if finding.unit == "deg":
        return f"{value:.{int(finer)}f} deg"
    small = (
        finding.topic != "setback"
        and max(abs(finding.measured_m or 0.0), abs(finding.required_m or 0.0)) < SMALL_M
    )
    return print_.short(value, finer=finer) if small else print_.length(value, finer=finer)


def _caution(plan: Plan, print_: Printer) -> str:
    depth = print_.length(plan.requirements.trench.protection_depth_m.value)
    return f"Call for locates and wait; hand dig in the tolerance zone; no entry at {depth} deep without protection. {DECIDES}"


def _count(number: int, one: str, many: str) -> str:
    return f"{number} {one if number == 1 else many}"


def review_table(plan: Plan, width: int = 118) -> str:
    """Findings as a plain table, worst first, as text."""
    from rich import box
    from rich.console import Console
    from rich.table import Table
    from rich.text import Text

    print_ = Printer(plan.site.units)
    table = Table(box=box.SIMPLE, pad_edge=False, header_style="")
    for name, justify in (
        ("No.", "right"),
        ("verdict", "left"),
        ("from - to", "left"),
        ("required", "right"),
    ):
        table.add_column(name, justify=justify)  # type: ignore[arg-type]
    for name, justify in (("measured", "right"), ("±", "right"), ("margin", "right"), ("rule", "left")):
        table.add_column(name, justify=justify)  # type: ignore[arg-type]
    speaking = [finding for finding in plan.findings if finding.verdict != "not applicable"]
    for finding in speaking:
        if finding.topic == "unlooked":
            continue
        citation = finding.citation
        rule = "" if citation is None else citation.text
        if citation and citation.force != "required":
            rule += " (advised)" if citation.force == "advised" else " (by approval)"
        if citation and not citation.confirmed:
            rule += " unconfirmed"
        cells = [
            str(finding.number),
            finding.verdict,
            finding.what + where_text(finding, print_),
            "in words" if in_words_only(finding) else finding.required_text,
            measured_text(finding, print_),
            error_text(finding, print_),
            margin_text(finding, print_),
            rule,
        ]
        table.add_row(*(Text(cell) for cell in cells))
    out = io.StringIO()
    console = Console(file=out, width=width, force_terminal=False, color_system=None)
    console.print(Text(f"{plan.site.name}: setback review under {plan.site.rules}"))
    console.print(table)
    if left := nobody_looked(plan):
        console.print(Text(f"Not checked, {left}. Draw each, or write in [looked] who looked and how far."))
    for finding in plan.findings:
        if finding.settle and finding.verdict != "clear" and finding.topic != "unlooked":
            console.print(Text(f"{finding.number}. {finding.settle}"))
    if len(speaking) < len(plan.findings):
        quiet = len(plan.findings) - len(speaking)
        console.print(Text(f"{quiet} more rows do not apply here; findings.json says why for each."))
    for words in _of_the_rules(plan):
        console.print(Text(words))
    console.print(Text(_caution(plan, print_)))
    return out.getvalue()
