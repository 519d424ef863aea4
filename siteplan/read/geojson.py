"""GeoJSON (RFC 7946), read without GDAL, which would follow a virtual source that merely calls itself ``.geojson``."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from typing import Any

from shapely.geometry.base import BaseGeometry

from siteplan.read import shapes
from siteplan.read.record import Contents, Record, identified, stated
from siteplan.read.words import FaultList, Place, Unusable, shown

_BLANK = re.compile(r"[ \t\n\r]*")
_SAME_AS_RFC = ("CRS84", "EPSG::4326", "EPSG:4326")


def read_geojson(text: str, file: str, stem: str, faults: FaultList) -> Contents | None:
    """Read the features of a GeoJSON text, each with the line on which it begins; None if it is no GeoJSON.

    Winding is taken either way, as RFC 7946 section 3.1.6 asks of readers; heights are passed over.
    """
    try:
        members = json.loads(text, object_pairs_hook=_object)
        features = _features(members)
        _check_crs(members.get("crs"))
    except Unusable as misfit:
        faults.take(Place(file=file), misfit)
        return None
    except json.JSONDecodeError as error:
        faults.add(
            Place(file=file, line=error.lineno),
            found=f"no JSON ({error.msg[:1].lower()}{error.msg[1:]})",
            expected="GeoJSON",
        )
        return None
    except (ValueError, RecursionError):
        faults.add(Place(file=file), found="lists in lists without end", expected="GeoJSON")
        return None
    made = (
        _record(feature, Place(file=file, line=line), stem, number, faults)
        for number, (feature, line) in enumerate(zip(features, _lines(text), strict=True), start=1)
    )
    return Contents(axes="lonlat", records=tuple(record for record in made if record))


def _features(members: Any) -> list[Any]:
    kind = members.get("type") if isinstance(members, dict) else members
    if kind == "Feature":
        return [members]
    if kind == "FeatureCollection" and isinstance(members.get("features"), list):
        features: list[Any] = members["features"]
        return features
    raise Unusable(found=f"type {shown(kind)}", expected='a GeoJSON "FeatureCollection" with "features"')


def _check_crs(crs: Any) -> None:
    if crs is None:
        return
    name = (
        crs.get("properties", {}).get("name")
        if isinstance(crs, dict) and isinstance(crs.get("properties"), dict)
        else None
    )
    if not (isinstance(name, str) and name.endswith(_SAME_AS_RFC)):
        raise Unusable(
            found=f"the coordinate system {shown(name or crs)}",
            expected="longitude and latitude, as GeoJSON holds nothing else (RFC 7946)",
            mend="save it again in EPSG:4326, or as GeoPackage",
        )


def _record(feature: Any, place: Place, stem: str, number: int, faults: FaultList) -> Record | None:
    place = Place(file=place.file, line=place.line, where=f"feature {number}")
    if not isinstance(feature, dict) or feature.get("type") != "Feature":
        faults.add(place, found=shown(feature), expected='an object of "type": "Feature"')
        return None
    properties = feature.get("properties") or {}
    if not isinstance(properties, dict):
        faults.add(place, found=f"properties {shown(properties)}", expected="an object")
        properties = {}
    properties = stated(properties)
    place, own = identified(place, stem, number, properties, feature.get("id"))
    shape = None
    try:
        shape = shapes.check_shape(_shape(feature.get("geometry")))
    except Unusable as misfit:
        faults.take(place, misfit)
    return Record(place=place, id=own, properties=properties, shape=shape)


def _shape(geometry: Any) -> BaseGeometry:
    if not isinstance(geometry, dict):
        raise Unusable(found=f"geometry {shown(geometry)}", expected="a point, a line or an area")
    kind, coordinates = str(geometry.get("type")), geometry.get("coordinates")
    make = {"Point": shapes.point, "LineString": shapes.line, "Polygon": shapes.area}
    if kind in make:
        return make[kind](coordinates)
    single = kind.removeprefix("Multi")
    if kind.startswith("Multi") and single in make and isinstance(coordinates, list):
        return shapes.joined([make[single](part) for part in coordinates])
    raise Unusable(found=f"a geometry of type {shown(kind)}", expected="a point, a line or an area")


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    made = dict(pairs)
    if len(made) < len(pairs):
        names = [name for name, _ in pairs]
        twice = next(name for name in names if names.count(name) > 1)
        raise Unusable(found=f"{shown(twice)} twice in one object", expected="each name once")
    return made


def _lines(text: str) -> Iterator[int]:
    """Line on which each feature begins; ``text`` is known to be good JSON."""
    line, seen = 1, 0
    for offset in _offsets(text):
        line, seen = line + text.count("\n", seen, offset), offset
        yield line


def _offsets(text: str) -> Iterator[int]:
    """Where in the text each feature begins: found by walking over the members of the outermost object."""
    decoder = json.JSONDecoder()
    start = at = _skip(text, 0)
    while text[at] != "}":
        key, at = decoder.raw_decode(text, _skip(text, at + 1))
        at = _skip(text, _skip(text, at) + 1)
        if key == "features":
            while text[at] != "]":
                at = _skip(text, at + 1)
                if text[at] != "]":
                    yield at
                    _, at = decoder.raw_decode(text, at)
                    at = _skip(text, at)
            return
        _, at = decoder.raw_decode(text, at)
        at = _skip(text, at)
    yield start


def _skip(text: str, at: int) -> int:
    blank = _BLANK.match(text, at)
    return blank.end() if blank else at
