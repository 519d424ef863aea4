"""Lengths of the shortest ways from many places of the free ground to a few goals, many at a time."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import dijkstra
from shapely import Point

from siteplan.route.between import Goal
from siteplan.route.mesh import FreeGround

Floats = NDArray[np.float64]

_BESIDE_M = 1e-6


class AllWays:
    """Shortest ways to some goals.

    The shortest way from a place goes straight to a bend of the ground from which the way is known, or straight to the goal:
    to the nearest point of a wall, or an
    end of it; else it would end at the edge of what is in sight, and that is over a bend.
    These are tried in the order of what they promise, until one is in sight.

    Parameters
    ----------
    ground : FreeGround
        Where ways may lie.
    goals : sequence of Point or MultiLineString
        Where they lead.
    """

    def __init__(self, ground: FreeGround, goals: Sequence[Goal]) -> None:
        self._goals = tuple(goals)
        self._area = ground.area.buffer(_BESIDE_M, join_style="mitre")
        shapely.prepare(self._area)
        bends = np.array(ground.mesh.before) >= 0
        self.bends = np.column_stack([ground.mesh.x, ground.mesh.y])[bends].reshape(-1, 2)
        one, other = np.triu_indices(len(self.bends), 1)
        seen = self._sees(self.bends[one], self.bends[other])
        one, other = one[seen], other[seen]
        self._sight = one, other, np.hypot(*(self.bends[one] - self.bends[other]).T)
        self._pieces = [_pieces(goal) for goal in self._goals]
        self._from_bend_m = [self._of_bends(pieces) for pieces in self._pieces]

    def lengths_m(self, at: Floats) -> Floats:
        """Return the lengths [m] from places on the ground, shape (n, 2), to each goal; shape (goals, n).

        Exact, but that ground within 1e-6 m counts as free: not more than the shortest.
        """
        found = [
            self._first_in_sight(at, *_straight(at, pieces), known)
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
        direct_m = self._first_in_sight(self.bends, ends, straight_m, np.full(count, np.inf))
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

    def _first_in_sight(self, at: Floats, ends: Floats, straight_m: Floats, from_bend_m: Floats) -> Floats:
        """Return the least length over the straight ways, shape (n, k), and over the bends, of those in sight."""
        bends = np.isfinite(from_bend_m)
        known = self.bends[bends]
        over_m = np.hypot(*(at[:, None] - known[None]).transpose(2, 0, 1)) + from_bend_m[bends]
        length_m = np.hstack([straight_m, over_m])
        order = np.argsort(length_m, axis=1, kind="stable")
        best_m, open_ = np.full(len(at), np.inf), np.arange(len(at))
        for rank in range(order.shape[1]):
            if not len(open_):
                break
            way = order[open_, rank]
            to = np.where(
                (way < ends.shape[1])[:, None],
                ends[open_, np.minimum(way, ends.shape[1] - 1)],
                known[np.maximum(way - ends.shape[1], 0)] if len(known) else np.nan,
            )
            seen = self._sees(at[open_], to)
            best_m[open_[seen]] = length_m[open_[seen], way[seen]]
            open_ = open_[~seen]
        return best_m

    def _sees(self, starts: Floats, ends: Floats) -> NDArray[np.bool_]:
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
