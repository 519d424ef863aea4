"""Tape nets and traverses against worked examples of others; the source stands beside each."""

from __future__ import annotations

from math import cos, hypot, pi, radians, sin, sqrt

import numpy as np
import pytest

from siteplan.plane.adjust import Adjustment, Floats, Observation
from siteplan.plane.net_start import start_places
from siteplan.read.bearings import parse_bearing_deg
from siteplan.read.ties import level_m
from siteplan.site.evidence import R95_PER_SIGMA, Z95_TWO_SIDED
from siteplan.site.features import Source
from siteplan.site.field_notes import Measurement
from siteplan.site.net import error_ellipse

Course = tuple[str, float]


def held(point: int, x: float, y: float) -> list[Observation]:
    """A point that is given."""
    return [Observation("x", (point,), x, 1e-5), Observation("y", (point,), y, 1e-5)]


def measured(point: int, start: int, **values: object) -> tuple[Measurement, dict[str, int]]:
    """A row between two numbered points."""
    row = Measurement(
        point=str(point),
        start=str(start),
        error_m=0.1,
        bearing_error_deg=1.0,
        method="taped",
        source=Source(file="ties.csv"),
        **values,  # type: ignore[arg-type]
    )
    return row, {"point": point, "start": start}


def open_traverse(courses: list[Course], x: float, y: float) -> tuple[float, float]:
    """Where the courses end, from the chain of starting values."""
    rows = [
        measured(number + 1, number, bearing_deg=parse_bearing_deg(bearing), distance_m=length)
        for number, (bearing, length) in enumerate(courses)
    ]
    return start_places(rows, {0: (x, y)}, {0: 0.0}, frozenset()).places[len(courses)]


def closed_traverse(courses: list[Course], x: float, y: float) -> Floats:
    """Adjusted corners. A course's error grows with the root of its length, the same along and across.

    With these weights least squares is the compass rule (Bowditch, 1808; from memory).
    """
    observations = held(0, x, y)
    start = [(x, y)]
    for number, (bearing, length) in enumerate(courses):
        turn, ends = radians(parse_bearing_deg(bearing)), (number, (number + 1) % len(courses))
        sigma = 1e-3 * sqrt(length)
        observations.append(Observation("distance", ends, length, sigma))
        observations.append(Observation("bearing", ends, turn, sigma / length))
        start.append((start[-1][0] + length * sin(turn), start[-1][1] + length * cos(turn)))
    return Adjustment(len(courses), observations).solve(np.array(start[:-1]))[0]


def test_a_five_sided_traverse() -> None:
    """Purdue University, ASM 215 Surveying, traverse calculation example; rounded by hand to 0.01 ft at every step."""
    courses = [
        ("N 26 10 E", 285.1),
        ("S 75 25 E", 610.45),
        ("S 15 30 W", 720.48),
        ("N 1 42 W", 203.0),
        ("N 53 06 W", 647.02),
    ]
    x, y = open_traverse(courses, 10000.0, 10000.0)
    assert (y - 10000, x - 10000) == pytest.approx((-0.71, 0.53), abs=0.015)
    closure, perimeter = hypot(x - 10000, y - 10000), sum(length for _, length in courses)
    assert closure == pytest.approx(0.89, abs=0.015)
    assert perimeter / closure == pytest.approx(2771, rel=0.01)
    corners = closed_traverse(courses, 10000.0, 10000.0)
    published = [(10255.96, 10125.66), (10102.44, 10716.31), (9408.37, 10523.62), (9611.34, 10517.55)]
    assert np.abs(corners[1:, ::-1] - published).max() < 0.015


def test_a_four_sided_traverse() -> None:
    """Mahun, Open Access Surveying Library, Traverse Computations, chapters I and G."""
    courses = [
        ("S 68 05 35 W", 472.68),
        ("N 19 46 00 W", 216.13),
        ("N 45 55 20 E", 276.52),
        ("S 54 59 15 E", 382.24),
    ]
    x, y = open_traverse(courses, 2000.0, 500.0)
    assert (y - 500, x - 2000) == pytest.approx((0.083, 0.075), abs=0.001)
    corners = closed_traverse(courses, 2000.0, 500.0)
    published = [(323.614, 1561.426), (526.996, 1488.321), (719.336, 1686.956)]
    assert np.abs(corners[1:, ::-1] - published).max() < 0.001
    east, north = corners.T
    area = abs(float(np.sum(east * np.roll(north, -1) - north * np.roll(east, -1)))) / 2
    assert area == pytest.approx(
        102935.8, abs=0.5
    )  # the published sums are of coordinates rounded to 0.001 ft


@pytest.mark.parametrize(
    ("bearings", "north", "east"),
    [(("253 26 15", "314 33 26"), 836.445, 1450.051), (("140 54 25", "91 34 08"), 463.846, 2435.613)],
)
def test_crossing_of_two_bearings(bearings: tuple[str, str], north: float, east: float) -> None:
    """Mahun, Open Access Surveying Library, solution of COGO intersect problem 1, parts b to d."""
    rows = [measured(2, start, bearing_deg=parse_bearing_deg(text)) for start, text in enumerate(bearings)]
    reached = start_places(rows, {0: (2000.0, 1000.0), 1: (1811.082, 480.951)}, {0: 0.0, 1: 0.0}, frozenset())
    assert reached.places[2] == pytest.approx((east, north), abs=0.002)
    observations = [
        *held(0, 2000.0, 1000.0),
        *held(1, 1811.082, 480.951),
        *(
            Observation("bearing", (start, 2), radians(parse_bearing_deg(text)), 1e-4)
            for start, text in enumerate(bearings)
        ),
    ]
    start = np.array([(2000.0, 1000.0), (1811.082, 480.951), (east + 40, north - 30)])
    places, cost = Adjustment(3, observations).solve(start)
    assert cost == pytest.approx(0.0, abs=1e-12)
    assert (places[2, 1], places[2, 0]) == pytest.approx((north, east), abs=0.002)


@pytest.mark.parametrize(
    ("west", "east", "place"),
    [(9.0, 12.0, (0.0625, 8.99978298349)), (11.0, 7.0, (8.5, 6.98212002188))],
)
def test_a_corner_by_two_tapes(west: float, east: float, place: tuple[float, float]) -> None:
    """Worked example of a forum, "Geometry: triangulation for measuring a lot/yard" (July 2018): the left of two places."""
    rows = [measured(2, 0, distance_m=west), measured(2, 1, distance_m=east)]
    known = {0: (0.0, 0.0), 1: (8.0, 0.0)}
    both = {
        start_places(rows, known, {0: 0.0, 1: 0.0}, other).places[2]
        for other in (frozenset(), frozenset({2}))
    }
    assert min(abs(x - place[0]) + abs(y - place[1]) for x, y in both) < 1e-9
    assert min(abs(x - place[0]) + abs(y + place[1]) for x, y in both) < 1e-9
    side = {**rows[0][1], "towards": 1}
    told = [(measured(2, 0, distance_m=west, towards="1", side="left")[0], side), rows[1]]
    assert start_places(told, known, {0: 0.0, 1: 0.0}, frozenset()).places[2] == pytest.approx(
        place, abs=1e-9
    )


@pytest.mark.parametrize(("crossing_deg", "off_ft"), [(90.0, 0.1), (30.0, 0.27), (10.0, 0.8)])
def test_flat_crossings_make_a_poor_fix(crossing_deg: float, off_ft: float) -> None:
    """0.1 ft of tape error: 0.1 ft at 90 deg, 0.27 ft at 30 deg, 0.8 ft at 10 deg. Trade study, own calculation."""
    half = radians(crossing_deg / 2)
    observations = [*held(0, -50 * sin(half), 0.0), *held(1, 50 * sin(half), 0.0)]
    observations += [Observation("distance", (start, 2), 50.0, 0.1) for start in (0, 1)]
    places = np.array([(-50 * sin(half), 0.0), (50 * sin(half), 0.0), (0.0, 50 * cos(half))])
    covariance = Adjustment(3, observations).adjusted(places).covariance[4:, 4:]
    ellipse = error_ellipse(covariance)
    assert ellipse.major_m / R95_PER_SIGMA == pytest.approx(off_ft, abs=0.012)
    assert ellipse.bearing_deg == pytest.approx(90.0 if crossing_deg < 90 else ellipse.bearing_deg, abs=1e-6)


def test_slope_tapes() -> None:
    """50 ft of tape on 20 % is 49.0 ft level, on 30 % 47.9 ft. Trade study, own calculation."""
    assert level_m(50.0, "20 %") == pytest.approx(49.0, abs=0.05)
    assert level_m(50.0, "30 %") == pytest.approx(47.9, abs=0.05)


def test_constants() -> None:
    """FGDC-STD-007.3-1998, National Standard for Spatial Data Accuracy, appendix 3-A."""
    assert pytest.approx(2.4477, abs=5e-5) == R95_PER_SIGMA
    assert pytest.approx(1.96, abs=5e-5) == Z95_TWO_SIDED
    assert error_ellipse(np.eye(2)).radius_m == pytest.approx(2.4477, rel=0.002)


@pytest.mark.parametrize(
    ("north", "east", "correlation", "radius"),
    [
        (1.09, 1.16, -0.29902673, 2.79),
        (1.05, 1.43, 0.14941036, 3.12),
        (0.38, 0.37, -0.10178715, 0.92),
        (0.05, 0.09, -0.162529, 0.19),
    ],
)
def test_horizontal_accuracy_of_control_points(
    north: float, east: float, correlation: float, radius: float
) -> None:
    """NOAA NGS, local and network accuracy data sheets (GV0652, PY1050, EH0846, DM4642), NETWORK lines, cm."""
    covariance = np.array([(east**2, correlation * north * east), (correlation * north * east, north**2)])
    assert error_ellipse(covariance).radius_m == pytest.approx(radius, abs=0.01)


@pytest.mark.parametrize("flat", [0.02, 0.2, 0.5, 0.8, 1.0])
def test_the_circle_holds_95_percent(flat: float) -> None:
    """Exact share within the circle, by quadrature over the direction (20 000 steps; own calculation)."""
    radius = error_ellipse(np.diag([1.0, flat**2])).radius_m
    turn = (np.arange(20000) + 0.5) * 2 * pi / 20000
    spread = 1 / (np.cos(turn) ** 2 + (np.sin(turn) / flat) ** 2)
    inside = 1 - float(np.mean(spread * np.exp(-(radius**2) / (2 * spread)))) / flat
    assert inside == pytest.approx(0.95, abs=0.0012)
