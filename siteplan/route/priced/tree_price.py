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
        if sums.starts:
            price = self.links.prices(
                np.concatenate(sums.starts),
                np.concatenate(sums.ends),
                first=np.concatenate(sums.first),
                last=np.concatenate(sums.last),
                in_free=np.concatenate(sums.in_free),
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
            for node in trial.lower:
                self._put_link(trial, node, into)
            for node in trial.joints:
                self._put_joint(trial, node, into)
            begin += len(into)

    def _put_link(self, trial: Trial, node: int, into: Ints) -> None:
        net, above = trial.net, trial.net.above[node]
        start, end = trial.places[above], trial.places[node]
        real = np.abs(end - start).max(axis=1) > SAME_M
        bare = self._pricing.is_bare(net, above), self._pricing.is_bare(net, node)
        self._put(start[real], end[real], (*bare, True), into[real])

    def _put(self, start: Floats, end: Floats, how: tuple[bool, bool, bool], into: Ints) -> None:
        self.starts.append(start)
        self.ends.append(end)
        for flags, flag in zip((self.first, self.last, self.in_free), how, strict=True):
            flags.append(np.full(len(start), flag))
        self.link_of.append(into)

    def _put_joint(self, trial: Trial, node: int, into: Ints) -> None:
        net, here = trial.net, trial.places[node]
        beyond = self._pricing.beyond(net, node)
        if net.above[node] < 0 and beyond is None:
            return
        arms = [trial.places[other] - here for other in net.beside(node)]
        if beyond is not None:
            arms.append(_leg_way(beyond, here))
            self._put(here, here + arms[-1], (False, True, False), into)
        if len(arms) == 2:
            self.before.append(-arms[0])
            self.after.append(arms[1])
            passed = net.end[node] is not None and beyond is None
            self.most.append(np.full(len(here), self._tee if passed else np.inf))
            self.bend_of.append(into)
        else:
            self.fixed[into] += max(0, len(arms) - 2) * self._tee


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
