"""What a tree of trenches costs: links, bends by angle, tees, last legs; many trees, or places of one, at a time."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from siteplan.route.approach import Approach
from siteplan.route.mesh import Floats, Ints
from siteplan.route.priced.links import Links
from siteplan.route.priced.tree_net import SAME_M, Net
from siteplan.route.priced.turns import Turns
from siteplan.route.priced.zone_edges import Bools
from siteplan.route.scene import Scene


@dataclass(frozen=True, slots=True, kw_only=True)
class Trial:
    """A net with its places at each of several.

    Attributes
    ----------
    net : Net
        How the places hang together.
    places : array (nodes, n, 2)
        Metres.
    lower : sequence of int
        The links from these places up are priced.
    joints : sequence of int
        What is due at these places is priced: a bend, tees, a last leg.
    """

    net: Net
    places: Floats
    lower: Sequence[int]
    joints: Sequence[int]


def whole(net: Net, places: Floats | None = None) -> Trial:
    """Return a trial of all of a net, as it is or with its places at each of several."""
    if places is None:
        places = np.array(net.at)[:, None, :]
    nodes = range(len(net.at))
    return Trial(net=net, places=places, lower=[node for node in nodes if net.above[node] >= 0], joints=nodes)


def round_about(net: Net, node: int, tried: Floats) -> Trial:
    """Return a trial of what changes with where one place lies, array (n, 2): its links, and what is due beside it."""
    places = np.repeat(np.array(net.at)[:, None, :], len(tried), axis=1)
    places[node] = tried
    lower = net.below(node) + [node] * (net.above[node] >= 0)
    return Trial(net=net, places=places, lower=lower, joints=[node, *net.beside(node)])


class NetPrice:
    """Prices nets between one start and some ends.

    Parameters
    ----------
    scene : Scene
        The priced ground.
    start : Approach
        Where the trenches start.
    ends : sequence of Approach
        Where they end.
    links : Links, optional
        Prices straight links, if it is there already.
    """

    def __init__(
        self, scene: Scene, start: Approach, ends: Sequence[Approach], links: Links | None = None
    ) -> None:
        self.scene, self.start, self.ends = scene, start, tuple(ends)
        self.links = links or Links(scene)
        self._turns = Turns(scene)

    def leg(self, way: Approach, here: Floats) -> Floats:
        """Price of the last leg, off the free ground, from some places, shape (n, 2)."""
        if way.leg_m == 0.0:
            return np.zeros(len(here))
        return self.links.prices(here, here + _leg_way(way, here), last=True, in_free=False)

    def of(self, net: Net) -> float:
        """Price of a whole net; infinite if it may not be dug so."""
        return float(self.of_each([whole(net)])[0][0])

    def of_each(self, trials: Sequence[Trial]) -> list[Floats]:
        """Price trials, each an array (n,)."""
        sums = _Sums(self, trials)
        totals = sums.fixed
        starts, ends = np.concatenate(sums.starts), np.concatenate(sums.ends)
        long = np.abs(ends - starts).max(axis=1) > SAME_M
        price = np.zeros(len(starts))
        price[long] = self.links.prices(
            starts[long],
            ends[long],
            first=np.concatenate(sums.first)[long],
            last=np.concatenate(sums.last)[long],
            in_free=np.concatenate(sums.in_free)[long],
        )
        totals = totals + _added(sums.link_of, price, len(totals))
        if sums.before:
            due = self._turns.prices(np.concatenate(sums.before), np.concatenate(sums.after))
            totals = totals + _added(sums.bend_of, np.minimum(due, np.concatenate(sums.most)), len(totals))
        return np.split(totals, np.cumsum([trial.places.shape[1] for trial in trials])[:-1])

    def is_bare(self, net: Net, node: int) -> bool:
        """Tell whether a trench starts or ends at a place, without a leg beyond it."""
        if net.above[node] < 0:
            return self.start.leg_m == 0.0
        end = net.end[node]
        return end is not None and self.ends[end].leg_m == 0.0 and not net.below(node)

    def beyond(self, net: Net, node: int) -> Approach | None:
        """Return what a place has its leg to; ``None`` if it has none."""
        end = net.end[node]
        way = self.start if net.above[node] < 0 else None if end is None else self.ends[end]
        return way if way is not None and way.leg_m > 0.0 else None


class _Sums:
    """The links, legs and bends of some trials, and which sum each goes into."""

    def __init__(self, pricing: NetPrice, trials: Sequence[Trial]) -> None:
        self._pricing = pricing
        self._tee = pricing.scene.tee.price
        self.fixed = np.zeros(sum(trial.places.shape[1] for trial in trials))
        self.starts: list[Floats] = []
        self.ends: list[Floats] = []
        self.first: list[Bools] = []
        self.last: list[Bools] = []
        self.in_free: list[Bools] = []
        self.link_of: list[Ints] = []
        self.before: list[Floats] = []
        self.after: list[Floats] = []
        self.most: list[Floats] = []
        self.bend_of: list[Ints] = []
        begin = 0
        for trial in trials:
            into = np.arange(begin, begin + trial.places.shape[1])
            self._put_links(trial, into)
            self._put_joints(trial, into)
            begin += len(into)

    def _put_links(self, trial: Trial, into: Ints) -> None:
        net, lower = trial.net, list(trial.lower)
        upper = [net.above[node] for node in lower]
        first, last = ([self._pricing.is_bare(net, node) for node in nodes] for nodes in (upper, lower))
        self._put(trial.places[upper], trial.places[lower], first, last, True, into)

    def _put(
        self, start: Floats, end: Floats, first: list[bool], last: list[bool], in_free: bool, into: Ints
    ) -> None:
        """Put in links between places, arrays (links, n, 2)."""
        self.starts.append(start.reshape(-1, 2))
        self.ends.append(end.reshape(-1, 2))
        self.first.append(np.repeat(np.array(first, dtype=bool), len(into)))
        self.last.append(np.repeat(np.array(last, dtype=bool), len(into)))
        self.in_free.append(np.full(len(start) * len(into), in_free))
        self.link_of.append(np.tile(into, len(start)))

    def _put_joints(self, trial: Trial, into: Ints) -> None:
        net, places = trial.net, trial.places
        bends: list[tuple[int, int, int]] = []
        most: list[float] = []
        for node in trial.joints:
            beyond, beside = self._pricing.beyond(net, node), net.beside(node)
            if beyond is not None:
                self._put_leg(places[node], _leg_way(beyond, places[node]), places[beside], into)
            elif len(beside) == 2 and net.above[node] >= 0:
                bends.append((beside[0], node, beside[1]))
                most.append(self._tee if net.end[node] is not None else np.inf)
            elif net.above[node] >= 0:
                self.fixed[into] += max(0, len(beside) - 2) * self._tee
            elif self._pricing.start.tapped:
                self.fixed[into] += len(beside) * self._tee
        if bends:
            one, here, other = (places[list(nodes)].reshape(-1, 2) for nodes in zip(*bends, strict=True))
            self._put_bends(here - one, other - here, np.repeat(most, len(into)), np.tile(into, len(bends)))

    def _put_leg(self, here: Floats, leg: Floats, beside: Floats, into: Ints) -> None:
        """Put in a last leg from some places, and what is due where it goes on from the trenches beside them."""
        self._put(here[None], (here + leg)[None], [False], [True], False, into)
        if len(beside) == 1:
            self._put_bends(here - beside[0], leg, np.full(len(into), np.inf), into)
        else:
            self.fixed[into] += max(0, len(beside) - 1) * self._tee

    def _put_bends(self, before: Floats, after: Floats, most: Floats, into: Ints) -> None:
        self.before.append(before)
        self.after.append(after)
        self.most.append(most)
        self.bend_of.append(into)


def _added(into: list[Ints], amounts: Floats, count: int) -> Floats:
    """Add amounts up."""
    sums: Floats = np.bincount(np.concatenate(into), weights=amounts, minlength=count).astype(np.float64)
    return sums


def _leg_way(way: Approach, here: Floats) -> Floats:
    """Return the last legs from some places, shape (n, 2)."""
    legs: Floats = np.array([leg for _, leg in way.places])
    if len(legs) == 1:
        return np.repeat(legs, len(here), axis=0)
    points = shapely.points(here)
    nearest = np.argmin([shapely.distance(place, points) for place, _ in way.places], axis=0)
    onward: Floats = legs[nearest]
    return onward
