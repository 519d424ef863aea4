"""The plan as RFC 7946 GeoJSON: nine decimals, right-hand winding, no ``crs`` member.

Numbers in the properties are SI with the unit in the name; beside them stands the printed text. Anyone's GIS opens it.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import asdict
from itertools import chain
from typing import Any

from shapely import GeometryCollection, LineString, Point, Polygon, get_coordinates, orient_polygons
from shapely.geometry import MultiLineString, MultiPolygon
from shapely.geometry.base import BaseGeometry

from siteplan.document.cautions import DECIDES
from siteplan.document.model import Plan
from siteplan.document.symbols import is_on_the_ground
from siteplan.errors import NoRoute
from siteplan.route.model import Reach
from siteplan.site.catalogue import products
from siteplan.site.features import Line
from siteplan.units import Printer

DECIMALS = 9
"""Decimals of a degree: 0.1 mm on the ground."""

NOT_A_PERMIT = f"{DECIDES} Call for locates and wait before digging."

_Drawn = tuple[BaseGeometry, dict[str, Any], str]
"""One feature of the plan: its shape in ground metres, its properties, its id."""


def geometry(shape: BaseGeometry) -> dict[str, Any]:
    """RFC 7946 geometry of a shape in degrees: outer rings counter-clockwise, holes clockwise, nine decimals.

    >>> geometry(Polygon([(0, 0), (0, 1), (1, 1)]))["coordinates"]
    [[[0.0, 0.0], [1.0, 1.0], [0.0, 1.0], [0.0, 0.0]]]
    """
    if isinstance(shape, Polygon):
        turned = orient_polygons(shape)
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
    return collection(plan_features(plan), name=plan.site.name, note=NOT_A_PERMIT)


def plan_features(plan: Plan, leave_out: frozenset[str] = frozenset()) -> list[dict[str, Any]]:
    """Features of the plan as ``plan_geojson`` writes them, without those of some themes."""
    themes = {
        "trench": _trenches,
        "line": _lines,
        "station": _stations,
        "crossing": _crossings,
        "finding": _findings,
        "other way": _other_ways,
        "kept off": _kept_off,
    }
    drawn = (make(plan) for theme, make in themes.items() if theme not in leave_out)
    kept = [*_things(plan), *chain.from_iterable(drawn)]
    moved = plan.frame.to_lonlat(GeometryCollection([shape for shape, _, _ in kept]))
    return [
        feature(shape, properties, feature_id)
        for shape, (_, properties, feature_id) in zip(moved.geoms, kept, strict=True)
    ]


def _things(plan: Plan) -> Iterator[_Drawn]:
    """What the site has, and the ways wanted by hand."""
    for each in plan.site.features:
        facts = {name: rounded(value) for name, value in sorted(each.facts.items())}
        properties = {
            "theme": "site" if is_on_the_ground(each) else "wanted way",
            "kind": each.kind,
            "name": each.name,
            "status": each.status,
            "method": each.evidence.method,
            "error_95_m": rounded(each.evidence.radius_m),
            "edge_m": rounded(each.evidence.edge_m),
            **({"tolerance_zone_m": rounded(each.evidence.zone_m)} if each.evidence.zone_m else {}),
            **facts,
        }
        yield each.shape, properties, each.id


def _trenches(plan: Plan) -> Iterator[_Drawn]:
    for reach in plan.layout.reaches:
        yield reach.path, _reach_properties(plan, reach), f"trench-{reach.name}"


def _lines(plan: Plan) -> Iterator[_Drawn]:
    eased = dict(plan.works.eased)
    for line in plan.site.lines:
        shape = eased[line.id].shape if line.id in eased else plan.layout.way(line.id)
        yield shape, line_properties(plan, line), f"line-{line.id}"


def _findings(plan: Plan) -> Iterator[_Drawn]:
    for finding in plan.findings:
        if len(finding.points) != 2:
            continue
        properties = {
            "theme": "finding",
            "number": finding.number,
            "what": finding.what,
            "verdict": finding.verdict,
            "required": finding.required_text,
            "measured_m": rounded(finding.measured_m),
            "error_m": rounded(finding.error_m),
            "margin_m": rounded(finding.margin_m),
            "citation": finding.citation.text if finding.citation else "",
        }
        yield LineString(finding.points), properties, f"finding-{finding.number}"


def _other_ways(plan: Plan) -> Iterator[_Drawn]:
    for number, other in enumerate(plan.layout.alternatives, 1):
        properties = {
            "theme": "other way",
            "name": other.name,
            "length_m": rounded(other.length_m),
            "price": round(other.price, 2),
            "why": other.why,
        }
        yield MultiLineString(list(other.paths)), properties, f"other-way-{number}"


def _kept_off(plan: Plan) -> Iterator[_Drawn]:
    for number, kept in enumerate(plan.layout.kept_off, 1):
        properties = {
            "theme": "kept off",
            "of": kept.feature,
            "distance_m": rounded(kept.distance_m),
            "required_m": rounded(kept.required_m),
            "error_m": rounded(kept.error_m),
            "half_width_m": rounded(kept.half_width_m),
            "row": kept.row,
            "lines": list(kept.lines),
        }
        yield kept.area, properties, f"kept-off-{number}"


def _reach_properties(plan: Plan, reach: Reach) -> dict[str, Any]:
    sections = [station for station in plan.works.stations if station.reach == reach.name]
    return {
        "theme": "trench",
        "name": reach.name,
        "length_m": rounded(reach.length_m),
        "length": Printer(plan.site.units).length(reach.length_m),
        "deepest_cut_m": rounded(max(station.cut_m for station in sections)),
        "lines": [run.line for run in reach.runs],
        "parent": reach.parent,
        "parent_station_m": rounded(reach.parent_m),
        "bored": [
            {"of": each.feature, "from_m": rounded(each.from_m), "to_m": rounded(each.to_m)}
            for each in reach.bored
        ],
        "intervals": [
            {
                "what": each.what,
                "from_m": rounded(each.from_m),
                "to_m": rounded(each.to_m),
                "row": each.rule.citation.row if each.rule else "",
            }
            for each in plan.works.intervals
            if each.reach == reach.name
        ],
    }


def line_properties(plan: Plan, line: Line) -> dict[str, Any]:
    """What the plan says of a line to lay: product, length, cover by stretch with the row that asks it."""
    return {
        "theme": "line",
        "name": line.name,
        "carries": line.carries,
        "product": products()[line.product].name,
        "from": line.start,
        "to": line.end,
        "length_m": rounded(dict(plan.works.developed_m).get(line.id)),
        "least_radius_m": rounded(products()[line.product].least_radius_m),
        "covers": [
            {
                "reach": reach,
                "from_m": rounded(begin),
                "to_m": rounded(end),
                "cover_m": rounded(laid.cover_m),
                "required_m": rounded(laid.required.least_m),
                "row": laid.required.citation.row,
            }
            for reach, begin, end, section in plan.works.stretches(plan.layout.reaches)
            for laid in section.lines
            if laid.line == line.id
        ],
    }


def _stations(plan: Plan) -> Iterator[_Drawn]:
    print_ = Printer(plan.site.units)
    for number, station in enumerate(plan.works.stations, 1):
        properties = {
            "theme": "station",
            "reach": station.reach,
            "station": print_.station(station.distance_m),
            "distance_m": rounded(station.distance_m),
            "what": station.what,
            "cut_m": rounded(station.cut_m),
            "cut": print_.length(station.cut_m),
            "width_m": rounded(station.width_m),
            "hand_dig": station.hand_dig,
        }
        yield Point(station.x, station.y), properties, f"station-{number}"


def _crossings(plan: Plan) -> Iterator[_Drawn]:
    for crossing in plan.works.crossings:
        properties = {
            "theme": "crossing",
            "number": crossing.number,
            "of": crossing.feature,
            "angle_deg": rounded(crossing.angle_deg),
            "their_depth_m": rounded(crossing.their_depth_m),
            "depth_known": crossing.depth_known,
            "test_holes": [
                {name: rounded(value) for name, value in asdict(hole).items()} for hole in crossing.holes
            ],
            "over": crossing.over,
            "clear_m": rounded(crossing.clear_m),
            "required_m": rounded(crossing.required_m),
            "hand_dig_from_m": rounded(crossing.hand_from_m),
            "hand_dig_to_m": rounded(crossing.hand_to_m),
        }
        yield Point(crossing.x, crossing.y), properties, f"crossing-{crossing.number}"


def blocked_geojson(closed: NoRoute) -> str:
    """What closes the way and what would leave one, for a GIS; ``closed.where`` in degrees."""
    parts = getattr(closed.where, "geoms", [closed.where])
    properties = {
        "theme": "blocks the way",
        "of": list(closed.blockers),
        "ways_out": [
            {name: rounded(value) for name, value in asdict(way).items()} for way in closed.ways_out
        ],
    }
    return collection(
        (feature(part, properties, f"blocks-{number}") for number, part in enumerate(parts, 1)),
        note=str(closed),
    )


def rounded(value: Any) -> Any:
    """A float to 0.1 mm, anything else as it is."""
    return round(value, 4) if isinstance(value, float) else value
