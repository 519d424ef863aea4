"""What a straight way between two cells costs at least, told by the ends of the cells.

A *cell* is a piece of an edge, or a point. A potential that is given at the ends of the cells and linear in between is a
lower bound of the price from the start, if between any two points x and y of two cells in sight of each other it does not
rise by more than the price of the straight way xy. These are sufficient for that:

* *Smooth.* |xy| is convex in x and in y, its second derivative along a cell is h^2/d^3 <= 1/d, d the distance and h
  the distance of the one point from the line of the other cell. So the interpolation between the values at the ends is
  too high by no more than e = (I^2 H_I + J^2 H_J) / 8, I and J the lengths of the cells, nor by more than half of each
  cell. If the potential rises from end to end by no more than rate (|xy| - e), it does not rise from x to y by more
  than rate |xy|.
* *Flat.* All four rises are no more than rate times the distance of the cells.
* *Steep.* Beside an axis with a least angle a a trench must zigzag where the way is flatter: it is as long as the
  way along the axis, by cos a. That is linear in x and y.
* *Bored.* The pits, and the metres or the least charge, between two edges where a patch ends.
* *Touching.* Cells with a shared end have d = 0. With slopes A and B from the shared end, the rise is (t A + s B) for
  points at t and s from it: its largest share of the distance is a closed formula, and if the slopes are cut down to
  the rate by that share, the condition holds. A short bore costs more by the metre than a
  long one, so the rate there is that of the longest.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from siteplan.route.proof.convex import Floats
from siteplan.route.proof.sightlines import Ints
from siteplan.route.scene import Bore

_LEAST_M = 1e-9


@dataclass(frozen=True, slots=True)
class Ways:
    """Pairs of cells and the straight ways between them.

    Attributes
    ----------
    ends : ndarray
        (n, 4, 2): both ends of the one cell, then both ends of the other.
    apart_m : ndarray
        (n, 4): distances between the ends: first to third, first to fourth, second to third, second to fourth.
    near_m : ndarray
        (n,): distance of the cells.
    slack_m : ndarray
        (n,): how much the interpolation of the distance may be too high.
    """

    ends: Floats
    apart_m: Floats
    near_m: Floats
    slack_m: Floats

    def take(self, kept: Ints) -> Ways:
        """Return some of the pairs."""
        return Ways(self.ends[kept], self.apart_m[kept], self.near_m[kept], self.slack_m[kept])


def ways_between(ends: Floats) -> Ways:
    """Measure pairs of cells that do not cross.

    Examples
    --------
    >>> ways = ways_between(np.array([[[0, 0], [0, 2], [10, 0], [10, 0]]], float))
    >>> ways.apart_m.round(3).tolist(), ways.near_m.tolist(), ways.slack_m.round(4).tolist()
    ([[10.0, 10.0, 10.198, 10.198]], [10.0], [0.05])
    """
    a, b, c, d = (ends[:, k] for k in range(4))
    apart_m = np.stack([_length(x - y) for x in (a, b) for y in (c, d)], axis=1)
    near_m = np.minimum(
        np.minimum(_from_segment(a, c, d), _from_segment(b, c, d)),
        np.minimum(_from_segment(c, a, b), _from_segment(d, a, b)),
    )
    slack_m = _slack(a, b, c, d, near_m) + _slack(c, d, a, b, near_m)
    return Ways(ends, apart_m, near_m, slack_m)


def dug(ways: Ways, rate: Floats) -> tuple[Floats, Floats]:
    """Return the least prices of digging between the ends of cells, (n, 4), and the prices themselves.

    Parameters
    ----------
    ways : Ways
    rate : ndarray
        (n,): price of a metre; infinite where nothing may be dug.
    """
    barred = np.isinf(rate)
    finite = np.where(barred, 0.0, rate)
    price = finite[:, None] * ways.apart_m
    least = _better(price - (finite * ways.slack_m)[:, None], finite * ways.near_m)
    least[barred] = np.inf
    price[barred] = np.inf
    return least, price


def steep(ways: Ways, least: Floats, rate: Floats, along: Floats, cosine: float) -> Floats:
    """Return the least prices where a trench keeps a least angle, its cosine given, to an axis along a unit vector."""
    a, b, c, d = (ways.ends[:, k] @ along for k in range(4))
    rise = np.stack([y - x for x in (a, b) for y in (c, d)], axis=1)
    one_way = (rise.min(axis=1) >= 0.0) | (rise.max(axis=1) <= 0.0)
    zigzag = np.where(np.isinf(rate), 0.0, rate)[:, None] * np.abs(rise) / max(cosine, _LEAST_M)
    better = one_way & (zigzag.mean(axis=1) > least.mean(axis=1))
    return np.where(better[:, None], zigzag, least)


def bored(ways: Ways, bore: Bore) -> tuple[Floats, Floats]:
    """Return the least prices of boring between the ends of cells, (n, 4), and the prices themselves."""
    pits, floor, metre = bore.pits.price, bore.least.price, bore.per_m.price
    smooth = pits + metre * (ways.apart_m - ways.slack_m[:, None])
    least = _better(smooth, pits + np.maximum(floor, metre * ways.near_m))
    least[ways.near_m > bore.longest_m] = np.inf
    price = pits + np.maximum(floor, metre * ways.apart_m)
    price[ways.apart_m > bore.longest_m] = np.inf
    return least, price


def bored_rate(bore: Bore, length_m: Floats) -> Floats:
    """Return the least price of a metre of bores no longer than this."""
    length_m = np.maximum(np.minimum(length_m, bore.longest_m), _LEAST_M)
    rate: Floats = (bore.pits.price + np.maximum(bore.least.price, bore.per_m.price * length_m)) / length_m
    return rate


def touching_share(ends: Floats, slopes: Floats, rate: Floats) -> Floats:
    """Return by what share the slopes of cells that share an end must be cut.

    Parameters
    ----------
    ends : ndarray
        (n, 3, 2): the shared end, the other end of the one cell, the other end of the other cell.
    slopes : ndarray
        (n, 2): of both cells.
    rate : ndarray
        (n,): price of a metre between them.

    Examples
    --------
    Square to each other, at equal prices: 1 by the square root of 2.

    >>> corner = np.array([[[0, 0], [3, 0], [0, 2]]], float)
    >>> touching_share(corner, np.ones((1, 2)), np.ones(1)).round(4).tolist()
    [0.7071]
    """
    one, other = ends[:, 1] - ends[:, 0], ends[:, 2] - ends[:, 0]
    one, other = one / _length(one)[:, None], other / _length(other)[:, None]
    cosine = (one * other).sum(axis=1)
    sine = np.abs(one[:, 0] * other[:, 1] - one[:, 1] * other[:, 0])
    first, second = slopes.T

    inside = (second + first * cosine > 0.0) & (first + second * cosine > 0.0)
    square = np.maximum(first**2 + second**2 + 2 * first * second * cosine, 0.0)
    need = np.where(inside, np.sqrt(square) / np.maximum(sine, 1e-12), np.maximum(first, second))
    share: Floats = np.minimum(1.0, rate / np.maximum(need, 1e-12))
    return share


def _better(smooth: Floats, flat: Floats) -> Floats:
    """Choose pair by pair between the smooth prices and the flat one."""
    flatter = (smooth.mean(axis=1) < flat) | (smooth.min(axis=1) < 0.0)
    chosen: Floats = np.where(flatter[:, None], flat[:, None], smooth)
    return chosen


def _slack(a: Floats, b: Floats, c: Floats, d: Floats, near_m: Floats) -> Floats:
    """Return how much too high the distance from cd is, interpolated along ab."""
    length_m, tiny = _length(b - a), np.maximum(near_m, _LEAST_M)
    aside_m = np.maximum(_from_line(c, a, b), _from_line(d, a, b))
    bent = np.minimum(aside_m**2 / tiny**3, 1.0 / tiny)
    slack_m: Floats = np.minimum(length_m**2 * bent / 8, length_m / 2)
    return slack_m


def _length(way: Floats) -> Floats:
    length_m: Floats = np.hypot(way[..., 0], way[..., 1])
    return length_m


def _from_line(place: Floats, tail: Floats, head: Floats) -> Floats:
    """Distance of places from lines; 0 from a line without length."""
    way = head - tail
    across = way[:, 0] * (place - tail)[:, 1] - way[:, 1] * (place - tail)[:, 0]
    length_m = _length(way)
    aside_m: Floats = np.abs(across) / np.where(length_m > 0.0, length_m, 1.0)
    return aside_m


def _from_segment(place: Floats, tail: Floats, head: Floats) -> Floats:
    """Distance of places from segments."""
    way = head - tail
    square = (way * way).sum(axis=-1)
    share = np.clip(((place - tail) * way).sum(axis=-1) / np.where(square > 0.0, square, 1.0), 0.0, 1.0)
    return _length(place - tail - share[..., None] * way)
