"""Sides of the lot, distances from the well, and the ground where the well would keep every distance."""

from __future__ import annotations

from dataclasses import replace
from math import cos, hypot, radians, sin

import numpy as np
import pytest
import shapely
from shapely import LineString, Point, Polygon, box

from siteplan.measure.elsewhere import apart_m, elsewhere, required_of, ways_apart
from siteplan.measure.plot import fall, from_well, lot_sides, outside_lot, required_rings
from siteplan.site.evidence import Evidence
from siteplan.site.features import Feature, Source
from siteplan.site.site import Level, Site
from tests.document.sample_plan import FEATURES, sample_plan

CASING_M = 3 * 0.0254


def lot(shape: Polygon, lot_id: str = "parcel") -> Feature:
    return Feature(
        id=lot_id,
        kind="parcel",
        name="",
        shape=shape,
        evidence=Evidence(method="surveyed"),
        source=Source(file="site.geojson"),
    )


def with_lot(*lots: Feature) -> Site:
    others = tuple(one for one in FEATURES if one.kind != "parcel")
    return replace(sample_plan().site, features=(*lots, *others))


def test_sides_of_a_lot_with_a_corner_on_a_straight_side() -> None:
    """A 3-4-5 triangle of 30, 40 and 50 m with one more corner on its longest side, and a hole that is no side."""
    shape = Polygon([(0, 0), (0, 30), (20, 15), (40, 0)], [[(5, 5), (6, 5), (6, 6)]])
    sides = lot_sides(with_lot(lot(shape)))
    assert [round(side.length_m, 6) for side in sides] == [50, 40, 30], "clockwise from the north corner"
    assert [side.number for side in sides] == [1, 2, 3]


@pytest.mark.parametrize("turn_deg", [0, 17, 90, 233])
def test_sides_do_not_depend_on_how_the_ring_is_written(turn_deg: float) -> None:
    corners = [(0, 0), (61, 0), (61, 46), (30, 50), (0, 46)]
    turn = radians(turn_deg)
    spun = [(x * cos(turn) - y * sin(turn), x * sin(turn) + y * cos(turn)) for x, y in corners]
    expected = lot_sides(with_lot(lot(Polygon(spun))))
    for first in range(5):
        for ring in (spun[first:] + spun[:first], (spun[first:] + spun[:first])[::-1]):
            assert [s.path.wkt for s in lot_sides(with_lot(lot(Polygon(ring))))] == [
                s.path.wkt for s in expected
            ]
    assert sum(side.length_m for side in expected) == pytest.approx(Polygon(corners).exterior.length)


def test_distances_are_from_the_casing_edge_and_nothing_is_left_out() -> None:
    plan = sample_plan()
    rows = {row.to: row for row in from_well(plan.site, plan.ground)}
    left_out = {"parcel", "well"}
    assert rows.keys() == {one.id for one in FEATURES} - left_out
    assert rows["barn"].distance_m == pytest.approx(35 - CASING_M)
    assert rows["tree"].distance_m == pytest.approx(hypot(15, 4) - CASING_M)
    (x0, y0), (x1, y1) = rows["barn"].points
    assert (x0, y0, x1, y1) == pytest.approx((9 + CASING_M, 38, 44, 38))
    assert [row.distance_m for row in rows.values()] == sorted(row.distance_m for row in rows.values())
    assert all(row.rise_m is None for row in from_well(plan.site, None))
    for side in lot_sides(plan.site):
        assert side.well_m == pytest.approx(side.path.distance(Point(9, 38)) - CASING_M)


def test_what_lies_beyond_the_lot() -> None:
    """A circle of 10 m with its centre on a straight side: half of it, 50 pi m2, to the three-thousandth of its chords."""
    site = with_lot(lot(box(9, -100, 200, 200)))
    assert outside_lot(site, 10.0).area == pytest.approx(50 * np.pi, rel=1e-3)
    assert outside_lot(with_lot(), 10.0).is_empty


def test_rings_are_the_distances_of_the_rules() -> None:
    plan = sample_plan()
    rings = required_rings(plan.site, plan.requirements)
    asked = {
        s.least.metres for s in plan.requirements.setbacks if s.of == "well" and s.applies and s.least.value
    }
    assert {least.metres for least, _, _ in rings} == asked
    assert all(radius - least.metres in (0.0, pytest.approx(CASING_M)) for least, radius, _ in rings)
    assert [radius for _, radius, _ in rings] == sorted((radius for _, radius, _ in rings), reverse=True)


@pytest.mark.parametrize("way_deg", [0.0, 45.0, 200.0])
def test_the_fall_of_a_plane(way_deg: float) -> None:
    turn, spots = radians(way_deg), [(0, 0), (40, 3), (7, 30), (22, 18)]
    levels = tuple(
        Level(
            x=x,
            y=y,
            elevation_m=500 - 0.08 * (x * sin(turn) + y * cos(turn)),
            source=Source(file="levels.csv"),
        )
        for x, y in spots
    )
    found = fall(replace(sample_plan().site, levels=levels))
    assert found == pytest.approx((way_deg, 0.08), abs=1e-6)
    assert fall(replace(sample_plan().site, levels=levels[:2])) is None


def test_where_the_well_would_keep_every_distance_against_a_grid() -> None:
    """Each of 61 x 46 spots, one a metre, measured by itself: what is in the area keeps all, what keeps all by 5 cm is in it."""
    plan = sample_plan()
    well = plan.site.well
    small = tuple(
        replace(s, least=replace(s.least, value=s.least.value / 4)) for s in plan.requirements.setbacks
    )
    requirements = replace(plan.requirements, setbacks=small)
    spare = {"field": 1.0}
    found = elsewhere(plan.site, requirements, well, spare)
    assert found is not None
    assert found.place is not None
    rows = required_of(requirements, well)
    assert len(rows) >= 3
    stands = shapely.union_all(
        [one.shape for one in FEATURES if one.kind in ("building", "septic_tank", "fuel_tank")]
    )
    inside = 0
    for x in range(62):
        for y in range(47):
            spot = Point(x + 0.13, y + 0.17)
            margins = [
                apart_m(plan.site, row, well, spot) - row.least.metres - spare.get(row.to, 0.0)
                for row in rows
            ]
            if found.area.covers(spot):
                inside += 1
                assert min(margins) >= 0
                assert not stands.contains(spot)
            elif box(0, 0, 61, 46).contains(spot):
                never = [
                    one.shape.distance(spot) for one in FEATURES if one.shape.area and one.kind != "parcel"
                ]
                assert min(margins) < 0.05 or min(never) < 0.05
    assert inside > 100
    assert found.place.distance(well.shape) == pytest.approx(found.away_m)
    assert found.area.distance(well.shape) == pytest.approx(found.away_m)


def test_no_place_and_no_lot() -> None:
    plan = sample_plan()
    far = tuple(replace(s, least=replace(s.least, value=1000.0)) for s in plan.requirements.setbacks)
    requirements = replace(plan.requirements, setbacks=far)
    found = elsewhere(plan.site, requirements, plan.site.well, {})
    assert found is not None
    assert found.place is None
    assert found.area.is_empty
    assert elsewhere(with_lot(), plan.requirements, plan.site.well, {}) is None


def test_how_far_another_way_keeps() -> None:
    plan = sample_plan()
    other = replace(
        plan.layout.alternatives[0], paths=(LineString([(0, 0), (10, 0)]), LineString([(10, 0), (10, 5)]))
    )
    assert ways_apart([other], box(13, 2, 15, 4), 0.3) == [pytest.approx(2.7)]
    assert ways_apart([other], box(9, -1, 15, 4), 0.3) == [0.0]
