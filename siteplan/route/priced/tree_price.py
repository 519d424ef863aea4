"""What a tree of trenches costs: links, bends by angle, tees, last legs; many trees, or places of one, at a time."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from siteplan.route.approach import Approach
from siteplan.route.mesh import Floats, Ints
from siteplan.route.priced.feet import Feet
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
    node : int or None
        The place of which the links, and what is due at it and beside it, are priced; ``None``: all is.
    """

    net: Net
    places: Floats
    node: int | None = None


def whole(net: Net, places: Floats | None = None) -> Trial:
    """Return a trial of all of a net, as it is or with its places at each of several."""
    return Trial(net=net, places=np.array(net.at)[:, None, :] if places is None else places)


def round_about(net: Net, node: int, tried: Floats) -> Trial:
    """Return a trial of what changes with where one place lies, array (n, 2): its links, and what is due beside it."""
    places = np.repeat(np.array(net.at)[:, None, :], len(tried), axis=1)
    places[node] = tried
    return Trial(net=net, places=places, node=node)


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
        self._parts: dict[tuple[object, ...], _Parts] = {}
        self._walls = {id(way): _Walls(way) for way in (start, *self.ends)}

    def leg(self, way: Approach, here: Floats) -> Floats:
        """Price of the last leg, off the free ground, from some places, shape (n, 2)."""
        if way.leg_m == 0.0:
            return np.zeros(len(here))
        return self.links.prices(here, here + self.walls(way).onward(here), last=True, in_free=False)

    def of(self, net: Net) -> float:
        """Price of a whole net; infinite if it may not be dug so."""
        return float(self.of_each([whole(net)])[0][0])

    def of_each(self, trials: Sequence[Trial]) -> list[Floats]:
        """Price trials, each an array (n,)."""
        parts = [self._parts_of(trial) for trial in trials]
        counts = [trial.places.shape[1] for trial in trials]
        pieces = [_Pieces(*each) for each in zip(parts, (trial.places for trial in trials), strict=True)]
        total = np.repeat([part.fixed for part in parts], counts)
        into = np.split(np.arange(len(total)), np.cumsum(counts)[:-1])

        def spread(name: str) -> NDArray[Any]:
            """One value for each link or bend of each part, as often as there are places."""
            return np.concatenate(
                [np.repeat(getattr(part, name), count) for part, count in zip(parts, counts, strict=True)]
            )

        def sums(amounts: Floats, of: Sequence[int]) -> Floats:
            which = np.concatenate([np.tile(own, times) for own, times in zip(into, of, strict=True)])
            return np.bincount(which, weights=amounts, minlength=len(total)).astype(np.float64)

        starts = np.concatenate([piece.starts for piece in pieces])
        ends = np.concatenate([piece.ends for piece in pieces])
        long = np.abs(ends - starts).max(axis=1) > SAME_M
        price = np.zeros(len(starts))
        price[long] = self.links.prices(
            starts[long],
            ends[long],
            first=spread("first")[long],
            last=spread("last")[long],
            in_free=spread("in_free")[long],
        )
        total = total + sums(price, [len(part.first) for part in parts])
        before = np.concatenate([piece.before for piece in pieces])
        if len(before):
            after = np.concatenate([piece.after for piece in pieces])
            due = np.minimum(self._turns.prices(before, after), spread("most"))
            total = total + sums(due, [len(part.most) for part in parts])
        return np.split(total, np.cumsum(counts)[:-1])

    def walls(self, way: Approach) -> _Walls:
        """Return where the last legs to the start or an end begin."""
        return self._walls[id(way)]

    def _parts_of(self, trial: Trial) -> _Parts:
        """Return what is priced of a trial; nets that hang together alike have the same."""
        key = trial.net.above, trial.net.end, trial.node
        if key not in self._parts:
            self._parts[key] = _Parts.of(self, trial.net, trial.node)
        return self._parts[key]

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


@dataclass(frozen=True, slots=True, kw_only=True)
class _Parts:
    """What is priced of a net, or round one of its places, by the numbers of the places.

    Attributes
    ----------
    upper, lower : array of int (k,)
        The two places of each link.
    legs : tuple of (int, _Walls)
        Places with a last leg to something; each such leg is one more link.
    first, last, in_free : array of bool (k + legs,)
        How each link is priced, the legs last.
    bends : array of int (m, 3)
        A place before the bend, the bend, a place after it.
    onto_leg : tuple of (int, int)
        Bends where a trench goes on into a leg: a place before it, and which leg.
    most : array (m + onto_leg,)
        No bend is dearer: where an end is, a tee would do instead.
    fixed : float
        Tees.
    """

    upper: Ints
    lower: Ints
    legs: tuple[tuple[int, _Walls], ...]
    first: Bools
    last: Bools
    in_free: Bools
    bends: Ints
    onto_leg: tuple[tuple[int, int], ...]
    most: Floats
    fixed: float

    @classmethod
    def of(cls, pricing: NetPrice, net: Net, node: int | None) -> _Parts:
        """Find what is priced of a net; with a ``node``, what changes with where it lies."""
        if node is None:
            joints: Sequence[int] = range(len(net.at))
            lower = [each for each in joints if net.above[each] >= 0]
        else:
            joints = [node, *net.beside(node)]
            lower = net.below(node) + [node] * (net.above[node] >= 0)
        upper = [net.above[each] for each in lower]
        tee = pricing.scene.tee.price
        legs: list[tuple[int, _Walls]] = []
        bends: list[tuple[int, int, int]] = []
        onto_leg: list[tuple[int, int]] = []
        most: list[float] = []
        tees = 0
        for joint in joints:
            beyond, beside = pricing.beyond(net, joint), net.beside(joint)
            if beyond is not None:
                if len(beside) == 1:
                    onto_leg.append((beside[0], len(legs)))
                tees += max(0, len(beside) - 1)
                legs.append((joint, pricing.walls(beyond)))
            elif len(beside) == 2 and net.above[joint] >= 0:
                bends.append((beside[0], joint, beside[1]))
                most.append(tee if net.end[joint] is not None else np.inf)
            elif net.above[joint] >= 0:
                tees += max(0, len(beside) - 2)
            elif pricing.start.tapped:
                tees += len(beside)
        free = [False] * len(legs)
        return cls(
            upper=np.array(upper, dtype=np.int64),
            lower=np.array(lower, dtype=np.int64),
            legs=tuple(legs),
            first=np.array([pricing.is_bare(net, each) for each in upper] + free, dtype=bool),
            last=np.array([pricing.is_bare(net, each) for each in lower] + [True] * len(legs), dtype=bool),
            in_free=np.array([True] * len(lower) + free, dtype=bool),
            bends=np.array(bends, dtype=np.int64).reshape(-1, 3),
            onto_leg=tuple(onto_leg),
            most=np.array(most + [np.inf] * len(onto_leg)),
            fixed=tees * tee,
        )


class _Pieces:
    """The links and bends of one trial, with its places at each of several one after the other: arrays (k * n, 2)."""

    def __init__(self, parts: _Parts, places: Floats) -> None:
        legs = [(places[node], way.onward(places[node])) for node, way in parts.legs]
        here = [at for at, _ in legs]
        there = [at + leg for at, leg in legs]
        self.starts = np.concatenate([places[parts.upper].reshape(-1, 2), *here])
        self.ends = np.concatenate([places[parts.lower].reshape(-1, 2), *there])
        before, bend, after = parts.bends.T
        onto = [(places[node], *legs[leg]) for node, leg in parts.onto_leg]
        self.before = np.concatenate(
            [(places[bend] - places[before]).reshape(-1, 2), *(at - node for node, at, _ in onto)]
        )
        self.after = np.concatenate(
            [(places[after] - places[bend]).reshape(-1, 2), *(leg for _, _, leg in onto)]
        )


class _Walls:
    """Where last legs begin, and how they go on to what is met."""

    def __init__(self, way: Approach) -> None:
        feet = Feet(way)
        self._start, self._onward = feet.start, feet.onward
        self._along = feet.end - feet.start
        self._square = np.maximum((self._along**2).sum(axis=1), 1e-300)

    def onward(self, here: Floats) -> Floats:
        """Return the last legs from some places, shape (n, 2): each goes on from the piece nearest to it."""
        if len(self._start) == 1:
            return np.repeat(self._onward, len(here), axis=0)
        gap = here[:, None] - self._start
        share = np.clip((gap * self._along).sum(axis=2) / self._square, 0.0, 1.0)
        off = gap - share[..., None] * self._along
        onward: Floats = self._onward[(off**2).sum(axis=2).argmin(axis=1)]
        return onward
