"""Where a trench is, as it is told to somebody who has no map: from a corner that stands, straight by straight."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import atan2, degrees, hypot

import shapely
from shapely import LineString
from shapely.geometry.base import BaseGeometry

from siteplan.measure.along import SHORT_M
from siteplan.measure.model import Bend
from siteplan.plane.corners import named_corners
from siteplan.route.model import Reach
from siteplan.site.site import Site

_SOME_OF_IT = 0.1
"""A side of a building on which less than this share of the trench lies is not named."""

_FAR_M = 1e5


@dataclass(frozen=True, slots=True, kw_only=True)
class FromCorner:
    """How far a place lies east and north [m] of the corner of a building that stands (negative: west, south)."""

    building: str
    side: str
    east_m: float
    north_m: float

    @property
    def distance_m(self) -> float:
        """Straight distance [m]."""
        return hypot(self.east_m, self.north_m)


@dataclass(frozen=True, slots=True, kw_only=True)
class Straight:
    """A straight part of a trench, from one bend to the next: bearing [deg clockwise from north], and the bend at its end.

    ``to`` is the name of the bend, ``""`` at the end of the trench.
    """

    length_m: float
    bearing_deg: float
    to: str


def from_corner(site: Site, x: float, y: float) -> FromCorner | None:
    """Return where a place lies from the nearest corner of a building that stands; ``None`` if none stands.

    Parameters
    ----------
    site : Site
        In ground metres.
    x, y : float
        Ground metres.
    """
    found = [
        FromCorner(building=building.id, side=side, east_m=x - corner_x, north_m=y - corner_y)
        for building in site.of_kind("building")
        if building.status == "existing"
        for side, corner_x, corner_y in named_corners(building.shape)
    ]
    return min(found, key=lambda one: (one.distance_m, one.building, one.side), default=None)


def straights(reach: Reach, bends: tuple[Bend, ...]) -> tuple[Straight, ...]:
    """Straight parts of a trench between its bends, in order.

    The bearing is that of the line from one bend to the next; a turn too slight to be a bend is in it.
    """
    here = sorted((bend.distance_m, bend.name) for bend in bends if bend.reach == reach.name)
    stops = [(0.0, ""), *here, (reach.length_m, "")]
    found = []
    for (from_m, _), (to_m, name) in pairwise(stops):
        if to_m - from_m < SHORT_M:
            continue
        start, end = (reach.path.interpolate(along_m) for along_m in (from_m, to_m))
        bearing = degrees(atan2(end.x - start.x, end.y - start.y)) % 360
        found.append(Straight(length_m=to_m - from_m, bearing_deg=bearing, to=name))
    return tuple(found)


def sides_of(building: BaseGeometry, paths: list[LineString]) -> tuple[str, ...]:
    """Return the sides of a building on which a good part of the trenches lies.

    >>> sides_of(shapely.box(0, 0, 10, 10), [LineString([(5, 30), (5, 10)])])
    ('north',)
    """
    west, south, east, north = building.bounds
    beyond = {
        "north": (-_FAR_M, north, _FAR_M, _FAR_M),
        "east": (east, -_FAR_M, _FAR_M, _FAR_M),
        "south": (-_FAR_M, -_FAR_M, _FAR_M, south),
        "west": (-_FAR_M, -_FAR_M, west, _FAR_M),
    }
    whole = sum(path.length for path in paths)
    shares = {
        side: sum(shapely.clip_by_rect(path, *bounds).length for path in paths) / whole
        for side, bounds in beyond.items()
    }
    return tuple(side for side, share in shares.items() if share > _SOME_OF_IT)
