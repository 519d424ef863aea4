"""Where straight links cross the edges of the ground, many links and edges at a time."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

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


class Crossings(NamedTuple):
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

    def only(self, which: Ints) -> Crossings:
        """Return some of them."""
        link, edge, at_m, sign = self
        return Crossings(link.take(which), edge.take(which), at_m.take(which), sign.take(which))

    def layers(self, first: Ints) -> list[Crossings]:
        """Return those with the edges of each of some layers, numbered from the first of the layer.

        Parameters
        ----------
        first : array of int
            The first edge of each layer and, last, how many edges there are.
        """
        link, edge, at_m, sign = self
        cuts = edge.searchsorted(first).tolist()
        return [
            Crossings(link[begin:end], edge[begin:end] - before, at_m[begin:end], sign[begin:end])
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
        self._corners, spot = np.unique(_complex(np.concatenate([start, end])), return_inverse=True)
        corners = self._corners
        self._table = np.stack([corners.real, corners.imag, np.ones(len(corners))], axis=1)
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
        over = left.take(self._from, axis=0)
        over ^= left.take(self._to, axis=0)
        edge, link = np.divmod(over.ravel().nonzero()[0], len(lines))
        here, there = self._from.take(edge), self._to.take(edge)
        asides = aside.ravel()
        at_here = asides.take(here * len(lines) + link)
        cut = at_here / (at_here - asides.take(there * len(lines) + link))
        np.clip(cut, 0.0, 1.0, out=cut)
        place = self._corners.take(here) * (1.0 - cut) + self._corners.take(there) * cut
        place -= _complex(lines.starts).take(link)
        unit = _complex(lines.unit).take(link)
        at_m = place.real * unit.real + place.imag * unit.imag
        sign = np.where(at_here >= -ON_M, 1.0, -1.0)
        near = at_m <= lines.length_m.take(link) + _BEYOND_M
        return Crossings(link, edge, at_m, sign).only(near.nonzero()[0])

    def along(self, aside: Floats, edges: int) -> tuple[Ints, Ints]:
        """Find which links lie on the line of which of the first edges, within 1e-7 m: links and edges."""
        on = aside <= ON_M
        on &= aside >= -ON_M
        links = on.shape[1]
        some = (np.bincount(on.ravel().nonzero()[0] % links, minlength=links) > 1).nonzero()[0]
        if not len(some):
            return some, some
        on = on[:, some]
        both = on.take(self._from[:edges], axis=0)
        both &= on.take(self._to[:edges], axis=0)
        edge, link = np.divmod(both.ravel().nonzero()[0], len(some))
        return some[link], edge


def _complex(places: Floats) -> NDArray[np.complex128]:
    """Return places, array (n, 2), as complex numbers."""
    numbers: NDArray[np.complex128] = np.ascontiguousarray(places).view(np.complex128)[:, 0]
    return numbers
