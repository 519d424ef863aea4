"""The adjustment against a general least-squares solver, finite differences, chance, and what must not change."""

from __future__ import annotations

from math import cos, pi, sin

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import least_squares

from siteplan.plane.adjust import Adjustment, Floats, Observation, Undetermined

COUNT = 9


def _net(seed: int, *, noise: float = 1.0) -> tuple[Floats, list[Observation]]:
    """True places (the last is a shift) and measurements of every sort with errors."""
    rng = np.random.default_rng(seed)
    true = np.vstack((rng.uniform(0, 60, (COUNT, 2)), rng.normal(0, 3, (1, 2))))
    found: list[Observation] = []

    def take(sort: str, points: tuple[int, ...], sigma: float) -> None:
        exact = -Adjustment(len(true), [Observation(sort, points, 0.0, 1.0)]).misfits(true)[0]
        found.append(Observation(sort, points, float(exact + noise * rng.normal(0, sigma)), sigma))

    for a in range(COUNT):
        for b in range(a):
            if b < 2 or rng.random() < 0.4:
                take("distance", (a, b), 0.05)
    for a in (3, 4):
        take("bearing", (0, a), 0.02)
    for a in (5, 6, 7):
        take("along", (a, 2, 0, 1), 0.1)
        take("off", (a, 2, 0, 1), 0.1)
    for a in range(3):
        take("x", (a, COUNT), 0.4)
        take("y", (a, COUNT), 0.4)
    take("x", (COUNT,), 2.0)
    take("y", (COUNT,), 2.0)
    return true, found


@pytest.mark.parametrize("seed", range(8))
def test_as_a_general_solver_from_a_bad_start(seed: int) -> None:
    true, observations = _net(seed)
    adjustment = Adjustment(len(true), observations)
    start = true + np.random.default_rng(seed + 100).normal(0, 2.0, true.shape)
    places, cost = adjustment.solve(start)
    other = least_squares(
        lambda row: adjustment.misfits(row.reshape(-1, 2)), true.ravel(), xtol=1e-15, ftol=1e-15, gtol=1e-12
    )
    assert cost == pytest.approx(2 * other.cost, rel=1e-9)
    assert np.abs(other.x.reshape(-1, 2) - places).max() < 1e-4


def test_slopes_are_those_of_finite_differences() -> None:
    true, observations = _net(1)
    adjustment = Adjustment(len(true), observations)
    _, slopes = adjustment._linearised(true)
    for column in range(true.size):
        step = np.zeros(true.size)
        step[column] = 1e-6
        ahead, behind = (adjustment.misfits(true + sign * step.reshape(-1, 2)) for sign in (1, -1))
        assert np.abs((behind - ahead) / 2e-6 - slopes[:, column]).max() < 1e-5


def test_covariance_is_that_of_many_trials() -> None:
    """300 nets with errors drawn anew: each sigma within 17 % (four of its own), the correlations within 0.24."""
    true, exact = _net(2, noise=0.0)
    covariance = Adjustment(len(true), exact).adjusted(true).covariance
    rng = np.random.default_rng(7)
    trials = []
    for _ in range(300):
        drawn = [
            Observation(each.sort, each.points, each.value + rng.normal(0, each.sigma), each.sigma)
            for each in exact
        ]
        trials.append(Adjustment(len(true), drawn).solve(true)[0].ravel())
    seen = np.cov(np.array(trials).T)
    assert np.abs(np.sqrt(np.diag(seen) / np.diag(covariance)) - 1).max() < 0.17
    both = [matrix / np.sqrt(np.outer(np.diag(matrix), np.diag(matrix))) for matrix in (seen, covariance)]
    assert np.abs(both[0] - both[1]).max() < 0.24


def test_misfit_over_redundancy_is_what_is_left_when_it_is_left_out() -> None:
    true, observations = _net(3)
    whole = Adjustment(len(true), observations)
    adjusted = whole.adjusted(whole.solve(true)[0])
    assert adjusted.redundancy.sum() == pytest.approx(len(observations) - true.size)
    checked = np.flatnonzero(adjusted.redundancy > 0.01)[::4].tolist()
    assert len(checked) > 8
    for number in checked:
        rest = Adjustment(len(true), observations[:number] + observations[number + 1 :])
        predicted = whole.misfits(rest.solve(true)[0])[number] * observations[number].sigma
        expected = adjusted.misfits[number] / adjusted.redundancy[number]
        assert predicted == pytest.approx(expected, rel=0.05, abs=0.1 * observations[number].sigma)


@settings(max_examples=25)
@given(st.floats(-pi, pi), st.floats(-1000, 1000), st.floats(-1000, 1000))
def test_turning_and_shifting_the_whole_changes_nothing(turn: float, east: float, north: float) -> None:
    """Distances and offsets alone, held at two points: places turn with them, misfits and error ellipses stay."""
    true, observations = _net(4)
    inner = [each for each in observations if each.sort in ("distance", "along", "off")]
    matrix = np.array([[cos(turn), -sin(turn)], [sin(turn), cos(turn)]])

    def held(moved: Floats) -> tuple[Floats, Floats, Floats]:
        fixed = [
            Observation(axis, (point,), float(moved[point, number]), 1e-3)
            for point in (0, 1)
            for number, axis in enumerate("xy")
        ]
        adjustment = Adjustment(COUNT, inner + fixed)
        adjusted = adjustment.adjusted(adjustment.solve(moved)[0])
        blocks = [adjusted.covariance[2 * n : 2 * n + 2, 2 * n : 2 * n + 2] for n in range(COUNT)]
        return adjusted.places, adjusted.misfits[: len(inner)], np.linalg.eigvalsh(np.array(blocks))

    places, misfits, axes = held(true[:COUNT])
    turned, again, axes_again = held(true[:COUNT] @ matrix.T + (east, north))
    assert np.abs(places @ matrix.T + (east, north) - turned).max() < 1e-6
    assert np.abs(misfits - again).max() < 1e-6
    assert np.abs(axes - axes_again).max() < 1e-6 * axes.max()


def test_points_left_free_are_named() -> None:
    observations = [
        *(Observation(axis, (point,), 0.0, 0.1) for point in (0,) for axis in "xy"),
        Observation("distance", (0, 1), 5.0, 0.1),
        Observation("bearing", (0, 1), 1.0, 0.1),
        Observation("distance", (0, 2), 5.0, 0.1),
    ]
    with pytest.raises(Undetermined) as free:
        Adjustment(3, observations).adjusted(np.array([(0.0, 0.0), (4.2, 2.7), (5.0, 0.0)]))
    assert free.value.points == (2,)
