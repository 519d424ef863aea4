"""The route for a hand-held receiver: GPX 1.1, one route a reach, bends and crossings as waypoints."""

from __future__ import annotations

from xml.etree.ElementTree import Element, SubElement, indent, tostring

from shapely import Point, get_coordinates

from siteplan.document.model import Plan
from siteplan.units import Printer

GPX = "http://www.topografix.com/GPX/1/1"
MARKED = ("start", "end", "bend", "tee", "crossing")


def route_gpx(plan: Plan) -> str:
    """Write the planned route as GPX 1.1 (the element order is fixed by its schema)."""
    print_ = Printer(plan.site.units)
    root = Element("gpx", {"version": "1.1", "creator": "siteplan", "xmlns": GPX})
    metadata = SubElement(root, "metadata")
    _text(metadata, "name", plan.site.name)
    _text(
        metadata,
        "desc",
        "Planned route, not built. A hand-held receiver is feet off: dig by the ties on the route sheet.",
    )
    for station in plan.works.stations:
        if station.kind in MARKED:
            place = plan.frame.to_lonlat(Point(station.x, station.y))
            point = _place(SubElement(root, "wpt"), place.x, place.y)
            _text(point, "name", f"{station.reach} {print_.station(station.distance_m)}")
            _text(point, "desc", station.what)
    for reach in plan.layout.reaches:
        route = SubElement(root, "rte")
        _text(route, "name", f"Trench {reach.name}")
        _text(route, "desc", f"{print_.length(reach.length_m)} on the map")
        for x, y in get_coordinates(plan.frame.to_lonlat(reach.path)).tolist():
            _place(SubElement(route, "rtept"), x, y)
    indent(root, " ")
    return '<?xml version="1.0" encoding="UTF-8"?>\n' + tostring(root, encoding="unicode") + "\n"


def _place(element: Element, x: float, y: float) -> Element:
    element.set("lat", f"{y:.9f}")
    element.set("lon", f"{x:.9f}")
    return element


def _text(parent: Element, tag: str, text: str) -> None:
    SubElement(parent, tag).text = "".join(char for char in text if char.isprintable())
