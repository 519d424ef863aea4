"""For a hand-held receiver, GPX 1.1: the route as planned, one a reach; the lines as built, one track a line."""

from __future__ import annotations

from xml.etree.ElementTree import Element, SubElement, indent, tostring

from shapely import Point, get_coordinates

from siteplan.document.model import Plan
from siteplan.document.record_model import Record
from siteplan.document.record_words import point_name, point_words
from siteplan.document.xml_text import add_text
from siteplan.units import Printer

GPX = "http://www.topografix.com/GPX/1/1"
MARKED = ("start", "end", "bend", "tee", "crossing")


def route_gpx(plan: Plan) -> str:
    """Write the planned route as GPX 1.1 (the element order is fixed by its schema)."""
    print_ = Printer(plan.site.units)
    root = _root(
        plan.site.name,
        "Planned route, not built. A hand-held receiver is feet off: dig by the ties on the route sheet.",
    )
    for station in plan.works.stations:
        if station.kind in MARKED:
            place = plan.frame.to_lonlat(Point(station.x, station.y))
            point = _place(SubElement(root, "wpt"), place.x, place.y)
            add_text(point, "name", f"{station.reach} {print_.station(station.distance_m)}")
            add_text(point, "desc", station.what)
    for reach in plan.layout.reaches:
        route = SubElement(root, "rte")
        add_text(route, "name", f"Trench {reach.name}")
        add_text(route, "desc", f"{print_.length(reach.length_m)} on the map")
        for x, y in get_coordinates(plan.frame.to_lonlat(reach.path)).tolist():
            _place(SubElement(route, "rtept"), x, y)
    return _written(root)


def built_gpx(record: Record) -> str:
    """Write the lines as built as GPX 1.1: a track a line, a waypoint a point that holds."""
    plan = record.plan
    root = _root(
        plan.site.name,
        "As built where measured. A hand-held receiver is feet off: find the line by the ties of the record.",
    )
    for point in record.built.points:
        if not point.superseded:
            taken = point.measurement
            waypoint = _place(SubElement(root, "wpt"), taken.longitude_deg, taken.latitude_deg)
            add_text(waypoint, "name", f"{plan.site.line(taken.line).name}: {point_name(plan, point)}")
            add_text(waypoint, "desc", point_words(plan, point))
    for line in record.built.lines:
        if not line.stretches:
            continue
        track = SubElement(root, "trk")
        add_text(track, "name", plan.site.line(line.line).name)
        add_text(track, "desc", f"position {line.position}, cover {line.cover}")
        for stretch in line.stretches:
            segment = SubElement(track, "trkseg")
            for x, y in get_coordinates(plan.frame.to_lonlat(stretch.path)).tolist():
                _place(SubElement(segment, "trkpt"), x, y)
    return _written(root)


def _root(name: str, description: str) -> Element:
    root = Element("gpx", {"version": "1.1", "creator": "siteplan", "xmlns": GPX})
    metadata = SubElement(root, "metadata")
    add_text(metadata, "name", name)
    add_text(metadata, "desc", description)
    return root


def _written(root: Element) -> str:
    indent(root, " ")
    return '<?xml version="1.0" encoding="UTF-8"?>\n' + tostring(root, encoding="unicode") + "\n"


def _place(element: Element, x: float, y: float) -> Element:
    element.set("lat", f"{y:.9f}")
    element.set("lon", f"{x:.9f}")
    return element
