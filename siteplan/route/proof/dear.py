"""Dear ground that every straight piece of trench between two cells goes through.

Two cells are convex, and so is a piece of dear ground. At a share t of the way, the pairs (x, y) of places in the two
cells for which (1 - t) x + t y lies in the piece form a convex set; so if the segments between all corners have their
share t in it, the segments between all places have. The shares at which all nine corner segments lie in the piece are an
interval, and its length is a share of *every* segment from cell to cell. Ground is taken price level by price level, in
pieces that do not overlap: what a segment pays more than the cheapest metre is at least the sum over the pieces of its
share, its length and the step of the price.

A metre of a patch that may be bored under costs no less than the longest bore there costs for each metre.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise

import numpy as np
import shapely

from siteplan.route.proof.convex import convex_parts
from siteplan.route.proof.sightlines import Floats, Ints
from siteplan.route.scene import Bore, Patch, Scene

_BEYOND_M = 1e-3
_STEP = 1e-9
_PARALLEL = 1e-12


class DearGround:
    """The dear ground of a scene.

    Parameters
    ----------
    scene : Scene
        The prices.
    least : float
        A price that no metre falls below.

    Examples
    --------
    A road right across, 90 more a metre: half of every segment from below it to above it.

    >>> from siteplan.route.scene import Charge
    >>> dig, none, more = (Charge(row="", price=price) for price in (10.0, 0.0, 90.0))
    >>> road = Patch(feature="road", area=shapely.box(0, 1, 9, 3), restore=more)
    >>> dear = DearGround(Scene(free=shapely.box(0, 0, 9, 4), dig=dig, restore=none, patches=(road,)), 10.0)
    >>> cells = np.array([[[1.0, 0.0]] * 3, [[2.0, 4.0], [3.0, 4.0], [3.0, 4.0]]])
    >>> [each.tolist() for each in dear.more(cells, np.array([0]), np.array([1]))]
    [[45.0], [0.0]]
    """

    def __init__(self, scene: Scene, least: float) -> None:
        prices = [(metre_in(scene, patch) - least, patch.area) for patch in scene.patches]
        steps = sorted({price for price, _ in prices if price > _STEP})
        self._pieces: list[tuple[float, Floats]] = []
        for lower, step in pairwise([0.0, *steps]):
            area = shapely.union_all([area for price, area in prices if price >= step])
            near = area.intersection(scene.free.buffer(_BEYOND_M, join_style="mitre"))
            self._pieces += [(step - lower, piece) for piece in convex_parts(near)]

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
            (pairs,): price for each metre of the segment, and how much more it is for the corners on average.
        """
        more, lost = np.zeros(len(one)), np.zeros(len(one))
        both = np.concatenate([triangles[one], triangles[other]], axis=1)
        low, high = both.min(axis=1), both.max(axis=1)
        middle = triangles.mean(axis=1)
        for step, piece in self._pieces:
            met = (low <= piece.max(axis=0)).all(axis=1) & (high >= piece.min(axis=0)).all(axis=1)
            pairs = np.flatnonzero(met)
            enter, leave = _shares(piece, middle[one[pairs]], middle[other[pairs]])
            pairs = pairs[leave > enter]
            start = np.repeat(triangles[one[pairs]], 3, axis=1).reshape(-1, 2)
            end = np.tile(triangles[other[pairs]], (1, 3, 1)).reshape(-1, 2)
            enter, leave = (share.reshape(-1, 9) for share in _shares(piece, start, end))
            every = np.maximum(leave.min(axis=1) - enter.max(axis=1), 0.0)
            more[pairs] += step * every
            lost[pairs] += step * (np.maximum(leave - enter, 0.0).mean(axis=1) - every)
        return more, lost


def metre_in(scene: Scene, patch: Patch) -> float:
    """Return a price that no metre in a patch falls below, dug or bored."""
    met = [other for other in scene.patches if other.area.intersects(patch.area)]
    digs = [patch.dig] if patch.dig else [scene.dig, *(other.dig for other in met)]
    restores = [patch.restore] if patch.restore else [scene.restore, *(other.restore for other in met)]
    opened = sum(min(charge.price for charge in charges if charge) for charges in (digs, restores))
    return min([math.inf if patch.shut else opened, *_bored_metres(met)])


def _bored_metres(patches: list[Patch]) -> Iterator[float]:
    """Give what a metre of bore costs at least under each of these that may be bored under: the longer, the less."""
    for patch in patches:
        if patch.bore:
            yield _bored_metre(patch.bore, patch)


def _bored_metre(bore: Bore, patch: Patch) -> float:
    west, south, east, north = patch.area.bounds
    longest_m = min(bore.longest_m, math.hypot(east - west, north - south))
    return bore.price(longest_m) / longest_m


def _shares(piece: Floats, start: Floats, end: Floats) -> tuple[Floats, Floats]:
    """Return from where to where segments lie in a convex polygon, as shares of them; from 1 to 0 if nowhere."""
    way = end - start
    enter, leave = np.zeros(len(start)), np.ones(len(start))
    for corner, edge in zip(piece, np.roll(piece, -1, axis=0) - piece, strict=True):
        inward = np.array([-edge[1], edge[0]]) / math.hypot(*edge)
        gain, off = way @ inward, (start - corner) @ inward
        at = np.divide(-off, gain, out=np.zeros(len(off)), where=np.abs(gain) > _PARALLEL)
        enter = np.where(gain > _PARALLEL, np.maximum(enter, at), enter)
        leave = np.where(gain < -_PARALLEL, np.minimum(leave, at), leave)
        leave = np.where((np.abs(gain) <= _PARALLEL) & (off < 0.0), -1.0, leave)
    gone = leave <= enter
    return np.where(gone, 1.0, enter), np.where(gone, 0.0, leave)
