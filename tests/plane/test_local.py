"""A tape grid, turned and placed."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import LineString, Point

from siteplan.errors import SiteplanError
from siteplan.plane.frame import Frame
from siteplan.plane.local import LocalGrid
from siteplan.units import coordinate_unit_m


@pytest.mark.parametrize(("north_deg", "x", "y"), [(0, 3, 4), (90, 4, -3), (180, -3, -4), (270, -4, 3)])
def test_quarter_turns(north_deg: float, x: float, y: float) -> None:
    spot = LocalGrid(north_deg=north_deg).to_ground(Point(3, 4))
    assert (spot.x, spot.y) == (pytest.approx(x), pytest.approx(y))


@given(st.floats(0, 360), st.floats(1, 500))
def test_the_y_axis_has_its_bearing_and_the_shape_is_kept(north_deg: float, feet: float) -> None:
    grid = LocalGrid(unit_m=coordinate_unit_m("ft"), north_deg=north_deg)
    (_, _), (x, y) = grid.to_ground(LineString([(0, 0), (0, feet)])).coords
    assert math.hypot(x, y) == pytest.approx(feet * 0.3048)
    assert (math.degrees(math.atan2(x, y)) - north_deg + 180) % 360 - 180 == pytest.approx(0, abs=1e-9)
    (_, _), (right_x, right_y) = grid.to_ground(LineString([(0, 0), (feet, 0)])).coords
    assert x * right_x + y * right_y == pytest.approx(0, abs=1e-6)
    assert right_x * y - right_y * x > 0  # x is to the right of y, never mirrored


def test_heights_are_metres_already() -> None:
    assert LocalGrid(unit_m=0.3048).to_ground(Point(10, 10, 99.5)).z == 99.5


def test_unplaced_has_no_longitudes() -> None:
    grid = LocalGrid(unit_m=0.3048)
    assert (grid.placed, grid.north_known) == (False, False)
    with pytest.raises(SiteplanError, match="without an origin"):
        grid.to_lonlat(Point(0, 0))


def test_placed() -> None:
    frame = Frame(longitude_deg=-112.0, latitude_deg=46.6, height_m=1200)
    grid = LocalGrid(north_deg=30.0, frame=frame)
    assert grid.placed
    assert grid.north_known
    assert frame.placed
    assert frame.north_known
    place = grid.to_lonlat(grid.to_ground(Point(0, 0)))
    assert (place.x, place.y) == (pytest.approx(-112.0), pytest.approx(46.6))
    ahead = grid.to_lonlat(grid.to_ground(Point(0, 100)))
    assert ahead.x > -112.0
    assert ahead.y > 46.6


def test_refused() -> None:
    with pytest.raises(ValueError, match="bearing"):
        LocalGrid(frame=Frame(longitude_deg=0.0, latitude_deg=0.0))
    for unit_m, north_deg in ((0.0, 0.0), (math.inf, 0.0), (math.nan, 0.0), (1.0, math.nan)):
        with pytest.raises(ValueError, match="local grid"):
            LocalGrid(unit_m=unit_m, north_deg=north_deg)
