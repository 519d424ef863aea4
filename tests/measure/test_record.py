"""Lines as built, which measurement holds, and every verdict again: on the scene whose numbers a hand can check."""

from __future__ import annotations

from dataclasses import replace
from math import atan, degrees, hypot, sqrt
from pathlib import Path

import pytest
from shapely import LineString, Point

from siteplan.check import worst_verdict
from siteplan.check.finding import Finding
from siteplan.document.asbuilt import record_geojson
from siteplan.document.record_model import Record
from siteplan.document.record_words import deviation_words
from siteplan.measure.record import together
from siteplan.read.asbuilt import read_measurements
from siteplan.site.evidence import R95_PER_SIGMA, Z95_ONE_SIDED, Evidence, pair_sigma_m
from tests.measure.trench_scene import PIPE_OD_M
from tests.record_scene import COLUMNS, FRAME, FT, IN, plan, record


def row(
    line: str,
    station: str,
    offset: str = "0",
    cover: str = "",
    *,
    what: str = "",
    reach: str = "Main",
    when: str = "2026-12-01,",
    crew: str = "TC",
) -> str:
    return f"{line},{what},{reach},{station},{offset},,,,,,,,{cover},{when},{crew},,,\n"


BOULDER = (
    row("water", "0+00", what="casing")
    + row("water", "0+90")
    + row("water", "1+00", "3 ft left")
    + row("water", "1+10")
    + row("water", "1+50", what="bend B1")
    + row("water", "2+20.7", what="end")
)
"""Six points of the water line, round a boulder on the side of the tank."""


def finding(built: Record, topic: str, subject: str, to: str = "") -> Finding:
    [found] = [each for each in built.findings if (each.topic, each.subject, each.to) == (topic, subject, to)]
    return found


def feet(path: LineString) -> list[tuple[float, float]]:
    return [(round(x / FT, 1), round(y / FT, 1)) for x, y in path.coords]


def test_a_curve_round_a_boulder_turns_clear_into_too_close_to_call(tmp_path: Path) -> None:
    """13.3 ft planned from the centreline, 3 ft of it lost: 10.245 ft to the edge of a 1.315 in pipe, against 10 ft.

    Both ends are known within 0.5 ft (95 % radius), the shot within 0.5 sqrt(2) as the stakes it was taped from: the band is
    1.645 sqrt(0.5^2 + 0.707^2) / 2.448 = 0.58 ft.
    """
    built = record(tmp_path, BOULDER)
    before = next(each for each in built.plan.findings if each.topic == "setback")
    after = finding(built, "setback", "water", "tank")
    assert before.verdict == "clear"
    assert after.verdict == "too close to call"
    assert after.measured_m == pytest.approx(10.3 * FT - PIPE_OD_M / 2, abs=1e-3)
    assert after.error_m == pytest.approx(Z95_ONE_SIDED * sqrt(0.25 + 0.5) / R95_PER_SIGMA * FT, abs=2e-3)
    assert after.settle
    assert [(c.before.verdict if c.before else "", c.after.what) for c in built.changes] == [
        ("clear", "water line to Tank")
    ]
    assert worst_verdict(built.findings) != "short"


def test_a_wider_curve_is_short(tmp_path: Path) -> None:
    built = record(tmp_path, BOULDER.replace("3 ft left", "4.5 ft left"))
    assert finding(built, "setback", "water", "tank").verdict == "short"
    assert worst_verdict(built.findings) == "short"


def test_the_other_side_of_the_boulder_stays_clear(tmp_path: Path) -> None:
    """The corner of the tank at (95, 13.3) lies (3 x 5 + 10 x 13.3) / sqrt(109) ft off the leg from (90, 0) to (100, -3)."""
    built = record(tmp_path, BOULDER.replace("3 ft left", "3 ft right"))
    gap_ft = (3 * 5 + 10 * 13.3) / sqrt(109)
    assert finding(built, "setback", "water", "tank").measured_m == pytest.approx(
        gap_ft * FT - PIPE_OD_M / 2, abs=1e-3
    )
    assert built.changes == ()


def test_the_line_goes_straight_between_its_points(tmp_path: Path) -> None:
    built = record(tmp_path, BOULDER).built.line("water")
    assert isinstance(built.path, LineString)
    assert feet(built.path) == [(0, 0), (90, 0), (100, 3), (110, 0), (150, 0), (200, 50)]
    assert built.position == "measured"
    assert built.measured_m == pytest.approx((90 + 2 * hypot(10, 3) + 40 + hypot(50, 50)) * FT, rel=1e-4)


def test_where_nothing_was_measured_the_line_is_as_planned(tmp_path: Path) -> None:
    """Two points with a bend of the plan between them that nobody measured: planned on both sides of the bend."""
    built = record(tmp_path, row("water", "1+00", "3 ft left") + row("water", "2+00")).built.line("water")
    assert isinstance(built.path, LineString)
    assert feet(built.path)[:3] == [(0, 0), (100, 3), (150, 0)]
    assert {stretch.position for stretch in built.stretches} == {"planned"}
    assert built.position == "measured in part"


def test_an_unmeasured_line_keeps_the_plan(tmp_path: Path) -> None:
    built = record(tmp_path, BOULDER)
    power = built.built.line("power")
    assert power.position == power.cover == "planned"
    assert power.path.equals(built.plan.layout.way("power"))
    assert finding(built, "cover", "power").method.startswith("planned")


def test_a_branch_begins_on_its_line_as_built(tmp_path: Path) -> None:
    rows = (
        row("water", "0+00", what="casing")
        + row("water", "0+60", "2 ft right", what="tee")
        + row("water", "1+00")
    )
    built = record(tmp_path, rows)
    barn = built.built.line("barn").path
    assert isinstance(barn, LineString)
    parent = built.built.line("water").path
    assert parent.distance(Point(barn.coords[0])) < 1e-6
    assert feet(barn)[0] == (60.1, -2)
    assert built.built.line("barn").position == "planned"


def test_bend_deviation_is_from_the_planned_bend(tmp_path: Path) -> None:
    place = FRAME.to_lonlat(Point(150 * FT, 1.9 * FT))
    columns = "line,what,longitude,latitude,method\n"
    built = record(tmp_path, f"water,bend B1,{place.x:.9f},{place.y:.9f},rtk\n", columns=columns)
    [point] = built.built.points
    assert point.planned == (pytest.approx(150 * FT), 0.0)
    assert point.moved_m == pytest.approx(1.9 * FT, abs=1e-3)
    assert deviation_words(built.plan, point) == "1.9 ft north of plan"


def test_cover_between_two_tapes_is_the_lesser_of_both_and_only_there(tmp_path: Path) -> None:
    """56 in at 0+90, 50 in at 1+00, 56 in at 1+10, against 54: short from 0+90 to 1+10, clear elsewhere."""
    rows = "".join(
        row("water", station, "", cover)
        for station, cover in (("0+00", "56 in"), ("0+90", "56 in"), ("1+00", "50 in"), ("1+10", "56 in"))
    )
    built = record(tmp_path, rows)
    covers = [each for each in built.findings if each.topic == "cover" and each.subject == "water"]
    [short] = [each for each in covers if each.verdict == "short"]
    assert (short.from_m, short.to_m) == (pytest.approx(90 * FT, abs=0.01), pytest.approx(110 * FT, abs=0.01))
    assert short.measured_m == pytest.approx(50 * IN, abs=1e-4)
    assert short.method == "taped in the open trench"
    others = sorted(
        (each.from_m or 0, each.to_m or 0, each.verdict, each.method[:7])
        for each in covers
        if each is not short
    )
    assert [(round(a / FT), round(b / FT), verdict, method) for a, b, verdict, method in others] == [
        (0, 90, "clear", "taped i"),
        (110, 221, "clear", "planned"),
    ]


def test_a_cover_within_its_error_is_too_close_to_call(tmp_path: Path) -> None:
    """54.5 in against 54 in, taped to 1 in."""
    built = record(tmp_path, row("water", "0+50", "", "54.5 in") + row("water", "0+60", "", "54.5 in"))
    [change] = built.changes
    assert (change.after.topic, change.after.verdict) == ("cover", "too close to call")


def test_a_station_without_an_offset_measures_the_cover_alone(tmp_path: Path) -> None:
    built = record(tmp_path, row("water", "0+50", "", "56 in")).built
    [point] = built.points
    assert not point.measurement.placed
    assert point.off_m == 0.0
    line = built.line("water")
    assert (line.position, line.cover) == ("planned", "measured in part")
    [taped] = [cover for cover in line.covers if cover.standing == "measured"]
    assert taped.to_m - taped.from_m == pytest.approx(1 * FT, abs=1e-6)


def test_a_crossing_is_judged_at_the_cover_that_was_taped(tmp_path: Path) -> None:
    """Gas at 24 in. Water laid at 20 in of cover ends at 21.3 in: 2.7 in clear, over it, against 12 in."""
    rows = row("water", "1+10", "", "20 in") + row("water", "1+30", "", "20 in")
    built = record(tmp_path, rows)
    [crossing] = [each for each in built.findings if each.topic == "crossing"]
    assert crossing.verdict == "short"
    assert crossing.what.startswith("crossing 1: water line")
    assert crossing.measured_m == pytest.approx((24 - 20) * IN - PIPE_OD_M, abs=1e-4)
    assert crossing.from_m == pytest.approx(120 * FT, abs=0.01)


def test_a_line_that_was_laid_deeper_than_the_one_it_crosses(tmp_path: Path) -> None:
    """Water at 40 in under gas of 1 in at 24 in: 15 in clear."""
    rows = row("water", "1+10", "", "40 in") + row("water", "1+30", "", "40 in")
    planned = plan().findings
    built = record(tmp_path, rows)
    [crossing] = [each for each in built.findings if each.topic == "crossing"]
    assert [each.subject for each in planned if each.topic == "crossing"] == ["power"]
    assert crossing.measured_m == pytest.approx(15 * IN, abs=1e-4)


def test_two_lines_nearer_to_each_other_than_the_rules_ask(tmp_path: Path) -> None:
    """Axes 8 in apart where 12 in clear is asked of pipes of 1.315 in each."""
    ends = (("0+20", "1+00"), ("water", "4 in left"), ("power", "4 in right"))
    rows = "".join(row(line, station, offset) for line, offset in ends[1:] for station in ends[0])
    built = record(tmp_path, rows)
    separation = finding(built, "separation", "water", "power")
    assert separation.verdict == "short"
    assert separation.measured_m == pytest.approx(8 * IN - PIPE_OD_M, abs=1e-3)


def test_two_lines_that_leave_the_casing_together_are_not_too_near(tmp_path: Path) -> None:
    rows = row("water", "0+00", what="casing") + row("power", "0+00", what="casing")
    rows += row("water", "1+00", "8 in left") + row("power", "1+00", "8 in right")
    separation = finding(record(tmp_path, rows), "separation", "water", "power")
    assert separation.verdict == "clear"
    assert separation.measured_m == pytest.approx(16 * IN - PIPE_OD_M, abs=1e-3)


def test_two_lines_are_known_to_each_other_as_well_as_they_were_taped(tmp_path: Path) -> None:
    """12.7 in clear against 12 in. One crew and one day: 0.1 ft each, 1.7 in together; two crews: the whole error of both."""
    ours = row("water", "0+20", "7 in left") + row("water", "1+00", "7 in left")
    theirs = row("power", "0+20", "7 in right") + row("power", "1+00", "7 in right")
    together = finding(record(tmp_path, ours + theirs), "separation", "water", "power")
    assert together.verdict == "too close to call"
    assert together.error_m == pytest.approx(sqrt(2) * 0.1 * FT, rel=1e-3)
    assert together.settle.startswith(
        "Tape the clear distance between the two in the open trench: good to 0.7 in"
    )
    apart = finding(record(tmp_path, ours + theirs.replace("TC", "other")), "separation", "water", "power")
    assert apart.error_m == pytest.approx(Z95_ONE_SIDED * sqrt(2 * 0.5) / R95_PER_SIGMA * FT, rel=1e-3)


def test_a_conduit_round_a_boulder_turns_more(tmp_path: Path) -> None:
    """3 ft off and back within 20 ft: atan(3/10) twice and twice that between, 66.8 degrees, beside 45 in plan and two risers."""
    stations = (
        ("0+00", "0"),
        ("0+90", "0"),
        ("1+00", "3 ft left"),
        ("1+10", "0"),
        ("1+50", "0"),
        ("2+20.7", "0"),
    )
    rows = "".join(row("power", station, offset) for station, offset in stations)
    bend = finding(record(tmp_path, rows), "bend", "power")
    detour_deg = 4 * degrees(atan(3 / 10))
    assert bend.measured_m == pytest.approx(detour_deg + 45 + 180, abs=0.2)
    assert bend.method.startswith("as built: 112 deg in plan")


def test_what_is_within_the_error_of_a_shot_is_no_bend(tmp_path: Path) -> None:
    offsets = {"0+00": "0", "0+50": "0.3 ft left", "1+00": "0.3 ft right", "1+50": "0", "2+20.7": "0"}
    rows = "".join(row("power", station, offset) for station, offset in offsets.items())
    assert finding(record(tmp_path, rows), "bend", "power").measured_m == pytest.approx(225, abs=0.2)


def test_a_crossing_that_the_plan_did_not_have(tmp_path: Path) -> None:
    """The branch planned along x = 60 was laid to the east, over the gas line at x = 120, down to y = -40."""
    rows = row("barn", "0+02", "58 ft left", reach="A") + row(
        "barn", "0+30", "70 ft left", reach="A", cover="54 in"
    )
    built = record(tmp_path, rows)
    numbers = [each.what.split(":")[0] for each in built.findings if each.topic == "crossing"]
    assert numbers.count("crossing 2") == 1
    assert any(change.before is None and change.after.topic == "crossing" for change in built.changes)


def test_the_later_measurement_of_a_point_holds_and_both_stay(tmp_path: Path) -> None:
    rows = row("water", "1+50", "1 ft left", "56 in", what="bend B1", when="2026-12-01,10:00")
    rows += row("water", "1+50", "2 ft left", "50 in", what="Bend B1", when="2026-12-01,09:00")
    built = record(tmp_path, rows).built
    assert {point.superseded: round((point.moved_m or 0) / FT, 2) for point in built.points} == {
        False: 1.0,
        True: 2.0,
    }
    assert any(
        "water: bend B1 was measured twice, 1.0 ft apart, cover 50 in, then 56 in; the later holds" in warning
        for warning in built.warnings
    )
    assert len(built.line("water").points) == 1


def test_a_cover_taped_later_leaves_the_place_standing(tmp_path: Path) -> None:
    rows = row("water", "1+50", "1 ft left", what="bend B1", when="2026-12-01,10:00")
    rows += row("water", "1+50", "", "56 in", what="bend B1", when="2026-12-01,11:00")
    built = record(tmp_path, rows).built
    assert not any(point.superseded for point in built.points)
    assert built.warnings == ()


def test_points_without_a_name_are_one_only_where_they_are_near(tmp_path: Path) -> None:
    rows = "".join(
        row("water", station, "1 ft left", what="splice") for station in ("0+20", "0+20.5", "0+40")
    )
    assert [point.superseded for point in record(tmp_path, rows).built.points].count(True) == 1


def test_a_second_visit_adds(tmp_path: Path) -> None:
    first = record(tmp_path, BOULDER)
    known = tuple(point.measurement for point in first.built.points)
    new = row("water", "0+30", "0.5 ft left", when="2026-12-03,")
    alone, again = record(tmp_path, new, known), record(tmp_path, BOULDER + new, known)
    assert len(alone.built.points) == len(again.built.points) == 7
    assert alone.built == again.built
    assert [(visit.day, visit.points) for visit in alone.built.visits] == [
        ("2026-12-01", 6),
        ("2026-12-03", 1),
    ]


def test_nothing_is_lost_when_sets_are_put_together(tmp_path: Path) -> None:
    known = tuple(point.measurement for point in record(tmp_path, BOULDER).built.points)
    assert set(together(known[:3], known[2:])) == set(known)
    assert together((), known) == together(known, ())


def test_a_mended_row_replaces_what_was_recorded_at_the_same_time(tmp_path: Path) -> None:
    """The crew wrote 65 in for 56 in, ran the record, and mended the row."""
    wrong = row("water", "0+50", "1 ft left", "65 in", what="splice", when="2026-12-01,10:00")
    known = tuple(point.measurement for point in record(tmp_path, wrong).built.points)
    again = record(tmp_path, wrong.replace("65 in", "56 in"), known).built
    assert {round((p.measurement.cover_m or 0) / IN): p.superseded for p in again.points} == {
        65: True,
        56: False,
    }
    back = tuple(point.measurement for point in again.points)
    assert record(tmp_path, wrong.replace("65 in", "56 in"), back).built.points == again.points
    assert any("the record holds a row that shots.csv no longer has" in warning for warning in again.warnings)


def test_a_row_that_is_taken_back_stays_and_no_longer_counts(tmp_path: Path) -> None:
    """A slip of 20 ft would bend the line for good: the same row again, with the reason in the column withdrawn."""
    wrong = row("water", "0+30", "20 ft left")
    known = tuple(point.measurement for point in record(tmp_path, BOULDER + wrong).built.points)
    marked = wrong.replace("\n", ",other peg\n")
    columns = COLUMNS.replace("\n", ",withdrawn\n")
    again = record(tmp_path, BOULDER + marked, known, columns=columns).built
    [gone] = [point for point in again.points if point.superseded]
    assert gone.measurement.withdrawn == "other peg"
    assert again.line("water").path.equals(record(tmp_path, BOULDER).built.line("water").path)
    later = record(tmp_path, row("water", "0+40"), tuple(point.measurement for point in again.points)).built
    assert [point.measurement.withdrawn for point in later.points if point.superseded] == ["other peg"]


def test_only_the_new_visit_in_the_file_is_no_row_missing(tmp_path: Path) -> None:
    known = tuple(point.measurement for point in record(tmp_path, BOULDER).built.points)
    assert record(tmp_path, row("water", "0+30", when="2026-12-03,"), known).built.warnings == ()


def test_the_same_rows_in_another_order_give_the_same_lines(tmp_path: Path) -> None:
    rows = BOULDER.splitlines(keepends=True)
    one, other = record(tmp_path, BOULDER), record(tmp_path, "".join(reversed(rows)))
    assert one.built.line("water").path.equals(other.built.line("water").path)
    assert one.findings == other.findings


def test_points_of_a_line_that_is_no_longer_planned_stay_in_the_record(tmp_path: Path) -> None:
    known = tuple(point.measurement for point in record(tmp_path, BOULDER).built.points)
    other = tuple(replace(each, line="old-water", id=each.id + "x") for each in known)
    built = record(tmp_path, row("water", "0+30"), other)
    assert set(built.built.strays) == set(other)
    assert any("old-water: measured, but no line of site.toml" in warning for warning in built.built.warnings)
    (tmp_path / "a.geojson").write_text(record_geojson(built), encoding="utf-8")
    assert set(other) < set(read_measurements(tmp_path / "a.geojson"))


def test_a_bend_that_the_plan_does_not_have_is_asked_about(tmp_path: Path) -> None:
    [warning] = record(tmp_path, row("water", "0+30", what="B7")).built.warnings
    assert "water: the plan has no bend B7 on this line" in warning


def test_a_shot_from_a_corner_shares_the_shift_of_its_photo(tmp_path: Path) -> None:
    """House, shed and tank clicked in one photo with a shift of 6 ft: tapes from their corners to the line do not feel it."""
    photo = Evidence(method="traced", shared_m=6 * FT, private_m=1 * FT, outing="photo")
    rows = "water,,,,,Shed SW,{:.3f} ft,House SW,{:.3f} ft,,,,,2026-12-01,,,,,\n"
    rows = rows.format(hypot(60 - 100, 60 - 3), hypot(200 - 100, 40 - 3)) + row("water", "0+90")
    built = record(tmp_path, rows, known=photo)
    [taped] = [point for point in built.built.points if point.measurement.placing == "ties"]
    evidence = taped.measurement.evidence
    assert (evidence.outing, evidence.shared_m) == ("photo", pytest.approx(6 * FT, abs=1e-4))
    tank = built.plan.site.feature("tank").evidence
    assert pair_sigma_m(evidence, tank) < pair_sigma_m(replace(evidence, outing=None), tank) / 2


def test_a_line_that_ends_where_it_tees_off_is_recorded_and_keeps_its_verdicts(tmp_path: Path) -> None:
    rows = row("yard", "0+40", "1 ft left", "50 in", what="tee", reach="A") + row(
        "yard", "0+41", what="valve", reach="A"
    )
    built = record(tmp_path, rows)
    yard = built.built.line("yard")
    assert [point.measurement.what for point in yard.points] == ["tee", "valve"]
    assert (yard.position, yard.path.geom_type) == ("measured", "Point")
    assert yard.points[0].required_cover_m == pytest.approx(54 * IN)
    assert finding(built, "setback", "yard", "tank").verdict == "clear"
    assert len(built.findings) == len(built.plan.findings)
    (tmp_path / "a.geojson").write_text(record_geojson(built), encoding="utf-8")
    assert len(read_measurements(tmp_path / "a.geojson")) == 2
