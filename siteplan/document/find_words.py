"""What ``find`` prints: the named points of a record, or how to get to one of them."""

from __future__ import annotations

from collections.abc import Iterator

from siteplan.document.cautions import DECIDES
from siteplan.document.words import compass
from siteplan.measure.find import FoundPoint, find, named_points
from siteplan.read.asbuilt import RecordedPoint, RecordFile
from siteplan.units import Printer

AT_M = 0.05
"""Nearer than this [m] to a fixed thing a point is at it."""


def points_listed(record: RecordFile) -> str:
    """Every named point, one a line, with its place and its standing."""
    points = named_points(record)
    rows = [(point.what, _place(point), _standing(point)) for point in points]
    widths = [max((len(row[column]) for row in rows), default=0) for column in (0, 1)]
    lines = [f"{what:<{widths[0]}}  {place:<{widths[1]}}  {standing}" for what, place, standing in rows]
    return "\n".join([record.name, *lines]) + "\n"


def point_found(record: RecordFile, name: str) -> str:
    """Tapes, bearings, cover, date and error of each point of a name.

    Raises
    ------
    InputFaults
        No point has that name.
    """
    lines = [line for found in find(record, name) for line in _lines(found, Printer(record.units))]
    caution = f"Call for locates and wait; hand dig. {DECIDES}"
    return "\n".join([*lines, caution]) + "\n"


def _lines(found: FoundPoint, print_: Printer) -> Iterator[str]:
    point = found.point
    planned = f" (planned as {point.planned_as})" if point.planned_as else ""
    yield f"{point.what}{planned}, {_place(point)}: {_standing(point)}"
    for corner, tape_m in found.ties:
        yield f"  tape {print_.length(tape_m)} from {corner}"
    for each in found.fixed:
        if each.distance_m < AT_M:
            yield f"  at {each.name}"
            continue
        way = f"{each.bearing_deg:.0f}° from true north, {compass(each.bearing_deg)}"
        yield f"  {print_.length(each.distance_m)} from {each.name}, at {way}"
    if point.cover_m is not None:
        yield f"  cover {print_.short(point.cover_m)} when it was covered; the ground may have changed since"
    elif point.cut_m is not None:
        yield f"  planned cut {print_.length(point.cut_m)}; cover not measured"
    else:
        yield "  cover not measured"
    if point.error_m is not None:
        yield f"  known within {print_.length(point.error_m)} (95 %)"
    if point.note:
        yield f"  {point.note}"


def _place(point: RecordedPoint) -> str:
    return " ".join(part for part in (point.reach, point.station, point.line) if part)


def _standing(point: RecordedPoint) -> str:
    if point.position != "measured":
        return "cover measured, place as planned" if point.cover_m is not None else "planned, not built"
    when = f" {point.day.isoformat()}" if point.day else ""
    return f"measured{when}{f' by {point.crew}' if point.crew else ''}"
