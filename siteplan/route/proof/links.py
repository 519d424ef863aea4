"""Least prices along straight pieces from cell to cell, by how many there are."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from siteplan.route.proof.sightlines import Floats, Ints


@dataclass(frozen=True, slots=True, kw_only=True)
class Links:
    """Pairs of cells that a straight piece of trench may join.

    Attributes
    ----------
    one, other : ndarray of int
        (pairs,): the cells.
    price : ndarray
        (3, 3, pairs): least price of the piece, by corner of the first and of the second cell; may be interpolated.
    error_m : ndarray
        (2, pairs): how much of it may be due to the size of the first and of the second cell.
    clear : ndarray of bool
        (pairs, 9): whether the corners see each other.
    """

    one: Ints
    other: Ints
    price: Floats
    error_m: Floats
    clear: NDArray[np.bool_]


def layers(links: Links, at_end: NDArray[np.bool_], known: Floats, count: int) -> list[Floats]:
    """Return the least prices of reaching the cells from an end by exactly 0, 1, ..., ``count`` straight pieces.

    Parameters
    ----------
    links : Links
        A piece that stays in a cell costs nothing.
    at_end : ndarray of bool
        (n,): the cells of the end.
    known : ndarray
        (3, n): least prices of reaching the cells in any way.
    count : int
        At least 1.

    Returns
    -------
    list of ndarray
        (3, n) each: at the corners of the cells; infinite where a cell cannot be reached.

    Examples
    --------
    >>> price = np.full((3, 3, 1), 7.0)
    >>> links = Links(one=np.array([0]), other=np.array([1]), price=price, error_m=np.zeros((2, 1)), clear=price[0] > 0)
    >>> [layer[0].tolist() for layer in layers(links, np.array([True, False]), np.zeros((3, 2)), 2)]
    [[0.0, inf], [0.0, 7.0], [0.0, 7.0]]
    """
    into = np.concatenate([links.other, links.one])
    order = np.argsort(into, kind="stable")
    out_of = np.concatenate([links.one, links.other])[order]
    price = np.concatenate([links.price, links.price.transpose(1, 0, 2)], axis=2)[..., order]
    cells, first = np.unique(into[order], return_index=True)
    found = [np.tile(np.where(at_end, 0.0, np.inf), (3, 1))]
    for _ in range(count):
        last = found[-1]
        onward = np.tile(_lowest(last), (3, 1))
        if len(cells):
            reached = np.minimum.reduceat(_along(last[:, out_of], price), first, axis=1)
            onward[:, cells] = np.minimum(onward[:, cells], reached)
        better = np.isfinite(onward[0]) & (onward.mean(axis=0) < known.mean(axis=0))
        found.append(np.where(better, known, onward))
    return found


def through(links: Links, start: list[Floats], goal: list[Floats], bend: float) -> Floats:
    """Return the least price of going from start to goal by way of each pair of cells, bends with it.

    Parameters
    ----------
    links : Links
        The pairs.
    start, goal : list of ndarray
        From ``layers``: no more straight pieces in all than these have layers after the first.
    bend : float
        Price of a bend.
    """
    count = len(start) - 1
    from_goal = [goal[0]]
    for b, layer in enumerate(goal[1:], start=1):
        from_goal.append(np.minimum(from_goal[-1], layer + b * bend))
    least = np.full(len(links.one), np.inf)
    turned = links.price.transpose(1, 0, 2)
    for one, other, price in ((links.one, links.other, links.price), (links.other, links.one, turned)):
        for a in range(count):
            tried = np.flatnonzero(np.isfinite(start[a][0, one]))
            if len(tried):
                there = _along(start[a][:, one[tried]], price[..., tried])
                whole = there + from_goal[count - 1 - a][:, other[tried]] + a * bend
                least[tried] = np.minimum(least[tried], _lowest(whole))
    return least


def _along(so_far: Floats, price: Floats) -> Floats:
    """Add the prices (3, 3, n) of going on to those so far (3, n): the least at each corner of the next cell."""
    least = np.minimum(so_far[0] + price[0], so_far[1] + price[1])
    onward: Floats = np.minimum(least, so_far[2] + price[2])
    return onward


def _lowest(prices: Floats) -> Floats:
    """Return the lowest of three corners (3, n)."""
    lowest: Floats = np.minimum(np.minimum(prices[0], prices[1]), prices[2])
    return lowest
