"""Which straight ways between two cells must pay for crossing a line in the ground.

*Proof.* Between two turns in one region a trench may be pulled taut without a change of what it goes round. Take the ends of an
axis, where they lie in the region, for places that it may go round: they are cells of their own. The taut pieces between
cells are straight, and a trench that is pulled taut crosses an axis as often as before or an even number of times less. So
if every straight way between two cells crosses an axis an odd number of times, the trench crosses it there at least once.
Whether the number is odd is the same for all ways between two cells that do not touch the axis themselves, if no end of
the axis lies in their hull: as a way is moved, crossings come and go in pairs. Where an axis crosses an edge, the edge is cut
into two cells that do not share a node, and so is every node on an axis: going on from one side to the other costs the
toll.

An axis is followed a little way out of the free ground. No way goes there; but where the hull of two cells reaches into an
obstacle, the end of the axis should not lie in it.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import shapely
from numpy.typing import NDArray

from siteplan.route.proof.convex import Floats
from siteplan.route.proof.regions import NEAR_M, axes_of
from siteplan.route.proof.sightlines import Ints
from siteplan.route.scene import Scene

Flags = NDArray[np.bool_]

_ON_LINE_M = 1e-9
_BEYOND_M = 0.5


class Tolls:
    """The lines in the ground whose crossing costs something.

    Attributes
    ----------
    pieces : ndarray
        Straight pieces of all axes as far as they lie in free ground or 0.5 m beyond, (s, 2, 2), metres.
    axis : ndarray of int
        Which unbroken part of an axis each piece belongs to.
    toll : ndarray
        Price of crossing it.
    ends : ndarray
        The places in free ground where an axis ends, (n, 2).
    """

    def __init__(self, scene: Scene) -> None:
        pieces, axis, toll, ends = [], [], [], []
        ground = scene.free.buffer(_BEYOND_M)
        axes = [
            (part, crossed.toll.price)
            for crossed in scene.crossed
            if crossed.toll.price > 0.0
            for line in axes_of(crossed)
            for part in shapely.get_parts(line.intersection(ground))
            if part.geom_type == "LineString" and part.length > 0.0
        ]
        for number, (line, price) in enumerate(axes):
            places = shapely.get_coordinates(line)
            pieces += list(pairwise(places))
            axis += [number] * (len(places) - 1)
            toll += [price] * (len(places) - 1)
            if not line.is_ring:
                ends += [
                    end for end in (places[0], places[-1]) if scene.free.distance(shapely.Point(end)) < NEAR_M
                ]
        self.pieces: Floats = np.array(pieces, float).reshape(-1, 2, 2)
        self.axis: Ints = np.array(axis, np.int64)
        self.toll: Floats = np.array(toll, float)
        self._lines = shapely.linestrings(self.pieces)
        self.ends: Floats = np.array(ends, float).reshape(-1, 2)

    def cuts(self, tail: Floats, head: Floats) -> list[tuple[float, float]]:
        """Return where axes cross a segment, as shares of its length clear of its ends, and their tolls."""
        ends = np.repeat(np.stack([tail, head])[None], len(self.pieces), axis=0)
        hit = np.flatnonzero(_cross(ends[:, 0], ends[:, 1], self.pieces[:, 0], self.pieces[:, 1]))
        way = head - tail
        slack = 5 * NEAR_M / max(float(np.hypot(*way)), NEAR_M)
        found: list[tuple[float, float]] = []
        for piece in hit:
            along = self.pieces[piece, 1] - self.pieces[piece, 0]
            from_tail = self.pieces[piece, 0] - tail
            share = float(_turn(from_tail, along) / _turn(way, along))
            if slack < share < 1 - slack:
                found.append((share, float(self.toll[piece])))
        kept: list[tuple[float, float]] = []
        for share, toll in sorted(found):
            if not kept or share - kept[-1][0] > slack:
                kept.append((share, toll))
        return kept

    def on_ways(self, tails: Floats, heads: Floats) -> Floats:
        """Return the sum of the tolls for crossing the axes straight from place to place, (n, 2) each."""
        paid = np.zeros(len(tails))
        for (tail, head), toll in zip(self.pieces, self.toll, strict=True):
            paid += toll * _cross(tails, heads, tail, head)
        return paid

    def between(self, ends: Floats) -> Floats:
        """Return the sum of the tolls that every way between two cells must pay.

        Parameters
        ----------
        ends : ndarray
            (n, 4, 2): both ends of the one cell, then both ends of the other.
        """
        paid = np.zeros(len(ends))
        middles = ends[:, :2].mean(axis=1), ends[:, 2:].mean(axis=1)
        for number in np.unique(self.axis):
            mine = self.axis == number
            pieces = self.pieces[mine]
            times = sum(_cross(*middles, tail, head).astype(int) for tail, head in pieces)
            odd = np.flatnonzero(np.asarray(times) % 2 == 1)
            for tail, head in pieces:
                for cell in (0, 2):
                    odd = odd[~_may_touch(ends[odd, cell], ends[odd, cell + 1], tail, head)]
            if (pieces[0, 0] != pieces[-1, 1]).any():
                for place in (pieces[0, 0], pieces[-1, 1]):
                    odd = odd[~_in_hull(ends[odd], place)]
            paid[odd] += self.toll[mine][0]
        return paid

    def passing(self, places: Floats) -> dict[int, tuple[Floats, Floats, float]]:
        """Return which places lie on just one axis and not at its end: its way in, its way out, its toll."""
        found: dict[int, tuple[Floats, Floats, float]] = {}
        for number, place in enumerate(places):
            on = np.flatnonzero(shapely.distance(self._lines, shapely.Point(place)) < NEAR_M)
            ended = len(self.ends) and np.hypot(*(self.ends - place).T).min() < NEAR_M
            if len(on) in (1, 2) and not ended and (self.axis[on] == self.axis[on[0]]).all():
                ways = self.pieces[on, 1] - self.pieces[on, 0]
                ways /= np.hypot(*ways.T)[:, None]
                found[number] = ways[0], ways[-1], float(self.toll[on[0]])
        return found


def _turn(one: Floats, other: Floats) -> Floats:
    """Cross product, positive where the second turns left of the first."""
    turned: Floats = one[..., 0] * other[..., 1] - one[..., 1] * other[..., 0]
    return turned


def _cross(a: Floats, b: Floats, c: Floats, d: Floats) -> Flags:
    """Tell whether the segments ab and cd cross inside both of them."""
    of_cd = _turn(d - c, a - c) * _turn(d - c, b - c)
    of_ab = _turn(b - a, c - a) * _turn(b - a, d - a)
    crossing: Flags = (of_cd < 0.0) & (of_ab < 0.0)
    return crossing


def _may_touch(a: Floats, b: Floats, c: Floats, d: Floats) -> Flags:
    """Tell whether the segments ab and cd may touch."""
    beside = _turn(d - c, a - c) * _turn(d - c, b - c) > 0.0
    beyond = _turn(b - a, c - a) * _turn(b - a, d - a) > 0.0
    touching: Flags = ~(beside | beyond)
    return touching


def _in_hull(ends: Floats, place: Floats) -> Flags:
    """Tell whether a place lies in or on the hull of some cells, (n, 4, 2)."""
    inside = np.zeros(len(ends), bool)
    for corners in ((0, 1, 2), (0, 1, 3), (0, 2, 3), (1, 2, 3)):
        a, b, c = (ends[:, k] for k in corners)
        turns = np.stack([_turn(b - a, place - a), _turn(c - b, place - b), _turn(a - c, place - c)])
        inside |= (turns >= -_ON_LINE_M).all(axis=0) | (turns <= _ON_LINE_M).all(axis=0)
    return inside


def side_of(way_in: Floats, way_out: Floats, way: Floats) -> int:
    """Tell on which side of an axis, with its ways in and out at a place, a way leaves it: 1 left, -1 right, 0 along it."""
    of_in, of_out = float(_turn(way_in, way)), float(_turn(way_out, way))
    if min(abs(of_in), abs(of_out)) < _ON_LINE_M * float(np.hypot(*way)):
        return 0
    left = (of_in > 0.0, of_out > 0.0)
    return 1 if (all(left) if _turn(way_in, way_out) >= 0.0 else any(left)) else -1
