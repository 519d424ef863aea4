"""The record, before and after the dig: what was measured, what is still only planned, point by point."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from shapely import LineString, Point

from siteplan.document.geojson import NOT_A_PERMIT, collection, feature, line_properties, rounded
from siteplan.document.model import Plan
from siteplan.measure.record import Built
from siteplan.site.catalogue import products
from siteplan.site.features import Line
from siteplan.units import Printer


def asbuilt_geojson(plan: Plan) -> str:
    """The record before the dig: the lines as planned, every value marked ``planned`` until it is measured."""
    return collection(
        _planned(plan),
        name=plan.site.name,
        standing="planned",
        note="Planned, not built: nothing here was measured in the open trench. " + NOT_A_PERMIT,
    )


def _planned(plan: Plan) -> Iterator[dict[str, Any]]:
    frame = plan.frame
    for line in plan.site.lines:
        product = products()[line.product]
        properties = {
            **_line(line),
            "standing": {"position": "planned", "cover": "planned", "material": "planned"},
            "position_error_95_m": rounded(plan.site.digging.laying.radius_m),
            "outside_diameter_m": rounded(product.outside_m),
            "length_m": rounded(dict(plan.works.developed_m).get(line.id)),
            "covers": line_properties(plan, line)["covers"],
            "date": None,
            "crew": None,
            "ticket_number": None,
            "tracer_ends": None,
        }
        yield feature(frame.to_lonlat(plan.layout.way(line.id)), properties, line.id)
    print_ = Printer(plan.site.units)
    for number, station in enumerate(plan.works.stations, 1):
        if not station.ties:
            continue
        properties = {
            "theme": "point",
            "what": station.what,
            "reach": station.reach,
            "station": print_.station(station.distance_m),
            "distance_m": rounded(station.distance_m),
            "cut_m": rounded(station.cut_m),
            "ties": [
                {"from": corner, "tape_m": rounded(tape), "tape": print_.length(tape)}
                for corner, tape in station.ties
            ],
            "standing": {"position": "planned", "cut": "planned"},
        }
        yield feature(frame.to_lonlat(Point(station.x, station.y)), properties, f"point-{number}")
    for corner in plan.works.corners:
        place = frame.to_lonlat(Point(corner.x, corner.y))
        yield feature(place, {"theme": "corner", "name": corner.name}, f"corner-{corner.name}")


def _line(line: Line) -> dict[str, Any]:
    """What a record says of a line before and after the dig."""
    return {
        "theme": "line",
        "name": line.name,
        "carries": line.carries,
        "from": line.start,
        "to": line.end,
        "material": products()[line.product].name,
    }


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
        shape = LineString([(each.x, each.y) for each in points]) if measured else plan.layout.way(line.id)
        properties = {
            **_line(line),
            "standing": {
                "position": "measured" if measured else "planned",
                "cover": "measured" if any(each.shot.cover_m is not None for each in points) else "planned",
                "material": "planned",
            },
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
        "off_plan_m": rounded(each.off_m),
        "cover_m": rounded(shot.cover_m),
        "required_cover_m": rounded(each.required_m),
        "cover_verdict": "" if shot.cover_m is None else "short" if each.short else "holds the plan's rule",
        "standing": {"position": "measured", "cover": "planned" if shot.cover_m is None else "measured"},
        "method": shot.evidence.method,
        "error_95_m": rounded(shot.evidence.radius_m),
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
