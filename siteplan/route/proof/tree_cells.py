"""Least length of a tree of trenches round obstacles: branch and bound over cells that may hold a branching place.

In a shortest tree trenches branch three at a time, and the way from a branching place x to a terminal or to another
branching place is a shortest line, of length d(x). Let a cell be a triangle of free ground with corners c, of enclosing
radius R, and let no bend of the ground and nothing of the goal lie nearer to it than r. Drawn tight, the shortest line from x
gives a line from c that is longer by p (c - x) + (c - x)^2 / 2r at most, with one p for all three corners. So d(x) is no less
than the weighted mean of the d(c), with the weights that make x of the c, minus min(R, R^2 / 2r): the second order goes with
the mean square, the first with the mean distance. A sum over the ways at all branching places is then no less than its least
value over the corners of cells minus those errors, and that least value is found by dynamic programming over sets of
terminals (Dreyfus and Wagner 1972). Cells that cannot hold a branching place of a tree below the threshold are dropped, the
larger of the others cut in two; the threshold is brought down where too many would be left.

A way from a branching place through an end and on to another one turns, all bends taken together, by no less than the corner
there of the two straight lines between the three (Milnor 1950: a polygon inscribed in a curve turns no more than the curve).
These bends and those of two ways that cannot be straight may be the same: the dearer counts.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from itertools import pairwise

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Point

from siteplan.route.between import Goal
from siteplan.route.mesh import FreeGround
from siteplan.route.proof.tree_ground import Cells

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

MOST_TERMINALS = 7
"""Start and ends together, 966 ways of joining sets of them; of more, those that lie farthest apart are joined."""

MOST_CORNERS = 400
"""Corners of cells that are looked at more closely; where they are more, less is asked for. Three places have no links."""

MOST_OF_THREE = 1500

MOST_LOOKED_AT = 3000
"""Corners of cells after which no further round begins: a few seconds."""

LEVELS = 14

Turns = Callable[[Floats], Floats]

_LESS = 0.995
_AT_M = 1e-6


def least_tree_m(
    ground: FreeGround,
    places: Sequence[Goal],
    *,
    best_m: float,
    wanted: float,
    tee_m: float = 0.0,
    bend_m: float = 0.0,
    legs: bool = False,
    straight: frozenset[int] = frozenset(),
    turn_m: Turns | None = None,
) -> float:
    """Length [m] that no tree of trenches from the first place to all others falls below.

    Parameters
    ----------
    ground : FreeGround
        Everything where a trench might lie.
    places : sequence of Point or MultiLineString
        The start and two or more ends; there is a way to each. If the start has walls, trenches may leave it at
        different places.
    best_m : float
        Length of the best tree known: only how far the search goes depends on it, not whether the bound holds.
    wanted : float
        Share of ``best_m`` by which the bound may stay below it.
    tee_m : float
        What a branching place costs, as metres of trench; none is due on the start or an end.
    bend_m : float
        What a bend costs at least. One is counted for each way to a point that cannot be straight.
    legs : bool
        Does a last leg leave every end that has walls. If so, branching there costs as much as anywhere.
    straight : frozenset of int
        Places that are joined by a straight way, over whatever ground; three places at most in all then.
    turn_m : callable
        What turning by some angles [radians] costs at least, as metres of trench; for none all turning is free.

    Returns
    -------
    float
        Never above ``(1 - wanted) * best_m``.

    Examples
    --------
    Three corners of an even-sided triangle of 20 m on open ground: the least tree has 34.641 m.

    >>> ground = FreeGround(shapely.box(-50, -50, 50, 50))
    >>> corners = [Point(0, 0), Point(20, 0), Point(10, 10 * 3**0.5)]
    >>> round(least_tree_m(ground, corners, best_m=34.641, wanted=0.01), 2)
    34.29
    """
    places = _far_apart(places) if not straight else list(places)
    threshold_m, proven_m = (1.0 - wanted) * best_m, 0.0
    most = MOST_CORNERS if len(places) > 3 else MOST_OF_THREE
    cells = Cells(ground, places, threshold_m, straight)
    for _ in range(LEVELS):
        joined = _Joined(cells, tee_m, bend_m, legs, turn_m)
        while np.count_nonzero(joined.through_m < threshold_m) > most:
            threshold_m *= _LESS
        proven_m = max(proven_m, min(threshold_m, joined.least_m))
        if proven_m >= threshold_m or cells.looked_at > MOST_LOOKED_AT:
            break
        cells.refine(joined.through_m < threshold_m)
    return proven_m


class _Joined:
    """What trees over the corners of cells come to, errors taken off.

    Sets of terminals are bit masks, the start being bit 0. ``_part[s]`` holds, by corner, the least length of a tree that
    joins the terminals of s with that corner by one trench there.
    """

    def __init__(
        self, cells: Cells, tee_m: float, bend_m: float, legs: bool, turn_m: Turns | None = None
    ) -> None:
        self._cells, self._bend_m, self._turn_m = cells, bend_m, turn_m
        walls = [number for number in range(1, len(cells.places)) if number not in cells.node_of and not legs]
        near = (cells.away_m[walls] <= 2 * cells.radius_m).any(axis=0)
        self._tee_m = np.where(near, 0.0, tee_m)
        if 0 in cells.node_of:
            self._tee_m[cells.node_of[0]] = 0.0
        self._all = (1 << len(cells.places)) - 1
        self._part: dict[int, Floats] = {}
        self._branch: dict[int, Floats] = {}
        for terminal in range(len(cells.places)):
            clear_m = np.minimum(
                np.maximum(cells.clear_m, cells.bend_m[terminal]), cells.away_m[terminal] - 2 * cells.radius_m
            )
            part_m = cells.way_m[terminal] + np.where(cells.straight[terminal], 0.0, bend_m)
            self._part[1 << terminal] = part_m - _error_m(cells.radius_m, clear_m)
            if terminal in cells.node_of:
                self._part[1 << terminal][cells.node_of[terminal]] = 0.0
        self._link = self._links_m() if len(cells.places) > 3 else np.zeros((0, 0))
        for terminals in range(1, self._all):
            if terminals & (terminals - 1):
                self._branch[terminals] = self._branched(terminals)
                if terminals.bit_count() <= len(cells.places) - 2:
                    self._part[terminals] = self._linked(terminals)
        self._join()

    def _linked(self, terminals: int) -> Floats:
        """Least length, by corner, of a trench to it from where some terminals are joined."""
        sums = self._branch[terminals][:, None] + self._link
        if terminals.bit_count() == 2 and self._turn_m:
            for end, node in self._cells.node_of.items():
                if terminals & 1 << end and end > 0:
                    other = (terminals ^ 1 << end).bit_length() - 1
                    sums[node] += self._turning_m(end, node, other)
        linked: Floats = sums.min(axis=0, initial=np.inf)
        return linked

    def _turning_m(self, end: int, node: int, other: int) -> Floats:
        """What turning at an end costs on the way to another place, by the corner come from, as far as it is not counted yet."""
        assert self._turn_m is not None
        cells = self._cells
        way = cells.at[node] - cells.at
        slack = np.arcsin(np.minimum(1.0, 2 * cells.radius_m / np.maximum(np.hypot(*way.T), 1e-9)))
        turn = deflections(np.arctan2(way[:, 1], way[:, 0]), cells.at[node], cells.places[other])
        counted_m = self._bend_m * (~cells.straight[end] + (0.0 if cells.straight[other][node] else 1.0))
        turning_m: Floats = np.maximum(self._turn_m(np.maximum(turn - slack, 0.0)) - counted_m, 0.0)
        return turning_m

    def _join(self) -> None:
        """Find the least length of all, and of all that branch at each corner."""
        cells = self._cells
        everywhere = {ends: self._through(ends | 1) for ends in range(2, self._all, 2) if ends & (ends - 1)}
        apart = not isinstance(cells.places[0], Point)
        forest_m = {0: 0.0}
        for ends in range(2, self._all, 2):
            first = ends & -ends
            forest_m[ends] = min(
                self._tree_m(part, everywhere) + forest_m[ends ^ part]
                for part in _parts(ends)
                if part & first and (apart or part == ends)
            )
        self.least_m = forest_m[self._all ^ 1]
        self.through_m = np.full(len(cells.at), np.inf)
        for ends, values in everywhere.items():
            rest = self._all ^ 1 ^ ends
            if apart or not rest:
                np.minimum(self.through_m, values + forest_m[rest], out=self.through_m)

    def _tree_m(self, ends: int, everywhere: dict[int, Floats]) -> float:
        """Least length of one tree from the start to some ends."""
        if ends in everywhere:
            return float(everywhere[ends].min(initial=np.inf))
        return float(self._cells.between_m[ends.bit_length() - 1])

    def _branched(self, terminals: int) -> Floats:
        """Least length, by corner, of two trees to it that join some terminals between them."""
        first = terminals & -terminals
        sums = [
            self._part[part] + self._part[terminals ^ part] + self._tee_where(part, terminals ^ part)
            for part in _parts(terminals)
            if part & first and part != terminals and self._has(part) and self._has(terminals ^ part)
        ]
        branched: Floats = np.min(sums, axis=0)
        return branched

    def _tee_where(self, *parts: int) -> Floats:
        """What branching costs, by corner: nothing at an end that is one of the parts, as it is only passed."""
        tee_m = self._tee_m
        for terminal, node in self._cells.node_of.items():
            if 1 << terminal in parts:
                tee_m = tee_m.copy()
                tee_m[node] = 0.0
        return tee_m

    def _through(self, terminals: int) -> Floats:
        """Least length, by corner, of three trees to it that join some terminals between them, the start among them."""
        sums = [
            self._part[part] + self._branch[terminals ^ part]
            for part in _parts(terminals)
            if part & 1 and self._has(part) and (terminals ^ part) in self._branch
        ]
        through: Floats = np.min(sums, axis=0)
        if self._turn_m:
            for end, node in self._cells.node_of.items():
                if end > 0 and terminals & 1 << end:
                    through[node] = self._through_end(terminals, end, node)
        return through

    def _through_end(self, terminals: int, end: int, node: int) -> float:
        """Least length of what meets at an end, the start among it; two trenches that only pass it turn there."""
        found = []
        for part in _parts(terminals):
            rest = terminals ^ part
            if not (part & 1 and self._has(part) and rest in self._branch):
                continue
            first = rest & -rest
            for one in _parts(rest):
                other = rest ^ one
                if one & first and other and self._has(one) and self._has(other):
                    here_m = sum(float(self._part[each][node]) for each in (part, one, other))
                    if 1 << end in (one, other):
                        here_m += self._turned_m(end, node, part, one if other == 1 << end else other)
                    else:
                        here_m += float(self._tee_m[node])
                    found.append(here_m)
        return min(found)

    def _turned_m(self, end: int, node: int, one: int, other: int) -> float:
        """What passing an end adds to two trenches there, which join some terminals each, for turning."""
        if other & (other - 1):
            one, other = other, one
        if other & (other - 1):
            return 0.0
        beyond = other.bit_length() - 1
        if one & (one - 1):
            lengths_m = self._branch[one] + self._link[:, node]
            return float((lengths_m + self._turning_m(end, node, beyond)).min() - lengths_m.min())
        start = self._cells.node_of.get(one.bit_length() - 1)
        return 0.0 if start is None else float(self._turning_m(end, node, beyond)[start])

    def _has(self, terminals: int) -> bool:
        return terminals in self._part

    def _links_m(self) -> Floats:
        """Least length of a trench between two corners, errors at both taken off."""
        cells = self._cells
        apart_m = np.hypot(*(cells.at[:, None] - cells.at[None]).transpose(2, 0, 1))
        clear_m = np.maximum(apart_m - 2 * (cells.radius_m[:, None] + cells.radius_m[None]), 0.0)
        for way_m in cells.way_m:
            apart_m = np.maximum(apart_m, np.abs(way_m[:, None] - way_m[None]))
        error_m = _error_m(cells.radius_m[:, None], np.minimum(clear_m, cells.clear_m[:, None]))
        links_m: Floats = np.maximum(apart_m - error_m - error_m.T, 0.0)
        for terminal, node in cells.node_of.items():
            links_m[:, node] = links_m[node] = np.maximum(links_m[node], self._part[1 << terminal])
        return links_m


def _far_apart(places: Sequence[Goal]) -> list[Goal]:
    """Return the start and no more ends than are joined, each the farthest from those before it."""
    chosen, left = [places[0]], list(places[1:])
    while left and len(chosen) < MOST_TERMINALS:
        chosen.append(max(left, key=lambda place: min(place.distance(other) for other in chosen)))
        left.remove(chosen[-1])
    return chosen


def deflections(headings: Floats, at: Floats, goal: Goal) -> Floats:
    """Return the least angles [radians] between headings, (n,), at a place and the directions from there to a goal.

    Examples
    --------
    Coming from the west, to a wall that lies north-east and north.

    >>> wall = shapely.MultiLineString([[(3.0, 3.0), (0.0, 3.0)]])
    >>> float(np.degrees(deflections(np.array([0.0]), np.zeros(2), wall)[0]).round(6))
    45.0
    """
    lines = [shapely.get_coordinates(part) for part in shapely.get_parts(goal)]
    pieces = [
        np.array(piece)
        for line in lines
        for piece in (zip(line, line, strict=True) if len(line) == 1 else pairwise(line))
    ]
    least = np.full(len(headings), np.pi)
    for piece in pieces:
        (x, y), (other_x, other_y) = piece - at
        first, span = np.arctan2(y, x), np.arctan2(x * other_y - y * other_x, x * other_x + y * other_y)
        if max(np.hypot(x, y), np.hypot(other_x, other_y)) < _AT_M or abs(span) > np.pi - 1e-6:
            return np.zeros(len(headings))
        middle = first + span / 2
        off = np.abs(np.remainder(headings - middle + np.pi, 2 * np.pi) - np.pi)
        np.minimum(least, np.maximum(off - abs(span) / 2, 0.0), out=least)
    return least


def _error_m(radius_m: Floats, clear_m: Floats) -> Floats:
    """By how much a shortest way from inside a cell may be less than the mean over its corners."""
    error: Floats = np.minimum(radius_m, radius_m**2 / (2 * np.maximum(clear_m, 1e-12)))
    return error


def _parts(terminals: int) -> Iterator[int]:
    """Give the parts of a set of terminals but none, itself first."""
    part = terminals
    while part:
        yield part
        part = (part - 1) & terminals
