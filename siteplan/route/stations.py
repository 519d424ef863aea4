"""Trenches with names and stations: Main from the start to the end named first, branches A, B, C in the order of their tees.

Where a line tees off is not always where its trench branches: if a line further down must come off it earlier, it
already lies beside its parent from there on.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import count, product

from shapely import LineString, Point

from siteplan.route.approach import Approach
from siteplan.route.branching import Tree
from siteplan.route.model import LinePath, Reach, Run
from siteplan.route.separate import Together
from siteplan.site.features import Line

LEAST_REACH_M = 0.01
"""A shorter branch [m] is none: the line ends at its parent trench."""

_SAME_M = 1e-6
_LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
Leg = tuple[int, float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Trench:
    """One trench: its centreline, how far along it the goals of the tree lie, and where it branches off."""

    path: LineString
    at_m: dict[int, float]
    end: str
    parent: int | None
    parent_m: float | None


def names() -> Iterator[str]:
    """Give the names of trenches: Main, A, B ... Z, AA, AB ...

    Examples
    --------
    >>> from itertools import islice
    >>> list(islice(names(), 3)), next(islice(names(), 27, None))
    (['Main', 'A', 'B'], 'AA')
    """
    yield "Main"
    for size in count(1):
        yield from ("".join(letters) for letters in product(_LETTERS, repeat=size))


def stationed(
    tree: Tree, group: Together, start: Approach, ends: Mapping[str, Approach], free_names: Iterator[str]
) -> tuple[tuple[Reach, ...], tuple[LinePath, ...]]:
    """Turn a tree into named trenches with the lines that lie in them.

    Parameters
    ----------
    tree : Tree
        Its ends are numbered in the order of ``group.ends``.
    group : Together
        The lines.
    start : Approach
        How the trenches leave the start.
    ends : mapping of str to Approach
        How they come to each end, by its id.
    free_names : iterator of str
        Names not yet used.
    """
    dug, way_of = _dug(tree, list(group.ends), start, ends)
    named = dict(zip(_in_order(dug), free_names, strict=False))
    tees_m = {line.id: _tee_m(line, group.lines, way_of) for line in group.lines}
    paths, runs = [], []
    for line in group.lines:
        last, _, end_m = way_of[line.end][-1]
        legs = list(_beyond(way_of[line.end], tees_m[line.id]))
        entry = dug[last].path.interpolate(end_m)
        paths.append(
            LinePath(line=line.id, legs=tuple((named[i], a, b) for i, a, b in legs), entry=Point(entry))
        )
        runs += [(i, Run(line=line.id, from_m=a, to_m=b)) for i, a, b in legs if b > a]
    reaches = []
    for i, name in named.items():
        trench = dug[i]
        parent = None if trench.parent is None else named[trench.parent]
        reaches.append(
            Reach(
                name=name,
                path=trench.path,
                runs=tuple(run for reach, run in runs if reach == i),
                parent=parent,
                parent_m=trench.parent_m,
                starts_at=start.feature if parent is None else parent,
                ends_at=trench.end,
            )
        )
    return tuple(reaches), tuple(paths)


def _dug(
    tree: Tree, end_ids: Sequence[str], start: Approach, ends: Mapping[str, Approach]
) -> tuple[list[_Trench], dict[str, list[Leg]]]:
    """Follow the tree to its ends in their order; each trench begins where an earlier one is left.

    Returns
    -------
    tuple
        The trenches, and for each end the legs from the start to it: (number of the trench, from, to) [m].
    """
    dug: list[_Trench] = []
    owner: dict[int, int] = {}
    way_of: dict[str, list[Leg]] = {}
    for number, end_id in enumerate(end_ids):
        goal = tree.end.index(number)
        way = [0, *tree.way(goal)]
        new = next(k for k, node in enumerate(way) if k > 0 and node not in owner)
        fork = way[new - 1]
        trench = _along(tree, way[new:], fork, owner.get(fork), dug, start, ends[end_id])
        if trench.parent is not None and trench.path.length < LEAST_REACH_M:
            parent = trench.parent
            dug[parent].at_m.update(dict.fromkeys(way[new:], trench.parent_m or 0.0))
            owner |= dict.fromkeys(way[new:], parent)
        else:
            dug.append(trench)
            owner |= dict.fromkeys(way[new:], len(dug) - 1)
            if isinstance(start.goal, Point):
                owner.setdefault(0, 0)
        last = owner[goal]
        end_m = (
            dug[last].at_m[goal] if len(dug[last].at_m) and dug[last].end != end_id else dug[last].path.length
        )
        way_of[end_id] = _legs(dug, last, float(end_m))
    return dug, way_of


def _along(
    tree: Tree,
    way: Sequence[int],
    fork: int,
    parent: int | None,
    dug: Sequence[_Trench],
    start: Approach,
    end: Approach,
) -> _Trench:
    """Dig one trench over some goals of the tree, with the last legs square to the walls."""
    points: list[tuple[float, ...]] = []
    at_m: dict[int, float] = {}
    first = tree.lines[way[0]].coords[0]
    if parent is None:
        _go_on(points, [start.foot(first[0], first[1])])
    _go_on(points, [first])
    if parent is None:
        at_m[fork] = _length_m(points)
    for goal in way:
        _go_on(points, tree.lines[goal].coords)
        at_m[goal] = _length_m(points)
    last = tree.lines[way[-1]].coords[-1]
    _go_on(points, [end.foot(last[0], last[1])])
    return _Trench(
        path=LineString(points if len(points) > 1 else points * 2),
        at_m=at_m,
        end=end.feature,
        parent=parent,
        parent_m=None if parent is None else dug[parent].at_m[fork],
    )


def _go_on(points: list[tuple[float, ...]], onward: Sequence[Sequence[float]]) -> None:
    for point in onward:
        if not points or math.dist(points[-1], point[:2]) > _SAME_M:
            points.append(tuple(point[:2]))


def _length_m(points: list[tuple[float, ...]]) -> float:
    return float(LineString(points).length) if len(points) > 1 else 0.0


def _legs(dug: Sequence[_Trench], last: int, end_m: float) -> list[Leg]:
    """Return the legs from the start to a place on a trench."""
    legs = [(last, 0.0, end_m)]
    trench = dug[last]
    while trench.parent is not None and trench.parent_m is not None:
        legs.append((trench.parent, 0.0, trench.parent_m))
        trench = dug[trench.parent]
    return legs[::-1]


def _in_order(dug: Sequence[_Trench]) -> list[int]:
    """Return the trenches in the order of their names: each trunk, then its branches by station, then theirs."""
    order: list[int] = []
    for trunk, trench in enumerate(dug):
        waiting = [trunk] if trench.parent is None else []
        while waiting:
            here = waiting.pop(0)
            order.append(here)
            branches = [i for i, other in enumerate(dug) if other.parent == here]
            waiting += sorted(branches, key=lambda i: dug[i].parent_m or 0.0)
    return order


def _tee_m(line: Line, lines: Sequence[Line], way_of: Mapping[str, list[Leg]]) -> float:
    """Return where a line leaves its parent, as distance [m] from the start along its own way."""
    parent = next((other for other in lines if other.id == line.start), None)
    if parent is None:
        return 0.0
    ways = way_of[line.end], way_of[parent.end]
    together_m = 0.0 if line.end == parent.end else _together_m(*ways)
    return min([together_m, *(_tee_m(child, lines, way_of) for child in lines if child.start == line.id)])


def _together_m(one: Sequence[Leg], other: Sequence[Leg]) -> float:
    """Return how far two ways from the start go together [m]."""
    together_m = 0.0
    for (trench, _, to_m), (other_trench, _, other_to_m) in zip(one, other, strict=False):
        if trench != other_trench:
            break
        together_m += min(to_m, other_to_m)
        if to_m != other_to_m:
            break
    return together_m


def _beyond(way: Sequence[Leg], tee_m: float) -> Iterator[Leg]:
    """Give what is left of a way beyond a distance from its start."""
    done_m = 0.0
    for trench, _, to_m in way:
        from_m = max(0.0, tee_m - done_m)
        if to_m - from_m > LEAST_REACH_M or trench == way[-1][0]:
            yield trench, min(from_m, to_m), to_m
        done_m += to_m
