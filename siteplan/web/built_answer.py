"""What the page is told of the as-built record: the places to tape with what is expected there, and how it came out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from shapely import Point

from siteplan.check import worst_verdict
from siteplan.document.model import Plan
from siteplan.document.record_model import Record
from siteplan.document.record_words import cover_words, deviation_words, point_name
from siteplan.document.summary import measured_text
from siteplan.measure.tie_list import TiePoint, tie_points
from siteplan.read.shot_row import TIES
from siteplan.units import Printer, UnitFault, parse_length

Rows = Sequence[Mapping[str, str]]


def tie_list_answer(plan: Plan, rows: Rows) -> dict[str, Any]:
    """Return the tie list as on the sheet, with the rows of ``shots.csv`` that are of its places, and the other rows."""
    print_ = Printer(plan.site.units)
    points = tie_points(plan.site, plan.layout, plan.works)
    taken = {number: point.number for number, row in enumerate(rows) if (point := _point_of(row, points))}
    return {
        "points": [
            {
                "number": point.number,
                "what": point.what,
                "name": _name(point),
                "where": ", ".join(f"{reach} {print_.station(along)}" for reach, along in point.places),
                "reach": point.places[0][0],
                "station": print_.station(point.places[0][1]),
                "side": point.side,
                "at": _degrees(plan, point.x, point.y),
                "ties": [
                    {
                        "corner": tie.name,
                        "tape": print_.length(tie.tape_m),
                        "at": _degrees(plan, tie.x, tie.y),
                    }
                    for tie in _own(point)
                ],
                "lines": [
                    {"id": line, "name": plan.site.line(line).name, "cover": print_.short(cover_m)}
                    for line, cover_m in point.covers
                ],
                "rows": [n for n, number in taken.items() if number == point.number],
            }
            for point in points
        ],
        "rows": [dict(row) for row in rows],
        "other_rows": [n for n in range(len(rows)) if n not in taken],
        "corners": [corner.name for corner in plan.works.corners],
    }


def _degrees(plan: Plan, x: float, y: float) -> list[float] | None:
    """Longitude and latitude, to be drawn; nothing for a site in a tape grid."""
    if not plan.frame.placed:
        return None
    place = plan.frame.to_lonlat(Point(x, y))
    return [round(place.x, 9), round(place.y, 9)]


def _name(point: TiePoint) -> str:
    """What a row calls it."""
    return point.what.partition(",")[0]


def _own(point: TiePoint) -> list[Any]:
    """Tapes from corners; not those from other points of the list, which may not lie where they were planned."""
    return [tie for tie in point.ties if not tie.name.startswith("point ")]


def _point_of(row: Mapping[str, str], points: Sequence[TiePoint]) -> TiePoint | None:
    """The place that a row is of: of those with its name and line, the one that its tapes or its station fit best."""
    name = row.get("what", "").strip().casefold()
    line = row.get("line", "").strip()
    same = [
        point
        for point in points
        if name and name in point.what.casefold() and line in {covered for covered, _ in point.covers}
    ]
    return min(same, key=lambda point: _misfit_m(row, point), default=None)


def _misfit_m(row: Mapping[str, str], point: TiePoint) -> float:
    expected = {tie.name.casefold(): tie.tape_m for tie in point.ties}
    misfit = 0.0
    for corner, tape in TIES:
        planned_m = expected.get(row.get(corner, "").strip().casefold())
        if planned_m is None:
            continue
        try:
            misfit += abs(parse_length(row.get(tape, "")) - planned_m)
        except UnitFault:
            continue
    return misfit


def record_answer(record: Record) -> dict[str, Any]:
    """Return how it came out: each point against the plan, the verdicts that differ, what to look at again."""
    plan, print_ = record.plan, Printer(record.plan.site.units)
    holding = [point for line in record.built.lines for point in line.points]
    return {
        "points": [
            {
                "line": plan.site.line(point.measurement.line).name,
                "point": point_name(plan, point),
                "off": deviation_words(plan, point),
                "cover": cover_words(plan, point),
            }
            for point in holding
        ],
        "unmeasured": [plan.site.line(line.line).name for line in record.built.lines if not line.points],
        "changes": [
            {
                "what": change.after.what,
                "before": change.before.verdict if change.before else "not in the plan",
                "after": change.after.verdict,
                "measured": measured_text(change.after, print_),
                "required": change.after.required_text,
                "settle": change.after.settle,
            }
            for change in record.changes
        ],
        "worst": worst_verdict(record.findings),
        "warnings": list(record.built.warnings),
    }
