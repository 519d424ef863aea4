"""A tree of trenches as places joined by straight links, and the same as a tree of goals."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from shapely import LineString, MultiLineString, Point

from siteplan.route.approach import Approach
from siteplan.route.between import Goal
from siteplan.route.branching import Tree

Place = tuple[float, float]
SAME_M = 1e-9
"""Places this near to each other [m] are one."""


@dataclass(frozen=True, slots=True)
class Net:
    """Places and the straight links between them.

    Attributes
    ----------
    at : tuple of (x, y)
        The places, metres.
    above : tuple of int
        Next place towards the start, -1 for a place of the start.
    end : tuple of int or None
        Which end each place is.
    on : tuple of Point, MultiLineString or None
        What a place must stay on; ``None``: it may lie anywhere.
    """

    at: tuple[Place, ...]
    above: tuple[int, ...]
    end: tuple[int | None, ...]
    on: tuple[Goal | None, ...]

    def below(self, node: int) -> list[int]:
        """Return the places next to one, away from the start."""
        return list(_below(self.above)[node])

    def beside(self, node: int) -> list[int]:
        """Return the places linked to one: the one above first, if there is one."""
        return [above for above in (self.above[node],) if above >= 0] + self.below(node)

    def is_free(self, node: int) -> bool:
        """Tell whether a place may lie anywhere, or be left out."""
        return self.on[node] is None and self.end[node] is None and self.above[node] >= 0

    def links(self) -> MultiLineString:
        """Return all links."""
        return MultiLineString(
            [(self.at[above], at) for at, above in zip(self.at, self.above, strict=True) if above >= 0]
        )

    def grown(self, at: Place, above: int, end: int | None = None, on: Goal | None = None) -> Net:
        """Return the net with one more place, the last."""
        return Net((*self.at, at), (*self.above, above), (*self.end, end), (*self.on, on))

    def moved(self, node: int, at: Place) -> Net:
        """Return the net with one place elsewhere."""
        return replace(self, at=(*self.at[:node], at, *self.at[node + 1 :]))

    def without(self, node: int, into: int) -> Net:
        """Return the net with what hangs on one place hung on another beside it instead.

        The other takes over nothing else: a place that is an end or on the start cannot go.
        """
        above = list(self.above)
        if into != above[node]:
            above[into] = above[node]
        above = [into if over == node and i != into else over for i, over in enumerate(above)]
        left = [i for i in range(len(above)) if i != node]
        number = {old: new for new, old in enumerate(left)} | {-1: -1}
        return Net(
            tuple(self.at[i] for i in left),
            tuple(number[above[i]] for i in left),
            tuple(self.end[i] for i in left),
            tuple(self.on[i] for i in left),
        )

    def each_once(self, near_m: float = SAME_M) -> Net:
        """Return the net with free places this near [m] to one beside them left out: a link without length would hide a bend."""
        net, node = self, 0
        while node < len(net.at):
            on = [other for other in net.beside(node) if math.dist(net.at[node], net.at[other]) <= near_m]
            if on and net.is_free(node):
                net, node = net.without(node, on[0]), -1
            node += 1
        return net


@lru_cache(maxsize=256)
def _below(above: tuple[int, ...]) -> list[list[int]]:
    """Return the places next to each, away from the start."""
    below: list[list[int]] = [[] for _ in above]
    for node, over in enumerate(above):
        if over >= 0:
            below[over].append(node)
    return below


EMPTY = Net((), (), (), ())


def net_of(tree: Tree, start: Approach, ends: Sequence[Approach]) -> Net:
    """Return a tree as a net; places without a trench between them become one."""
    net, node_of = EMPTY, {}
    if isinstance(start.goal, Point):
        net = net.grown((start.goal.x, start.goal.y), -1, None, start.goal)
        node_of[0] = 0
    for goal in _downwards(tree):
        line, end = tree.lines[goal], tree.end[goal]
        on = None if end is None else ends[end].goal
        here = node_of.get(tree.above[goal])
        if here is None:
            net = net.grown(_place(line, 0), -1, None, start.goal)
            here = len(net.at) - 1
        if line.length <= SAME_M and (end is None or (net.end[here] is None and net.above[here] >= 0)):
            if end is not None:
                net = Net(
                    net.at, net.above, _with(net.end, here, end), (*net.on[:here], on, *net.on[here + 1 :])
                )
            node_of[goal] = here
            continue
        for number in range(1, len(line.coords)):
            last = number == len(line.coords) - 1
            net = net.grown(_place(line, number), here, end if last else None, on if last else None)
            here = len(net.at) - 1
        node_of[goal] = here
    return net


def tree_of(net: Net, start: Approach, ends: Sequence[Approach]) -> Tree:
    """Return a net as a tree: ends last of all, every branching place a goal of its own."""
    goals: list[Goal] = [start.goal]
    end_of: list[int | None] = [None]
    above: list[int] = [-1]
    lines: list[LineString] = [LineString()]

    def add(goal: Goal, end: int | None, over: int, line: list[Place]) -> int:
        goals.append(goal)
        end_of.append(end)
        above.append(over)
        lines.append(LineString(line if len(line) > 1 else line * 2))
        return len(goals) - 1

    def follow(node: int, over: int, line: list[Place]) -> None:
        below, end = net.below(node), net.end[node]
        line = [*line, net.at[node]] if not line or line[-1] != net.at[node] else line
        if end is not None and not below:
            add(ends[end].goal, end, over, line)
            return
        at_point_start = net.above[node] < 0 and isinstance(start.goal, Point)
        if end is not None or (len(below) > 1 and not at_point_start):
            over, line = add(Point(net.at[node]), None, over, line), [net.at[node]]
            if end is not None:
                add(ends[end].goal, end, over, line)
        for other in below:
            follow(other, over, list(line))

    for node, over in enumerate(net.above):
        if over < 0:
            follow(node, 0, [])
    return Tree(tuple(goals), tuple(end_of), tuple(above), tuple(lines))


def _downwards(tree: Tree) -> list[int]:
    """Return the goals but the start, each after the one above it."""
    order, waiting = [], [0]
    while waiting:
        below = tree.below(waiting.pop(0))
        order += below
        waiting += below
    return order


def _place(line: LineString, number: int) -> Place:
    x, y = line.coords[number][:2]
    return float(x), float(y)


def _with(values: tuple[int | None, ...], index: int, value: int) -> tuple[int | None, ...]:
    return (*values[:index], value, *values[index + 1 :])
