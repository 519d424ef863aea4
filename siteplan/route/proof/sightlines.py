"""Which lines of sight are cut by which convex blockers, as bits.

A segment between two points outside a convex open set meets it exactly if each end lies within the angle that the set
fills as seen from the other end. So two directions for each point and blocker are worked out once, and then a segment
costs a few products for each blocker. A segment that only touches a blocker, or cuts it by less than 1e-7 of a radian,
counts as clear.

*Shadow lemma.* For a convex set K and a point y outside it, the points x whose segment xy meets K are a convex set: K and
its shadow from y. So if one blocker cuts all four segments between the ends of two cells, it cuts every segment between
the cells: from each end of the second cell the whole first cell is in the shadow, then from each point of the first cell
the whole second.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bits = NDArray[np.uint64]

_CLEAR = 1e-7
_SAME_PLACE_M2 = 1e-14
_AT_ONCE = 1 << 15


def tangents(points: Floats, blockers: Sequence[Floats]) -> Floats:
    """Return the directions in which each blocker begins and ends as seen from each point.

    Parameters
    ----------
    points : ndarray
        (n, 2), metres; none inside a blocker.
    blockers : sequence of ndarray
        Convex polygons, (m, 2) each.

    Returns
    -------
    ndarray
        (n, blockers, 4): unit vector to the right edge, then to the left edge; zeros where there is nothing to see.

    Examples
    --------
    >>> tangents(np.zeros((1, 2)), [np.array([[1, -1], [2, -1], [2, 1], [1, 1]], float)]).round(3).tolist()
    [[[0.707, -0.707, 0.707, 0.707]]]
    """
    found = np.zeros((len(points), len(blockers), 4))
    sizes = np.array([len(blocker) for blocker in blockers], dtype=np.int64)
    for size in np.unique(sizes):
        alike = np.flatnonzero(sizes == size).tolist()
        found[:, alike] = _tangents(points, np.stack([blockers[k] for k in alike]))
    return found


def _tangents(points: Floats, corners: Floats) -> Floats:
    """Return the directions for blockers with the same number of corners, (k, m, 2)."""
    to_x = corners[None, :, :, 0] - points[:, 0, None, None]
    to_y = corners[None, :, :, 1] - points[:, 1, None, None]
    middle_x, middle_y = to_x.mean(axis=2, keepdims=True), to_y.mean(axis=2, keepdims=True)
    left = middle_x * to_y - middle_y * to_x
    ahead = middle_x * to_x + middle_y * to_y
    # grows with the angle from the middle, from -2 straight behind on the right to 2 on the left
    turn = left / np.maximum(np.abs(left) + np.abs(ahead), 1e-300)
    turn = np.where(ahead < 0.0, np.copysign(2.0, left) - turn, turn)
    here = to_x * to_x + to_y * to_y < _SAME_PLACE_M2
    ends = []
    for spot in (np.where(here, 9.0, turn).argmin(axis=2), np.where(here, -9.0, turn).argmax(axis=2)):
        x = np.take_along_axis(to_x, spot[..., None], 2)[..., 0]
        y = np.take_along_axis(to_y, spot[..., None], 2)[..., 0]
        far = np.maximum(np.hypot(x, y), 1e-300)
        ends += [x / far, y / far]
    directions: Floats = np.stack(ends, axis=-1)
    return directions


def cut_by(points: Floats, one: Ints, other: Ints, table: Floats) -> Bits:
    """Tell which blockers cut the segments between points.

    Parameters
    ----------
    points : ndarray
        (n, 2), metres.
    one, other : ndarray of int
        (s,): the ends of the segments.
    table : ndarray
        From ``tangents(points, ...)``.

    Returns
    -------
    ndarray of uint64
        (s, words): bit ``k % 64`` of word ``k // 64`` is set if blocker ``k`` cuts the segment.

    Examples
    --------
    >>> points = np.array([[0, 0], [4, 0], [4, 9]], float)
    >>> table = tangents(points, [np.array([[1, -1], [2, -1], [2, 1], [1, 1]], float)])
    >>> cut_by(points, np.array([0, 0]), np.array([1, 2]), table).tolist()
    [[1], [0]]
    """
    count = table.shape[1]
    found = np.zeros((len(one), words(count)), np.uint64)
    for first in range(0, len(one), _AT_ONCE):
        a, b = one[first : first + _AT_ONCE], other[first : first + _AT_ONCE]
        way = points[b] - points[a]
        x, y = way.T
        slack = _CLEAR * np.hypot(x, y)
        for k in range(count):
            from_a = table[a, k]
            hit = np.flatnonzero(
                (from_a[:, 0] * y - from_a[:, 1] * x > slack) & (x * from_a[:, 3] - y * from_a[:, 2] > slack)
            )
            if len(hit):
                from_b, hit_x, hit_y, at_least = table[b[hit], k], x[hit], y[hit], slack[hit]
                hit = hit[
                    (from_b[:, 1] * hit_x - from_b[:, 0] * hit_y > at_least)
                    & (hit_y * from_b[:, 2] - hit_x * from_b[:, 3] > at_least)
                ]
                found[first + hit, k >> 6] |= np.uint64(1 << (k & 63))
    return found


def all_cut_by(points: Floats, table: Floats) -> Bits:
    """Tell which blockers cut the segments between all points: (n, n, words), as ``cut_by``.

    Quicker than ``cut_by`` where nearly all pairs are wanted.
    """
    count = table.shape[1]
    found = np.zeros((len(points), len(points), words(count)), np.uint64)
    x = points[None, :, 0] - points[:, None, 0]
    y = points[None, :, 1] - points[:, None, 1]
    slack = _CLEAR * np.hypot(x, y)
    for k in range(count):
        right_x, right_y, left_x, left_y = (table[:, k, part, None] for part in range(4))
        within = (right_x * y - right_y * x > slack) & (x * left_y - y * left_x > slack)
        within &= within.T.copy()
        found[:, :, k >> 6] |= within.astype(np.uint64) << np.uint64(k & 63)
    return found


def words(count: int) -> int:
    """Return how many words of 64 bits hold a bit for each of some blockers, at least one."""
    return max(1, (count + 63) // 64)


def one_cuts_all(bits: Sequence[Bits]) -> NDArray[np.bool_]:
    """Tell, row by row, whether some one blocker cuts every segment of that row."""
    shared = bits[0]
    for more in bits[1:]:
        shared = shared & more
    cut: NDArray[np.bool_] = (shared != 0).any(axis=1)
    return cut


def clear(bits: Bits) -> NDArray[np.bool_]:
    """Tell, row by row, whether no blocker cuts the segment."""
    free: NDArray[np.bool_] = (bits == 0).all(axis=1)
    return free
