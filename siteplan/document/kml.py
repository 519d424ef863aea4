"""The lines as built for a globe viewer: KML 2.2 (OGC 07-147r2), one placemark a line and one a point."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from xml.etree.ElementTree import Element, SubElement, indent, tostring

from shapely import LineString, Point, get_coordinates
from shapely.geometry.base import BaseGeometry

from siteplan.document.geojson import NOT_A_PERMIT
from siteplan.document.record_model import Record
from siteplan.document.record_words import point_name, point_words
from siteplan.document.xml_text import add_text
from siteplan.units import Printer

KML = "http://www.opengis.net/kml/2.2"
_STYLES = {"measured": ("ff000000", "3"), "planned": ("ff808080", "1")}
"""Colour (alpha, blue, green, red) and width of a stretch: black and heavy where measured, grey and thin where planned."""


def built_kml(record: Record) -> str:
    """Write the record as KML 2.2; clamped to the ground, so no heights."""
    plan, print_ = record.plan, Printer(record.plan.site.units)
    root = Element("kml", {"xmlns": KML})
    document = SubElement(root, "Document")
    add_text(document, "name", f"{plan.site.name}, as built")
    add_text(document, "description", f"As built where measured, else as planned. {NOT_A_PERMIT}")
    for name, (colour, width) in _STYLES.items():
        style = SubElement(SubElement(document, "Style", {"id": name}), "LineStyle")
        add_text(style, "color", colour)
        add_text(style, "width", width)
    folder = _folder(document, "Lines")
    for line in record.built.lines:
        name = plan.site.line(line.line).name
        for stretch in line.stretches:
            data = {
                "line": line.line,
                "reach": stretch.reach,
                "position": stretch.position,
                "error": print_.length(stretch.evidence.radius_m),
                "cover": line.cover,
                "crew": "; ".join(line.said("crew")),
                "ticket_number": "; ".join(line.said("ticket")),
                "material_confirmed": "; ".join(line.said("material")),
                "tracer_ends": "; ".join(line.said("tracer")),
            }
            words = f"position {stretch.position}, known within {print_.length(stretch.evidence.radius_m)}"
            _placemark(folder, name, words, data, plan.frame.to_lonlat(stretch.path), stretch.position)
    folder = _folder(document, "Points")
    for point in record.built.points:
        if not point.superseded:
            taken = point.measurement
            name = f"{plan.site.line(taken.line).name}: {point_name(plan, point)}"
            data = {
                "line": taken.line,
                "what": taken.what,
                "date": taken.day.isoformat() if taken.day else "",
            }
            place = Point(taken.longitude_deg, taken.latitude_deg)
            _placemark(folder, name, point_words(plan, point), data, place)
    indent(root, " ")
    return '<?xml version="1.0" encoding="UTF-8"?>\n' + tostring(root, encoding="unicode") + "\n"


def _folder(document: Element, name: str) -> Element:
    folder = SubElement(document, "Folder")
    add_text(folder, "name", name)
    return folder


def _placemark(
    folder: Element, name: str, words: str, data: Mapping[str, str], shape: BaseGeometry, style: str = ""
) -> None:
    """One placemark; the order of its elements is fixed by the schema."""
    placemark = SubElement(folder, "Placemark")
    add_text(placemark, "name", name)
    add_text(placemark, "description", words)
    if style:
        add_text(placemark, "styleUrl", f"#{style}")
    extended = SubElement(placemark, "ExtendedData")
    for key, value in data.items():
        if value:
            add_text(SubElement(extended, "Data", {"name": key}), "value", value)
    drawn = SubElement(placemark, "LineString" if isinstance(shape, LineString) else "Point")
    if isinstance(shape, LineString):
        add_text(drawn, "tessellate", "1")
    add_text(drawn, "coordinates", " ".join(_positions(get_coordinates(shape).tolist())))


def _positions(places: Iterable[Iterable[float]]) -> Iterable[str]:
    return (",".join(f"{value:.9f}" for value in place) for place in places)
