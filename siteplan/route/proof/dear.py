"""Dear ground that every straight piece of trench between two cells goes through.

Two cells are convex, and so is a piece of dear ground. How far a place lies within an edge of the piece is linear along a
segment. At a share t of the way from x in the one cell to y in the other it is (1 - t) f(x) + t f(y), and no less than
(1 - t) min f(x_i) + t min f(y_j), taken over the corners. So the shares at which this is nowhere negative, for no edge, are
an interval that *every* segment from cell to cell lies in the piece for. Ground is taken price level by price level, in
pieces that do not overlap, each without its rim: along an edge the cheaper side is paid. What a segment pays more than the
cheapest metre is at least the sum over the pieces of that share, its length and the step of the price.

A metre of a patch that may be bored under costs no less than the longest bore there costs for each metre.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from siteplan.route.proof.convex import convex_parts
from siteplan.route.proof.sightlines import Floats, Ints
from siteplan.route.scene import Bore, Patch, Scene

_BEYOND_M = 1e-3
_RIM_M = 5e-6
_STEP = 1e-9
_PARALLEL_M = 1e-12


class DearGround:
    """The dear ground of a scene.

    Parameters
    ----------
    scene : Scene
        The prices.
    least : float
        A price that no metre falls below.
    spare : float
        No bore is made that costs so much more than its metres at the least price.
    within : shapely geometry, optional
        Convex, with all cells in it; by default the free ground.

    Examples
    --------
    A road right across, 90 more a metre: half of every segment from below it to above it.

    >>> from siteplan.route.scene import Charge
    >>> dig, none, more = (Charge(row="", price=price) for price in (10.0, 0.0, 90.0))
    >>> road = Patch(feature="road", area=shapely.box(0, 1, 9, 3), restore=more)
    >>> dear = DearGround(Scene(free=shapely.box(0, 0, 9, 4), dig=dig, restore=none, patches=(road,)), 10.0)
    >>> cells = np.array([[[1.0, 0.0]] * 3, [[2.0, 4.0], [3.0, 4.0], [3.0, 4.0]]])
    >>> [each.round(3).tolist() for each in dear.more(cells, np.array([0]), np.array([1]))]
    [[45.0], [0.0]]
    """

    def __init__(
        self, scene: Scene, least: float, spare: float = math.inf, within: BaseGeometry | None = None
    ) -> None:
        self._pieces: list[tuple[float, Floats]] = []
        wide = (scene.free if within is None else within).buffer(_BEYOND_M, join_style="mitre")
        for level in levels_of(scene, least, spare):
            self._pieces += [(level.step, piece) for piece in convex_parts(level.area.intersection(wide))]

    def more(self, triangles: Floats, one: Ints, other: Ints) -> tuple[Floats, Floats]:
        """Return what every metre between pairs of cells costs more, at least.

        Parameters
        ----------
        triangles : ndarray
            (n, 3, 2): the cells.
        one, other : ndarray of int
            (pairs,).

        Returns
        -------
        more, lost : ndarray
            (pairs,): price for each metre of the segment, and how much more it is from middle to middle.
        """
        more, lost = np.zeros(len(one)), np.zeros(len(one))
        low, high = triangles.min(axis=1), triangles.max(axis=1)
        low, high = np.minimum(low[one], low[other]).T, np.maximum(high[one], high[other]).T
        for step, piece in self._pieces:
            west, south = piece.min(axis=0)
            east, north = piece.max(axis=0)
            met = (low[0] <= east) & (low[1] <= north) & (high[0] >= west) & (high[1] >= south)
            pairs = np.flatnonzero(met)
            within = _within(piece, triangles.reshape(-1, 2)).reshape(len(piece), -1, 3) - _RIM_M
            middle = within.mean(axis=2)
            share = _share(middle, one[pairs], other[pairs])
            pairs, share = pairs[share > 0.0], share[share > 0.0]
            every = _share(within.min(axis=2), one[pairs], other[pairs])
            more[pairs] += step * every
            lost[pairs] += step * (share - every)
        return more, lost


@dataclass(frozen=True, slots=True, kw_only=True)
class Level:
    """Ground that is dearer than the cheapest by a step more than the level below.

    Attributes
    ----------
    more : float
        A metre costs at least this more than the least price.
    step : float
        By how much that is above the level below.
    area : shapely geometry
        All ground that is at least so dear.
    """

    more: float
    step: float
    area: BaseGeometry


def levels_of(scene: Scene, least: float, spare: float = math.inf) -> list[Level]:
    """Return the levels of the price of a metre above the least, ascending; parameters as for ``DearGround``."""
    prices = [(metre_in(scene, patch, least, spare) - least, patch.area) for patch in scene.patches]
    steps = sorted({price for price, _ in prices if _STEP < price < math.inf})
    return [
        Level(
            more=more,
            step=more - lower,
            area=shapely.union_all([area for price, area in prices if price >= more]),
        )
        for lower, more in pairwise([0.0, *steps])
    ]


def metre_in(scene: Scene, patch: Patch, least: float, spare: float = math.inf) -> float:
    """Return a price that no metre in a patch falls below, dug or bored; infinite if it is shut, and no bore made."""
    met = [other for other in scene.patches if other.area.intersects(patch.area)]
    digs = [patch.dig] if patch.dig else [scene.dig, *(other.dig for other in met)]
    restores = [patch.restore] if patch.restore else [scene.restore, *(other.restore for other in met)]
    opened = sum(min(charge.price for charge in charges if charge) for charges in (digs, restores))
    bored = [
        other.bore.price(longest_m) / longest_m
        for other in met
        if other.bore
        and (longest_m := _longest_m(other.bore, other)) > 0.0
        and _least_more(other.bore, longest_m, least) < spare
    ]
    return min([math.inf if patch.shut else opened, *bored])


def _longest_m(bore: Bore, patch: Patch) -> float:
    west, south, east, north = patch.area.bounds
    return min(bore.longest_m, math.hypot(east - west, north - south))


def _least_more(bore: Bore, longest_m: float, least: float) -> float:
    """Return how much more a bore costs, at least, than its metres at the least price."""
    kink_m = bore.least.price / bore.per_m.price if bore.per_m.price > 0.0 else math.inf
    lengths_m = (0.0, min(kink_m, longest_m), longest_m)
    return min(bore.price(length_m) - least * length_m for length_m in lengths_m)


def _within(piece: Floats, points: Floats) -> Floats:
    """Return how far points lie within each edge of a convex polygon, (edges, points), metres."""
    edges = np.roll(piece, -1, axis=0) - piece
    inward = np.stack([-edges[:, 1], edges[:, 0]], axis=1) / np.hypot(*edges.T)[:, None]
    within: Floats = inward @ points.T - (inward * piece).sum(axis=1)[:, None]
    return within


def _share(within: Floats, one: Ints, other: Ints) -> Floats:
    """Return the shares of ways along which what is linear from one to other is nowhere negative, (pairs,)."""
    enter, leave = np.zeros(len(one)), np.ones(len(one))
    for edge in within:
        start, end = edge[one], edge[other]
        gain = end - start
        turn = np.divide(-start, gain, out=np.zeros(len(one)), where=np.abs(gain) > _PARALLEL_M)
        np.maximum(enter, turn, out=enter, where=gain > _PARALLEL_M)
        np.minimum(leave, turn, out=leave, where=gain < -_PARALLEL_M)
        leave[(np.abs(gain) <= _PARALLEL_M) & (start < 0.0)] = 0.0
    return np.maximum(leave - enter, 0.0)
