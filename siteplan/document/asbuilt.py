"""``asbuilt.geojson``, before and after the dig: what was measured, what is still only planned, value by value.

It holds all that finds a point again from this file alone: the corners to tape from, the tapes, the height of the site and its
units; and each row of the shots as written, so that a later visit adds to it.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from shapely import Point

from siteplan.document.geojson import NOT_A_PERMIT, collection, feature, line_properties, rounded
from siteplan.document.model import Plan
from siteplan.document.record_model import Record
from siteplan.measure.built_places import stands_for
from siteplan.measure.model import Station
from siteplan.measure.record_model import BuiltLine, BuiltPoint
from siteplan.measure.ties import Ties
from siteplan.site.catalogue import products
from siteplan.site.features import Line
from siteplan.site.record import Measurement
from siteplan.units import Printer

SAME_M = 0.01
"""A planned point within this [m] of where a measured one was planned is that point."""


def asbuilt_geojson(plan: Plan) -> str:
    """The record before the dig: the lines as planned, every value marked ``planned`` until it is measured."""
    return collection(
        _planned(plan),
        name=plan.site.name,
        standing="planned",
        units=plan.site.units,
        elevation_m=rounded(plan.site.elevation_m),
        note="Planned, not built: nothing here was measured in the open trench. " + NOT_A_PERMIT,
    )


def record_geojson(record: Record) -> str:
    """The record after the dig, RFC 7946; every value is marked planned, measured or confirmed."""
    plan = record.plan
    return collection(
        _built(record),
        name=plan.site.name,
        standing="as built where measured",
        units=plan.site.units,
        elevation_m=rounded(plan.site.elevation_m),
        visits=[
            {
                "date": visit.day or None,
                "crew": visit.crew or None,
                "ticket_numbers": list(visit.tickets),
                "points": visit.points,
            }
            for visit in record.built.visits
        ],
        note="Lines go straight between their measured points, else as planned. " + NOT_A_PERMIT,
    )


def _planned(plan: Plan) -> Iterator[dict[str, Any]]:
    for line in plan.site.lines:
        properties = {
            **_line(line),
            "standing": {"position": "planned", "cover": "planned", "material": "planned"},
            "position_error_95_m": rounded(plan.site.digging.laying.radius_m),
            "length_m": rounded(dict(plan.works.developed_m).get(line.id)),
            "covers": line_properties(plan, line)["covers"],
            "date": None,
            "crew": None,
            "ticket_number": None,
            "tracer_ends": None,
        }
        yield feature(plan.frame.to_lonlat(plan.layout.way(line.id)), properties, line.id)
    for number, station in enumerate(plan.works.stations, 1):
        if station.ties:
            yield _planned_point(plan, station, f"point-{number}")
    yield from _corners(plan)


def _line(line: Line) -> dict[str, Any]:
    """What a record says of a line before and after the dig."""
    product = products()[line.product]
    return {
        "theme": "line",
        "name": line.name,
        "carries": line.carries,
        "from": line.start,
        "to": line.end,
        "material": product.name,
        "outside_diameter_m": rounded(product.outside_m),
    }


def _planned_point(plan: Plan, station: Station, feature_id: str) -> dict[str, Any]:
    properties = {
        "theme": "point",
        "what": station.what,
        "reach": station.reach,
        "station": Printer(plan.site.units).station(station.distance_m),
        "distance_m": rounded(station.distance_m),
        "cut_m": rounded(station.cut_m),
        "ties": _ties(plan, station.ties),
        "error_95_m": rounded(plan.site.digging.laying.radius_m),
        "standing": {"position": "planned", "cut": "planned"},
        "superseded": False,
    }
    return feature(plan.frame.to_lonlat(Point(station.x, station.y)), properties, feature_id)


def _ties(plan: Plan, ties: Ties) -> list[dict[str, Any]]:
    print_ = Printer(plan.site.units)
    return [{"from": name, "tape_m": rounded(tape), "tape": print_.length(tape)} for name, tape in ties]


def _corners(plan: Plan) -> Iterator[dict[str, Any]]:
    fixed = list(plan.site.of_kind("well", "building"))
    for corner in plan.works.corners:
        place = Point(corner.x, corner.y)
        status = min(fixed, key=lambda each: each.shape.distance(place)).status
        properties = {"theme": "corner", "name": corner.name, "status": status}
        yield feature(plan.frame.to_lonlat(place), properties, f"corner-{corner.name}")


def _built(record: Record) -> Iterator[dict[str, Any]]:
    plan, built = record.plan, record.built
    for line in plan.site.lines:
        yield _built_line(plan, line, built.line(line.id))
    for drawn in built.lines:
        for number, stretch in enumerate(drawn.stretches, 1):
            properties = {
                "theme": "stretch",
                "line": drawn.line,
                "reach": stretch.reach,
                "from_m": rounded(stretch.from_m),
                "to_m": rounded(stretch.to_m),
                "standing": {"position": stretch.position},
                "error_95_m": rounded(stretch.evidence.radius_m),
            }
            yield feature(plan.frame.to_lonlat(stretch.path), properties, f"{drawn.line}-stretch-{number}")
    for point in built.points:
        taken = point.measurement
        yield feature(Point(taken.longitude_deg, taken.latitude_deg), _built_point(plan, point), taken.id)
    for taken in built.strays:
        place = Point(taken.longitude_deg, taken.latitude_deg)
        yield feature(
            place, {"theme": "point", **_measured(taken, superseded=bool(taken.withdrawn))}, taken.id
        )
    for number, station in enumerate(plan.works.stations, 1):
        if station.ties and not any(_is_that(point, station) for point in built.points):
            yield _planned_point(plan, station, f"point-{number}")
    yield from _corners(plan)


def _built_line(plan: Plan, line: Line, built: BuiltLine) -> dict[str, Any]:
    taped = [each.measurement for each in built.points if each.measurement.cover_m is not None]
    errors = [each.evidence.radius_m for each in built.stretches if each.position == "measured"]
    days = sorted({each.measurement.day.isoformat() for each in built.points if each.measurement.day})
    properties = {
        **_line(line),
        "material_confirmed": _said(built, "material"),
        "size_confirmed": _said(built, "size"),
        "standing": {
            "position": built.position,
            "cover": built.cover,
            "material": "confirmed" if built.said("material") else "planned",
            "size": "confirmed" if built.said("size") else "planned",
        },
        "position_error_95_m": rounded(max(errors, default=plan.site.digging.laying.radius_m)),
        "length_m": rounded(float(built.path.length)),
        "measured_length_m": rounded(built.measured_m),
        "least_cover_m": rounded(
            min((each.cover_m for each in taped if each.cover_m is not None), default=None)
        ),
        "cover_error_95_m": rounded(max((each.cover_error_m for each in taped), default=None)),
        "covers": _covers(plan, line, built),
        "date": days[-1] if days else None,
        "dates": days,
        "crew": _said(built, "crew"),
        "ticket_number": _said(built, "ticket"),
        "tracer_ends": _said(built, "tracer"),
    }
    return feature(plan.frame.to_lonlat(built.path), properties, line.id)


def _said(built: BuiltLine, name: str) -> str | None:
    return "; ".join(built.said(name)) or None


def _covers(plan: Plan, line: Line, built: BuiltLine) -> list[dict[str, Any]]:
    """Cover by stretch: taped at both ends, or as the plan has it."""
    planned = line_properties(plan, line)["covers"]
    found: list[dict[str, Any]] = []
    for cover in built.covers:
        low, high = sorted((cover.from_m, cover.to_m))
        if cover.covers_m is None:
            for each in planned:
                begin, end = max(low, each["from_m"]), min(high, each["to_m"])
                if each["reach"] == cover.reach and end - begin > SAME_M:
                    found.append(
                        {**each, "from_m": rounded(begin), "to_m": rounded(end), "standing": "planned"}
                    )
            continue
        found.append(
            {
                "reach": cover.reach,
                "from_m": rounded(cover.from_m),
                "to_m": rounded(cover.to_m),
                "cover_from_m": rounded(cover.covers_m[0]),
                "cover_to_m": rounded(cover.covers_m[1]),
                "error_95_m": rounded(cover.error_m),
                "standing": "measured",
            }
        )
    return found


def _built_point(plan: Plan, point: BuiltPoint) -> dict[str, Any]:
    return {
        "theme": "point",
        "reach": point.reach,
        "station": Printer(plan.site.units).station(point.station_m),
        "distance_m": rounded(point.station_m),
        "off_plan_m": rounded(point.off_m),
        "planned_as": _planned_as(plan, point),
        "planned_cover_m": rounded(point.planned_cover_m),
        "required_cover_m": rounded(point.required_cover_m),
        "ties": _ties(plan, point.ties),
        **_measured(point.measurement, superseded=point.superseded),
    }


def _measured(taken: Measurement, *, superseded: bool) -> dict[str, Any]:
    """What a measurement says by itself, whatever the plan is: all of it, so that it can be read back."""
    evidence = taken.evidence
    standing = "superseded" if superseded else "measured"
    return {
        "what": taken.what,
        "line": taken.line,
        "standing": {
            "position": standing if taken.placed else "planned",
            "cover": "planned" if taken.cover_m is None else standing,
        },
        "superseded": superseded,
        "withdrawn": taken.withdrawn or None,
        "number": taken.number,
        "cover_m": taken.cover_m,
        "cover_error_95_m": taken.cover_error_m,
        "placed_by": taken.placing,
        "method": evidence.method,
        "error_95_m": rounded(evidence.radius_m),
        "shared_error_95_m": evidence.shared_m,
        "own_error_95_m": evidence.private_m,
        "edge_95_m": evidence.edge_m,
        "outing": evidence.outing,
        "date": taken.day.isoformat() if taken.day else None,
        "time": taken.at.isoformat("minutes") if taken.at else None,
        "crew": taken.crew,
        "ticket_number": taken.ticket,
        "material": taken.material,
        "size": taken.size,
        "tracer_ends": taken.tracer,
        "photos": list(taken.photos),
        "note": taken.note,
        "row": dict(taken.row),
    }


def _planned_as(plan: Plan, point: BuiltPoint) -> str | None:
    """What the plan calls a point, if that says more than the crew does."""
    names = [station.what for station in plan.works.stations if station.ties and _is_that(point, station)]
    return next((name for name in names if name.casefold() != point.measurement.what.casefold()), None)


def _is_that(point: BuiltPoint, station: Station) -> bool:
    """Was a point of the plan measured, under a name."""
    if point.superseded or not point.measurement.placed or not (point.planned or point.measurement.what):
        return False
    return stands_for(point, station.what, (station.x, station.y), [(station.reach, station.distance_m)])
