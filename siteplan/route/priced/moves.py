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
        for end, feet in enumerate(self._feet):
            if (feet.end != feet.start).any():
                parts.append(self._ends_moved(now, end, bend, spots))
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
        begin = (onto & which[trenches.of]).nonzero()[0]
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
        return inner.nonzero()[0]

    def _ends_moved(self, now: Moved, end: int, bend: Ints, spots: Floats) -> Changes:
        """Move ends along their walls, also square off wherever the bend next to them is tried."""
        feet, trenches = self._feet[end], now.trenches
        whole, first, final = trenches.whole, trenches.first, trenches.final
        pieces = np.array([route.pieces[end] for route in trenches.routes])
        wall = feet.end[pieces] - feet.start[pieces]
        onward = -1 if end else 1
        foot = final - self._legs[1] if end else first + self._legs[0]
        beside = foot + onward
        moves = wall.any(axis=1) & (beside >= first) & (beside <= final)
        beside[~moves] = -1
        moved = moves.nonzero()[0]
        tried = (bend == beside[trenches.of[bend]]).nonzero()[0]
        route = np.concatenate([moved, moved, moved, trenches.of[bend[tried]]])
        step, at, by = (
            _units(wall[moved]) * now.step_m[moved][:, None],
            whole[foot[moved]],
            whole[beside[moved]],
        )
        feet_at = feet.onto(np.concatenate([at + step, at - step, by, spots[tried]]), pieces[route])
        bends = final - first > 1 + sum(self._legs)
        further = np.where(bends, np.minimum(np.maximum(beside + onward, first), final), beside)[route]
        chain = np.empty((len(route), CHAIN, 2))
        chain[:, 1], chain[:, 2] = feet_at, np.concatenate([by, by, by, spots[tried]])
        chain[:, 3] = whole[further]
        if feet.has_leg:
            chain[:, 0] = feet_at + feet.onward[pieces[route]]
        else:
            chain[:, :-1] = chain[:, 1:].copy()
        if end:
            return Changes(chain=chain[:, ::-1], begin=further, end=final[route])
        return Changes(chain=chain, begin=first[route], end=further)

    def _spots(self, whole: Floats, bends: Ints, step_m: Floats) -> tuple[Ints, Floats]:
        """Return where bends are tried: along their two links, to either side, and along the edges beside them."""
        here = whole[bends]
        back, onward = _units(whole[bends - 1] - here), _units(whole[bends + 1] - here)
        middle = _units(back + onward)
        ways = np.array([back, onward, middle, middle[:, ::-1] * (-1.0, 1.0)]) * step_m[:, None]
        row, foot, along = self._beside(here, step_m)
        along *= step_m[row][:, None]
        return (
            np.concatenate([*[bends] * 8, *[bends[row]] * 3]),
            np.concatenate([*(here + ways), *(here - ways), foot, foot + along, foot - along]),
        )

    def _beside(self, here: Floats, step_m: Floats) -> tuple[Ints, Floats, Floats]:
        """Find the nearest edges within a step of each place: which place, the foot on the edge, and the way along it."""
        x, y = here.T[:, :, None] - self._start.T[:, None]
        at_m = x * self._along[:, 0] + y * self._along[:, 1]
        np.clip(at_m, 0.0, self._length_m, out=at_m)
        off_x, off_y = x - at_m * self._along[:, 0], y - at_m * self._along[:, 1]
        row, edge = np.nonzero(off_x * off_x + off_y * off_y <= (step_m * step_m)[:, None])
        off_m = np.hypot(off_x[row, edge], off_y[row, edge])
        order = np.lexsort((off_m, row))
        row, edge = row[order], edge[order]
        near = np.arange(len(row)) - row.searchsorted(row) < _EDGES
        row, edge = row[near], edge[near]
        along = self._along[edge]
        return row, self._start[edge] + at_m[row, edge][:, None] * along, along


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
