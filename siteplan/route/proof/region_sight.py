"""Lines of sight within one region between the nodes of a net."""

from __future__ import annotations

import numpy as np
import shapely

from siteplan.route.proof.convex import Floats
from siteplan.route.proof.regions import Region
from siteplan.route.proof.sightlines import Bits, Ints, all_cut_by, cut_by, tangents, words

_SAME_M = 1e-7


class RegionSight:
    """Tells which blockers of a region cut a segment; what a node sees is worked out once."""

    def __init__(self, region: Region) -> None:
        self._blockers = region.blockers
        self._outlines = np.array([shapely.LinearRing(blocker) for blocker in self._blockers], dtype=object)
        self._row = np.zeros(0, np.int64)
        self._table: Floats = np.zeros((0, len(self._blockers), 4))

    def cut(self, at: Floats, one: Ints, other: Ints) -> Bits:
        """Tell which blockers cut the segments between nodes."""
        if not self._blockers:
            return np.zeros((len(one), words(0)), np.uint64)
        rows = self._rows(at, np.unique(np.concatenate([one, other])))
        low, high = np.minimum(one, other), np.maximum(one, other)
        key, back = np.unique(low * len(at) + high, return_inverse=True)
        low, high = key // len(at), key % len(at)
        places = np.zeros((len(self._table), 2))
        places[rows[low]], places[rows[high]] = at[low], at[high]
        return cut_by(places, rows[low], rows[high], self._table)[back]

    def all_cut(self, at: Floats, nodes: Ints) -> Bits:
        """Tell which blockers cut the segments between all of some nodes."""
        rows = self._rows(at, nodes)
        return all_cut_by(at[nodes], self._table[rows[nodes]])

    def touched(self, places: Floats) -> Bits:
        """Tell which blockers have some places on their boundaries."""
        found = np.zeros((len(places), words(len(self._blockers))), np.uint64)
        near = shapely.distance(shapely.points(places)[:, None], self._outlines) < _SAME_M
        for place, k in zip(*np.nonzero(near), strict=True):
            found[place, k >> 6] |= np.uint64(1 << (k & 63))
        return found

    def _rows(self, at: Floats, nodes: Ints) -> Ints:
        """Work out what new nodes see; return the row of every node."""
        if len(self._row) < len(at):
            self._row = np.append(self._row, np.full(len(at) - len(self._row), -1))
        new = nodes[self._row[nodes] < 0]
        if len(new):
            self._row[new] = len(self._table) + np.arange(len(new))
            self._table = np.concatenate([self._table, tangents(at[new], self._blockers)])
        return self._row
