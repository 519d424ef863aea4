"""One straight piece of trench cut where the ground changes, for its bill."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise

import numpy as np
import shapely
from shapely import LineString, Point

from siteplan.route.priced.zones import ASIDE_M, NEAR_M
from siteplan.route.scene import Bore, Charge, Patch, Scene

Owed = tuple[str, Charge]
"""Id of the feature, empty for plain ground, and the charge."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """A stretch of a straight piece over which the price does not change.

    Attributes
    ----------
    start_m, end_m : float
        Along the piece.
    dig, restore : (str, Charge)
        What digging and restoring a metre costs, and for which feature.
    shut : str
        Id of the feature that may not be dug here, empty if there is none.
    """

    start_m: float
    end_m: float
    dig: Owed
    restore: Owed
    shut: str

    @property
    def length_m(self) -> float:
        """Its length."""
        return self.end_m - self.start_m

    @property
    def price(self) -> float:
        """Price of digging it."""
        if self.shut:
            return math.inf
        return (self.dig[1].price + self.restore[1].price) * self.length_m


@dataclass(frozen=True, slots=True, kw_only=True)
class Chord:
    """Where a straight piece goes through a patch from edge to edge, and may be bored."""

    feature: str
    bore: Bore
    start_m: float
    end_m: float

    @property
    def length_m(self) -> float:
        """Its length."""
        return self.end_m - self.start_m

    @property
    def price(self) -> float:
        """Price of the bore."""
        return self.bore.price(self.length_m)


def best_bores(scene: Scene, piece: LineString) -> tuple[list[Stretch], list[Chord]]:
    """Choose what is dug and what is bored of a straight piece, so that it is cheapest; every choice of bores is tried.

    Returns
    -------
    tuple
        Stretches that are dug, some on shut ground if there is no way round it, and bores.
    """
    areas = np.array([patch.area for patch in scene.patches], dtype=object)
    near = [scene.patches[i] for i in np.flatnonzero(shapely.dwithin(areas, piece, NEAR_M)).tolist()]
    chords = list(_chords(near, piece))
    dug = _stretches(scene, near, piece, chords)
    bored: list[Chord] = []
    for group in _overlapping(chords):
        here = [stretch for stretch in dug if _within(stretch, group)]
        choices = [choice for count in range(len(group) + 1) for choice in combinations(group, count)]
        best = min(choices, key=lambda choice: _price(here, choice))
        if math.isfinite(_price(here, best)):
            bored += best
    return [stretch for stretch in dug if not _within(stretch, bored)], bored


def _price(here: Sequence[Stretch], bored: Sequence[Chord]) -> float:
    dug = math.fsum(stretch.price for stretch in here if not _within(stretch, bored))
    return dug + math.fsum(chord.price for chord in bored)


def _within(stretch: Stretch, chords: Sequence[Chord]) -> bool:
    middle_m = (stretch.start_m + stretch.end_m) / 2
    return any(chord.start_m < middle_m < chord.end_m for chord in chords)


def _overlapping(chords: Sequence[Chord]) -> Iterator[list[Chord]]:
    """Give the chords in groups that lie clear of each other."""
    group: list[Chord] = []
    reach_m = -math.inf
    for chord in sorted(chords, key=lambda chord: (chord.start_m, chord.end_m)):
        if group and chord.start_m >= reach_m:
            yield group
            group = []
        group.append(chord)
        reach_m = max(reach_m, chord.end_m)
    if group:
        yield group


def _chords(near: Sequence[Patch], piece: LineString) -> Iterator[Chord]:
    """Give the bores that could be made."""
    for patch in near:
        if patch.bore is None:
            continue
        edge = patch.area.boundary
        for part in shapely.get_parts(piece.intersection(patch.area)):
            if part.geom_type != "LineString" or part.length <= NEAR_M:
                continue
            if all(edge.distance(Point(end)) <= NEAR_M for end in part.coords):
                start_m, end_m = sorted(piece.project(Point(end)) for end in part.coords)
                yield Chord(feature=patch.feature, bore=patch.bore, start_m=start_m, end_m=end_m)


def _stretches(
    scene: Scene, near: Sequence[Patch], piece: LineString, chords: Sequence[Chord]
) -> list[Stretch]:
    cuts_m = {0.0, piece.length}
    for patch in near:
        met = shapely.get_coordinates(piece.intersection(patch.area.boundary))
        corners = shapely.points(shapely.get_coordinates(patch.area))
        near_by = corners[shapely.dwithin(piece, corners, NEAR_M)]
        cuts_m.update(piece.project(Point(place)) for place in met)
        cuts_m.update(shapely.line_locate_point(piece, near_by).tolist())
    for chord in chords:
        cuts_m.update((chord.start_m, chord.end_m))
    return [
        _stretch(scene, piece, near, start_m, end_m)
        for start_m, end_m in pairwise(sorted(cuts_m))
        if end_m > start_m
    ]


def _stretch(scene: Scene, piece: LineString, near: Sequence[Patch], start_m: float, end_m: float) -> Stretch:
    """Price a stretch at its middle; on the edge of a patch, at the cheaper side that is free ground."""
    middle = piece.interpolate((start_m + end_m) / 2)
    spots = [middle]
    if any(patch.area.boundary.distance(middle) <= NEAR_M for patch in near):
        (x1, y1), (x2, y2) = piece.coords
        across = ASIDE_M * (y1 - y2) / piece.length, ASIDE_M * (x2 - x1) / piece.length
        spots = [Point(middle.x + side * across[0], middle.y + side * across[1]) for side in (1, -1)]
        spots = [spot for spot in spots if scene.free.intersects(spot)] or spots
    sides = [
        _side(scene, [patch for patch in near if patch.area.contains(spot)], start_m, end_m) for spot in spots
    ]
    return min(sides, key=lambda stretch: stretch.price)


def _side(scene: Scene, over: Sequence[Patch], start_m: float, end_m: float) -> Stretch:
    digs = [(patch.feature, patch.dig) for patch in over if patch.dig]
    restores = [(patch.feature, patch.restore) for patch in over if patch.restore]
    return Stretch(
        start_m=start_m,
        end_m=end_m,
        dig=max(digs, key=_dearness, default=("", scene.dig)),
        restore=max(restores, key=_dearness, default=("", scene.restore)),
        shut=next((patch.feature for patch in over if patch.shut and end_m - start_m > NEAR_M), ""),
    )


def _dearness(owed: Owed) -> float:
    return owed[1].price
