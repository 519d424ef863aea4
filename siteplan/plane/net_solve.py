"""The observations of a tape net, and the places that fit them best."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from math import cos, hypot, radians, sin
from typing import TypeAlias

import numpy as np
import shapely
from numpy.typing import NDArray

from siteplan.plane import net_faults
from siteplan.plane.adjust import Adjusted, Adjustment, Observation, Undetermined, best_turn
from siteplan.plane.net_names import Names
from siteplan.plane.net_start import CannotMeet, Row, Start, start_places
from siteplan.read.words import FaultList
from siteplan.site.evidence import R95_PER_SIGMA, Z95_TWO_SIDED
from siteplan.site.features import Feature
from siteplan.site.field_notes import FieldNotes, Measurement
from siteplan.site.site import Site
from siteplan.units import Printer

Floats: TypeAlias = NDArray[np.float64]

SQUARE = 1 / 120
"""What a corner called square may be off, as a part of the wall, 95 %: 1 in in 10 ft. Common practice, no source."""

SQUARE_BY_EYE_DEG = 2.0
"""What an offset may be off square to its baseline [deg], 95 %. Common practice, no source."""

_LEAST_SIGMA_M = 0.001
_HELD_M, _HELD_RAD = 1e-4, 1e-6
_ALIKE_COST = 9.0
"""Two solutions whose sums of squares differ by less than 3 sigma squared cannot be told apart."""

_ALIKE_M = 0.3
_MOST_ROUNDS = 20


@dataclass(frozen=True, slots=True)
class _Solution:
    places: Floats
    cost: float
    start: Start


@dataclass(frozen=True, slots=True, kw_only=True)
class _Seed:
    """A taped line to lay the sketch out from; ``turned``: some bearing was taken."""

    line: tuple[int, int]
    known: Mapping[int, tuple[float, float]]
    sigmas_m: Mapping[int, float]
    turned: bool


class NetSolver:
    """Points, coordinates and measurements of a site as observations, and the solution that fits them best.

    ``held`` are the ends of the line that a net is laid out from whose coordinates do not tell its direction.
    """

    def __init__(self, site: Site, notes: FieldNotes, names: Names, faults: FaultList) -> None:
        self.names, self._faults = names, faults
        self.rows: list[Row] = names.rows
        self.features = {each.id: each for each in site.features if each.id in names.vertices}
        self.outings: list[str] = []
        self.known: dict[int, tuple[float, float]] = {}
        self._sigmas_m: dict[int, float] = {}
        self.observations: list[Observation] = []
        self.of_row: list[tuple[int, str]] = []
        self.of_coordinate: dict[str, list[int]] = {}
        self.held: tuple[int, int] | None = None
        self._print = Printer(site.units)
        self._north_deg = site.grid_north_deg or 0.0
        self._alone = all(each.id in notes.by_points for each in site.features)
        for number, (row, points) in enumerate(self.rows):
            for part, observation in observed(row, points):
                self.of_row.append((number, part))
                self.observations.append(observation)
        self._take_coordinates()

    def solved(self) -> Adjusted | None:
        """Return the adjusted net; None if something stands in the way, which is noted."""
        if not self.known and not self._hold():
            if self._alone:
                net_faults.note_no_tape(self.rows, self._faults)
            else:
                everything = range(len(self.names.names))
                net_faults.note_hanging(everything, self.names.names, self.rows, self._faults)
            return None
        try:
            best, others = self._best()
        except CannotMeet as gap:
            net_faults.note_cannot_meet(self.names.names[gap.point], gap, self._print, self._faults)
            return None
        if best is None:
            return None
        for point, other in others.items():
            apart_m = float(np.hypot(*(other.places[point] - best.places[point])))
            apart = self._print.length(apart_m)
            net_faults.note_two_places(point, self.names.names, self.rows, apart, self._faults)
        if len(self._faults):
            return None
        try:
            adjusted = self._adjustment.adjusted(best.places)
        except Undetermined as free:
            net_faults.note_free(free.points, self.names.names, self.rows, self._faults)
            return None
        worst = self._worst(adjusted)
        net_faults.check_tapes_meet(
            self.rows, self.names.names, best.places, worst, self._print, self._faults
        )
        net_faults.check_hands(self.rows, best.places, self._faults)
        return None if len(self._faults) else adjusted

    def _worst(self, adjusted: Adjusted) -> Measurement | None:
        """The measurement that fits the others least, of those that cannot be told apart the farthest off; None if unchecked."""
        sigmas, misfits = np.abs(adjusted.standardised()).tolist(), np.abs(adjusted.misfits).tolist()
        ranked = [(round(sigmas[n], 4), misfits[n], -row) for n, (row, _) in enumerate(self.of_row)]
        worst = max(ranked, default=(0.0, 0.0, 0))
        return self.rows[-worst[2]][0] if worst[0] > 0 else None

    def _take_coordinates(self) -> None:
        """Coordinates of what is drawn, those of one outing with one shift."""
        drawn = [each for each in self.features.values() if not each.shape.is_empty]
        shared = dict.fromkeys(outing_of(each) for each in drawn if each.evidence.shared_m > 0)
        self.outings = list(shared)
        several = len({outing_of(each) for each in drawn}) > 1
        for feature in drawn:
            evidence, own = feature.evidence, self.of_coordinate.setdefault(feature.id, [])
            sigma_m = max(evidence.private_m / R95_PER_SIGMA, _LEAST_SIGMA_M)
            shift = self.shift_of(feature)
            taken = set[int]()
            for point, at in zip(
                self.names.vertices[feature.id], shapely.get_coordinates(feature.shape).tolist(), strict=True
            ):
                if point in taken:
                    continue
                taken.add(point)
                self.known[point] = (at[0], at[1])
                common_m = evidence.shared_m if several else 0.0
                self._sigmas_m[point] = hypot(sigma_m, common_m / R95_PER_SIGMA)
                points = (point,) if shift is None else (point, shift)
                for axis, value in zip("xy", at, strict=True):
                    own.append(len(self.observations))
                    self.observations.append(Observation(axis, points, value, sigma_m))
        for feature in drawn:
            shift = self.shift_of(feature)
            if shift is not None and outing_of(feature) in shared:
                del shared[outing_of(feature)]
                sigma_m = feature.evidence.shared_m / R95_PER_SIGMA
                self.observations += [Observation(axis, (shift,), 0.0, sigma_m) for axis in "xy"]

    def shift_of(self, feature: Feature) -> int | None:
        """Number of the shift of the outing of a feature; None if it has none."""
        outing = outing_of(feature)
        shared = feature.evidence.shared_m > 0 and outing in self.outings
        return len(self.names.names) + self.outings.index(outing) if shared else None

    def without(self, left_out: frozenset[int], places: Floats) -> tuple[Adjusted, Floats] | None:
        """Solve again without some observations.

        Returns
        -------
        Adjusted
            Of the observations that stay, in their order.
        array, shape (m,)
            Misfits of all observations at its places, over their sigmas.
        None
            They cannot be done without.
        """
        stay = [each for number, each in enumerate(self.observations) if number not in left_out]
        rest = Adjustment(len(places), stay)
        try:
            adjusted = rest.adjusted(rest.solve(places)[0])
        except Undetermined:
            return None
        return adjusted, self._adjustment.misfits(adjusted.places)

    def frame(self) -> str | None:
        """Outing that the net hangs on: the one with most coordinates; None if some have no shift, or there are none."""
        drawn = [each for each in self.features.values() if each.id in self.of_coordinate]
        if self.held is not None or any(self.shift_of(each) is None for each in drawn):
            return None
        counts = dict.fromkeys(self.outings, 0)
        for feature in drawn:
            counts[outing_of(feature)] += len(self.of_coordinate[feature.id])
        return max(counts, key=lambda outing: counts[outing], default=None)

    def _hold(self) -> bool:
        """A net without coordinates is held at its first point, and turned by its bearings or else along its first row."""
        seed = self._seed() if self._alone else None
        if seed is None:
            return False
        self.known, self._sigmas_m, self.held = dict(seed.known), dict(seed.sigmas_m), seed.line
        self.observations += [Observation(axis, (0,), 0.0, _HELD_M) for axis in "xy"]
        if not seed.turned:
            turn = radians(self._north_deg)
            self.observations.append(Observation("bearing", seed.line, turn, _HELD_RAD))
        return True

    def _seed(self) -> _Seed | None:
        """Lay out the first taped line, if possible one with a bearing; None if nothing is taped."""
        pairs = [(frozenset((points["start"], points["point"])), row, points) for row, points in self.rows]
        seen = {pair for pair, row, _ in pairs if row.bearing_deg is not None}
        taped = [each for each in pairs if each[1].distance_m is not None]
        if not taped:
            return None
        pair, row, points = next((each for each in taped if each[0] in seen), taped[0])
        turn_deg = next(
            (
                other.bearing_deg + (0 if there["start"] == points["start"] else 180)
                for each, other, there in pairs
                if each == pair and other.bearing_deg is not None
            ),
            self._north_deg,
        )
        start, end = points["start"], points["point"]
        length_m, turn = row.distance_m or 0.0, radians(turn_deg)
        return _Seed(
            line=(start, end),
            known={start: (0.0, 0.0), end: (length_m * sin(turn), length_m * cos(turn))},
            sigmas_m={start: 0.0, end: row.error_m / Z95_TWO_SIDED},
            turned=bool(seen),
        )

    def _best(self) -> tuple[_Solution | None, Mapping[int, _Solution]]:
        """Solve from the likeliest start, then with each point that two tapes leave open on its other place.

        Returns
        -------
        _Solution or None
            The one that fits best; None if some point could not be reached, which is noted.
        mapping of int to _Solution
            By point: another that fits about as well.
        """
        self._adjustment = Adjustment(len(self.names.names) + len(self.outings), self.observations)
        told = {points["point"] for row, points in self.rows if row.side}
        other = frozenset[int]()
        best = self._from(other)
        if best is None:
            return None, {}
        for _ in range(_MOST_ROUNDS):
            tried = {}
            for point in sorted(best.start.two_ways - told):
                found = self._or_none(other ^ {point})
                if found is not None:
                    tried[point] = found
            better = min(tried, key=lambda point: tried[point].cost, default=None)
            if better is None or tried[better].cost >= best.cost - 1e-6:
                break
            best, other = tried[better], other ^ {better}
        alike = {
            point: found
            for point, found in tried.items()
            if found.cost < best.cost + _ALIKE_COST
            and np.hypot(*(found.places[point] - best.places[point])) > _ALIKE_M
        }
        return best, alike

    def _from(self, other: frozenset[int]) -> _Solution | None:
        start = self._reach(other)
        hanging = [point for point in range(len(self.names.names)) if point not in start.places]
        if hanging:
            alone = len(self.known) == 1
            net_faults.note_hanging(hanging, self.names.names, self.rows, self._faults, alone=alone)
            return None
        places = np.zeros((len(self.names.names) + len(self.outings), 2))
        for point, at in start.places.items():
            places[point] = at
        if not self.of_coordinate:
            places -= places[0]
        return _Solution(*self._adjustment.solve(places), start)

    def _reach(self, other: frozenset[int]) -> Start:
        """Reach the points from those with coordinates; if they are too few, lay the sketch out by itself and move it there."""
        start = start_places(self.rows, self.known, self._sigmas_m, other)
        seed = self._seed() if self.of_coordinate else None
        if seed is None or len(start.places) == len(self.names.names):
            return start
        free = start_places(self.rows, seed.known, seed.sigmas_m, other)
        both = [point for point in self.known if point in free.places]
        if not both or (len(both) == 1 and not seed.turned):
            return start
        drawn, found = (
            np.array([self.known[point] for point in both]),
            np.array([free.places[p] for p in both]),
        )
        middle = found.mean(axis=0)
        turn = np.eye(2) if seed.turned else best_turn(found - middle, drawn - drawn.mean(axis=0))
        moved = (np.array(list(free.places.values())) - middle) @ turn + drawn.mean(axis=0)
        if len(self.known) == 1:
            self.held = seed.line
        laid = {point: (float(x), float(y)) for point, (x, y) in zip(free.places, moved, strict=True)}
        return Start(self.known | laid, free.two_ways)

    def _or_none(self, other: frozenset[int]) -> _Solution | None:
        try:
            return self._from(other)
        except CannotMeet:
            return None


def outing_of(feature: Feature) -> str:
    """Return the outing of a drawn feature; one of its own if none is named."""
    return feature.evidence.outing or f"{feature.name} alone"


def observed(row: Measurement, points: Mapping[str, int]) -> Iterator[tuple[str, Observation]]:
    """Observations of one row, each with what it is of the row."""
    start, point = points["start"], points["point"]
    sigma_m = row.error_m / Z95_TWO_SIDED
    if row.distance_m is not None:
        yield "distance", Observation("distance", (start, point), row.distance_m, sigma_m)
    if row.bearing_deg is not None:
        sigma = radians(row.bearing_error_deg) / Z95_TWO_SIDED
        yield "bearing", Observation("bearing", (start, point), radians(row.bearing_deg), sigma)
    if row.turn is not None and row.distance_m is not None:
        off_m = hypot(row.error_m, SQUARE * row.distance_m) / Z95_TWO_SIDED
        yield "square", Observation("along", (point, start, points["before"], start), 0.0, off_m)
    if row.along_m is not None and row.offset_m is not None:
        line = (point, start, start, points["towards"])
        by_eye_m = abs(row.offset_m) * radians(SQUARE_BY_EYE_DEG) / Z95_TWO_SIDED
        yield "along", Observation("along", line, row.along_m, hypot(sigma_m, by_eye_m))
        yield "offset", Observation("off", line, row.offset_m, sigma_m)
