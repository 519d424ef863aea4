"""One trench worked by hand, and what must hold of any."""

from __future__ import annotations

from math import hypot, pi

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import LineString, Point, box
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
    site,
)

from siteplan.errors import InputFaults
from siteplan.measure import measure
from siteplan.measure.model import Works
from siteplan.plane.ground import GroundSurface
from siteplan.route.model import LinePath, Run
from siteplan.route.strip import Fit

HILLSIDE = GroundSurface([(-50, -50, 95), (50, -50, 105), (50, 50, 105), (-50, 50, 95)])
DRIVE = feature("drive", "drive", box(10, -20, 14, 20))
CUT_M = 54 * IN + PIPE_OD_M + 4 * IN


def whats(works: Works) -> dict[str, float]:
    return {station.what: round(station.distance_m, 3) for station in works.stations}


def amount(works: Works, item: str) -> float:
    return next(row.amount for row in works.quantities if row.item == item)


def test_straight_trench_on_a_hillside() -> None:
    works = measure(site(), requirements(), layout(reach((0, 0), (30, 0))), HILLSIDE)
    assert works.levelled
    for station in works.stations:
        assert station.grade_m == pytest.approx(100 + station.distance_m / 10)
        assert station.bottom_m == pytest.approx(station.grade_m - CUT_M)
    assert whats(works) == {"casing": 0.0, "straight": 22.86, "House wall": 30.0}
    assert [station.distance_m for station in works.stations] == pytest.approx([0, 7.62, 15.24, 22.86, 30])
    trench_m3 = 30 * 24 * IN * CUT_M
    bell_hole_m3 = 20 * FT**2 * (CUT_M + 0.3) - 2.5 * FT * 24 * IN * CUT_M
    pit_m3 = 12 * FT**2 * CUT_M - 4 * FT * 24 * IN * CUT_M
    volumes = works.volumes
    assert dict(volumes.by_reach) == {"Main": pytest.approx(trench_m3)}
    assert dict(volumes.extras) == {
        "bell-hole at Well": pytest.approx(bell_hole_m3),
        "pit at House": pytest.approx(pit_m3),
    }
    bank_m3 = trench_m3 + bell_hole_m3 + pit_m3
    bedding_m3 = 30 * 24 * IN * 4 * IN
    displaced_m3 = bedding_m3 + 30 * pi / 4 * PIPE_OD_M**2
    assert volumes.bank_m3 == pytest.approx(bank_m3)
    assert volumes.loose_m3 == pytest.approx(1.25 * bank_m3)
    assert volumes.bedding_m3 == pytest.approx(bedding_m3)
    assert volumes.displaced_m3 == pytest.approx(displaced_m3)
    assert volumes.backfill_bank_m3 == pytest.approx(bank_m3 - displaced_m3)
    assert volumes.haul_off_m3 == pytest.approx(1.25 * displaced_m3)
    slope_m = hypot(30, 3)
    assert dict(works.developed_m) == {"water": pytest.approx(slope_m + CUT_M)}
    assert amount(works, "Tracer wire") == pytest.approx(slope_m + CUT_M + 4 * FT)
    assert amount(works, "Warning tape") == pytest.approx(slope_m)
    pipe = next(row for row in works.quantities if row.item == "1 in PE, IPS, DR 11")
    assert pipe.order == pytest.approx(200 * FT)  # 104.6 ft with the riser, sold by 100 ft


def test_rock_takes_more_room_than_it_left() -> None:
    works = measure(site(soil="rock"), requirements(), layout(reach((0, 0), (30, 0))), None)
    volumes = works.volumes
    goes_back_m3 = (volumes.bank_m3 - volumes.displaced_m3) / 1.3
    assert volumes.haul_off_m3 == pytest.approx(1.57 * (volumes.bank_m3 - goes_back_m3))


def test_without_levels_cuts_are_from_the_ground_only() -> None:
    works = measure(site(units="m"), requirements(), layout(reach((0, 0), (30, 0))), None)
    assert not works.levelled
    assert {(station.grade_m, station.bottom_m) for station in works.stations} == {(None, None)}
    assert [station.distance_m for station in works.stations] == pytest.approx([0, 10, 20, 30])
    outside = GroundSurface([(-50, -50, 95), (20, -50, 105), (20, 50, 105), (-50, 50, 95)])
    half = measure(site(), requirements(), layout(reach((0, 0), (30, 0))), outside)
    assert not half.levelled
    assert [station.grade_m is None for station in half.stations] == [False, False, False, True, True]


def test_only_a_real_break_of_grade_gets_a_station() -> None:
    def along(height_m: float) -> Works:
        ridge = GroundSurface(
            [(x, y, height_m if x == 11 else 0.0) for x in (-40, 7.62, 11, 15.24, 60) for y in (-50, 50)]
        )
        return measure(site(), requirements(), layout(reach((0, 0), (30, 0))), ridge)

    assert whats(along(0.2))["grade break"] == 11.0
    assert "grade break" not in whats(along(0.1))


def test_drive_is_dug_deeper_between_its_edges() -> None:
    at = site(WELL, HOUSE, DRIVE)
    works = measure(at, requirements(drive_m=60 * IN), layout(reach((0, 0), (30, 0))), None)
    rows = {station.what: station for station in works.stations}
    begins, ends = rows["Drive begins"], rows["Drive ends"]
    assert (begins.distance_m, ends.distance_m) == pytest.approx((10, 14))
    assert (begins.cut_m, ends.cut_m) == pytest.approx((CUT_M + 6 * IN, CUT_M))
    assert [(section.name, section.surface) for section in works.sections] == [("1", "yard"), ("2", "drive")]
    assert [rows[what].section for what in ("casing", "Drive begins", "Drive ends")] == ["1", "2", "1"]
    assert dict(works.volumes.by_reach)["Main"] == pytest.approx(24 * IN * (30 * CUT_M + 4 * 6 * IN))
    assert amount(works, "Sleeve under Drive") == pytest.approx(4 + 4 * FT)
    assert amount(works, "Trench, drive") == pytest.approx(4)
    assert amount(works, "Trench, yard") == pytest.approx(26)
    steps_m = 2 * 6 * IN
    assert dict(works.developed_m)["water"] == pytest.approx(30 + steps_m + CUT_M)


def test_later_surface_lies_on_top() -> None:
    walk = feature("walk", "walk", box(11, -1, 12, 1))
    works = measure(site(WELL, HOUSE, DRIVE, walk), requirements(), layout(reach((0, 0), (30, 0))), None)
    assert amount(works, "Trench, drive") == pytest.approx(3)
    assert amount(works, "Trench, walk") == pytest.approx(1)
    assert whats(works)["Drive ends; Walk begins"] == 11.0


def test_drive_drawn_as_a_line_needs_a_width_if_it_is_crossed() -> None:
    track = LineString([(20, -20), (20, 20)])
    wide = site(WELL, HOUSE, feature("track", "drive", track, width=3.0))
    works = measure(wide, requirements(), layout(reach((0, 0), (30, 0))), None)
    assert amount(works, "Trench, drive") == pytest.approx(3)
    along = measure(wide, requirements(), layout(reach((0, 0), (19, 0), (19, 8))), None)
    assert amount(along, "Trench, drive") == pytest.approx(0.5 + 8)  # inside its width, off its middle
    bare = site(WELL, HOUSE, feature("track", "drive", track))
    with pytest.raises(InputFaults, match=r"site\.geojson:3: track: .* without a width"):
        measure(bare, requirements(), layout(reach((0, 0), (30, 0))), None)
    measure(bare, requirements(), layout(reach((0, 0), (19, 0))), None)


def test_bends_tees_and_pulls() -> None:
    lines = (WATER, POWER, line("barn", start="water", end="barn"))
    barn = feature("barn", "building", box(9, 20, 15, 25))
    main = reach((0, 0), (20, 0), (30, 10), lines=("water", "power"))
    branch = reach(
        (12, 0),
        (12, 20),
        name="A",
        lines=("barn",),
        parent="Main",
        parent_m=12.0,
        starts_at="Main",
        ends_at="barn",
    )
    works = measure(site(WELL, HOUSE, barn, lines=lines), requirements(), layout(main, branch), None)
    (bend,) = works.bends
    assert (bend.name, bend.reach, bend.distance_m) == ("B1", "Main", 20.0)
    assert bend.deflection_deg == pytest.approx(45)
    assert bend.least_radius_m == pytest.approx(32.875 * IN)
    said = [(station.reach, station.what) for station in works.stations if station.kind != "interval"]
    assert said == [
        ("Main", "casing"),
        ("Main", "tee, branch A"),
        ("Main", "bend B1, 45 deg left"),
        ("Main", "House wall"),
        ("A", "tee on Main"),
        ("A", "Barn wall"),
    ]
    (pull,) = works.pulls
    assert (pull.line, pull.risers_deg) == ("power", 180)
    assert (pull.plan_deg, pull.sum_deg) == pytest.approx((45, 225))
    assert amount(works, "Sweep, 1 in PVC conduit") == 3
    assert {section.lines[0].line for section in works.sections} == {"water", "barn"}


def test_conduit_that_leaves_on_a_branch_turns_there() -> None:
    main = reach(
        (0, 0), (30, 0), runs=(Run(line="water", from_m=0, to_m=30), Run(line="power", from_m=0, to_m=12))
    )
    branch = reach(
        (12, 0),
        (12, -9),
        name="A",
        lines=("power",),
        parent="Main",
        parent_m=12.0,
        starts_at="Main",
        ends_at="shed",
    )
    shed = feature("shed", "building", box(10, -12, 14, -9))
    paths = (
        LinePath(line="water", legs=(("Main", 0, 30),), entry=Point(30, 0)),
        LinePath(line="power", legs=(("Main", 0, 12), ("A", 0, 9)), entry=Point(12, -9)),
    )
    at = site(WELL, HOUSE, shed, lines=(WATER, line("power", "electric", "pvc-1", end="shed")))
    works = measure(at, requirements(), layout(main, branch, paths=paths), None)
    assert works.pulls[0].plan_deg == pytest.approx(90)
    assert works.pulls[0].length_m == pytest.approx(12 + 9 + 2 * CUT_M)
    assert whats(works)["branch A leaves"] == 12.0
    names = [station.section for station in works.stations if station.reach == "Main"]
    assert names == ["1", "1", "2", "2", "2", "2"]


def test_deep_stretches_name_their_rule_and_the_bell_hole() -> None:
    works = measure(site(), requirements(), layout(reach((0, 0), (30, 0))), None)
    assert [(each.what, each.from_m, each.to_m) for each in works.intervals] == [
        ("egress", 0.0, 30.0),
        ("protection (bell-hole)", 0.0, pytest.approx(2.5 * FT)),
    ]
    assert works.intervals[1].rule == requirements().trench.protection_depth_m
    deep = measure(site(), requirements(60 * IN), layout(reach((0, 0), (30, 0))), None)
    assert [each.what for each in deep.intervals] == ["egress", "protection"]


def test_pitless_at_another_depth_is_said_at_the_casing() -> None:
    for depth_in, words in ((54.5, "casing"), (70, "casing, pitless deeper"), (40, "casing, pitless higher")):
        well = feature("well", "well", Point(0, 0), pitless_depth=depth_in * IN)
        works = measure(site(well, HOUSE), requirements(), layout(reach((0, 0), (30, 0))), None)
        assert works.stations[0].what.startswith(words)


def test_spoil_goes_where_there_is_room() -> None:
    wet = feature("wet", "no_dig", box(-50, 1, 50, 50))
    works = measure(site(WELL, HOUSE, wet), requirements(), layout(reach((0, 0), (30, 0))), None)
    (pile,) = works.spoil
    loose_m2 = 1.25 * 24 * IN * CUT_M
    assert pile.side == "right"
    assert pile.width_m * pile.height_m / 2 == pytest.approx(loose_m2)
    assert pile.strip_m == pytest.approx(12 * IN + 2 * FT + pile.width_m)
    assert pile.fits == (Fit(0.0, 30.0, "right"),)
    assert pile.why == "it lies left along 0.0 ft, right along 98.4 ft, no room along 0.0 ft"
    assert [each.what for each in works.intervals if "room" in each.what] == []


@given(
    at_m=st.floats(0.5, 29.5),
    drive_m=st.floats(1.0, 3.0),
    begins_m=st.floats(2, 20),
    entered=st.booleans(),
    bend_m=st.floats(-10, 10),
)
def test_volume_is_the_sum_of_its_parts(
    at_m: float, drive_m: float, begins_m: float, entered: bool, bend_m: float
) -> None:
    at = site(WELL, HOUSE, feature("drive", "drive", box(begins_m, -20, begins_m + 4, 20)), entered=entered)
    rules = requirements(drive_m=drive_m)
    path = LineString([(0, 0), (15, bend_m), (30, 0)])
    corner = path.interpolate(at_m)
    first = [place for place in path.coords if path.project(Point(place)) < at_m]
    rest = [place for place in path.coords if path.project(Point(place)) > at_m]
    whole = layout(reach(*path.coords))
    split = layout(
        reach(*first, (corner.x, corner.y)), reach((corner.x, corner.y), *rest, name="A", starts_at="Main")
    )
    one, two = (
        sum(dict(measure(at, rules, each, None).volumes.by_reach).values()) for each in (whole, split)
    )
    assert two == pytest.approx(one, rel=2e-3)  # surfaces are cut to the centimetre


@pytest.mark.parametrize(("begins_m", "plain"), [(7.65, False), (8.0, True)])
def test_no_plain_station_within_a_foot_of_another(begins_m: float, plain: bool) -> None:
    walk = feature("walk", "walk", box(begins_m, -5, 9, 5))
    works = measure(site(WELL, HOUSE, walk), requirements(), layout(reach((0, 0), (30, 0))), None)
    distances = [station.distance_m for station in works.stations]
    assert distances == sorted(distances)
    assert whats(works)["Walk begins"] == begins_m
    assert (7.62 in distances) is plain


def test_a_change_within_the_same_centimetre_is_in_the_row() -> None:
    pipe = feature("old", "buried_line", LineString([(9.995, -5), (9.995, 5)]))
    works = measure(
        site(WELL, HOUSE, DRIVE, pipe), requirements(drive_m=60 * IN), layout(reach((0, 0), (30, 0))), None
    )
    row = next(station for station in works.stations if station.kind == "crossing")
    assert row.what == "crossing 1, Old; Drive begins"
    assert (row.distance_m, row.section) == (pytest.approx(9.995), "2")


def test_line_that_ends_at_the_trench_it_tees_from() -> None:
    hydrant = feature("hydrant", "hydrant", Point(12, 0.3))
    at = site(WELL, HOUSE, hydrant, lines=(WATER, line("barn", start="water", end="hydrant")))
    paths = (
        LinePath(line="water", legs=(("Main", 0, 30),), entry=Point(30, 0)),
        LinePath(line="barn", legs=(("Main", 12, 12),), entry=Point(12, 0)),
    )
    works = measure(at, requirements(), layout(reach((0, 0), (30, 0)), paths=paths), None)
    assert dict(works.developed_m)["barn"] == 0
    assert whats(works)["tee, Hydrant"] == 12.0
