"""The stretches of a tree of trenches between its ends and branching places, each as the cheapest way that can be found."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

import shapely
from shapely import Point

from siteplan.route.approach import Approach
from siteplan.route.priced.cheapest import Way
from siteplan.route.priced.tree_net import Net
from siteplan.route.priced.tree_price import NetPrice

Find = Callable[[Approach, Approach], Way | None]


def with_ways(pricing: NetPrice, find: Find, net: Net) -> Net:
    """Put another way in place of each stretch that bends, where that makes the tree cheaper.

    Parameters
    ----------
    pricing : NetPrice
        What a net costs.
    find : callable
        Finds ways on the same scene.
    net : Net
        A tree; it may have bends that are not made.

    Returns
    -------
    Net
        Never dearer.
    """
    for lowest in _last_places(net):
        chain = _stretch(net, lowest)
        if len(chain) == 2 and not _has_leg(pricing, net, lowest) and not _has_leg(pricing, net, chain[0]):
            continue
        one, other = _come_to(pricing, net, chain[0]), _come_to(pricing, net, lowest)
        way = find(one, other)
        if way is None:
            continue
        places = [(float(x), float(y)) for x, y in shapely.get_coordinates(way.line).tolist()]
        places = places[int(one.leg_m > 0.0) : len(places) - int(other.leg_m > 0.0)]
        tried = _rerouted(net, chain, places)
        if not pricing.of(tried.each_once()) > pricing.of(net.each_once()):
            net = tried
    return net


def _last_places(net: Net) -> Iterator[int]:
    """Give the places where a stretch ends: ends and branching places. Their numbers hold whatever is rerouted."""
    for node in range(len(net.at)):
        if net.above[node] >= 0 and not _is_bend(net, node):
            yield node


def _is_bend(net: Net, node: int) -> bool:
    return net.on[node] is None and len(net.below(node)) == 1


def _stretch(net: Net, lowest: int) -> list[int]:
    """Return the places of a stretch, from its upper end down."""
    chain = [net.above[lowest], lowest]
    while net.above[chain[0]] >= 0 and _is_bend(net, chain[0]):
        chain.insert(0, net.above[chain[0]])
    return chain


def _has_leg(pricing: NetPrice, net: Net, node: int) -> bool:
    return _come_to(pricing, net, node).leg_m > 0.0


def _come_to(pricing: NetPrice, net: Net, node: int) -> Approach:
    """Return how a stretch comes to its end: as to the thing itself if nothing else comes there."""
    end = net.end[node]
    if net.above[node] < 0 and len(net.below(node)) == 1:
        return pricing.start
    if end is not None and not net.below(node):
        return pricing.ends[end]
    return Approach(feature="", places=((Point(net.at[node]), (0.0, 0.0)),), leg_m=0.0)


def _rerouted(net: Net, chain: list[int], places: list[tuple[float, float]]) -> Net:
    """Return the net with other places on one stretch; bends that are no longer used stay on it, one on the other."""
    between = places[1:-1] if len(places) > 1 else []
    net = net.moved(chain[0], places[0]).moved(chain[-1], places[-1])
    bends = chain[1:-1]
    above = chain[0]
    for number, place in enumerate(between):
        if number < len(bends):
            above = bends[number]
            net = net.moved(above, place)
        else:
            net = net.grown(place, above)
            above = len(net.at) - 1
    for spare in bends[len(between) :]:
        net = net.moved(spare, net.at[above])
    if len(between) > len(bends):
        net = replace(net, above=(*net.above[: chain[-1]], above, *net.above[chain[-1] + 1 :]))
    return net
