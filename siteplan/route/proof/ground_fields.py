"""Least prices over the priced ground from either end to every cell, bends free.

*At a place.* From a place x in a region of one price r the cheapest trench goes straight on within the region to some place o of
a cell at its boundary, at a corner of it or at an end of the trench (``ground``). From o on it costs no less than the potential
V there. So from x it costs no less than the least over these cells e of

    p_e(x) = min over o in e of V(o) + r |x - o|,

those left out that one blocker hides from all of a triangle (shadow lemma, ``sightlines``; a corner in the blocker is in the
convex set there, too).

*Over a cell.* V is linear along e, and so V(o) - g.o is least at an end of e. For any g no longer than r,

    V(o) + r |x - o| >= V(o) + g.(x - o) >= g.x + min over the ends of e of V(o_i) - g.o_i = T_e(x).

Let c be the corners of a triangle and x their mean by the weights m_c. Each T_e is linear, so

    sum over c of m_c min over e of T_e(c) <= min over e of T_e(x) <= min over e of p_e(x).

So the least T_e at each corner may be interpolated. Here g is the slope of p_e in the middle of the triangle: there T_e is
p_e itself. A place on the boundary of a region is on a cell there, with V for its price, and so each region that it is in
tells enough: one that a triangle only touches is left out. Where a triangle lies in several regions, the cells of them all
are taken, and the cheapest of their prices for r: that is below what each of them tells, and no slope is steeper.

*Limit.* Cells of the ground that no trench up to a limit meets are left out. The part of a trench up to x and the cheapest one
onward from there are again a trench up to the limit, and so are the cheapest one to x and the rest. So what is told holds for all
trenches with a bend in x that cost no more than the limit.
"""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from siteplan.route.proof.ground import Potentials
from siteplan.route.proof.link_prices import Shapes
from siteplan.route.proof.sightlines import Floats, tangents

_TOUCHING_M = 1e-5
_SLACK_M = 1e-4
_ON_M = 1e-9
_CLEAR = 1e-7

Flags = NDArray[np.bool_]


class GroundFields:
    """Prices of coming to the cells from either end.

    Parameters
    ----------
    potentials : Potentials
        Of the ground.
    """

    def __init__(self, potentials: Potentials) -> None:
        self._regions = []
        lines = shapely.linestrings(potentials.ends)
        hull = shapely.convex_hull(shapely.multipoints(potentials.ends.reshape(-1, 2)))
        for region in potentials.regions:
            area = region.area.buffer(_TOUCHING_M)
            shapely.prepare(area)
            mine = shapely.intersects(area, lines)
            ends = potentials.ends[mine]
            edges = [
                _Edges(ends, _finite(prices[mine]) - region.rate * _SLACK_M)
                for prices in (potentials.from_start, potentials.from_goal)
            ]
            blockers = [each for each in region.blockers if hull.intersects(Polygon(each))]
            inner = region.area.buffer(-_TOUCHING_M)
            shapely.prepare(inner)
            self._regions.append((inner, area, region.rate, edges, _Shade(ends, blockers)))

    def of(self, shapes: Shapes) -> list[Floats]:
        """Return the least prices from the start and from the goal at the corners of cells, (n, 3) each; may be interpolated.

        Infinite where no trench up to the limit has a bend.
        """
        found = [np.full(shapes.at.shape[:2], np.inf) for _ in range(2)]
        triangles = shapely.convex_hull(shapely.multipoints(shapes.at))
        middle = shapes.at.mean(axis=1)
        meets = np.array([shapely.intersects(inner, triangles) for inner, *_ in self._regions])
        aside = ~meets.any(axis=0)
        meets |= aside & np.array([shapely.intersects(area, triangles) for _, area, *_ in self._regions])
        rates = np.array([rate for *_, rate, _, _ in self._regions])
        cheapest = np.where(meets, rates[:, None], np.inf).min(axis=0)
        for met, (*_, edges, shade) in zip(map(np.flatnonzero, meets), self._regions, strict=True):
            hidden = shade.hides(shapes.at[met])
            for prices, edge in zip(found, edges, strict=True):
                least = edge.least(shapes.at[met], middle[met], cheapest[met], hidden)
                prices[met] = np.minimum(prices[met], least)
        return found


class _Shade:
    """Which straight pieces (m, 2, 2) convex blockers hide."""

    def __init__(self, ends: Floats, blockers: list[Floats]) -> None:
        self._nodes, self._spots = np.unique(ends.reshape(-1, 2), axis=0, return_inverse=True)
        self._spots = self._spots.reshape(-1, 2)
        self._blockers = blockers
        self._table = tangents(self._nodes, blockers)

    def hides(self, triangles: Floats) -> Flags:
        """Tell which pieces one blocker hides from every place in triangles (n, 3, 2) that is not in it: (n, m)."""
        places, spots = np.unique(triangles.reshape(-1, 2), axis=0, return_inverse=True)
        spots = spots.reshape(-1, 3)
        table = tangents(places, self._blockers)
        x, y = (self._nodes[None, :, k] - places[:, None, k] for k in range(2))
        slack = _CLEAR * np.hypot(x, y)
        hidden = np.zeros((len(triangles), len(self._spots)), bool)
        for k, blocker in enumerate(self._blockers):
            there, back = table[:, k, :, None], self._table[:, k].T[:, None]
            cut = (there[:, 0] * y - there[:, 1] * x > slack) & (x * there[:, 3] - y * there[:, 2] > slack)
            cut &= (back[1] * x - back[0] * y > slack) & (y * back[2] - x * back[3] > slack)
            cut |= _inside(blocker, places)[:, None]
            from_all = cut[spots[:, 0]] & cut[spots[:, 1]] & cut[spots[:, 2]]
            hidden |= from_all[:, self._spots[:, 0]] & from_all[:, self._spots[:, 1]]
        return hidden


def _inside(blocker: Floats, places: Floats) -> Flags:
    """Tell which places (n, 2) are clearly inside a convex polygon (k, 2)."""
    way = np.roll(blocker, -1, axis=0) - blocker
    off = places[:, None] - blocker
    left = (way[:, 0] * off[..., 1] - way[:, 1] * off[..., 0]) / np.maximum(np.hypot(*way.T), _ON_M)
    inside: Flags = (left > _TOUCHING_M).all(axis=1) | (left < -_TOUCHING_M).all(axis=1)
    return inside


class _Edges:
    """Straight pieces with prices at their ends, linear between: (m, 2, 2), metres, and (m, 2)."""

    def __init__(self, ends: Floats, prices: Floats) -> None:
        self._ends, self._prices = ends, prices
        way = ends[:, 1] - ends[:, 0]
        self._length_m: Floats = np.hypot(*way.T)
        self._along = way / np.maximum(self._length_m, _ON_M)[:, None]
        self._rise = (prices[:, 1] - prices[:, 0]) / np.maximum(self._length_m, _ON_M)

    def least(self, at: Floats, middle: Floats, rate: Floats, hidden: Flags) -> Floats:
        """Return the least prices at the corners of triangles (n, 3, 2), (n, 3), from all but the hidden pieces (n, m).

        ``rate`` (n,) is the price of a metre there.
        """
        if not len(self._ends) or not len(at):
            return np.full(at.shape[:2], np.inf)
        x, y = (middle[:, None, k] - self._ends[None, :, 0, k] for k in range(2))
        ahead = x * self._along[:, 0] + y * self._along[:, 1]
        aside = np.abs(x * self._along[:, 1] - y * self._along[:, 0])
        rate = rate[:, None]
        rise = np.clip(self._rise, -rate, rate)
        # how far the foot of the cheapest way lies off for each metre that the middle lies aside
        slant = rise / np.sqrt(np.maximum(rate**2 - rise**2, (_ON_M * rate) ** 2))
        foot = np.clip(ahead - aside * slant, 0.0, self._length_m)
        x, y = x - foot * self._along[:, 0], y - foot * self._along[:, 1]
        away = np.hypot(x, y)
        share = rate / np.maximum(away, _ON_M)
        on = away < _ON_M
        slope_x = np.where(on, rise * self._along[:, 0], share * x)
        slope_y = np.where(on, rise * self._along[:, 1], share * y)
        base = np.minimum(
            *(
                self._prices[:, k] - slope_x * self._ends[:, k, 0] - slope_y * self._ends[:, k, 1]
                for k in range(2)
            )
        )
        base[hidden] = np.inf
        return np.stack(
            [
                (base + slope_x * at[:, c, 0, None] + slope_y * at[:, c, 1, None]).min(axis=1)
                for c in range(3)
            ],
            axis=1,
        )


def _finite(prices: Floats) -> Floats:
    """Where only one end has a price, no trench comes to the other: any price will do there."""
    return np.where(np.isfinite(prices), prices, prices[:, ::-1])
