"""Where to start: each point of a tape net from those before it, by bearing, offset, square wall or two crossing tapes.

Two tapes leave two places. The one that everything else known of the point fits better comes first; the other can be asked for.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from math import acos, cos, hypot, pi, radians, sin, sqrt
from typing import TypeAlias

import numpy as np

from siteplan.site.evidence import Z95_TWO_SIDED
from siteplan.site.field_notes import Hand, Measurement

XY: TypeAlias = tuple[float, float]
Row: TypeAlias = tuple[Measurement, Mapping[str, int]]

_CANNOT_SIGMAS = 3.0
_PARALLEL = 1e-3
_UNLIKELY_COST = 900.0
"""A second place that what is known of the point fits by so much worse (30 sigmas squared) is not tried."""

_FAR_SIGMAS = 6.0
"""Coordinates tell a place from its mirror image if the two lie so many of their sigmas apart."""

_APART_M = 0.05
"""Two tapes that only just touch start this far [m] to either side of their line, so that the start has a direction."""


@dataclass(frozen=True, slots=True)
class Start:
    """Places to start from.

    Attributes
    ----------
    places : mapping of int to (float, float)
        Of the points that could be reached.
    two_ways : frozenset of int
        Points that two tapes leave two places for.
    """

    places: Mapping[int, XY]
    two_ways: frozenset[int]


class CannotMeet(ValueError):
    """Two tapes to one point that do not reach each other, or one that ends inside the other's circle."""

    def __init__(self, point: int, first: Measurement, second: Measurement, gap_m: float) -> None:
        self.point, self.first, self.second, self.gap_m = point, first, second, gap_m
        super().__init__(f"{gap_m} m")


@dataclass(frozen=True, slots=True)
class _Tape:
    row: Measurement
    centre: int
    length_m: float
    sigma_m: float


@dataclass(frozen=True, slots=True)
class _Way:
    """Places that one point may have, the likelier first, and how surely they come out (1 best)."""

    places: tuple[XY, ...]
    worth: float


def start_places(
    rows: Sequence[Row], known: Mapping[int, XY], sigmas_m: Mapping[int, float], other: frozenset[int]
) -> Start:
    """Reach every point that can be reached, the best determined first.

    Parameters
    ----------
    rows : sequence of (Measurement, mapping)
        With the numbers of their points by role.
    known : mapping of int to (float, float)
        Places to begin with.
    sigmas_m : mapping of int to float
        How surely these are known, relative to each other [m].
    other : frozenset of int
        Points to be put at the other of their two places.

    Raises
    ------
    CannotMeet
    """
    return _Chain(rows, known, sigmas_m, other).reach()


class _Chain:
    def __init__(
        self,
        rows: Sequence[Row],
        known: Mapping[int, XY],
        sigmas_m: Mapping[int, float],
        other: frozenset[int],
    ) -> None:
        self._rows, self._places, self._other = rows, dict(known), other
        self._sigmas_m, self._two_ways = dict(sigmas_m), set[int]()
        self._of: dict[int, list[Row]] = {}
        for row in rows:
            for point in {row[1]["point"], row[1]["start"]}:
                self._of.setdefault(point, []).append(row)

    def reach(self) -> Start:
        self._turn_over_known()
        waiting = {point for _, points in self._rows for point in points.values()} - self._places.keys()
        while waiting:
            ways = {point: way for point in sorted(waiting) if (way := self._way(point)) is not None}
            if not ways:
                break
            point = max(ways, key=lambda each: (ways[each].worth, -each))
            places = ways[point].places
            if len(places) > 1:
                self._two_ways.add(point)
            self._places[point] = places[-1] if point in self._other else places[0]
            self._sigmas_m[point] = max(row.error_m for row, _ in self._of[point])
            waiting.discard(point)
        return Start(self._places, frozenset(self._two_ways))

    def _turn_over_known(self) -> None:
        """Points with coordinates may lie on the other side of the line through what they are taped from, if near enough."""
        known = dict(self._places)
        for point, place in known.items():
            tapes = list(self._tapes(point))
            if len(tapes) < 2 or any(True for _ in self._fixes(point)) or self._sides(point):
                continue
            a, b = max(
                combinations([known[tape.centre] for tape in tapes], 2),
                key=lambda pair: hypot(pair[1][0] - pair[0][0], pair[1][1] - pair[0][1]),
            )
            mirrored = _mirrored(place, a, b)
            sigma_m = hypot(self._sigmas_m[point], max(self._sigmas_m[tape.centre] for tape in tapes))
            far_m = hypot(mirrored[0] - place[0], mirrored[1] - place[1])
            if a != b and far_m < _FAR_SIGMAS * sigma_m:
                self._two_ways.add(point)
                if point in self._other:
                    self._places[point] = mirrored

    def _way(self, point: int) -> _Way | None:
        fixes = list(self._fixes(point))
        if fixes:
            return _Way((min(fixes, key=lambda fix: fix[1])[0],), 2.0)
        tapes = list(self._tapes(point))
        found: list[tuple[float, tuple[XY, ...]]] = []
        found += [(square, (place,)) for place, square in self._on_rays(point, tapes)]
        apart: CannotMeet | None = None
        for a, b in combinations(tapes, 2):
            if a.centre != b.centre:
                try:
                    found.append(self._crossing(point, a, b))
                except CannotMeet as gap:
                    apart = apart or gap
        if not found:
            if apart is not None:
                raise apart
            return None
        best = max(found, key=lambda each: each[0])
        costs = {place: (self._off_side(point, place), self._cost(point, place, tapes)) for place in best[1]}
        ranked = sorted(costs, key=lambda place: costs[place])
        likely = [place for place in ranked if costs[place][1] < costs[ranked[0]][1] + _UNLIKELY_COST]
        return _Way(tuple(ranked[:1] if self._sides(point) else likely), best[0])

    def _tapes(self, point: int) -> Iterator[_Tape]:
        """Tapes between the point and points that are placed."""
        for row, points in self._of.get(point, ()):
            centre = points["start"] if points["point"] == point else points["point"]
            if row.distance_m is not None and centre in self._places:
                yield _Tape(row, centre, row.distance_m, row.error_m / Z95_TWO_SIDED)

    def _fixes(self, point: int) -> Iterator[tuple[XY, float]]:
        """Places that one row gives alone, and its error [m]."""
        for row, points in self._of.get(point, ()):
            there = points["point"] == point
            from_ = points["start"] if there else points["point"]
            if from_ not in self._places:
                continue
            x, y = self._places[from_]
            if row.bearing_deg is not None and row.distance_m is not None:
                turn, sign = radians(row.bearing_deg), 1 if there else -1
                reach = sign * row.distance_m
                yield (x + reach * sin(turn), y + reach * cos(turn)), row.error_m
            elif not there:
                continue
            elif row.along_m is not None and row.offset_m is not None and points["towards"] in self._places:
                (ex, ey), (lx, ly) = _ahead_left((x, y), self._places[points["towards"]])
                along, off = row.along_m, row.offset_m
                yield (x + along * ex + off * lx, y + along * ey + off * ly), row.error_m
            elif row.turn is not None and row.distance_m is not None and points["before"] in self._places:
                _, (lx, ly) = _ahead_left(self._places[points["before"]], (x, y))
                reach = row.distance_m * (1 if row.turn == "left" else -1)
                yield (x + reach * lx, y + reach * ly), 2 * row.error_m

    def _crossing(self, point: int, a: _Tape, b: _Tape) -> tuple[float, tuple[XY, ...]]:
        """Sine of the angle at which two tapes cross, and the two places."""
        here, there = self._places[a.centre], self._places[b.centre]
        apart = hypot(there[0] - here[0], there[1] - here[1])
        sigma = sqrt(
            a.sigma_m**2 + b.sigma_m**2 + self._sigmas_m[a.centre] ** 2 + self._sigmas_m[b.centre] ** 2
        )
        gap = max(apart - a.length_m - b.length_m, abs(a.length_m - b.length_m) - apart)
        if gap > _CANNOT_SIGMAS * sigma:
            raise CannotMeet(point, a.row, b.row, gap)
        if apart < _APART_M:
            return 0.0, (here,)
        (ex, ey), (lx, ly) = _ahead_left(here, there)
        along = (a.length_m**2 - b.length_m**2 + apart**2) / (2 * apart)
        off = sqrt(max(a.length_m**2 - along**2, 0.0))
        square = off * apart / (a.length_m * b.length_m)
        if off < _APART_M:
            along, off = min(max(along, -a.length_m), a.length_m), _APART_M
        x, y = here[0] + along * ex, here[1] + along * ey
        return square, ((x + off * lx, y + off * ly), (x - off * lx, y - off * ly))

    def _on_rays(self, point: int, tapes: Sequence[_Tape]) -> Iterator[tuple[XY, float]]:
        """Where bearings without a distance cross a tape (ahead, the farther of two) or each other, and how squarely."""
        rays = []
        for row, points in self._of.get(point, ()):
            there = points["point"] == point
            from_ = points["start"] if there else points["point"]
            if row.bearing_deg is not None and row.distance_m is None and from_ in self._places:
                turn = radians(row.bearing_deg) + (0 if there else pi)
                rays.append((from_, self._places[from_], (sin(turn), cos(turn))))
        for from_, (x, y), (ex, ey) in rays:
            for tape in tapes:
                if tape.centre != from_:
                    cx, cy = self._places[tape.centre]
                    ahead = (cx - x) * ex + (cy - y) * ey
                    aside = (cx - x) * ey - (cy - y) * ex
                    half = sqrt(max(tape.length_m**2 - aside**2, 0.0))
                    yield (x + (ahead + half) * ex, y + (ahead + half) * ey), half / tape.length_m
        for (_, (x, y), (ex, ey)), (_, (cx, cy), (fx, fy)) in combinations(rays, 2):
            square = ex * fy - ey * fx
            if abs(square) > _PARALLEL:
                reach = ((cx - x) * fy - (cy - y) * fx) / square
                yield (x + reach * ex, y + reach * ey), abs(square)

    def _sides(self, point: int) -> list[tuple[XY, XY, Hand]]:
        """Baselines of which the side is stated and both ends are placed."""
        found = []
        for row, points in self._of.get(point, ()):
            if row.side is None or points["point"] != point:
                continue
            ends = [points["start"], points["towards"]]
            if all(end in self._places for end in ends):
                found.append((self._places[ends[0]], self._places[ends[1]], row.side))
        return found

    def _off_side(self, point: int, place: XY) -> int:
        return sum(hand_of(place, a, b) != side for a, b, side in self._sides(point))

    def _cost(self, point: int, place: XY, tapes: Iterable[_Tape]) -> float:
        cost = 0.0
        for tape in tapes:
            x, y = self._places[tape.centre]
            cost += ((hypot(place[0] - x, place[1] - y) - tape.length_m) / tape.sigma_m) ** 2
        for row, points in self._of[point]:
            from_ = points["start"] if points["point"] == point else points["point"]
            if row.bearing_deg is not None and from_ in self._places:
                ahead = radians(row.bearing_deg) + (0 if points["point"] == point else pi)
                (x, y) = self._places[from_]
                off = np.arctan2(place[0] - x, place[1] - y) - ahead
                off = (off + pi) % (2 * pi) - pi
                cost += (off / radians(row.bearing_error_deg / Z95_TWO_SIDED)) ** 2
        return float(cost)


def hand_of(place: XY, a: XY, b: XY) -> Hand:
    """On which side of the line from ``a`` to ``b`` a place lies, looking from ``a``."""
    cross = (b[0] - a[0]) * (place[1] - a[1]) - (b[1] - a[1]) * (place[0] - a[0])
    return "left" if cross > 0 else "right"


def crossing_deg(a: XY, b: XY) -> float:
    """Angle [0 to 90 deg] at which two directions cross."""
    cosine = abs(a[0] * b[0] + a[1] * b[1]) / (hypot(*a) * hypot(*b))
    return float(np.degrees(acos(min(cosine, 1.0))))


def _ahead_left(a: XY, b: XY) -> tuple[XY, XY]:
    """Direction from one place to another, and to its left; to the north where the two are one."""
    length = hypot(b[0] - a[0], b[1] - a[1])
    ahead = ((b[0] - a[0]) / length, (b[1] - a[1]) / length) if length else (0.0, 1.0)
    return ahead, (-ahead[1], ahead[0])


def _mirrored(place: XY, a: XY, b: XY) -> XY:
    (ex, ey), _ = _ahead_left(a, b)
    along = (place[0] - a[0]) * ex + (place[1] - a[1]) * ey
    return 2 * (a[0] + along * ex) - place[0], 2 * (a[1] + along * ey) - place[1]
