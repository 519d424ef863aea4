"""What closes the way when no trench can be dug, in words, and what would open it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import shapely
from shapely import Point
from shapely.geometry.base import BaseGeometry

from siteplan.errors import NoRoute
from siteplan.route.approach import NEAR_M, approach, inside_of
from siteplan.route.keep_off import Yard, edge_of_land, grown, land_of
from siteplan.site.features import Feature
from siteplan.site.site import Site
from siteplan.units import Printer

_HALVINGS = 12


def no_route(site: Site, yard: Yard, root: str, end: str, what: str) -> NoRoute:
    """Say what closes the way between two features.

    Parameters
    ----------
    site : Site
        In ground metres.
    yard : Yard
        Ground on which there is no way.
    root, end : str
        Ids of the two features.
    what : str
        Name of the lines that were to be laid.

    Returns
    -------
    NoRoute
        Its ``blockers`` are the features any one of which would open the way if it were not kept off; else the first
        two that would together; else the parcel. ``where`` is what is kept off them.
    """
    ask = _Question(site=site, yard=yard, root=site.feature(root), end=site.feature(end))
    for place in (ask.root, ask.end):
        if not yard.land.covers(place.shape):
            return NoRoute(
                f"{what}: {place.name} does not lie within the property line",
                blockers=(edge_of_land(site) or place.id,),
                where=place.shape,
            )
    suspects = [feature for feature in ask.kept_features() if feature not in (root, end)]
    freeing = tuple(feature for feature in suspects if ask.is_open_without([feature]))
    if freeing:
        return NoRoute(f"{what}: {ask.words(freeing)}", blockers=freeing, where=ask.kept_area(freeing))
    for pair in combinations(suspects, 2):
        if ask.is_open_without(pair):
            words = f"{ask.named(pair[0])} and {ask.named(pair[1])} close the way, each on its own"
            return NoRoute(f"{what}: {words}", blockers=pair, where=ask.kept_area(pair))
    words = f"no way from {ask.root.name} to {ask.end.name}: more than two things close it"
    edge = edge_of_land(site)
    return NoRoute(f"{what}: {words}", blockers=(edge,) if edge else (), where=ask.kept_area(suspects))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Question:
    """Whether there is a way from root to end if some things were not there, or might be come nearer to."""

    site: Site
    yard: Yard
    root: Feature
    end: Feature

    def kept_features(self) -> list[str]:
        return list(dict.fromkeys(kept.feature for kept in self.yard.kept_off))

    def kept_area(self, features: Sequence[str]) -> BaseGeometry:
        return shapely.union_all([kept.area for kept in self.yard.kept_off if kept.feature in features])

    def shape(self, feature: str) -> BaseGeometry:
        is_edge = feature == edge_of_land(self.site)
        return land_of(self.site).boundary if is_edge else self.site.feature(feature).shape

    def is_open(self, yard: Yard) -> bool:
        features = {feature.id: feature for feature in self.site.features}
        ways = [approach(place, yard, features) for place in (self.root, self.end)]
        if ways[0] is None or ways[1] is None:
            return False
        goals = [way.goal for way in ways if way]
        return any(
            all(part.distance(goal) < NEAR_M for goal in goals) for part in shapely.get_parts(yard.area())
        )

    def is_open_without(self, features: Sequence[str]) -> bool:
        kept = tuple(kept for kept in self.yard.kept_off if kept.feature not in features)
        return self.is_open(Yard(land=self.yard.land, kept_off=kept))

    def is_open_at(self, feature: str, distance_m: float) -> bool:
        kept = tuple(
            replace(
                kept, area=grown(self.shape(feature), distance_m, corners="outside"), distance_m=distance_m
            )
            if kept.feature == feature
            else kept
            for kept in self.yard.kept_off
        )
        return self.is_open(Yard(land=self.yard.land, kept_off=kept))

    def named(self, feature: str) -> str:
        if feature == edge_of_land(self.site):
            return "the property line"
        for other in self.site.features:
            if other.id == feature:
                return other.name
        return f"the trench of {self.site.line(feature).name}"

    def words(self, freeing: Sequence[str]) -> str:
        """Say how one thing, or a gap between two, closes the way."""
        length = Printer(self.site.units).length
        trenches = [feature for feature in freeing if feature in [line.id for line in self.site.lines]]
        if trenches:
            needed = length(self.yard.distance_m(trenches[0]))
            return f"there is no room beside {self.named(trenches[0])}: {needed} needed"
        for place in (self.root, self.end):
            if isinstance(place.shape, Point) and set(inside_of(place.shape, self.yard)) & set(freeing):
                near = next(f for f in inside_of(place.shape, self.yard) if f in freeing)
                there_m = self.shape(near).distance(place.shape)
                needed = length(self.yard.distance_m(near))
                return f"{place.name} is {length(there_m)} from {self.named(near)}, {needed} needed"
        gaps = []
        for one, other in combinations(freeing, 2):
            apart_m = self.shape(one).distance(self.shape(other))
            needed_m = self.yard.distance_m(one) + self.yard.distance_m(other)
            if NEAR_M < apart_m < needed_m:
                gaps.append((apart_m - needed_m, apart_m, needed_m, one, other))
        if gaps:
            _, apart_m, needed_m, one, other = max(gaps)
            return (
                f"{self.named(one)} and {self.named(other)} close the way between them: "
                f"{length(apart_m)} apart, {length(needed_m)} needed"
            )
        return "; or ".join(self.alone(feature) for feature in freeing)

    def alone(self, feature: str) -> str:
        """Say how one thing closes the way, and how near the trench must come to it to get by."""
        length = Printer(self.site.units).length
        needed_m = self.yard.distance_m(feature)
        words = f"{self.named(feature)} closes the way"
        if not self.is_open_at(feature, 0.0):
            return f"{words}; the trench would have to go through it"
        open_m, shut_m = 0.0, needed_m
        for _ in range(_HALVINGS):
            middle_m = (open_m + shut_m) / 2
            if self.is_open_at(feature, middle_m):
                open_m = middle_m
            else:
                shut_m = middle_m
        return f"{words}: {length(needed_m)} kept, {length(open_m)} would leave a way"
