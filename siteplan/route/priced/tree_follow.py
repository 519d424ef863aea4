"""A tree of trenches that lay on other ground, led round what is closed on this one, and polished."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely

from siteplan.route.priced.cheapest import Search
from siteplan.route.priced.tree import branches, on_goals
from siteplan.route.priced.tree_graph import MOST_ENDS, TreeGraph
from siteplan.route.priced.tree_net import SAME_M, Net
from siteplan.route.priced.tree_polish import polished
from siteplan.route.priced.tree_price import NetPrice
from siteplan.route.priced.tree_ways import with_ways

_FINE, _FINER, _LAST = 2e-3, 4e-4, 1e-4
"""Steps of the polishing, as shares of the extent: nets are compared after the first; a search goes further down."""

_DEARER = 1.01
"""Where it comes to so many times the price before, bends and tees are chosen again."""

_NEAR = 60
"""So many likely bends, those nearest to the net, are chosen from."""


def followed(
    pricing: NetPrice, search: Search, net: Net, blocks: Sequence[frozenset[int]], before: float
) -> Net | None:
    """Lead a net over ground that it was not made for, and polish it.

    Bends and tees on closed ground move to its edge; a stretch that may not be dug as it lies goes another way over likely
    bends. Where the net has become dearer all the same it is held against the cheapest tree over its own places and the
    likely bends beside it.

    Parameters
    ----------
    pricing : NetPrice
        What it costs here.
    search : Search
        On the same scene.
    net : Net
        Its places of start and ends lie on these; its bends and tees may lie anywhere.
    blocks : sequence of frozenset of int
        Ends that must hang together without the start.
    before : float
        What it cost where it lay.

    Returns
    -------
    Net or None
        One that may be dug; ``None`` if none was come to.
    """
    net = _pushed_out(pricing, net)
    shut = _shut(pricing, net)
    if shut:
        led = with_ways(pricing, search.likely_way, net, over=lambda chain: not shut.isdisjoint(chain[1:]))
        best = _roughly(pricing, led)
    else:
        best = _roughly(pricing, net)
    if pricing.of(best) > before * _DEARER:
        other = _on_graph(pricing, search, best, blocks)
        if other is not None and pricing.of(other) < pricing.of(best):
            best = min(best, _roughly(pricing, other), key=pricing.of)
    if math.isinf(pricing.of(best)):
        best = _roughly(pricing, with_ways(pricing, search.way, best))
    best = polished(pricing, best, first=_FINER, last=_LAST)
    return best if math.isfinite(pricing.of(best)) else None


def _roughly(pricing: NetPrice, net: Net) -> Net:
    """Polish a net with the longer steps alone."""
    return polished(pricing, net.each_once(), first=_FINE, last=_FINER, tidied=False)


def _on_graph(pricing: NetPrice, search: Search, net: Net, blocks: Sequence[frozenset[int]]) -> Net | None:
    """Find the cheapest tree over the places of a net and the likely bends beside it."""
    if len(pricing.ends) > MOST_ENDS:
        return None
    away_m = shapely.distance(net.links(), shapely.points(search.likely))
    beside = search.likely[np.argsort(away_m, kind="stable")[:_NEAR]]
    places = np.vstack([on_goals(pricing), branches(pricing), np.array(net.at), beside])
    return TreeGraph(pricing, search.net, places).best(blocks)


def _pushed_out(pricing: NetPrice, net: Net) -> Net:
    """Move bends and tees that lie on closed ground to its edge."""
    free = [node for node in range(len(net.at)) if net.is_free(node)]
    points = shapely.points(np.array([net.at[node] for node in free]).reshape(-1, 2))
    onto = shapely.get_coordinates(shapely.shortest_line(pricing.scene.free, points))[::2]
    for node, (x, y) in zip(free, onto.tolist(), strict=True):
        net = net.moved(node, (x, y))
    return net.each_once()


def _shut(pricing: NetPrice, net: Net) -> set[int]:
    """Return the places below links that may not be dug."""
    at = np.array(net.at)
    lower = np.flatnonzero(np.array(net.above) >= 0)
    upper = np.array(net.above)[lower]
    long = np.abs(at[lower] - at[upper]).max(axis=1) > SAME_M
    lower, upper = lower[long], upper[long]
    prices = pricing.links.prices(at[upper], at[lower], first=True, last=True)
    shut: list[int] = lower[np.isinf(prices)].tolist()
    return set(shut)
