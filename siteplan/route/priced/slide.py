"""Moving the bends of one trench until it gets no cheaper.

In each round every bend is tried a step off in some directions, left out, and made one with the next; the ends are tried
along their walls. The best of these changes are made, as many as do not touch each other. When nothing gains, new bends
are tried where the price of the ground changes; then the step is made shorter.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from siteplan.route.mesh import Floats, Ints
from siteplan.route.priced.changed import clear, grown
from siteplan.route.priced.routes import CHAIN, Changes, Priced, Pricing, Route

GAIN = 2e-6
"""A change that saves less than this share of the price is not made."""

_STEPS_M = (8.0, 2.0, 0.5, 0.1, 0.03)
_LEAST_SINE = 0.05
"""A link is not shifted along one that turns off it by less."""

_ADDED_FROM_M = 0.5
"""New bends are tried with steps no shorter than this."""

_ROUNDS = 80
_BEHIND = (1.08, 1.02, 1.005, 1.002)
"""A route so many times as dear as the best, by how often its step was made shorter, is given up."""

_SAME_M = (0.01, 1.0, 3.0)
"""A route nowhere further [m] from a better one with as many bends is given up, by how often its step was made shorter."""

_EDGES = 4
"""A bend is tried along the nearest edges, so many at most."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Slid:
    """What came of moving the bends of some routes.

    Attributes
    ----------
    found : list of Priced
        Routes that no change makes cheaper, the cheapest first.
    places : array (n, 2)
        Where their bends have been.
    links : array (k, 2, 2)
        All links that were tried.
    """

    found: list[Priced]
    places: Floats
    links: Floats

    def holds(self, boxes: Floats) -> bool:
        """Tell whether the same comes of it if the ground is another only in some boxes, array (k, 4)."""
        beside = grown(boxes, _STEPS_M[0])
        return bool(
            clear(self.links[:, 0], self.links[:, 1], boxes).all()
            and clear(self.places, self.places, beside).all()
        )


class Slide:
    """Moves the bends of routes.

    Parameters
    ----------
    pricing : Pricing
        Prices routes.
    edges : array (n, 2, 2)
        Straight edges of the ground; a bend is tried along those beside it.
    """

    def __init__(self, pricing: Pricing, edges: Floats) -> None:
        self._pricing = pricing
        self._start = edges[:, 0]
        along = edges[:, 1] - edges[:, 0]
        self._length_m = np.hypot(along[:, 0], along[:, 1])
        self._along = _units(along)

    def slide(self, routes: Sequence[Route]) -> Slid:
        """Make routes cheaper until no change gains; those that stay behind are given up."""
        tried = [_Tried(now=now, moved=np.zeros_like(now.whole)) for now in self._pricing.priced(routes)]
        places = [one.now.whole for one in tried]
        chains = [np.stack([whole[:-1], whole[1:]], axis=1) for whole in places]
        for _ in range(_ROUNDS):
            tried = _ahead(tried)
            active = [one for one in tried if one.step < len(_STEPS_M)]
            if not active:
                break
            changes = [
                self._bends_added(one.now, one.step_m)
                if one.adds
                else self._changes(one.now, one.step_m, one.moved)
                for one in active
            ]
            priced = self._pricing.changed([one.now for one in active], changes)
            for one, of, prices in zip(active, changes, priced, strict=True):
                one.go_on(self._best(one.now, of, *prices))
                places.append(one.now.whole)
                chains += [of.chain[:, i : i + 2] for i in range(CHAIN - 1)]
        return Slid(
            found=[one.now for one in tried], places=np.concatenate(places), links=np.concatenate(chains)
        )

    def _best(self, now: Priced, changes: Changes, links: Floats, price: Floats) -> Priced:
        """Make the changes that gain most, none of them next to another."""
        better = now
        made: list[int] = []
        for which in np.argsort(price, kind="stable").tolist():
            if not price[which] < now.price * (1 - GAIN):
                break
            begin, end = changes.begin[which], changes.end[which]
            if all(end < changes.begin[other] or changes.end[other] < begin for other in made):
                made.append(which)
        for which in sorted(made, key=lambda which: -int(changes.begin[which])):
            better = self._pricing.with_change(better, changes, links[which], which)
        return better

    def _inner(self, now: Priced) -> Ints:
        """Return which places of a trench are bends that may be anywhere."""
        legs = [int(feet.has_leg) for feet in self._pricing.feet]
        return np.arange(1 + legs[0], len(now.whole) - 1 - legs[1])

    def _changes(self, now: Priced, step_m: float, moved: Floats) -> Changes:
        """Move or leave out a bend, make two one, move an end."""
        whole, bends = now.whole, self._inner(now)
        bend, spots = self._spots(whole, bends, step_m)
        again = bends[moved[bends].any(axis=1)]
        bend = np.concatenate([bend, again, again, bends, bends])
        spots = np.vstack(
            [
                spots,
                whole[again] + moved[again],
                whole[again] + 3.0 * moved[again],
                whole[bends - 1],
                whole[bends + 1],
            ]
        )
        joined, middle = _made_one(whole, bends)
        shifted, ends = _shifted(whole, bends, step_m)
        parts = [
            _over(whole, bend - 1, bend + 1, spots),
            _over(whole, joined - 1, joined + 2, middle),
            _over(whole, shifted - 1, shifted + 2, ends),
            *(self._ends_moved(now, end, step_m, bends, bend, spots) for end in (0, 1)),
        ]
        return _together(parts)

    def _bends_added(self, now: Priced, step_m: float) -> Changes:
        """Bend where the price of the ground changes, to either side."""
        legs = [int(feet.has_leg) for feet in self._pricing.feet]
        onto = now.whole[legs[0] : len(now.whole) - legs[1]]
        link, spot, along = self._pricing.links.changes(onto[:-1], onto[1:])
        begin = np.concatenate([link, link]) + legs[0]
        return _over(now.whole, begin, begin + 1, np.vstack([spot + along * step_m, spot - along * step_m]))

    def _ends_moved(
        self, now: Priced, end: int, step_m: float, bends: Ints, bend: Ints, spots: Floats
    ) -> Changes:
        """Move an end along its wall, also square off wherever the bend next to it is tried."""
        feet, piece = self._pricing.feet[end], now.pieces[end]
        wall = feet.end[piece] - feet.start[piece]
        final = len(now.whole) - 1
        foot = int(feet.has_leg) if end == 0 else final - int(feet.has_leg)
        beside = foot + (1 if end == 0 else -1)
        if not wall.any() or not 0 <= beside <= final:
            return _together([])
        step = _units(wall[None]) * step_m
        next_to = now.whole[[beside] * 3]
        feet_at = np.vstack([now.whole[foot] + step, now.whole[foot] - step, now.whole[beside]])
        if len(bends):
            tried = spots[bend == beside]
            next_to, feet_at = np.vstack([next_to, tried]), np.vstack([feet_at, tried])
        feet_at = feet.onto(feet_at, np.full(len(feet_at), piece))
        further = min(max(beside + (1 if end == 0 else -1), 0), final) if len(bends) else beside
        rest = np.broadcast_to(now.whole[further], next_to.shape)
        beyond = [feet_at + feet.onward[piece]] if feet.has_leg else []
        chain = [*beyond, feet_at, next_to, rest, rest][:4]
        count = len(feet_at)
        if end == 0:
            begin, stop = np.zeros(count, dtype=np.int64), np.full(count, further)
        else:
            begin, stop = np.full(count, further), np.full(count, final)
            chain = chain[::-1]
        return Changes(chain=np.stack(chain, axis=1), begin=begin, end=stop)

    def _spots(self, whole: Floats, bends: Ints, step_m: float) -> tuple[Ints, Floats]:
        """Return where bends are tried: along their two links, to either side, and along the edges beside them."""
        here = whole[bends]
        back, onward = _units(whole[bends - 1] - here), _units(whole[bends + 1] - here)
        middle = _units(back + onward)
        ways = np.concatenate([back, onward, middle, middle[:, ::-1] * (-1.0, 1.0)]) * step_m
        four = np.tile(here, (4, 1))
        bend = np.tile(bends, 8)
        gap = here[:, None] - self._start
        at_m = np.clip(np.einsum("bei,ei->be", gap, self._along), 0.0, self._length_m)
        off = gap - at_m[..., None] * self._along
        off_m = np.hypot(off[..., 0], off[..., 1])
        nearest = np.argsort(off_m, axis=1, kind="stable")[:, :_EDGES]
        row, column = np.nonzero(np.take_along_axis(off_m, nearest, axis=1) <= step_m)
        edge = nearest[row, column]
        foot = self._start[edge] + at_m[row, edge][:, None] * self._along[edge]
        along = self._along[edge] * step_m
        return (
            np.concatenate([bend, np.tile(bends[row], 3)]),
            np.vstack([four + ways, four - ways, foot, foot + along, foot - along]),
        )


@dataclass(slots=True)
class _Tried:
    """A route whose bends are being moved: by how much, how they moved last, and whether new ones are tried now."""

    now: Priced
    moved: Floats
    step: int = 0
    adds: bool = False

    @property
    def step_m(self) -> float:
        return _STEPS_M[self.step]

    def go_on(self, better: Priced) -> None:
        """Take a better route; if it is the same one, try new bends, and then a shorter step."""
        if better is not self.now:
            same = better.whole.shape == self.now.whole.shape
            self.moved = better.whole - self.now.whole if same else np.zeros_like(better.whole)
            self.now, self.adds = better, False
            return
        self.moved = np.zeros_like(better.whole)
        if not self.adds and self.step_m >= _ADDED_FROM_M:
            self.adds = True
        else:
            self.adds, self.step = False, self.step + 1


def _ahead(tried: list[_Tried]) -> list[_Tried]:
    """Keep the routes that may still become the cheapest, the cheapest first, each once."""
    tried = sorted(tried, key=lambda one: one.now.price)
    kept: list[_Tried] = []
    for one in tried:
        most = tried[0].now.price * _BEHIND[min(one.step, len(_BEHIND) - 1)]
        if one.now.price <= most and not any(_near(one, other) for other in kept):
            kept.append(one)
    return kept


def _near(one: _Tried, other: _Tried) -> bool:
    """Tell whether two routes will come to the same."""
    if one.now.whole.shape != other.now.whole.shape:
        return False
    apart_m = np.hypot(*(one.now.whole - other.now.whole).T).max()
    return bool(apart_m <= _SAME_M[min(one.step, len(_SAME_M) - 1)])


def _over(whole: Floats, begin: Ints, end: Ints, spots: Floats) -> Changes:
    """Go from one place of a trench to another over one spot each, array (k, 2), or two, array (k, 2, 2)."""
    both = spots if spots.ndim == 3 else np.stack([spots, whole[end]], axis=1)
    chain = np.concatenate([whole[begin][:, None], both, whole[end][:, None]], axis=1)
    return Changes(chain=chain, begin=begin, end=end)


def _together(parts: list[Changes]) -> Changes:
    none = np.zeros(0, dtype=np.int64)
    return Changes(
        chain=np.concatenate([np.zeros((0, CHAIN, 2)), *(part.chain for part in parts)]),
        begin=np.concatenate([none, *(part.begin for part in parts)]),
        end=np.concatenate([none, *(part.end for part in parts)]),
    )


def _made_one(whole: Floats, bends: Ints) -> tuple[Ints, Floats]:
    """Return bends that can be made one with the next, and where: halfway, and where the links on either side meet."""
    first = bends[:-1]
    if not len(first):
        return first, np.zeros((0, 2))
    here, there = whole[first], whole[first + 1]
    into, out = here - whole[first - 1], whole[first + 2] - there
    cross = into[:, 0] * out[:, 1] - into[:, 1] * out[:, 0]
    gap = there - here
    share = (gap[:, 0] * out[:, 1] - gap[:, 1] * out[:, 0]) / np.where(cross == 0.0, np.inf, cross)
    return np.concatenate([first, first]), np.vstack([(here + there) / 2, here + share[:, None] * into])


def _shifted(whole: Floats, bends: Ints, step_m: float) -> tuple[Ints, Floats]:
    """Return links between two bends shifted sideways, all angles kept: the first bends, and where both come to lie."""
    first = np.concatenate([bends[:-1], bends[:-1]])
    offset_m = np.repeat([step_m, -step_m], len(bends[:-1]))
    here, there = whole[first], whole[first + 1]
    into, along, out = (
        _units(way) for way in (here - whole[first - 1], there - here, whole[first + 2] - there)
    )
    moved = []
    for place, way in ((here, into), (there, out)):
        across = along[:, 0] * way[:, 1] - along[:, 1] * way[:, 0]
        share = offset_m / np.where(np.abs(across) < _LEAST_SINE, np.inf, across)
        moved.append(place + share[:, None] * way)
    return first, np.stack(moved, axis=1)


def _units(ways: Floats) -> Floats:
    units: Floats = ways / np.maximum(np.hypot(ways[:, 0], ways[:, 1]), 1e-12)[:, None]
    return units
