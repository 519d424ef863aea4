"""Corners to tape from, and the tapes chosen."""

from __future__ import annotations

from dataclasses import replace
from math import hypot

import pytest
from shapely import LineString, Polygon, affinity, box
from trench_scene import HOUSE, WELL, feature, layout, reach, requirements, site

from siteplan.measure import measure
from siteplan.measure.ties import Tapes, corners


def test_corners_are_named_by_the_side_they_are_on() -> None:
    el = Polygon([(0, 0), (16, 0), (16, 12), (8, 12), (8, 15), (0, 15)])
    named = {
        corner.name: (corner.x, corner.y) for corner in corners(site(WELL, feature("house", "building", el)))
    }
    assert named["House SW"] == (0, 0)
    assert named["House SE"] == (16, 0)
    assert named["House NW"] == (0, 15)
    assert named["Well casing"] == (0, 0)
    assert len(named) == 7
    long_barn = {corner.name for corner in corners(site(feature("barn", "building", box(0, 0, 60, 8))))}
    assert long_barn == {"Barn NE", "Barn SE", "Barn SW", "Barn NW"}


def test_corners_alike_are_numbered_and_straight_walls_have_none() -> None:
    bay = Polygon([(0, 0), (10, 0), (10, 8), (6, 8), (6, 9), (4, 9), (4, 8), (0, 8), (0, 4)])
    names = [corner.name for corner in corners(site(feature("house", "building", bay)))]
    assert len(names) == len(set(names)) == 8
    assert "House N 2" in names


def test_stakes_are_taped_from_only_where_nothing_that_stands_will_do() -> None:
    to_come = replace(HOUSE, status="proposed")
    shed = feature("shed", "building", box(0, 10, 3, 13))
    at = site(WELL, to_come, shed)
    assert {name for name, _ in Tapes(at, corners(at)).ties(12.0, 2.0)} == {"Shed NE", "Well casing"}
    alone = site(WELL, to_come)
    names = [name for name, _ in Tapes(alone, corners(alone)).ties(25.0, 0.0)]
    assert names == ["House stake NW", "House stake SW"]


def test_tapes_cross_best_and_measure_true() -> None:
    at = site(WELL, HOUSE)
    works = measure(at, requirements(), layout(reach((0, 0), (20, -8), (30, -3))), None)
    places = {corner.name: (corner.x, corner.y) for corner in works.corners}
    tied = [station for station in works.stations if station.ties]
    assert {station.kind for station in tied} == {"start", "bend", "end"}
    for station in tied:
        assert len(station.ties) == 2
        for name, tape_m in station.ties:
            x, y = places[name]
            assert tape_m == pytest.approx(hypot(x - station.x, y - station.y))
    # From the bend at (20, -8) both west corners (30, +-5) and the casing are seen; casing and north-west corner
    # cross at 105.7 deg, casing and south-west at 141.5 deg, the corners at 35.7 deg.
    (bend,) = (station for station in tied if station.kind == "bend")
    assert [name for name, _ in bend.ties] == ["House NW", "Well casing"]


def test_no_tape_through_a_house() -> None:
    at = site(feature("house", "building", HOUSE.shape))
    ties = Tapes(at, corners(at)).ties(
        35.0, 8.0
    )  # SW and NE would cross at 80 deg, but SW is behind the house
    assert {name for name, _ in ties} == {"House NE", "House NW"}


def test_long_tape_only_where_the_short_ones_cross_flat() -> None:
    near = feature("near", "building", box(10, 20, 10.5, 20.5))
    far = feature("far", "building", box(45, -5, 50, 0))
    at = site(near, far)
    (first, _), (second, length_m) = Tapes(at, corners(at)).ties(0.0, 0.0)
    assert (first[:4], second[:3]) == ("Near", "Far")
    assert length_m > 30.48
    alone = site(feature("far", "building", box(70, 0, 80, 5)))
    assert Tapes(alone, corners(alone)).ties(0.0, 0.0) == ()
    bare = site(feature("track", "drive", box(0, 0, 9, 9)))
    assert Tapes(bare, corners(bare)).ties(0.0, 0.0) == ()


def test_bend_is_found_again_from_its_tapes() -> None:
    """Swing the two tapes: one of the two places where the arcs cross is the bend."""
    from shapely import Point

    path = affinity.rotate(LineString([(0, 0), (18, 4), (30, 0)]), 10, origin=(0, 0))
    at = site(WELL, replace(HOUSE, shape=affinity.rotate(HOUSE.shape, 10, origin=(0, 0))))
    works = measure(at, requirements(), layout(reach(*path.coords)), None)
    places = {corner.name: Point(corner.x, corner.y) for corner in works.corners}
    (bend,) = (station for station in works.stations if station.kind == "bend")
    (a, a_m), (b, b_m) = bend.ties
    base_m = places[a].distance(places[b])
    along_m = (a_m**2 - b_m**2 + base_m**2) / (2 * base_m)
    aside_m = (a_m**2 - along_m**2) ** 0.5
    ux, uy = (places[b].x - places[a].x) / base_m, (places[b].y - places[a].y) / base_m
    found = [
        Point(
            places[a].x + along_m * ux - side * aside_m * uy, places[a].y + along_m * uy + side * aside_m * ux
        )
        for side in (1, -1)
    ]
    assert min(place.distance(Point(bend.x, bend.y)) for place in found) < 1e-6
