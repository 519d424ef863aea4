"""Whole routes between two approaches, and what changes of a part of one cost."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from siteplan.route.mesh import Floats, Ints
from siteplan.route.priced.feet import Feet
from siteplan.route.priced.links import Links
from siteplan.route.priced.turns import Turns
from siteplan.route.priced.zone_edges import Bools

CHAIN = 4
"""Places of a chain that takes the place of a part of a route."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Route:
    """A trench over free ground, its legs left out.

    Attributes
    ----------
    places : array (n, 2)
        From where it leaves the start to where it leaves for the end.
    pieces : (int, int)
        On which pieces of the feet its two ends are.
    """

    places: Floats
    pieces: tuple[int, int]


@dataclass(frozen=True, kw_only=True)
class Priced:
    """A trench that has its price.

    Attributes
    ----------
    whole : array (m, 2)
        Its places, legs included.
    pieces : (int, int)
        On which pieces of the feet it starts and ends.
    links : array (m - 1,)
        Price of each straight piece.
    turns : array (m,)
        Price of each bend, 0 at either end.
    """

    whole: Floats
    pieces: tuple[int, int]
    links: Floats
    turns: Floats

    @cached_property
    def price(self) -> float:
        """Price of all."""
        return float(self.links.sum() + self.turns.sum())


class EndToEnd:
    """Trenches laid end to end, so that their places have one numbering.

    Parameters
    ----------
    routes : sequence of Priced
        The trenches.

    Attributes
    ----------
    whole : array (n, 2)
        The places of all.
    first, final : array of int (k,)
        The first and the last place of each trench.
    of : array of int (n,)
        The trench that each place belongs to.
    """

    def __init__(self, routes: Sequence[Priced]) -> None:
        self.routes = routes
        counts = np.array([len(route.whole) for route in routes])
        self.whole: Floats = np.concatenate([route.whole for route in routes])
        self.final = counts.cumsum() - 1
        self.first = self.final - counts + 1
        self.of = np.arange(len(routes)).repeat(counts)


@dataclass(frozen=True, slots=True, kw_only=True)
class Changes:
    """Ways to change a part of a trench, each a chain of four places from one of its places to another.

    Attributes
    ----------
    chain : array (k, 4, 2)
        Places one after the other; a place may follow itself.
    begin, end : array of int (k,)
        The places, of trenches laid end to end, that the first and the last take the place of.
    """

    chain: Floats
    begin: Ints
    end: Ints


class Pricing:
    """Prices routes between two approaches, each straight piece that is tried again and again once.

    Parameters
    ----------
    links, turns : Links, Turns
        Price straight pieces and bends.
    feet : (Feet, Feet)
        Of the start and of the end.
    """

    def __init__(self, links: Links, turns: Turns, feet: tuple[Feet, Feet]) -> None:
        self.links, self._turns, self.feet = links, turns, feet
        self._known: dict[bytes, float] = {}

    def whole(self, route: Route) -> Floats:
        """Return the places of a route, legs included, each once; two at least."""
        parts = [route.places]
        if self.feet[0].has_leg:
            parts.insert(0, route.places[:1] + self.feet[0].onward[route.pieces[0]])
        if self.feet[1].has_leg:
            parts.append(route.places[-1:] + self.feet[1].onward[route.pieces[1]])
        whole: Floats = np.concatenate(parts)
        apart = np.r_[True, (whole[1:] != whole[:-1]).any(axis=1)]
        return whole[apart] if apart.sum() > 1 else whole[:2]

    def priced(self, routes: Sequence[Route]) -> list[Priced]:
        """Price routes."""
        wholes = [self.whole(route) for route in routes]
        begin, end = (np.concatenate(ends) for ends in ([w[:-1] for w in wholes], [w[1:] for w in wholes]))
        final = np.cumsum([len(whole) - 1 for whole in wholes]) - 1
        at_end = np.isin(np.arange(len(begin)), final)
        at_start = np.roll(at_end, 1)
        chain = np.stack([begin, end], axis=1)
        links = np.split(self._links_of(chain, at_start, at_end)[:, 0], final[:-1] + 1)
        return [
            Priced(whole=whole, pieces=route.pieces, links=of, turns=self._bends(whole))
            for whole, route, of in zip(wholes, routes, links, strict=True)
        ]

    def changed(self, trenches: EndToEnd, changes: Changes) -> tuple[Floats, Floats]:
        """Price what trenches become by each of some changes.

        Returns
        -------
        links : array (k, 3)
            Prices of the straight pieces of the chains.
        whole : array (k,)
            Prices of the whole trench with each change.
        """
        of = trenches.of[changes.begin]
        at_start, at_end = changes.begin == trenches.first[of], changes.end == trenches.final[of]
        links = self._links_of(changes.chain, at_start, at_end)
        return links, self._whole_prices(trenches, changes, links)

    def with_change(self, now: Priced, begin: int, end: int, chain: Floats, links: Floats) -> Priced:
        """Return a trench with a chain in the place of a part of it, ``links`` the prices of its straight pieces."""
        moved = (chain[1:] != chain[:-1]).any(axis=1)
        whole = np.concatenate([now.whole[:begin], chain[:1], chain[1:][moved], now.whole[end + 1 :]])
        priced = np.concatenate([now.links[:begin], links[moved], now.links[end:]])
        if len(whole) < 2:
            whole, priced = np.concatenate([whole, whole]), np.zeros(1)
        return Priced(whole=whole, pieces=now.pieces, links=priced, turns=self._bends(whole))

    def _links_of(self, chain: Floats, at_start: Bools, at_end: Bools) -> Floats:
        """Price the straight pieces of chains of places, some of which start or end a trench; 0 for one without length."""
        still = (chain[:, 1:] == chain[:, :-1]).all(axis=2)
        first, last, leg = np.zeros_like(still), np.zeros_like(still), np.zeros_like(still)
        first[:, 0], last[:, -1] = at_start, at_end
        for i in range(1, still.shape[1]):
            first[:, i] = first[:, i - 1] & still[:, i - 1]
            last[:, -1 - i] = last[:, -i] & still[:, -i]
        leg[:, 0] |= at_start & self.feet[0].has_leg
        leg[:, -1] |= at_end & self.feet[1].has_leg
        asked = ~still
        rows = np.empty((np.count_nonzero(asked), 7))
        rows[:, :2], rows[:, 2:4] = chain[:, :-1][asked], chain[:, 1:][asked]
        rows[:, 4], rows[:, 5], rows[:, 6] = first[asked], last[asked], ~leg[asked]
        links = np.zeros(still.shape)
        links[asked] = self._once(rows)
        return links

    def _once(self, asked: Floats) -> Floats:
        """Price links, rows of start, end, and how they are to be priced; each that is new once."""
        rows = asked.tobytes()
        size = asked.itemsize * asked.shape[1]
        keys = [rows[i : i + size] for i in range(0, len(rows), size)]
        known = self._known
        fresh = {key: row for row, key in enumerate(keys) if key not in known}
        if fresh:
            new = asked[list(fresh.values())]
            first, last, in_free = new[:, 4:].T != 0.0
            prices = self.links.prices(new[:, :2], new[:, 2:4], first=first, last=last, in_free=in_free)
            known.update(zip(fresh, prices.tolist(), strict=True))
        return np.array([known[key] for key in keys])

    def _whole_prices(self, trenches: EndToEnd, changes: Changes, links: Floats) -> Floats:
        """Add the rest of the trench and the bends to the prices of the pieces of chains."""
        begin, end, chain = changes.begin, changes.end, changes.chain
        into, out = np.zeros_like(trenches.whole), np.zeros_like(trenches.whole)
        into[1:] = out[:-1] = trenches.whole[1:] - trenches.whole[:-1]
        into[trenches.first] = out[trenches.final] = 0.0
        ways = np.empty((len(chain), CHAIN + 1, 2))
        ways[:, 0], ways[:, -1] = into[begin], out[end]
        np.subtract(chain[:, 1:], chain[:, :-1], out=ways[:, 1:-1])
        for i in range(1, CHAIN):
            still = np.flatnonzero(~ways[:, i].any(axis=1))
            ways[still, i] = ways[still, i - 1]
        bends: Floats = self._turns.prices(ways[:, :-1], ways[:, 1:]).sum(axis=1)
        none = np.zeros(1)
        rest = [(now.links + now.turns[:-1], now.links + now.turns[1:]) for now in trenches.routes]
        before = np.concatenate([part for there, _ in rest for part in (none, there.cumsum())])
        after = np.concatenate([part for _, onward in rest for part in (onward[::-1].cumsum()[::-1], none)])
        prices: Floats = before[begin] + after[end] + links.sum(axis=1) + bends
        return prices

    def _bends(self, whole: Floats) -> Floats:
        """Price the bends at the places of a trench, 0 at its ends."""
        turns = np.zeros(len(whole))
        ways = whole[1:] - whole[:-1]
        turns[1:-1] = self._turns.prices(ways[:-1], ways[1:])
        return turns
