"""The cheapest tree on a graph of candidate places: exact dynamic programming over sets of ends (Dreyfus and Wagner 1972).

Every link costs its ground and one slightest bend, which is due at the place that it leads to. Where two parts of the tree
join, the two bends are taken back and a tee is due.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.sparse.csgraph import floyd_warshall
from shapely import Point

from siteplan.route.between import Goal
from siteplan.route.mesh import Floats, Ints
from siteplan.route.priced.net import Net as Links
from siteplan.route.priced.tree_net import EMPTY, Net
from siteplan.route.priced.tree_price import NetPrice

MOST_ENDS = 8
"""6,561 ways of splitting sets of ends."""

_ON_M = 1e-6
_SAME_M = 1e-5


class TreeGraph:
    """Candidate places, the prices between them, and the cheapest tree over them.

    Parameters
    ----------
    pricing : NetPrice
        The ground, the start and the ends.
    links : priced.net.Net
        Prices of straight links, of the same ground.
    places : array (n, 2)
        Where a trench may start, bend, branch or end; those on the start and on each end among them.
    """

    def __init__(self, pricing: NetPrice, links: Links, places: Floats) -> None:
        self.pricing, self._links = pricing, links
        self.at = _distinct(places)
        scene, points = pricing.scene, shapely.points(self.at)
        self.bend, self.tee = scene.bend_price, scene.tee.price
        self.on_start = _on(points, pricing.start.goal)
        self.on_end = [_on(points, end.goal) for end in pricing.ends]
        self.between, self.back = self._between()
        self._grow()

    def best(self, blocks: Sequence[frozenset[int]]) -> Net | None:
        """Return the cheapest forest in which no block is split between trees, as a net; ``None`` if an end is cut off."""
        whole = (1 << len(self.on_end)) - 1
        held = [sum(1 << end for end in block) for block in blocks]
        cost = {0: 0.0}
        first: dict[int, int] = {}
        for ends in range(1, whole + 1):
            if any(ends & block not in (0, block) for block in held):
                continue
            lowest = ends & -ends
            for part in _parts(ends):
                rest = ends ^ part
                if part & lowest and rest in cost and (part in self.rooted):
                    total = self.rooted[part][0] + cost[rest]
                    if total < cost.get(ends, np.inf):
                        cost[ends], first[ends] = total, part
        if whole not in first:
            return None
        net, ends = EMPTY, whole
        while ends:
            net = self._planted(net, first[ends])
            ends ^= first[ends]
        return net

    def _between(self) -> tuple[Floats, Ints]:
        """Cheapest ways between all places, one bend for every link, and the last place before each."""
        bare = np.zeros(len(self.at), dtype=bool)
        for way, on in zip(
            (self.pricing.start, *self.pricing.ends), (self.on_start, *self.on_end), strict=True
        ):
            bare[on] |= way.leg_m == 0.0
        number = np.zeros(len(self.at), dtype=np.int64)
        for is_bare in (False, True):
            number[bare == is_bare] = self._links.numbers(self.at[bare == is_bare], bare=is_bare)
        one, other = np.triu_indices(len(number), 1)
        self._links.learn(number[one], number[other])
        direct = self._links.price[np.ix_(number, number)] + self.bend
        between, back = floyd_warshall(direct, directed=False, return_predecessors=True)
        return between, back.astype(np.int64)

    def _grow(self) -> None:
        """Find for each set of ends the cheapest tree that joins them with each place, and with the start."""
        count = len(self.at)
        self.cost: dict[int, Floats] = {}
        self.source: dict[int, Ints] = {}
        self.split: dict[int, Ints] = {}
        self.rooted: dict[int, tuple[float, int]] = {}
        joining: dict[int, Floats] = {}
        for ends in range(1, 1 << len(self.on_end)):
            value, split = np.full(count, np.inf), np.zeros(count, dtype=np.int64)
            if ends & (ends - 1) == 0:
                number = ends.bit_length() - 1
                on, way = self.on_end[number], self.pricing.ends[number]
                value[on] = self.pricing.leg(way, self.at[on]) + (self.bend if way.leg_m > 0.0 else 0.0)
            for part in _parts(ends):
                if part < ends ^ part:
                    joined = np.maximum(joining[part] + joining[ends ^ part] - 2 * self.bend + self.tee, 0.0)
                    split = np.where(joined < value, part, split)
                    value = np.minimum(value, joined)
            through = value[:, None] + self.between
            self.source[ends] = through.argmin(axis=0)
            self.cost[ends] = through.min(axis=0)
            self.split[ends] = split
            joining[ends] = self.cost[ends]
            if ends & (ends - 1) == 0 and way.leg_m == 0.0:
                joining[ends] = self.cost[ends].copy()
                joining[ends][on] = self.bend + min(self.bend, self.tee) - self.tee
            self._plant(ends)

    def _plant(self, ends: int) -> None:
        """Find where on the start the tree of some ends starts best."""
        on, way = self.on_start, self.pricing.start
        total = self.cost[ends][on] + self.pricing.leg(way, self.at[on])
        if way.leg_m == 0.0:
            total = np.maximum(total - self.bend, 0.0)
        if way.tapped:
            total += self.tee
        if np.isfinite(total.min()):
            self.rooted[ends] = float(total.min()), int(on[total.argmin()])

    def _planted(self, net: Net, ends: int) -> Net:
        """Return a net with one more tree in it."""
        here = self.rooted[ends][1]
        start = self.pricing.start.goal
        root = 0 if net.at and isinstance(start, Point) else None
        if root is None:
            net = net.grown(self._place(here), -1, None, start)
            root = len(net.at) - 1
        return self._followed(net, ends, here, root)

    def _followed(self, net: Net, ends: int, here: int, node: int) -> Net:
        """Return a net with the tree of some ends hung on one of its places."""
        source = int(self.source[ends][here])
        while here != source:
            here = int(self.back[source, here])
            net = net.grown(self._place(here), node)
            node = len(net.at) - 1
        if ends & (ends - 1) == 0:
            end = ends.bit_length() - 1
            goal = self.pricing.ends[end].goal
            if net.end[node] is not None or net.above[node] < 0:
                return net.grown(self._place(here), node, end, goal)
            return Net(
                net.at,
                net.above,
                (*net.end[:node], end, *net.end[node + 1 :]),
                (*net.on[:node], goal, *net.on[node + 1 :]),
            )
        part = int(self.split[ends][here])
        net = self._followed(net, part, here, node)
        return self._followed(net, ends ^ part, here, node)

    def _place(self, number: int) -> tuple[float, float]:
        x, y = self.at[number].tolist()
        return x, y


def _parts(ends: int) -> Iterator[int]:
    """Give the parts of a set of ends but none, itself first."""
    part = ends
    while part:
        yield part
        part = (part - 1) & ends


def _distinct(places: Floats) -> Floats:
    """Leave out places that lie on an earlier one."""
    keys = np.round(places / _SAME_M)
    _, first = np.unique(keys, axis=0, return_index=True)
    kept: Floats = places[np.sort(first)]
    return kept


def _on(points: NDArray[np.object_], goal: Goal) -> Ints:
    return np.flatnonzero(shapely.distance(points, goal) <= _ON_M)
