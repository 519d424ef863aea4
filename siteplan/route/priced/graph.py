"""Likely bends and the ends of one trench, and the cheapest way among them with every bend at its least price.

A link that is not priced yet counts at its length times the least rate of the ground, never too dear. The cheapest way
with these prices is sought again and again, and what it might use is priced, until everything on it is.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from siteplan.route.mesh import Floats, Ints
from siteplan.route.priced.feet import Feet
from siteplan.route.priced.links import Links
from siteplan.route.priced.net import Net
from siteplan.route.priced.routes import Route

_MORE = 1.05
_AT_ONCE = 300
"""So many links at once are priced, of those on ways at most so many times as dear as the cheapest."""

_HOPS = 40


class Graph:
    """Places joined by links, some of them feet of the start or the end.

    Parameters
    ----------
    net : Net
        Prices links.
    likely : array of int
        Numbers of likely bends in the net.
    feet : (Feet, Feet)
        Of the start and of the end.
    links : Links
        Prices legs.

    Attributes
    ----------
    places : array (n, 2)
        Metres.
    fee : two arrays (n,)
        What the leg costs at each place where a trench starts, and ends; infinite where it does not.
    leg : two arrays (n, 2)
        Direction in which the trench comes from the start, and goes on to the end; zero if it has no leg.
    price : array (n, n)
        Prices of the links or lower bounds.
    known : array of bool (n, n)
        Which are prices.
    """

    def __init__(self, net: Net, likely: Ints, feet: tuple[Feet, Feet], links: Links) -> None:
        self._net, self._feet, self._links = net, feet, links
        count = len(likely)
        self._numbers = likely
        self._piece = np.full(count, -1)
        self.fee = [np.full(count, math.inf) for _ in feet]
        self.leg = [np.zeros((count, 2)) for _ in feet]
        for end, one in enumerate(feet):
            self._add(end, *one.spread())
        self._read()

    def _add(self, end: int, places: Floats, pieces: Ints) -> None:
        """Add further places where a trench may start (end 0) or end (1)."""
        feet, count = self._feet[end], len(places)
        self._numbers = np.append(self._numbers, self._net.numbers(places, bare=not feet.has_leg))
        self._piece = np.append(self._piece, pieces)
        for i in (0, 1):
            self.fee[i] = np.append(self.fee[i], np.full(count, math.inf))
            self.leg[i] = np.vstack([self.leg[i], np.zeros((count, 2))])
        self.fee[end][-count:] = 0.0
        if feet.has_leg:
            onward = feet.onward[pieces]
            self.fee[end][-count:] = self._links.prices(places, places + onward, last=True, in_free=False)
            self.leg[end][-count:] = -onward if end == 0 else onward

    def add_square(self, end: int, beyond: Floats, most: int) -> None:
        """Add the feet square off the likeliest bends; ``beyond`` prices the way on from each of these."""
        feet = self._feet[end]
        bends = np.flatnonzero(np.isfinite(beyond) & (self._piece[: len(beyond)] < 0))
        places, pieces = feet.nearest(self.places[bends])
        bend = np.repeat(bends, len(feet.start))
        apart_m = np.hypot(*(places - self.places[bend]).T)
        likely = np.argsort(beyond[bend] + self._net.least_rate * apart_m, kind="stable")[:most]
        same = (self.places == places[likely, None]).all(axis=2) & (self._piece == pieces[likely, None])
        new = likely[~(same & np.isfinite(self.fee[end])).any(axis=1)]
        if len(new):
            self._add(end, places[new], pieces[new])
            self._read()

    def _read(self) -> None:
        """Read what the net knows."""
        own = np.ix_(self._numbers, self._numbers)
        self.places = self._net.places[self._numbers]
        self.price, self.known = self._net.price[own], self._net.known[own]

    def keep(self, which: NDArray[np.bool_]) -> None:
        """Leave the other places out."""
        self._numbers, self._piece = self._numbers[which], self._piece[which]
        self.fee = [fee[which] for fee in self.fee]
        self.leg = [leg[which] for leg in self.leg]
        self._read()

    def look(self, wanted: NDArray[np.bool_]) -> None:
        """Find out which links the free ground holds, given as pairs of places."""
        self._ask(self._net.look, wanted)

    def learn(self, wanted: NDArray[np.bool_]) -> None:
        """Price links, given as pairs of places."""
        self._ask(self._net.learn, wanted)

    def _ask(self, what: Callable[[Ints, Ints], None], wanted: NDArray[np.bool_]) -> None:
        """Let the net find out about links, and read it."""
        a, b = np.nonzero(wanted & ~self.known)
        one, other = self._numbers[a], self._numbers[b]
        what(one, other)
        self.price[a, b] = self.price[b, a] = self._net.price[one, other]
        self.known[a, b] = self.known[b, a] = self._net.known[one, other]

    def route(self, nodes: list[int]) -> Route:
        """Return a way from place to place as a route."""
        pieces = int(self._piece[nodes[0]]), int(self._piece[nodes[-1]])
        return Route(places=self.places[nodes], pieces=pieces)


def settle(graph: Graph, bend: float, most: float) -> tuple[Floats, Floats, float]:
    """Price what is needed to know the cheapest way through a graph, every bend at the least price.

    Parameters
    ----------
    graph : Graph
        Learns prices.
    bend : float
        Least price of a bend.
    most : float
        Price of a known way; dearer ones are not looked for.

    Returns
    -------
    from_start, to_end : array (n,)
        Lower bounds of coming from the start and of going on to the end, the bend at the place itself left out.
    price : float
        The cheapest way, infinite if there is none below ``most``.
    """
    while True:
        from_start = reach(graph.price, graph.fee[0], bend)
        to_end = reach(graph.price, graph.fee[1], bend)
        best = float(np.min(from_start + graph.fee[1], initial=math.inf))
        if not best < most:
            return from_start, to_end, math.inf
        unknown = np.where(graph.known, math.inf, through_links(graph, from_start, to_end, bend))
        sure = best * (1 + 1e-9)
        if not (unknown <= sure).any():
            return from_start, to_end, best
        limit = min(best * _MORE, most)
        likely = unknown[unknown <= limit]
        if len(likely) > _AT_ONCE:
            limit = float(np.partition(likely, _AT_ONCE)[_AT_ONCE])
        graph.learn(unknown <= max(sure, limit))


def through_links(graph: Graph, from_start: Floats, to_end: Floats, bend: float) -> Floats:
    """Return a lower bound of the ways through each link: array (n, n)."""
    into = np.where(graph.fee[0] <= from_start, from_start, from_start + bend)
    out = np.where(graph.fee[1] <= to_end, to_end, to_end + bend)
    through: Floats = into[:, None] + graph.price + out
    return through


def reach(price: Floats, begin: Floats, bend: float) -> Floats:
    """Return the least price of reaching every place, with a bend at each place between.

    Examples
    --------
    >>> price = np.array([[math.inf, 3.0, 9.0], [3.0, math.inf, 4.0], [9.0, 4.0, math.inf]])
    >>> reach(price, np.array([0.0, math.inf, math.inf]), bend=1.0).tolist()
    [0.0, 3.0, 8.0]
    """
    best = begin.copy()
    fresh = np.flatnonzero(np.isfinite(begin))
    owed = 0.0
    for _ in range(_HOPS):
        found = price.take(fresh, axis=0)
        found += (best[fresh] + owed)[:, None]
        least = found.min(axis=0, initial=math.inf)
        fresh = np.flatnonzero(least < best * (1 - 1e-12))
        if not len(fresh):
            break
        best[fresh] = least[fresh]
        owed = bend
    return best
