"""From a site and its requirements to a layout: what is kept off, which lines go together, and the cheapest trenches."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from itertools import zip_longest
from typing import get_args

from shapely import LineString, Point
from shapely.geometry.base import BaseGeometry
from shapely.ops import substring

from siteplan.errors import InputFaults, NoRoute
from siteplan.plane.ground import GroundSurface
from siteplan.route.alone import each_alone
from siteplan.route.alternatives import alternatives, other_ways
from siteplan.route.choice import Attempt, Choice, Found, always
from siteplan.route.dig import Dug, as_good, dig
from siteplan.route.ground_prices import Strictness
from siteplan.route.grown import grown
from siteplan.route.keep_off import Yard, keep_off, land_of
from siteplan.route.least import least_price
from siteplan.route.model import KeptOff, Layout, LinePath, Measure, Reach, nothing_beyond
from siteplan.route.price_words import FIRST_LOOK, certificate
from siteplan.route.priced.bill import Item
from siteplan.route.separate import Together, clear_of, reasons, together
from siteplan.route.stations import names
from siteplan.route.steep import steep_ground
from siteplan.rules.conditions import label
from siteplan.rules.model import Requirements
from siteplan.site.site import Site

STEEP = "steep ground"
"""What is kept off because the machine does not dig there; no feature of the site."""

MOST_TAKEN = 2
"""So many times an alternative that turns out cheaper takes the place of the layout."""

_Total = Callable[[Sequence[Reach], Sequence[LinePath], Sequence[Item]], Attempt]
"""Puts trenches together, with what they cost beyond the ground that they lie in."""

LEAVING = 0.8
"""Share of the way from a trunk to a start or end among its roots that is still kept off (own choice)."""


def lay(
    site: Site,
    requirements: Requirements,
    ground: GroundSurface | None = None,
    *,
    thorough: bool = True,
    beyond: Measure = nothing_beyond,
    former: Layout | None = None,
) -> Layout:
    """Lay all lines of a site in trenches that are as cheap as can be found, at the likely rates of the site.

    Parameters
    ----------
    site : Site
        In ground metres (``plane.place``), with at least one line to lay.
    requirements : Requirements
        What the rules ask of it.
    ground : GroundSurface, optional
        Spot levels: ground too steep for the machine is kept off.
    thorough : bool
        Whether to prove how near to the least the price comes, and to look for alternatives. Should one of these turn out
        cheaper it is taken, so the trenches may differ from those without; they are never dearer.
    beyond : callable
        What a layout costs beyond its trenches. It counts wherever finished layouts are compared, not while one is looked for.
    former : Layout, optional
        One of nearly the same site, in the same ground plane. Its trenches are followed, led round what lies in their way
        now, and moved a little: faster, and not searched afresh. What cannot be followed is searched. Nothing is proven then,
        nor compared.

    Returns
    -------
    Layout
        Every trench keeps off what each line of its tree must keep off; trees of trenches from different places are
        laid without regard to each other.

    Raises
    ------
    NoRoute
        A line cannot be laid; says what closes the way.
    """
    if site.coordinates != "ground":
        raise ValueError("place the site on the ground first")
    everything = (*keep_off(site, requirements), *_steep(site, ground))
    groups = together(site, requirements)

    def total(reaches: Sequence[Reach], paths: Sequence[LinePath], bill: Sequence[Item]) -> Attempt:
        in_order = {path.line: path for path in paths}
        bare = Layout(
            reaches=tuple(reaches),
            paths=tuple(in_order[line.id] for line in site.lines),
            kept_off=(),
            corridor=Point(),
            certificate="",
        )
        more = beyond(site, requirements, ground, bare)
        return Attempt(layout=bare, bill=(*bill, *more.items), beyond=more)

    dug, clear = _dug(site, requirements, groups, everything, Choice(), layout=former)
    followed = any(one.followed for one in dug)
    thorough = thorough and not former
    others: list[Found] = []
    if thorough:
        dug, clear, others = _compared(site, requirements, groups, everything, dug, clear, total)
    chosen = _attempt(dug, total)
    apart = _apart(site, dug, total) if thorough else None
    whole = all(one.reached.whole for one in dug)
    proven = _least_price(site, requirements, dug, everything) if thorough and whole else None
    return replace(
        chosen.layout,
        kept_off=(*everything, *clear),
        corridor=dug[0].reached.ground.area,
        shared=reasons(site, requirements, groups),
        bill=chosen.bill,
        least_price=proven,
        certificate=FIRST_LOOK
        if followed
        else certificate(
            chosen.price,
            proven,
            beyond=chosen.price - math.fsum(item.price for one in dug for item in one.bill),
            fixed=any(one.fixed for one in dug),
            from_here=any(len(line.choices) > 1 for line in site.lines),
        ),
        apart_price=apart[1].price if apart else None,
        alternatives=alternatives(site, chosen, [*others, apart] if apart else others),
        followed=followed,
    )


def _compared(
    site: Site,
    requirements: Requirements,
    groups: Sequence[Together],
    everything: Sequence[KeptOff],
    dug: list[Dug],
    clear: list[KeptOff],
    total: _Total,
) -> tuple[list[Dug], list[KeptOff], list[Found]]:
    """Compare a layout with others; take one that turns out cheaper, at most ``MOST_TAKEN`` times.

    A layout that runs along lines that are there, where this one does not, is no other way to do the same.
    """

    def attempt(choice: Choice) -> Attempt | None:
        if len(groups) > 1:
            choice = replace(choice, worth=always)
        try:
            found = _dug(site, requirements, groups, everything, choice, dug)[0]
            return _attempt(found, total) if _nearness(found) <= _nearness(dug) else None
        except (NoRoute, InputFaults):
            return None

    others: list[Found] = []
    for taken in range(MOST_TAKEN + 1):
        chosen = _attempt(dug, total)
        others = other_ways(site, chosen, everything, dug[0].scene.patches, attempt)
        if not others or not _cheaper(others[0][1].price, chosen.price):
            break
        if taken < MOST_TAKEN:
            best = others[0][0]
            ways = [
                replace(best, held=held) for held in ((True, False) if best.bored | best.dug else (False,))
            ]
            found = [_dug(site, requirements, groups, everything, way, dug) for way in ways]
            dug, clear = min(found, key=lambda each: _attempt(each[0], total).price)
    price = _attempt(dug, total).price
    return dug, clear, [each for each in others if not _cheaper(each[1].price, price)]


def _cheaper(one: float, other: float) -> bool:
    return one < other * (1.0 - 1e-9)


def _nearness(dug: Sequence[Dug]) -> int:
    """Tell how near trenches come to lines that are there: the place of the nearest group in ``Strictness``."""
    return max(get_args(Strictness).index(one.strictness) for one in dug)


def _steep(site: Site, ground: GroundSurface | None) -> Iterator[KeptOff]:
    """Give the ground that is too steep for the machine, if it is known."""
    if ground is None or site.digging.steepest is None:
        return
    area = steep_ground(ground, site.digging.steepest)
    if not area.is_empty:
        yield KeptOff(
            feature=STEEP,
            area=area,
            distance_m=0.0,
            required_m=0.0,
            error_m=0.0,
            half_width_m=0.0,
            row="",
            lines=tuple(line.id for line in site.lines),
        )


def _dug(
    site: Site,
    requirements: Requirements,
    groups: Sequence[Together],
    everything: Sequence[KeptOff],
    choice: Choice,
    former: Sequence[Dug] = (),
    layout: Layout | None = None,
) -> tuple[list[Dug], list[KeptOff]]:
    """Dig all groups in turn; later ones of one root keep off the trenches of the earlier ones they may not share with.

    A group that has the same to keep off as under the former condition, and is as good under this one, stays where it is. The
    trenches of a ``layout`` before are followed.
    """
    free_names = names()
    clear: list[KeptOff] = []
    dug: list[Dug] = []
    for group, before in zip_longest(groups, former):
        of_root = [
            (one, old) for one, old in zip_longest(dug, former[: len(dug)]) if one.group.root == group.root
        ]
        if before and all(one is old for one, old in of_root) and as_good(before, choice):
            dug.append(before)
            continue
        beside = tuple(kept for one, _ in of_root for kept in _beside(site, requirements, group, one))
        clear += beside
        yard = Yard(land=land_of(site), kept_off=(*_kept_by(site, group, everything), *beside))
        try:
            dug.append(dig(site, requirements, group, yard, free_names, choice, before, layout))
        except NoRoute as closed:
            words = f"{closed}{_unstated(requirements, closed.blockers)}"
            raise NoRoute(
                words, blockers=closed.blockers, where=closed.where, ways_out=closed.ways_out
            ) from None
    return dug, clear


def _least_price(
    site: Site, requirements: Requirements, dug: Sequence[Dug], everything: Sequence[KeptOff]
) -> float:
    """Return the proven least price of all groups, whatever they keep off each other."""
    land = land_of(site)
    return math.fsum(
        min(
            math.fsum(
                item.price for item in one.bill
            ),  # equal but for rounding where the trench is proven to be the cheapest
            least_price(
                site,
                requirements,
                one,
                Yard(land=land, kept_off=_kept_by(site, one.group, everything)),
            ),
        )
        for one in dug
    )


def _apart(site: Site, dug: Sequence[Dug], total: _Total) -> Found | None:
    """Return the layout with a trench of its own for every end; ``None`` if each has one, or cannot have one."""
    if all(len(one.group.ends) == 1 for one in dug):
        return None
    free_names = names()
    alone = []
    for one in dug:
        trenches = each_alone(site, one, free_names)
        if trenches is None:
            return None
        alone += trenches
    found = total(
        [trench.reach for trench in alone],
        [path for trench in alone for path in trench.paths],
        [item for trench in alone for item in trench.bill],
    )
    return Choice(name="a trench for each end", kind="apart"), found


def _attempt(dug: Sequence[Dug], total: _Total) -> Attempt:
    return total(
        [reach for one in dug for reach in one.reaches],
        [path for one in dug for path in one.paths],
        [item for one in dug for item in one.bill],
    )


def _unstated(requirements: Requirements, blockers: Sequence[str]) -> str:
    """Return the facts that nobody stated and that might bring the distances to these things down, in words."""
    facts = dict.fromkeys(
        f"{label(fact)} of the {fact.partition('.')[0]}"
        for setback in requirements.setbacks
        if setback.subject == "line" and setback.to in blockers
        for fact in setback.missing
    )
    return f" (the larger distance is kept while nobody states: {', '.join(facts)})" if facts else ""


def _kept_by(site: Site, group: Together, everything: Sequence[KeptOff]) -> tuple[KeptOff, ...]:
    """Return what some line of a group keeps off, without the points and lines where the group starts or ends.

    The roots that hold a tree up cannot be kept off if a start or an end lies among them: there the trench only leaves the
    tree behind. The check names it.
    """
    met = {
        place
        for place in (group.root, *group.ends)
        if site.feature(place).shape.geom_type not in ("Polygon", "MultiPolygon")
    }
    points = [site.feature(place).shape for place in sorted(met)]
    return tuple(
        _leaving(site, kept, points)
        for kept in everything
        if kept.feature not in met and set(kept.lines) & set(group.ids)
    )


def _leaving(site: Site, kept: KeptOff, points: Sequence[BaseGeometry]) -> KeptOff:
    """Return what is kept off a tree no larger than leaves these points outside, anything else as it is."""
    if kept.feature not in {tree.id for tree in site.of_kind("tree")}:
        return kept
    trunk = site.feature(kept.feature).shape
    inside = [trunk.distance(point) for point in points if kept.area.intersects(point)]
    if not inside:
        return kept
    distance_m = LEAVING * min(inside)
    return replace(kept, area=grown(trunk, distance_m, corners="outside"), distance_m=distance_m)


def _beside(site: Site, requirements: Requirements, group: Together, first: Dug) -> tuple[KeptOff, ...]:
    """Return what a group keeps off the trenches of an earlier one from the same root."""
    both = [group.root, *(end for end in group.ends if end in first.group.ends)]
    meeting = [place for end in both if isinstance(place := site.feature(end).shape, Point)]
    path_of = {reach.name: reach.path for reach in first.reaches}
    trenches: dict[str, list[LineString]] = {
        path.line: [substring(path_of[reach], from_m, to_m) for reach, from_m, to_m in path.legs]
        for path in first.paths
    }
    return clear_of(site, requirements, group, first.group, trenches, meeting)
