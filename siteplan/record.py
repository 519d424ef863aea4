"""The flow of the as-built record on one page: plan, shots and the record so far in, record out.

::

    plan      site folder        -> Plan: what was to be built
    read      shots.csv, record  -> shots, and what earlier visits measured
    measure   shots on the plan  -> Built: points, lines, visits
    check     built              -> Findings, worst first, with the error of the shots
    document  Record             -> asbuilt.geojson and what follows from it
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

from siteplan.check.built import check_built, key
from siteplan.check.finding import WORST_FIRST, Finding
from siteplan.document.record_model import Change, Record
from siteplan.errors import Fault, InputFaults
from siteplan.measure.built_works import BuiltWorks
from siteplan.measure.record import as_built, missing_rows, together, withdrawn
from siteplan.measure.shot_places import measurements
from siteplan.plan import Plan, plan_folder
from siteplan.read.asbuilt import read_measurements
from siteplan.read.shots import Shots, read_shots
from siteplan.site.record import Measurement

__all__ = ["record_folder", "record_plan"]


def record_folder(folder: Path, kept: Path) -> Record:
    """Hold everything that was measured on a site against its plan.

    Parameters
    ----------
    folder : Path
        The site, with ``shots.csv``.
    kept : Path
        ``asbuilt.geojson`` of the visits before; may be missing.

    Raises
    ------
    InputFaults
        All that must be mended in the files.
    """
    earlier = read_measurements(kept)
    plan = plan_folder(folder)
    return record_plan(plan, read_shots(folder, plan.site), earlier)


def record_plan(plan: Plan, shots: Shots, earlier: Iterable[Measurement] = ()) -> Record:
    """Hold shots, and what earlier visits measured, against a plan.

    Raises
    ------
    InputFaults
        Shots that cannot be placed; a site that is nowhere on the earth.
    """
    if not plan.frame.placed:
        raise InputFaults(
            [
                Fault(
                    file="site.toml",
                    where="grid",
                    found="a tape grid without an origin",
                    expected="origin = [longitude, latitude] of its 0, 0, as the record holds degrees",
                    mend="read it off a phone or a county map: the tapes keep the shape",
                )
            ]
        )
    site, layout, works = plan.site, plan.layout, plan.works
    earlier = tuple(earlier)
    known = {each.id for each in earlier}
    told = (shot for shot in shots.shots if shot.id not in known)
    first = max((each.number for each in earlier), default=0) + 1
    new = measurements(site, layout, works, told, plan.frame, first=first)
    measured = together(withdrawn(earlier, shots.shots), new)
    built = as_built(site, layout, works, measured, plan.frame)
    left = missing_rows(earlier, shots.shots)
    built = replace(built, warnings=(*shots.warnings, *left, *built.warnings))
    pieces = BuiltWorks(site, plan.requirements, layout, works, plan.ground, built)
    findings = check_built(site, plan.requirements, layout, works, built, pieces, plan.findings)
    return Record(plan=plan, built=built, findings=findings, changes=changes(plan.findings, findings))


def changes(before: Iterable[Finding], after: Iterable[Finding]) -> tuple[Change, ...]:
    """Verdicts that differ, the worst first; of several covers of one line and ground the worst is held against the worst."""
    then, now = _worst_by_key(before), _worst_by_key(after)
    differ = [
        Change(before=then.get(about), after=finding)
        for about, finding in now.items()
        if about not in then or then[about].verdict != finding.verdict
    ]
    return tuple(sorted(differ, key=lambda each: each.after.number))


def _worst_by_key(findings: Iterable[Finding]) -> dict[tuple[str, ...], Finding]:
    found: dict[tuple[str, ...], Finding] = {}
    for each in findings:
        worst = found.setdefault(key(each), each)
        if WORST_FIRST.index(each.verdict) < WORST_FIRST.index(worst.verdict):
            found[key(each)] = each
    return found
