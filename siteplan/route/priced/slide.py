"""Moving the bends of one trench until it gets no cheaper.

In each round every bend is tried a step off in some directions, left out, and made one with the next; the ends are tried
along their walls. The best of these changes are made, as many as do not touch each other. Where none of them gains, new
bends are made where the price of the ground changes; where these do not gain either, the step is made shorter.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from siteplan.route.mesh import Floats, Ints
from siteplan.route.priced.changed import clear, grown
from siteplan.route.priced.moves import Moved, Moves, together
from siteplan.route.priced.routes import CHAIN, Changes, EndToEnd, Priced, Pricing, Route

GAIN = 2e-6
"""A change that saves less than this share of the price is not made."""

_STEPS_M = (8.0, 2.0, 0.5, 0.1, 0.03)
_ADDED_FROM_M = 0.5
"""New bends are tried with steps no shorter than this."""

_ROUNDS = 80
_BEHIND = (1.08, 1.02, 1.005, 1.002)
"""A route so many times as dear as the best, by how often its step was made shorter, is given up."""

_SAME_M = (0.01, 1.0, 3.0)
"""A route nowhere further [m] from a better one with as many bends is given up, by how often its step was made shorter."""


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
        self._moves = Moves(pricing.feet, edges)

    def slide(self, routes: Sequence[Route]) -> Slid:
        """Make routes cheaper until no change gains; those that stay behind are given up."""
        tried = [_Tried(now=now, moved=np.zeros_like(now.whole)) for now in self._pricing.priced(routes)]
        places = [one.now.whole for one in tried]
        links = [np.stack([whole[:-1], whole[1:]], axis=1) for whole in places]
        for _ in range(_ROUNDS):
            tried = _ahead(tried)
            active = [one for one in tried if one.step < len(_STEPS_M)]
            if not active:
                break
            asked = [one for one in active if one.added is None]
            for one in active:
                one.take_added()
            if asked:
                links += self._go_on(asked)
            places += [one.now.whole for one in active]
        return Slid(
            found=[one.now for one in tried], places=np.concatenate(places), links=np.concatenate(links)
        )

    def _go_on(self, active: list[_Tried]) -> list[Floats]:
        """Try to change each of some routes, and make the changes that gain; return the links that were tried."""
        trenches = EndToEnd([one.now for one in active])
        now = Moved(
            trenches=trenches,
            by=np.concatenate([one.moved for one in active]),
            step_m=np.array([one.step_m for one in active]),
        )
        changes = self._moves.changes(now)
        count = len(changes.begin)
        adds = now.step_m >= _ADDED_FROM_M
        if adds.any():
            changes = together([changes, self._moves.bends_added(now, adds, self._pricing.links)])
        links, price = self._pricing.changed(trenches, changes)
        of = trenches.of[changes.begin]
        enough = np.array([one.now.price * (1 - GAIN) for one in active])
        gains = np.flatnonzero(price < enough[of])
        gaining = of[gains]
        for i, one in enumerate(active):
            mine, first = gains[gaining == i], int(trenches.first[i])
            if not len(mine):
                one.go_on(one.now, one.now)
                continue
            better, added = (
                self._changed(one.now, changes, links, best[np.argsort(price[best], kind="stable")], first)
                for best in (mine[mine < count], mine[mine >= count])
            )
            one.go_on(better, added)
        return [changes.chain[:, i : i + 2] for i in range(CHAIN - 1)]

    def _changed(self, now: Priced, changes: Changes, links: Floats, gains: Ints, first: int) -> Priced:
        """Make changes that gain, none of them next to one before it; ``first`` is the number of the first place."""
        made: list[tuple[int, int, int]] = []
        for which in gains.tolist():
            begin, end = int(changes.begin[which]), int(changes.end[which])
            if all(end < other[0] or other[1] < begin for other in made):
                made.append((begin, end, which))
        for begin, end, which in sorted(made, reverse=True):
            now = self._pricing.with_change(
                now, begin - first, end - first, changes.chain[which], links[which]
            )
        return now


@dataclass(slots=True)
class _Tried:
    """A route whose bends are being moved, and how they moved last.

    Attributes
    ----------
    now : Priced
        The route.
    moved : array (m, 2)
        How far each of its places moved last.
    step : int
        Which of the steps is tried.
    added : Priced or None
        What it becomes with bends added, if no other change gains; taken a round later, so that all routes keep pace.
    """

    now: Priced
    moved: Floats
    step: int = 0
    added: Priced | None = None

    @property
    def step_m(self) -> float:
        return _STEPS_M[self.step]

    def go_on(self, better: Priced, added: Priced) -> None:
        """Take a better route; if it is the same one, take the one with bends added in the next round."""
        if better is not self.now:
            self._take(better)
        elif self.step_m >= _ADDED_FROM_M:
            self.moved, self.added = np.zeros_like(self.moved), added
        else:
            self._take(added)

    def take_added(self) -> None:
        """Take the route with bends added, if these were tried; if it is the same one, try a shorter step."""
        if self.added is not None:
            self._take(self.added)

    def _take(self, better: Priced) -> None:
        same = better.whole.shape == self.now.whole.shape
        self.moved = better.whole - self.now.whole if same else np.zeros_like(better.whole)
        self.step += better is self.now
        self.now, self.added = better, None


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
