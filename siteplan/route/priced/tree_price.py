"""What a tree of trenches costs: links, bends by angle, tees, last legs; many trees, or places of one, at a time."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

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
        counts = np.array([trial.places.shape[1] for trial in trials])
        pieces = [_Pieces(*each) for each in zip(parts, (trial.places for trial in trials), strict=True)]
        total = np.repeat([part.fixed for part in parts], counts)
        starts = np.concatenate([start for piece in pieces for start in piece.starts])
        ends = np.concatenate([end for piece in pieces for end in piece.ends])
        link, into = _spread([len(part.first) for part in parts], counts)
        long = np.flatnonzero(np.abs(ends - starts).max(axis=1) > SAME_M)
        link, into = link[long], into[long]
        price = self.links.prices(
            starts[long],
            ends[long],
            first=np.concatenate([part.first for part in parts])[link],
            last=np.concatenate([part.last for part in parts])[link],
            in_free=np.concatenate([part.in_free for part in parts])[link],
        )
        total = total + np.bincount(into, weights=price, minlength=len(total))
        before = np.concatenate([way for piece in pieces for way in piece.before])
        if len(before):
            after = np.concatenate([way for piece in pieces for way in piece.after])
            bend, into = _spread([len(part.most) for part in parts], counts)
            most = np.concatenate([part.most for part in parts])[bend]
            due = np.minimum(self._turns.prices(before, after), most)
            total = total + np.bincount(into, weights=due, minlength=len(total))
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
    links : int
        How many links, without legs: k.
    legs : tuple of (int, _Walls)
        Places with a last leg to something; each such leg is one more link.
    first, last, in_free : array of bool (k + legs,)
        How each link is priced, the legs last.
    onto_leg : tuple of (int, int)
        Bends where a trench goes on into a leg: a place before it, and which leg.
    most : array (m + onto_leg,)
        No bend is dearer: where an end is, a tee would do instead.
    fixed : float
        Tees.
    nodes : array of int (2 k + 3 m + legs,)
        The upper places of the links, the lower ones, the places before, at and after the bends, those with a leg.
    """

    links: int
    legs: tuple[tuple[int, _Walls], ...]
    first: Bools
    last: Bools
    in_free: Bools
    onto_leg: tuple[tuple[int, int], ...]
    most: Floats
    fixed: float
    nodes: Ints

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
            links=len(lower),
            legs=tuple(legs),
            first=np.array([pricing.is_bare(net, each) for each in upper] + free, dtype=bool),
            last=np.array([pricing.is_bare(net, each) for each in lower] + [True] * len(legs), dtype=bool),
            in_free=np.array([True] * len(lower) + free, dtype=bool),
            onto_leg=tuple(onto_leg),
            most=np.array(most + [np.inf] * len(onto_leg)),
            fixed=tees * tee,
            nodes=np.array(
                [
                    *upper,
                    *lower,
                    *(node for way in zip(*bends, strict=True) for node in way),
                    *(node for node, _ in legs),
                ],
                dtype=np.int64,
            ),
        )


class _Pieces:
    """The links and bends of one trial, with its places at each of several one after the other: lists of arrays (..., 2)."""

    def __init__(self, parts: _Parts, places: Floats) -> None:
        at, links, legs_from = places[parts.nodes], parts.links, len(parts.nodes) - len(parts.legs)
        upper, lower, here = at[:links], at[links : 2 * links], at[legs_from:]
        before, bend, after = at[2 * links : legs_from].reshape(3, -1, *places.shape[1:])
        legs = [way.onward(each) for each, (_, way) in zip(here, parts.legs, strict=True)]
        self.starts = [upper.reshape(-1, 2), *here]
        self.ends = [lower.reshape(-1, 2), *(here + legs if legs else ())]
        self.before = [(bend - before).reshape(-1, 2)]
        self.before += [here[leg] - places[node] for node, leg in parts.onto_leg]
        self.after = [(after - bend).reshape(-1, 2), *(legs[leg] for _, leg in parts.onto_leg)]


def _spread(each: Sequence[int], counts: Ints) -> tuple[Ints, Ints]:
    """Spread the links or bends of some trials, so many of each, over their places: which it is, and which place of all.

    Examples
    --------
    >>> one, place = _spread([2, 1], np.array([3, 2]))
    >>> one.tolist(), place.tolist()
    ([0, 0, 0, 1, 1, 1, 2, 2], [0, 1, 2, 0, 1, 2, 3, 4])
    """
    times = np.repeat(counts, each)
    one = np.repeat(np.arange(len(times)), times)
    first = np.repeat(np.cumsum(counts) - counts, each) - (np.cumsum(times) - times)
    return one, np.arange(len(one)) + first[one]


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
