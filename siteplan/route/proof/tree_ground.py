"""Cells of free ground that may hold a branching place of a tree, and the ways from their corners to the terminals."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise, permutations

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Point

from siteplan.route.between import Goal
from siteplan.route.bound import least_m
from siteplan.route.mesh import FreeGround
from siteplan.route.proof.all_ways import AllWays
from siteplan.route.proof.convex import blockers_of

Floats = NDArray[np.float64]

_FIRST = 1 / 10
_SHRINK = 0.5**0.5
_KEY_M = 1e-7
_ROUNDING_M = 1e-5


class Cells:
    """Triangles of free ground, and the shortest ways from their corners to the terminals."""

    def __init__(
        self, ground: FreeGround, places: Sequence[Goal], threshold_m: float, straight: frozenset[int]
    ) -> None:
        self.places, self._threshold_m, self._by_air = tuple(places), threshold_m, sorted(straight)
        self._ways = AllWays(ground, places)
        self._apart_m = self._between_terminals_m()
        self._known: dict[tuple[int, int], Floats] = {}
        self._bends = shapely.STRtree(shapely.points(self._ways.bends))
        blockers = shapely.buffer(
            [shapely.Polygon(piece) for piece in blockers_of(ground.area)], -_ROUNDING_M
        )
        self._blockers = shapely.STRtree(blockers[~shapely.is_empty(blockers)])
        self._points = {
            n: (place.x, place.y) for n, place in enumerate(self.places) if isinstance(place, Point)
        }
        corners = shapely.get_coordinates(ground.triangles).reshape(-1, 4, 2)[:, :3]
        extent_m = max(np.ptp(shapely.get_coordinates(shapely.geometrycollections(self.places)), axis=0))
        self._largest_m = _FIRST * float(extent_m)
        self._take(corners)
        self.between_m = [0.0, *self._from_start_m(ground)]

    @property
    def looked_at(self) -> int:
        """How many corners of cells ways were found from."""
        return len(self._known)

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
        for number in self._by_air:
            by_air_m = shapely.distance(self.places[number], np.array(self.places))
            apart_m[number] = apart_m[:, number] = by_air_m
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

    def _from_start_m(self, ground: FreeGround) -> list[float]:
        """Lengths of single ways from the start."""
        if 0 in self.node_of:
            return [float(ways_m[self.node_of[0]]) for ways_m in self.way_m[1:]]
        return [least_m(ground, self.places[0], [end]) for end in self.places[1:]]

    def _measure(self) -> None:
        """Find the corners that cells share, how large the cells round them are, and all ways from them.

        The terminals that are points are corners too, of no cell.
        """
        corners = self._corners.reshape(-1, 2)
        terminals = np.array(list(self._points.values())).reshape(-1, 2)
        keys = np.round(np.vstack([terminals, corners]) / _KEY_M).astype(np.int64)
        of_cell = np.repeat([0, 1], [len(terminals), len(corners)])
        found, first, spot = np.unique(
            np.column_stack([of_cell, keys]), axis=0, return_index=True, return_inverse=True
        )
        self.at = np.vstack([terminals, corners])[first]
        spot = spot.ravel()
        self.node_of = {n: int(spot[k]) for k, n in enumerate(self._points)}
        spot = spot[len(terminals) :]
        self.cell = spot.reshape(-1, 3)
        radius_m = self._radius_m(self._corners)
        self.radius_m = self._round_corners(radius_m, 0.0, np.maximum)
        self.clear_m = self._round_corners(self._to_bend_m(), np.inf, np.minimum)
        points = shapely.points(self.at)
        self.away_m = np.array([shapely.distance(place, points) for place in self.places])
        names = [(int(x), int(y)) for _, x, y in found]
        new = [number for number, name in enumerate(names) if name not in self._known]
        for number, ways_m in zip(new, self._ways.lengths_m(self.at[new]).T, strict=True):
            self._known[names[number]] = ways_m
        self.way_m = np.array([self._known[name] for name in names]).reshape(-1, len(self.places)).T
        self.way_m[self._by_air] = self.away_m[self._by_air]
        longest_m = self.way_m[:, self.cell].max(axis=2, initial=0.0) + 4 * radius_m
        to_bend_m = np.maximum(self._ways.to_bend_m(self._corners, longest_m) - radius_m, 0.0)
        self.bend_m = np.array([self._round_corners(each, np.inf, np.minimum) for each in to_bend_m])
        self.bend_m[self._by_air] = np.inf
        self.straight = np.array([self._straight(number) for number in range(len(self.places))])

    def _round_corners(self, of_cells: Floats, start: float, take: np.ufunc) -> Floats:
        """Return, by corner, the least or the largest of a value over the cells round it."""
        found = np.full(len(self.at), start)
        take.at(found, self.cell.ravel(), np.repeat(of_cells, 3))
        return found

    def _straight(self, terminal: int) -> NDArray[np.bool_]:
        """Tell from which corners a way to a terminal may be straight, from some place of a cell round it.

        If one convex blocker stops the straight ways from all corners of a cell, it stops those from all its places.
        """
        if terminal not in self._points or terminal in self._by_air:
            return np.ones(len(self.at), bool)
        goal = np.repeat(np.array([self._points[terminal]]), len(self.at), axis=0)
        lines = shapely.linestrings(np.stack([self.at, goal], axis=1))
        stopped = np.zeros((len(self.at), len(self._blockers)), bool)
        stopped[tuple(self._blockers.query(lines, predicate="intersects"))] = True
        open_ = ~np.any(stopped[self.cell].all(axis=1), axis=1)
        straight = np.zeros(len(self.at), bool)
        straight[self.cell[open_]] = True
        nodes = list(self.node_of.values())
        straight[nodes] = ~stopped[nodes].any(axis=1)
        return straight

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


def _bisected(corners: Floats) -> Floats:
    """Cut triangles in two across their longest sides."""
    length_m = np.hypot(*(np.roll(corners, -1, axis=1) - corners).transpose(2, 0, 1))
    turn = (length_m.argmax(axis=1)[:, None] + np.arange(3)) % 3
    a, b, c = np.take_along_axis(corners, turn[:, :, None], axis=1).transpose(1, 0, 2)
    middle = (a + b) / 2
    return np.concatenate([np.stack([a, middle, c], axis=1), np.stack([middle, b, c], axis=1)])
