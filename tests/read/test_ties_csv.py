"""``ties.csv``: what each row says, and what is wrong with it by file and line; things known by taped points."""

from __future__ import annotations

from pathlib import Path

import pytest
from small_site import SITE_TOML, faults, only_fault, write

from siteplan.read import read_site
from siteplan.read.bearings import parse_bearing_deg, parse_declination_deg
from siteplan.read.ties import level_m
from siteplan.read.words import Unusable
from siteplan.site.field_notes import Measurement
from siteplan.units import FOOT_M

HEAD = "point,from,to,distance,rise,turn,along,offset,bearing,declination,side,error,bearing_error,method,outing,note\n"
COLUMNS = HEAD.strip().split(",")


def row(**cells: str) -> str:
    """One row with these cells."""
    cells = {name.rstrip("_"): text for name, text in cells.items()}
    return ",".join(cells.get(name, "") for name in COLUMNS) + "\n"


def read(folder: Path, *rows: str) -> tuple[Measurement, ...]:
    """The measurements of a good table."""
    notes = read_site(write(folder, ties__csv=HEAD + "".join(rows))).field_notes
    return notes.measurements if notes else ()


def test_each_sort_of_row(tmp_path: Path) -> None:
    tie, wall, square, offset, bearing, side = read(
        tmp_path,
        row(
            point="W",
            from_="house NE",
            distance="62 ft 5 in",
            error="2 in",
            outing="monday",
            note="by the gate",
        ),
        row(point="H2", from_="H1", distance="12.192 m"),
        row(point="H3", from_="H2", distance="28 ft", turn="left"),
        row(point="T", from_="H1", to="H2", along="45 ft", offset="12 ft right"),
        row(point="P", from_="H1", distance="285.1 ft", bearing="N 26 10 E", declination="12 30 W"),
        row(point="Q", from_="H1", to="H2", distance="30 ft", side="left", method="rtk"),
    )
    assert (tie.distance_m, tie.error_m) == pytest.approx((749 / 12 * FOOT_M, 2 / 12 * FOOT_M))
    assert (tie.outing, tie.note, tie.source.line) == ("monday", "by the gate", 2)
    assert wall.distance_m == 12.192
    assert wall.error_m == pytest.approx(0.5 * FOOT_M)
    assert (square.turn, square.before) == ("left", "H1")
    assert (offset.along_m, offset.offset_m) == pytest.approx((45 * FOOT_M, -12 * FOOT_M))
    assert bearing.bearing_deg == pytest.approx(26 + 10 / 60 - 12.5)
    assert (side.side, side.towards, side.method) == ("left", "H2", "rtk")


def test_a_slope_tape_is_reduced(tmp_path: Path) -> None:
    percent, rise = read(
        tmp_path,
        row(point="A", from_="house NE", distance="50 ft", rise="20 %"),
        row(point="A", from_="house SE", distance="50 ft", rise="30 ft"),
    )
    assert (percent.distance_m or 0) / FOOT_M == pytest.approx(49.03, abs=0.005)
    assert (rise.distance_m or 0) / FOOT_M == pytest.approx(40.0)


@pytest.mark.parametrize(
    ("cells", "parts"),
    [
        ({"distance": "62.4"}, ("distance:", '"62.4", which has no unit', "a length with its unit")),
        ({"distance": "-4 ft"}, ("distance:", "which is negative")),
        ({"distance": "0 ft"}, ("distance:", "above zero")),
        ({"distance": "6200 ft"}, ("distance:", "at most 300 m")),
        ({"distance": "62 ft 14 in"}, ("distance:", "fewer than 12 inches")),
        ({"distance": "62 us-ft"}, ("distance:", "a length with its unit")),
        ({"distance": "50 ft", "rise": "60 ft"}, ("rise:", "less than seven tenths of the tape")),
        ({"distance": "50 ft", "rise": "200 %"}, ("rise:", "at most 100 %")),
        ({"distance": "50 ft", "error": "0 ft"}, ("error:", "above zero")),
        ({"distance": "5 ft", "error": "6 ft"}, ("error:", "as long as the tape")),
        ({"distance": "5 ft", "method": "tapped"}, ("method:", 'did you mean "taped"')),
        ({"distance": "5 ft", "side": "left"}, ("to:", "as the row has side")),
        ({"distance": "5 ft", "to": "house SE"}, ("side:", "left or right")),
        ({"distance": "5 ft", "to": "house SE", "side": "west"}, ("side:", "left or right")),
        ({"distance": "5 ft", "turn": "square"}, ("turn:", "left or right")),
        ({"distance": "5 ft", "turn": "left"}, ("turn:", "without a wall before it", "in the order")),
        ({"bearing": "N 26 10 E"}, ("declination:", '"0" if the bearing is from true north')),
        ({"bearing": "E 26 10 N", "declination": "0"}, ("bearing:", '"E 26 10 N"', '"N 26 10 E"')),
        ({"bearing": "N 96 E", "declination": "0"}, ("bearing:", "a bearing such as")),
        ({"bearing": "N 26 70 E", "declination": "0"}, ("bearing:", "a bearing such as")),
        ({"bearing": "N 26.5 10 E", "declination": "0"}, ("bearing:", "a bearing such as")),
        ({"bearing": "361", "declination": "0"}, ("bearing:", "a bearing such as")),
        ({"bearing": "north", "declination": "0"}, ("bearing:", "a bearing such as")),
        ({"bearing": "26", "declination": "12.5"}, ("declination:", 'such as "12.5 E"')),
        (
            {"bearing": "26", "declination": "0", "bearing_error": "2"},
            ("bearing_error:", "which has no unit"),
        ),
        ({"along": "45 ft", "offset": "12 ft left"}, ("to:", "nothing")),
        ({"along": "45 ft", "to": "house SE", "offset": "12 ft"}, ("offset:", "without a side")),
        ({"along": "45", "to": "house SE", "offset": "12 ft left"}, ("along:", "which has no unit")),
        ({"note": "no number"}, ("no measurement", "a distance, a bearing")),
    ],
)
def test_what_is_wrong_with_a_row_is_named(
    tmp_path: Path, cells: dict[str, str], parts: tuple[str, ...]
) -> None:
    write(tmp_path, ties__csv=HEAD + row(point="A", from_="house NE", **cells))
    found = faults(tmp_path)
    assert found
    assert all(line.startswith("ties.csv:2:") for line in found)
    assert any(all(part in line for part in parts) for line in found), found


@pytest.mark.parametrize(
    ("table", "parts"),
    [
        ("point,from,tape\nA,B,5 ft\n", ("ties.csv:1:", 'the column "tape"', "distance")),
        ("point,from,distance\nA,,5 ft\n", ("ties.csv:2: from:", "the name of a point")),
        ("point,from,distance\nA,a,5 ft\n", ("ties.csv:2:", "different points")),
        ("point,from,distance\nA,B,5 ft,3 ft\n", ("ties.csv:2:", "4 values")),
    ],
)
def test_what_is_wrong_with_the_table_is_named(tmp_path: Path, table: str, parts: tuple[str, ...]) -> None:
    only_fault(write(tmp_path, ties__csv=table), *parts)


def test_a_table_in_capitals_is_read_too(tmp_path: Path) -> None:
    write(tmp_path)
    (tmp_path / "TIES.CSV").write_text("point,from,distance\nA,B,5\n")
    only_fault(tmp_path, "TIES.CSV:2:", "which has no unit")


@pytest.mark.parametrize(
    ("text", "degrees"),
    [
        ("N 26 10 E", 26 + 10 / 60),
        ("S 75 25 E", 180 - 75 - 25 / 60),
        ("S 68°05'35\" W", 180 + 68 + 5 / 60 + 35 / 3600),
        ("n1-42w", 360 - 1 - 42 / 60),
        ("N 26.5 deg E", 26.5),
        ("E", 90.0),
        ("360", 0.0),
        ("140 54 25", 140 + 54 / 60 + 25 / 3600),
    ],
)
def test_bearings(text: str, degrees: float) -> None:
    assert parse_bearing_deg(text) == pytest.approx(degrees)


@pytest.mark.parametrize("text", ["61 E", "E", "", "12.5", "12.5 N"])
def test_no_declinations(text: str) -> None:
    with pytest.raises(Unusable):
        parse_declination_deg(text)


def test_level_length() -> None:
    assert level_m(50.0, "30 %") == pytest.approx(47.89, abs=0.005)


def thing(text: str) -> str:
    """``site.toml`` with one thing more."""
    return SITE_TOML + f"\n[[thing]]\n{text}\n"


@pytest.mark.parametrize(
    ("text", "form"),
    [
        ('id = "t"\nkind = "septic_tank"\npoints = ["A", "B", "C"]', "Polygon"),
        ('id = "t"\nkind = "septic_tank"\npoints = ["A"]', "Point"),
        ('id = "t"\nkind = "building_sewer"\npoints = ["A", "B"]', "LineString"),
        ('id = "t"\nkind = "drive"\npoints = ["A", "B", "C"]\nshape = "line"\nwidth = "12 ft"', "LineString"),
    ],
)
def test_a_thing_is_drawn_as_its_kind_is(tmp_path: Path, text: str, form: str) -> None:
    site = read_site(write(tmp_path, site__toml=thing(text)))
    made = site.feature("t")
    assert made.shape.is_empty
    assert made.shape.geom_type == form
    assert site.field_notes is not None
    assert set(site.field_notes.by_points) == {"t"}


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        ('id = "t"\nkind = "wel"\npoints = ["A"]', ("kind", 'did you mean "well"')),
        ('id = "t"\nkind = "building"\npoints = ["A", "B"]', ("points", "2 points", "three or more")),
        ('id = "t"\nkind = "well"\npoints = ["A", "B"]', ("points", "2 points")),
        ('id = "t"\nkind = "building"\npoints = ["A", "B", "a"]', ("points", "each point once")),
        ('id = "t"\nkind = "building"\npoints = []', ("points",)),
        ('id = "house"\nkind = "well"\npoints = ["A"]', ("id", "a second time")),
        (
            'id = "t"\nkind = "septic_tank"\npoints = ["A"]\nmethod = "rtk"',
            ("method", "follows from ties.csv"),
        ),
        ('id = "t"\nkind = "septic_tank"\npoints = ["A"]\ncasing = "6 in"', ("casing",)),
    ],
)
def test_what_is_wrong_with_a_thing_is_named(tmp_path: Path, text: str, parts: tuple[str, ...]) -> None:
    only_fault(write(tmp_path, site__toml=thing(text)), "site.toml", *parts)
