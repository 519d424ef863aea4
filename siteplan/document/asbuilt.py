"""The record after the dig: what was measured, what is still only planned, point by point."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from shapely import LineString, Point

from siteplan.document.geojson import NOT_A_PERMIT, collection, feature, line_shape
from siteplan.document.model import Plan
from siteplan.measure.record import Built
from siteplan.site.catalogue import products
from siteplan.units import Printer


def record_geojson(plan: Plan, built: Sequence[Built]) -> str:
    """Built lines and measured points, RFC 7946; every value is marked planned or measured."""
    return collection(
        _features(plan, built),
        name=plan.site.name,
        standing="as built where measured",
        note="A line is drawn straight between its measured points. " + NOT_A_PERMIT,
    )


def _features(plan: Plan, built: Sequence[Built]) -> Iterator[dict[str, Any]]:
    for line in plan.site.lines:
        points = [each for each in built if each.shot.line == line.id]
        measured = len(points) >= 2
        shape = LineString([(each.x, each.y) for each in points]) if measured else line_shape(plan, line.id)
        properties = {
            "theme": "line",
            "name": line.name,
            "carries": line.carries,
            "from": line.start,
            "to": line.end,
            "standing": {
                "position": "measured" if measured else "planned",
                "cover": "measured" if any(each.shot.cover_m is not None for each in points) else "planned",
                "material": "planned",
            },
            "material": products()[line.product].name,
            "measured_points": len(points),
        }
        yield feature(plan.frame.to_lonlat(shape), properties, line.id)
    for number, each in enumerate(built, 1):
        yield feature(plan.frame.to_lonlat(Point(each.x, each.y)), _point(plan, each), f"shot-{number}")


def _point(plan: Plan, each: Built) -> dict[str, Any]:
    shot = each.shot
    return {
        "theme": "point",
        "line": shot.line,
        "reach": each.reach,
        "station": Printer(plan.site.units).station(each.station_m),
        "off_plan_m": round(each.off_m, 4),
        "cover_m": None if shot.cover_m is None else round(shot.cover_m, 4),
        "required_cover_m": None if each.required_m is None else round(each.required_m, 4),
        "cover_verdict": "" if shot.cover_m is None else "short" if each.short else "holds the plan's rule",
        "standing": {"position": "measured", "cover": "planned" if shot.cover_m is None else "measured"},
        "method": shot.evidence.method,
        "error_95_m": round(shot.evidence.radius_m, 4),
        "date": shot.date.isoformat() if shot.date else None,
        "crew": shot.crew or None,
        "photo": shot.photo or None,
        "note": shot.note or None,
    }


def record_table(plan: Plan, built: Sequence[Built]) -> str:
    """The measured points as lines of text: where, how far off the plan, cover against what the rules ask."""
    print_ = Printer(plan.site.units)
    rows = []
    for each in built:
        side = "left" if each.off_m >= 0 else "right"
        text = f"{each.shot.line} {each.reach} {print_.station(each.station_m)}: {print_.length(abs(each.off_m))} {side} of plan"
        if each.shot.cover_m is not None:
            text += f", cover {print_.short(each.shot.cover_m)}"
            if each.required_m is not None:
                text += f" against {print_.short(each.required_m)}: " + ("SHORT" if each.short else "holds")
        rows.append(text)
    return "\n".join(rows) + "\n"
