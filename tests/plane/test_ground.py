"""The ground surface: exact on a plane, exact along a line, silent outside."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString
from shapely.geometry.base import BaseGeometry

from siteplan.plane.ground import GroundSurface


def rough(seed: int, count: int = 40) -> GroundSurface:
    places = np.random.default_rng(seed).uniform(-50, 50, (count, 3))
    return GroundSurface(places * [1, 1, 0.1])


def levelled_area(surface: GroundSurface) -> BaseGeometry:
    return shapely.union_all(surface.slopes()[0])


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 10_000), st.floats(-0.5, 0.5), st.floats(-0.5, 0.5))
def test_a_plane_is_kept(seed: int, east: float, north: float) -> None:
    random = np.random.default_rng(seed)
    xy = random.uniform(0, 100, (30, 2))
    surface = GroundSurface(np.column_stack((xy, 1000 + xy @ [east, north])))
    inside = shapely.get_coordinates(levelled_area(surface).representative_point())
    weights = random.dirichlet(np.ones(30), 50)
    places = np.vstack((inside, weights @ xy, xy))
    assert surface.elevations(places) == pytest.approx(1000 + places @ [east, north], abs=1e-6)
    triangles, slopes = surface.slopes()
    assert slopes == pytest.approx(math.hypot(east, north), abs=1e-6)
    assert shapely.area(triangles).sum() == pytest.approx(levelled_area(surface).area)


def test_levels_themselves_and_outside() -> None:
    levels = np.array([[0, 0, 5.0], [10, 0, 6.0], [10, 10, 8.0], [0, 10, 5.5], [5, 5, 7.25]])
    surface = GroundSurface(levels)
    assert surface.elevations(levels[:, :2]) == pytest.approx(levels[:, 2])
    assert np.isnan(surface.elevations([[10.01, 5], [-1, -1]])).all()
    assert surface.elevation(10.0005, 0) == pytest.approx(6.0, abs=0.001)  # on the edge, to a millimetre
    assert surface.elevation(11, 5) is None
    assert surface.elevations(np.empty((0, 2))).shape == (0,)
    assert levelled_area(surface).area == pytest.approx(100)


def test_order_of_levels_does_not_matter() -> None:
    levels = np.random.default_rng(5).uniform(0, 50, (25, 3))
    places = np.random.default_rng(6).uniform(10, 40, (50, 2))
    assert GroundSurface(levels).elevations(places) == pytest.approx(
        GroundSurface(levels[::-1]).elevations(places), abs=1e-9, nan_ok=True
    )


def test_flat_ground_has_no_slope() -> None:
    assert GroundSurface([[0, 0, 3], [9, 0, 3], [0, 9, 3]]).slopes()[1].tolist() == [0.0]


@pytest.mark.parametrize(
    ("points", "says"),
    [
        ([[0, 0, 1], [1, 0, 1]], "at least three"),
        ([[0, 0], [1, 0], [0, 1]], "x, y and elevation"),
        ([[0, 0, 1], [1, 0, 1], [0, 1, math.nan]], "not a number"),
        ([[0, 0, 1], [10, 0, 2], [20, 0, 3]], "on one line"),
        ([[0, 0, 1], [10, 10.0001, 2], [20, 20, 3]], "on one line"),
        ([[0, 0, 1], [0, 0, 1], [0, 0, 1]], "on one line"),
        ([[0, 0, 1], [0, 0, 1], [9, 0, 1]], "on one line"),
        (
            [[0, 0, 1], [9, 0, 1], [0, 9, 1], [9, 0, 1.5]],
            r"levels 2 and 4 at x 9\.000, y 0\.000: 1\.000 m and 1\.500 m",
        ),
    ],
)
def test_refused(points: list[list[float]], says: str) -> None:
    with pytest.raises(ValueError, match=says):
        GroundSurface(points)


def test_the_same_level_twice_counts_once() -> None:
    surface = GroundSurface([[0, 0, 1], [9, 0, 2], [0, 9, 3], [9, 0, 2], [0.0004, 0, 1.0003]])
    assert surface.elevation(9, 0) == pytest.approx(2)


def test_breaks_where_a_ridge_is_crossed() -> None:
    ridge = GroundSurface([[0, -10, 100], [0, 10, 100], [-20, 0, 95], [20, 0, 95]])
    line = LineString([(-10, 0), (10, 0), (10, 2)])
    distances = ridge.breaks_along(line)
    assert distances == pytest.approx([0, 10, 20, 22])
    heights = ridge.elevations(shapely.get_coordinates(shapely.line_interpolate_point(line, distances)))
    assert heights == pytest.approx([97.5, 100, 97.5, 97.5])


def test_breaks_where_the_levels_end_and_along_a_side() -> None:
    one = GroundSurface([[0, 0, 0], [10, 0, 1], [0, 10, 2]])
    assert one.breaks_along(LineString([(-5, 2), (15, 2)])) == pytest.approx([0, 5, 13, 20])
    assert one.breaks_along(LineString([(-5, 0), (15, 0)])) == pytest.approx([0, 5, 15, 20])
    assert one.breaks_along(LineString([(20, 20), (30, 20)])) == pytest.approx([0, 10])


@settings(max_examples=30, deadline=None)
@given(st.integers(0, 10_000))
def test_a_profile_at_the_breaks_is_the_surface(seed: int) -> None:
    surface = rough(seed)
    line = LineString(np.random.default_rng(seed + 1).uniform(-35, 35, (4, 2)))
    breaks = surface.breaks_along(line)
    assert breaks[0] == 0
    assert breaks[-1] == line.length
    assert (np.diff(breaks) > 0).all()

    def heights(distances: np.ndarray) -> np.ndarray:
        return surface.elevations(shapely.get_coordinates(shapely.line_interpolate_point(line, distances)))

    at_breaks = heights(breaks)
    dense = np.linspace(0, line.length, 400)
    assert np.interp(dense, breaks, at_breaks) == pytest.approx(heights(dense), abs=0.005, nan_ok=True)


def test_contours_lie_at_their_elevation_and_end_only_at_the_edge() -> None:
    """Every corner of every contour on rough ground has its elevation, and so has the middle between two of them."""
    for seed in range(5):
        surface = rough(seed)
        found = surface.contours(0.5)
        assert len(found) > 5
        for elevation, lines in found:
            assert elevation % 0.5 == 0
            for line in shapely.get_parts(lines):
                places = shapely.get_coordinates(line)
                middles = (places[1:] + places[:-1]) / 2
                assert surface.elevations(np.vstack((places, middles))) == pytest.approx(elevation, abs=1e-6)
                ends = shapely.points(places[[0, -1]])
                edge = levelled_area(surface).boundary
                assert line.is_closed or max(shapely.distance(ends, edge)) < 1e-6


def test_contours_of_a_plane_are_as_many_and_as_long_as_they_must_be() -> None:
    """A square of 30 m that rises 3 m: six lines of 30 m, one each 0.5 m, between its edges."""
    corners = [[0, 0, 100.25], [30, 0, 100.25], [30, 30, 103.25], [0, 30, 103.25]]
    found = GroundSurface(corners).contours(0.5)
    assert [elevation for elevation, _ in found] == [100.5, 101.0, 101.5, 102.0, 102.5, 103.0]
    assert [line.length for _, line in found] == pytest.approx([30.0] * 6)
