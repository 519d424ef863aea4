"""The register of crossings and the stretches to dig by hand."""

from __future__ import annotations

from math import radians, sin, tan

import pytest
from shapely import LineString, Point, affinity, box
from trench_scene import (
    FT,
    HOUSE,
    IN,
    PIPE_OD_M,
    POWER,
    WATER,
    WELL,
    feature,
    layout,
    line,
    reach,
    requirements,
    separation,
    site,
)

from siteplan.measure import measure
from siteplan.measure.model import Works
from siteplan.site.evidence import Evidence
from siteplan.site.features import Feature, Line

COVER_M = 54 * IN


def dug_over(*features: Feature, lines: tuple[Line, ...] = (WATER,), **rules: object) -> Works:
    at = site(WELL, HOUSE, *features, lines=lines)
    path = reach((0, 0), (30, 0), lines=tuple(each.id for each in lines))
    return measure(at, requirements(**rules), layout(path), None)


def gas(angle_deg: float = 90, **facts: object) -> Feature:
    upright = LineString([(15, -20), (15, 20)])
    return feature("gas", "buried_line", affinity.rotate(upright, angle_deg - 90, origin=(15, 0)), **facts)


@pytest.mark.parametrize("angle_deg", [90, 60, 30])
def test_hand_dig_interval_of_a_skew_crossing(angle_deg: float) -> None:
    # 18 in each side of the outer edge of a 4 in line, its place known to 1 ft; the trench is 24 in wide. By plane geometry the
    # zone is met where half of (zone / sin + half trench / tan) is left to go.
    known = Evidence(method="record", private_m=1 * FT)
    line_there = gas(angle_deg, diameter=4 * IN)
    works = dug_over(feature("gas", "buried_line", line_there.shape, known, diameter=4 * IN, depth=30 * IN))
    (crossing,) = works.crossings
    half_m = (18 * IN + 2 * IN + 1 * FT) / sin(radians(angle_deg)) + 12 * IN / tan(radians(angle_deg))
    assert crossing.angle_deg == pytest.approx(angle_deg)
    assert (crossing.x, crossing.y, crossing.distance_m) == pytest.approx((15, 0, 15), abs=1e-9)
    assert (crossing.hand_from_m, crossing.hand_to_m) == pytest.approx((15 - half_m, 15 + half_m))
    by_hand = next(each for each in works.intervals if each.what == "hand dig (crossing 1)")
    assert (by_hand.from_m, by_hand.to_m) == (crossing.hand_from_m, crossing.hand_to_m)
    rows = {station.what: station for station in works.stations}
    assert rows["hand dig begins (crossing 1)"].distance_m == pytest.approx(15 - half_m)
    assert [station.what for station in works.stations if station.hand_dig] == [
        "hand dig begins (crossing 1)",
        "crossing 1, Gas",
        "hand dig ends (crossing 1)",
    ]


def test_under_a_shallow_line() -> None:
    works = dug_over(
        gas(depth=24 * IN, diameter=4 * IN), separations=[separation("water", "gas", crossing_m=12 * IN)]
    )
    (crossing,) = works.crossings
    assert (crossing.ours, crossing.over) == ("water", False)
    assert crossing.clear_m == pytest.approx((54 - 24 - 4) * IN)
    assert crossing.required_m == pytest.approx(12 * IN)


def test_over_a_deep_line() -> None:
    (crossing,) = dug_over(gas(depth=80 * IN)).crossings
    assert crossing.over is True
    assert crossing.clear_m == pytest.approx(80 * IN - COVER_M - PIPE_OD_M)
    assert crossing.required_m is None


def test_lines_that_would_meet_leave_less_than_nothing() -> None:
    (crossing,) = dug_over(gas(depth=COVER_M, diameter=4 * IN)).crossings
    assert crossing.over is True
    assert crossing.clear_m == pytest.approx(-PIPE_OD_M)


def test_what_nobody_states_is_not_known() -> None:
    (crossing,) = dug_over(gas()).crossings
    assert (crossing.their_depth_m, crossing.over, crossing.clear_m) == (None, None, None)
    (thin,) = dug_over(gas(depth=24 * IN)).crossings  # passed under, and its underside is unknown
    assert (thin.over, thin.clear_m) == (False, None)


def test_the_tighter_of_our_lines_is_reported() -> None:
    rules = {
        "covers_m": {"water": 1.5, "power": 0.5},
        "separations": [
            separation("power", "water", shelf_m=0.6),
            separation("power", "gas", crossing_m=0.3),
            separation("water", "gas", crossing_m=0.1),
        ],
    }
    works = dug_over(gas(depth=1.0, diameter=0.1), lines=(WATER, POWER), **rules)
    (crossing,) = works.crossings
    upper = next(laid for laid in works.sections[0].lines if laid.line == "power")
    assert (crossing.ours, crossing.over, crossing.required_m) == ("power", True, 0.3)
    assert crossing.clear_m == pytest.approx(1.0 - upper.cover_m - upper.outside_m)


def test_least_room_left_over_what_is_asked_decides_not_the_nearest() -> None:
    rules = {
        "covers_m": {"water": 1.5, "power": 0.5},
        "separations": [
            separation("power", "water", shelf_m=0.6),
            separation("power", "gas", crossing_m=0.1),
            separation("water", "gas", crossing_m=0.45),
        ],
    }
    (crossing,) = dug_over(gas(depth=1.0, diameter=0.1), lines=(WATER, POWER), **rules).crossings
    assert (crossing.ours, crossing.over) == ("water", False)  # 0.4 m of 0.45; power has 0.13 m of 0.1
    assert crossing.clear_m == pytest.approx(0.4)


def test_outer_corner_of_a_bend_counts() -> None:
    cable = feature("cable", "buried_line", LineString([(15.6, -0.55), (25, -0.55)]))
    at = site(WELL, HOUSE, cable)
    works = measure(at, requirements(), layout(reach((0, 0), (15, 0), (15, 15))), None)
    (by_hand,) = (each for each in works.intervals if each.what == "hand dig (beside Cable)")
    assert by_hand.from_m <= 15 <= by_hand.to_m


def test_line_beside_the_trench_is_hand_dug_without_a_crossing() -> None:
    beside = feature("cable", "buried_line", LineString([(10, 0.6), (20, 0.6)]))
    works = dug_over(beside)
    assert works.crossings == ()
    (by_hand,) = (each for each in works.intervals if each.what.startswith("hand dig"))
    assert by_hand.what == "hand dig (beside Cable)"
    # zone 18 in about the cable, reached by the near edge of the trench 24 in wide
    past_m = ((18 * IN) ** 2 - (0.6 - 12 * IN) ** 2) ** 0.5
    assert (by_hand.from_m, by_hand.to_m) == pytest.approx((10 - past_m, 20 + past_m), abs=0.01)
    far = feature("cable", "buried_line", LineString([(10, 0.8), (20, 0.8)]))
    assert not [each for each in dug_over(far).intervals if each.what.startswith("hand dig")]


def test_near_crossings_make_one_stretch_of_hand_digging() -> None:
    two = [
        feature(name, "buried_line", LineString([(x, -5), (x, 5)])) for name, x in (("b", 12.5), ("a", 12.0))
    ]
    works = dug_over(*two)
    assert [(crossing.number, crossing.feature) for crossing in works.crossings] == [(1, "a"), (2, "b")]
    (by_hand,) = (each for each in works.intervals if each.what.startswith("hand dig"))
    assert by_hand.what == "hand dig (crossing 1, crossing 2)"
    assert by_hand.to_m - by_hand.from_m == pytest.approx(0.5 + 36 * IN)
    assert next(row.amount for row in works.quantities if row.item.startswith("Test hole")) == 2


def test_ditch_is_a_crossing_in_plain_sight() -> None:
    (crossing,) = dug_over(feature("ditch", "ditch", box(8, -9, 9, 9))).crossings
    assert crossing.distance_m == pytest.approx(8.5)
    assert crossing.angle_deg == pytest.approx(90)
    assert crossing.hand_from_m == crossing.hand_to_m
    assert not [
        row for row in dug_over(feature("ditch", "ditch", box(8, -9, 9, 9))).quantities if "Test" in row.item
    ]


def test_a_line_crossed_twice_is_two_crossings() -> None:
    bent = LineString([(5, -5), (10, 5), (15, -5)])
    at = site(WELL, HOUSE, feature("old", "effluent_line", bent), lines=(line(),))
    works = measure(at, requirements(), layout(reach((0, 0), (30, 0))), None)
    assert [round(crossing.distance_m, 3) for crossing in works.crossings] == [7.5, 12.5]


def hole(own: str, y: float, **facts: object) -> Feature:
    """A test hole on the line of ``gas``, y metres from the trench along it."""
    stated = {"of": "gas", "found": True, **facts}
    return feature(own, "test_hole", Point(15, y), **stated)


def test_depth_seen_in_a_test_hole_goes_before_the_stated_one() -> None:
    seen = hole("H1", 3, depth=24 * IN, size=4 * IN, date="2026-11-24")
    (crossing,) = dug_over(gas(depth=60 * IN), seen).crossings
    assert (crossing.depth_known, crossing.over) == ("seen", False)
    # the size that nobody stated was seen as well, so the room under it is known
    assert crossing.clear_m == pytest.approx((54 - 24 - 4) * IN)
    (near,) = crossing.holes
    assert (near.hole, near.date, near.away_m) == ("H1", "2026-11-24", pytest.approx(3))
    # tape 0.1 ft, and 1/4 in per foot of fall over 3 m: 3 m / 48 = 62.5 mm
    assert near.error_m == pytest.approx(0.1 * FT + 0.0625)


def test_a_rough_place_and_a_stated_error_of_the_hole_count() -> None:
    rough = Evidence(method="phone", shared_m=4.8)
    seen = feature("H1", "test_hole", Point(15, 0), rough, of="gas", found=True, depth=1.0, depth_error=0.05)
    (crossing,) = dug_over(gas(), seen).crossings
    assert crossing.seen is not None
    assert crossing.seen.error_m == pytest.approx(0.05 + 4.8 / 48)


@pytest.mark.parametrize(("away_ft", "known"), [(9.99, "seen"), (10.01, "unknown")])
def test_a_depth_holds_within_ten_feet_along_the_line(away_ft: float, known: str) -> None:
    (crossing,) = dug_over(gas(), hole("H1", away_ft * FT, depth=1.0)).crossings
    assert crossing.depth_known == known
    assert [each.hole for each in crossing.holes] == ["H1"]


def test_the_nearest_hole_that_found_it_counts() -> None:
    holes = [hole("far", -3, depth=2.0), hole("vain", 1, found=False, dug=1.2), hole("near", 2, depth=1.0)]
    (crossing,) = dug_over(gas(), *holes).crossings
    assert [each.hole for each in crossing.holes] == ["vain", "near", "far"]
    assert (crossing.their_depth_m, crossing.depth_known) == (1.0, "seen")


def test_a_hole_in_vain_leaves_no_stated_depth_to_go_by() -> None:
    vain = hole("H1", 1, found=False, dug=1.2)
    (crossing,) = dug_over(gas(depth=1.0), vain).crossings
    assert (crossing.their_depth_m, crossing.clear_m, crossing.depth_known) == (None, None, "unknown")
    far = hole("H1", 8, found=False, dug=1.2)
    (crossing,) = dug_over(gas(depth=1.0), far).crossings
    assert crossing.depth_known == "stated"


def test_a_hole_on_another_line_says_nothing() -> None:
    (crossing,) = dug_over(gas(), hole("H1", 0, of="water main", depth=1.0)).crossings
    assert (crossing.holes, crossing.depth_known) == ((), "unknown")


def test_a_seen_line_is_still_dug_round_by_hand() -> None:
    unseen, seen = dug_over(gas()), dug_over(gas(), hole("H1", 0, depth=1.0))
    spans = [(each.hand_from_m, each.hand_to_m) for works in (unseen, seen) for each in works.crossings]
    assert spans[0] == spans[1] == pytest.approx((15 - 18 * IN, 15 + 18 * IN))
