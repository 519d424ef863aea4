"""A tree of trenches that lay on other ground, led round what is closed on this one, and moved while its price falls."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely

from siteplan.route.priced.cheapest import Search
from siteplan.route.priced.tree import branches, on_goals
from siteplan.route.priced.tree_graph import MOST_ENDS, TreeGraph
from siteplan.route.priced.tree_net import Net
from siteplan.route.priced.tree_price import NetPrice
from siteplan.route.priced.tree_settle import settled
from siteplan.route.priced.tree_ways import with_ways

_DEARER = 1.01
"""Where it comes to so many times the price before, bends and tees are chosen again."""

_LOST = 1.25
"""One trench that comes to so many times its price before is not followed: a search for one takes little longer."""

_NEAR = 60
"""So many likely bends, those nearest to the net, are chosen from."""


def followed(
    pricing: NetPrice, search: Search, net: Net, blocks: Sequence[frozenset[int]], before: float
) -> Net | None:
    """Lead a net over ground that it was not made for, and move its places while the price falls.

    Bends and tees on closed ground move to its edge. Where the net may not be dug then, or has become dearer, it is held
    against the cheapest tree over its own places and the likely bends beside it. If there is none its stretches are searched.

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
        One that may be dug; ``None`` if none was come to, or a single trench is so dear that others may well be cheaper.
    """
    best, price = settled(pricing, _pushed_out(pricing, net))
    if price > before * _DEARER:
        best, price = _chosen_again(pricing, search, best, price, blocks)
    if len(pricing.ends) == 1:
        return best if price <= before * _LOST else None
    if math.isinf(price):
        best, price = settled(pricing, with_ways(pricing, search.way, best))
        best, price = _chosen_again(pricing, search, best, price, blocks)
    return best if math.isfinite(price) else None


def _chosen_again(
    pricing: NetPrice, search: Search, net: Net, price: float, blocks: Sequence[frozenset[int]]
) -> tuple[Net, float]:
    """Hold a net against the cheapest tree over its own places and the likely bends beside it; with the price."""
    if len(pricing.ends) > MOST_ENDS:
        return net, price
    away_m = shapely.distance(net.links(), shapely.points(search.likely))
    beside = search.likely[np.argsort(away_m, kind="stable")[:_NEAR]]
    places = np.vstack([on_goals(pricing), branches(pricing), np.array(net.at), beside])
    other = TreeGraph(pricing, search.net, places).best(blocks)
    if other is None or not pricing.of(other) < price:
        return net, price
    return min((net, price), settled(pricing, other), key=lambda found: found[1])


def _pushed_out(pricing: NetPrice, net: Net) -> Net:
    """Move bends and tees that lie on closed ground to its edge."""
    free = [node for node in range(len(net.at)) if net.is_free(node)]
    points = shapely.points(np.array([net.at[node] for node in free]).reshape(-1, 2))
    onto = shapely.get_coordinates(shapely.shortest_line(pricing.scene.free, points))[::2]
    for node, (x, y) in zip(free, onto.tolist(), strict=True):
        net = net.moved(node, (x, y))
    return net.each_once()
