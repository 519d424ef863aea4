"""What a plot plan dimensions: the sides of the lot, the distances from the well, which way the ground falls."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from math import atan2, degrees, hypot, isnan, nan

import numpy as np
import shapely
from shapely import LineString, Point
from shapely.geometry.base import BaseGeometry
from shapely.ops import nearest_points

from siteplan.plane.ground import GroundSurface
from siteplan.rules.model import Requirements
from siteplan.site.catalogue import kinds
from siteplan.site.features import Feature
from siteplan.site.site import Site
from siteplan.units import Length

STRAIGHT_M = 0.01
"""Corners this near [m] to the straight line between their neighbours make no side of their own."""

_GROUND_COVER = ("lawn", "field", "woods", "ledge", "no_dig")
_LOT = ("parcel", "property_line")
Spot = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class LotSide:
    """One straight side of the lot.

    Attributes
    ----------
    number : int
        From 1, clockwise round each parcel from its northernmost corner; drawn property lines after the parcels.
    of : str
        Id of the parcel or property line.
    path : LineString
        Ground metres.
    well_m : float
        From the casing edge, or its centre if no diameter is stated, to the nearest point of it [m].
    points : two (x, y)
        Between which that is measured.
    """

    number: int
    of: str
    path: LineString
    well_m: float
    points: tuple[Spot, Spot]

    @property
    def length_m(self) -> float:
        """Length on the map [m]."""
        return float(self.path.length)


@dataclass(frozen=True, slots=True, kw_only=True)
class FromWell:
    """How far one thing lies from the well.

    Attributes
    ----------
    to : str
        Id of the thing.
    distance_m : float
        From the casing edge, or its centre if no diameter is stated, to the nearest edge [m]; 0 where it is under the well.
    points : two (x, y)
        Between which it is measured.
    rise_m : float or None
        Ground at that edge over the ground at the well [m]; ``None``: not both lie in the levelled area.
    """

    to: str
    distance_m: float
    points: tuple[Spot, Spot]
    rise_m: float | None


def lot_sides(site: Site) -> tuple[LotSide, ...]:
    """Return the straight sides of each parcel and property line of a site in ground metres."""
    found: list[LotSide] = []
    for feature in sorted(site.of_kind(*_LOT), key=lambda one: _LOT.index(one.kind)):
        for path in _straights(feature.shape):
            away_m, points = _apart(site.well, path)
            found.append(
                LotSide(number=len(found) + 1, of=feature.id, path=path, well_m=away_m, points=points)
            )
    return tuple(found)


def lot_of(site: Site) -> BaseGeometry:
    """Return the ground of all parcels; empty if none is drawn."""
    return shapely.union_all([parcel.shape for parcel in site.of_kind("parcel")])


def from_well(site: Site, ground: GroundSurface | None) -> tuple[FromWell, ...]:
    """Return the distance from the well to each thing that is on the ground, the nearest first; not to the lot.

    Lawn, field, woods and the like, routes that are only wanted, and the well itself are left out.
    """
    well = site.well
    there = [
        feature
        for feature in site.features
        if feature.id != well.id
        and feature.kind not in (*_LOT, *_GROUND_COVER)
        and kinds()[feature.kind].group != "route"
    ]
    apart = [_apart(well, feature.shape) for feature in there]
    places = [(well.shape.x, well.shape.y), *(points[1] for _, points in apart)]
    heights = [nan] * len(places) if ground is None else ground.elevations(places).tolist()
    found = [
        FromWell(
            to=feature.id,
            distance_m=away_m,
            points=points,
            rise_m=None if isnan(rise := height - heights[0]) else rise,
        )
        for feature, (away_m, points), height in zip(there, apart, heights[1:], strict=True)
    ]
    return tuple(sorted(found, key=lambda one: (one.distance_m, one.to)))


def casing_radius_m(well: Feature) -> float:
    """Return half the casing diameter [m]; 0 if none is stated."""
    return float(well.facts.get("casing_diameter", 0.0)) / 2


def required_rings(site: Site, requirements: Requirements) -> tuple[tuple[Length, float, bool], ...]:
    """Return each distance that a rule in force asks round the well, the largest first.

    Returns
    -------
    tuple of (Length, float, bool)
        As the rule says it, the radius about the centre of the casing [m], and whether any rule requires it, not only advises it.
    """
    well = site.well
    found: dict[tuple[Length, float], bool] = {}
    for setback in requirements.setbacks:
        if setback.of == well.id and setback.applies and setback.least.value > 0:
            edge_m = 0.0 if setback.from_point == "casing centre" else casing_radius_m(well)
            key = (setback.least, setback.least.metres + edge_m)
            found[key] = found.get(key, False) or setback.citation.force != "advised"
    rings = ((least, radius_m, required) for (least, radius_m), required in found.items())
    return tuple(sorted(rings, key=lambda ring: -ring[1]))


def outside_lot(site: Site, radius_m: float) -> BaseGeometry:
    """Return the part of a circle round the well [radius in m] that lies outside the parcels; empty if none is drawn."""
    lot = lot_of(site)
    return Point() if lot.is_empty else shapely.difference(circle(site.well.shape, radius_m), lot)


def circle(centre: BaseGeometry, radius_m: float) -> BaseGeometry:
    """Return a circle as an area, true to a two-thousandth of its radius."""
    return centre.buffer(radius_m, quad_segs=32)


def fall(site: Site) -> tuple[float, float] | None:
    """Return which way the ground falls [deg clockwise from y] and how steeply (rise over run), fitted to all levels.

    ``None`` without three levels that are not on one line, or where the ground is level.

    >>> import types
    >>> level = lambda x, y, z: types.SimpleNamespace(x=x, y=y, elevation_m=z)
    >>> fall(types.SimpleNamespace(levels=[level(0, 0, 3), level(30, 0, 0), level(0, 30, 3), level(30, 30, 0)]))
    (90.0, 0.1)
    """
    rows = np.array([(level.x, level.y, level.elevation_m) for level in site.levels], dtype=np.float64)
    if len(rows) < 3:
        return None
    rows = rows - rows.mean(axis=0)
    (east, north), _, rank, _ = np.linalg.lstsq(rows[:, :2], rows[:, 2], rcond=1e-9)
    slope = hypot(east, north)
    if rank < 2 or slope < 1e-6:
        return None
    return round(degrees(atan2(-east, -north)) % 360, 6), round(slope, 9)


def _apart(well: Feature, shape: BaseGeometry) -> tuple[float, tuple[Spot, Spot]]:
    """Distance [m] from the casing edge to a shape, and the two points."""
    radius = casing_radius_m(well)
    here, there = nearest_points(well.shape, shape)
    gap = here.distance(there)
    start = LineString([here, there]).interpolate(radius) if 0 < radius < gap else here
    return max(gap - radius, 0.0), ((start.x, start.y), (there.x, there.y))


def _straights(shape: BaseGeometry) -> Iterator[LineString]:
    """Straight pieces of a line or of the outer ring of an area, in order; those of areas clockwise from the north."""
    for part in shapely.get_parts(shape):
        corners = list(part.coords) if part.geom_type == "LineString" else _clockwise(part)
        for start, end in pairwise(
            shapely.simplify(LineString(corners), STRAIGHT_M, preserve_topology=False).coords
        ):
            yield LineString([start, end])


def _clockwise(area: BaseGeometry) -> list[Spot]:
    """Corners of the outer ring, clockwise, from the northernmost (of several the westernmost) back to it."""
    ring = list(shapely.orient_polygons(area, exterior_cw=True).exterior.coords)[:-1]
    first = max(range(len(ring)), key=lambda n: (ring[n][1], -ring[n][0]))
    return ring[first:] + ring[: first + 1]
