"""How wrong the drawing may be: by hand, and against the thing moved there and measured again."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import cos, hypot, pi, sin

import pytest
from route_scenes import FOOT, asks, cite, line, separation, setback, site, thing
from shapely import LineString, Point, box
from shapely.affinity import translate

from siteplan.route.drawing_error import FAR_M, Tolerance, drawing_errors, words
from siteplan.route.keep_off import keep_off
from siteplan.route.model import Layout, LinePath, Reach, Run
from siteplan.rules.model import Requirements
from siteplan.site.evidence import Evidence
from siteplan.site.features import Feature
from siteplan.site.site import Site
from siteplan.units import Length

HALF_M = 0.3
PARCEL = thing("parcel", "parcel", box(0, 0, 100, 100))
WELL = thing("well", "well", Point(10, 50), casing_diameter=0.2)
HOUSE = thing("house", "building", box(80, 40, 95, 60))
TANK = thing("tank", "septic_tank", box(40, 54, 44, 60))
STRAIGHT = LineString([(10, 50), (80, 50)])
RULES = asks([setback("water", "tank", Length(2, "m"), row="tank-row")])


def laid(*features: Feature, rules: Requirements = RULES, path: LineString = STRAIGHT) -> tuple[Site, Layout]:
    """One trench from the well to the house, drawn by hand."""
    scene = site([PARCEL, WELL, HOUSE, *features], [line("water", "well", "house")])
    run = Run(line="water", from_m=0.0, to_m=path.length)
    reach = Reach(name="Main", path=path, runs=(run,), starts_at="well", ends_at="house")
    way = LinePath(line="water", legs=(("Main", 0.0, path.length),), entry=Point(path.coords[-1]))
    return scene, Layout(
        reaches=(reach,),
        paths=(way,),
        kept_off=keep_off(scene, rules),
        corridor=PARCEL.shape,
        bill=(),
        certificate="",
    )


def one(found: Sequence[Tolerance], feature: str, fails: str) -> Tolerance:
    (match,) = [each for each in found if (each.feature, each.fails) == (feature, fails)]
    return match


def test_a_tank_beside_a_straight_trench_by_hand() -> None:
    """4 m off the centreline; half the trench 0.3 m; 5 ft kept by common practice, 2 m by the rule."""
    scene, layout = laid(TANK)
    found = drawing_errors(scene, RULES, layout)
    distance, route = (one(found, "tank", fails) for fails in ("distance", "route"))
    assert (distance.shift_m, route.shift_m) == pytest.approx((4 - HALF_M - 2, 4 - HALF_M))
    assert (distance.row, route.row, distance.way) == ("tank-row", "", "water")
    assert distance.where.y == pytest.approx(50)
    assert 40 - 1e-6 <= distance.where.x <= 44 + 1e-6
    assert words(scene, distance) == (
        "The distance from Water to the edge of Tank holds while it is within 5.5 ft of where it is drawn."
    )
    assert words(scene, route).startswith(
        "The trench of Water past the edge of Tank holds while it is within 12.1"
    )


def test_the_least_comes_first_and_the_far_is_left_out() -> None:
    scene, layout = laid(TANK, thing("pond", "pond", box(40, 0, 44, 18)))
    found = drawing_errors(scene, RULES, layout)
    assert [each.shift_m for each in found] == sorted(each.shift_m for each in found)
    assert {each.shift_m < FAR_M for each in found} == {True}
    assert not [each for each in found if each.feature == "pond" and each.fails == "route"]
    assert one(found, "pond", "distance").shift_m == pytest.approx(32 - HALF_M - 10 * FOOT)


def test_a_route_tight_round_a_corner_has_the_error_band_to_spare() -> None:
    """The trench keeps two metres, half its width and the band of both positions; the band is what may go."""
    taped = Evidence(method="taped", private_m=1.0)
    tank = thing("tank", "septic_tank", box(40, 45, 44, 70), taped)
    band_m = 1.6449 * 1.0 / 2.4477
    under = 45 - (2 + HALF_M + band_m)
    scene, layout = laid(tank, path=LineString([(10, 50), (30, under), (54, under), (80, 50)]))
    kept = next(each for each in layout.kept_off if each.feature == "tank")
    assert kept.error_m == pytest.approx(band_m, rel=1e-4)
    found = one(drawing_errors(scene, RULES, layout), "tank", "distance")
    assert found.shift_m == pytest.approx(band_m, rel=1e-3)


def test_the_house_is_measured_beside_the_last_leg() -> None:
    """Three feet are kept from the walls till the trench turns square to one: nothing of that is to spare, but a foot is free."""
    scene, layout = laid()
    found = drawing_errors(scene, RULES, layout)
    assert one(found, "house", "distance").shift_m == pytest.approx(0.0, abs=1e-6)
    assert one(found, "house", "route").shift_m == pytest.approx(3 * FOOT, abs=1e-6)


def test_the_property_line_is_the_edge_of_the_land_with_its_easements() -> None:
    path = LineString([(10, 50), (10, 4), (60, 4), (60, 50), (80, 50)])
    scene, layout = laid(path=path)
    edge = one(drawing_errors(scene, RULES, layout), "parcel", "route")
    assert edge.shift_m == pytest.approx(4 - HALF_M)
    assert "past the property line" in words(scene, edge)
    beside = thing("strip", "easement", box(0, -10, 100, 0), digging_allowed=True)
    scene, layout = laid(beside, path=path)
    assert one(drawing_errors(scene, RULES, layout), "parcel", "route").shift_m == pytest.approx(10 - HALF_M)


def test_a_wells_own_distance_counts_from_the_casing() -> None:
    rules = replace(
        RULES,
        setbacks=(
            replace(
                setback("well", "tank", Length(50, "ft"), row="well-tank"),
                subject="well",
                from_point="casing edge",
            ),
        ),
    )
    tank = thing("tank", "septic_tank", box(26, 62, 30, 66))
    scene, layout = laid(tank, rules=rules)
    (found,) = [each for each in drawing_errors(scene, rules, layout) if each.row == "well-tank"]
    assert found.shift_m == pytest.approx(hypot(16, 12) - 0.1 - 50 * FOOT)
    assert found.way == "well"
    assert words(scene, found).startswith(
        "The distance from Well to the edge of Tank holds while it is within 15.2 ft"
    )
    near = thing("tank", "septic_tank", box(14, 53, 18, 57))
    scene, layout = laid(near, rules=rules)
    (short,) = [each for each in drawing_errors(scene, rules, layout) if each.row == "well-tank"]
    assert short.shift_m == 0.0
    assert words(scene, short) == "The distance from Well to the edge of Tank is short as drawn."


def test_a_row_that_depends_on_what_nobody_states_says_so() -> None:
    row = replace(setback("water", "tank", Length(3.75, "m"), row="tank-row"), missing=("line.material",))
    scene, layout = laid(TANK, rules=asks([row]))
    found = one(drawing_errors(scene, asks([row]), layout), "tank", "distance")
    assert found.missing == ("line.material",)
    assert words(scene, found) == (
        "The distance from Water to the edge of Tank is short as drawn "
        "(the larger distance counts while nobody states: material of the line)."
    )
    assert one(drawing_errors(scene, asks([row]), layout), "tank", "route").missing == ()


def test_a_buried_line_alongside_counts_and_one_that_is_crossed_does_not() -> None:
    gas = thing("gas", "buried_line", LineString([(20, 52), (60, 52)]), diameter=0.1)
    sewer = thing("sewer", "building_sewer", LineString([(30, 40), (30, 60)]))
    rules = replace(RULES, separations=(separation("water", "gas", may_share=False, beside_m=1.0),))
    scene, layout = laid(gas, sewer, rules=rules)
    found = drawing_errors(scene, rules, layout)
    assert one(found, "gas", "route").shift_m == pytest.approx(2 - HALF_M - 0.05)
    assert one(found, "gas", "distance").shift_m == pytest.approx(2 - HALF_M - 0.05 - 1.0)
    assert one(found, "gas", "distance").row == cite("test-apart").row
    assert not [each for each in found if each.feature == "sewer"]


@pytest.mark.parametrize("seed", range(8))
def test_moved_that_far_it_just_holds_and_a_little_farther_it_fails(seed: int) -> None:
    """The thing is moved in 72 directions: none fails sooner than is said, and one does right after."""
    at = (30 + 4 * seed, 53 + seed / 2)
    tank = thing("tank", "septic_tank", box(at[0], at[1], at[0] + 3, at[1] + 2))
    scene, layout = laid(tank)
    found = one(drawing_errors(scene, RULES, layout), "tank", "distance")
    way = layout.way("water")

    def spare_m(shift_m: float) -> float:
        turns = [2 * pi * step / 72 for step in range(72)]
        moved = [translate(tank.shape, shift_m * cos(turn), shift_m * sin(turn)) for turn in turns]
        return min(way.distance(shape) for shape in moved) - HALF_M - 2.0

    assert spare_m(found.shift_m - 0.01) > 0.0
    assert spare_m(found.shift_m + 0.01) < 0.0


def test_feet_and_inches_and_metres_print_no_more_than_there_is() -> None:
    scene, layout = laid(TANK)
    found = one(drawing_errors(scene, RULES, layout), "tank", "distance")
    shift = replace(found, shift_m=1.2559)
    assert "within 1.25 m of" in words(replace(scene, units="m"), shift)
    assert "within 4.1 ft of" in words(scene, shift)
    assert "within 4 ft 1 in of" in words(replace(scene, units="ft-in"), shift)
    assert "nothing to spare" in words(scene, replace(found, shift_m=0.02))
