"""The price of straight links as trench, thousands at a time.

A link is priced by where its line crosses edges at which the price changes: each edge adds its jump in price for the rest
of the link. Of the two sides of an edge that a link runs along the cheaper one counts, if it is free ground. Whether the
free ground holds a link, and how much of it lies in a zone or on shut ground, is counted in the same way.
"""

from __future__ import annotations

import math
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from siteplan.route.mesh import Floats, Ints
from siteplan.route.priced.bores import Bores
from siteplan.route.priced.faces import borders
from siteplan.route.priced.outlines import Crossings, Edges, Lines, Outlines
from siteplan.route.priced.steps import Steps
from siteplan.route.priced.zone_edges import Bools, Zones
from siteplan.route.priced.zones import NEAR_M, with_edge
from siteplan.route.scene import Scene

Flags: TypeAlias = bool | NDArray[np.bool_]

_AT_ONCE = 500
"""So many links are priced at once that the tables stay small."""


class Links:
    """Prices straight links over one scene. Bends are not in the prices.

    Parameters
    ----------
    scene : Scene
        Metres.
    """

    def __init__(self, scene: Scene) -> None:
        self._plain = scene.plain
        self._borders = borders(scene)
        self._bores = Bores(scene)
        self._zones = Zones(scene)
        free = Edges.of([with_edge(scene.free)])
        self._free = Outlines(free.start, free.end)
        self._rows = len(self._borders.start)
        layers = (
            self._borders,
            self._bores.shut,
            self._bores.through,
            self._zones.strips,
            self._zones.axes,
            free,
        )
        self._all = Outlines(*(np.vstack([getattr(one, end) for one in layers]) for end in ("start", "end")))
        self._first = np.cumsum([0, *(len(layer.start) for layer in layers)])
        self._jump = self._borders.left - self._borders.right

    def prices(
        self,
        starts: Floats,
        ends: Floats,
        *,
        first: Flags = False,
        last: Flags = False,
        in_free: Flags = True,
    ) -> Floats:
        """Price straight links; infinite where a trench may not lie.

        Parameters
        ----------
        starts, ends : array (n, 2)
            Metres; a single start or end goes with all the others.
        first, last : bool or array of bool (n,)
            Whether the trench starts with this link, or ends with it: then it may be flat in a zone that holds that start
            or end, and owes nothing for a line on which it starts or ends. A link that bends on a line owes half the toll.
        in_free : bool or array of bool (n,)
            Whether a link must lie in the free ground; False for the last leg to a wall.

        Returns
        -------
        array (n,)
            Price, infinite if the link leaves the free ground by more than 1e-6 m, digs shut ground or runs along a line
            in its zone.

        Examples
        --------
        >>> from shapely import box
        >>> from siteplan.route.scene import Charge, Patch
        >>> dig, rock = (Charge(row="", price=price) for price in (10.0, 40.0))
        >>> ledge = Patch(feature="ledge", area=box(4, 0, 6, 9), dig=rock)
        >>> links = Links(Scene(free=box(0, 0, 9, 9), dig=dig, restore=dig, patches=(ledge,)))
        >>> links.prices(np.array([[1.0, 1.0]]), np.array([[8.0, 1.0], [1.0, 9.0], [8.0, 10.0]])).tolist()
        [200.0, 160.0, inf]
        """
        if starts.shape != ends.shape:
            starts, ends = np.broadcast_arrays(starts, ends)
        at_start, at_end, held = (_for_each(flag, len(starts)) for flag in (first, last, in_free))
        price = np.empty(len(starts))
        for i in range(0, len(starts), _AT_ONCE):
            part = slice(i, i + _AT_ONCE)
            lines = Lines(starts[part], ends[part])
            price[part] = self._prices(lines, at_start[part], at_end[part], held[part])
        return price

    def held(self, starts: Floats, ends: Floats) -> NDArray[np.bool_]:
        """Tell which links the free ground holds."""
        held = np.empty(len(starts), dtype=bool)
        for i in range(0, len(starts), _AT_ONCE):
            part = slice(i, i + _AT_ONCE)
            lines = Lines(starts[part], ends[part])
            found = self._free.crossings(lines, self._free.aside(lines))
            held[part] = _inside(lines, found)
        return held

    def changes(self, starts: Floats, ends: Floats) -> tuple[Ints, Floats, Floats]:
        """Find where links cross edges at which the price of digging changes.

        Returns
        -------
        link : array of int (k,)
            Which link.
        place, along : array (k, 2)
            Where, and the unit direction of the edge.
        """
        lines = Lines(starts, ends)
        found = self._all.crossings(lines, self._all.aside(lines))
        within = (found.edge < self._rows) & (found.at_m > 0.0) & (found.at_m < lines.length_m[found.link])
        found = found.only(within.nonzero()[0])
        edges = Lines(self._borders.start[found.edge], self._borders.end[found.edge])
        return found.link, starts[found.link] + found.at_m[:, None] * lines.unit[found.link], edges.unit

    def _prices(self, lines: Lines, first: Bools, last: Bools, held: Bools) -> Floats:
        aside = self._all.aside(lines)
        found = self._all.crossings(lines, aside)
        borders, shut, through, strips, axes, free = found.layers(self._first)
        dug = self._dug(lines, borders, *self._all.along(aside, self._rows))
        priced = self._bores.cheaper(lines, dug, through, shut)
        self._zones.add_tolls(priced, lines, axes, first, last)
        self._zones.shut_flat(priced, lines, strips, first, last)
        if held.any():
            priced[held & ~_inside(lines, free)] = math.inf
        return priced

    def _dug(self, lines: Lines, found: Crossings, link: Ints, edge: Ints) -> Steps:
        """Return the price of a metre dug along each link; ``link`` runs along ``edge``."""
        up = self._jump[found.edge] * found.sign
        if not len(link):
            return Steps(found.link, found.at_m, up, self._plain)
        start = lines.starts[link]
        here, there = (
            np.einsum("ij,ij->i", place[edge] - start, lines.unit[link])
            for place in (self._borders.start, self._borders.end)
        )
        same_way = np.where(there > here, 1.0, -1.0)
        saved, outer = -same_way * self._jump[edge], same_way * self._borders.outer[edge]
        saved = np.where(outer == 0, np.maximum(saved, 0.0), np.where(outer < 0, saved, 0.0))
        return Steps(
            np.concatenate([found.link, link, link]),
            np.concatenate([found.at_m, np.minimum(here, there), np.maximum(here, there)]),
            np.concatenate([up, -saved, saved]),
            self._plain,
        )


def _for_each(flag: Flags, count: int) -> Bools:
    """Return a flag for each of some links."""
    if isinstance(flag, np.ndarray) and len(flag) == count:
        return flag
    return np.full(count, flag)


def _inside(lines: Lines, found: Crossings) -> Bools:
    """Tell which links lie in an area, given where they cross its outline."""
    inside_m = Steps(found.link, found.at_m, found.sign, 0.0).whole(lines.length_m)
    inside: Bools = lines.length_m - inside_m <= NEAR_M
    return inside
