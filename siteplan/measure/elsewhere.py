"""Where else the well could lie on its lot, and how far other trenches keep: what a variance is argued with."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from math import cos, pi

import shapely
from shapely import Point
from shapely.geometry.base import BaseGeometry
from shapely.ops import nearest_points

from siteplan.measure.plot import casing_radius_m, lot_of
from siteplan.route.model import Alternative
from siteplan.rules.model import Requirements, Setback
from siteplan.site.catalogue import kinds
from siteplan.site.features import Feature
from siteplan.site.site import Site

_QUARTER = 32
_OUTSIDE = 1 / cos(pi / (4 * _QUARTER))
"""A round of chords this much larger holds the true one."""
_HAIR_M = 0.001


@dataclass(frozen=True, slots=True, kw_only=True)
class Elsewhere:
    """Ground of the lot on which the well would keep every distance that the rules require of it.

    Attributes
    ----------
    area : shapely geometry
        Ground metres; empty if there is none.
    place : Point or None
        The nearest of it to the well; the well itself if that lies in it.
    away_m : float
        From the well to it [m].
    """

    area: BaseGeometry
    place: Point | None = None
    away_m: float = 0.0


def elsewhere(
    site: Site, requirements: Requirements, well: Feature, spare_m: Mapping[str, float]
) -> Elsewhere | None:
    """Return where a well would keep all required distances; ``None`` if no parcel is drawn.

    Parameters
    ----------
    site : Site
        In ground metres.
    well : Feature
    spare_m : mapping of str to float
        By how much more than the distance it is to lie off a thing [m], by its id: the error of that distance.

    Returns
    -------
    Elsewhere
        With the facts of this well. Rules that only advise are left out, and places are up to a two-thousandth of a distance
        farther than they must be.
    """
    area = lot_of(site)
    if area.is_empty:
        return None
    never = [
        one.shape for one in site.features if kinds()[one.kind].dig == "never" and shapely.area(one.shape)
    ]
    kept = [
        _kept_off(site, setback, well, spare_m.get(setback.to, 0.0))
        for setback in required_of(requirements, well)
    ]
    area = shapely.difference(area, shapely.union_all([*never, *kept]))
    if area.is_empty:
        return Elsewhere(area=area)
    place = nearest_points(area, well.shape)[0]
    return Elsewhere(area=area, place=Point(place.x, place.y), away_m=place.distance(well.shape))


def required_of(requirements: Requirements, well: Feature) -> list[Setback]:
    """Return the distances that rules in force require of a well."""
    return [
        setback
        for setback in requirements.setbacks
        if setback.of == well.id and setback.applies and setback.citation.force != "advised"
    ]


def apart_m(site: Site, setback: Setback, well: Feature, place: Point) -> float:
    """Distance [m] that a well would have at another place, measured as its rule says."""
    edge_m = 0.0 if setback.from_point == "casing centre" else casing_radius_m(well)
    return max(float(place.distance(_edge_of(site.feature(setback.to)))) - edge_m, 0.0)


def ways_apart(others: Iterable[Alternative], shape: BaseGeometry, half_m: float) -> list[float]:
    """Distance [m] of each other layout from a thing, whichever of its trenches is nearest.

    Parameters
    ----------
    others : iterable of Alternative
    shape : shapely geometry
        Ground metres.
    half_m : float
        How far the outer edge of the line lies off the centreline [m].
    """
    return [max(min(float(path.distance(shape)) for path in other.paths) - half_m, 0.0) for other in others]


def _kept_off(site: Site, setback: Setback, well: Feature, spare_m: float) -> BaseGeometry:
    edge_m = 0.0 if setback.from_point == "casing centre" else casing_radius_m(well)
    reach_m = (setback.least.metres + edge_m + spare_m) * _OUTSIDE + _HAIR_M
    return _edge_of(site.feature(setback.to)).buffer(reach_m, quad_segs=_QUARTER)


def _edge_of(feature: Feature) -> BaseGeometry:
    return feature.shape.boundary if feature.kind == "parcel" else feature.shape
