"""A proven lower bound of the price of any trench between two places, its bends free.

*Proof.* A cheapest trench is a polygon line whose corners lie on edges where the price changes, at corners of the ground, at
the ends of tolled axes, and at its own two ends: within one region, between two visits of its boundary, it is pulled taut, and
that makes it neither longer nor crosses an axis more often (see ``tolls``), nor does it lengthen a zigzag beside an axis (the
length that a least angle asks for is a norm). What is bored is straight between two edges of its patch. So it is a row of
straight ways between cells (``net``) in sight of each other within one region, or along edges. A potential that rises along no
such way by more than its price (``intervals``) rises between the places by no more than the price of the trench. The
largest such potential is a shortest path over the ends of the cells.

Cells and pairs through which no trench can be cheaper than a share of the best known one are dropped, the others are halved,
and so on. So what is proven at the end is the lesser of that share and of the last potential. Rounding apart (1e-9), and up to
the grid of 1e-6 m on which the ground is laid.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from scipy.sparse.csgraph import dijkstra
from shapely import LineString

from siteplan.route.between import Goal
from siteplan.route.proof.cell_pairs import MIDWAY, Flags
from siteplan.route.proof.convex import Floats
from siteplan.route.proof.model import Proven
from siteplan.route.proof.net import Net
from siteplan.route.proof.own_price import OwnPrice
from siteplan.route.proof.own_route import Arcs, own_routes
from siteplan.route.proof.regions import Region, cut_into_regions
from siteplan.route.proof.tolls import Tolls
from siteplan.route.proof.way_prices import Pricing, WayPrices
from siteplan.route.scene import Scene

_LEVELS = 40
_LEAST_M = 1e-4
_ROUNDING = 1e-9
_HIDDEN = 0.25
_FIRST_TOLERANCE = 0.02
_LAST_TOLERANCE = 0.0003
_WORTH_HALVING = 0.15
_AT_FIRST = 3


def least_over_ground(
    scene: Scene,
    start: Goal,
    goal: Goal,
    *,
    best: float = math.inf,
    wanted: float = 0.01,
    most_pairs: int = 400_000,
) -> Proven:
    """Find a price that no trench between two places falls below, its bends free of charge.

    Parameters
    ----------
    scene : Scene
        Prices the ground; its bends and tees are left out.
    start, goal : Point or MultiLineString
        A place, or walls anywhere along which the trench may start or end.
    best : float
        Price of a trench that is known.
    wanted : float
        The search ends when no trench can be cheaper than the best by more than this share, 0 to 1.
    most_pairs : int
        No further round of the search begins after so many pairs of cells.

    Returns
    -------
    Proven

    Examples
    --------
    Straight across a drive of 2 m: 5 m at 2 and 2 m at 31.

    >>> from shapely import Point, box
    >>> from siteplan.route.scene import Charge, Patch
    >>> one = Charge(row="", price=1.0)
    >>> drive = Patch(feature="drive", area=box(4, -9, 6, 19), restore=Charge(row="", price=30.0))
    >>> field = Scene(free=box(0, 0, 9, 9), dig=one, restore=one, patches=(drive,))
    >>> proven = least_over_ground(field, Point(1, 5), Point(8, 5))
    >>> round(proven.best, 6), proven.bound > 0.98 * proven.best
    (72.0, True)
    """
    return Search(scene, start, goal, best=best, margin=wanted).run(wanted, most_pairs)


@dataclass(frozen=True, slots=True, kw_only=True)
class Potentials:
    """What trenches cost at least up to the cells and from there on, of all that cost no more than a limit.

    A cell is left out if no such trench, with whatever corners, meets it.

    Attributes
    ----------
    ends : ndarray
        (n, 2, 2): ends of the cells, metres.
    from_start, from_goal : ndarray
        (n, 2): prices at the ends, linear between.
    regions : list of Region
        The ground by price; no bed among them.
    bound : float
        What no such trench costs less than.
    pairs : int
        How many pairs of cells were looked at.
    """

    ends: Floats
    from_start: Floats
    from_goal: Floats
    regions: list[Region]
    bound: float
    pairs: int


@dataclass(frozen=True, slots=True)
class _Reached:
    """From start and goal to the nodes, at the cheapest end of each cell the two together, and by way of each pair."""

    from_start: Floats
    from_goal: Floats
    at_cell: Floats
    through: Floats


class Search:
    """Branch and bound over the cells between two places.

    Parameters
    ----------
    scene, start, goal, best
        As for ``least_over_ground``.
    margin : float
        Trenches dearer than the best known price less this share are not looked at; below 0 to look further than need be.
    """

    def __init__(self, scene: Scene, start: Goal, goal: Goal, *, best: float, margin: float) -> None:
        regions, tolls = cut_into_regions(scene), Tolls(scene)
        rates = [region.rate for region in regions.regions] + [edge.rate for edge in regions.edges]
        rates += [region.bore.per_m.price for region in regions.regions if region.bore]
        cheapest = min(rates, default=0.0)
        self._margin = margin
        self._best = best
        self._line: LineString | None = None
        self._floor = (1 - margin) * best
        self._bound = 0.0
        self._own = OwnPrice(scene)
        self._net = Net(regions, tolls, start, goal, self._floor / cheapest if cheapest > 0.0 else math.inf)
        self._pricing = Pricing(scene, regions, tolls, start, goal)

    def run(self, wanted: float, most_pairs: int) -> Proven:
        """Halve cells until what is wanted is proven, nothing is left, or the pairs are too many."""
        net, tolerance, cells = self._net, math.inf, 0
        for _ in range(_LEVELS):
            cells += len(net.cells)
            prices = self._pricing.of(net)
            self._improve(own_routes(net, prices))
            kept, alive = self._bounded(prices)
            if self._bound >= (1 - wanted) * self._best * (1 - _ROUNDING) or not kept.any():
                break
            if net.looked_at > most_pairs:
                break
            target = wanted * min(self._best, self._bound) / 16
            tolerance = max(16 * target if math.isinf(tolerance) else tolerance / 3, target / 50)
            net.halve(alive, kept, self._to_halve(prices, kept, alive, tolerance))
        bound = self._bound * (1 - _ROUNDING)
        return Proven(bound=bound, best=self._best, line=self._line, cells=cells, pairs=net.looked_at)

    def _improve(self, routes: Iterator[tuple[float, LineString]]) -> None:
        """Price the trenches that should be better than the best; once a moved one is, the less moved ones are not tried."""
        for number, (price, line) in enumerate(routes):
            if price < self._best * (1 - _ROUNDING) and self._try(line) and number > 0:
                return

    def _try(self, line: LineString) -> bool:
        price = self._own.of(line)
        better = price < self._best * (1 - _ROUNDING)
        if better:
            self._best, self._line = price, line
        return better

    def potentials(self, most_pairs: int) -> Potentials:
        """Return what is known at the cells of all trenches up to the best known price less the margin.

        Cells are halved first where the cheapest trenches go; no further round begins after so many pairs, and three times
        those that there are at first.
        """
        net, most = self._net, self._floor
        most_pairs += _AT_FIRST * net.looked_at
        tolerance = _FIRST_TOLERANCE * most
        while True:
            prices = self._pricing.of(net)
            reached = self._reached(prices)
            kept, alive = self._kept(reached, most)
            bound = float(reached.from_start[-1])
            if tolerance < _LAST_TOLERANCE * most or net.looked_at > most_pairs or bound > most:
                break
            near = bound + _WORTH_HALVING * (most - bound)
            hot = reached.at_cell <= near
            chosen = hot & self._to_halve(prices, kept & (reached.through <= near), alive, tolerance)
            net.halve(alive, kept, chosen)
            tolerance /= 2.0
        ends = net.cells.ends[alive]
        return Potentials(
            ends=net.at[ends],
            from_start=reached.from_start[ends],
            from_goal=reached.from_goal[ends],
            regions=[region for region in net.regions.regions if region.bore is None],
            bound=min(bound, most) * (1 - _ROUNDING),
            pairs=net.looked_at,
        )

    def _bounded(self, prices: WayPrices) -> tuple[Flags, Flags]:
        """Raise the bound; tell through which pairs and which cells a trench may still be cheap enough."""
        reached = self._reached(prices)
        self._bound = max(self._bound, min(float(reached.from_start[-1]), self._floor))
        most = (1 - self._margin) * self._best
        self._floor = min(self._floor, most)
        kept, alive = self._kept(reached, most)
        if not kept.any():
            self._bound = max(self._bound, self._floor)
        return kept, alive

    def _reached(self, prices: WayPrices) -> _Reached:
        """Return the largest potentials from either end; the goal is the last node."""
        net = self._net
        pairs, ends = net.pairs, net.cells.ends
        one, other = net.corners()
        apart = ~pairs.shared
        on_edge = net.on_edge
        arcs = Arcs(net)
        arcs.add(one[apart].reshape(-1), other[apart].reshape(-1), prices.least[apart].reshape(-1))
        arcs.add(ends[on_edge, 0], ends[on_edge, 1], prices.along[on_edge])
        from_start, from_goal = dijkstra(arcs.graph(), directed=False, indices=[arcs.start, arcs.goal])
        there = prices.least + np.minimum(
            from_start[one] + from_goal[other], from_start[other] + from_goal[one]
        )
        at_cell = (from_start + from_goal)[ends].min(axis=1)
        touched = at_cell[pairs.cells].min(axis=1)
        through = np.where(pairs.shared, touched, there.min(axis=1, initial=math.inf))
        return _Reached(from_start, from_goal, at_cell, through)

    def _kept(self, reached: _Reached, most: float) -> tuple[Flags, Flags]:
        """Tell through which pairs and which cells a trench may cost no more than ``most``."""
        alive = (reached.at_cell <= most) & np.isfinite(reached.at_cell)
        kept = (reached.through <= most) & np.isfinite(reached.through)
        kept &= alive[self._net.pairs.cells].all(axis=1)
        return kept, alive

    def _to_halve(self, prices: WayPrices, kept: Flags, alive: Flags, tolerance: float) -> Flags:
        """Choose the cells with a pair, or a slope, that gives away more than a tolerance."""
        net = self._net
        lost = np.zeros(len(net.cells))
        on_edge = net.on_edge
        lost[on_edge] = prices.along_price[on_edge] - prices.along[on_edge]
        length_m = net.length_m
        mine = np.flatnonzero(kept & ~net.pairs.shared)
        cells = net.pairs.cells[mine]
        square = length_m[cells] ** 2
        share = square / np.maximum(square.sum(axis=1), _LEAST_M**2)[:, None]
        able = np.isfinite(prices.price[mine])
        given = np.where(able, prices.price[mine], prices.least[mine]) - prices.least[mine]
        hidden = ~(net.pairs.clear[mine] & able).all(axis=1)
        metre = np.where(hidden, prices.metre[mine].min(axis=1), 0.0)
        for side in range(2):
            np.maximum.at(lost, cells[:, side], given.mean(axis=1) * share[:, side])
            np.maximum.at(lost, cells[:, side], _HIDDEN * metre * length_m[cells[:, side]])
        splittable = on_edge | (net.cells.role != MIDWAY)
        chosen: Flags = alive & splittable & (lost > tolerance) & (length_m > _LEAST_M)
        return chosen
