"""Where shots lie: by station and offset, by tapes, by degrees; what cannot be placed is named with its line."""

from __future__ import annotations

from dataclasses import replace
from math import hypot, sqrt
from pathlib import Path

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
from shapely import Point

from siteplan.document.asbuilt import record_geojson
from siteplan.errors import InputFaults
from siteplan.measure.model import Corner
from siteplan.measure.record_model import BuiltPoint
from siteplan.measure.shot_places import measurements
from siteplan.plane.local import LocalGrid
from siteplan.read.asbuilt import read_measurements
from siteplan.read.shots import read_shots
from siteplan.record import record_plan
from tests.record_scene import FRAME, FT, plan, record

CORNERS = {corner.name: (corner.x / FT, corner.y / FT) for corner in plan().works.corners}


def tape(corner: str, x_ft: float, y_ft: float) -> str:
    """What a tape from a corner to a place reads."""
    return f"{corner},{hypot(CORNERS[corner][0] - x_ft, CORNERS[corner][1] - y_ft):.3f} ft"


def tied(what: str, place: tuple[float, float], corners: list[str], side: str = "") -> str:
    cells = [tape(corner, *place) for corner in corners] + [","] * (3 - len(corners))
    return f"water,{what},,,,{','.join(cells)},{side},,2026-12-01,,,,,\n"


def placed(folder: Path, rows: str) -> BuiltPoint:
    [point] = record(folder, rows).built.points
    return point


def said(folder: Path, rows: str) -> str:
    with pytest.raises(InputFaults) as caught:
        record(folder, rows)
    return str(caught.value)


def test_station_and_offset(tmp_path: Path) -> None:
    point = placed(tmp_path, "water,,Main,1+00,3 ft left" + "," * 13 + "\n")
    assert (point.x, point.y) == (pytest.approx(100 * FT, abs=1e-3), pytest.approx(3 * FT, abs=1e-3))
    assert (point.reach, point.station_m) == ("Main", pytest.approx(100 * FT, abs=1e-3))
    assert point.off_m == pytest.approx(3 * FT, abs=1e-3)


def test_offset_error_holds_the_stakes_and_the_tape(tmp_path: Path) -> None:
    """Staked within 0.5 ft and taped within 0.5 ft: 0.5 sqrt(2)."""
    point = placed(tmp_path, "water,,Main,1+00,3 ft left" + "," * 13 + "\n")
    assert point.measurement.evidence.radius_m == pytest.approx(0.5 * 2**0.5 * FT, abs=1e-4)


def test_a_reach_is_asked_for_only_where_there_are_several(tmp_path: Path) -> None:
    assert placed(tmp_path, "barn,,,0+40,0" + "," * 13 + "\n").reach == "A"
    assert "found reach B, expected a reach where barn was planned: A" in said(
        tmp_path, "barn,,B,0+40,0" + "," * 13 + "\n"
    )


def test_a_station_past_the_end(tmp_path: Path) -> None:
    assert "shots.csv:2: found station 2+50.0 of Main, expected at most 2+20.7, where it ends" in said(
        tmp_path, "water,,Main,2+50,0" + "," * 13 + "\n"
    )


def test_two_ties_take_the_place_on_the_plan(tmp_path: Path) -> None:
    """Shed SW and House SW see (148, 2); the mirror is some 80 ft off the line."""
    point = placed(tmp_path, tied("bend B1", (148, 2), ["Shed SW", "House SW"]))
    assert (point.x / FT, point.y / FT) == (pytest.approx(148, abs=0.01), pytest.approx(2, abs=0.01))
    assert point.planned == pytest.approx((150 * FT, 0))
    assert point.moved_m == pytest.approx(hypot(2, 2) * FT, abs=0.01)


@pytest.mark.parametrize(("side", "y_ft"), [("left", 30), ("right", -30), ("north", 30), ("south", -30)])
def test_two_places_as_near_to_the_plan_ask_for_the_side(tmp_path: Path, side: str, y_ft: float) -> None:
    """Two tapes from the casing at (0, 0) and a stake at (150, 0), which lies on the line of the trench itself."""
    scene = plan()
    works = replace(scene.works, corners=(*scene.works.corners, Corner(name="stake", x=150 * FT, y=0.0)))
    tapes = f"Well casing,{hypot(100, 30):.4f} ft,stake,{hypot(50, 30):.4f} ft"
    header = "line,from_1,tape_1,from_2,tape_2,side\n"
    for said_side in ("", side):
        (tmp_path / "shots.csv").write_text(f"{header}water,{tapes},{said_side}\n", encoding="utf-8")
        shots = read_shots(tmp_path, scene.site).shots
        if not said_side:
            with pytest.raises(
                InputFaults, match=r"two places where the tapes meet, .* say in the column side"
            ):
                measurements(scene.site, scene.layout, works, shots, FRAME)
            continue
        [taken] = measurements(scene.site, scene.layout, works, shots, FRAME)
        place = FRAME.to_ground(Point(taken.longitude_deg, taken.latitude_deg))
        assert (place.x / FT, place.y / FT) == (pytest.approx(100, abs=0.01), pytest.approx(y_ft, abs=0.01))


def test_three_ties_and_their_misfit(tmp_path: Path) -> None:
    corners = ["Shed SW", "House SW", "Barn NE"]
    point = placed(tmp_path, tied("bend B1", (148, 2), corners))
    assert (point.x / FT, point.y / FT) == (pytest.approx(148, abs=0.01), pytest.approx(2, abs=0.01))
    bad = tied("bend B1", (148, 2), corners).replace(tape("Barn NE", 148, 2), "Barn NE,60 ft")
    assert "found 3 tapes that miss each other by" in said(tmp_path, bad)


def test_feet_and_metres_in_one_row(tmp_path: Path) -> None:
    row = tied("bend B1", (148, 2), ["Shed SW", "House SW"])
    feet = hypot(CORNERS["House SW"][0] - 148, CORNERS["House SW"][1] - 2)
    metric = row.replace(tape("House SW", 148, 2), f"House SW,{feet * FT:.4f} m")
    assert metric != row
    assert placed(tmp_path, metric).x == pytest.approx(148 * FT, abs=0.003)


def test_a_corner_that_does_not_exist(tmp_path: Path) -> None:
    message = said(tmp_path, "water,,,,,House WS,40 ft,Shed SW,60 ft" + "," * 9 + "\n")
    assert 'shots.csv:2: found the corner "House WS", expected one of Well casing, House NE' in message
    assert 'did you mean "House' in message


def test_tapes_that_cannot_meet(tmp_path: Path) -> None:
    message = said(tmp_path, "water,,,,,House SW,20 ft,Shed SW,20 ft" + "," * 9 + "\n")
    assert "shots.csv:2: found 2 tapes that miss each other by" in message
    assert "tape House SW and Shed SW again" in message


def test_tapes_that_cross_flat_are_taken_with_the_error_they_have(tmp_path: Path) -> None:
    """House SW and Barn NE, 161 ft apart, and a place on the straight line between them: 0.5 ft either way is feet across it."""
    a, b = CORNERS["House SW"], CORNERS["Barn NE"]
    middle = ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)
    half_ft = hypot(a[0] - b[0], a[1] - b[1]) / 2
    across_ft = sqrt((half_ft + 0.5) ** 2 - half_ft**2)
    built = record(tmp_path, tied("", middle, ["House SW", "Barn NE"])).built
    [point] = built.points
    assert point.measurement.evidence.radius_m / FT == pytest.approx(hypot(across_ft, 0.5), rel=0.02)
    assert any(
        "ft only; tape it from another corner while it is open" in warning for warning in built.warnings
    )


def test_a_shot_far_off_the_plan(tmp_path: Path) -> None:
    message = said(tmp_path, "water,,Main,1+00,300 ft left" + "," * 13 + "\n")
    assert "shots.csv:2: found a place" in message
    assert "ft off the planned line, expected a place within 100.0 ft of it" in message


def test_every_row_that_cannot_be_placed_is_named(tmp_path: Path) -> None:
    rows = (
        "water,,Main,9+00,0"
        + "," * 13
        + "\n"
        + "water,,Main,1+00,0"
        + "," * 13
        + "\n"
        + "barn,,B,0+40,0"
        + "," * 13
        + "\n"
    )
    with pytest.raises(InputFaults) as caught:
        record(tmp_path, rows)
    assert [fault.line for fault in caught.value.faults] == [2, 4]


def test_ties_know_no_more_than_the_corners(tmp_path: Path) -> None:
    """Corners of a house known to 0.5 ft, tapes good to 0.5 ft that cross at about 75 degrees."""
    evidence = placed(tmp_path, tied("bend B1", (148, 2), ["Shed SW", "House SW"])).measurement.evidence
    assert 0.5 * 2**0.5 * FT < evidence.radius_m < 1.2 * FT


def test_x_and_y_of_a_tape_grid(tmp_path: Path) -> None:
    """The grid's +y axis points due east: 100 ft along it and 3 ft to its right is 100 ft east and 3 ft south of the origin."""
    scene = plan()
    grid = LocalGrid(north_deg=90.0, frame=FRAME)
    site = replace(scene.site, grid_origin=(-112.0, 46.0), grid_north_deg=90.0)
    (tmp_path / "shots.csv").write_text("line,x,y\nwater,3 ft,100 ft\nwater,-1 ft,50 ft\n", encoding="utf-8")
    shots = read_shots(tmp_path, site)
    built = record_plan(replace(scene, site=site, frame=grid), shots).built
    places = [(round(point.x / FT, 2), round(point.y / FT, 2)) for point in built.points]
    assert places == [(50, 1), (100, -3)]


def test_a_site_that_is_nowhere_on_the_earth_says_what_it_takes(tmp_path: Path) -> None:
    (tmp_path / "shots.csv").write_text("line,station\nwater,0+50\n", encoding="utf-8")
    nowhere = replace(plan(), frame=LocalGrid())
    with pytest.raises(InputFaults, match=r"site.toml: grid: found a tape grid without an origin"):
        record_plan(nowhere, read_shots(tmp_path, nowhere.site))


MEASURED = (
    st.sampled_from(["", "bend B1", "tee", "end", "casing", "crossing 1", "splice", "bend B7"]),
    st.sampled_from(["", "0", "2 ft left", "5.5 ft right", "90 ft left"]),
    st.sampled_from(["", "56 in", "12 in", "0 in"]),
    st.sampled_from(["", "2026-12-01", "2026-12-02"]),
)
ROWS = st.one_of(
    st.tuples(st.sampled_from(["water", "power"]), st.just("Main"), st.integers(0, 220), *MEASURED),
    st.tuples(st.just("barn"), st.sampled_from(["", "A"]), st.integers(0, 81), *MEASURED),
)


@example([("barn", "", 80, "casing", "0", "", "")])
@example([("barn", "", 80, "casing", "2 ft left", "", "")])
@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(ROWS, min_size=1, max_size=8))
def test_whatever_is_measured_is_recorded_or_named(
    tmp_path: Path, rows: list[tuple[str, str, int, str, str, str, str]]
) -> None:
    text = "".join(
        f"{line},{what},{reach},{station // 100}+{station % 100:02d},{offset},,,,,,,,{cover},{day},,,,,\n"
        for line, reach, station, what, offset, cover, day in rows
    )
    try:
        built = record(tmp_path, text)
    except InputFaults as faults:
        assert all(fault.line for fault in faults.faults)
        return
    assert len(built.built.points) == len({point.measurement.id for point in built.built.points})
    for line in built.built.lines:
        whole_m = sum(float(stretch.path.length) for stretch in line.stretches)
        assert whole_m == pytest.approx(float(line.path.length), abs=0.05)
    (tmp_path / "a.geojson").write_text(record_geojson(built), encoding="utf-8")
    back = read_measurements(tmp_path / "a.geojson")
    again = record(tmp_path, text, back)
    assert record_geojson(again) == record_geojson(built)
