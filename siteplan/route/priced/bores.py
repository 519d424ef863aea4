"""Which of the patches that links go through are bored under."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from siteplan.route.mesh import Floats, Ints
from siteplan.route.priced.outlines import Crossings, Edges, Lines
from siteplan.route.priced.steps import Steps
from siteplan.route.priced.zones import NEAR_M
from siteplan.route.scene import Scene

Chord = tuple[float, float, float]
"""From where to where on a link [m], and the price of boring there."""


class Bores:
    """Prices links with the bores that pay.

    Attributes
    ----------
    through, shut : Edges
        Of the patches that may be bored under, and of those that may not be dug.
    """

    def __init__(self, scene: Scene) -> None:
        bored = [(patch.area, patch.bore) for patch in scene.patches if patch.bore]
        self.through = Edges.of([area for area, _ in bored])
        self.shut = Edges.of(
            [patch.area.buffer(-NEAR_M, join_style="mitre") for patch in scene.patches if patch.shut]
        )
        rows = [(bore.pits.price, bore.per_m.price, bore.least.price, bore.longest_m) for _, bore in bored]
        self._pits, self._per_m, self._least, self._longest_m = np.array(rows).reshape(-1, 4).T

    def cheaper(self, lines: Lines, dug: Steps, through: Crossings, shut: Crossings) -> Floats:
        """Return the prices of links, bored where that is cheaper than digging.

        A bore goes from edge to edge of its patch and spares whatever else lies over it there.

        Parameters
        ----------
        lines : Lines
            The links.
        dug : Steps
            Price of a metre of each link if it is dug.
        through, shut : Crossings
            Where the links cross the edges of patches that may be bored under, and that may not be dug.
        """
        price = dug.whole(lines.length_m)
        closed = Steps(shut.link, shut.at_m, shut.sign, 0.0)
        hard = np.zeros(len(lines), dtype=bool)
        if len(shut.link):
            hard = closed.whole(lines.length_m) > NEAR_M
            price[hard] = math.inf
        if not len(through.link):
            return price
        link, begin_m, end_m, bored = self._chords(lines, through)
        saved = dug.between(link, begin_m, end_m) - bored
        pays = (saved > 0.0) | hard[link]
        if not pays.any():
            return price
        link, begin_m, end_m, bored, saved = link[pays], begin_m[pays], end_m[pays], bored[pays], saved[pays]
        over_another = (link[1:] == link[:-1]) & (begin_m[1:] < _reached(link, end_m)[:-1])
        hard[link[1:][over_another]] = True
        alone = ~hard[link]
        np.subtract.at(price, link[alone], saved[alone])
        if not alone.all():
            chords: dict[int, list[Chord]] = {}
            for at, *chord in zip(
                *(of[~alone].tolist() for of in (link, begin_m, end_m, bored)), strict=True
            ):
                chords.setdefault(at, []).append((chord[0], chord[1], chord[2]))
            _price_together(price, lines, dug, closed, chords)
        return price

    def _chords(self, lines: Lines, through: Crossings) -> tuple[Ints, Floats, Floats, Floats]:
        """Find the bores that could be made: links in order, from where to where on each [m], and prices."""
        key = through.link * len(self._pits) + self.through.owner.take(through.edge)
        order = np.lexsort((through.at_m, key))
        key, at_m = key.take(order), through.at_m.take(order)
        into = _in_pairs(key).nonzero()[0]
        link, patch = np.divmod(key.take(into), len(self._pits))
        begin_m, end_m, length_m = at_m.take(into), at_m.take(into + 1), lines.length_m.take(link)
        may = (begin_m >= -NEAR_M) & (end_m <= length_m + NEAR_M)
        begin_m, end_m = np.maximum(begin_m, 0.0), np.minimum(end_m, length_m)
        metres = end_m - begin_m
        may &= (metres > NEAR_M) & (metres <= self._longest_m.take(patch))
        made = may.nonzero()[0]
        made = made.take(np.lexsort((begin_m.take(made), link.take(made))))
        patch = patch.take(made)
        metred = self._per_m.take(patch) * metres.take(made)
        price = self._pits.take(patch) + np.maximum(self._least.take(patch), metred)
        return link.take(made), begin_m.take(made), end_m.take(made), price


def _in_pairs(key: Ints) -> NDArray[np.bool_]:
    """Tell which of the sorted crossings go into a patch that the next one comes out of; a last one alone does not."""
    count = np.arange(len(key))
    new = np.ones(len(key) + 1, dtype=bool)
    np.not_equal(key[1:], key[:-1], out=new[1:-1])
    goes_out = (count - np.maximum.accumulate(count * new[:-1])) & 1
    pairs: NDArray[np.bool_] = ~(goes_out.astype(bool) | new[1:])
    return pairs


def _reached(link: Ints, end_m: Floats) -> Floats:
    """Return how far the chords up to each reach on its link."""
    shift = link * (end_m.max(initial=0.0) + 1.0)
    reached: Floats = np.maximum.accumulate(end_m + shift) - shift
    return reached


def _price_together(
    price: Floats, lines: Lines, dug: Steps, closed: Steps, chords: dict[int, list[Chord]]
) -> None:
    """Price links where bores lie over each other, or over shut ground: cut at the ends of all bores."""
    cuts = {
        link: sorted({0.0, float(lines.length_m[link]), *(cut for chord in own for cut in chord[:2])})
        for link, own in chords.items()
    }
    link = np.repeat(list(cuts), [len(here) - 1 for here in cuts.values()])
    begin_m, end_m = np.array([pair for here in cuts.values() for pair in pairwise(here)]).T
    is_shut = closed.between(link, begin_m, end_m) > NEAR_M
    parts = iter(np.where(is_shut, math.inf, dug.between(link, begin_m, end_m)).tolist())
    for at, here in cuts.items():
        ground = [next(parts) for _ in here[1:]]
        price[at] = min(price[at], _cheapest(here, ground, chords[at]))


def _cheapest(cuts: list[float], ground: list[float], chords: list[Chord]) -> float:
    """Return the price of one link with the best of its bores: the cheapest way along it from cut to cut."""
    price = {cuts[0]: 0.0}
    for i, (here, there) in enumerate(pairwise(cuts)):
        ways = [price[here] + ground[i]]
        for start, end, bored in chords:
            if end == there:
                ways += [price[cut] + bored for cut in cuts[: i + 1] if cut >= start]
        price[there] = min(ways)
    return price[cuts[-1]]
