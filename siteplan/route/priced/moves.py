"""How the bends and ends of trenches are tried elsewhere, for many trenches at a time."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from siteplan.route.mesh import Floats, Ints
from siteplan.route.priced.feet import Feet
from siteplan.route.priced.links import Links
from siteplan.route.priced.routes import CHAIN, Changes, EndToEnd
from siteplan.route.priced.zone_edges import Bools

_LEAST_SINE = 0.05
"""A link is not shifted along one that turns off it by less."""

_EDGES = 4
"""A bend is tried along the nearest edges, so many at most."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Moved:
    """Trenches whose bends are to be moved.

    Attributes
    ----------
    trenches : EndToEnd
        As they are.
    by : array (n, 2)
        How each place was moved last [m], zero where that is not known.
    step_m : array (k,)
        How far the bends of each trench are moved.
    """

    trenches: EndToEnd
    by: Floats
    step_m: Floats


class Moves:
    """Gives changes of trenches between two approaches.

    Parameters
    ----------
    feet : (Feet, Feet)
        Of the start and of the end.
    edges : array (n, 2, 2)
        Straight edges of the ground; a bend is tried along those beside it.
    """

    def __init__(self, feet: tuple[Feet, Feet], edges: Floats) -> None:
        self._feet = feet
        self._legs = [int(one.has_leg) for one in feet]
        self._start = edges[:, 0]
        along = edges[:, 1] - edges[:, 0]
        self._length_m = np.hypot(along[:, 0], along[:, 1])
        self._along = _units(along)

    def changes(self, now: Moved) -> Changes:
        """Move or leave out a bend, make two one, shift the link between two, move an end."""
        whole, bends = now.trenches.whole, self._inner(now.trenches)
        step_m = now.step_m[now.trenches.of]
        bend, spots = self._spots(whole, bends, step_m[bends])
        again = bends[now.by[bends].any(axis=1)]
        bend = np.concatenate([bend, again, again, bends, bends])
        onward = now.by[again]
        spots = np.concatenate(
            [spots, whole[again] + onward, whole[again] + 3.0 * onward, whole[bends - 1], whole[bends + 1]]
        )
        parts = [_over(whole, bend - 1, bend + 1, spots)]
        pair = bends[:-1][bends[1:] == bends[:-1] + 1]
        if len(pair):
            joined, middle = _made_one(whole, pair)
            shifted, ends = _shifted(whole, pair, step_m[pair])
            parts += [
                _over(whole, joined - 1, joined + 2, middle),
                _over(whole, shifted - 1, shifted + 2, ends),
            ]
        for route in range(len(now.trenches.routes)):
            for end in (0, 1):
                parts += self._ends_moved(now, route, end, bend, spots)
        return together(parts)

    def bends_added(self, now: Moved, which: Bools, links: Links) -> Changes:
        """Bend some of the trenches where the price of the ground changes, to either side."""
        trenches = now.trenches
        onto = np.ones(len(trenches.whole), dtype=bool)
        onto[trenches.final] = False
        if self._legs[0]:
            onto[trenches.first] = False
        if self._legs[1]:
            onto[trenches.final - 1] = False
        begin = np.flatnonzero(onto & which[trenches.of])
        link, spot, along = links.changes(trenches.whole[begin], trenches.whole[begin + 1])
        begin = begin[np.concatenate([link, link])]
        step = along * now.step_m[trenches.of[begin[: len(link)]]][:, None]
        return _over(trenches.whole, begin, begin + 1, np.concatenate([spot + step, spot - step]))

    def _inner(self, trenches: EndToEnd) -> Ints:
        """Return which places of trenches are bends that may be anywhere."""
        inner = np.ones(len(trenches.whole), dtype=bool)
        for leg in range(self._legs[0] + 1):
            inner[np.minimum(trenches.first + leg, trenches.final)] = False
        for leg in range(self._legs[1] + 1):
            inner[np.maximum(trenches.final - leg, trenches.first)] = False
        return np.flatnonzero(inner)

    def _ends_moved(self, now: Moved, route: int, end: int, bend: Ints, spots: Floats) -> list[Changes]:
        """Move an end along its wall, also square off wherever the bend next to it is tried."""
        trenches = now.trenches
        feet, piece = self._feet[end], trenches.routes[route].pieces[end]
        wall = feet.end[piece] - feet.start[piece]
        first, final = int(trenches.first[route]), int(trenches.final[route])
        foot = first + self._legs[0] if end == 0 else final - self._legs[1]
        beside = foot + (1 if end == 0 else -1)
        if not wall.any() or not first <= beside <= final:
            return []
        whole = trenches.whole
        step = _units(wall[None]) * now.step_m[route]
        next_to = whole[[beside] * 3]
        feet_at = np.concatenate([whole[foot] + step, whole[foot] - step, whole[beside : beside + 1]])
        further = beside
        if final - first - 1 - sum(self._legs) > 0:
            tried = spots[bend == beside]
            next_to, feet_at = np.concatenate([next_to, tried]), np.concatenate([feet_at, tried])
            further = min(max(beside + (1 if end == 0 else -1), first), final)
        feet_at = feet.onto(feet_at, np.full(len(feet_at), piece))
        rest = np.broadcast_to(whole[further], next_to.shape)
        beyond = [feet_at + feet.onward[piece]] if feet.has_leg else []
        chain = [*beyond, feet_at, next_to, rest, rest][:CHAIN]
        begin, stop = (first, further) if end == 0 else (further, final)
        return [
            Changes(
                chain=np.stack(chain if end == 0 else chain[::-1], axis=1),
                begin=np.full(len(feet_at), begin),
                end=np.full(len(feet_at), stop),
            )
        ]

    def _spots(self, whole: Floats, bends: Ints, step_m: Floats) -> tuple[Ints, Floats]:
        """Return where bends are tried: along their two links, to either side, and along the edges beside them."""
        here = whole[bends]
        back, onward = _units(whole[bends - 1] - here), _units(whole[bends + 1] - here)
        middle = _units(back + onward)
        ways = np.stack([back, onward, middle, middle[:, ::-1] * (-1.0, 1.0)]) * step_m[:, None]
        bend = np.tile(bends, 8)
        gap = here[:, None] - self._start
        at_m = np.clip(np.einsum("bei,ei->be", gap, self._along), 0.0, self._length_m)
        off = gap - at_m[..., None] * self._along
        off_m = np.hypot(off[..., 0], off[..., 1])
        row, edge = np.nonzero(off_m <= step_m[:, None])
        order = np.lexsort((off_m[row, edge], row))
        row, edge = row[order], edge[order]
        near = np.arange(len(row)) - np.searchsorted(row, row) < _EDGES
        row, edge = row[near], edge[near]
        foot = self._start[edge] + at_m[row, edge][:, None] * self._along[edge]
        along = self._along[edge] * step_m[row][:, None]
        return (
            np.concatenate([bend, np.tile(bends[row], 3)]),
            np.concatenate([*(here + ways), *(here - ways), foot, foot + along, foot - along]),
        )


def _over(whole: Floats, begin: Ints, end: Ints, spots: Floats) -> Changes:
    """Go from one place of a trench to another over one spot each, array (k, 2), or two, array (k, 2, 2)."""
    chain = np.empty((len(begin), CHAIN, 2))
    chain[:, 0], chain[:, -1] = whole[begin], whole[end]
    if spots.ndim == 3:
        chain[:, 1:-1] = spots
    else:
        chain[:, 1], chain[:, 2] = spots, chain[:, -1]
    return Changes(chain=chain, begin=begin, end=end)


def together(parts: list[Changes]) -> Changes:
    """Join changes."""
    return Changes(
        chain=np.concatenate([part.chain for part in parts]),
        begin=np.concatenate([part.begin for part in parts]),
        end=np.concatenate([part.end for part in parts]),
    )


def _made_one(whole: Floats, first: Ints) -> tuple[Ints, Floats]:
    """Return bends that can be made one with the next, and where: halfway, and where the links on either side meet."""
    here, there = whole[first], whole[first + 1]
    into, out = here - whole[first - 1], whole[first + 2] - there
    cross = into[:, 0] * out[:, 1] - into[:, 1] * out[:, 0]
    gap = there - here
    share = (gap[:, 0] * out[:, 1] - gap[:, 1] * out[:, 0]) / np.where(cross == 0.0, np.inf, cross)
    return np.concatenate([first, first]), np.concatenate([(here + there) / 2, here + share[:, None] * into])


def _shifted(whole: Floats, first: Ints, step_m: Floats) -> tuple[Ints, Floats]:
    """Return links between two bends shifted sideways, all angles kept: the first bends, and where both come to lie."""
    here, there = whole[first], whole[first + 1]
    into, along, out = (
        _units(way) for way in (here - whole[first - 1], there - here, whole[first + 2] - there)
    )
    moved = np.empty((2 * len(first), 2, 2))
    for i, (place, way) in enumerate(((here, into), (there, out))):
        across = along[:, 0] * way[:, 1] - along[:, 1] * way[:, 0]
        share = step_m / np.where(np.abs(across) < _LEAST_SINE, np.inf, across)
        by = share[:, None] * way
        moved[: len(first), i], moved[len(first) :, i] = place + by, place - by
    return np.concatenate([first, first]), moved


def _units(ways: Floats) -> Floats:
    units: Floats = ways / np.maximum(np.hypot(ways[:, 0], ways[:, 1]), 1e-12)[:, None]
    return units
