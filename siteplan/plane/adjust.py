"""Weighted least squares over tapes, offsets, bearings and coordinates in the plane: Gauss-Newton, errors propagated.

Pure arithmetic: points are numbers, lengths metres, angles radians. A shift that several coordinates share is a point like any
other, whose place is the shift.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

Floats: TypeAlias = NDArray[np.float64]
Ints: TypeAlias = NDArray[np.int64]

_STEP_M = 1e-7
_MOST_STEPS = 100
_LEAST_GAIN = 1e-12
_HALVINGS = 30
_SINGULAR = 1e-9
LEAST_CHECKED = 1e-4
"""Redundancy below which an observation counts as unchecked: a misfit a hundred times its error would hardly show."""

_NEAREST_M = 1e-9


@dataclass(frozen=True, slots=True)
class Observation:
    """One measured number.

    Attributes
    ----------
    sort : {"distance", "along", "off", "bearing", "x", "y"}
        What it measures of its points:

        - distance: from the first point to the second [m];
        - along: from the second point to the first, in the direction from the third to the fourth [m];
        - off: the same, to the left of that direction [m];
        - bearing: from the first point to the second, clockwise from +y [rad];
        - x, y: the first point's coordinate, plus that of the second (a shift) if there is one [m].
    points : tuple of int
    value : float
    sigma : float
        Standard deviation, above zero.
    """

    sort: str
    points: tuple[int, ...]
    value: float
    sigma: float


@dataclass(frozen=True, slots=True, eq=False)
class Adjusted:
    """Places by least squares, with their errors.

    Attributes
    ----------
    places : array, shape (n, 2)
    covariance : array, shape (2 n, 2 n)
        From the stated errors, as x, y, x, y ...
    misfits : array, shape (m,)
        Measured less computed, of each observation.
    sigmas : array, shape (m,)
        Stated standard deviations.
    redundancy : array, shape (m,)
        Share of each observation that the others check, 0 to 1.
    leftover : array, shape (m, m)
        Covariance of the misfits, each over its own sigma.
    cost : float
        Sum of the squares of the misfits over their sigmas.
    """

    places: Floats
    covariance: Floats
    misfits: Floats
    sigmas: Floats
    redundancy: Floats
    leftover: Floats
    cost: float

    def standardised(self) -> Floats:
        """Misfits over their own standard deviations, shape (m,); 0 where nothing checks them."""
        root = np.sqrt(np.maximum(self.redundancy, LEAST_CHECKED))
        checked = self.redundancy > LEAST_CHECKED
        return np.asarray(np.where(checked, self.misfits / (self.sigmas * root), 0.0))


class Undetermined(ValueError):
    """The observations leave some points free; ``points`` are their numbers, the freest first."""

    def __init__(self, points: Sequence[int]) -> None:
        self.points = tuple(points)
        super().__init__(f"points {self.points} are left free")


class Adjustment:
    """Observations of ``count`` points, to be solved from one or several starts."""

    def __init__(self, count: int, observations: Sequence[Observation]) -> None:
        self._count, self._total = count, len(observations)
        self._value = np.array([each.value for each in observations])
        self._sigma = np.array([each.sigma for each in observations])
        self._groups: list[tuple[_Sort, Ints, Ints]] = []
        for sort, model in _SORTS.items():
            own = [row for row, each in enumerate(observations) if _key(each) == sort]
            if own:
                points = np.array([observations[row].points for row in own])
                self._groups.append((model, np.array(own), points))
        self._angles = np.array([each.sort == "bearing" for each in observations], dtype=bool)

    def solve(self, start: Floats) -> tuple[Floats, float]:
        """Places of least cost near a start, shape (n, 2), and that cost: Gauss-Newton, each step halved until it gains."""
        places = np.array(start, dtype=float)
        misfits, slopes = self._linearised(places)
        cost = float(misfits @ misfits)
        for _ in range(_MOST_STEPS):
            step = _step(slopes, misfits).reshape(-1, 2)
            for _ in range(_HALVINGS):
                tried = self._linearised(places + step)
                new = float(tried[0] @ tried[0])
                if new <= cost:
                    break
                step = step / 2
            else:
                break
            places, (misfits, slopes), gained, cost = places + step, tried, cost - new, new
            if np.abs(step).max(initial=0.0) < _STEP_M or gained <= _LEAST_GAIN * cost:
                break
        return places, cost

    def adjusted(self, places: Floats) -> Adjusted:
        """Errors at places that ``solve`` found.

        Raises
        ------
        Undetermined
            Some points can move without a misfit.
        """
        misfits, slopes = self._linearised(places)
        _, sizes, ways = np.linalg.svd(slopes, full_matrices=True)
        sizes = np.concatenate((sizes, np.zeros(ways.shape[0] - len(sizes))))
        free = sizes <= _SINGULAR * max(float(sizes[0]), 1.0)
        if free.any():
            moved = np.hypot(*ways[free].reshape(-1, self._count, 2).transpose(2, 0, 1)).max(axis=0)
            order = np.argsort(-moved, kind="stable")
            raise Undetermined([int(point) for point in order if moved[point] > 0.1 * moved.max()])
        spread = ways.T / sizes
        covariance = spread @ spread.T
        leftover = np.eye(self._total) - slopes @ covariance @ slopes.T
        return Adjusted(
            places=places,
            covariance=covariance,
            misfits=misfits * self._sigma,
            sigmas=self._sigma,
            redundancy=np.clip(np.diag(leftover), 0.0, 1.0),
            leftover=leftover,
            cost=float(misfits @ misfits),
        )

    def misfits(self, places: Floats) -> Floats:
        """Measured less computed at some places, over the sigmas, shape (m,)."""
        return self._linearised(places)[0]

    def _linearised(self, places: Floats) -> tuple[Floats, Floats]:
        """Misfits over their sigmas, shape (m,), and the slopes of what is computed, likewise, shape (m, 2 n)."""
        computed = np.zeros(self._total)
        slopes = np.zeros((self._total, self._count, 2))
        for model, rows, points in self._groups:
            value, parts = model(places[points])
            computed[rows] = value
            for column, part in enumerate(parts):
                np.add.at(slopes, (rows, points[:, column]), part)
        misfits = self._value - computed
        misfits[self._angles] = np.remainder(misfits[self._angles] + np.pi, 2 * np.pi) - np.pi
        return misfits / self._sigma, slopes.reshape(self._total, -1) / self._sigma[:, None]


def _step(slopes: Floats, misfits: Floats) -> Floats:
    """Least-squares step by the normal equations, with a weight far below all others on each coordinate for what is left free."""
    normal = slopes.T @ slopes
    normal[np.diag_indices_from(normal)] += _SINGULAR**2 * max(float(np.trace(normal)), 1.0)
    try:
        return np.asarray(np.linalg.solve(normal, slopes.T @ misfits))
    except np.linalg.LinAlgError:
        return np.asarray(np.linalg.lstsq(slopes, misfits, rcond=_SINGULAR)[0])


def best_turn(places: Floats, others: Floats) -> Floats:
    """Rotation, shape (2, 2), so that ``places @ rotation`` come nearest to others (Kabsch); both about their middle."""
    left, _, right = np.linalg.svd(places.T @ others)
    flip = np.diag([1.0, np.sign(np.linalg.det(left @ right))])
    return np.asarray(left @ flip @ right)


_Sort: TypeAlias = Callable[[Floats], tuple[Floats, tuple[Floats, ...]]]
"""Places of the points of k observations, shape (k, points, 2), to what is computed, (k,), and its slopes, (k, 2) a point."""


def _distance(at: Floats) -> tuple[Floats, tuple[Floats, ...]]:
    apart = at[:, 1] - at[:, 0]
    length = np.maximum(np.hypot(apart[:, 0], apart[:, 1]), _NEAREST_M)
    toward = apart / length[:, None]
    return length, (-toward, toward)


def _bearing(at: Floats) -> tuple[Floats, tuple[Floats, ...]]:
    apart = at[:, 1] - at[:, 0]
    square = np.maximum(np.sum(apart**2, axis=1), _NEAREST_M**2)[:, None]
    turned = np.column_stack((apart[:, 1], -apart[:, 0])) / square
    return np.arctan2(apart[:, 0], apart[:, 1]), (-turned, turned)


def _along(at: Floats) -> tuple[Floats, tuple[Floats, ...]]:
    length, ahead, left, reach = _baseline(at)
    swing = left * (np.sum(reach * left, axis=1) / length)[:, None]
    return np.sum(reach * ahead, axis=1), (ahead, -ahead, -swing, swing)


def _off(at: Floats) -> tuple[Floats, tuple[Floats, ...]]:
    length, ahead, left, reach = _baseline(at)
    swing = left * (np.sum(reach * ahead, axis=1) / length)[:, None]
    return np.sum(reach * left, axis=1), (left, -left, swing, -swing)


def _baseline(at: Floats) -> tuple[Floats, Floats, Floats, Floats]:
    """Length of each baseline, its direction, its left, and the way from the origin to the point."""
    length, (_, ahead) = _distance(at[:, 2:])
    return length, ahead, np.column_stack((-ahead[:, 1], ahead[:, 0])), at[:, 0] - at[:, 1]


def _coordinate(axis: int) -> _Sort:
    unit = np.eye(2)[axis]

    def model(at: Floats) -> tuple[Floats, tuple[Floats, ...]]:
        slope = np.broadcast_to(unit, (len(at), 2))
        return at[:, :, axis].sum(axis=1), (slope,) * at.shape[1]

    return model


_SORTS: dict[tuple[str, int], _Sort] = {
    ("distance", 2): _distance,
    ("bearing", 2): _bearing,
    ("along", 4): _along,
    ("off", 4): _off,
    ("x", 1): _coordinate(0),
    ("y", 1): _coordinate(1),
    ("x", 2): _coordinate(0),
    ("y", 2): _coordinate(1),
}


def _key(observation: Observation) -> tuple[str, int]:
    return observation.sort, len(observation.points)
