"""Shapes from lists of coordinates, and whether a shape can be used.

Every function raises ``Unusable`` for coordinates that are no numbers, outlines that are open, cross themselves or
enclose nothing, and lines without length.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Literal, TypeAlias

import numpy as np
import shapely
from shapely import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry

from siteplan.read.words import Unusable, shown

Form: TypeAlias = Literal["point", "line", "area"]

METRES_PER_DEGREE = 111_320.0
"""Metres in one degree along the equator of WGS 84 (2 pi 6378137 / 360); for rough checks only."""

_FORMS: dict[str, Form] = {"Point": "point", "LineString": "line", "Polygon": "area"}
_WORDS: dict[Form, str] = {"point": "a point", "line": "a line", "area": "an area"}


def form_of(shape: BaseGeometry) -> Form | None:
    """Whether it is a point, a line or an area, several of one sort included."""
    return _FORMS.get(shape.geom_type.removeprefix("Multi"))


def in_words(forms: Sequence[Form]) -> str:
    """Say which forms are taken.

    >>> in_words(("point", "area"))
    'a point or an area'
    """
    return " or ".join(_WORDS[form] for form in forms)


def position(numbers: object) -> tuple[float, float]:
    """Read one position; a third number (a height) is passed over."""
    if not isinstance(numbers, list | tuple) or len(numbers) < 2:
        raise Unusable(found=shown(numbers), expected="a position of two numbers")
    for number in numbers[:2]:
        if isinstance(number, bool) or not isinstance(number, int | float) or not abs(number) <= 1e12:
            raise Unusable(found=f"the coordinate {shown(number)}", expected="a finite number")
    return float(numbers[0]), float(numbers[1])


def point(numbers: object) -> Point:
    """Make a point."""
    return Point(position(numbers))


def line(positions: object) -> LineString:
    """Make a line from at least two positions."""
    made = [position(each) for each in _rows(positions)]
    if len(made) < 2:
        raise Unusable(found=f"a line of {_counted(len(made))}", expected="at least two")
    return LineString(made)


def area(rings: object, *, close: bool = False) -> Polygon:
    """Make an area from its outline and the outlines of its holes; ``close`` adds a missing last position."""
    made = [_ring(ring, close=close) for ring in _rows(rings)]
    if not made:
        raise Unusable(found="an area without an outline", expected="a closed outline")
    return Polygon(made[0], made[1:])


def joined(parts: Sequence[BaseGeometry]) -> BaseGeometry:
    """Make one shape of several of one sort."""
    if not parts:
        raise Unusable(found="no coordinates", expected="a point, a line or an area")
    kinds = {part.geom_type for part in parts}
    if len(kinds) > 1 or kinds - _FORMS.keys():
        raise Unusable(
            found="a mixture of points, lines and areas", expected="one sort", mend="draw them one by one"
        )
    if len(parts) == 1:
        return parts[0]
    make = {
        "Point": shapely.multipoints,
        "LineString": shapely.multilinestrings,
        "Polygon": shapely.multipolygons,
    }
    made: BaseGeometry = make[kinds.pop()](list(parts))
    return made


def check_shape(shape: BaseGeometry | None) -> BaseGeometry:
    """Return the shape in two dimensions if it is of a known sort, finite and proper, else raise ``Unusable``."""
    if shape is None:
        raise Unusable(found="no shape", expected="a point, a line or an area")
    form = form_of(shape)
    if form is None:
        raise Unusable(found=f"a {shape.geom_type}", expected="a point, a line or an area")
    if shape.is_empty:
        raise Unusable(found="no coordinates", expected="a point, a line or an area")
    flat: BaseGeometry = shapely.force_2d(shape)
    if not np.isfinite(shapely.get_coordinates(flat)).all():
        raise Unusable(found="a coordinate that is no number", expected="finite numbers")
    if form == "line" and any(part.length == 0 for part in shapely.get_parts(flat)):
        raise Unusable(found="a line without length", expected="at least two different positions")
    if not flat.is_valid:
        raise _improper(shapely.is_valid_reason(flat))
    return flat


def check_lonlat(shape: BaseGeometry) -> None:
    """Raise ``Unusable`` if the coordinates are no longitude and latitude."""
    west, south, east, north = shape.bounds
    for degrees, most, name in (
        (south, 90, "latitude"),
        (north, 90, "latitude"),
        (west, 180, "longitude"),
        (east, 180, "longitude"),
    ):
        if abs(degrees) > most:
            swapped = abs(degrees) <= 180 and name == "latitude" and max(abs(west), abs(east)) <= 90
            raise Unusable(
                found=f"the {name} {degrees:g}",
                expected=f"-{most} to {most} degrees",
                mend="longitude comes first; are the two swapped?" if swapped else "",
            )


def rough_metres(shapes: Sequence[BaseGeometry], *, lonlat: bool) -> list[BaseGeometry]:
    """Shapes in metres that are right to a hundredth or so: for checks of what was meant, not for measuring."""
    if not (lonlat and shapes):
        return list(shapes)
    latitude = float(np.median(shapely.bounds(list(shapes))[:, 1]))
    scale = METRES_PER_DEGREE * np.array([math.cos(math.radians(latitude)), 1.0])
    return list(shapely.transform(np.array(shapes, dtype=object), lambda rows: rows * scale))


def _rows(value: object) -> Sequence[object]:
    if not isinstance(value, list | tuple):
        raise Unusable(found=shown(value), expected="a list of positions")
    return value


def _ring(positions: object, *, close: bool) -> list[tuple[float, float]]:
    made = [position(each) for each in _rows(positions)]
    if close and made and made[0] != made[-1]:
        made.append(made[0])
    if len(made) < 4:
        raise Unusable(
            found=f"an outline of {_counted(len(made))}",
            expected="at least three corners and the first again",
        )
    if made[0] != made[-1]:
        raise Unusable(
            found=f"an open outline (from {_at(made[0])} to {_at(made[-1])})",
            expected="an outline that ends where it begins",
            mend="repeat the first position at the end",
        )
    return made


def _improper(reason: str) -> Unusable:
    """Say in plain words what GEOS calls an invalid shape."""
    what, _, where = reason.partition("[")
    near = (
        f" near {', '.join(f'{float(number):.10g}' for number in where.rstrip(']').split())}" if where else ""
    )
    if "Self-intersection" in what:
        return Unusable(
            found=f"an outline that crosses or touches itself{near}",
            expected="one that does not",
            mend="put the corners in order",
        )
    if "Too few points" in what:
        return Unusable(found=f"an area without extent{near}", expected="at least three different corners")
    return Unusable(
        found=f"areas that overlap, or a hole outside of its area{near}", expected="separate areas"
    )


def _counted(number: int) -> str:
    return f"{number} position" + ("" if number == 1 else "s")


def _at(place: tuple[float, float]) -> str:
    return f"{place[0]:.10g}, {place[1]:.10g}"
