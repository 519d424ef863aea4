"""What is typed while drawing: lengths, directions and sizes come as text, places and shapes go back exactly."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any, TypeVar

import shapely
from shapely.geometry.base import BaseGeometry
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import BaseRoute, Route

from siteplan.plane.draft import (
    Place,
    bearing_deg,
    carried,
    is_rectangle,
    moved,
    rectangle,
    resized,
    stepped,
    turned,
)
from siteplan.read.bearings import parse_bearing_deg
from siteplan.read.words import Unusable
from siteplan.units import UnitFault, parse_length
from siteplan.web.answers import site_heading
from siteplan.web.desk import Desk
from siteplan.web.handling import Refused, answering, beside, json_object

_DECIMALS = 9
"""A tenth of a millimetre, as the page itself writes places."""
Read = TypeVar("Read")


def routes(desk: Desk) -> list[BaseRoute]:
    """Addresses of the typed parts of drawing."""

    def answered(make: Callable[[dict[str, Any], float], dict[str, Any]]) -> Callable[[Request], Any]:
        async def handle(request: Request) -> Response:
            asked = await json_object(request)
            return JSONResponse(await beside(lambda: make(asked, site_heading(desk.folder)["elevation_m"])))

        return answering(handle)

    makers = {
        "step": _step,
        "rectangle": _rectangle,
        "resize": _resize,
        "move": _move,
        "turn": _turn,
        "carry": _carry,
    }
    return [Route(f"/api/draft/{name}", answered(make), methods=["POST"]) for name, make in makers.items()]


def _step(asked: dict[str, Any], height_m: float) -> dict[str, Any]:
    """Place the next corner: so far from the last one, in a direction or towards a place."""
    start = _place(asked, "from")
    return {"place": _rounded(stepped(start, _length_m(asked, "length"), _way_deg(asked, start), height_m))}


def _way_deg(asked: dict[str, Any], start: Place) -> float:
    """Direction of a side: from north, or turned from the side before; what is not typed goes the way that is pointed."""
    typed, sense = str(asked.get("direction", "")).strip(), asked.get("sense", "north")
    if not typed:
        if asked.get("towards") is None:
            raise Refused(422, "Direction: type it, or point where the side goes")
        return bearing_deg(start, _place(asked, "towards"))
    way_deg = _read("Direction", parse_bearing_deg, typed)
    if sense == "north":
        return way_deg
    if asked.get("before") is None:
        raise Refused(422, "Direction: there is no side before this one to turn from")
    straight_deg = bearing_deg(_place(asked, "before"), start)
    return straight_deg + (way_deg if sense == "right" else -way_deg)


def _rectangle(asked: dict[str, Any], height_m: float) -> dict[str, Any]:
    outline = rectangle(
        _place(asked, "at"),
        _length_m(asked, "width"),
        _length_m(asked, "depth"),
        _direction_deg(asked),
        left=asked.get("side") == "left",
        middle=asked.get("held") == "middle",
        height_m=height_m,
    )
    return _shape(outline)


def _resize(asked: dict[str, Any], height_m: float) -> dict[str, Any]:
    shape = _given(asked.get("geometry"))
    if not isinstance(shape, shapely.Polygon) or not is_rectangle(shape):
        raise Refused(422, "This area has not four square corners: change its corners one by one")
    return _shape(resized(shape, _length_m(asked, "width"), _length_m(asked, "depth"), height_m))


def _move(asked: dict[str, Any], height_m: float) -> dict[str, Any]:
    shape = _given(asked.get("geometry"))
    return _shape(moved(shape, _length_m(asked, "length"), _direction_deg(asked), height_m))


def _turn(asked: dict[str, Any], _: float) -> dict[str, Any]:
    by_deg = _read("Degrees", parse_bearing_deg, str(asked.get("degrees", "")))
    return _shape(turned(_given(asked.get("geometry")), -by_deg if asked.get("sense") == "left" else by_deg))


def _carry(asked: dict[str, Any], height_m: float) -> dict[str, Any]:
    given = asked.get("geometries")
    if not isinstance(given, list) or not given:
        raise Refused(400, 'expected "geometries", a list of shapes')
    there = carried([_given(shape) for shape in given], _place(asked, "to"), height_m)
    return {"geometries": [_shape(shape)["geometry"] for shape in there]}


def _length_m(asked: dict[str, Any], name: str) -> float:
    length_m = _read(name.capitalize(), parse_length, str(asked.get(name, "")))
    if not 0 < length_m <= 100_000:
        raise Refused(422, f"{name.capitalize()}: expected more than nothing and at most 100 km")
    return length_m


def _direction_deg(asked: dict[str, Any]) -> float:
    return _read("Direction", parse_bearing_deg, str(asked.get("direction", "")))


def _read(name: str, read: Callable[[str], Read], text: str) -> Read:
    try:
        return read(text)
    except (UnitFault, Unusable) as misfit:
        raise Refused(422, f"{name}: found {misfit.found}, expected {misfit.expected}") from misfit


def _place(asked: dict[str, Any], name: str) -> Place:
    numbers = asked.get(name)
    if (
        isinstance(numbers, list)
        and len(numbers) == 2
        and all(type(part) in (int, float) for part in numbers)
    ):
        longitude, latitude = numbers
        if abs(longitude) <= 180 and abs(latitude) <= 85:
            return float(longitude), float(latitude)
    raise Refused(
        422, f"{name.capitalize()}: expected longitude and latitude, within 85 degrees of the equator"
    )


def _given(geometry: object) -> BaseGeometry:
    try:
        shape = shapely.from_geojson(json.dumps(geometry))
    except shapely.errors.ShapelyError as error:
        raise Refused(400, "expected a GeoJSON geometry") from error
    west, south, east, north = shape.bounds
    if shape.is_empty or not (-180 <= west <= east <= 180 and -85 <= south <= north <= 85):
        raise Refused(422, "expected a shape in longitude and latitude, within 85 degrees of the equator")
    return shape


def _shape(shape: BaseGeometry) -> dict[str, Any]:
    """Return a shape as GeoJSON, closed outlines closed exactly."""
    rounded = shapely.transform(shape, lambda rows: rows.round(_DECIMALS))
    return {"geometry": json.loads(shapely.to_geojson(rounded))}


def _rounded(place: Place) -> list[float]:
    return [round(part, _DECIMALS) for part in place]
