"""Areas that a trench stays out of: what the rules ask, what digging needs, and how far the positions may be wrong.

The centreline keeps from each feature the required distance, the error band of the two positions, and half the
trench. Half the bucket is used for rules that mean the line's own edge as well, because where in the trench a line
will lie is not known yet: that is on the careful side.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import pairwise
from typing import Literal, TypeAlias

import shapely
from shapely import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from siteplan.route.model import KeptOff
from siteplan.rules.citation import Citation
from siteplan.rules.model import Requirements
from siteplan.site.catalogue import kinds
from siteplan.site.evidence import one_sided_m, pair_sigma_m
from siteplan.site.features import Feature
from siteplan.site.site import Site

ROUND_M = 0.05
"""Round corners are cut straight: nowhere more than this [m] outside the true distance (2 in: less than a tape shows)."""

STRUCTURAL_SHARE = 5 / 12
"""Share of the root zone that holds the tree up and is never dug: five trunk diameters of the usual twelve (from memory:
an Australian standard comes to 5.2 for a trunk of 0.45 m). The rest is dug at its own price, or bored under."""

NO_PARCEL_M = 30.0
"""Ground [m] around everything drawn that may be used where no parcel is drawn (common practice, no source)."""


_TURNED_BACK = 1e-9

Corners: TypeAlias = Literal["outside", "inside"]
"""Whether corners that are cut straight contain the true round or lie in it."""


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


def half_trench_m(site: Site) -> float:
    """Return half the width [m] of the trench as the bucket digs it."""
    return site.digging.bucket_m / 2


def root_zone_m(tree: Feature, requirements: Requirements) -> tuple[float, Citation]:
    """Return the radius [m] of the root zone of a tree that the rules name, and the row that sets it."""
    per_diameter, least = requirements.roots.radius_per_diameter, requirements.roots.least_m
    by_trunk_m = per_diameter.value * float(tree.facts.get("trunk_diameter", 0.0))
    return max((by_trunk_m, per_diameter.citation), (least.value, least.citation), key=lambda one: one[0])


@lru_cache(maxsize=1024)
def grown(shape: BaseGeometry, distance_m: float, *, corners: Corners) -> BaseGeometry:
    """Grow a shape by a distance: exact along straight edges, corners cut straight outside or inside the true round.

    Things that were not moved are not grown again.

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
    (27.7, 28.6)
    """
    if distance_m <= 0.0:
        return shape
    parts = [_part_grown(part, distance_m, corners) for part in shapely.get_parts(shape)]
    return parts[0] if len(parts) == 1 else shapely.union_all(parts)


def _part_grown(part: BaseGeometry, distance_m: float, corners: Corners) -> BaseGeometry:
    """Grow one Point, LineString or Polygon; a line is gone along there and back, as a polygon without width."""
    if part.geom_type != "Polygon":
        places = list(part.coords)
        return _gone_round([*places, *places[-2:0:-1]], distance_m, corners)
    around = _gone_round(shapely.orient_polygons(part).exterior.coords[:-1], distance_m, corners)
    courts = [
        Polygon(ring).difference(_part_grown(LineString(ring), distance_m, corners))
        for ring in part.interiors
    ]
    return around.difference(shapely.union_all(courts)) if courts else around


def _gone_round(ring: Iterable[tuple[float, ...]], distance_m: float, corners: Corners) -> BaseGeometry:
    """Go round a ring, which runs counterclockwise, at a distance on its right.

    Where the ring turns left the corner is rounded; where it turns right the way goes to the corner and out again. So it is
    the outline of the shape, of a strip along each edge and of a round at each left turn, laid over each other and all
    counterclockwise: what it winds round, once or more, is their union, and that is what ``buffer`` by 0 returns.
    """
    places = [(point[0], point[1]) for point in ring]
    edges = [(b, math.atan2(b[1] - a[1], b[0] - a[0])) for a, b in pairwise([*places, places[0]]) if a != b]
    if not edges:
        edges = [(places[0], 0.0), (places[0], math.pi)]
    widest = 2.0 * math.acos(distance_m / (distance_m + ROUND_M))
    way: list[tuple[float, float]] = []
    is_simple = True
    for ((x, y), arrive), (_, leave) in pairwise([*edges, edges[0]]):
        turn = math.remainder(leave - arrive, math.tau)
        if turn < _TURNED_BACK - math.pi:
            turn += math.tau
        cuts = max(1, math.ceil(turn / widest))
        half, right = turn / cuts / 2.0, arrive - math.pi / 2.0
        if turn < 0.0:
            is_simple = False
            stops = [(distance_m, right), (0.0, right), (distance_m, right + turn)]
        elif corners == "outside":
            stops = [(distance_m / math.cos(half), right + (2 * k + 1) * half) for k in range(cuts)]
        else:
            stops = [(distance_m, right + 2 * k * half) for k in range(cuts + 1)]
        way += [(x + reach * math.cos(angle), y + reach * math.sin(angle)) for reach, angle in stops]
    return Polygon(way) if is_simple else Polygon(way).buffer(0.0)


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
    half_width_m = half_trench_m(site)
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
