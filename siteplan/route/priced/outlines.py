"""Where straight links cross the edges of the ground, many links and edges at a time."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from siteplan.route.mesh import Floats, Ints

ON_M = 1e-7
"""A corner this near to the line of a link [m] counts as on it. Tolerances that edges are moved by are ten times as much."""

_BEYOND_M = 1e-5
"""Crossings so far beyond the end of a link are left out."""


class Edges:
    """Straight edges.

    Parameters
    ----------
    start, end : array (n, 2)
        Metres.
    owner : array of int (n,)
        What each edge belongs to.
    """

    def __init__(self, start: Floats, end: Floats, owner: Ints) -> None:
        self.start, self.end, self.owner = start, end, owner

    @classmethod
    def of(cls, areas: Sequence[BaseGeometry]) -> Edges:
        """Take the outlines of areas, the area on the left, each owned by its place in the sequence."""
        parts, owner = shapely.get_parts(np.array(areas, dtype=object), return_index=True)
        rings, part = shapely.get_rings(shapely.orient_polygons(parts), return_index=True)
        places, ring = shapely.get_coordinates(rings, return_index=True)
        same = ring[:-1] == ring[1:]
        return cls(places[:-1][same], places[1:][same], owner[part[ring[:-1][same]]])


class Lines:
    """Straight links as start, unit direction and length.

    Parameters
    ----------
    starts, ends : array (n, 2)
        Metres. A link without length has no direction.
    """

    def __init__(self, starts: Floats, ends: Floats) -> None:
        self.starts, self.ends = starts, ends
        along = ends - starts
        self.length_m: Floats = np.sqrt(along[:, 0] ** 2 + along[:, 1] ** 2)
        self.unit: Floats = along / np.maximum(self.length_m, 1e-300)[:, None]

    def __len__(self) -> int:
        return len(self.starts)


@dataclass(frozen=True, slots=True, kw_only=True)
class Crossings:
    """Where the lines through some links cross some edges, sorted by edge.

    Attributes
    ----------
    link, edge : array of int
        Which crosses which.
    at_m : array
        How far along the link from its start, negative before it; none much beyond its end.
    sign : array
        1 if the link goes over to the left of the edge, -1 to the right.
    """

    link: Ints
    edge: Ints
    at_m: Floats
    sign: Floats

    def only(self, which: NDArray[np.bool_]) -> Crossings:
        """Return some of them."""
        return Crossings(
            link=self.link[which], edge=self.edge[which], at_m=self.at_m[which], sign=self.sign[which]
        )

    def layers(self, first: Ints) -> list[Crossings]:
        """Return those with the edges of each of some layers, numbered from the first of the layer.

        Parameters
        ----------
        first : array of int
            The first edge of each layer and, last, how many edges there are.
        """
        cuts = np.searchsorted(self.edge, first).tolist()
        return [
            Crossings(
                link=self.link[begin:end],
                edge=self.edge[begin:end] - before,
                at_m=self.at_m[begin:end],
                sign=self.sign[begin:end],
            )
            for before, (begin, end) in zip(first.tolist(), pairwise(cuts), strict=False)
        ]


class Outlines:
    """A table of the corners of edges.

    Parameters
    ----------
    start, end : array (n, 2)
        The edges, metres.
    """

    def __init__(self, start: Floats, end: Floats) -> None:
        places = np.ascontiguousarray(np.vstack([start, end])).view(np.complex128)[:, 0]
        corners, spot = np.unique(places, return_inverse=True)
        self._x, self._y = corners.real.copy(), corners.imag.copy()
        self._table = np.stack([self._x, self._y, np.ones(len(corners))], axis=1)
        self._from, self._to = spot.reshape(2, -1)

    def aside(self, lines: Lines) -> Floats:
        """Return how far every corner lies to the left of the line of every link [m]: array (corners, links)."""
        (x, y), (along_x, along_y) = lines.starts.T, lines.unit.T
        line = np.stack([-along_y, along_x, along_y * x - along_x * y])
        aside: Floats = np.einsum(
            "ci,il->cl", self._table, line
        )  # "@" would start threads, and wait for them
        return aside

    def crossings(self, lines: Lines, aside: Floats) -> Crossings:
        """Find where the endless lines through links cross the edges.

        A corner within 1e-7 m of the line counts as to its left, so every line goes into an area as often as out of it.
        """
        left = aside >= -ON_M
        crossed = np.flatnonzero(left.take(self._from, axis=0) != left.take(self._to, axis=0))
        edge, link = np.divmod(crossed, len(lines))
        here, there = self._from[edge], self._to[edge]
        at_here = aside.ravel().take(here * len(lines) + link)
        apart = at_here - aside.ravel().take(there * len(lines) + link)
        apart[apart == 0.0] = 1.0
        cut = np.clip(at_here / apart, 0.0, 1.0)
        x = self._x[here] * (1.0 - cut) + self._x[there] * cut - lines.starts[:, 0][link]
        y = self._y[here] * (1.0 - cut) + self._y[there] * cut - lines.starts[:, 1][link]
        at_m = x * lines.unit[:, 0][link] + y * lines.unit[:, 1][link]
        sign = np.where(at_here >= -ON_M, 1.0, -1.0)
        found = Crossings(link=link, edge=edge, at_m=at_m, sign=sign)
        return found.only(at_m <= lines.length_m[link] + _BEYOND_M)

    def along(self, aside: Floats, edges: int) -> tuple[Ints, Ints]:
        """Find which links lie on the line of which of the first edges, within 1e-7 m: links and edges."""
        on = np.abs(aside) <= ON_M
        some = np.flatnonzero(np.count_nonzero(on, axis=0) > 1)
        if not len(some):
            return some, some
        on = on[:, some]
        both = on.take(self._from[:edges], axis=0) & on.take(self._to[:edges], axis=0)
        edge, link = np.divmod(np.flatnonzero(both), len(some))
        return some[link], edge
