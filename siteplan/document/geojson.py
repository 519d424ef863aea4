"""The plan and the as-built as RFC 7946 GeoJSON: nine decimals, right-hand winding, no ``crs`` member.

Numbers in the properties are SI with the unit in the name; beside them stands the printed text. Anyone's GIS opens both files.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from shapely import LineString, Point, Polygon, get_coordinates, unary_union
from shapely.geometry import MultiPolygon
from shapely.geometry.base import BaseGeometry
from shapely.geometry.polygon import orient
from shapely.ops import substring

from siteplan.document.cautions import DECIDES
from siteplan.document.model import Plan
from siteplan.errors import NoRoute
from siteplan.route.model import Reach
from siteplan.site.catalogue import products
from siteplan.site.features import Line
from siteplan.units import Printer

DECIMALS = 9
"""Decimals of a degree: 0.1 mm on the ground."""

NOT_A_PERMIT = f"{DECIDES} Call for locates and wait before digging."


def geometry(shape: BaseGeometry) -> dict[str, Any]:
    """RFC 7946 geometry of a shape in degrees: outer rings counter-clockwise, holes clockwise, nine decimals.

    >>> geometry(Polygon([(0, 0), (0, 1), (1, 1)]))["coordinates"]
    [[[0.0, 0.0], [1.0, 1.0], [0.0, 1.0], [0.0, 0.0]]]
    """
    if isinstance(shape, Polygon):
        turned = orient(shape)
        return {
            "type": "Polygon",
            "coordinates": [_places(ring) for ring in (turned.exterior, *turned.interiors)],
        }
    if isinstance(shape, MultiPolygon):
        return {
            "type": "MultiPolygon",
            "coordinates": [geometry(part)["coordinates"] for part in shape.geoms],
        }
    if hasattr(shape, "geoms"):
        return {
            "type": shape.geom_type,
            "coordinates": [geometry(part)["coordinates"] for part in shape.geoms],
        }
    places = _places(shape)
    return {"type": shape.geom_type, "coordinates": places[0] if isinstance(shape, Point) else places}


def _places(shape: BaseGeometry) -> list[list[float]]:
    return [[round(x, DECIMALS), round(y, DECIMALS)] for x, y in get_coordinates(shape).tolist()]


def feature(shape: BaseGeometry, properties: Mapping[str, Any], feature_id: str) -> dict[str, Any]:
    """One GeoJSON feature; ``shape`` in degrees."""
    return {"type": "Feature", "id": feature_id, "properties": dict(properties), "geometry": geometry(shape)}


def collection(features: Iterable[dict[str, Any]], **members: Any) -> str:
    """Write a FeatureCollection, one feature a line."""
    head = "".join(
        f"{json.dumps(key)}: {json.dumps(value, ensure_ascii=False)},\n" for key, value in members.items()
    )
    rows = ",\n".join(json.dumps(each, ensure_ascii=False, allow_nan=False) for each in features)
    return f'{{"type": "FeatureCollection",\n{head}"features": [\n{rows}\n]}}\n'


def plan_geojson(plan: Plan) -> str:
    """All of the plan: the site as read, trenches, lines, bends, crossings, measured distances and kept-off areas."""
    return collection(_plan_features(plan), name=plan.site.name, note=NOT_A_PERMIT)


def _plan_features(plan: Plan) -> Iterator[dict[str, Any]]:
    site, frame = plan.site, plan.frame
    for each in site.features:
        facts = {name: _round(value) for name, value in sorted(each.facts.items())}
        properties = {
            "theme": "site",
            "kind": each.kind,
            "name": each.name,
            "status": each.status,
            "method": each.evidence.method,
            "error_95_m": _round(each.evidence.radius_m),
            "edge_m": _round(each.evidence.edge_m),
            **facts,
        }
        yield feature(frame.to_lonlat(each.shape), properties, each.id)
    for reach in plan.layout.reaches:
        yield feature(frame.to_lonlat(reach.path), _reach_properties(plan, reach), f"trench-{reach.name}")
    for line in site.lines:
        yield feature(
            frame.to_lonlat(line_shape(plan, line.id)), _line_properties(plan, line), f"line-{line.id}"
        )
    yield from _points(plan)
    for finding in plan.findings:
        if len(finding.points) != 2:
            continue
        properties = {
            "theme": "finding",
            "number": finding.number,
            "what": finding.what,
            "verdict": finding.verdict,
            "required": finding.required_text,
            "measured_m": _round(finding.measured_m),
            "error_m": _round(finding.error_m),
            "margin_m": _round(finding.margin_m),
            "citation": finding.citation.text if finding.citation else "",
        }
        yield feature(frame.to_lonlat(LineString(finding.points)), properties, f"finding-{finding.number}")
    for number, kept in enumerate(plan.layout.kept_off, 1):
        properties = {
            "theme": "kept off",
            "of": kept.feature,
            "distance_m": _round(kept.distance_m),
            "required_m": _round(kept.required_m),
            "error_m": _round(kept.error_m),
            "half_width_m": _round(kept.half_width_m),
            "row": kept.row,
            "lines": list(kept.lines),
        }
        yield feature(frame.to_lonlat(kept.area), properties, f"kept-off-{number}")


def _reach_properties(plan: Plan, reach: Reach) -> dict[str, Any]:
    sections = [station for station in plan.works.stations if station.reach == reach.name]
    return {
        "theme": "trench",
        "name": reach.name,
        "length_m": _round(reach.length_m),
        "length": Printer(plan.site.units).length(reach.length_m),
        "deepest_cut_m": _round(max(station.cut_m for station in sections)),
        "lines": [run.line for run in reach.runs],
        "parent": reach.parent,
        "parent_station_m": _round(reach.parent_m),
    }


def line_shape(plan: Plan, line: str) -> LineString | Point:
    """Centreline of one line over all its reaches, ground metres, from its start; a point if it ends where it tees off."""
    places: list[tuple[float, float]] = []
    for name, begin, end in plan.layout.path(line).legs:
        for place in get_coordinates(substring(plan.layout.reach(name).path, begin, end)).tolist():
            if not places or Point(place).distance(Point(places[-1])) > 1e-9:
                places.append((place[0], place[1]))
    return LineString(places) if len(places) > 1 else Point(places[0])


def _line_properties(plan: Plan, line: Line) -> dict[str, Any]:
    return {
        "theme": "line",
        "name": line.name,
        "carries": line.carries,
        "product": products()[line.product].name,
        "from": line.start,
        "to": line.end,
        "length_m": _round(dict(plan.works.developed_m).get(line.id)),
        "covers": [
            {
                "reach": reach,
                "from_m": _round(begin),
                "to_m": _round(end),
                "cover_m": _round(laid.cover_m),
                "required_m": _round(laid.required.least_m),
                "row": laid.required.citation.row,
            }
            for reach, begin, end, section in plan.works.stretches(plan.layout.reaches)
            for laid in section.lines
            if laid.line == line.id
        ],
    }


def _points(plan: Plan) -> Iterator[dict[str, Any]]:
    print_ = Printer(plan.site.units)
    for number, station in enumerate(plan.works.stations, 1):
        properties = {
            "theme": "station",
            "reach": station.reach,
            "station": print_.station(station.distance_m),
            "distance_m": _round(station.distance_m),
            "what": station.what,
            "cut_m": _round(station.cut_m),
            "cut": print_.length(station.cut_m),
            "width_m": _round(station.width_m),
            "hand_dig": station.hand_dig,
        }
        place = plan.frame.to_lonlat(Point(station.x, station.y))
        yield feature(place, properties, f"station-{number}")
    for crossing in plan.works.crossings:
        properties = {
            "theme": "crossing",
            "number": crossing.number,
            "of": crossing.feature,
            "angle_deg": _round(crossing.angle_deg),
            "their_depth_m": _round(crossing.their_depth_m),
            "over": crossing.over,
            "clear_m": _round(crossing.clear_m),
            "required_m": _round(crossing.required_m),
            "hand_dig_from_m": _round(crossing.hand_from_m),
            "hand_dig_to_m": _round(crossing.hand_to_m),
        }
        place = plan.frame.to_lonlat(Point(crossing.x, crossing.y))
        yield feature(place, properties, f"crossing-{crossing.number}")


def asbuilt_geojson(plan: Plan) -> str:
    """The record before the dig: the lines as planned, every value marked ``planned`` until it is measured."""
    return collection(
        _asbuilt_features(plan),
        name=plan.site.name,
        standing="planned",
        note="Planned, not built: nothing here was measured in the open trench. " + NOT_A_PERMIT,
    )


def _asbuilt_features(plan: Plan) -> Iterator[dict[str, Any]]:
    frame = plan.frame
    for line in plan.site.lines:
        product = products()[line.product]
        properties = {
            "theme": "line",
            "name": line.name,
            "carries": line.carries,
            "from": line.start,
            "to": line.end,
            "standing": {"position": "planned", "cover": "planned", "material": "planned"},
            "position_error_95_m": _round(plan.site.digging.laying.radius_m),
            "material": product.name,
            "outside_diameter_m": _round(product.outside_m),
            "length_m": _round(dict(plan.works.developed_m).get(line.id)),
            "covers": _line_properties(plan, line)["covers"],
            "date": None,
            "crew": None,
            "ticket_number": None,
            "tracer_ends": None,
        }
        yield feature(frame.to_lonlat(line_shape(plan, line.id)), properties, line.id)
    print_ = Printer(plan.site.units)
    for number, station in enumerate(plan.works.stations, 1):
        if not station.ties:
            continue
        properties = {
            "theme": "point",
            "what": station.what,
            "reach": station.reach,
            "station": print_.station(station.distance_m),
            "distance_m": _round(station.distance_m),
            "cut_m": _round(station.cut_m),
            "ties": [
                {"from": corner, "tape_m": _round(tape), "tape": print_.length(tape)}
                for corner, tape in station.ties
            ],
            "standing": {"position": "planned", "cut": "planned"},
        }
        yield feature(frame.to_lonlat(Point(station.x, station.y)), properties, f"point-{number}")
    for corner in plan.works.corners:
        place = frame.to_lonlat(Point(corner.x, corner.y))
        yield feature(place, {"theme": "corner", "name": corner.name}, f"corner-{corner.name}")


def dig_area(plan: Plan, margin_m: float) -> BaseGeometry:
    """Ground within ``margin_m`` of any trench, ground metres."""
    return unary_union([reach.path.buffer(margin_m) for reach in plan.layout.reaches])


def _round(value: Any) -> Any:
    return round(value, 4) if isinstance(value, float) else value


def blocked_geojson(closed: NoRoute) -> str:
    """What closes the way, for a GIS; ``closed.where`` in degrees."""
    parts = getattr(closed.where, "geoms", [closed.where])
    return collection(
        (
            feature(part, {"theme": "blocks the way", "of": list(closed.blockers)}, f"blocks-{number}")
            for number, part in enumerate(parts, 1)
        ),
        note=str(closed),
    )
