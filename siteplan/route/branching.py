"""The shortest tree of trenches from one start to several ends, over free ground.

Ends join one after another where the least new trench is needed; then every place where trenches branch is moved to
where its three trenches together are least, each of them being exactly the shortest. All orders of joining are tried
for up to four ends; for more, the end nearest to the start goes first. A trench that would lie beside another one from
the same place is never dug twice: the branch moves to where they part.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import permutations

from shapely import LineString, MultiLineString, Point
from shapely.ops import nearest_points

from siteplan.route.between import Goal, length_of, piece_at, shortest_between, turned
from siteplan.route.mesh import FreeGround
from siteplan.route.shortest import Shortest
from siteplan.route.tee import aim

ALL_ORDERS = 4
"""Up to this many ends all orders of joining are tried."""

GAIN_M = 1e-3
"""Moves that save less [m] are not made."""

AT_ONE_PLACE_M = 0.15
"""A trench is not dug for less than this [m], half a foot: the branch moves to the end (common practice, no source)."""

_POLISHED = 2
_ROUNDS = 60
_HALVINGS = 4
_STILL_M = 0.01


@dataclass(frozen=True, slots=True, kw_only=True)
class End:
    """One end of the tree.

    Attributes
    ----------
    goal : Point or MultiLineString
        Where the trench may end.
    after : tuple of int
        Ends that must have joined before.
    near : int or None
        If the start has walls: the end with whose trench this one must be joined; ``None`` if it may have its own from
        another place of the start.
    """

    goal: Goal
    after: tuple[int, ...] = ()
    near: int | None = None


@dataclass(frozen=True, slots=True)
class Tree:
    """Trenches from a start to its ends.

    Attributes
    ----------
    goals : tuple of Point or MultiLineString
        The start, then ends and branching places in the order in which they joined.
    end : tuple of int or None
        Which end each goal is, ``None`` for the start and for branching places.
    above : tuple of int
        Next goal towards the start, -1 for the start.
    lines : tuple of LineString
        Trench from the goal above, by goal; empty for the start.
    """

    goals: tuple[Goal, ...]
    end: tuple[int | None, ...]
    above: tuple[int, ...]
    lines: tuple[LineString, ...]

    @property
    def length_m(self) -> float:
        """Length of all trenches [m]."""
        return float(sum(line.length for line in self.lines))

    @property
    def tees(self) -> list[int]:
        """The branching places."""
        return [goal for goal, end in enumerate(self.end) if goal > 0 and end is None]

    def below(self, goal: int) -> list[int]:
        """Return the goals next to one, away from the start."""
        return [other for other, above in enumerate(self.above) if above == goal]

    def way(self, goal: int) -> list[int]:
        """Return the goals from the start, itself left out, to one."""
        way = []
        while goal > 0:
            way.append(goal)
            goal = self.above[goal]
        return way[::-1]


def bare_tree(start: Goal) -> Tree:
    """Return a tree that has a start and no trench yet."""
    return Tree((start,), (None,), (-1,), (LineString(),))


def begun(tree: Tree, line: LineString, goal: Goal, end: int) -> Tree:
    """Return a tree with one more trench, from the start to an end."""
    return _with(tree, goal, end, 0, line)


def branched(
    tree: Tree, line: LineString, goal: Goal, end: int, spans: Collection[int] | None = None
) -> Tree:
    """Return a tree with one more trench to an end, that branches off where it begins.

    Parameters
    ----------
    line : LineString
        The trench, from a place on the tree.
    goal : Point or MultiLineString
        The end, ``end`` its number.
    spans : collection of int, optional
        Goals to which the trenches lead that it may branch off; any by default.
    """
    tee = Point(line.coords[0])
    under = [i for i, one in enumerate(tree.lines) if one.length > 0.0] if spans is None else list(spans)
    below = min(under, key=lambda i: float(tree.lines[i].distance(tee)))
    upper, lower = _cut(tree.lines[below], tee)
    tree = _with(tree, tee, None, tree.above[below], upper)
    node = len(tree.goals) - 1
    above, lines = list(tree.above), list(tree.lines)
    above[below], lines[below] = node, lower
    return _with(replace(tree, above=tuple(above), lines=tuple(lines)), goal, end, node, line)


def shortest_tree(ground: FreeGround, start: Goal, ends: Sequence[End]) -> Tree | None:
    """Find a tree of trenches that is as short as can be found.

    Parameters
    ----------
    ground : FreeGround
        Where the trenches may lie.
    start : Point or MultiLineString
        Where they start.
    ends : sequence of End
        One or more.

    Returns
    -------
    Tree or None
        ``None`` if an end cannot be reached. Exact for one end if start or end is a point; otherwise no better one was
        found (see ``bound.py`` for what is proven).
    """
    found = {round(tree.length_m / GAIN_M): tree for tree in _all_joined(ground, bare_tree(start), ends)}
    shortest = [found[length] for length in sorted(found)][:_POLISHED]
    polished = [_polished(ground, tree) for tree in shortest]
    best = min(polished, key=lambda tree: tree.length_m, default=None)
    if best is None:
        return None
    other = _elsewhere(ground, best)
    return _tidied(ground, best if other is best else _polished(ground, other))


def _all_joined(ground: FreeGround, bare: Tree, ends: Sequence[End]) -> Iterator[Tree]:
    """Give the trees of all orders of joining."""
    grown: dict[tuple[int, ...], Tree | None] = {(): bare}
    for order in _orders(ground, bare.goals[0], ends):
        for count in range(1, len(order) + 1):
            if order[:count] not in grown:
                before = grown[order[: count - 1]]
                grown[order[:count]] = before and _joined(ground, before, order[count - 1], ends)
        tree = grown[order]
        if tree is not None:
            yield tree


def _orders(ground: FreeGround, start: Goal, ends: Sequence[End]) -> Iterator[tuple[int, ...]]:
    """Give the orders of joining: all that are allowed; if the ends are many, the nearest that is allowed next."""
    numbers = range(len(ends))
    if len(ends) <= ALL_ORDERS:
        for order in permutations(numbers):
            if all(order.index(first) < order.index(i) for i in numbers for first in ends[i].after):
                yield order
        return
    ways = [shortest_between(ground, start, end.goal) for end in ends]
    away_m = [way.length_m if way else math.inf for way in ways]
    placed: list[int] = []
    while len(placed) < len(ends):
        ready = [i for i in numbers if i not in placed and set(ends[i].after) <= set(placed)]
        placed.append(min(ready, key=lambda i: away_m[i]))
    yield tuple(placed)


def _joined(ground: FreeGround, tree: Tree, end: int, ends: Sequence[End]) -> Tree | None:
    """Join one more end where the least new trench is needed."""
    goal, near = ends[end].goal, ends[end].near
    start = tree.goals[0]
    may_start_anew = len(tree.goals) == 1 or (not isinstance(start, Point) and near is None)
    anew = shortest_between(ground, start, goal) if may_start_anew else None
    allowed = _spans_near(tree, near) if near is not None and not isinstance(start, Point) else None
    spans = {
        i: line
        for i, line in enumerate(tree.lines)
        if line.length > 0.0 and (allowed is None or i in allowed)
    }
    branch = None
    if spans:
        back = shortest_between(ground, goal, MultiLineString(list(spans.values())))
        branch = back and turned(back)
    elif len(tree.goals) > 1:
        branch = shortest_between(ground, Point(tree.lines[-1].coords[0]), goal)
        spans = {len(tree.goals) - 1: tree.lines[-1]}
    if anew and (branch is None or anew.length_m <= branch.length_m):
        return begun(tree, anew.line, goal, end)
    if branch is None:
        return None
    return branched(tree, branch.line, goal, end, spans)


def _spans_near(tree: Tree, end: int) -> set[int]:
    """Return the trenches that hang together with an end without the start."""
    top = tree.way(tree.end.index(end))[0]
    return {goal for goal in range(1, len(tree.goals)) if tree.way(goal)[0] == top}


def _with(tree: Tree, goal: Goal, end: int | None, above: int, line: LineString) -> Tree:
    return Tree((*tree.goals, goal), (*tree.end, end), (*tree.above, above), (*tree.lines, line))


def _cut(line: LineString, tee: Point) -> tuple[LineString, LineString]:
    """Cut a trench in two at a place on it."""
    at_m = float(line.project(tee))
    coords = list(line.coords)
    along = [float(line.project(Point(c))) for c in coords]
    place = (tee.x, tee.y)
    upper = [c for c, m in zip(coords, along, strict=True) if m < at_m]
    lower = [c for c, m in zip(coords, along, strict=True) if m > at_m]
    return LineString([*(upper or [place]), place]), LineString([place, *(lower or [place])])


def _polished(ground: FreeGround, tree: Tree) -> Tree:
    """Move all branching places in turn until nothing is gained."""
    for _ in range(_ROUNDS):
        before_m = tree.length_m
        for node in tree.tees:
            tree = _settled_tee(ground, tree, node)
        if tree.length_m > before_m - GAIN_M:
            break
    return tree


def _tidied(ground: FreeGround, tree: Tree) -> Tree:
    """Move branching places that lie next to a start, an end or another one onto it."""
    for node in tree.tees:
        for near in (tree.above[node], *tree.below(node)):
            place = tree.goals[near]
            if isinstance(place, Point) and 0.0 < place.distance(tree.goals[node]) < AT_ONE_PLACE_M:
                arms = _arms(ground, tree, node, place)
                tree = _moved(tree, node, place, arms) if arms else tree
    return tree


def _arms(ground: FreeGround, tree: Tree, node: int, tee: Point) -> list[Shortest] | None:
    """Return the trenches that would meet at a branching place: the one from above first."""
    found = [shortest_between(ground, tee, tree.goals[i]) for i in (tree.above[node], *tree.below(node))]
    return [arm for arm in found if arm] if all(found) else None


def _moved(tree: Tree, node: int, tee: Point, arms: Sequence[Shortest]) -> Tree:
    goals, lines = list(tree.goals), list(tree.lines)
    goals[node] = tee
    lines[node] = turned(arms[0]).line
    for below, arm in zip(tree.below(node), arms[1:], strict=True):
        lines[below] = arm.line
    return replace(tree, goals=tuple(goals), lines=tuple(lines))


def _settled_tee(ground: FreeGround, tree: Tree, node: int, start: Point | None = None) -> Tree:
    """Move one branching place, from where it is or from another start, to where its trenches are least together."""
    tee = start or tree.goals[node]
    assert isinstance(tee, Point)
    arms = _arms(ground, tree, node, tee)
    while arms:
        moved = _step(ground, tree, node, tee, arms)
        if moved is None:
            break
        tee, arms = moved
    return min(tree, _moved(tree, node, tee, arms), key=lambda other: other.length_m) if arms else tree


def _elsewhere(ground: FreeGround, tree: Tree) -> Tree:
    """Try whether a branching place does better on another side of what is kept off.

    Tried is where each of the three would join the shortest trench between the other two.
    """
    for node in tree.tees:
        around = [tree.goals[i] for i in (tree.above[node], *tree.below(node))]
        for i, third in enumerate(around):
            through = shortest_between(ground, around[i - 1], around[i - 2])
            branch = through and shortest_between(ground, third, MultiLineString([through.line]))
            if branch and branch.length_m > AT_ONE_PLACE_M:
                tree = _settled_tee(ground, tree, node, Point(branch.line.coords[-1]))
    return tree


def _step(
    ground: FreeGround, tree: Tree, node: int, tee: Point, arms: Sequence[Shortest]
) -> tuple[Point, list[Shortest]] | None:
    """Take one step towards the best place for straight arms to the next bends and walls; ``None`` if none helps."""
    now_m = sum(map(length_of, arms))
    around = [tree.goals[i] for i in (tree.above[node], *tree.below(node))]
    to_x, to_y = aim(tee, [_next_piece(goal, arm) for goal, arm in zip(around, arms, strict=True)])
    if math.dist((to_x, to_y), (tee.x, tee.y)) < _STILL_M:
        return None
    for halving in range(_HALVINGS):
        share = 0.5**halving
        wanted = Point(tee.x + share * (to_x - tee.x), tee.y + share * (to_y - tee.y))
        place = nearest_points(ground.area, wanted)[0]
        found = _arms(ground, tree, node, place)
        if found and sum(map(length_of, found)) < now_m - GAIN_M:
            return place, found
    return None


def _next_piece(goal: Goal, arm: Shortest) -> LineString:
    """Return the wall that an arm goes straight to, else its first bend or its end, as a piece without length."""
    place = arm.line.coords[1]
    if isinstance(goal, Point) or len(arm.line.coords) > 2:
        return LineString([place, place])
    return piece_at(goal, Point(place))
