"""Layouts of another kind: another side of a thing, another surface, bored or dug, shared or not. Each with its price and why.

Every alternative is the cheapest layout that is found under one condition: a gap closed that the trench went through, a
surface not crossed, a bore instead of an open cut or the other way round, every end with a trench of its own.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import partial

import shapely
from shapely import LineString, Point
from shapely.geometry.base import BaseGeometry

from siteplan.route.ground_prices import extent
from siteplan.route.model import MOST_ALTERNATIVES, Alternative, KeptOff
from siteplan.route.price_words import why
from siteplan.route.priced.bill import Item
from siteplan.site.catalogue import ground_rows, kinds
from siteplan.site.features import Feature
from siteplan.site.site import Site

APART_M = 1.0
"""Layouts that lie nowhere farther apart than this [m] are one, unless one of them bores where the other digs."""

_TOUCHING_M = 0.1
_THIN_M = 0.02
_NEARLY = 0.98
_PAVED = ("drive", "walk", "road")


def always(trenches: BaseGeometry) -> bool:
    """Say that trenches are of use wherever they lie."""
    return True


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """A condition on a layout.

    Attributes
    ----------
    name : str
        In a few words that print; ``""`` for the layout without any.
    closed : tuple of shapely geometry
        Areas where no trench may go.
    bored : frozenset of str
        Ids of features that are bored under, if they are crossed at all.
    dug : frozenset of str
        Ids of features that are not bored under.
    crossed : str
        Id of a surface that costs less than it does while a way is sought, to see what crossing it would come to.
    share : float
        0 to 1: so much it still costs of what it costs beyond plain ground.
    held : bool
        Are the trenches priced as ``bored`` and ``dug`` say? If not, each is bored or dug as is cheaper on its way.
    worth : callable
        Told about where the trenches come to lie, says whether such a layout is of use; if not, it is not laid to the end.
    """

    name: str = ""
    closed: tuple[BaseGeometry, ...] = ()
    bored: frozenset[str] = field(default_factory=frozenset)
    dug: frozenset[str] = field(default_factory=frozenset)
    crossed: str = ""
    share: float = 0.0
    held: bool = True
    worth: Callable[[BaseGeometry], bool] = always


@dataclass(frozen=True, slots=True, kw_only=True)
class Attempt:
    """Trenches found under one condition, the ids of what is bored under, and all that they are priced by."""

    paths: tuple[LineString, ...]
    bored: frozenset[str]
    bill: tuple[Item, ...]

    @property
    def price(self) -> float:
        """Likely price."""
        return math.fsum(item.price for item in self.bill)

    @property
    def trenches(self) -> BaseGeometry:
        """All trenches as one geometry."""
        return shapely.union_all(list(self.paths))


Found = tuple[Choice, Attempt]


def other_ways(
    site: Site, chosen: Attempt, kept_off: Sequence[KeptOff], attempt: Callable[[Choice], Attempt | None]
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
    attempt : callable
        Lays the site under a condition; ``None`` if there is no such layout.

    Returns
    -------
    list of (Choice, Attempt)
        One may be cheaper than the chosen layout, which is only as cheap as could be found.
    """
    found = [*_over_surfaces(site, chosen, attempt), *_round_things(site, chosen, kept_off, attempt)]
    kept: list[Found] = []
    for choice, other in sorted(found, key=lambda each: each[1].price):
        if all(_differ(other, each) for each in (chosen, *(one for _, one in kept))):
            kept.append((choice, other))
    return kept


def alternatives(site: Site, chosen: Attempt, others: Sequence[Found]) -> tuple[Alternative, ...]:
    """Put the cheapest of some other layouts in words, beside the chosen one."""
    ranked = sorted(others, key=lambda each: each[1].price)
    return tuple(
        Alternative(
            name=choice.name, paths=other.paths, price=other.price, why=why(site, chosen.bill, other.bill)
        )
        for choice, other in ranked[:MOST_ALTERNATIVES]
    )


def _differ(one: Attempt, other: Attempt) -> bool:
    if one.bored != other.bored:
        return True
    return bool(shapely.hausdorff_distance(one.trenches, other.trenches, densify=0.05) > APART_M)


def _over_surfaces(
    site: Site, chosen: Attempt, attempt: Callable[[Choice], Attempt | None]
) -> Iterator[Found]:
    """Give layouts that go over, round or under a paved surface where the chosen one does not."""
    for feature in site.of_kind(*_PAVED):
        area, name, only = extent(feature), _called(feature), frozenset([feature.id])
        if not _meets(chosen, area):
            near = area.buffer(APART_M)
            choice = Choice(name=f"across {name}", crossed=feature.id, worth=near.intersects)
            found = attempt(choice)
            if found and _meets(found, area):
                yield _dearest_share(site, chosen, (choice, found), feature, attempt)
            continue
        if feature.id in chosen.bored:
            other = Choice(name=f"an open cut through {name}", dug=only)
        else:
            other = Choice(name=f"bored under {name}", bored=only, worth=partial(_over, area))
        found = attempt(other) if site.digging.bore else None
        if found and _meets(found, area) and (feature.id in found.bored) == bool(other.bored):
            yield other, found
        round_it = Choice(name=f"round {name}", closed=(area,))
        found = attempt(round_it)
        if found:
            yield round_it, found


def _dearest_share(
    site: Site,
    chosen: Attempt,
    first: Found,
    feature: Feature,
    attempt: Callable[[Choice], Attempt | None],
) -> Found:
    """Cross a surface again at nearly the largest share of its price at which that is no dearer than the chosen layout.

    So the crossing is about as short as it would be at the full price.
    """
    choice, crossing = first
    beyond = _beyond_plain(site, feature, crossing.bill)
    share = _NEARLY * (1.0 - (crossing.price - chosen.price) / beyond) if beyond > 0.0 else 0.0
    if not 0.0 < share < 1.0 or feature.id in crossing.bored:
        return first
    again = replace(choice, share=share)
    shorter = attempt(again)
    if shorter is None or not _meets(shorter, extent(feature)) or shorter.price >= crossing.price:
        return first
    return again, shorter


def _beyond_plain(site: Site, feature: Feature, bill: Sequence[Item]) -> float:
    """Return what digging and restoring a surface costs beyond plain ground."""
    plain = ("dig-machine", f"restore-{site.digging.ground}")
    return math.fsum(
        item.price - item.amount * site.rates[usual].likely
        for row, usual in zip(ground_rows(feature), plain, strict=True)
        for item in bill
        if item.of == feature.id and item.row == row
    )


def _round_things(
    site: Site, chosen: Attempt, kept_off: Sequence[KeptOff], attempt: Callable[[Choice], Attempt | None]
) -> Iterator[Found]:
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
            yield Choice(name=f"round the other side of {_called(round_things[0])}", closed=(gap,)), found


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


def _meets(attempt: Attempt, area: BaseGeometry) -> bool:
    return _over(area, attempt.trenches)


def _over(area: BaseGeometry, trenches: BaseGeometry) -> bool:
    """Tell whether trenches go over an area for more than a touch; along its edge is not over it."""
    return bool(trenches.intersection(area.buffer(-_THIN_M)).length > _TOUCHING_M)


def _called(feature: Feature) -> str:
    return feature.name or feature.id
