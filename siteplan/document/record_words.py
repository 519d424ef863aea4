"""The as-built record in words: each point in one line, and what the terminal shows after ``record``."""

from __future__ import annotations

from collections.abc import Iterator

from siteplan.check.built import cover_verdict
from siteplan.check.finding import Finding
from siteplan.document.model import Plan
from siteplan.document.record_model import Change, Record
from siteplan.document.summary import measured_text
from siteplan.document.words import bearing_deg, compass
from siteplan.measure.record_model import BuiltPoint
from siteplan.units import Printer

NOTHING_M = 0.0152
"""A deviation below this [m] is none: half of 0.1 ft, as lengths print."""


def point_name(plan: Plan, point: BuiltPoint) -> str:
    """What a point is called: its name and its place on the route sheet."""
    place = f"{point.reach} {Printer(plan.site.units).station(point.station_m)}"
    return f"{point.measurement.what} ({place})" if point.measurement.what else place


def deviation_words(plan: Plan, point: BuiltPoint) -> str:
    """How far a point lies off its plan, and which way; a point with a name from where that was planned."""
    print_ = Printer(plan.site.units)
    if not point.measurement.placed:
        return "place not measured"
    if point.planned is not None and point.moved_m is not None:
        if point.moved_m < NOTHING_M:
            return "as planned"
        if plan.frame.north_known:
            which = compass(bearing_deg(point.planned, (point.x, point.y)))
            return f"{print_.length(point.moved_m)} {which} of plan"
    if abs(point.off_m) < NOTHING_M:
        return "on the planned line"
    return f"{print_.length(abs(point.off_m))} {'left' if point.off_m > 0 else 'right'} of plan"


def cover_words(plan: Plan, point: BuiltPoint) -> str:
    """Cover against what the rules ask; ``""`` where none was taped."""
    print_, taken, required_m = Printer(plan.site.units), point.measurement, point.required_cover_m
    if taken.cover_m is None:
        return ""
    text = f"cover {print_.short(taken.cover_m)}"
    if required_m is None:
        return f"{text}, no number in these rules"
    verdict = cover_verdict(point)
    said = {"clear": "holds", "short": "SHORT"}.get(str(verdict), verdict)
    return f"{text} against {print_.short(required_m)}: {said}"


def point_words(plan: Plan, point: BuiltPoint) -> str:
    """Everything about one point in one line."""
    print_, taken = Printer(plan.site.units), point.measurement
    ties = ", ".join(f"{print_.length(tape)} from {corner}" for corner, tape in point.ties)
    parts = [
        deviation_words(plan, point),
        cover_words(plan, point),
        ties,
        f"known within {print_.length(taken.evidence.radius_m)}",
        taken.day.isoformat() if taken.day else "",
        taken.crew,
        taken.note,
    ]
    return "; ".join(part for part in parts if part)


def record_table(record: Record) -> str:
    """What a contractor reads after ``record``: each point, the verdicts that differ from the plan, what to look at again."""
    return "\n".join(_lines(record)) + "\n"


def _lines(record: Record) -> Iterator[str]:
    plan, built = record.plan, record.built
    for line in built.lines:
        name = plan.site.line(line.line).name
        if not line.points:
            yield f"{name}: not measured, as planned"
            continue
        yield f"{name}: position {line.position}, cover {line.cover}"
        for point in line.points:
            words = ", ".join(
                part for part in (deviation_words(plan, point), cover_words(plan, point)) if part
            )
            yield f"  {point_name(plan, point)}: {words}"
    yield ""
    if not record.changes:
        yield "No verdict differs from the plan's."
    else:
        yield "Verdicts that differ from the plan's:"
        for change in record.changes:
            yield from _change(change, Printer(plan.site.units))
    yield from _where_short(record)
    for warning in built.warnings:
        yield f"Look again: {warning}"


def _change(change: Change, print_: Printer) -> Iterator[str]:
    after = change.after
    was = change.before.verdict if change.before else "not in the plan"
    now = "SHORT" if after.verdict == "short" else after.verdict
    yield f"  {after.number}. {after.what}: {was} -> {now}{_numbers(after, print_)}"
    if after.settle:
        yield f"     {after.settle}"


def _numbers(finding: Finding, print_: Printer) -> str:
    if finding.measured_m is None:
        return ""
    error = f" ± {print_.length(finding.error_m)}" if finding.error_m and finding.topic != "cover" else ""
    advised = " advised" if finding.citation and finding.citation.force == "advised" else ""
    return f", {measured_text(finding, print_)}{error} against {finding.required_text}{advised}"


def _where_short(record: Record) -> Iterator[str]:
    print_ = Printer(record.plan.site.units)
    for finding in record.findings:
        if finding.topic == "cover" and finding.verdict == "short":
            stretch = " to ".join(print_.station(m) for m in (finding.from_m, finding.to_m) if m is not None)
            least = f"least {measured_text(finding, print_)} against {finding.required_text}"
            yield f"Cover short: {finding.what}, {finding.reach} {stretch}, {least}"
