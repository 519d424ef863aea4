"""A point found again from the record file alone: distances against the ground metres it was made from, names, bad files."""

from __future__ import annotations

from math import hypot
from pathlib import Path

import pytest

from siteplan.document.asbuilt import asbuilt_geojson, record_geojson
from siteplan.document.find_words import point_found, points_listed
from siteplan.document.record_model import Record
from siteplan.errors import InputFaults
from siteplan.measure.find import find, named_points
from siteplan.read.asbuilt import RecordFile, read_asbuilt
from tests.measure.test_record import BOULDER, row
from tests.record_scene import FT, plan, record


def written(folder: Path, text: str) -> RecordFile:
    (folder / "asbuilt.geojson").write_text(text, encoding="utf-8")
    return read_asbuilt(folder / "asbuilt.geojson")


@pytest.fixture
def built(tmp_path: Path) -> Record:
    rows = BOULDER.replace("1+50,0", "1+49,2 ft left") + row("water", "0+10", "", "56 in", what="shutoff")
    rows += row("water", "1+30", "0", "55 in", what="splice 1", when="2026-12-02,")
    return record(tmp_path, rows)


def test_tapes_and_bearings_to_a_point_as_built(tmp_path: Path, built: Record) -> None:
    """Bend B1 was laid at (149, 2) ft: tapes from the corners by Pythagoras, to a millimetre."""
    file = written(tmp_path, record_geojson(built))
    [found] = find(file, "bend B1")
    corners = {corner.name: corner for corner in plan().works.corners}
    assert len(found.ties) == 2
    for name, tape_m in found.ties:
        away = hypot(corners[name].x - 149 * FT, corners[name].y - 2 * FT)
        assert tape_m == pytest.approx(away, abs=1e-3)
    nearest = min(corners.values(), key=lambda c: hypot(c.x - 149 * FT, c.y - 2 * FT))
    assert found.fixed[0].name == nearest.name
    east, north = 149 * FT - nearest.x, 2 * FT - nearest.y
    from math import atan2, degrees

    assert found.fixed[0].bearing_deg == pytest.approx(degrees(atan2(east, north)) % 360, abs=0.01)


def test_it_says_what_was_measured(tmp_path: Path, built: Record) -> None:
    file = written(tmp_path, record_geojson(built))
    text = point_found(file, "splice 1")
    assert "splice 1, Main 1+30.0 water: measured 2026-12-02 by TC" in text
    assert "cover 55 in" in text
    assert "known within 0.7 ft" in text
    assert "Call for locates" in text
    assert "shutoff, Main 0+10.0 water: cover measured, place as planned" in point_found(file, "shutoff")


def test_a_plan_is_said_to_be_one(tmp_path: Path) -> None:
    file = written(tmp_path, asbuilt_geojson(plan()))
    text = point_found(file, "bend B1")
    assert "planned, not built" in text
    assert "cover not measured" in text
    assert text.count("  tape ") == 2


def test_units_are_those_of_the_file(tmp_path: Path) -> None:
    metric = asbuilt_geojson(plan()).replace('"units": "ft"', '"units": "m"')
    assert " m from " in point_found(written(tmp_path, metric), "bend B1")


def test_the_list_names_what_holds(tmp_path: Path, built: Record) -> None:
    file = written(tmp_path, record_geojson(built))
    listed = points_listed(file)
    for what in ("casing", "bend B1", "end", "splice 1", "shutoff", "Barn wall"):
        assert any(line.startswith(what) for line in listed.splitlines()), what
    assert len(named_points(file)) == len(listed.splitlines()) - 1


@pytest.mark.parametrize(
    ("asked", "found"), [("B1", 1), ("BEND b1", 1), ("splice", 1), ("tee", 3), ("end", 1)]
)
def test_a_name_may_be_short_and_in_any_case(tmp_path: Path, built: Record, asked: str, found: int) -> None:
    assert len(find(written(tmp_path, record_geojson(built)), asked)) == found


def test_a_name_that_is_not_there(tmp_path: Path) -> None:
    file = written(tmp_path, asbuilt_geojson(plan()))
    for name in ("bend B9", "", "  ", "casinng"):
        with pytest.raises(InputFaults) as caught:
            find(file, name)
        assert len(str(caught.value).splitlines()) == 1
    assert 'did you mean "casing"?' in str(caught.value)


def test_a_superseded_place_is_not_found(tmp_path: Path) -> None:
    rows = row("water", "1+49", "2 ft left", what="bend B1", when="2026-12-01,")
    rows += row("water", "1+49", "1 ft left", what="bend B1", when="2026-12-02,")
    [found] = find(written(tmp_path, record_geojson(record(tmp_path, rows))), "bend B1")
    assert str(found.point.day) == "2026-12-02"


def test_a_measured_point_takes_the_place_of_the_planned_one_beside_it_that_has_its_name(
    tmp_path: Path,
) -> None:
    rows = row("water", "0+59", "1 ft left", what="tee", when="2026-12-01,")
    file = written(tmp_path, record_geojson(record(tmp_path, rows)))
    mains = [point for point in named_points(file) if point.reach == "Main" and "tee" in point.what]
    assert [(point.what, point.position) for point in mains] == [("tee", "measured")]
    [found] = find(file, "tee, branch A")
    assert found.point.position == "measured"
    assert "planned as tee, branch A" in point_found(file, "tee branch A")
