"""Amounts per metre that change in steps along links: prices of digging, or whether the ground is shut."""

from __future__ import annotations

import numpy as np

from siteplan.route.mesh import Floats, Ints


class Steps:
    """What a metre of each link amounts to, as steps from one level to the next.

    Parameters
    ----------
    link : array of int (k,)
        On which link each step is.
    at_m : array (k,)
        How far along it; a step before its start holds from there.
    up : array (k,)
        By how much the level rises.
    level : float
        Level of all links far before their start.

    Examples
    --------
    >>> road = Steps(np.array([0, 0]), np.array([4.0, 6.0]), np.array([100.0, -100.0]), 30.0)
    >>> road.whole(np.array([10.0])).tolist(), road.between(np.array([0]), np.array([3.0]), np.array([5.0])).tolist()
    ([500.0], [160.0])
    """

    def __init__(self, link: Ints, at_m: Floats, up: Floats, level: float) -> None:
        self._link, self._at_m, self._up, self._level = link, np.maximum(at_m, 0.0), up, level

    def whole(self, length_m: Floats) -> Floats:
        """Return the sums over links of these lengths."""
        left_m = np.maximum(length_m.take(self._link) - self._at_m, 0.0)
        whole: Floats = self._level * length_m
        whole += np.bincount(self._link, weights=self._up * left_m, minlength=len(length_m))
        return whole

    def between(self, link: Ints, begin_m: Floats, end_m: Floats) -> Floats:
        """Return the sums over stretches of links."""
        order = self._link.argsort(kind="stable")
        sorted_link = self._link.take(order)
        first, stop = sorted_link.searchsorted(link), sorted_link.searchsorted(link, side="right")
        count = stop - first
        stretch = np.arange(len(link)).repeat(count)
        step = order.take(np.arange(len(stretch)) + (first - count.cumsum() + count).repeat(count))
        length_m = end_m - begin_m
        left_m = np.minimum(end_m.take(stretch) - self._at_m.take(step), length_m.take(stretch))
        np.maximum(left_m, 0.0, out=left_m)
        between: Floats = self._level * length_m
        between += np.bincount(stretch, weights=self._up.take(step) * left_m, minlength=len(link))
        return between
