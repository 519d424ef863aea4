"""Least prices along straight pieces from cell to cell, by how many there are."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from siteplan.route.proof.sightlines import Floats, Ints

_FLAT = 1e-9
_TOLD_APART = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Links:
    """Pairs of cells that a straight piece of trench may join.

    Attributes
    ----------
    one, other : ndarray of int
        (pairs,): the cells.
    price : ndarray
        (3, 3, pairs): least price of the piece, by corner of the first and of the second cell; may be interpolated.
    due : ndarray
        (pairs,): what of the price does not depend on the length.
    legs : ndarray
        (2, pairs): what of that is due for the bend onto a leg at the first and at the second cell.
    least : ndarray
        (pairs,): what every piece costs.
    error_m : ndarray
        (2, pairs): how much of it may be due to the size of the first and of the second cell.
    clear : ndarray of bool
        (pairs, 9): whether the corners see each other.
    """

    one: Ints
    other: Ints
    price: Floats
    due: Floats
    legs: Floats
    least: Floats
    error_m: Floats
    clear: NDArray[np.bool_]

    def take(self, kept: NDArray[np.bool_]) -> Links:
        """Return some of the pairs."""
        return Links(
            one=self.one[kept],
            other=self.other[kept],
            price=self.price[..., kept],
            due=self.due[kept],
            legs=self.legs[:, kept],
            least=self.least[kept],
            error_m=self.error_m[:, kept],
            clear=self.clear[kept],
        )


def layers(
    links: Links, at: Floats, metre: float, at_end: NDArray[np.bool_], known: Floats, count: int
) -> list[Floats]:
    """Return the least prices of reaching the cells from an end by exactly 0, 1, ..., ``count`` straight pieces.

    From four pieces on, it is the least price of reaching them in any way.

    Parameters
    ----------
    links : Links
        Pieces from a cell to the same one are not among them.
    at : ndarray
        (n, 3, 2): the cells.
    metre : float
        A price that no metre falls below.
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
    >>> links = Links(
    ...     one=np.array([0]), other=np.array([1]), price=price, due=np.zeros(1), least=np.full(1, 7.0),
    ...     legs=np.zeros((2, 1)), error_m=np.zeros((2, 1)), clear=price[0] > 0,
    ... )
    >>> at = np.array([[[0.0, 0.0]] * 3, [[7.0, 0.0]] * 3])
    >>> [layer[0].tolist() for layer in layers(links, at, 1.0, np.array([True, False]), np.zeros((3, 2)), 2)]
    [[0.0, inf], [0.0, 7.0], [0.0, 7.0]]
    """
    into = np.concatenate([links.other, links.one])
    order = np.argsort(into, kind="stable")
    out_of, into = np.concatenate([links.one, links.other])[order], into[order]
    price = np.concatenate([links.price, links.price.transpose(1, 0, 2)], axis=2)[..., order]
    due = np.concatenate([links.due, links.due])[order]
    least = np.concatenate([links.least, links.least])[order]
    cells, first = np.unique(into, return_index=True)
    found = [np.tile(np.where(at_end, 0.0, np.inf), (3, 1))]
    for _ in range(min(count, _TOLD_APART)):
        last = found[-1]
        planes = Planes(last, at, metre)
        every = np.arange(len(at))
        onward = _better(np.tile(_lowest(last), (3, 1)), planes.at(every, every))
        if len(cells):
            reached = _better(_along(last[:, out_of], price), planes.at(out_of, into) + due)
            reached = _better(reached, np.tile(_lowest(last)[out_of] + least, (3, 1)))
            reached = np.minimum.reduceat(reached, first, axis=1)
            onward[:, cells] = np.minimum(onward[:, cells], reached)
        better = np.isfinite(onward[0]) & (onward.mean(axis=0) < known.mean(axis=0))
        found.append(np.where(better, known, onward))
    return found + [known] * (count - _TOLD_APART)


class Planes:
    """Prices in each cell, carried on in the direction in which they rise.

    From x in a cell, where the least price is A(x), a piece to y costs no less than A(x) + m u.(y - x), whatever u of length
    1 or less; so no less than m u.y + min over the corners of A(x_i) - m u.x_i. Here u is the slope of A, cut to 1: a short
    piece then gains nothing.

    Parameters
    ----------
    price : ndarray
        (3, n): at the corners.
    at : ndarray
        (n, 3, 2): the cells.
    metre : float
        A price that no metre falls below.
    """

    def __init__(self, price: Floats, at: Floats, metre: float) -> None:
        self._x, self._y = at.transpose(2, 1, 0).copy()
        reached = np.isfinite(price[0])
        a, b, c = np.where(reached, price, 0.0)
        (ax, bx, cx), (ay, by, cy) = self._x, self._y
        bx, by, cx, cy = bx - ax, by - ay, cx - ax, cy - ay
        twice = bx * cy - by * cx
        flat = np.abs(twice) < _FLAT * (bx * bx + by * by + cx * cx + cy * cy) + 1e-300
        share = np.where(flat, 1.0, twice)
        along = (b - a) / np.maximum(bx * bx + by * by, 1e-300)
        slope_x = np.where(flat, along * bx, ((b - a) * cy - (c - a) * by) / share)
        slope_y = np.where(flat, along * by, ((c - a) * bx - (b - a) * cx) / share)
        cut = metre / np.maximum(np.hypot(slope_x, slope_y), max(metre, 1e-300))
        self._slope_x, self._slope_y = slope_x * cut, slope_y * cut
        self._base = _lowest(price - self._slope_x * self._x - self._slope_y * self._y)

    def at(self, cells: Ints, others: Ints) -> Floats:
        """Return the prices (3, k), carried on from some cells, at the corners of others."""
        carried: Floats = (
            self._base[cells]
            + self._slope_x[cells] * self._x[:, others]
            + self._slope_y[cells] * self._y[:, others]
        )
        return carried


def _better(one: Floats, other: Floats) -> Floats:
    """Return, cell by cell, which prices (3, k) are the higher on average."""
    return np.where(other.sum(axis=0) > one.sum(axis=0), other, one)


def through(
    links: Links,
    at: Floats,
    metre: float,
    fields: list[list[Floats]],
    bends: Callable[[int, int, int, Ints], Floats],
    always: float,
) -> tuple[Floats, float]:
    """Return the least price of going from start to goal by way of each pair of cells, bends with it; and that of any.

    A trench has a first straight piece, a second one, and so on: whichever of its pieces is asked for, some pair of cells must
    be cheap enough for it. So for any number of pieces the dearest of these counts.

    Parameters
    ----------
    links : Links
        The pairs.
    at, metre : ndarray, float
        As for ``layers``.
    fields : list
        From ``layers``, for the start and for the goal; no more straight pieces in all than these have layers after the first.
    bends : callable
        The least prices of all bends, from ``turning.BendsOnTheWay.least``.
    always : float
        Price of any trench, bends apart.
    """
    start, goal = fields
    count = len(start) - 1
    planes = [Planes(layer, at, metre) for layer in start[: _TOLD_APART + 2]]
    least = np.full(len(links.one), np.inf)
    by_piece = np.full((count, count), np.inf)
    turned = links.price.transpose(1, 0, 2)
    ways = ((links.one, links.other, links.price), (links.other, links.one, turned))
    for way, (one, other, price) in enumerate(ways):
        for a in range(count):
            if a == 0 or start[a] is not start[a - 1]:
                tried = np.flatnonzero(np.isfinite(start[a][0, one]))
                there = _along(start[a][:, one[tried]], price[..., tried])
                there = _better(there, planes[a].at(one[tried], other[tried]) + links.due[tried])
                there = _better(there, np.tile(_lowest(start[a][:, one[tried]]) + links.least[tried], (3, 1)))
            for b in range(count - a):
                whole = np.maximum(_lowest(there + goal[b][:, other[tried]]), always)
                whole += bends(way, a, b, tried)
                least[tried] = np.minimum(least[tried], whole)
                by_piece[a, b] = min(by_piece[a, b], whole.min(initial=np.inf))
    at_all = min(max(by_piece[a, pieces - a] for a in range(pieces + 1)) for pieces in range(count))
    return least, float(at_all)


def _along(so_far: Floats, price: Floats) -> Floats:
    """Add the prices (3, 3, n) of going on to those so far (3, n): the least at each corner of the next cell."""
    least = np.minimum(so_far[0] + price[0], so_far[1] + price[1])
    onward: Floats = np.minimum(least, so_far[2] + price[2])
    return onward


def _lowest(prices: Floats) -> Floats:
    """Return the lowest of three corners (3, n)."""
    lowest: Floats = np.minimum(np.minimum(prices[0], prices[1]), prices[2])
    return lowest
