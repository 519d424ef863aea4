"""One group of lines: how its trenches come to their ends, the ground they may lie in and its prices, the cheapest of them."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TypeAlias, get_args

import shapely
from shapely import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from siteplan.errors import NoRoute
from siteplan.route.approach import Approach, approach, bare_approach
from siteplan.route.between import shortest_between
from siteplan.route.blocked import no_route
from siteplan.route.branching import Tree, bare_tree, begun
from siteplan.route.choice import Choice
from siteplan.route.fixed import fixed_ways, on_free_ground, rounded, tree_on
from siteplan.route.former import tree_after
from siteplan.route.ground_prices import Strictness, priced
from siteplan.route.keep_off import Yard
from siteplan.route.mesh import FreeGround
from siteplan.route.model import Layout, LinePath, Reach
from siteplan.route.priced.bill import Item
from siteplan.route.priced.cheapest import Search
from siteplan.route.priced.tree import cheapest_tree
from siteplan.route.reach_price import ReachPrice
from siteplan.route.scene import Bore, Charge, Patch, Scene
from siteplan.route.separate import Together
from siteplan.route.stations import stationed
from siteplan.rules.model import Requirements
from siteplan.site.features import Line
from siteplan.site.site import Site

_UNDER_A_CONDITION = NoRoute("No trench fits under a condition.", blockers=(), where=Polygon())
"""What closes the way is not looked for: nobody is told of it."""

_Found: TypeAlias = tuple[Tree, Approach, dict[str, Approach]]
"""A tree, and how its start and its ends are come to."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reached:
    """Free ground, and how the start and the ends of a group are come to on it.

    ``whole``: there is a way to every end; if not, some trench of the group is drawn.
    """

    ground: FreeGround
    start: Approach
    ends: dict[str, Approach]
    whole: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class _Met:
    """Free ground, and how the start and the ends of a group are met on it, ``None`` where not; nobody looked for a way."""

    ground: FreeGround
    start: Approach | None
    ends: dict[str, Approach | None]

    def as_reached(self) -> Reached | None:
        """Take it that there is a way to every end; ``None`` if something is not met."""
        ends = {end: way for end, way in self.ends.items() if way}
        if self.start is None or len(ends) < len(self.ends):
            return None
        return Reached(ground=self.ground, start=self.start, ends=ends)


@dataclass(frozen=True, slots=True, kw_only=True)
class Dug:
    """One group of lines in its trenches.

    Attributes
    ----------
    strictness : {"apart", "zone", "any"}
        How the trenches keep from running along lines that are there.
    bill : tuple of Item
        All that its trenches are priced by.
    search : Search
        What found them.
    fixed : bool
        Does some trench lie where it was drawn, or go through a point that it must pass.
    followed : bool
        Do its trenches follow those of a layout before, without a search.
    """

    group: Together
    reached: Reached
    scene: Scene
    strictness: Strictness
    reaches: tuple[Reach, ...]
    paths: tuple[LinePath, ...]
    bill: tuple[Item, ...]
    search: Search
    fixed: bool
    followed: bool = False


def dig(
    site: Site,
    requirements: Requirements,
    group: Together,
    yard: Yard,
    free_names: Iterator[str],
    choice: Choice,
    former: Dug | None = None,
    before: Layout | None = None,
) -> Dug:
    """Dig the cheapest trenches for one group of lines that can be found.

    Where every way runs along a line that is there, the trench first comes as near to it as its tolerance zone, then nearer:
    the check names that.

    Parameters
    ----------
    site : Site
        In ground metres.
    group : Together
        The lines.
    yard : Yard
        Ground that may be dug, and what they keep off on it.
    free_names : iterator of str
        Names for the trenches.
    choice : Choice
        A condition on them.
    former : Dug, optional
        The group under another condition: what was learned of ground that is no other is not learned again.
    before : Layout, optional
        Its trenches are followed, if they can be as far apart from lines that are there as they should be.

    Raises
    ------
    NoRoute
        A line cannot be laid; says what closes the way.
    """
    met = _met(site, group, yard, choice.closed)
    hoped = met.as_reached() if before else None
    reached = None if hoped else _with_ways(site, requirements, group, yard, met, choice.closed)

    def look(trenches: BaseGeometry) -> None:
        if not choice.worth(trenches):
            raise _UNDER_A_CONDITION

    for strictness in get_args(Strictness):
        scene = priced(site, requirements, group, met.ground.area, strictness)
        search = Search(_asked(scene, choice), met.ground, former=former.search if former else None)
        followed = tree_after(before, group, search, hoped.start, hoped.ends) if before and hoped else None
        if followed and hoped:
            reached = hoped
            found: _Found | None = (followed, hoped.start, hoped.ends)
        else:
            reached = reached or _with_ways(site, requirements, group, yard, met, choice.closed)
            found = _tree(site, group, search, reached, look)
        if found:
            break
    else:
        if choice != Choice():
            raise _UNDER_A_CONDITION
        end = [end for end, lines in group.ends.items() if not _drawn(lines) or len(group.ends) == 1][-1]
        raise no_route(site, yard, group.root, end, group.lines[-1].name, setbacks=requirements.setbacks)
    held = _held(scene, choice) if choice.held else scene
    tree, start, ends = found
    if _drawn(group.lines):
        held = rounded(held, tree.lines)
    reaches, paths = stationed(tree, group, start, ends, free_names)
    trenches = [ReachPrice(reach, reaches, start, ends) for reach in reaches]
    bills = [tuple(each.bill(held)) for each in trenches]
    return Dug(
        group=group,
        reached=reached,
        scene=scene,
        strictness=strictness,
        reaches=tuple(
            replace(each.reach, bored=each.bored(held), price=math.fsum(item.price for item in own))
            for each, own in zip(trenches, bills, strict=True)
        ),
        paths=paths,
        bill=tuple(item for own in bills for item in own),
        search=search,
        fixed=any(line.drawn or line.through for line in group.lines),
        followed=followed is not None,
    )


def as_good(dug: Dug, choice: Choice) -> bool:
    """Tell whether the trenches of a group are as good under a condition: it takes away only what they do not use."""
    if choice.crossed:
        return False
    held = choice.bored | choice.dug
    taken = [*choice.closed, *(patch.area for patch in dug.scene.patches if patch.feature in held)]
    return not any(reach.path.intersects(area) for area in taken for reach in dug.reaches)


def reach_in(
    site: Site,
    requirements: Requirements,
    group: Together,
    yard: Yard,
    *,
    closed: Sequence[shapely.Geometry] = (),
) -> Reached:
    """Return the ground, and how start and ends are come to on it; a trench that is drawn needs no way.

    Raises
    ------
    NoRoute
        An end or a point to pass cannot be reached.
    """
    return _with_ways(site, requirements, group, yard, _met(site, group, yard, closed), closed)


def _met(site: Site, group: Together, yard: Yard, closed: Sequence[shapely.Geometry]) -> _Met:
    """Find how the start and the ends of a group are met."""
    features = {feature.id: feature for feature in site.features}
    area = yard.area()
    if closed:
        area = area.difference(shapely.union_all(list(closed)))
    assert isinstance(area, Polygon | MultiPolygon)
    return _Met(
        ground=FreeGround(area),
        start=approach(features[group.root], yard, features),
        ends={
            end: approach(
                features[end],
                yard,
                features,
                closed_sides=[side for line in lines for side in line.closed_sides],
            )
            for end, lines in group.ends.items()
        },
    )


def _with_ways(
    site: Site,
    requirements: Requirements,
    group: Together,
    yard: Yard,
    met: _Met,
    closed: Sequence[shapely.Geometry],
) -> Reached:
    """Look for a way to every end, as ``reach_in`` does."""
    features = {feature.id: feature for feature in site.features}
    start, ground = met.start, met.ground
    ends: dict[str, Approach] = {}
    whole = True

    def is_reached(way: Approach | None) -> bool:
        return bool(start and way and shortest_between(ground, start.goal, way.goal) is not None)

    for end, lines in group.ends.items():
        way = met.ends[end]
        stops = {point: bare_approach(features[point]) for line in lines for point in line.through}
        closed_off = next(
            (each for each, there in {**stops, end: way}.items() if not is_reached(there)), None
        )
        if closed_off and (_drawn(lines) or (way and _drawn(group.lines))):
            whole = False
        elif closed_off and closed:
            raise _UNDER_A_CONDITION
        elif closed_off:
            raise no_route(site, yard, group.root, closed_off, lines[0].name, setbacks=requirements.setbacks)
        ends[end] = way or bare_approach(features[end])
    return Reached(ground=ground, start=start or bare_approach(features[group.root]), ends=ends, whole=whole)


def _drawn(lines: Sequence[Line]) -> bool:
    return any(line.drawn for line in lines)


def _tree(
    site: Site,
    group: Together,
    search: Search,
    reached: Reached,
    look: Callable[[BaseGeometry], None],
) -> _Found | None:
    """Find the tree, and how its start and ends are come to: a trench that is drawn ends where it is drawn."""
    start, ends, scene = reached.start, reached.ends, search.scene
    fixed = fixed_ways(site, group, scene, start, ends)
    if fixed is None:
        return None
    if fixed:
        return tree_on(fixed, scene, start, ends)
    if len(ends) == 1:
        end = next(iter(ends.values()))
        way = search.way(start, end)
        line = way and on_free_ground(way, start, end)
        return (begun(bare_tree(start.goal), line, end.goal, 0), start, ends) if line else None
    found = cheapest_tree(
        scene,
        start,
        list(ends.values()),
        families=group.families(start.goal),
        ground=reached.ground,
        search=search,
        look=look,
    )
    return (found.tree, start, ends) if found else None


def _asked(scene: Scene, choice: Choice) -> Scene:
    """Return the ground as a condition asks that it be looked at while a way is sought."""

    def patch_under(patch: Patch) -> Patch:
        if patch.feature != choice.crossed:
            return patch
        return replace(
            patch,
            dig=patch.dig and _towards(scene.dig, patch.dig, choice.share),
            restore=patch.restore and _towards(scene.restore, patch.restore, choice.share),
            bore=patch.bore and _bore_towards(scene, patch.bore, choice.share) if patch.shut else patch.bore,
        )

    held = _held(scene, choice)
    return replace(held, patches=tuple(patch_under(patch) for patch in held.patches))


def _towards(plain: Charge, dear: Charge, share: float) -> Charge:
    return replace(dear, price=plain.price + share * (dear.price - plain.price))


def _bore_towards(scene: Scene, bore: Bore, share: float) -> Bore:
    """Return a bore that comes to so much of its price beyond plain ground."""
    plain = Charge(row="", price=scene.plain)
    nothing = Charge(row="", price=0.0)
    return replace(
        bore,
        pits=_towards(nothing, bore.pits, share),
        per_m=_towards(plain, bore.per_m, share),
        least=_towards(nothing, bore.least, share),
    )


def _held(scene: Scene, choice: Choice) -> Scene:
    """Return the ground as a condition holds the trenches to it."""

    def patch_under(patch: Patch) -> Patch:
        if patch.feature in choice.bored and patch.bore:
            return replace(patch, shut=True)
        return replace(patch, bore=None) if patch.feature in choice.dug else patch

    return replace(scene, patches=tuple(patch_under(patch) for patch in scene.patches))
