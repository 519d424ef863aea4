"""Prices of the links between many places, each found out when it is asked for, and kept."""

from __future__ import annotations

import math

import numpy as np

from siteplan.route.mesh import Floats, Ints
from siteplan.route.priced.changed import clear
from siteplan.route.priced.links import Links
from siteplan.route.priced.sides import Sides

_MANY = 1000
"""Of more links than this those that the free ground does not hold are left out before the others are priced."""


class Net:
    """Prices between places, the same both ways; a lower bound as long as a price is not known.

    Parameters
    ----------
    links, sides : Links, Sides
        Price links, and bound their prices.
    former : (Net, array (k, 4)), optional
        A net over other ground, and boxes outside which it is the same: what it knows of links clear of them holds here.

    Attributes
    ----------
    places : array (n, 2)
        Metres.
    price : array (n, n)
        Price of each link if it is known, else a lower bound.
    known : array of bool (n, n)
        Which are.
    seen : array of bool (n, n)
        Which are held by the free ground, as far as that was asked.
    """

    def __init__(self, links: Links, sides: Sides, former: tuple[Net, Floats] | None = None) -> None:
        self._links, self._sides, self._former = links, sides, former
        self._number_there = np.zeros(0, dtype=np.int64)
        self.least_rate = sides.least_rate
        self._number: dict[tuple[float, float, bool], int] = {}
        self._labels = sides.labels(np.zeros((0, 2)))
        self._bare = np.zeros(0, dtype=bool)
        self.places = np.zeros((0, 2))
        self.price = np.zeros((0, 0))
        self.known = np.zeros((0, 0), dtype=bool)
        self.seen = np.zeros((0, 0), dtype=bool)

    def numbers(self, places: Floats, *, bare: bool) -> Ints:
        """Return the numbers of places, new ones put in; ``bare`` if a trench starts or ends there without a leg."""
        keys = [(x, y, bare) for x, y in places.tolist()]
        fresh = list(dict.fromkeys(key for key in keys if key not in self._number))
        if fresh:
            self._put_in(np.array([key[:2] for key in fresh]), bare)
            self._number.update(zip(fresh, range(len(self._number), len(self.places)), strict=True))
        return np.array([self._number[key] for key in keys], dtype=np.int64)

    def settled(self) -> Net:
        """Return this net without the former one, so that old nets are let go."""
        self._former = None
        return self

    def _put_in(self, places: Floats, bare: bool) -> None:
        before = len(self.places)
        labels = self._sides.labels(places)
        self._labels = np.hstack([self._labels, labels])
        self._bare = np.append(self._bare, np.full(len(places), bare))
        self.places = np.vstack([self.places, places])
        rows = self._sides.least(places, labels, self.places, self._labels)
        rows[np.arange(len(places)), before + np.arange(len(places))] = math.inf
        self.price = np.vstack([np.hstack([self.price, rows[:, :before].T]), rows])
        more = (0, len(places))
        self.known, self.seen = np.pad(self.known, (more, more)), np.pad(self.seen, (more, more))
        new = np.arange(before, len(self.places))
        self.known[new, new] = True
        if self._former is not None:
            there = [self._former[0]._number.get((x, y, bare), -1) for x, y in places.tolist()]
            self._number_there = np.append(self._number_there, there)
            self._recall(new, *self._former)

    def look(self, a: Ints, b: Ints) -> None:
        """Find out whether the free ground holds links, given by the numbers of their ends."""
        a, b = self._once(a, b, self.known | self.seen)
        held = self._links.held(self.places[a], self.places[b])
        self.seen[a[held], b[held]] = self.seen[b[held], a[held]] = True
        a, b = a[~held], b[~held]
        self.price[a, b] = self.price[b, a] = math.inf
        self.known[a, b] = self.known[b, a] = True

    def learn(self, a: Ints, b: Ints) -> None:
        """Price links, given by the numbers of their ends; of many the free ground is asked first which it holds."""
        if len(a) > _MANY:
            self.look(a, b)
        a, b = self._once(a, b, self.known)
        priced = self._links.prices(
            self.places[a],
            self.places[b],
            first=self._bare[a],
            last=self._bare[b],
            in_free=~self.seen[a, b],
        )
        self.price[a, b] = self.price[b, a] = priced
        self.known[a, b] = self.known[b, a] = True

    def _once(self, a: Ints, b: Ints, done: np.ndarray) -> tuple[Ints, Ints]:
        """Return the links that are not done, each one way."""
        count = len(self.places)
        key = np.minimum(a, b) * count + np.maximum(a, b)
        key = np.sort(key[~done.ravel()[key]])
        first, second = np.divmod(key[np.diff(key, prepend=-1) > 0], count)
        return first, second

    def _recall(self, fresh: Ints, former: Net, boxes: Floats) -> None:
        """Take over what the former net knows of links from new places."""
        here = np.flatnonzero(self._number_there >= 0)
        fresh = fresh[self._number_there[fresh] >= 0]
        there_a, there_b = self._number_there[fresh], self._number_there[here]
        row, column = np.nonzero((former.known | former.seen)[np.ix_(there_a, there_b)])
        a, b = fresh[row], here[column]
        still = clear(self.places[a], self.places[b], boxes)
        a, b = a[still], b[still]
        one, other = self._number_there[a], self._number_there[b]
        known = former.known[one, other]
        for first, second in ((a, b), (b, a)):
            self.seen[first, second] = former.seen[one, other]
            self.known[first, second] = known
            self.price[first[known], second[known]] = former.price[one[known], other[known]]
