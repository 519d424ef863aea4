"""The cheapest ways through a graph when bends are priced by their angle.

A step is a link taken in one direction, so that the bend from it to the next has its price. The steps are the places of a
second graph, over which the shortest ways from the start and from the end are found by Dijkstra's algorithm.
"""

from __future__ import annotations

import math

import numpy as np
from scipy.sparse import csr_array
from scipy.sparse.csgraph import dijkstra

from siteplan.route.mesh import Floats, Ints
from siteplan.route.priced.bill import STRAIGHT_DEG
from siteplan.route.priced.graph import Graph
from siteplan.route.priced.turns import Turns


def ways(graph: Graph, turns: Turns, through: Floats, limit: float) -> list[tuple[float, list[int]]]:
    """Return ways through a graph: for each link the cheapest that uses it.

    Parameters
    ----------
    graph : Graph
        All links that may matter are known.
    turns : Turns
        Prices bends.
    through : array (n, n)
        Lower bound of the ways through each link.
    limit : float
        Dearer ways are not given.

    Returns
    -------
    list of tuple of float and list of int
        Price, and the places from start to end; the cheapest first, ways of one price once.
    """
    tail, head = np.nonzero(graph.known & (through <= limit))
    count = len(tail)
    begin, end = count, count + 1
    along = graph.places[head] - graph.places[tail]
    link = graph.price[tail, head]
    before, after = _meetings(tail, head)
    onward = turns.prices(along[before], along[after]) + link[after]
    first = graph.fee[0][tail] + turns.prices(graph.leg[0][tail], along) + link
    last = graph.fee[1][head] + turns.prices(along, graph.leg[1][head])
    steps = np.arange(count)
    price = np.concatenate([onward, first, last])
    at = np.concatenate([before, np.full(count, begin), steps])
    to = np.concatenate([after, steps, np.full(count, end)])
    may = price <= limit
    net = csr_array((price[may], (at[may], to[may])), shape=(count + 2, count + 2))
    come, came = dijkstra(net, indices=begin, return_predecessors=True, limit=limit)
    go, goes = dijkstra(net.T.tocsr(), indices=end, return_predecessors=True, limit=limit)
    whole = come[:count] + go[:count]
    found = [_at_one_place(graph, turns)]
    likely = np.flatnonzero(whole <= limit)
    _, once = np.unique((whole[likely] / max(limit, 1e-300)).round(7), return_index=True)
    for step in likely[once].tolist():
        back, forth = _chain(came, step, begin), _chain(goes, step, end)
        taken = [*back[::-1], *forth[1:]]
        found.append((float(whole[step]), _bends(graph, np.append(tail[taken[0]], head[taken]))))
    return sorted(way for way in found if way[0] <= limit)


def _meetings(tail: Ints, head: Ints) -> tuple[Ints, Ints]:
    """Return the pairs of steps of which the second goes on from where the first ends, but not back; tails in order."""
    first, stop = np.searchsorted(tail, head), np.searchsorted(tail, head, side="right")
    count = stop - first
    before = np.repeat(np.arange(len(head)), count)
    after = np.arange(len(before)) + np.repeat(first - np.cumsum(count) + count, count)
    onward = head[after] != tail[before]
    return before[onward], after[onward]


def _at_one_place(graph: Graph, turns: Turns) -> tuple[float, list[int]]:
    """Return the cheapest way that starts and ends at one place."""
    both = graph.fee[0] + graph.fee[1]
    both = np.where(np.isfinite(both), both + turns.prices(graph.leg[0], graph.leg[1]), math.inf)
    place = int(np.argmin(both))
    return float(both[place]), [place]


def _bends(graph: Graph, nodes: Ints) -> list[int]:
    """Leave out the places that a way goes straight through."""
    ways = np.diff(graph.places[nodes], axis=0)
    (x1, y1), (x2, y2) = ways[:-1].T, ways[1:].T
    turns = np.abs(np.arctan2(x1 * y2 - y1 * x2, x1 * x2 + y1 * y2)) >= math.radians(STRAIGHT_DEG)
    bends: list[int] = nodes[np.concatenate([[True], turns, [True]])].tolist()
    return bends


def _chain(next_one: Ints, step: int, last: int) -> list[int]:
    """Follow steps until the last, that one left out."""
    chain = []
    while step != last:
        chain.append(step)
        step = int(next_one[step])
    return chain
