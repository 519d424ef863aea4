"""GPX 1.1 (waypoints, routes, tracks) and KML 2.2 (placemarks).

GPX carries no facts: its ``type`` is the kind, its ``desc`` a note. A route or track of a kind that is drawn as an area is
its outline. KML carries kind, method and facts in ``ExtendedData``. Heights are passed over: a handheld gives no ground levels.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

from shapely.geometry.base import BaseGeometry

from siteplan.read import shapes
from siteplan.read.facts import parse_number
from siteplan.read.record import Contents, Record, identified, stated
from siteplan.read.words import FaultList, Place, Unusable, shown
from siteplan.read.xml_tree import Element, read_xml
from siteplan.site.catalogue import kinds


def read_gpx(text: str, file: str, stem: str, faults: FaultList, kind: str | None) -> Contents | None:
    """Read GPX; ``kind`` is that of everything without a type. None, with the fault noted, if it is no GPX."""
    root = read_xml(text, file, "gpx", faults)
    if root is None:
        return None
    records = []
    for number, element in enumerate(root.children("wpt", "rte", "trk"), start=1):
        says = {
            name: element.said(tag) for name, tag in (("name", "name"), ("kind", "type"), ("note", "desc"))
        }
        properties = stated(says)
        place, own = identified(Place(file=file, line=element.line), stem, number, properties, None)
        chosen = str(properties.get("kind", kind))
        shape = _tried(partial(_gpx_shape, kind=chosen), element, place, faults)
        records.append(Record(place=place, id=own, properties=properties, shape=shape))
    return Contents(axes="lonlat", records=tuple(records))


def read_kml(text: str, file: str, stem: str, faults: FaultList) -> Contents | None:
    """Read the placemarks of a KML text. None, with the fault noted, if it is no KML."""
    root = read_xml(text, file, "kml", faults)
    if root is None:
        return None
    for link in root.everywhere("NetworkLink"):
        faults.add(
            Place(file=file, line=link.line),
            found="a network link",
            expected="the things themselves, as nothing is fetched",
            mend="save the linked file in this folder",
        )
    records = []
    for number, element in enumerate(root.everywhere("Placemark"), start=1):
        properties = stated({"name": element.said("name"), **_extended(element)})
        place = Place(file=file, line=element.line)
        place, own = identified(place, stem, number, properties, element.attributes.get("id"))
        shape = _tried(_placemark_shape, element, place, faults)
        records.append(Record(place=place, id=own, properties=properties, shape=shape))
    return Contents(axes="lonlat", records=tuple(records))


def _tried(
    make: Callable[[Element], BaseGeometry], element: Element, place: Place, faults: FaultList
) -> BaseGeometry | None:
    try:
        return shapes.check_shape(make(element))
    except Unusable as misfit:
        faults.take(place, misfit)
        return None


def _gpx_shape(element: Element, kind: str) -> BaseGeometry:
    if element.name == "wpt":
        return shapes.point(_gpx_position(element))
    parts = [element] if element.name == "rte" else list(element.children("trkseg"))
    runs = [[_gpx_position(each) for each in part.children("rtept", "trkpt")] for part in parts]
    known = kinds().get(kind)
    if known is not None and "area" in known.shapes and "line" not in known.shapes:
        return shapes.joined([shapes.area([run], close=True) for run in runs if run])
    return shapes.joined([shapes.line(run) for run in runs if run])


def _gpx_position(element: Element) -> tuple[float, float]:
    for name in ("lon", "lat"):
        if name not in element.attributes:
            raise Unusable(found=f"a position without {name}", expected="lon and lat")
    return parse_number(element.attributes["lon"]), parse_number(element.attributes["lat"])


def _extended(placemark: Element) -> dict[str, object]:
    """Names and texts of ExtendedData, both ways of writing them."""
    found: dict[str, object] = {}
    for data in placemark.children("ExtendedData"):
        for each in data.everywhere("Data", "SimpleData"):
            said = each.said("value") if each.name == "Data" else each.text
            found[each.attributes.get("name", "")] = said
    return found


def _placemark_shape(placemark: Element) -> BaseGeometry:
    known = ("Point", "LineString", "LinearRing", "Polygon", "MultiGeometry")
    drawn = list(placemark.children(*known))
    while drawn and drawn[0].name == "MultiGeometry":
        drawn = list(drawn[0].children(*known)) + drawn[1:]
    return shapes.joined([_kml_shape(each) for each in drawn])


def _kml_shape(element: Element) -> BaseGeometry:
    if element.name == "Polygon":
        outlines = [
            _kml_positions(ring)
            for side in ("outerBoundaryIs", "innerBoundaryIs")
            for boundary in element.children(side)
            for ring in boundary.children("LinearRing")
        ]
        return shapes.area(outlines)
    positions = _kml_positions(element)
    if element.name == "LinearRing":
        return shapes.area([positions])
    if element.name == "LineString":
        return shapes.line(positions)
    if len(positions) != 1:
        raise Unusable(found=f"a point of {len(positions)} positions", expected="one position")
    return shapes.point(positions[0])


def _kml_positions(element: Element) -> list[tuple[float, ...]]:
    """Read the tuples of ``coordinates``: longitude, latitude and perhaps a height, blanks between tuples."""
    rows = [row.split(",") for row in (element.said("coordinates") or "").split()]
    for row in rows:
        if len(row) not in (2, 3) or not all(row):
            raise Unusable(
                found=f"the position {shown(','.join(row))}", expected="longitude,latitude without blanks"
            )
    return [tuple(parse_number(number) for number in row) for row in rows]
