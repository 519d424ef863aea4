"""Cells, the pieces of edges and points between which a trench goes straight, and pairs of them, as arrays."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from siteplan.route.proof.sightlines import Ints

Flags = NDArray[np.bool_]

NO_EDGE = -1
MIDWAY, START, GOAL = 0, 1, 2


@dataclass(frozen=True, slots=True)
class Cells:
    """Pieces of edges or walls, and points.

    Attributes
    ----------
    ends : ndarray of int
        (n, 2): nodes at the ends; the same one twice for a point.
    line : ndarray of int
        The straight line that it is a piece of: an edge by its number, a piece of wall after these; -1 for a point.
    role : ndarray of int
        START, GOAL or MIDWAY.
    """

    ends: Ints
    line: Ints
    role: Ints

    def __len__(self) -> int:
        return len(self.ends)


@dataclass(frozen=True, slots=True)
class Pairs:
    """Pairs of cells of one region that may see each other.

    Attributes
    ----------
    cells : ndarray of int
        (n, 2).
    region : ndarray of int
    shared : ndarray of bool
        The two cells share a node.
    far_cut : ndarray of bool
        They share a node and see each other only through it.
    clear : ndarray of bool
        (n, 4): which of the segments between their ends are free.
    """

    cells: Ints
    region: Ints
    shared: Flags
    far_cut: Flags
    clear: Flags

    def __len__(self) -> int:
        return len(self.cells)

    def take(self, kept: Flags) -> Pairs:
        """Return some of the pairs."""
        return Pairs(
            self.cells[kept], self.region[kept], self.shared[kept], self.far_cut[kept], self.clear[kept]
        )


def touching(ends: Ints) -> Ints:
    """Return the shared node, the other of the one cell and the other of the other cell, (n, 3), from (n, 2, 2) nodes."""
    one, other = ends[:, 0], ends[:, 1]
    first = (one[:, 0] == other[:, 0]) | (one[:, 0] == other[:, 1])
    shared = np.where(first, one[:, 0], one[:, 1])
    return np.stack([shared, one.sum(axis=1) - shared, other.sum(axis=1) - shared], axis=1)


def all_of(found: list[Pairs]) -> Pairs:
    """Return the pairs of several lists in one."""
    if not found:
        none = np.zeros(0, bool)
        return Pairs(np.zeros((0, 2), np.int64), np.zeros(0, np.int64), none, none, np.zeros((0, 4), bool))
    return Pairs(*(np.concatenate([getattr(pairs, name) for pairs in found]) for name in Pairs.__slots__))
