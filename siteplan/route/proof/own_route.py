"""The cheapest trench over the ends of the cells, and the same with its crossings moved to where they are best."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise

import numpy as np
from scipy.optimize import minimize
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import dijkstra
from shapely import LineString

from siteplan.route.proof.cell_pairs import GOAL, START
from siteplan.route.proof.convex import Floats
from siteplan.route.proof.net import Net
from siteplan.route.proof.sightlines import Ints
from siteplan.route.proof.way_prices import WayPrices

_LEAST_PRICE = 1e-12
_STEPS = (1.0, 0.7, 0.4, 0.2)
_ROUNDS = 300
_FINE = 1e-12
_TINY_M2 = 1e-20


class Arcs:
    """Arcs between the nodes of a net, and two more nodes that all starts and all goals hang on."""

    def __init__(self, net: Net) -> None:
        self.start, self.goal = len(net.at), len(net.at) + 1
        self._one: list[Ints] = []
        self._other: list[Ints] = []
        self._price: list[Floats] = []
        for role, node in ((START, self.start), (GOAL, self.goal)):
            there = np.unique(net.cells.ends[net.cells.role == role])
            self.add(there, np.full(len(there), node), np.zeros(len(there)))
        joins = np.array(net.joins, float).reshape(-1, 3)
        self.add(joins[:, 0].astype(np.int64), joins[:, 1].astype(np.int64), joins[:, 2])

    def add(self, one: Ints, other: Ints, price: Floats) -> None:
        """Add arcs that can be gone both ways; those without a finite price are left out."""
        able = np.isfinite(price)
        self._one.append(one[able])
        self._other.append(other[able])
        self._price.append(price[able])

    def graph(self) -> csr_matrix:
        """Return the cheapest arc between any two nodes."""
        one, other, price = (np.concatenate(parts) for parts in (self._one, self._other, self._price))
        count = self.goal + 1
        key = np.minimum(one, other) * count + np.maximum(one, other)
        order = np.lexsort((price, key))
        key, price = key[order], price[order]
        first = np.ones(len(key), bool)
        first[1:] = key[1:] != key[:-1]
        key, price = key[first], np.maximum(price[first], _LEAST_PRICE)
        return csr_matrix((price, (key // count, key % count)), shape=(count, count))


def own_routes(net: Net, prices: WayPrices) -> Iterator[tuple[float, LineString]]:
    """Give trenches and what they should cost: over the ends of the cells, then with their corners moved, and moved less far.

    Parameters
    ----------
    net : Net
    prices : WayPrices
        Of that net.
    """
    one, other = net.corners()
    seen = net.pairs.clear & (one != other)
    edge = np.isfinite(prices.along_price)
    tails = np.concatenate([one[seen], net.cells.ends[edge, 0]])
    heads = np.concatenate([other[seen], net.cells.ends[edge, 1]])
    price = np.concatenate([prices.price[seen], prices.along_price[edge]])
    along = prices.along_price[edge] / np.maximum(net.length_m[edge], 1e-12)
    metre = np.concatenate([prices.metre[seen], along])
    arcs = Arcs(net)
    arcs.add(tails, heads, price)
    reached, before = dijkstra(arcs.graph(), directed=False, indices=arcs.start, return_predecessors=True)
    if not np.isfinite(reached[arcs.goal]):
        return
    nodes = [int(before[arcs.goal])]
    while before[nodes[-1]] != arcs.start:
        nodes.append(int(before[nodes[-1]]))
    nodes.reverse()
    if len(nodes) == 1:
        yield float(reached[arcs.goal]), LineString([net.at[nodes[0]]] * 2)
        return
    yield float(reached[arcs.goal]), LineString(net.at[nodes])
    rates = [_rate(tails, heads, price, metre, pair) for pair in pairwise(nodes)]
    yield from _moved(net, nodes, rates, float(reached[arcs.goal]))


def _rate(tails: Ints, heads: Ints, price: Floats, metre: Floats, pair: tuple[int, int]) -> float:
    """Return the price of a further metre of the cheapest arc between two nodes; 0 between nodes at the same place."""
    low, high = min(pair), max(pair)
    mine = np.flatnonzero((np.minimum(tails, heads) == low) & (np.maximum(tails, heads) == high))
    return float(metre[mine[np.argmin(price[mine])]]) if len(mine) else 0.0


def _moved(
    net: Net, nodes: list[int], rates: list[float], spent: float
) -> Iterator[tuple[float, LineString]]:
    """Slide the corners of a trench along the lines they lie on to where it is cheapest, and less far."""
    line = _lines(net)[nodes]
    runs = [k for k in range(1, len(nodes) - 1) if line[k - 1] == line[k] == line[k + 1] >= 0]
    foot, way, reach_m, along_m = _slides(net, np.delete(nodes, runs), np.delete(line, runs))
    each = np.delete(rates, runs)

    def price(places_m: Floats) -> tuple[float, Floats]:
        legs = np.diff(foot + places_m[:, None] * way, axis=0)
        length_m = np.sqrt((legs * legs).sum(axis=1) + _TINY_M2)
        pull = legs * (each / length_m)[:, None]
        slope = np.zeros(len(places_m))
        slope[1:] += (pull * way[1:]).sum(axis=1)
        slope[:-1] -= (pull * way[:-1]).sum(axis=1)
        return float((each * length_m).sum()), slope

    if not way.any():
        return
    options = {"maxiter": _ROUNDS, "ftol": _FINE}
    bounds = [(0.0, most) for most in reach_m]
    found = minimize(price, along_m, jac=True, method="L-BFGS-B", bounds=bounds, options=options).x
    for step in _STEPS:
        moved = along_m + step * (found - along_m)
        yield spent + price(moved)[0] - price(along_m)[0], LineString(foot + moved[:, None] * way)


def _lines(net: Net) -> Ints:
    """By node: the only line that its cells lie on, or -1."""
    low, high = np.full(len(net.at), len(net.lines)), np.full(len(net.at), -1)
    for side in range(2):
        np.minimum.at(low, net.cells.ends[:, side], net.cells.line)
        np.maximum.at(high, net.cells.ends[:, side], net.cells.line)
    return np.where(low == high, low, -1)


def _slides(net: Net, nodes: Ints, line: Ints) -> tuple[Floats, Floats, Floats, Floats]:
    """Return for each node the line that it may slide along: its foot, unit way and length, and how far along it is."""
    count = len(nodes)
    foot, way, reach_m, along_m = net.at[nodes].copy(), np.zeros((count, 2)), np.zeros(count), np.zeros(count)
    for k in np.flatnonzero(line >= 0):
        tail, head = net.lines[line[k]]
        reach_m[k] = math.dist(tail, head)
        way[k] = (head - tail) / reach_m[k]
        along_m[k] = min(max(float((foot[k] - tail) @ way[k]), 0.0), reach_m[k])
        foot[k] = tail
    return foot, way, reach_m, along_m
