"""A tree of trenches that lay on other ground, made to lie on this one: pushed out of what is closed now, and polished."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import shapely
from shapely import Point

from siteplan.route.between import shortest_between
from siteplan.route.mesh import FreeGround
from siteplan.route.priced.cheapest import Search
from siteplan.route.priced.tree_net import SAME_M, Net
from siteplan.route.priced.tree_polish import polished
from siteplan.route.priced.tree_price import NetPrice
from siteplan.route.priced.tree_ways import with_cheapest_ways

_FINE = 2e-3
"""The first steps of the polishing, as a share of the extent, where nothing had to be led another way."""


def followed(pricing: NetPrice, search: Search, ground: FreeGround, net: Net) -> Net | None:
    """Lead a net over ground that it was not made for, and polish it.

    Parameters
    ----------
    pricing : NetPrice
        What it costs here.
    search : Search
        On the same scene.
    ground : FreeGround
        The free ground of the scene.
    net : Net
        Its places of start and ends lie on these; its bends and tees may lie anywhere.

    Returns
    -------
    Net or None
        One that may be dug; ``None`` if none was come to.
    """
    led = _led_round(pricing, ground, _pushed_out(pricing, net))
    if led is None:
        return None
    if math.isinf(pricing.of(led)):
        led = with_cheapest_ways(pricing, search, led)
    found = polished(pricing, led, first=_FINE)
    return found if math.isfinite(pricing.of(found)) else None


def _pushed_out(pricing: NetPrice, net: Net) -> Net:
    """Move bends and tees that lie on closed ground to its edge."""
    free = [node for node in range(len(net.at)) if net.is_free(node)]
    points = shapely.points(np.array([net.at[node] for node in free]).reshape(-1, 2))
    onto = shapely.get_coordinates(shapely.shortest_line(pricing.scene.free, points))[::2]
    for node, (x, y) in zip(free, onto.tolist(), strict=True):
        net = net.moved(node, (x, y))
    return net.each_once()


def _led_round(pricing: NetPrice, ground: FreeGround, net: Net) -> Net | None:
    """Lead links that leave the free ground the shortest way on it; ``None`` if there is none."""
    at = np.array(net.at)
    lower = np.flatnonzero(np.array(net.above) >= 0)
    upper = np.array(net.above)[lower]
    long = np.abs(at[lower] - at[upper]).max(axis=1) > SAME_M
    lower, upper = lower[long], upper[long]
    held = pricing.links.held(at[upper], at[lower])
    for node, above in zip(lower[~held].tolist(), upper[~held].tolist(), strict=True):
        way = shortest_between(ground, Point(net.at[above]), Point(net.at[node]))
        if way is None:
            return None
        over = above
        for x, y in shapely.get_coordinates(way.line)[1:-1].tolist():
            net = net.grown((x, y), over)
            over = len(net.at) - 1
        net = replace(net, above=(*net.above[:node], over, *net.above[node + 1 :]))
    return net
