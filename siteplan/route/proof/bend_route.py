"""A cheap trench along given corners, its bends then slid: only where every metre costs the same, tolls apart.

The price it is found by is the scene's, but never too low: a straight piece is also refused where only its
distance from the axis, not the piece of the axis beside it, says that it lies too flat in a zone.
"""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import scipy.sparse
import shapely
from numpy.typing import NDArray
from scipy.sparse.csgraph import dijkstra
from shapely import LineString
from shapely.geometry.base import BaseGeometry

from siteplan.route.proof.places import Places
from siteplan.route.proof.sightlines import Floats, Ints
from siteplan.route.proof.straight import Axis, axes_of
from siteplan.route.scene import Scene

_OFF_M = 1e-6
_ON_AXIS_M = 1e-5
_STEP_M = 2.0
_PROMISING = 1.005
_WORTH = 1e-5
_LAST_STEP_M = 2e-3
_ROUND = np.array([(math.cos(k * math.pi / 4), math.sin(k * math.pi / 4)) for k in range(8)])

Flags = NDArray[np.bool_]


class BendRoutes:
    """The cheapest trench found so far.

    Parameters
    ----------
    scene : Scene
        Without patches.
    ground : shapely geometry
        Where the trench may lie.
    corners : ndarray of int
        The places of its corners.
    """

    def __init__(self, scene: Scene, ground: BaseGeometry, corners: Ints) -> None:
        self._scene = scene
        self._wide = ground.buffer(_OFF_M)
        shapely.prepare(self._wide)
        self._axes = axes_of(scene)
        self._beside = [_beside(axis) for axis in self._axes]
        self._corners = corners
        self._price = math.inf
        self._at: Floats | None = None

    @property
    def line(self) -> LineString | None:
        """The trench, if there is one."""
        return None if self._at is None else LineString(self._at)

    def first(self, places: Places, start: Ints, goal: Ints) -> float:
        """Look along the corners of the ground; return the price of the cheapest trench so far."""
        ids = np.unique(np.concatenate([start.reshape(-1), goal.reshape(-1), self._corners]))
        one, other = (ids[ends] for ends in np.triu_indices(len(ids), 1))
        seen = places.sees(one, other)
        return self.along(places, one[seen], other[seen], start, goal)

    def along(self, places: Places, one: Ints, other: Ints, start: Ints, goal: Ints) -> float:
        """Look along straight pieces in sight; return the price of the cheapest trench so far."""
        count = len(places.at)
        keys = np.unique(np.minimum(one, other) * count + np.maximum(one, other))
        one, other = keys // count, keys % count
        from_, to = np.unique(start), np.unique(goal)
        ends = np.union1d(from_, to)
        spared = np.zeros((len(self._axes), count), bool)
        spared[:, ends] = self._in_zone(places.at[ends])
        price = self._pieces(places.at[one], places.at[other], spared[:, one] | spared[:, other])
        price += self._scene.bend_price
        laid = np.isfinite(price) & (one != other)
        rows = np.concatenate([one[laid], np.full(len(from_), count), to])
        columns = np.concatenate([other[laid], from_, np.full(len(to), count + 1)])
        prices = np.concatenate([price[laid], np.full(len(from_) + len(to), 1e-9)])
        graph = scipy.sparse.csr_matrix((prices, (rows, columns)), shape=(count + 2,) * 2)
        total, before = dijkstra(graph, directed=False, indices=count, return_predecessors=True)
        if total[count + 1] - self._scene.bend_price < _PROMISING * self._price:
            trail = [int(before[count + 1])]
            while before[trail[-1]] != count:
                trail.append(int(before[trail[-1]]))
            self._slide(places.at[trail[::-1]])
        return self._price

    def _in_zone(self, ends: Floats) -> Flags:
        """Tell by axis which ends (n, 2) of a trench lie in its zone: (axes, n)."""
        points = shapely.points(ends)
        near = [shapely.distance(axis.crossed.zone, points) <= _OFF_M for axis in self._axes]
        return np.array(near, bool).reshape(len(self._axes), len(ends))

    def _pieces(self, start: Floats, end: Floats, spared: Flags) -> Floats:
        """Return the prices of straight pieces, bends apart; infinite where one may not be laid or may touch an axis.

        ``spared`` (axes, n) tells for which the least angle does not matter.
        """
        way = end - start
        length_m = np.hypot(*way.T)
        price: Floats = self._scene.plain * length_m
        for axis, beside, free in zip(self._axes, self._beside, spared, strict=True):
            crosses, touches = _met(axis.at, start, end)
            price += axis.toll * crosses
            price[touches] = np.inf
            for zone, along in beside:
                cosine = np.abs(way @ along) / np.maximum(length_m, 1e-12)
                flat = np.flatnonzero((cosine > axis.flattest - 2e-9) & np.isfinite(price) & ~free)
                if len(flat):
                    lines = shapely.linestrings(np.stack([start[flat], end[flat]], axis=1))
                    price[flat[shapely.intersects(zone, lines)]] = np.inf
        return price

    def _cost(self, at: Floats, in_zone: Flags, most: float = math.inf) -> float:
        """Return the price of a whole trench, infinite if it may not be laid or is plainly above ``most``.

        ``in_zone`` (axes, 2) tells which of its ends lie in a zone.
        """
        way = np.diff(at, axis=0)
        length_m = np.hypot(*way.T)
        price = self._scene.plain * float(length_m.sum()) + self._scene.bend_price * (len(at) - 2)
        if price > most or length_m.min() < 1e-9 or not self._wide.covers(LineString(at)):
            return math.inf
        spared = np.zeros((len(self._axes), len(way)), bool)
        spared[:, 0] = in_zone[:, 0]
        spared[:, -1] |= in_zone[:, 1]
        price = float(self._pieces(at[:-1], at[1:], spared).sum())
        cross = way[:-1, 0] * way[1:, 1] - way[:-1, 1] * way[1:, 0]
        for turn in np.degrees(np.arctan2(cross, (way[:-1] * way[1:]).sum(axis=1))):
            charge = self._scene.bend_charge(float(turn))
            price += math.inf if charge is None else charge.price
        return price

    def _slide(self, at: Floats) -> None:
        """Leave out bends and move them while it pays; keep the trench if it is the cheapest so far."""
        in_zone = self._in_zone(at[[0, -1]])
        price = self._cost(at, in_zone)
        k = 1
        while k < len(at) - 1:
            fewer = np.delete(at, k, axis=0)
            cost = self._cost(fewer, in_zone, price)
            if cost <= price:
                at, price = fewer, cost
            else:
                k += 1
        step_m = _STEP_M
        while step_m > _LAST_STEP_M:
            better = False
            for k in range(1, len(at) - 1):
                for way in _ways(at, k):
                    moved = at.copy()
                    moved[k] += step_m * way
                    cost = self._cost(moved, in_zone, price)
                    if cost < price * (1.0 - _WORTH):
                        at, price, better = moved, cost, True
                        break
            if not better:
                step_m /= 3.0
        if price < self._price:
            self._at, self._price = at, price


def _ways(at: Floats, k: int) -> Floats:
    """Return the directions in which a bend is moved: along both its pieces, to the chord, and all round."""
    before, here, after = at[k - 1], at[k], at[k + 1]
    chord = after - before
    share = min(max(float((here - before) @ chord) / max(float(chord @ chord), 1e-12), 0.0), 1.0)
    ways = np.array([before + share * chord - here, before - here, after - here, here - before, here - after])
    ways = ways / np.maximum(np.linalg.norm(ways, axis=1), 1e-12)[:, None]
    return np.concatenate([ways, _ROUND])


def _met(axis: Floats, start: Floats, end: Floats) -> tuple[Floats, Flags]:
    """Return how often segments cross a polyline, never too seldom, and which end on it."""
    crosses, touches = np.zeros(len(start)), np.zeros(len(start), bool)
    for tail, head in pairwise(axis):
        x, y = (head - tail) / math.dist(tail, head)
        off = [x * (at[:, 1] - tail[1]) - y * (at[:, 0] - tail[0]) for at in (start, end)]
        along = [x * (at[:, 0] - tail[0]) + y * (at[:, 1] - tail[1]) for at in (start, end)]
        apart = off[0] - off[1]
        share = np.divide(off[0], apart, out=np.full(len(start), -1.0), where=apart != 0.0)
        spot = along[0] + share * (along[1] - along[0])
        reach = math.dist(tail, head)
        over = (off[0] >= 0.0) != (off[1] >= 0.0)
        crosses += over & (spot >= -_ON_AXIS_M) & (spot <= reach + _ON_AXIS_M)
        for side, ahead in zip(off, along, strict=True):
            touches |= (np.abs(side) < _ON_AXIS_M) & (ahead > -_ON_AXIS_M) & (ahead < reach + _ON_AXIS_M)
    return crosses, touches


def _beside(axis: Axis) -> list[tuple[BaseGeometry, Floats]]:
    """Return by piece of an axis with a least angle: the zone that may be beside it, and its direction."""
    if axis.flattest > 1.0:
        return []
    zone = axis.crossed.zone
    reach_m = float(shapely.hausdorff_distance(zone, LineString(axis.at))) + _OFF_M
    found = []
    for start, end in zip(axis.at[:-1], axis.at[1:], strict=True):
        near = zone.intersection(LineString([start, end]).buffer(reach_m)).buffer(-_OFF_M)
        shapely.prepare(near)
        found.append((near, (end - start) / math.dist(start, end)))
    return found
