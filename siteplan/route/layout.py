"""From a site and its requirements to a layout: what is kept off, which lines go together, and the shortest trenches."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from shapely import LineString, MultiPolygon, Point, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.ops import substring

from siteplan.errors import NoRoute
from siteplan.route.approach import Approach, approach
from siteplan.route.between import shortest_between
from siteplan.route.blocked import no_route
from siteplan.route.bound import least_m
from siteplan.route.branching import End, shortest_tree
from siteplan.route.keep_off import ROUND_M, Yard, grown, keep_off, land_of
from siteplan.route.mesh import FreeGround
from siteplan.route.model import KeptOff, Layout, LinePath, Reach
from siteplan.route.separate import Together, clear_of, reasons, together
from siteplan.route.stations import names, stationed
from siteplan.rules.conditions import label
from siteplan.rules.model import Requirements
from siteplan.site.site import Site
from siteplan.units import Printer

LEAVING = 0.8
"""Share of the way from a trunk to a start or end in its root zone that is still kept off (own choice)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Laid:
    """One group of lines in its trenches; ``exact`` if no search was needed to find the shortest."""

    group: Together
    reaches: tuple[Reach, ...]
    paths: tuple[LinePath, ...]
    area: BaseGeometry
    bound_m: float
    exact: bool


def lay(site: Site, requirements: Requirements) -> Layout:
    """Lay all lines of a site in trenches that are as short as can be found.

    Parameters
    ----------
    site : Site
        In ground metres (``plane.place``), with at least one line to lay.
    requirements : Requirements
        What the rules ask of it.

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
    everything = keep_off(site, requirements)
    groups = together(site, requirements)
    free_names = names()
    clear: list[KeptOff] = []
    laid: list[_Laid] = []
    for group in groups:
        beside = tuple(
            kept
            for first in laid
            if first.group.root == group.root
            for kept in _beside(site, requirements, group, first)
        )
        clear += beside
        try:
            laid.append(_dig(site, group, _kept_by(site, group, everything), beside, free_names))
        except NoRoute as closed:
            words = f"{closed}{_unstated(requirements, closed.blockers)}"
            raise NoRoute(words, blockers=closed.blockers, where=closed.where) from None
    bound_m = sum(one.bound_m for one in laid)
    reaches = tuple(reach for one in laid for reach in one.reaches)
    paths = {path.line: path for one in laid for path in one.paths}
    return Layout(
        reaches=reaches,
        paths=tuple(paths[line.id] for line in site.lines),
        kept_off=(*everything, *clear),
        corridor=laid[0].area,
        shared=reasons(site, requirements, groups),
        bound_m=bound_m,
        certificate=_certificate(site, reaches, bound_m, exact=all(one.exact for one in laid)),
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

    A root zone that holds a start or an end cannot be kept off: there the trench only leaves the tree behind. The check names it.
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
    """Return a root zone no larger than leaves these points outside, anything else as it is."""
    if kept.feature not in {tree.id for tree in site.of_kind("tree")}:
        return kept
    trunk = site.feature(kept.feature).shape
    inside = [trunk.distance(point) for point in points if kept.area.intersects(point)]
    if not inside:
        return kept
    distance_m = LEAVING * min(inside)
    return replace(kept, area=grown(trunk, distance_m, corners="outside"), distance_m=distance_m)


def _beside(site: Site, requirements: Requirements, group: Together, first: _Laid) -> tuple[KeptOff, ...]:
    """Return what a group keeps off the trenches of an earlier one from the same root."""
    both = [group.root, *(end for end in group.ends if end in first.group.ends)]
    meeting = [place for end in both if isinstance(place := site.feature(end).shape, Point)]
    path_of = {reach.name: reach.path for reach in first.reaches}
    trenches: dict[str, list[LineString]] = {
        path.line: [substring(path_of[reach], from_m, to_m) for reach, from_m, to_m in path.legs]
        for path in first.paths
    }
    return clear_of(site, requirements, group, first.group, trenches, meeting)


def _dig(
    site: Site,
    group: Together,
    kept_off: tuple[KeptOff, ...],
    beside: tuple[KeptOff, ...],
    free_names: Iterator[str],
) -> _Laid:
    """Lay one group of lines."""
    yard = Yard(land=land_of(site), kept_off=(*kept_off, *beside))
    ground, start, ends = _reached(site, group, yard)
    wanted = _wanted(group, start, ends)
    tree = shortest_tree(ground, start.goal, wanted)
    if tree is None:
        raise no_route(site, yard, group.root, list(ends)[-1], group.lines[-1].name)
    reaches, paths = stationed(tree, group, start, ends, free_names)
    return _Laid(
        group=group,
        reaches=reaches,
        paths=paths,
        area=ground.area,
        bound_m=_bound_m(site, group, Yard(land=yard.land, kept_off=kept_off).reaching_in(site)),
        exact=len(ends) == 1
        and not beside
        and any(isinstance(goal, Point) for goal in (start.goal, wanted[0].goal)),
    )


def _reached(site: Site, group: Together, yard: Yard) -> tuple[FreeGround, Approach, dict[str, Approach]]:
    """Return the ground, and how start and ends are come to on it; NoRoute if one cannot be reached."""
    features = {feature.id: feature for feature in site.features}
    area = yard.area()
    assert isinstance(area, Polygon | MultiPolygon)
    ground = FreeGround(area)
    start = approach(features[group.root], yard, features)
    ends: dict[str, Approach] = {}
    for end, lines in group.ends.items():
        way = approach(features[end], yard, features)
        if start is None or way is None or shortest_between(ground, start.goal, way.goal) is None:
            raise no_route(site, yard, group.root, end, lines[0].name)
        ends[end] = way
    assert start is not None
    return ground, start, ends


def _wanted(group: Together, start: Approach, ends: dict[str, Approach]) -> list[End]:
    """Return the ends to join.

    From a point any two trenches hang together. From walls they may not, so there an end joins the trench of the line
    that its own line tees off.
    """
    if isinstance(start.goal, Point):
        return [End(goal=way.goal) for way in ends.values()]
    end_of = {line.id: line.end for line in group.lines}
    order = list(ends)
    wanted = []
    for number, (end, way) in enumerate(ends.items()):
        parents = {order.index(end_of[line.start]) for line in group.ends[end] if line.start in end_of}
        after = tuple(sorted(parent for parent in parents if parent < number))
        wanted.append(End(goal=way.goal, after=after, near=after[0] if after else None))
    return wanted


def _bound_m(site: Site, group: Together, yard: Yard) -> float:
    """Return the proven least length [m] of the trenches of a group, whatever other groups keep off it."""
    ground, start, ends = _reached(site, group, yard)
    least = least_m(ground, start.goal, [way.goal for way in ends.values()])
    return least + sum(way.leg_m for way in (start, *ends.values()))


def _certificate(site: Site, reaches: Sequence[Reach], bound_m: float, *, exact: bool) -> str:
    length_m = sum(reach.length_m for reach in reaches)
    printer = Printer(site.units)
    over_percent = 100 * max(0.0, length_m / bound_m - 1)
    if exact:
        return (
            f"No route can be shorter: the trench is the exact shortest that keeps every distance and meets the wall "
            f"square, round corners cut to within {printer.short(ROUND_M)} (proven least {printer.length(bound_m)}, "
            f"this one {over_percent:.2f} % over it)."
        )
    return (
        f"No layout that keeps every distance can be shorter than {printer.length(bound_m)} (proven); this one, "
        f"{printer.length(length_m)}, is {over_percent:.1f} % over that."
    )
