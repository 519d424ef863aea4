"""Areas that a trench stays out of: what the rules ask, what digging needs, and how far the positions may be wrong.

The centreline keeps from each feature the required distance, the error band of the two positions, and half the
trench. Half the bucket is used for rules that mean the line's own edge as well, because where in the trench a line
will lie is not known yet: that is on the careful side.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from siteplan.route.grown import grown, grown_each
from siteplan.route.model import KeptOff
from siteplan.rules.citation import Citation
from siteplan.rules.model import Requirements
from siteplan.site.catalogue import kinds
from siteplan.site.evidence import one_sided_m, pair_sigma_m
from siteplan.site.features import Feature
from siteplan.site.site import Site

STRUCTURAL_SHARE = 5 / 12
"""Share of the root zone that holds the tree up and is never dug: five trunk diameters of the usual twelve (from memory:
an Australian standard comes to 5.2 for a trunk of 0.45 m). The rest is dug at its own price, or bored under."""

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

    def area(self, *, leave_out: Iterable[str] = (), within: Polygon | None = None) -> BaseGeometry:
        """Return the ground where the centreline may lie, some features left out; or what of it lies within a part."""
        left_out = set(leave_out)
        taken = [kept.area for kept in self.kept_off if kept.feature not in left_out]
        land = self.land
        if within is not None:
            land = land.intersection(within)
            taken = [area for area in taken if area.intersects(within)]
        return land.difference(shapely.disjoint_subset_union_all(taken))

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
                if kept.feature in shapes
                else kept
                for kept in self.kept_off
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
    asked: list[_Asked] = []
    if any(site.of_kind("parcel")):
        edge = site.feature(edge_of_land(site))
        asked += _asked(site, requirements, edge, land_of(site).boundary)
    for feature in site.features:
        if feature.kind != "parcel":
            asked += _asked(site, requirements, feature, feature.shape)
    half_width_m = half_trench_m(site)
    distances_m = [each.required_m + each.error_m + half_width_m for each in asked]
    areas = grown_each([each.shape for each in asked], distances_m, corners="outside")
    return tuple(
        KeptOff(
            feature=each.feature,
            area=area,
            distance_m=distance_m,
            required_m=each.required_m,
            error_m=each.error_m,
            half_width_m=half_width_m,
            row=each.row,
            lines=each.lines,
        )
        for each, distance_m, area in zip(asked, distances_m, areas, strict=True)
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Asked:
    """A distance [m] that lines keep from a feature, by which row, and how far the two positions may be wrong."""

    feature: str
    shape: BaseGeometry
    required_m: float
    error_m: float
    row: str
    lines: tuple[str, ...]


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


def half_trench_m(site: Site) -> float:
    """Return half the width [m] of the trench as the bucket digs it."""
    return site.digging.bucket_m / 2


def root_zone_m(tree: Feature, requirements: Requirements) -> tuple[float, Citation]:
    """Return the radius [m] of the root zone of a tree that the rules name, and the row that sets it."""
    per_diameter, least = requirements.roots.radius_per_diameter, requirements.roots.least_m
    by_trunk_m = per_diameter.value * float(tree.facts.get("trunk_diameter", 0.0))
    return max((by_trunk_m, per_diameter.citation), (least.value, least.citation), key=lambda one: one[0])


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
        zone_m, citation = root_zone_m(feature, requirements)
        asked.append((STRUCTURAL_SHARE * zone_m, citation.row))
    return asked


def _asked(site: Site, requirements: Requirements, feature: Feature, shape: BaseGeometry) -> Iterator[_Asked]:
    """Give the distances asked of lines from a feature."""
    known_by = (
        [other for other in site.features if _may_be_dug(other)] if feature.kind == "parcel" else [feature]
    )
    sigma_m = max(pair_sigma_m(other.evidence, site.digging.laying) for other in known_by)
    error_m = one_sided_m(sigma_m, requirements.confidence)
    for (required_m, row), lines in _grouped(site, requirements, feature).items():
        yield _Asked(
            feature=feature.id, shape=shape, required_m=required_m, error_m=error_m, row=row, lines=lines
        )


def _is_area(feature: Feature) -> bool:
    return feature.shape.geom_type in ("Polygon", "MultiPolygon")
