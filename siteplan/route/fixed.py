"""Trenches that the user fixed: drawn by hand, or made to pass some points. The others join them where that is cheapest."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import shapely
from shapely import LineString, Point

from siteplan.route.approach import Approach
from siteplan.route.branching import Tree, bare_tree, begun, branched
from siteplan.route.priced.cheapest import Way, cheapest
from siteplan.route.scene import Patch, Scene
from siteplan.route.separate import Together
from siteplan.site.features import Line
from siteplan.site.site import Site

SNAP_M = 0.01
"""An end drawn as near to a wall as this [m] is at it."""

_ROUNDED_M = 0.002
"""A place in a file of degrees with eight decimals lies at most so far [m] from where it was meant."""

_ALONG_M = 0.1
"""What runs so near to an edge for so long [m] runs along it; what crosses it does not."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Fixed:
    """A trench that the user fixed.

    Attributes
    ----------
    line : LineString
        On free ground, from where it begins to its end.
    way : Approach
        How it comes to its end.
    after : str
        End of the line that its own tees off: once that is joined it branches off the nearest trench. ``""``: it does not tee.
    """

    line: LineString
    way: Approach
    after: str = ""


def fixed_ways(
    site: Site, group: Together, scene: Scene, start: Approach, ends: Mapping[str, Approach]
) -> dict[str, Fixed] | None:
    """Find the trenches of a group that the user fixed.

    Returns
    -------
    dict or None
        By end. Empty if none is fixed; ``None`` if there is no way through the points.
    """
    lines_too = {line.id for line in group.lines}
    found: dict[str, Fixed] = {}
    for end, lines in group.ends.items():
        line = next((line for line in lines if line.drawn or line.through), None)
        if line is None:
            continue
        if line.drawn:
            after = site.line(line.start).end if line.start in lines_too else ""
            found[end] = _drawn(site, line, start, after=after)
            continue
        through = _through(site, line, scene, start, ends[end])
        if through is None:
            return None
        found[end] = Fixed(line=through, way=ends[end])
    return found


def rounded(scene: Scene, trenches: Sequence[LineString]) -> Scene:
    """Return ground whose patches end a hair earlier where trenches run along their edge.

    A trench that was drawn along an edge lies beside it then, however its file is rounded.
    """
    beside = shapely.union_all([trench.buffer(_ROUNDED_M) for trench in trenches])

    def patch_within(patch: Patch) -> Patch:
        along = shapely.length(shapely.get_parts(patch.area.boundary.intersection(beside)))
        if along.max(initial=0.0) < _ALONG_M:
            return patch
        area = patch.area.buffer(-_ROUNDED_M, join_style="mitre")
        return patch if area.is_empty else replace(patch, area=area)

    return replace(scene, patches=tuple(patch_within(patch) for patch in scene.patches))


def tree_on(
    fixed: Mapping[str, Fixed],
    scene: Scene,
    start: Approach,
    ends: Mapping[str, Approach],
) -> tuple[Tree, Approach, dict[str, Approach]] | None:
    """Grow a tree on fixed trenches: the other ends join one after another, each where its own trench is cheapest.

    It joins with a tee, or begins at the start itself if that is a point or nothing begins there yet. A trench that is drawn
    from a tee joins from the nearest place on the others, as soon as the end is joined whose line it tees off, which comes first.

    Returns
    -------
    tuple or None
        The tree, its start and its ends as they are come to; ``None`` if an end cannot be joined.
    """
    order = list(ends)
    tree = bare_tree(start.goal)
    joined = [end for end, one in fixed.items() if not one.after]
    for end in joined:
        tree = begun(tree, fixed[end].line, Point(fixed[end].line.coords[-1]), order.index(end))
    left = [end for end in order if end not in fixed]
    while len(joined) < len(order):
        drawn = next((end for end, one in fixed.items() if end not in joined and one.after in joined), None)
        if drawn is None and not left:
            return None
        if drawn is not None:
            tree = _teed(tree, fixed[drawn].line, order.index(drawn))
            joined.append(drawn)
            continue
        trunk = Approach(
            feature="",
            places=tuple((line, (0.0, 0.0)) for line in tree.lines if line.length > 0.0),
            leg_m=0.0,
        )
        from_where = [(trunk, scene.tee.price)] if trunk.places else []
        if isinstance(start.goal, Point) or not from_where:
            from_where.append((start, scene.tee.price if start.tapped else 0.0))
        ways = [
            (way.price + tee, end, at is start, on_free_ground(way, at, ends[end]))
            for end in [one.after for one in fixed.values() if one.after in left] or left
            for at, tee in from_where
            if (way := cheapest(scene, at, ends[end]))
        ]
        if not ways:
            return None
        _, end, at_start, line = min(ways, key=lambda each: each[0])
        grow = begun if at_start else branched
        tree = grow(tree, line, ends[end].goal, order.index(end))
        left.remove(end)
        joined.append(end)
    begins = tuple(
        (LineString([one.line.coords[0]] * 2), (0.0, 0.0))
        for one in fixed.values()
        if not one.way.leg_m and not one.after
    )
    from_start = start if isinstance(start.goal, Point) else replace(start, places=(*begins, *start.places))
    return tree, from_start, {end: fixed[end].way if end in fixed else ends[end] for end in order}


def _teed(tree: Tree, drawn: LineString, number: int) -> Tree:
    """Join a drawn trench to the nearest place on the others."""
    trenches = shapely.union_all([line for line in tree.lines if line.length > 0.0])
    tee = shapely.shortest_line(trenches, Point(drawn.coords[0])).coords[0]
    line = LineString([tee, *drawn.coords])
    return branched(tree, line, Point(line.coords[-1]), number)


def _drawn(site: Site, line: Line, start: Approach, *, after: str) -> Fixed:
    """Return a drawn trench, from the very start if it begins there; it comes to the very end."""
    places = [place[:2] for place in site.feature(str(line.drawn)).shape.coords]
    if isinstance(start.goal, Point) and not after:
        places[0] = (start.goal.x, start.goal.y)
    end = site.feature(line.end).shape
    foot = shapely.shortest_line(end, Point(places[-1])).coords[0]
    last = places[:-1] if Point(places[-1]).distance(end) < SNAP_M else places
    trench = LineString([*last, foot])
    way = Approach(feature=line.end, places=((Point(foot), (0.0, 0.0)),), leg_m=0.0)
    return Fixed(line=trench, way=way, after=after)


def _through(site: Site, line: Line, scene: Scene, start: Approach, end: Approach) -> LineString | None:
    """Return the cheapest trench from a start over the points of a line to its end, on free ground."""
    points = [site.feature(point).shape for point in line.through]
    stops = [start, *(Approach(feature="", places=((at, (0.0, 0.0)),), leg_m=0.0) for at in points), end]
    places: list[tuple[float, ...]] = []
    for here, there in pairwise(stops):
        way = cheapest(scene, here, there)
        if way is None:
            return None
        places += on_free_ground(way, here, there).coords[1 if places else 0 :]
    return LineString(places)


def on_free_ground(way: Way, start: Approach, end: Approach) -> LineString:
    """Return a way without its last legs."""
    places = list(way.line.coords)[1 if start.leg_m else 0 : -1 if end.leg_m else None]
    return LineString(places if len(places) > 1 else places * 2)
