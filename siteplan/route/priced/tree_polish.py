"""Moving the places of a tree of trenches while its price falls: one after the other, then all along what was gained.

A pattern search (Hooke and Jeeves 1961): the price jumps where a link leaves the free ground or a bend goes into the next
class, so no slopes are used. A place that must stay on a wall slides along it. Places too far apart to touch each other's
links and bends are moved at the same time.
"""

from __future__ import annotations

import math
from collections.abc import Generator, Iterator, Sequence
from dataclasses import replace
from typing import TypeAlias, TypeVar

import numpy as np
import shapely
from shapely import Point

from siteplan.route.between import Goal
from siteplan.route.mesh import Floats
from siteplan.route.priced.tree_net import SAME_M, Net, Place
from siteplan.route.priced.tree_price import NetPrice, Trial, round_about, whole
from siteplan.route.tee import best_tee

Result = TypeVar("Result")
Asking: TypeAlias = Generator[list[Trial], list[Floats], Result]
"""Asks for the prices of trials until it has its result."""

GAIN = 1e-9
"""Moves that save a smaller share of the price are not made."""

WORTH = 1e-5
"""After a round that saves a smaller share of the price the steps shrink."""

FIRST, LAST = 1 / 16, 1e-5
"""The first and the last steps, as shares of the largest extent of the net."""

_SHRINK = 1 / 6
_SWEEPS = 30
_STRIDES = (0.0, 1.0, 2.0, 4.0, 8.0)

RAYS = np.array([(math.cos(turn), math.sin(turn)) for turn in np.linspace(0.0, math.tau, 8, endpoint=False)])
"""A place is tried a step away in each of these directions."""


def polished(
    pricing: NetPrice, net: Net, *, first: float = FIRST, last: float = LAST, tidied: bool = True
) -> Net:
    """Move the places of a net, and leave out those that do not pay, until nothing is gained.

    Parameters
    ----------
    pricing : NetPrice
        What it costs.
    net : Net
        Where to begin.
    first, last : float
        The steps shrink from the first to the last, shares of the largest extent of the net.
    tidied : bool
        Whether what does not pay is left out once more at the end.

    Returns
    -------
    Net
        Never dearer, but where free places that lay on others have become one with them.
    """
    return polished_each(pricing, [net], first=first, last=last, tidied=tidied)[0]


def polished_each(
    pricing: NetPrice,
    nets: Sequence[Net],
    *,
    first: float = FIRST,
    last: float = LAST,
    tidied: bool = True,
) -> list[Net]:
    """Polish some nets side by side, each as ``polished`` does: many prices are found at once."""
    working = [_polishing(net, first, last, tidied) for net in nets]
    return answered(pricing, working)


def answered(pricing: NetPrice, working: Sequence[Asking[Result]]) -> list[Result]:
    """Let all ask until they are done, and price at once what they ask for at the same time."""
    found: dict[int, Result] = {}
    answers: dict[int, list[Floats]] = {}
    while len(found) < len(working):
        asked = {}
        for which, work in enumerate(working):
            if which not in found:
                try:
                    asked[which] = work.send(answers.get(which))  # type: ignore[arg-type]  # None to begin with
                except StopIteration as done:
                    found[which] = done.value
        if asked:
            prices = iter(pricing.of_each([trial for trials in asked.values() for trial in trials]))
            answers = {which: [next(prices) for _ in trials] for which, trials in asked.items()}
    return [found[which] for which in range(len(working))]


def _polishing(net: Net, first: float, last: float, tidied: bool) -> Asking[Net]:
    """Move the places of a net with steps from the first to the last."""
    extent_m = float(np.ptp(np.array(net.at), axis=0).max())
    step_m = first * extent_m
    while step_m > last * extent_m:
        net, price = yield from simplifying(net)
        for _ in range(_SWEEPS):
            before, price_before = net, price
            for nodes in _in_turn(net):
                net = yield from _better_places(net, nodes, step_m)
            net, price = yield from _further(before, net)
            if not price < price_before * (1 - WORTH):
                break
        step_m *= _SHRINK
    return (yield from simplifying(net))[0] if tidied else net


def simplifying(net: Net) -> Asking[tuple[Net, float]]:
    """Leave out places that are not needed: bends on a straight line, and branches that do better elsewhere; with the price."""
    net = net.each_once()
    price: float | None = None
    while True:
        without = [
            net.without(node, into)
            for node in range(len(net.at))
            if net.is_free(node)
            for into in net.beside(node)
        ]
        asked = [*without, net] if price is None else without
        prices = np.ravel((yield [whole(other) for other in asked])) if asked else np.zeros(0)
        if price is None:
            price, prices = float(prices[-1]), prices[:-1]
        least = float(prices.min(initial=math.inf))
        if math.isinf(least) or least > price * (1 + 1e-12):
            return net, price
        net, price = without[int(prices.argmin())], least


def _in_turn(net: Net) -> list[list[int]]:
    """Return the places that can be moved, together those of which no two touch the same place."""
    turns: list[list[int]] = []
    touched: list[set[int]] = []
    for node, on in enumerate(net.on):
        if isinstance(on, Point):
            continue
        own = {node, *net.beside(node)}
        turn = next((i for i, others in enumerate(touched) if not own & others), len(turns))
        if turn == len(turns):
            turns.append([])
            touched.append(set())
        turns[turn].append(node)
        touched[turn] |= own
    return turns


def _better_places(net: Net, nodes: Sequence[int], step_m: float) -> Asking[Net]:
    """Move some places, each to the best of those round it."""
    tried = [_tried(net, node, step_m) for node in nodes]
    priced = yield [round_about(net, *each) for each in zip(nodes, tried, strict=True)]
    for node, places, prices in zip(nodes, tried, priced, strict=True):
        best = int(np.argmin(prices))
        if prices[best] < prices[0] - GAIN * min(abs(prices[0]), 1e300):
            net = net.moved(node, place_of(places[best]))
    return net


def _tried(net: Net, node: int, step_m: float) -> Floats:
    """Return where a place is and the places to try for it; none on a place beside it."""
    tried, goal = np.array(list(_around(net, node, step_m))), net.on[node]
    if goal is not None:
        tried = kept_on(goal, tried)
    beside = np.array([net.at[other] for other in net.beside(node)])
    apart = (np.abs(tried[:, None] - beside).max(axis=2) > SAME_M).all(axis=1)
    return np.vstack([net.at[node], tried[apart]])


def _around(net: Net, node: int, step_m: float) -> Iterator[Floats]:
    """Give the places to try for one place."""
    here = np.array(net.at[node])
    yield from here + step_m * RAYS
    beside = [net.at[other] for other in net.beside(node)]
    if len(beside) == 3:
        yield np.array(best_tee(beside))
    for other in beside:
        towards = np.array(other) - here
        length_m = float(np.hypot(*towards))
        if length_m > step_m:
            yield here + step_m / length_m * towards


def _further(before: Net, net: Net) -> Asking[tuple[Net, float]]:
    """Go on in the direction in which all places have moved together, as far as it pays."""
    places = ahead(before, net)
    (prices,) = yield [whole(net, places)]
    best = int(np.argmin(prices))
    return all_moved(net, places[:, best]), float(prices[best])


def ahead(before: Net, net: Net) -> Floats:
    """Return all places of a net as they are, and further in the direction in which they moved: array (nodes, strides, 2)."""
    now = np.array(net.at)
    places = now[:, None] + np.multiply.outer(now - np.array(before.at), _STRIDES).transpose(0, 2, 1)
    return np.array([kept_on(on, at) for on, at in zip(net.on, places, strict=True)])


def all_moved(net: Net, at: Floats) -> Net:
    """Return a net with all its places elsewhere, array (nodes, 2)."""
    return replace(net, at=tuple(map(place_of, at)))


def kept_on(on: Goal | None, at: Floats) -> Floats:
    """Return the nearest places that some places may be moved to."""
    if on is None:
        return at
    kept: Floats = shapely.get_coordinates(shapely.shortest_line(on, shapely.points(at)))[::2]
    return kept


def place_of(at: Floats) -> Place:
    """Return a place as a net holds it."""
    return float(at[0]), float(at[1])
