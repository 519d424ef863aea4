"""The price of a trench whose bends are free, worked out from the patches themselves and not from the regions."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, Point
from shapely.geometry.base import BaseGeometry

from siteplan.route.proof.convex import Floats
from siteplan.route.proof.regions import axes_of, beside
from siteplan.route.scene import Patch, Scene

_NEAR_M = 5e-6
_ASIDE_M = 3e-6
_STRAIGHT_M = 1e-8
_LEAST_M = 1e-7
_ANGLE_SLACK = 1e-6


class OwnPrice:
    """Prices trenches over a scene, each bored where that is cheaper.

    Examples
    --------
    >>> from siteplan.route.scene import Charge
    >>> one = Charge(row="", price=1.0)
    >>> drive = Patch(feature="drive", area=shapely.box(4, 0, 6, 9), dig=Charge(row="", price=30.0))
    >>> OwnPrice(Scene(free=shapely.box(0, 0, 9, 9), dig=one, restore=one, patches=(drive,))).of(LineString([(1, 1), (8, 1)]))
    72.0
    """

    def __init__(self, scene: Scene) -> None:
        self._scene = scene
        self._wide = scene.free.buffer(_NEAR_M)
        self._boundaries = np.array([patch.area.boundary for patch in scene.patches], dtype=object)
        self._tolled = [
            (line, crossed.toll.price)
            for crossed in scene.crossed
            for line in axes_of(crossed)
            if crossed.toll.price > 0.0
        ]
        shapely.prepare(self._wide)
        for patch in scene.patches:
            shapely.prepare(patch.area)

    def of(self, line: LineString) -> float:
        """Return the price; infinite if the trench leaves the free ground, is dug where that is shut or crosses too flat."""
        line = line.simplify(_STRAIGHT_M)
        if not self._wide.covers(line):
            return math.inf
        places = shapely.get_coordinates(line)
        if self._too_flat(places):
            return math.inf
        return sum(self._leg(tail, head) for tail, head in pairwise(places)) + self._tolls(line)

    def _leg(self, tail: Floats, head: Floats) -> float:
        """Price of one straight: every stretch between two outlines is dug, or some of them together bored under."""
        length_m = math.dist(tail, head)
        if length_m < _LEAST_M:
            return 0.0
        way = (head - tail) / length_m
        met = shapely.get_coordinates(shapely.intersection(self._boundaries, LineString([tail, head])))
        at = np.unique(np.clip(np.concatenate([[0.0, length_m], (met - tail) @ way]), 0.0, length_m))
        at = at[np.concatenate([[True], np.diff(at) > _LEAST_M])]
        at[-1] = length_m
        middles = tail + ((at[:-1] + at[1:]) / 2)[:, None] * way
        aside = _ASIDE_M * np.array([-way[1], way[0]])
        sides = [shapely.points(middles + sign * aside) for sign in (1.0, -1.0)]
        rates = np.minimum(*(self._rates(points) for points in sides))
        bores = [
            chord
            for patch in self._scene.patches
            if patch.bore
            for chord in self._chords(patch, tail + at[:, None] * way, at, shapely.points(middles))
        ]
        spent = [0.0] + [math.inf] * (len(at) - 1)
        for end in range(1, len(at)):
            spent[end] = spent[end - 1] + float(rates[end - 1] * (at[end] - at[end - 1]))
            for first, last, price in bores:
                if last == end:
                    spent[end] = min(spent[end], spent[first] + price)
        return spent[-1]

    def _rates(self, points: NDArray[np.object_]) -> Floats:
        """Price of a metre at some points, infinite on shut ground."""
        dig, restore = np.full(len(points), -math.inf), np.full(len(points), -math.inf)
        shut = np.zeros(len(points), bool)
        for patch in self._scene.patches:
            on = shapely.covers(patch.area, points)
            if patch.dig:
                dig[on] = np.maximum(dig[on], patch.dig.price)
            if patch.restore:
                restore[on] = np.maximum(restore[on], patch.restore.price)
            shut |= on & patch.shut
        plain = self._scene.dig.price, self._scene.restore.price
        rates = sum(
            np.where(np.isinf(own), bare, own) for own, bare in zip((dig, restore), plain, strict=True)
        )
        return np.where(shut, math.inf, rates)

    def _chords(
        self, patch: Patch, ends: Floats, at: Floats, middles: NDArray[np.object_]
    ) -> list[tuple[int, int, float]]:
        """Return from where to where a straight can be bored under a patch, and the price of it."""
        under = np.concatenate([[False], shapely.covers(patch.area, middles), [False]])
        on_edge = shapely.distance(patch.area.boundary, shapely.points(ends)) < _NEAR_M
        first, last = np.flatnonzero(~under[:-1] & under[1:]), np.flatnonzero(under[:-1] & ~under[1:])
        return [
            (int(a), int(b), patch.bore.price(float(at[b] - at[a])))
            for a, b in zip(first, last, strict=True)
            if patch.bore and on_edge[a] and on_edge[b]
        ]

    def _tolls(self, line: LineString) -> float:
        """Tolls of all places where the trench meets an axis but for the ends of that, each run along it counting once."""
        total = 0.0
        for axis, toll in self._tolled:
            met = line.intersection(axis)
            if not met.is_empty:
                crossed = [
                    part
                    for part in shapely.get_parts(met)
                    if part.length > 0 or not _near(part, axis.boundary)
                ]
                total += toll * len(crossed)
        return total

    def _too_flat(self, places: Floats) -> bool:
        """Tell whether a straight piece lies flatter beside an axis than it may."""
        legs = [LineString(pair) for pair in pairwise(places)]
        for crossed in self._scene.crossed:
            most = math.cos(math.radians(crossed.least_angle_deg)) + _ANGLE_SLACK
            for (x, y), slab in beside(crossed):
                inner = slab.buffer(-_NEAR_M)
                for number, leg in enumerate(legs):
                    way = (places[number + 1] - places[number]) / max(leg.length, _LEAST_M)
                    if abs(way[0] * x + way[1] * y) > most and leg.intersection(inner).length > _LEAST_M:
                        spared = (number == 0 and crossed.zone.distance(Point(places[0])) < _NEAR_M) or (
                            number == len(legs) - 1 and crossed.zone.distance(Point(places[-1])) < _NEAR_M
                        )
                        if not spared:
                            return True
        return False


def _near(place: BaseGeometry, other: BaseGeometry) -> bool:
    return not other.is_empty and bool(place.distance(other) < _NEAR_M)
