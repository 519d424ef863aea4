"""Whole routes between two approaches, and what changes of a part of one cost."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

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


@dataclass(frozen=True, slots=True, kw_only=True)
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

    @property
    def price(self) -> float:
        """Price of all."""
        return float(self.links.sum() + self.turns.sum())


@dataclass(frozen=True, slots=True, kw_only=True)
class Changes:
    """Ways to change a part of a trench, each a chain of four places from one of its places to another.

    Attributes
    ----------
    chain : array (k, 4, 2)
        Places one after the other; a place may follow itself.
    begin, end : array of int (k,)
        The places of the trench that the first and the last take the place of.
    """

    chain: Floats
    begin: Ints
    end: Ints


class Pricing:
    """Prices routes between two approaches.

    Parameters
    ----------
    links, turns : Links, Turns
        Price straight pieces and bends.
    feet : (Feet, Feet)
        Of the start and of the end.
    """

    def __init__(self, links: Links, turns: Turns, feet: tuple[Feet, Feet]) -> None:
        self.links, self._turns, self.feet = links, turns, feet

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
        yes = np.ones(1, dtype=bool)
        links = self._links_of([(whole[None], yes, yes) for whole in wholes])
        return [
            Priced(whole=whole, pieces=route.pieces, links=of[0], turns=self._bends(whole))
            for whole, route, of in zip(wholes, routes, links, strict=True)
        ]

    def changed(self, routes: Sequence[Priced], changes: Sequence[Changes]) -> list[tuple[Floats, Floats]]:
        """Price what routes become by each of some changes to each.

        Returns
        -------
        list of (array (k, 3), array (k,))
            For each route: the prices of the straight pieces of the chains, and of the whole route with each change.
        """
        links = self._links_of(
            [
                (of.chain, of.begin == 0, of.end == len(now.whole) - 1)
                for now, of in zip(routes, changes, strict=True)
            ]
        )
        return [
            (priced, self._whole_price(now, of, priced))
            for now, of, priced in zip(routes, changes, links, strict=True)
        ]

    def with_change(self, now: Priced, changes: Changes, links: Floats, which: int) -> Priced:
        """Return a route with one of the changes made, ``links`` being the prices of the straight pieces of its chain."""
        begin, end, chain = int(changes.begin[which]), int(changes.end[which]), changes.chain[which]
        moved = (chain[1:] != chain[:-1]).any(axis=1)
        whole = np.vstack([now.whole[:begin], chain[:1], chain[1:][moved], now.whole[end + 1 :]])
        priced = np.concatenate([now.links[:begin], links[moved], now.links[end:]])
        if len(whole) < 2:
            whole, priced = np.vstack([whole, whole]), np.zeros(1)
        return Priced(whole=whole, pieces=now.pieces, links=priced, turns=self._bends(whole))

    def _links_of(self, chains: Sequence[tuple[Floats, Bools, Bools]]) -> list[Floats]:
        """Price the pieces of chains of places; with each array of chains, which of them start and end the trench."""
        asked = [_Pieces(*of, feet=self.feet) for of in chains]
        prices = self.links.prices(
            np.concatenate([of.starts for of in asked]),
            np.concatenate([of.ends for of in asked]),
            first=np.concatenate([of.first for of in asked]),
            last=np.concatenate([of.last for of in asked]),
            in_free=np.concatenate([of.in_free for of in asked]),
        )
        cuts = np.cumsum([len(of.starts) for of in asked])[:-1]
        return [of.filled(part) for of, part in zip(asked, np.split(prices, cuts), strict=True)]

    def _whole_price(self, now: Priced, changes: Changes, links: Floats) -> Floats:
        """Add the rest of the route and the bends to the prices of the pieces of chains."""
        begin, end = changes.begin, changes.end
        along = np.zeros((len(now.whole) + 1, 2))
        along[1:-1] = now.whole[1:] - now.whole[:-1]
        within = changes.chain[:, 1:] - changes.chain[:, :-1]
        ways = np.concatenate([along[begin][:, None], within, along[end + 1][:, None]], axis=1)
        for i in range(1, CHAIN):
            still = ~ways[:, i].any(axis=1)
            ways[still, i] = ways[still, i - 1]
        bends: Floats = self._turns.prices(ways[:, :-1], ways[:, 1:]).sum(axis=1)
        before = np.r_[0.0, np.cumsum(now.links + now.turns[:-1])]
        after = np.r_[np.cumsum((now.links + now.turns[1:])[::-1])[::-1], 0.0]
        prices: Floats = before[begin] + after[end] + links.sum(axis=1) + bends
        return prices

    def _bends(self, whole: Floats) -> Floats:
        """Price the bends at the places of a trench, 0 at its ends."""
        turns = np.zeros(len(whole))
        ways = whole[1:] - whole[:-1]
        turns[1:-1] = self._turns.prices(ways[:-1], ways[1:])
        return turns


class _Pieces:
    """The straight pieces of chains of places that have a length, and how they are to be priced."""

    def __init__(self, chain: Floats, at_start: Bools, at_end: Bools, feet: tuple[Feet, Feet]) -> None:
        still = (chain[:, 1:] == chain[:, :-1]).all(axis=2)
        none_before, none_after, leg = np.zeros_like(still), np.zeros_like(still), np.zeros_like(still)
        none_before[:, 0], none_after[:, -1] = at_start, at_end
        for i in range(1, still.shape[1]):
            none_before[:, i] = none_before[:, i - 1] & still[:, i - 1]
            none_after[:, -1 - i] = none_after[:, -i] & still[:, -i]
        leg[:, 0] |= at_start & feet[0].has_leg
        leg[:, -1] |= at_end & feet[1].has_leg
        self._asked = ~still
        self.starts, self.ends = chain[:, :-1][self._asked], chain[:, 1:][self._asked]
        self.first, self.last = none_before[self._asked], none_after[self._asked]
        self.in_free = ~leg[self._asked]

    def filled(self, prices: Floats) -> Floats:
        """Return the prices of all pieces; those without length cost nothing."""
        filled = np.zeros(self._asked.shape)
        filled[self._asked] = prices
        return filled
