"""Find a point again from the record alone: the tapes to it, and where it lies from the nearest fixed things."""

from __future__ import annotations

import re
from dataclasses import dataclass
from math import atan2, degrees, hypot

from shapely import Point

from siteplan.errors import Fault, InputFaults
from siteplan.plane.frame import Frame, frame_for
from siteplan.read.asbuilt import RecordedPoint, RecordFile
from siteplan.read.words import suggestion

FIXED = 2
"""So many fixed things are named, the nearest first."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bearing:
    """Level distance [m] and true bearing [deg] from a fixed thing to a point."""

    name: str
    distance_m: float
    bearing_deg: float


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundPoint:
    """One point, and how to get to it.

    Attributes
    ----------
    ties : tuple of (str, float)
        The tapes that the record names, or the two shortest: corner and level distance [m].
    fixed : tuple of Bearing
        From the nearest two corners or casings; stakes only where nothing else is.
    """

    point: RecordedPoint
    ties: tuple[tuple[str, float], ...]
    fixed: tuple[Bearing, ...]


def named_points(record: RecordFile) -> tuple[RecordedPoint, ...]:
    """Points that have a name and hold, as they stand in the file."""
    return tuple(point for point in record.points if point.what and point.position != "superseded")


def find(record: RecordFile, name: str) -> tuple[FoundPoint, ...]:
    """Find the points of a name.

    Parameters
    ----------
    name : str
        "bend B2", "tee", "end": every word must be one of the point's; a point of exactly that name is taken alone.

    Raises
    ------
    InputFaults
        No point has that name.
    """
    points = named_points(record)
    wanted = _words(name)
    exact = [point for point in points if wanted and wanted in (_words(point.what), _words(point.planned_as))]
    alike = [
        point
        for point in points
        if wanted and set(wanted) <= {*_words(point.what), *_words(point.planned_as)}
    ]
    chosen = exact or alike
    if not chosen:
        names = list(dict.fromkeys(point.what for point in points))
        listed = "; ".join(names[:12]) + (" ..." if len(names) > 12 else "")
        raise InputFaults(
            [
                Fault(
                    file="NAME", found=f'"{name}"', expected=f"one of: {listed}", mend=suggestion(name, names)
                )
            ]
        )
    places = [Point(longitude, latitude) for _, longitude, latitude in record.corners]
    frame = frame_for(
        [*places, *(Point(p.longitude_deg, p.latitude_deg) for p in points)], record.elevation_m
    )
    corners = {
        corner: frame.to_ground(place) for (corner, _, _), place in zip(record.corners, places, strict=True)
    }
    return tuple(_found(point, frame, corners, record.stakes) for point in chosen)


def _found(
    point: RecordedPoint, frame: Frame, corners: dict[str, Point], stakes: frozenset[str]
) -> FoundPoint:
    place = frame.to_ground(Point(point.longitude_deg, point.latitude_deg))
    away = sorted(
        (_bearing(name, corner, place) for name, corner in corners.items()),
        key=lambda each: (each.name in stakes, each.distance_m, each.name),
    )
    by_name = {each.name: each.distance_m for each in away}
    ties = tuple((name, by_name[name]) for name, _ in point.ties if name in by_name)
    return FoundPoint(
        point=point,
        ties=ties or tuple((each.name, each.distance_m) for each in away[:2]),
        fixed=tuple(away[:FIXED]),
    )


def _bearing(name: str, corner: Point, place: Point) -> Bearing:
    east, north = place.x - corner.x, place.y - corner.y
    return Bearing(name=name, distance_m=hypot(east, north), bearing_deg=degrees(atan2(east, north)) % 360)


def _words(text: str) -> list[str]:
    return re.findall(r"\w+", text.casefold())
