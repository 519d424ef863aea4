"""Lengths of the shortest ways from many places of the free ground to a few goals, many at a time."""

from __future__ import annotations

from collections.abc import Sequence
from copy import copy
from itertools import pairwise

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import dijkstra
from shapely import Point

from siteplan.route.between import Goal
from siteplan.route.mesh import FreeGround
from siteplan.route.proof.charges import Charges, States

Floats = NDArray[np.float64]

_BESIDE_M = 1e-6
_BLOCK = 4


class AllWays:
    """Shortest ways to some goals.

    The shortest way from a place goes straight to a bend of the ground from which the way is known, or straight to the goal:
    to the nearest point of a wall, or an
    end of it; else it would end at the edge of what is in sight, and that is over a bend.
    These are tried in the order of what they promise, until one is in sight. Where straight pieces are charged, ways may turn
    at the nodes of the charges too, walls are taken in pieces along which the charges are the same, and ways are tried as
    long as they promise to be less.

    Parameters
    ----------
    ground : FreeGround
        Where ways may lie.
    goals : sequence of Point or MultiLineString
        Where they lead.
    charges : Charges or None
        What straight pieces are charged.
    metre : float
        The charge that counts as one metre.

    Attributes
    ----------
    bends : ndarray
        (n, 2): where ways may turn.
    """

    def __init__(
        self, ground: FreeGround, goals: Sequence[Goal], charges: Charges | None = None, metre: float = 1.0
    ) -> None:
        self._goals = tuple(goals)
        self._charges, self._metre = charges, metre
        self._area = ground.area.buffer(_BESIDE_M, join_style="mitre")
        shapely.prepare(self._area)
        bends = np.array(ground.mesh.before) >= 0
        self.bends = np.column_stack([ground.mesh.x, ground.mesh.y])[bends].reshape(-1, 2)
        self._states = self._states_of(self.bends)
        if charges:
            at, states = (
                np.vstack([self.bends, charges.nodes]),
                np.vstack([self._states, charges.node_states]),
            )
            self.bends, self._states = charges.either(at, states)
        one, other = np.triu_indices(len(self.bends), 1)
        seen = self._sees(self.bends[one], self.bends[other])
        self._pairs = one[seen], other[seen]
        self._pieces = [_pieces(charges.cut(goal) if charges else goal) for goal in self._goals]
        self._charge(charges)

    def _charge(self, charges: Charges | None) -> None:
        """Find the ways from the bends to the goals."""
        self._charges = charges
        one, other = self._pairs
        apart_m = np.hypot(*(self.bends[one] - self.bends[other]).T)
        charged_m = self._charged_m(
            self.bends[one], self.bends[other], self._states[one], self._states[other]
        )
        self._sight = one, other, apart_m + charged_m
        self._from_bend_m = [self._of_bends(pieces) for pieces in self._pieces]

    def charged(self, charges: Charges) -> AllWays:
        """Return the same ways at other charges."""
        other = copy(self)
        other._charge(charges)
        return other

    def lengths_m(self, at: Floats, states: States | None = None) -> Floats:
        """Return the lengths [m] from places on the ground, shape (n, 2), to each goal; shape (goals, n).

        ``states`` are those of the places; left out: where they lie.
        Exact, but that ground within 1e-6 m counts as free: not more than the shortest.
        """
        states = self._states_of(at) if states is None else states
        found = [
            self._first_in_sight(at, states, *_straight(at, pieces), known)
            for pieces, known in zip(self._pieces, self._from_bend_m, strict=True)
        ]
        return np.array(found).reshape(len(self._goals), len(at))

    def to_bend_m(self, cells: Floats, most_m: Floats) -> Floats:
        """Return how near the bends lie to the corners of cells that ways no longer than some go by; shape (goals, cells).

        Parameters
        ----------
        cells : ndarray
            (n, 3, 2): corners.
        most_m : ndarray
            (goals, n): lengths of ways from the corners.
        """
        apart_m = np.hypot(*(cells[:, :, None] - self.bends[None, None]).transpose(3, 0, 1, 2)).min(axis=1)
        return np.array(
            [
                np.where(apart_m + known <= most[:, None], apart_m, np.inf).min(axis=1, initial=np.inf)
                for known, most in zip(self._from_bend_m, most_m, strict=True)
            ]
        )

    def _of_bends(self, pieces: NDArray[np.object_]) -> Floats:
        """Lengths from the bends of the ground to a goal."""
        count = len(self.bends)
        ends, straight_m = _straight(self.bends, pieces)
        direct_m = self._first_in_sight(self.bends, self._states, ends, straight_m, np.full(count, np.inf))
        one, other, apart_m = self._sight
        to_goal = np.flatnonzero(np.isfinite(direct_m))
        graph = coo_array(
            (
                np.concatenate([apart_m, np.maximum(direct_m[to_goal], 1e-12)]),
                (np.concatenate([one, to_goal]), np.concatenate([other, np.full(len(to_goal), count)])),
            ),
            shape=(count + 1, count + 1),
        )
        found: Floats = dijkstra(graph.tocsr(), directed=False, indices=count)[:count]
        return found

    def _first_in_sight(
        self, at: Floats, states: States, ends: Floats, straight_m: Floats, from_bend_m: Floats
    ) -> Floats:
        """Return the least length over the straight ways, shape (n, k), and over the bends, of those in sight."""
        bends = np.isfinite(from_bend_m)
        known, known_states = self.bends[bends], self._states[bends]
        over_m = np.hypot(*(at[:, None] - known[None]).transpose(2, 0, 1)) + from_bend_m[bends]
        length_m = np.hstack([straight_m, over_m])
        order = np.argsort(length_m, axis=1, kind="stable")
        best_m, first = np.full(len(at), np.inf), 0
        while first < order.shape[1]:
            block = order[:, first : first + _BLOCK]
            promised_m = np.take_along_axis(length_m, block, axis=1)
            place, rank = np.nonzero(promised_m < best_m[:, None])
            if not len(place):
                break
            way = block[place, rank]
            direct = way < ends.shape[1]
            bend = way[~direct] - ends.shape[1]
            to = np.empty((len(way), 2))
            to[direct], to[~direct] = ends[place[direct], way[direct]], known[bend]
            to_states = np.empty((len(way), states.shape[1]), np.int8)
            to_states[direct], to_states[~direct] = self._states_of(to[direct]), known_states[bend]
            seen = np.flatnonzero(self._sees(at[place], to))
            place, way = place[seen], way[seen]
            charged_m = self._charged_m(at[place], to[seen], states[place], to_states[seen])
            np.minimum.at(best_m, place, length_m[place, way] + charged_m)
            first += _BLOCK
        return best_m

    def _states_of(self, at: Floats) -> States:
        return self._charges.states(shapely.points(at)) if self._charges else np.zeros((len(at), 0), np.int8)

    def _charged_m(self, starts: Floats, ends: Floats, before: States, after: States) -> Floats | float:
        """Charges for straight pieces, as metres."""
        return self._charges.of(starts, ends, before, after) / self._metre if self._charges else 0.0

    def _sees(self, starts: Floats, ends: Floats) -> NDArray[np.bool_]:
        if not len(starts):
            return np.zeros(0, bool)
        lines = shapely.linestrings(np.stack([starts, ends], axis=1))
        seen: NDArray[np.bool_] = shapely.covers(self._area, lines)
        return seen


def _pieces(goal: Goal) -> NDArray[np.object_]:
    """Return a goal in straight pieces, the point itself if it is one."""
    if isinstance(goal, Point):
        return np.array([goal], dtype=object)
    pieces: NDArray[np.object_] = shapely.linestrings(
        [pair for wall in goal.geoms for pair in pairwise(wall.coords)]
    )
    return pieces


def _straight(at: Floats, pieces: NDArray[np.object_]) -> tuple[Floats, Floats]:
    """Return where straight ways may end, shape (n, k, 2), and how long they are: nearest point and ends of each piece."""
    lines = shapely.shortest_line(pieces[None, :], shapely.points(at)[:, None])
    nearest = shapely.get_coordinates(lines).reshape(len(at), len(pieces), 2, 2)[:, :, 0]
    corners = np.unique(shapely.get_coordinates(pieces), axis=0)
    ends = np.concatenate([nearest, np.repeat(corners[None], len(at), axis=0)], axis=1)
    return ends, np.hypot(*(ends - at[:, None]).transpose(2, 0, 1))
