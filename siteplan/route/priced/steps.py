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
        left_m = np.maximum(length_m[self._link] - self._at_m, 0.0)
        sums = np.bincount(self._link, weights=self._up * left_m, minlength=len(length_m)).astype(np.float64)
        whole: Floats = sums + self._level * length_m
        return whole

    def between(self, link: Ints, begin_m: Floats, end_m: Floats) -> Floats:
        """Return the sums over stretches of links."""
        order = np.argsort(self._link, kind="stable")
        sorted_link = self._link[order]
        first, stop = np.searchsorted(sorted_link, link), np.searchsorted(sorted_link, link, side="right")
        count = stop - first
        stretch = np.repeat(np.arange(len(link)), count)
        step = order[np.arange(len(stretch)) + np.repeat(first - np.cumsum(count) + count, count)]
        left_m = np.minimum(end_m[stretch] - self._at_m[step], (end_m - begin_m)[stretch])
        weights = self._up[step] * np.maximum(left_m, 0.0)
        sums = np.bincount(stretch, weights=weights, minlength=len(link)).astype(np.float64)
        between: Floats = sums + self._level * (end_m - begin_m)
        return between
