"""Shapes laid out by typed lengths and directions, against geodesics on the ellipsoid (GeographicLib by way of pyproj)."""

from __future__ import annotations

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from pyproj import Geod
from shapely import LineString, Point, Polygon

from siteplan.plane.draft import (
    bearing_deg,
    carried,
    is_rectangle,
    length_m,
    moved,
    rectangle,
    resized,
    stepped,
    turned,
)

GEOD = Geod(ellps="WGS84")
PLACES = st.tuples(st.floats(-179.9, 179.9), st.floats(-70, 70))
LENGTHS_M = st.floats(0.3, 100)
WAYS_DEG = st.floats(0, 359.99)
NEAR_M = 0.001


def sides_m(shape: Polygon) -> list[float]:
    ring = list(shape.exterior.coords)
    return [GEOD.inv(*ring[n], *ring[n + 1])[2] for n in range(len(ring) - 1)]


@given(PLACES, LENGTHS_M, WAYS_DEG)
def test_a_step_is_a_geodesic_of_that_length_and_azimuth(
    start: tuple[float, float], long_m: float, way_deg: float
) -> None:
    there = stepped(start, long_m, way_deg)
    longitude, latitude, _ = GEOD.fwd(*start, way_deg, long_m)
    assert GEOD.inv(*there, longitude, latitude)[2] < NEAR_M
    assert length_m(start, there) == pytest.approx(long_m, abs=NEAR_M)
    off_deg = (bearing_deg(start, there) - way_deg + 180) % 360 - 180
    assert abs(off_deg) < 1e-3


def test_lengths_are_read_at_the_height_of_the_site() -> None:
    """A tape at 2000 m is longer than the ellipsoid below it by h/R (elevation factor; R about 6 371 km)."""
    there = stepped((-105.0, 40.0), 100.0, 60.0, 2000.0)
    assert GEOD.inv(-105.0, 40.0, *there)[2] == pytest.approx(100.0 * (1 - 2000 / 6_371_000), abs=2e-4)
    assert length_m((-105.0, 40.0), there, 2000.0) == pytest.approx(100.0, abs=1e-6)


@given(PLACES, LENGTHS_M, LENGTHS_M, WAYS_DEG, st.booleans(), st.booleans())
def test_a_rectangle_has_its_sides_and_its_place(
    at: tuple[float, float], width_m: float, depth_m: float, way_deg: float, left: bool, middle: bool
) -> None:
    outline = rectangle(at, width_m, depth_m, way_deg, left=left, middle=middle)
    assert sides_m(outline) == pytest.approx([width_m, depth_m, width_m, depth_m], abs=NEAR_M)
    assert is_rectangle(outline)
    held = outline.centroid if middle else Point(outline.exterior.coords[0])
    assert GEOD.inv(*at, held.x, held.y)[2] < NEAR_M
    if not middle:
        ring = list(outline.exterior.coords)
        turn_deg = (bearing_deg(ring[1], ring[2]) - bearing_deg(ring[0], ring[1])) % 360
        assert turn_deg == pytest.approx(270 if left else 90, abs=0.05)


@given(LENGTHS_M, LENGTHS_M, WAYS_DEG, st.booleans())
def test_a_resized_rectangle_keeps_its_first_corner_and_wall(
    width_m: float, depth_m: float, way_deg: float, left: bool
) -> None:
    before = rectangle((-112.0, 46.6), 12.0, 8.0, way_deg, left=left)
    after = resized(before, width_m, depth_m)
    assert sides_m(after) == pytest.approx([width_m, depth_m, width_m, depth_m], abs=NEAR_M)
    assert after.exterior.coords[0] == pytest.approx(before.exterior.coords[0], abs=1e-9)
    wall_deg = bearing_deg(*after.exterior.coords[0:2])
    assert abs((wall_deg - way_deg + 180) % 360 - 180) < 0.05


def test_no_rectangle_is_not_resized() -> None:
    crooked = Polygon([(-112, 46.6), (-111.9999, 46.6), (-111.9999, 46.6001), (-112, 46.60005)])
    assert not is_rectangle(crooked)
    with pytest.raises(ValueError, match="square corners"):
        resized(crooked, 3.0, 3.0)


@given(LENGTHS_M, WAYS_DEG)
def test_what_is_moved_keeps_its_shape(long_m: float, way_deg: float) -> None:
    before = rectangle((-112.0, 46.6), 12.0, 8.0, 20.0)
    after = moved(before, long_m, way_deg)
    assert isinstance(after, Polygon)
    assert sides_m(after) == pytest.approx(sides_m(before), abs=NEAR_M)
    one, other = before.centroid, after.centroid
    azimuth_deg, _, run_m = GEOD.inv(one.x, one.y, other.x, other.y)
    assert run_m == pytest.approx(long_m, abs=NEAR_M)
    assert abs((azimuth_deg - way_deg + 180) % 360 - 180) * run_m < 0.2


def test_a_quarter_turn_goes_as_the_clock_does() -> None:
    wall = turned(LineString([(-112.0, 46.6), (-112.0, 46.601)]), 90.0)
    assert bearing_deg(*wall.coords) == pytest.approx(90.0, abs=0.01)
    assert GEOD.geometry_length(wall) == pytest.approx(111.16, abs=0.01)


def test_what_is_carried_far_keeps_its_sizes() -> None:
    house = rectangle((-112.0, 46.6), 12.0, 8.0, 20.0)
    well = Point(stepped((-112.0, 46.6), 40.0, 300.0))
    there, well_there = carried([house, well], (175.0, -37.0))
    assert isinstance(there, Polygon)
    assert sides_m(there) == pytest.approx([12.0, 8.0, 12.0, 8.0], abs=NEAR_M)
    run_m = GEOD.inv(*there.exterior.coords[0], well_there.x, well_there.y)[2]
    assert run_m == pytest.approx(40.0, abs=0.002)
    west, south, east, north = shapely.GeometryCollection([there, well_there]).bounds
    assert ((west + east) / 2, (south + north) / 2) == pytest.approx((175.0, -37.0), abs=1e-6)
