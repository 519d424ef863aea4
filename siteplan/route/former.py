"""The trenches of a layout made before, followed on the ground as it is now."""

from __future__ import annotations

import math
from collections.abc import Mapping
from itertools import accumulate, pairwise

import shapely
from shapely import Point

from siteplan.route.approach import Approach
from siteplan.route.between import Goal
from siteplan.route.branching import Tree
from siteplan.route.model import Layout, Reach
from siteplan.route.priced.cheapest import Search
from siteplan.route.priced.tree import blocks_of
from siteplan.route.priced.tree_follow import followed
from siteplan.route.priced.tree_net import EMPTY, Net, Place, tree_of
from siteplan.route.priced.tree_price import NetPrice
from siteplan.route.separate import Together

_NEAR_M = 1e-3
"""A bend this near [m] to a start, an end or a tee is none: a last leg begins there, or what is met has hardly moved."""


def tree_after(
    former: Layout,
    group: Together,
    search: Search,
    start: Approach,
    ends: Mapping[str, Approach],
) -> Tree | None:
    """Follow the former trenches of a group on ground that has changed.

    Parameters
    ----------
    former : Layout
        In the same ground plane.
    group : Together
        The lines.
    search : Search
        On the priced ground as it is now.
    start : Approach
        How the trenches leave the start.
    ends : mapping of str to Approach
        How they come to each end, by its id, in the order of ``group.ends``.

    Returns
    -------
    Tree or None
        One that may be dug, as cheap as small moves make it; ``None`` if a trench was fixed by the user, if the lines did not
        lie together like this, or if their trenches cannot be led round what lies in their way now, or not well.
    """
    if any(line.drawn or line.through for line in group.lines):
        return None
    net = net_before(former, group, start, ends)
    if net is None:
        return None
    ways = list(ends.values())
    pricing = NetPrice(search.scene, start, ways, search.links)
    before = math.fsum(reach.price for reach in _reaches_of(former, group) or ())
    found = followed(pricing, search, net, blocks_of(start, ways, group.families(start.goal)), before)
    return tree_of(found, start, ways) if found else None


def net_before(former: Layout, group: Together, start: Approach, ends: Mapping[str, Approach]) -> Net | None:
    """Hang the former trenches of a group between its start and its ends as they lie now.

    Parameters
    ----------
    former : Layout
        In the same ground plane.
    group : Together
        The lines.
    start : Approach
        How the trenches leave the start.
    ends : mapping of str to Approach
        How they come to each end, by its id, in the order of ``group.ends``.

    Returns
    -------
    Net or None
        Bends and tees lie where they lay; nothing is known of whether it may be dug so. ``None`` if the same lines did not
        lie in one tree of trenches from the same start to the same ends, or if that tree cannot begin as the start is now.
    """
    reaches = _reaches_of(former, group)
    if reaches is None:
        return None
    net = EMPTY
    nodes_of: dict[str, list[int]] = {}
    for reach in reaches:
        places = [(float(x), float(y)) for x, y in shapely.get_coordinates(reach.path).tolist()]
        if reach.parent is not None:
            above = nodes_of[reach.parent][_nearest(former.reach(reach.parent), reach.parent_m or 0.0)]
        elif isinstance(start.goal, Point) and net.at:
            above = 0
        else:
            net = net.grown(_onto(start.goal, places[0]), -1, None, start.goal)
            above = len(net.at) - 1
        nodes_of[reach.name] = [above]
        for place in places[1:]:
            net = net.grown(place, above)
            above = len(net.at) - 1
            nodes_of[reach.name].append(above)
    for which, (end, lines) in enumerate(group.ends.items()):
        name, _, to_m = former.path(lines[0].id).legs[-1]
        net = _ended(net, nodes_of[name][_nearest(former.reach(name), to_m)], which, ends[end].goal)
    net = net.each_once(_NEAR_M)
    leaves = [node for node in range(len(net.at)) if not net.below(node)]
    if any(net.end[node] is None for node in leaves):
        return None
    begins = [node for node, above in enumerate(net.above) if above < 0]
    if isinstance(start.goal, Point) and start.leg_m > 0.0 and len(net.below(begins[0])) > 1:
        return None
    return net


def _reaches_of(former: Layout, group: Together) -> list[Reach] | None:
    """Return the reaches in which all lines of a group lay and no other, parents first."""
    lines = set(group.ids)
    paths = [path for path in former.paths if path.line in lines]
    if {path.line for path in paths} != lines:
        return None
    used = {name for path in paths for name, _, _ in path.legs}
    reaches = [reach for reach in former.reaches if reach.name in used]
    for reach in reaches:
        from_where = group.root if reach.parent is None else reach.parent
        if reach.starts_at != from_where or (reach.parent is not None and reach.parent not in used):
            return None
        if not {run.line for run in reach.runs} <= lines:
            return None
    return reaches


def _nearest(reach: Reach, at_m: float) -> int:
    """Return which place of a reach is nearest to a distance [m] along it."""
    places = reach.path.coords
    along_m = [0.0, *accumulate(math.dist(*pair) for pair in pairwise(places))]
    return min(range(len(places)), key=lambda i: abs(along_m[i] - at_m))


def _onto(goal: Goal, at: Place) -> Place:
    """Return the place of a goal that is nearest to one."""
    x, y = shapely.shortest_line(goal, Point(at)).coords[0][:2]
    return float(x), float(y)


def _ended(net: Net, node: int, end: int, goal: Goal) -> Net:
    """Return a net with an end at one of its places, or beside it if that is the start or another end."""
    at = _onto(goal, net.at[node])
    if net.end[node] is not None or net.above[node] < 0:
        return net.grown(at, node, end, goal)
    return Net(
        (*net.at[:node], at, *net.at[node + 1 :]),
        net.above,
        (*net.end[:node], end, *net.end[node + 1 :]),
        (*net.on[:node], goal, *net.on[node + 1 :]),
    )
