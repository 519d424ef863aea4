"""Places in the plane and what stands between them: each keeps its directions to the blockers, worked out once."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from siteplan.route.proof.sightlines import Bits, Floats, Ints, all_cut_by, cut_by, tangents

_DENSE = 1200


class Places:
    """A growing list of places.

    Parameters
    ----------
    blockers : sequence of ndarray
        Convex polygons, (m, 2) each, metres.

    Attributes
    ----------
    at : ndarray
        (n, 2), metres.

    Examples
    --------
    >>> places = Places([np.array([[1, -1], [2, -1], [2, 1], [1, 1]], float)])
    >>> ids = places.add(np.array([[0, 0], [4, 0], [4, 9]], float))
    >>> places.cut(ids[:1], ids[1:2]).tolist(), places.cut(ids[:1], ids[2:]).tolist()
    ([[1]], [[0]])
    """

    def __init__(self, blockers: Sequence[Floats]) -> None:
        self._blockers = blockers
        self.at: Floats = np.zeros((0, 2))
        self._table = tangents(self.at, blockers)

    def add(self, points: Floats) -> Ints:
        """Add points (k, 2) and return their numbers."""
        numbers = len(self.at) + np.arange(len(points))
        self.at = np.concatenate([self.at, points])
        self._table = np.concatenate([self._table, tangents(points, self._blockers)])
        return numbers

    def cut(self, one: Ints, other: Ints) -> Bits:
        """Tell which blockers cut the segments between pairs of places, as ``cut_by``; each pair is looked at once."""
        count = len(self.at)
        low, high = np.minimum(one, other), np.maximum(one, other)
        used, spot = np.unique(np.concatenate([low, high]), return_inverse=True)
        if len(used) < _DENSE and 3 * len(low) > len(used) ** 2:
            dense = all_cut_by(self.at[used], self._table[used])
            return dense[spot[: len(low)], spot[len(low) :]]
        keys, back = np.unique(low * count + high, return_inverse=True)
        found: Bits = cut_by(self.at, keys // count, keys % count, self._table)[back]
        return found

    def sees(self, one: Ints, other: Ints) -> NDArray[np.bool_]:
        """Tell for pairs of places whether nothing is between them."""
        clear: NDArray[np.bool_] = (self.cut(one, other) == 0).all(axis=1)
        return clear

    def length_m(self, one: Ints, other: Ints) -> Floats:
        """Return the straight distances [m] of pairs of places."""
        way = self.at[one] - self.at[other]
        lengths: Floats = np.hypot(way[..., 0], way[..., 1])
        return lengths
