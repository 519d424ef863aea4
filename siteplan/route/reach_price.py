"""What one reach of a tree of trenches is priced by, and where it is bored: cut where other reaches branch off it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from itertools import accumulate, pairwise

from shapely import LineString

from siteplan.route.approach import NEAR_M, Approach
from siteplan.route.model import Bored, Reach
from siteplan.route.priced.bill import STRAIGHT_DEG, Item, bill
from siteplan.route.priced.stretches import best_bores
from siteplan.route.scene import Scene


class ReachPrice:
    """One reach among the reaches of its tree.

    Parameters
    ----------
    reach : Reach
        The one.
    reaches : sequence of Reach
        All of the tree.
    start : Approach
        How they leave the start.
    ends : mapping of str to Approach
        How they come to each end, by its id.
    """

    def __init__(
        self, reach: Reach, reaches: Sequence[Reach], start: Approach, ends: Mapping[str, Approach]
    ) -> None:
        self.reach = reach
        self._parent = next((other for other in reaches if other.name == reach.parent), None)
        self._beside = [
            other.name
            for other in reaches
            if other.parent is not None
            and other.parent == reach.parent
            and abs(_tee_m(other) - _tee_m(reach)) < NEAR_M
        ]
        places = list(reach.path.coords)
        along_m = [0.0, *accumulate(math.dist(*pair) for pair in pairwise(places))]
        tees_m = [_tee_m(other) for other in reaches if other.parent == reach.name]
        tees = {min(range(len(places)), key=lambda i: abs(along_m[i] - tee_m)) for tee_m in tees_m}
        cuts = sorted({0, *tees, len(places) - 1})
        self._parts = [(along_m[a], LineString(places[a : b + 1])) for a, b in pairwise(cuts)]
        self._taps = start.tapped
        self._from_wall = reach.parent is None and start.leg_m > 0.0
        self._to_wall = reach.ends_at in ends and ends[reach.ends_at].leg_m > 0.0

    def bored(self, scene: Scene) -> tuple[Bored, ...]:
        """Return the stretches that are bored under something, in order."""
        found: list[Bored] = []
        for from_m, part in self._parts:
            done_m = from_m
            for pair in pairwise(part.coords):
                piece = LineString(pair)
                found += (
                    Bored(feature=chord.feature, from_m=done_m + chord.start_m, to_m=done_m + chord.end_m)
                    for chord in best_bores(scene, piece)[1]
                )
                done_m += piece.length
        return tuple(found)

    def bill(self, scene: Scene) -> Iterator[Item]:
        """Give all items; where a reach branches off, or taps a line that is there, that is a tee, not a bend."""
        last = len(self._parts) - 1
        for i, (_, part) in enumerate(self._parts):
            legs = self._from_wall and i == 0, self._to_wall and i == last
            yield from bill(scene, part, legs=legs).items
        yield from self._joint(scene)

    def _joint(self, scene: Scene) -> Iterator[Item]:
        """Give what is due where it begins: a tee; where a reach ends, the bend; at a start nothing, unless it is tapped."""
        tee = scene.tee
        if self._parent is None or not self.reach.parent_m:
            if self._taps:
                yield Item(row=tee.row, of="", amount=1.0, price=tee.price)
            return
        if self.reach.parent_m > self._parent.length_m - NEAR_M and self.reach.name == self._beside[0]:
            if len(self._beside) > 1:
                return
            turn_deg = _turn_deg(self._parent.path, self.reach.path)
            bend = scene.bend_charge(turn_deg)
            if turn_deg < STRAIGHT_DEG:
                return
            if bend and bend.price < tee.price:
                tee = bend
        yield Item(row=tee.row, of="", amount=1.0, price=tee.price)


def _tee_m(reach: Reach) -> float:
    return reach.parent_m or 0.0


def _turn_deg(before: LineString, after: LineString) -> float:
    """Return how far a trench turns that goes on at the end of another one."""
    (a, b), (c, d) = before.coords[-2:], after.coords[:2]
    turn = math.atan2(d[1] - c[1], d[0] - c[0]) - math.atan2(b[1] - a[1], b[0] - a[0])
    return abs(math.degrees(math.remainder(turn, math.tau)))
