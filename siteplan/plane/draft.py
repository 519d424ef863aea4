"""Shapes laid out by typed lengths and directions, in longitude and latitude: what the drawing page places exactly.

Each is worked out in a ground plane about the place that is held, so a length is what a level tape reads at the site's height.
"""

from __future__ import annotations

from collections.abc import Callable
from math import atan2, cos, degrees, radians, sin

import shapely
from shapely import LineString, Point, Polygon, affinity
from shapely.geometry.base import BaseGeometry

from siteplan.plane.frame import Frame

Place = tuple[float, float]
"""Longitude and latitude [deg]."""
_SQUARE_DEG = 1.0
"""How far a corner may be off the right angle and still count as square: common practice, no source."""


def bearing_deg(start: Place, end: Place) -> float:
    """Direction from one place to another, clockwise from true north [deg], 0 to 360.

    >>> round(bearing_deg((-112.0, 46.6), (-112.0, 46.7)), 6)
    0.0
    """
    ground = _frame(start, 0.0).to_ground(Point(end))
    return degrees(atan2(ground.x, ground.y)) % 360.0


def length_m(start: Place, end: Place, height_m: float = 0.0) -> float:
    """Distance between two places as a level tape reads it [m].

    >>> round(length_m((-112.0, 46.6), (-112.0, 46.601)), 2)
    111.16
    """
    return float(_frame(start, height_m).to_ground(Point(end)).distance(Point(0, 0)))


def stepped(start: Place, length_m: float, towards_deg: float, height_m: float = 0.0) -> Place:
    """Return the place so far [m] from another, in a direction clockwise from true north [deg].

    >>> there = stepped((-112.0, 46.6), 30.0, 90.0)
    >>> round(there[0], 6), round(there[1], 6)
    (-111.999608, 46.6)
    """
    turn = radians(towards_deg)
    return _lonlat(start, Point(length_m * sin(turn), length_m * cos(turn)), height_m)


def rectangle(
    at: Place,
    width_m: float,
    depth_m: float,
    towards_deg: float,
    *,
    left: bool = False,
    middle: bool = False,
    height_m: float = 0.0,
) -> Polygon:
    """Lay out a rectangle.

    Parameters
    ----------
    at : (longitude, latitude)
        Its first corner, or its middle.
    width_m, depth_m : float
        Length of the first wall, and of the wall at right angles to it [m], above 0.
    towards_deg : float
        Direction of the first wall from the first corner, clockwise from true north [deg].
    left : bool
        Whether the depth goes to the left of the first wall, seen along it; else to the right.
    middle : bool
        Whether ``at`` is the middle.
    height_m : float
        Height of the site [m].

    Returns
    -------
    shapely.Polygon
        In longitude and latitude; the first corner first, then along the first wall.

    Examples
    --------
    >>> outline = rectangle((-112.0, 46.6), 12.0, 8.0, 90.0, left=True)
    >>> round(length_m(*outline.exterior.coords[0:2]), 6), round(length_m(*outline.exterior.coords[1:3]), 6)
    (12.0, 8.0)
    """
    turn = radians(towards_deg)
    side = -1.0 if left else 1.0
    along, across = (sin(turn), cos(turn)), (side * cos(turn), -side * sin(turn))

    def corner(out_m: float, in_m: float) -> tuple[float, float]:
        return out_m * along[0] + in_m * across[0], out_m * along[1] + in_m * across[1]

    back = corner(-width_m / 2, -depth_m / 2) if middle else (0.0, 0.0)
    corners = [corner(0, 0), corner(width_m, 0), corner(width_m, depth_m), corner(0, depth_m)]
    ground = Polygon([(x + back[0], y + back[1]) for x, y in corners])
    return _frame(at, height_m).to_lonlat(ground)


def is_rectangle(shape: BaseGeometry) -> bool:
    """Whether an area has four square corners, to a degree.

    >>> is_rectangle(rectangle((-112.0, 46.6), 12.0, 8.0, 30.0))
    True
    """
    if not isinstance(shape, Polygon) or shape.interiors or len(shape.exterior.coords) != 5:
        return False
    ring = _places(shape)[:-1]
    ways = [bearing_deg(ring[n], ring[(n + 1) % 4]) for n in range(4)]
    turns = [(ways[(n + 1) % 4] - ways[n]) % 360.0 for n in range(4)]
    return all(abs(min(turn, 360.0 - turn) - 90.0) <= _SQUARE_DEG for turn in turns)


def resized(shape: Polygon, width_m: float, depth_m: float, height_m: float = 0.0) -> Polygon:
    """Give a rectangle other sides; its first corner and the direction of its first wall stay.

    Raises ``ValueError`` if it is no rectangle.

    >>> larger = resized(rectangle((-112.0, 46.6), 12.0, 8.0, 30.0), 15.0, 8.0)
    >>> round(length_m(*larger.exterior.coords[0:2]), 6)
    15.0
    """
    if not is_rectangle(shape):
        raise ValueError("an area without four square corners")
    first, second, third = _places(shape)[:3]
    way = bearing_deg(first, second)
    left = (bearing_deg(second, third) - way) % 360.0 > 180.0
    return rectangle(first, width_m, depth_m, way, left=left, height_m=height_m)


def moved(shape: BaseGeometry, length_m: float, towards_deg: float, height_m: float = 0.0) -> BaseGeometry:
    """Move a shape as it is by a length [m] in a direction clockwise from true north [deg].

    >>> there = moved(Point(-112.0, 46.6), 111.158, 0.0)
    >>> round(there.x, 6), round(there.y, 6)
    (-112.0, 46.601)
    """
    turn = radians(towards_deg)
    east, north = length_m * sin(turn), length_m * cos(turn)
    return _on_ground(shape, height_m, lambda ground: affinity.translate(ground, east, north))


def turned(shape: BaseGeometry, by_deg: float, height_m: float = 0.0) -> BaseGeometry:
    """Turn a shape clockwise about its middle [deg].

    >>> wall = turned(LineString([(-112.0, 46.6), (-112.0, 46.601)]), 90.0)
    >>> round(bearing_deg(*wall.coords), 2)
    90.0
    """
    return _on_ground(shape, height_m, lambda ground: affinity.rotate(ground, -by_deg, origin="center"))


def carried(shapes: list[BaseGeometry], to: Place, height_m: float = 0.0) -> list[BaseGeometry]:
    """Carry shapes together, sizes and directions as they are, so that the middle of all lies at another place.

    >>> (there,) = carried([Point(-112.0, 46.6)], (-105.0, 40.0))
    >>> round(there.x, 6), round(there.y, 6)
    (-105.0, 40.0)
    """
    here = _frame(_middle(shapely.GeometryCollection(shapes)), height_m)
    there = _frame(to, height_m)
    return [there.to_lonlat(here.to_ground(shape)) for shape in shapes]


def _on_ground(
    shape: BaseGeometry, height_m: float, change: Callable[[BaseGeometry], BaseGeometry]
) -> BaseGeometry:
    frame = _frame(_middle(shape), height_m)
    return frame.to_lonlat(change(frame.to_ground(shape)))


def _middle(shape: BaseGeometry) -> Place:
    west, south, east, north = shape.bounds
    return (west + east) / 2, (south + north) / 2


def _frame(at: Place, height_m: float) -> Frame:
    return Frame(longitude_deg=at[0], latitude_deg=at[1], height_m=height_m)


def _lonlat(about: Place, ground: Point, height_m: float) -> Place:
    there = _frame(about, height_m).to_lonlat(ground)
    return there.x, there.y


def _places(shape: Polygon | LineString) -> list[Place]:
    line = shape.exterior if isinstance(shape, Polygon) else shape
    return [(float(x), float(y)) for x, y in shapely.get_coordinates(line)]
