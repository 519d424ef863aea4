"""Layouts of another kind: another side of a thing, another surface, bored or dug, shared or not. Each with its price and why.

Every alternative is the cheapest layout that is found under one condition: a gap closed that the trench went through, a
surface not crossed, a bore instead of an open cut or the other way round, every end with a trench of its own.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

import shapely
from shapely import LineString, Point
from shapely.geometry.base import BaseGeometry

from siteplan.route.choice import Attempt, Choice, Found, Lay
from siteplan.route.model import MOST_ALTERNATIVES, Alternative, KeptOff
from siteplan.route.over_ground import APART_M, over_surfaces, under_roots
from siteplan.route.price_words import why
from siteplan.route.scene import Patch
from siteplan.route.strip import strip_ground
from siteplan.site.catalogue import kinds
from siteplan.site.features import Feature
from siteplan.site.site import Site

MOST_TIGHT = 2
"""So many places without room for the spoil are gone round at most (own choice)."""

_TOUCHING_M = 0.1
_THIN_M = 0.02


def other_ways(
    site: Site,
    chosen: Attempt,
    kept_off: Sequence[KeptOff],
    patches: Sequence[Patch],
    attempt: Lay,
) -> list[Found]:
    """Find layouts that differ in kind from the chosen one and from each other, cheapest first.

    Parameters
    ----------
    site : Site
        In ground metres.
    chosen : Attempt
        The layout that the others are compared with.
    kept_off : sequence of KeptOff
        What its trenches keep off.
    patches : sequence of Patch
        Ground that is not plain.
    attempt : callable
        Lays the site under a condition; ``None`` if there is no such layout.

    Returns
    -------
    list of (Choice, Attempt)
        One may be cheaper than the chosen layout, which is only as cheap as could be found.
    """
    found = [
        *over_surfaces(site, chosen, patches, attempt),
        *under_roots(site, chosen, kept_off, patches, attempt),
        *_round_things(site, chosen, kept_off, attempt),
        *_clear_of_tight_places(site, chosen, kept_off, attempt),
    ]
    found = [next(_roomier(site, choice, other, attempt), (choice, other)) for choice, other in found]
    kept: list[Found] = []
    for choice, other in sorted(found, key=lambda each: each[1].price):
        if all(_differ(other, each) for each in (chosen, *(one for _, one in kept))):
            kept.append((choice, other))
    return kept


def alternatives(site: Site, chosen: Attempt, others: Sequence[Found]) -> tuple[Alternative, ...]:
    """Put some other layouts in words, beside the chosen one: the cheapest of each kind, then the cheapest of the others."""
    ranked = sorted(others, key=lambda each: each[1].price)
    firsts = {choice.kind: choice for choice, _ in reversed(ranked)}
    told = sorted(ranked, key=lambda each: firsts[each[0].kind] is not each[0])[:MOST_ALTERNATIVES]
    return tuple(
        Alternative(
            name=choice.name,
            paths=other.paths,
            price=other.price,
            bored=tuple(sorted(other.bored)),
            why=why(site, chosen.bill, other.bill),
        )
        for choice, other in sorted(told, key=lambda each: each[1].price)
    )


def _differ(one: Attempt, other: Attempt) -> bool:
    if one.bored != other.bored:
        return True
    return bool(shapely.hausdorff_distance(one.trenches, other.trenches, densify=0.05) > APART_M)


def _round_things(site: Site, chosen: Attempt, kept_off: Sequence[KeptOff], attempt: Lay) -> Iterator[Found]:
    """Give layouts that go round the other side of what the chosen one bends round."""
    things = {feature.id: feature for feature in site.features if feature.kind != "parcel"}
    solid = [thing for thing in things.values() if kinds()[thing.kind].dig == "never"]
    for feature_id, gap in _gaps(chosen, kept_off):
        if feature_id not in things:
            continue

        def passed(trenches: BaseGeometry, first: Feature = things[feature_id]) -> list[Feature]:
            between = _between(chosen.trenches, trenches)
            every = (first, *(thing for thing in solid if thing is not first))
            return [thing for thing in every if between.contains(thing.shape.representative_point())]

        found = attempt(Choice(closed=(gap,), worth=lambda trenches: bool(passed(trenches))))
        round_things = found and passed(found.trenches)
        if found and round_things:
            name = f"round the other side of {_called(round_things[0])}"
            yield Choice(name=name, kind="side", closed=(gap,)), found


def _clear_of_tight_places(
    site: Site, chosen: Attempt, kept_off: Sequence[KeptOff], attempt: Lay
) -> Iterator[Found]:
    """Give layouts that go round the longest of the places where the spoil finds no room, and the one with more room there."""
    names = {feature.id: _called(feature) for feature in site.features if feature.kind != "parcel"}
    near = [kept for kept in kept_off if kept.feature in names]
    yield from _roomier(site, Choice(kind="room"), chosen, attempt)
    for stretch in sorted(chosen.beyond.cramped, key=lambda each: -each.length)[:MOST_TIGHT]:
        beside = min(near, key=lambda kept: float(kept.area.distance(stretch)), default=None)
        name = f"round the tight place beside {names[beside.feature]}" if beside else "round the tight place"
        choice = Choice(name=name, kind="room", closed=(_wall_across(stretch, kept_off),))
        found = attempt(choice)
        if found:
            yield choice, found


def _roomier(site: Site, choice: Choice, found: Attempt, attempt: Lay) -> Iterator[Found]:
    """Give a layout with room for the machine where one under the same condition has none, if that is cheaper."""
    if not found.beyond.cramped:
        return
    room = _machine_room(site, found.beyond.cramped, found.beyond.machine_side_m)
    name = choice.name or "with room for the machine beside the trench"
    roomier = replace(choice, name=name, closed=(*choice.closed, *room))
    better = attempt(roomier)
    if better and better.price < found.price:
        yield roomier, better


def _machine_room(site: Site, cramped: Sequence[LineString], side_m: float) -> tuple[BaseGeometry, ...]:
    """Return what lies too near for the machine to what takes its room along some stretches."""
    stretches = shapely.union_all(list(cramped))
    about = stretches.buffer(2 * side_m)
    shut = shapely.get_parts(about.difference(strip_ground(site)))
    return tuple(part.buffer(side_m + _THIN_M) for part in shut if part.distance(stretches) < side_m)


def _wall_across(stretch: LineString, kept_off: Sequence[KeptOff]) -> BaseGeometry:
    """Return a thin wall square across the middle of a stretch, either way as far as the next thing that is kept off."""
    areas = shapely.union_all([kept.area for kept in kept_off])
    far_m = float(shapely.union_all([areas, stretch]).envelope.length)
    middle_m = stretch.length / 2
    x, y = stretch.interpolate(middle_m).coords[0]
    (x1, y1), (x2, y2) = (
        stretch.interpolate(middle_m + step * min(_TOUCHING_M, middle_m)).coords[0] for step in (-1, 1)
    )
    dx, dy = (y1 - y2) / math.dist((x1, y1), (x2, y2)), (x2 - x1) / math.dist((x1, y1), (x2, y2))
    ends = []
    for side_m in (far_m, -far_m):
        ray = LineString([(x, y), (x + side_m * dx, y + side_m * dy)])
        met = shapely.get_coordinates(ray.intersection(areas))
        at_m = min((ray.project(Point(at)) for at in met), default=ray.length)
        ends.append(ray.interpolate(at_m))
    return LineString(ends).buffer(_THIN_M, cap_style="square")


def _between(one: BaseGeometry, other: BaseGeometry) -> BaseGeometry:
    """Return the ground that trenches go round between them; ends that lie apart are joined straight."""
    joins = [
        shapely.shortest_line(place, there)
        for here, there in ((one, other), (other, one))
        for place in shapely.get_parts(_ends(here))
    ]
    lines = shapely.union_all([one, other, *joins])
    return shapely.union_all(list(shapely.get_parts(shapely.polygonize([lines]))))


def _ends(trenches: BaseGeometry) -> BaseGeometry:
    """Return where trenches end: places that an odd number of them come to."""
    return shapely.boundary(shapely.union_all(trenches))


def _gaps(chosen: Attempt, kept_off: Sequence[KeptOff]) -> Iterator[tuple[str, BaseGeometry]]:
    """Give the things that the trenches bend round, each with the gap beside it that they go through."""
    seen: set[str] = set()
    for path in chosen.paths:
        for x, y in path.coords[1:-1]:
            bend = Point(x, y)
            for kept in kept_off:
                if kept.feature not in seen and kept.area.boundary.distance(bend) <= _TOUCHING_M:
                    seen.add(kept.feature)
                    yield kept.feature, _gap(kept, bend, kept_off)


def _gap(kept: KeptOff, bend: Point, kept_off: Sequence[KeptOff]) -> BaseGeometry:
    """Return a thin wall from a thing through a bend beside it to the next thing that is kept off."""
    middle = kept.area.representative_point()
    areas = [other.area for other in kept_off if other.feature != kept.feature]
    far_m = float(shapely.union_all([kept.area, bend, *areas]).envelope.length)
    away_m = max(middle.distance(bend), 1e-6)
    dx, dy = (bend.x - middle.x) / away_m, (bend.y - middle.y) / away_m
    ray = LineString([middle, (bend.x + dx * far_m, bend.y + dy * far_m)])
    met_m = [
        ray.project(Point(at)) for at in shapely.get_coordinates([ray.intersection(area) for area in areas])
    ]
    own_m = ray.project(bend)
    beyond_m = min((at_m for at_m in met_m if at_m > own_m + _TOUCHING_M), default=ray.length)
    return LineString([middle, ray.interpolate(beyond_m)]).buffer(_THIN_M, cap_style="square")


def _called(feature: Feature) -> str:
    return feature.name or feature.id
