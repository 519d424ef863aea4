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
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise, permutations

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Point

from siteplan.route.between import Goal
from siteplan.route.bound import least_m
from siteplan.route.mesh import FreeGround
from siteplan.route.proof.all_ways import AllWays

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

MOST_TERMINALS = 7
"""Start and ends together, 966 ways of joining sets of them; of more, those that lie farthest apart are joined."""

MOST_CORNERS = 400
"""Corners of cells that are looked at more closely; where they are more, less is asked for."""

LEVELS = 14

_FIRST = 1 / 10
_BESIDE_M = 1e-4
_LESS = 0.995
_SHRINK = 0.5**0.5
_KEY_M = 1e-7


def least_tree_m(
    ground: FreeGround,
    places: Sequence[Goal],
    *,
    best_m: float,
    wanted: float,
    tee_m: float = 0.0,
    bend_m: float = 0.0,
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
        What a bend costs at least. One is counted for each way to a point, or between branching places, that cannot be straight.

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
    places = _far_apart(places)
    threshold_m, proven_m = (1.0 - wanted) * best_m, 0.0
    cells = _Cells(ground, places, threshold_m)
    for _ in range(LEVELS):
        joined = _Joined(cells, tee_m, bend_m)
        while np.count_nonzero(joined.through_m < threshold_m) > MOST_CORNERS:
            threshold_m *= _LESS
        proven_m = max(proven_m, min(threshold_m, joined.least_m))
        if proven_m >= threshold_m:
            break
        cells.refine(joined.through_m < threshold_m)
    return proven_m


class _Cells:
    """Triangles of free ground, and the shortest ways from their corners to the terminals."""

    def __init__(self, ground: FreeGround, places: Sequence[Goal], threshold_m: float) -> None:
        self.places, self._threshold_m = tuple(places), threshold_m
        self.between_m = [0.0, *(least_m(ground, places[0], [end]) for end in places[1:])]
        self._ways = AllWays(ground, places)
        self._apart_m = self._between_terminals_m()
        self._known: dict[tuple[int, int], Floats] = {}
        bends = np.array(ground.mesh.before) >= 0
        self._bends = shapely.STRtree(ground.corners[bends])
        corners = shapely.get_coordinates(ground.triangles).reshape(-1, 4, 2)[:, :3]
        extent_m = max(np.ptp(shapely.get_coordinates(shapely.geometrycollections(self.places)), axis=0))
        self._largest_m = _FIRST * float(extent_m)
        self._take(corners)

    def refine(self, alive: NDArray[np.bool_]) -> None:
        """Drop the cells none of whose corners is alive, and cut the larger of the others."""
        self._largest_m *= _SHRINK
        self._take(self._corners[alive[self.cell].any(axis=1)])

    def _take(self, corners: Floats) -> None:
        """Take cells, and cut those that are large."""
        self._corners = self._near(corners)
        while len(large := np.flatnonzero(self._radius_m(self._corners) > self._largest_m)):
            whole = np.setdiff1d(np.arange(len(self._corners)), large)
            self._corners = np.vstack([self._corners[whole], self._near(_bisected(self._corners[large]))])
        self._measure()

    def _between_terminals_m(self) -> Floats:
        """Lengths between terminals: from points exact, else straight; through a start with walls at no length."""
        apart_m = shapely.distance(np.array(self.places)[:, None], np.array(self.places)[None])
        for number, place in enumerate(self.places):
            if isinstance(place, Point):
                ways_m = self._ways.lengths_m(np.array([[place.x, place.y]]))[:, 0]
                apart_m[number] = apart_m[:, number] = ways_m
        if not isinstance(self.places[0], Point):
            apart_m = np.minimum(apart_m, apart_m[0][:, None] + apart_m[0][None])
        straight_m: Floats = apart_m
        return straight_m

    def _near(self, corners: Floats) -> Floats:
        """Leave out the cells that lie too far off: half the least round trip through them is too long."""
        middle, radius_m = corners.mean(axis=1), self._radius_m(corners)
        points = shapely.points(middle)
        away_m = np.array([shapely.distance(place, points) for place in self.places])
        near: Floats = corners[self._round_trip_m(away_m) / 2 - 2 * radius_m < self._threshold_m]
        return near

    def _round_trip_m(self, away_m: Floats) -> Floats:
        """Length of the least round trip over all terminals and some places between them, at least."""
        first, *others = range(len(self.places))
        least_m = np.full(away_m.shape[1], np.inf)
        for order in permutations(others):
            legs = list(pairwise((first, *order, first)))
            whole_m = sum(self._apart_m[i, j] for i, j in legs)
            for i, j in legs:
                detour_m = away_m[i] + away_m[j] - self._apart_m[i, j]
                np.minimum(least_m, whole_m + np.maximum(detour_m, 0.0), out=least_m)
        return least_m

    def _measure(self) -> None:
        """Find the corners that cells share, how large the cells round them are, and all ways from them."""
        keys = np.round(self._corners.reshape(-1, 2) / _KEY_M).astype(np.int64)
        found, first, spot = np.unique(keys, axis=0, return_index=True, return_inverse=True)
        self.at = self._corners.reshape(-1, 2)[first]
        self.cell = spot.reshape(-1, 3)
        radius_m = np.repeat(self._radius_m(self._corners), 3)
        self.radius_m, self.clear_m = np.zeros(len(self.at)), np.full(len(self.at), np.inf)
        np.maximum.at(self.radius_m, spot.ravel(), radius_m)
        np.minimum.at(self.clear_m, spot.ravel(), np.repeat(self._to_bend_m(), 3))
        names = [(int(x), int(y)) for x, y in found]
        new = [number for number, name in enumerate(names) if name not in self._known]
        for number, ways_m in zip(new, self._ways.lengths_m(self.at[new]).T, strict=True):
            self._known[names[number]] = ways_m
        self.way_m = np.array([self._known[name] for name in names]).reshape(-1, len(self.places)).T
        points = shapely.points(self.at)
        self.away_m = np.array([shapely.distance(place, points) for place in self.places])

    def _to_bend_m(self) -> Floats:
        """Distance from each cell to the nearest bend of the ground."""
        triangles = shapely.polygons(self._corners)
        if not len(self._bends):
            return np.full(len(triangles), np.inf)
        (cell, _), distance_m = self._bends.query_nearest(triangles, all_matches=False, return_distance=True)
        found = np.full(len(triangles), np.inf)
        found[cell] = distance_m
        return found

    @staticmethod
    def _radius_m(corners: Floats) -> Floats:
        """Radius of the smallest circle round each triangle."""
        sides = np.sort(np.hypot(*(np.roll(corners, -1, axis=1) - corners).transpose(2, 0, 1)), axis=1)
        a, b, c = sides.T
        half = (a + b + c) / 2
        area = np.sqrt(np.maximum(half * (half - a) * (half - b) * (half - c), 0.0))
        blunt = a * a + b * b <= c * c
        radius: Floats = np.where(blunt, c / 2, a * b * c / np.maximum(4 * area, 1e-300))
        return radius


class _Joined:
    """What trees over the corners of cells come to, errors taken off.

    Sets of terminals are bit masks, the start being bit 0. ``_part[s]`` holds, by corner, the least length of a tree that
    joins the terminals of s with that corner by one trench there.
    """

    def __init__(self, cells: _Cells, tee_m: float, bend_m: float) -> None:
        self._cells, self._bend_m = cells, bend_m
        self._tee_m = np.where((cells.away_m <= 2 * cells.radius_m).any(axis=0), 0.0, tee_m)
        self._all = (1 << len(cells.places)) - 1
        self._link = self._links_m() if len(cells.places) > 3 else np.zeros((0, 0))
        self._part: dict[int, Floats] = {}
        self._branch: dict[int, Floats] = {}
        for terminal in range(len(cells.places)):
            clear_m = np.minimum(cells.clear_m, cells.away_m[terminal] - 2 * cells.radius_m)
            part_m = cells.way_m[terminal] - _error_m(cells.radius_m, clear_m)
            if isinstance(cells.places[terminal], Point):
                round_m = cells.way_m[terminal] - cells.away_m[terminal]
                part_m = part_m + np.where(round_m > _BESIDE_M + 4 * cells.radius_m, bend_m, 0.0)
            self._part[1 << terminal] = part_m
        for terminals in range(1, self._all):
            if terminals & (terminals - 1):
                self._branch[terminals] = self._branched(terminals)
                if terminals.bit_count() <= len(cells.places) - 2:
                    self._part[terminals] = (self._branch[terminals][:, None] + self._link).min(
                        axis=0, initial=np.inf
                    )
        self._join()

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
            self._part[part] + self._part[terminals ^ part]
            for part in _parts(terminals)
            if part & first and part != terminals and self._has(part) and self._has(terminals ^ part)
        ]
        branched: Floats = np.min(sums, axis=0) + self._tee_m
        return branched

    def _through(self, terminals: int) -> Floats:
        """Least length, by corner, of three trees to it that join some terminals between them, the start among them."""
        sums = [
            self._part[part] + self._branch[terminals ^ part]
            for part in _parts(terminals)
            if part & 1 and self._has(part) and (terminals ^ part) in self._branch
        ]
        through: Floats = np.min(sums, axis=0)
        return through

    def _has(self, terminals: int) -> bool:
        return terminals in self._part

    def _links_m(self) -> Floats:
        """Least length of a trench between two corners, errors at both taken off."""
        cells = self._cells
        apart_m = np.hypot(*(cells.at[:, None] - cells.at[None]).transpose(2, 0, 1))
        clear_m = np.maximum(apart_m - 2 * (cells.radius_m[:, None] + cells.radius_m[None]), 0.0)
        straight_m = apart_m
        for way_m in cells.way_m:
            apart_m = np.maximum(apart_m, np.abs(way_m[:, None] - way_m[None]))
        error_m = _error_m(cells.radius_m[:, None], np.minimum(clear_m, cells.clear_m[:, None]))
        round_m = apart_m - straight_m - 4 * (cells.radius_m[:, None] + cells.radius_m[None])
        bends_m = np.where(round_m > _BESIDE_M, self._bend_m, 0.0)
        links_m: Floats = np.maximum(apart_m - error_m - error_m.T, 0.0) + bends_m
        return links_m


def _far_apart(places: Sequence[Goal]) -> list[Goal]:
    """Return the start and no more ends than are joined, each the farthest from those before it."""
    chosen, left = [places[0]], list(places[1:])
    while left and len(chosen) < MOST_TERMINALS:
        chosen.append(max(left, key=lambda place: min(place.distance(other) for other in chosen)))
        left.remove(chosen[-1])
    return chosen


def _error_m(radius_m: Floats, clear_m: Floats) -> Floats:
    """By how much a shortest way from inside a cell may be less than the mean over its corners."""
    error: Floats = np.minimum(radius_m, radius_m**2 / (2 * np.maximum(clear_m, 1e-12)))
    return error


def _bisected(corners: Floats) -> Floats:
    """Cut triangles in two across their longest sides."""
    length_m = np.hypot(*(np.roll(corners, -1, axis=1) - corners).transpose(2, 0, 1))
    turn = (length_m.argmax(axis=1)[:, None] + np.arange(3)) % 3
    a, b, c = np.take_along_axis(corners, turn[:, :, None], axis=1).transpose(1, 0, 2)
    middle = (a + b) / 2
    return np.concatenate([np.stack([a, middle, c], axis=1), np.stack([middle, b, c], axis=1)])


def _parts(terminals: int) -> Iterator[int]:
    """Give the parts of a set of terminals but none, itself first."""
    part = terminals
    while part:
        yield part
        part = (part - 1) & terminals
