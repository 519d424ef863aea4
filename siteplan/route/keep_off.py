"""Areas that a trench stays out of: what the rules ask, what digging needs, and how far the positions may be wrong.

The centreline keeps from each feature the required distance, the error band of the two positions, and half the
trench. Half the bucket is used for rules that mean the line's own edge as well, because where in the trench a line
will lie is not known yet: that is on the careful side.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Literal

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from siteplan.route.model import KeptOff
from siteplan.rules.model import Requirements
from siteplan.site.catalogue import kinds
from siteplan.site.evidence import one_sided_m, pair_sigma_m
from siteplan.site.features import Feature
from siteplan.site.site import Site

ROUND_M = 0.05
"""Round corners are cut straight: nowhere more than this [m] outside the true distance (2 in: less than a tape shows)."""

NO_PARCEL_M = 30.0
"""Ground [m] around everything drawn that may be used where no parcel is drawn (common practice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Yard:
    """Ground that may be dug, and what is kept off on it.

    Attributes
    ----------
    land : shapely geometry
        Parcels, and easements in which digging is allowed, ground metres.
    kept_off : tuple of KeptOff
        Those that hold for one set of lines.
    """

    land: BaseGeometry
    kept_off: tuple[KeptOff, ...]

    def area(self, *, leave_out: Iterable[str] = ()) -> BaseGeometry:
        """Return the ground where the centreline may lie, some features left out."""
        left_out = set(leave_out)
        taken = [kept.area for kept in self.kept_off if kept.feature not in left_out]
        return self.land.difference(shapely.union_all(taken))

    def distance_m(self, feature: str) -> float:
        """Return the distance [m] that the centreline keeps from a feature, 0 if it need not."""
        return max((kept.distance_m for kept in self.kept_off if kept.feature == feature), default=0.0)

    def reaching_in(self, site: Site) -> Yard:
        """Return the same yard with corners cut inside the true round: no trench that keeps its distances is lost."""
        shapes = {feature.id: feature.shape for feature in site.features}
        shapes[edge_of_land(site)] = land_of(site).boundary
        return Yard(
            land=self.land,
            kept_off=tuple(
                replace(kept, area=grown(shapes[kept.feature], kept.distance_m, corners="inside"))
                for kept in self.kept_off
                if kept.feature in shapes
            ),
        )


def keep_off(site: Site, requirements: Requirements) -> tuple[KeptOff, ...]:
    """Find what every line to lay keeps off.

    Parameters
    ----------
    site : Site
        In ground metres.
    requirements : Requirements
        Line setbacks and root zones are used; a setback that is only advised is kept as well.

    Returns
    -------
    tuple of KeptOff
        In the order of the features, the edge of the land first; for each feature one for every distance asked, with
        the lines it is asked of. A line does not keep off the place where it starts or ends, unless that is a
        building or another area: that is met square to the wall.
    """
    found = []
    if any(site.of_kind("parcel")):
        edge = site.feature(edge_of_land(site))
        for ask, lines in _grouped(site, requirements, edge).items():
            found.append(_kept(site, requirements, edge, land_of(site).boundary, *ask, lines))
    for feature in site.features:
        if feature.kind != "parcel":
            for ask, lines in _grouped(site, requirements, feature).items():
                found.append(_kept(site, requirements, feature, feature.shape, *ask, lines))
    return tuple(found)


def land_of(site: Site) -> BaseGeometry:
    """Return the ground that may be dug: the parcels, and the easements that allow it."""
    shapes = [feature.shape for feature in site.features if _may_be_dug(feature)]
    if any(site.of_kind("parcel")):
        return shapely.union_all(shapes)
    west, south, east, north = shapely.total_bounds([feature.shape for feature in site.features])
    around = shapely.box(west - NO_PARCEL_M, south - NO_PARCEL_M, east + NO_PARCEL_M, north + NO_PARCEL_M)
    return shapely.union_all([around, *shapes])


def edge_of_land(site: Site) -> str:
    """Return the id of the parcel that stands for the edge of the land, ``""`` if none is drawn."""
    return next((parcel.id for parcel in site.of_kind("parcel")), "")


def grown(shape: BaseGeometry, distance_m: float, *, corners: Literal["outside", "inside"]) -> BaseGeometry:
    """Grow a shape by a distance: exact along straight edges, corners cut straight outside or inside the true round.

    Parameters
    ----------
    shape : shapely geometry
        Ground metres.
    distance_m : float
        0 or more.
    corners : {"outside", "inside"}
        ``outside``: contains the true area, at most ``ROUND_M`` over it. ``inside``: lies within the true area.

    Returns
    -------
    shapely geometry
        A Polygon or MultiPolygon.

    Examples
    --------
    A place kept off by 3 m: 9 pi = 28.27 square metres lie between the two.

    >>> inside, outside = (grown(shapely.Point(0, 0), 3.0, corners=how) for how in ("inside", "outside"))
    >>> round(inside.area, 1), round(outside.area, 1)
    (27.8, 28.5)
    """
    if distance_m <= 0.0:
        return shape
    sides = 4 * math.ceil(math.pi / math.acos(distance_m / (distance_m + ROUND_M)) / 4)
    half = math.pi / sides
    radius_m, turn = (distance_m / math.cos(half), half) if corners == "outside" else (distance_m, 0.0)
    angles = np.arange(sides) * 2 * half + turn

    def round_off(places: list[tuple[float, ...]], direction: float) -> BaseGeometry:
        ring = radius_m * np.column_stack([np.cos(angles + direction), np.sin(angles + direction)])
        return shapely.convex_hull(
            shapely.multipoints(np.concatenate([ring + place[:2] for place in places]))
        )

    parts: list[BaseGeometry] = []
    for part in shapely.get_parts(shape):
        if part.geom_type == "Point":
            parts.append(round_off([part.coords[0]], 0.0))
            continue
        edges = [part.exterior, *part.interiors] if part.geom_type == "Polygon" else [part]
        parts.append(part)
        for edge in edges:
            for start, end in pairwise(edge.coords):
                direction = math.atan2(end[1] - start[1], end[0] - start[0])
                parts.append(round_off([start, end], direction))
    areas = [part for part in parts if part.geom_type == "Polygon"]
    return shapely.union_all(areas)


def _may_be_dug(feature: Feature) -> bool:
    return feature.kind == "parcel" or (
        feature.kind == "easement" and feature.facts.get("digging_allowed") is True
    )


def _grouped(
    site: Site, requirements: Requirements, feature: Feature
) -> dict[tuple[float, str], tuple[str, ...]]:
    """Return the lines that keep off a feature, by what is asked: distance [m] and row."""
    groups: dict[tuple[float, str], tuple[str, ...]] = {}
    for line in site.lines:
        asked = _asks(site, requirements, feature, line.id)
        at_its_end = feature.id in (line.start, line.end) and not _is_area(feature)
        if asked and not at_its_end:
            governing = max(asked, key=lambda ask: (ask[0], ask[1] != ""))
            groups[governing] = (*groups.get(governing, ()), line.id)
    return groups


def _asks(site: Site, requirements: Requirements, feature: Feature, line: str) -> list[tuple[float, str]]:
    """Return all distances [m] asked of a line from a feature, each with its row; one parcel stands for all."""
    is_parcel = feature.kind == "parcel"
    ids = {parcel.id for parcel in site.of_kind("parcel")} if is_parcel else {feature.id}
    asked = [
        (setback.least.metres, setback.citation.row)
        for setback in requirements.setbacks
        if setback.subject == "line" and setback.applies and setback.of == line and setback.to in ids
    ]
    kind = kinds()[feature.kind]
    if kind.dig == "never" or is_parcel:
        asked.append((kind.dig_clearance_m, ""))
    if feature.kind == "tree":
        per_diameter, least = requirements.roots.radius_per_diameter, requirements.roots.least_m
        radius_m = per_diameter.value * float(feature.facts.get("trunk_diameter", 0.0))
        asked.append(max((radius_m, per_diameter.citation.row), (least.value, least.citation.row)))
    return asked


def _kept(
    site: Site,
    requirements: Requirements,
    feature: Feature,
    shape: BaseGeometry,
    required_m: float,
    row: str,
    lines: tuple[str, ...],
) -> KeptOff:
    laying = site.digging.laying
    known_by = (
        [other for other in site.features if _may_be_dug(other)] if feature.kind == "parcel" else [feature]
    )
    sigma_m = max(pair_sigma_m(other.evidence, laying) for other in known_by)
    error_m = one_sided_m(sigma_m, requirements.confidence)
    half_width_m = site.digging.bucket_m / 2
    distance_m = required_m + error_m + half_width_m
    return KeptOff(
        feature=feature.id,
        area=grown(shape, distance_m, corners="outside"),
        distance_m=distance_m,
        required_m=required_m,
        error_m=error_m,
        half_width_m=half_width_m,
        row=row,
        lines=lines,
    )


def _is_area(feature: Feature) -> bool:
    return feature.shape.geom_type in ("Polygon", "MultiPolygon")
