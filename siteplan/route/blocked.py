"""What closes the way when no trench can be dug, in words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations

from shapely import Point
from shapely.geometry.base import BaseGeometry

from siteplan.errors import NoRoute
from siteplan.route.approach import NEAR_M, inside_of
from siteplan.route.keep_off import Yard, edge_of_land
from siteplan.route.model import KeptOff
from siteplan.route.relax import Question
from siteplan.route.ways_out import ways_out
from siteplan.rules.model import Setback
from siteplan.site.site import Site
from siteplan.units import Printer


def no_route(
    site: Site,
    yard: Yard,
    root: str,
    end: str,
    what: str,
    *,
    zones: Sequence[tuple[str, BaseGeometry]] = (),
    setbacks: Sequence[Setback] = (),
) -> NoRoute:
    """Say what closes the way between two features, and what would leave one.

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
    zones : sequence of (str, shapely geometry)
        Ground that was shut as well and may be dug by hand, each with the id of the buried line that it surrounds.
    setbacks : sequence of Setback
        All that the rules ask: a way out names each row that asks more than it keeps.

    Returns
    -------
    NoRoute
        Its ``blockers`` are the features any one of which would open the way if it were not kept off; else the first
        two that would together; else the parcel. ``where`` is what is kept off them. The message ends with the first of
        its ``ways_out``.
    """
    ask = Question(
        site=site,
        yard=Yard(land=yard.land, kept_off=(*yard.kept_off, *(_zone(site, *zone) for zone in zones))),
        root=site.feature(root),
        end=site.feature(end),
        closed_sides=tuple(side for line in site.lines if line.end == end for side in line.closed_sides),
        by_hand=tuple(feature for feature, _ in zones),
        setbacks=tuple(setbacks),
    )
    for place in (ask.root, ask.end):
        if not yard.land.covers(place.shape):
            return NoRoute(
                f"{what}: {place.name} does not lie within the property line",
                blockers=(edge_of_land(site) or place.id,),
                where=place.shape,
            )
    if replace(ask, closed_sides=()).is_open():
        closed = f"no way in on a side of {ask.end.name} that is open"
        words = (
            closed
            if ask.closed_sides
            else f"no way from {ask.root.name} to {ask.end.name} as it is asked for"
        )
        return NoRoute(f"{what}: {words}", blockers=(end,), where=ask.end.shape)
    suspects = [feature for feature in ask.kept_features() if feature not in (root, end)]
    freeing = tuple(feature for (feature,) in ask.openers(suspects, 1))
    if freeing:
        return _closed(ask, f"{what}: {_words(ask, freeing)}", freeing, freeing)
    pair = next(ask.openers(suspects, 2), None)
    if pair is not None:
        words = f"{ask.named(pair[0])} and {ask.named(pair[1])} close the way, each on its own"
        return _closed(ask, f"{what}: {words}", pair, pair, each=True)
    words = f"no way from {ask.root.name} to {ask.end.name}: more than two things close it"
    edge = edge_of_land(site)
    return _closed(ask, f"{what}: {words}", (edge,) if edge else (), suspects)


def _closed(
    ask: Question, message: str, blockers: tuple[str, ...], drawn: Sequence[str], *, each: bool = False
) -> NoRoute:
    """Put it together; what is ``drawn`` and no blocker has no way out of its own."""
    ways = ways_out(ask, blockers if set(blockers) == set(drawn) else (), each=each)
    return NoRoute(
        "; ".join([message, *(way.words for way in ways[:1])]),
        blockers=blockers,
        where=ask.kept_area(drawn),
        ways_out=ways,
    )


def _zone(site: Site, feature: str, area: BaseGeometry) -> KeptOff:
    """Ground round a buried line as if it were kept off."""
    return KeptOff(
        feature=feature,
        area=area,
        distance_m=0.0,
        required_m=0.0,
        error_m=0.0,
        half_width_m=0.0,
        row="",
        lines=tuple(line.id for line in site.lines),
    )


def _words(ask: Question, freeing: Sequence[str]) -> str:
    """Say how one thing, or a gap between two, closes the way."""
    length = Printer(ask.site.units).length
    laid = {line.id for line in ask.site.lines}
    trenches = [feature for feature in freeing if feature in laid]
    if trenches:
        needed = length(ask.yard.distance_m(trenches[0]))
        return f"there is no room beside {ask.named(trenches[0])}: {needed} needed"
    for place in (ask.root, ask.end):
        holding = inside_of(place.shape, ask.yard) if isinstance(place.shape, Point) else ()
        near = next((feature for feature in holding if feature in freeing and ask.is_drawn(feature)), None)
        if near is not None:
            there_m = ask.shape(near).distance(place.shape)
            needed = length(ask.yard.distance_m(near))
            return f"{place.name} is {length(there_m)} from {ask.named(near)}, {needed} needed"
    gaps = []
    for one, other in combinations(filter(ask.is_drawn, freeing), 2):
        apart_m = ask.shape(one).distance(ask.shape(other))
        needed_m = ask.yard.distance_m(one) + ask.yard.distance_m(other)
        if NEAR_M < apart_m < needed_m:
            gaps.append((apart_m - needed_m, apart_m, needed_m, one, other))
    if gaps:
        _, apart_m, needed_m, one, other = max(gaps)
        return (
            f"{ask.named(one)} and {ask.named(other)} close the way between them: "
            f"{length(apart_m)} apart, {length(needed_m)} needed"
        )
    return "; or ".join(_alone(ask, feature) for feature in freeing)


def _alone(ask: Question, feature: str) -> str:
    """Say how one thing closes the way, and how near the trench must come to it to get by."""
    length = Printer(ask.site.units).length
    if feature in ask.by_hand:
        return f"the tolerance zone of {ask.named(feature)} closes the way"
    words = f"{ask.named(feature)} closes the way"
    if not ask.is_drawn(feature):
        return words
    open_m = ask.open_at_m(feature)
    if open_m is None:
        return f"{words}; the trench would have to go through it"
    return f"{words}: {length(ask.yard.distance_m(feature))} kept, {length(open_m)} would leave a way"
