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
from siteplan.route.proof.charges import CORE, OUTSIDE, RING, Charges
from siteplan.route.proof.convex import blockers_of

Floats = NDArray[np.float64]

_FIRST = 1 / 10
_SHRINK = 0.5**0.5
_KEY_M = 1e-7
_INWARD_M = 2e-5
_ROUNDING_M = 1e-5


class Cells:
    """Triangles of free ground, and the shortest ways from their corners to the terminals."""

    def __init__(
        self,
        ground: FreeGround,
        places: Sequence[Goal],
        threshold_m: float,
        charges: Charges | None,
        metre: float,
    ) -> None:
        self.places, self._threshold_m = tuple(places), threshold_m
        triangles = _cut(ground, charges) if charges else ground.triangles
        if not len(triangles):
            triangles, charges = ground.triangles, None
        self._charges, self._metre = charges, metre
        self._ways = AllWays(ground, places, charges, metre)
        closed = charges.closed() if charges and len(places) > 3 and not charges.axes.is_empty else None
        self._closed = self._ways.charged(closed) if closed else None
        self._apart_m = self._between_terminals_m()
        self._known: dict[tuple[object, ...], Floats] = {}
        self._bends = shapely.STRtree(shapely.points(self._ways.bends))
        self._blockers = shapely.STRtree(
            shapely.buffer([shapely.Polygon(piece) for piece in blockers_of(ground.area)], -_ROUNDING_M)
        )
        self._points = {
            n: (place.x, place.y) for n, place in enumerate(self.places) if isinstance(place, Point)
        }
        corners = shapely.get_coordinates(triangles).reshape(-1, 4, 2)[:, :3]
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
        corners = self._inside(self._corners).reshape(-1, 2)
        terminals = np.array(list(self._points.values())).reshape(-1, 2)
        keys = np.round(np.vstack([terminals, corners]) / _KEY_M).astype(np.int64)
        keys = np.column_stack([np.repeat([1, 0], [len(terminals), len(corners)]), keys])
        _, first, spot = np.unique(keys, axis=0, return_index=True, return_inverse=True)
        self.at = np.vstack([terminals, corners])[first]
        spot = spot.ravel()
        self.node_of = {n: int(spot[k]) for k, n in enumerate(self._points)}
        spot = spot[len(terminals) :]
        self.cell = spot.reshape(-1, 3)
        radius_m = np.repeat(self._radius_m(self._corners), 3)
        self.radius_m, self.clear_m = np.zeros(len(self.at)), np.full(len(self.at), np.inf)
        np.maximum.at(self.radius_m, spot, radius_m)
        np.minimum.at(self.clear_m, spot, np.repeat(self._to_bend_m(), 3))
        points = shapely.points(self.at)
        self.away_m = np.array([shapely.distance(place, points) for place in self.places])
        self.ring_m, self.edge_m = np.zeros(len(self.at)), np.zeros(len(self.at))
        self.states = np.zeros((len(self.at), 0), np.int8)
        if self._charges:
            triangles = shapely.polygons(self._corners)
            self.states = self._charges.states(points)
            around = np.repeat(self._charges.states(triangles), 3, axis=0)
            for whole in (OUTSIDE, CORE):
                differs = np.zeros(self.states.shape, bool)
                np.logical_or.at(differs, spot, around != whole)
                self.states[differs & (self.states == whole)] = RING
            self.ring_m = self._charges.in_rings(self.states) / self._metre
            edge_m = self._charges.at_edge(triangles) / self._metre
            np.maximum.at(self.edge_m, spot, np.repeat(edge_m, 3))
        names = [
            (*key, state.tobytes()) for key, state in zip(keys[first].tolist(), self.states, strict=True)
        ]
        new = [number for number, name in enumerate(names) if name not in self._known]
        found_m = self._ways.lengths_m(self.at[new], self.states[new])
        closed_m = self._closed.lengths_m(self.at[new], self.states[new]) if self._closed else found_m
        for number, ways_m in zip(new, np.vstack([found_m, closed_m]).T, strict=True):
            self._known[names[number]] = ways_m
        known_m = np.array([self._known[name] for name in names]).reshape(-1, 2 * len(self.places)).T
        self.way_m, self.closed_m = known_m[: len(self.places)], known_m[len(self.places) :]
        lost = np.unique(self.cell[np.isfinite(self.way_m).all(axis=0)[self.cell].any(axis=1)])
        for ways_m in (self.way_m, self.closed_m):
            ways_m[:, lost] = np.where(np.isfinite(ways_m[:, lost]), ways_m[:, lost], self.away_m[:, lost])
        radius_m = self._radius_m(self._corners)
        longest_m = self.way_m[:, self.cell].max(axis=2, initial=0.0) + 4 * radius_m
        bend_m = self._ways.to_bend_m(self._corners, longest_m) - radius_m
        self.bend_m = np.full(self.way_m.shape, np.inf)
        for known, to_bend_m in zip(self.bend_m, bend_m, strict=True):
            np.minimum.at(known, spot, np.repeat(np.maximum(to_bend_m, 0.0), 3))
        self.crossing_m = (
            self._charges.crossing(self.states) / self._metre if self._closed and self._charges else None
        )
        self.straight_m = np.array([self._straight_m(number) for number in range(len(self.places))])

    def _inside(self, corners: Floats) -> Floats:
        """Draw the corners of cells that lie on axes a little in."""
        if not self._charges:
            return corners
        on_axis = shapely.dwithin(self._charges.axes, shapely.points(corners), _INWARD_M / 2)
        way = corners.mean(axis=1, keepdims=True) - corners
        inward = way / np.maximum(np.hypot(*way.transpose(2, 0, 1)), 1e-12)[:, :, None]
        drawn: Floats = corners + np.where(on_axis[:, :, None], _INWARD_M * inward, 0.0)
        return drawn

    def _straight_m(self, terminal: int) -> Floats:
        """Length of straight ways to a terminal, what all of them from the cells round a corner pay included."""
        straight_m: Floats = self.away_m[terminal].copy()
        if terminal not in self._points:
            return straight_m
        goal = np.array(self._points[terminal])
        lines = shapely.linestrings(np.stack([self.at, np.repeat(goal[None], len(self.at), axis=0)], axis=1))
        stopped = np.zeros((len(self.at), len(self._blockers)), bool)
        stopped[tuple(self._blockers.query(lines, predicate="intersects"))] = True
        paid_m = np.zeros((len(self.at), 0))
        if self._charges:
            there = self._charges.states(np.array([self.places[terminal]]))[0]
            paid_m = self._charges.by_obstacle(self.at, self.states, goal, there) / self._metre
        alone = np.repeat(np.array(list(self.node_of.values()), np.int64)[:, None], 3, axis=1)
        cell = np.vstack([self.cell, alone])
        shut = np.any(stopped[cell].all(axis=1), axis=1)
        paid_by_all_m = np.where(shut, np.inf, paid_m[cell].min(axis=1).sum(axis=1))
        more_m = np.full(len(self.at), np.inf)
        np.minimum.at(more_m, cell.ravel(), np.repeat(paid_by_all_m, 3))
        straight_m += more_m
        return straight_m

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


def _cut(ground: FreeGround, charges: Charges) -> NDArray[np.object_]:
    """Cut ground into triangles with the axes along their sides; none if they would not fill it."""
    lines = shapely.union_all([ground.area.boundary, charges.axes])
    faces = shapely.get_parts(shapely.polygonize(shapely.get_parts(lines)))
    cut = [
        shapely.get_parts(shapely.constrained_delaunay_triangles(face))
        for face in faces[shapely.intersects(ground.area, shapely.point_on_surface(faces))]
    ]
    wide = ground.area.buffer(_ROUNDING_M)
    shapely.prepare(wide)
    triangles: NDArray[np.object_] = np.concatenate([np.empty(0, object), *cut])
    triangles = triangles[shapely.covers(wide, triangles)]
    fills = abs(shapely.area(triangles).sum() - ground.area.area) < _ROUNDING_M * ground.area.length
    return triangles if fills else triangles[:0]


def _bisected(corners: Floats) -> Floats:
    """Cut triangles in two across their longest sides."""
    length_m = np.hypot(*(np.roll(corners, -1, axis=1) - corners).transpose(2, 0, 1))
    turn = (length_m.argmax(axis=1)[:, None] + np.arange(3)) % 3
    a, b, c = np.take_along_axis(corners, turn[:, :, None], axis=1).transpose(1, 0, 2)
    middle = (a + b) / 2
    return np.concatenate([np.stack([a, middle, c], axis=1), np.stack([middle, b, c], axis=1)])
