"""What if: whether there is a way if some things were not there, stood elsewhere, or might be come nearer."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import shapely
from shapely import LineString, MultiPolygon, Polygon
from shapely.affinity import translate
from shapely.geometry.base import BaseGeometry

from siteplan.route.approach import NEAR_M, Approach, approach
from siteplan.route.between import shortest_between
from siteplan.route.grown import grown
from siteplan.route.keep_off import Yard, edge_of_land, land_of
from siteplan.route.mesh import FreeGround
from siteplan.route.model import KeptOff
from siteplan.rules.model import Setback
from siteplan.site.features import Feature, Side
from siteplan.site.site import Site

_HALVINGS = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """Two features, and the yard on which a way between them is sought.

    Attributes
    ----------
    site : Site
        In ground metres.
    yard : Yard
        Ground that may be dug and what is kept off on it.
    root, end : Feature
        The two; both of the site.
    closed_sides : tuple of {"north", "east", "south", "west"}
        Walls of the end that are no way in.
    by_hand : tuple of str
        Ids of things of which the yard keeps off no more than the zone in which they are dug up by hand.
    setbacks : tuple of Setback
        All rows that speak of the site: less than what governs in the yard may be asked by others as well.
    """

    site: Site
    yard: Yard
    root: Feature
    end: Feature
    closed_sides: tuple[Side, ...] = ()
    by_hand: tuple[str, ...] = ()
    setbacks: tuple[Setback, ...] = ()

    def kept_features(self) -> list[str]:
        """Ids of all that is kept off, each once."""
        return list(dict.fromkeys(kept.feature for kept in self.yard.kept_off))

    def kept(self, feature: str) -> list[KeptOff]:
        """All that is kept off one thing, the largest distance first."""
        asked = [kept for kept in self.yard.kept_off if kept.feature == feature]
        return sorted(asked, key=lambda kept: -kept.distance_m)

    def rows(self, feature: str, more_than_m: float) -> dict[str, float]:
        """Rows that ask more than this distance [m] from one thing, the largest first, each with what it asks [m]."""
        is_edge = feature == edge_of_land(self.site)
        ids = {parcel.id for parcel in self.site.of_kind("parcel")} if is_edge else {feature}
        asked = {kept.row: kept.required_m for kept in self.kept(feature) if kept.row}
        for setback in self.setbacks:
            if setback.subject == "line" and setback.applies and setback.to in ids:
                row = setback.citation.row
                asked[row] = max(setback.least.metres, asked.get(row, 0.0))
        more = [(row, required_m) for row, required_m in asked.items() if required_m > more_than_m + NEAR_M]
        return dict(sorted(more, key=lambda one: (-one[1], one[0])))

    def kept_area(self, features: Sequence[str]) -> BaseGeometry:
        """Return the ground that is kept off these things."""
        return shapely.union_all([kept.area for kept in self.yard.kept_off if kept.feature in features])

    def shape(self, feature: str) -> BaseGeometry:
        """Return what is kept off: the edge of the land for the parcel, else the thing as drawn."""
        is_edge = feature == edge_of_land(self.site)
        return land_of(self.site).boundary if is_edge else self.site.feature(feature).shape

    def named(self, feature: str) -> str:
        """Name of what is kept off, as it prints; what is neither drawn nor to be laid goes by its id."""
        if feature == edge_of_land(self.site):
            return "the property line"
        names = {line.id: f"the trench of {line.name}" for line in self.site.lines}
        names |= {other.id: other.name for other in self.site.features}
        return names.get(feature, feature)

    def is_drawn(self, feature: str) -> bool:
        """Tell whether it is a thing of the site, kept off by a distance."""
        return feature not in self.by_hand and any(other.id == feature for other in self.site.features)

    def is_open(self) -> bool:
        """Tell whether there is a way."""
        ways = self.approaches()
        if ways is None:
            return False
        return any(
            all(part.distance(way.goal) < NEAR_M for way in ways)
            for part in shapely.get_parts(self.yard.area())
        )

    def approaches(self) -> tuple[Approach, Approach] | None:
        """Return how root and end are come to; ``None`` if one of them cannot be."""
        features = {feature.id: feature for feature in self.site.features}
        root = approach(self.root, self.yard, features)
        end = approach(self.end, self.yard, features, closed_sides=self.closed_sides)
        return None if root is None or end is None else (root, end)

    def without(self, features: Sequence[str]) -> Question:
        """Ask as if some things were not kept off."""
        kept = tuple(kept for kept in self.yard.kept_off if kept.feature not in features)
        return replace(self, yard=replace(self.yard, kept_off=kept))

    def keeping(self, feature: str, distance_m: float) -> Question:
        """Ask as if no more than this distance [m] were kept from one thing."""
        nearer = grown(self.shape(feature), distance_m, corners="outside")
        kept = tuple(
            replace(kept, area=nearer, distance_m=distance_m)
            if kept.feature == feature and kept.distance_m > distance_m
            else kept
            for kept in self.yard.kept_off
        )
        return replace(self, yard=replace(self.yard, kept_off=kept))

    def moved(self, feature: str, east_m: float, north_m: float) -> Question:
        """Ask as if one thing stood elsewhere, and what is kept off it with it."""
        by_id = {
            one.id: replace(one, shape=translate(one.shape, east_m, north_m)) if one.id == feature else one
            for one in self.site.features
        }
        kept = tuple(
            replace(kept, area=translate(kept.area, east_m, north_m)) if kept.feature == feature else kept
            for kept in self.yard.kept_off
        )
        return replace(
            self,
            site=replace(self.site, features=tuple(by_id.values())),
            yard=replace(self.yard, kept_off=kept),
            root=by_id[self.root.id],
            end=by_id[self.end.id],
        )

    def open_at_m(self, feature: str) -> float | None:
        """Return the largest distance [m] from one thing that leaves a way; ``None`` if none does."""
        if not self.keeping(feature, 0.0).is_open():
            return None
        open_m, shut_m = 0.0, self.yard.distance_m(feature)
        for _ in range(_HALVINGS):
            middle_m = (open_m + shut_m) / 2
            if self.keeping(feature, middle_m).is_open():
                open_m = middle_m
            else:
                shut_m = middle_m
        return open_m

    def openers(self, features: Sequence[str], count: int) -> Iterator[tuple[str, ...]]:
        """Sets of so many things, in order, that leave a way if they are not kept off.

        Such a set borders the ground that joins the root, and the ground that joins the end: only those are tried.
        """
        ways = self.without(features).approaches()
        if ways is None:
            return
        free = self.yard.area()
        sides = [_with_ground(way, free) for way in ways]
        bordering = [
            {feature for feature in features if self.kept_area([feature]).distance(side) < NEAR_M}
            for side in sides
        ]
        for chosen in combinations(features, count):
            if all(border.intersection(chosen) for border in bordering) and self.without(chosen).is_open():
                yield chosen

    def way(self) -> LineString | None:
        """Return the shortest trench, short of the last legs to walls; ``None`` if there is no way."""
        ways = self.approaches()
        area = self.yard.area()
        assert isinstance(area, Polygon | MultiPolygon)
        found = ways and shortest_between(FreeGround(area), ways[0].goal, ways[1].goal)
        return found.line if found else None

    def across(self, feature: str) -> LineString | None:
        """Return a straight line that leads across what is kept off one thing and so joins the two, nothing else crossed.

        The shortest there is, if that crosses nothing else; else where the shortest trench would cross; ``None`` if that
        is not straight.
        """
        opened = self.without([feature])
        ways = opened.approaches()
        if ways is None:
            return None
        free, kept = self.yard.area(), self.kept_area([feature])
        others = self.kept_area([other for other in self.kept_features() if other != feature])
        crossed = shapely.union_all([free, kept.difference(others)]).buffer(NEAR_M)
        narrowest = shapely.shortest_line(*(_with_ground(way, free) for way in ways))
        if crossed.covers(narrowest):
            return narrowest
        way = opened.way()
        inside = shapely.get_coordinates(way.intersection(kept) if way else None)
        if len(inside) < 2:
            return None
        chord = LineString([inside[0], inside[-1]])
        return chord if crossed.covers(chord) else None


def _with_ground(way: Approach, free: BaseGeometry) -> BaseGeometry:
    """Return the places where a feature is come to, with the free ground that joins them."""
    joined = [part for part in shapely.get_parts(free) if part.distance(way.goal) < NEAR_M]
    return shapely.union_all([way.goal, *joined])
