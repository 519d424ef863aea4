"""Moving the places of a tree of trenches all at once, for a tree that lies nearly where it should.

A pattern search as in ``tree_polish``, with steps of its own for each place: they grow where a place gets on and shrink where
it does not. What is tried for all places is priced together, so it takes far fewer and larger tables of prices. A corner of
the free ground nearby is tried as well, however far the steps reach.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping

import numpy as np
import shapely
from shapely import Point

from siteplan.route.mesh import Floats
from siteplan.route.priced.tree_net import SAME_M, Net
from siteplan.route.priced.tree_polish import (
    RAYS,
    Asking,
    ahead,
    all_moved,
    answered,
    kept_on,
    place_of,
    simplifying,
)
from siteplan.route.priced.tree_price import NetPrice, round_about, whole
from siteplan.route.tee import best_tee

_FIRST, _LAST, _MOST = 1 / 400, 4e-4, 1 / 8
"""The first steps, the shortest and the longest, as shares of the largest extent of the net."""

_GROW, _SHRINK = 3.0, 1 / 5
_WORTH, _GAIN = 5e-5, 5e-6
"""Where all moves together save a smaller share of the price the steps shrink; a move that saves hardly any is not made."""

_BACK = 3
"""Places go on in the direction in which they came in so many rounds: two beside each other move in turn."""

_SWEEPS = 60

_ALONG = 0.9
"""A step on a wall goes along it if it is at least so much of a step in the open."""

_CORNERS, _NEAR = 3, 1 / 10
"""So many corners of the free ground are tried for a place, so near to it as a share of the extent."""


def settled(pricing: NetPrice, net: Net) -> tuple[Net, float]:
    """Move the places of a net, and leave out those that do not pay, until nothing is gained.

    Parameters
    ----------
    pricing : NetPrice
        What it costs.
    net : Net
        Where to begin; it may lie where nothing may be dug.

    Returns
    -------
    tuple of (Net, float)
        Never dearer, but where free places that lay on others have become one with them; and its price, infinite if it may
        not be dug so.
    """
    corners = np.unique(shapely.get_coordinates(pricing.scene.free), axis=0)
    return answered(pricing, [_settling(net, corners)])[0]


def _settling(net: Net, corners: Floats) -> Asking[tuple[Net, float]]:
    """Move the places and leave some out in turn."""
    net, price = yield from simplifying(net)
    while True:
        moved = yield from _moving(net, corners)
        if moved is net:
            return net, price
        net, price = yield from simplifying(moved)
        if len(net.at) == len(moved.at):
            return net, price


def _moving(net: Net, corners: Floats) -> Asking[Net]:
    """Move the places, each by its own steps, until all steps are short."""
    extent_m = float(np.ptp(np.array(net.at), axis=0).max())
    step_m = {node: _FIRST * extent_m for node, on in enumerate(net.on) if not isinstance(on, Point)}
    passed = [net]
    for _ in range(_SWEEPS):
        awake = {node: step for node, step in step_m.items() if step > _LAST * extent_m}
        if not awake:
            break
        tried = dict(zip(awake, _tried(net, awake, corners, _NEAR * extent_m), strict=True))
        onward = ahead(passed[0], net) if len(passed) > 1 else np.array(net.at)[:, None]
        onward = np.concatenate([onward, *_shifted(net, awake)], axis=1)
        prices, *around = yield [whole(net, onward), *(round_about(net, *each) for each in tried.items())]
        best = {node: _best(each) for node, each in zip(tried, around, strict=True)}
        step_m |= {node: awake[node] * _SHRINK for node, (_, saved) in best.items() if not saved}
        moves = _clear_of_each_other(net, {node: saved for node, (_, saved) in best.items() if saved})
        stride, saved_ahead = _best(prices)
        saved = math.fsum(moves.values())
        if saved_ahead > saved:
            net, moves = all_moved(net, onward[:, stride]), dict.fromkeys(step_m, saved_ahead)
        else:
            moved_to = {node: place_of(tried[node][best[node][0]]) for node in moves}
            for node, at in moved_to.items():
                by_m = min(math.dist(at, net.at[node]), _MOST * extent_m)
                step_m[node] = min(max(_GROW * by_m, step_m[node]), _MOST * extent_m)
                for other in step_m.keys() & net.beside(node):
                    step_m[other] = max(step_m[other], by_m)
                net = net.moved(node, at)
        if max(saved, saved_ahead) < _WORTH * prices[0]:
            step_m |= {node: step_m[node] * _SHRINK for node in moves}
        if moves:
            passed = [*passed, net][-_BACK - 1 :]
    return net


def _shifted(net: Net, step_m: Mapping[int, float]) -> Iterator[Floats]:
    """Give all places of a net with one on a wall moved along it and the next one with it, so that the bends stay as they are."""
    for node, step in step_m.items():
        beside = net.beside(node)
        if net.on[node] is None or len(beside) != 1 or net.on[beside[0]] is not None:
            continue
        at = np.array(net.at)
        by = kept_on(net.on[node], at[node] + step * RAYS) - at[node]
        by = by[np.hypot(by[:, 0], by[:, 1]) > _ALONG * step]
        shifted = np.repeat(at[:, None], len(by), axis=1)
        shifted[[node, beside[0]]] += by
        yield shifted


def _best(prices: Floats) -> tuple[int, float]:
    """Return the place with the least price, and how much it saves against the first, 0 if that is next to nothing."""
    best = int(np.argmin(prices))
    if math.isinf(prices[0]):
        return best, 0.0 if math.isinf(prices[best]) else math.inf
    saved = float(prices[0] - prices[best])
    return best, saved if saved > _GAIN * prices[0] else 0.0


def _clear_of_each_other(net: Net, saved: Mapping[int, float]) -> dict[int, float]:
    """Choose moves that touch no link and bend of each other, those that save most first."""
    chosen: dict[int, float] = {}
    touched: set[int] = set()
    for node in sorted(saved, key=lambda node: -saved[node]):
        own = {node, *net.beside(node)}
        if not own & touched:
            chosen[node] = saved[node]
            touched |= own
    return chosen


def _tried(net: Net, step_m: Mapping[int, float], corners: Floats, near_m: float) -> Iterator[Floats]:
    """Give for each place where it is and the places to try for it; none on a place beside it."""
    nodes = list(step_m)
    at = np.array(net.at)
    rings = at[nodes][:, None] + np.array(list(step_m.values()))[:, None, None] * RAYS
    off_m = np.hypot(*(corners - at[nodes][:, None]).transpose(2, 0, 1))
    nearest = np.argsort(off_m, axis=1)[:, :_CORNERS]
    for row, (node, step) in enumerate(step_m.items()):
        beside = at[net.beside(node)]
        towards = beside - at[node]
        length_m = np.hypot(towards[:, 0], towards[:, 1])
        on_links = at[node] + (step / np.maximum(length_m, step))[:, None] * towards
        near = corners[nearest[row][off_m[row, nearest[row]] < near_m]]
        tees = [best_tee(beside.tolist())] if len(beside) == 3 else np.zeros((0, 2))
        tried, goal = np.vstack([rings[row], on_links, near, tees]), net.on[node]
        if goal is not None:
            tried = kept_on(goal, tried)
        apart = (np.abs(tried[:, None] - beside).max(axis=2) > SAME_M).all(axis=1)
        yield np.vstack([at[node], tried[apart]])
