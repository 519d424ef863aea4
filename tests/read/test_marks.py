"""Marks and test holes as files: what is taken, and what is named as wrong, by file and line."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from pyproj import Transformer
from small_site import SITE_TOML, collection, faults, feature, good, only_fault, write

from siteplan.read import read_site
from siteplan.site.marks import COLOURS, carried_under, potholes
from siteplan.site.site import Site

POWER = [[-111.9999, 46.0006], [-111.9991, 46.0006]]
PAINT = [[-111.9998, 46.00061], [-111.9992, 46.00061]]
ON_IT = [-111.9995, 46.00061]


def power(**facts: Any) -> dict[str, Any]:
    stated = {"carries": "power", "method": "owner_says", **facts}
    return feature("power", "buried_line", "LineString", POWER, **stated)


def mark(own: str = "m1", coordinates: Any = None, **facts: Any) -> dict[str, Any]:
    stated = {"colour": "red", "date": "2026-11-20", "ticket": "26-1101", **facts}
    return feature(own, "mark", "LineString", coordinates or PAINT, **stated)


def hole(coordinates: Any = None, **facts: Any) -> dict[str, Any]:
    stated = {"of": "power", "depth": "31 in", "method": "taped", **facts}
    return feature(
        "H1", "test_hole", "Point", coordinates or ON_IT, **{k: v for k, v in stated.items() if v != ""}
    )


def folder(path: Path, *marks: dict[str, Any], drawn: dict[str, Any] | None = None) -> Path:
    texts = {
        "site__geojson": collection([*good(), drawn or power()]),
        "marks__geojson": collection(list(marks)),
    }
    return write(path, **texts)


def site(path: Path, *marks: dict[str, Any]) -> Site:
    return read_site(folder(path, *marks))


def test_marks_and_holes_are_read(tmp_path: Path) -> None:
    read = site(
        tmp_path, mark(of="power", width="4 in"), hole(size="2 in", offset="1 ft", offset_side="North")
    )
    paint = read.feature("m1")
    assert (paint.evidence.method, paint.evidence.radius_m) == ("marked", pytest.approx(0.5 * 0.3048))
    (seen,) = potholes(read)
    assert (seen.of, seen.found, seen.offset_side) == ("power", True, "north")
    assert (seen.depth_m, seen.size_m) == (pytest.approx(31 * 0.0254), pytest.approx(2 * 0.0254))


def test_a_table_in_survey_coordinates_says_the_same(tmp_path: Path) -> None:
    # EPSG:2256, Montana in international feet: by pyproj, an outside library, and back by the reader
    feet = Transformer.from_crs(4326, 2256, always_xy=True)
    (a, b), (c, d), (e, f) = (feet.transform(*place) for place in (*PAINT, ON_IT))
    table = f"""id,kind,x,y,of,colour,date,depth,method
m1,mark,{a},{b},power,RED,2026-11-20,,
m1,,{c},{d},,,,,
H1,test_hole,{e},{f},m1,,2026-11-24,31 in,taped
"""
    in_feet = SITE_TOML + '\n[[file]]\npath = "marks.csv"\nepsg = 2256\n'
    (tmp_path / "feet").mkdir()
    (tmp_path / "degrees").mkdir()
    write(
        tmp_path / "feet", site__toml=in_feet, site__geojson=collection([*good(), power()]), marks__csv=table
    )
    by_table, by_json = read_site(tmp_path / "feet"), site(tmp_path / "degrees", mark(of="power"))
    (seen,) = potholes(by_table)
    assert seen.of == "power", "a hole on a mark is on the line that the mark is of"
    assert by_table.feature("m1").shape.equals_exact(by_json.feature("m1").shape, 1e-9)
    assert (seen.x, seen.y) == pytest.approx(ON_IT, abs=1e-9)


def test_colours_of_the_uniform_code(tmp_path: Path) -> None:
    # APWA uniform colour code: red electric, yellow gas, oil, steam, orange communications, blue potable water, purple reclaimed
    # water, green sewer and drain; pink survey and white proposed excavation mark no line.
    lines = [
        mark(colour, [[x, 46.0001], [x, 46.0002]], colour=colour, method="rtk") for colour, x in places()
    ]
    read = site(tmp_path, *lines)
    assert {colour: carried_under(read.feature(colour)) for colour in COLOURS} == {
        "red": "electric",
        "yellow": "gas",
        "orange": "communications",
        "blue": "water",
        "purple": "reclaimed_water",
        "green": "building_sewer",
        "pink": "",
        "white": "",
    }


def places() -> list[tuple[str, float]]:
    return [(colour, -111.9999 + 0.00005 * number) for number, colour in enumerate(COLOURS)]


@pytest.mark.parametrize(
    ("wrong", "parts"),
    [
        (mark(colour="read", of="power"), ("the colour", "uniform colour code", 'did you mean "red"')),
        (mark(colour="", of="power"), ("no colour",)),
        (mark(of="power", depth="30 in"), ("m1, depth", "a depth of paint", "test_hole")),
        (mark(of="power", width="4"), ("m1, width", "no unit")),
        (mark(of="power", carries="gas"), ('"gas" under red paint', "electric")),
        (mark(colour="yellow", of="power"), ("yellow paint on", "which carries electric", "gas")),
        (mark(colour="white", of="power"), ("white paint, which marks a proposed excavation",)),
        (mark(of="house"), ('"house", which is a building', "buried_line")),
        (mark(of="pover"), ('"pover", which is not there', 'did you mean "power"')),
        (mark(), ("red paint along", '"power"', 'say of = "power", or of = "new"')),
        (feature("m1", "mark", "Point", PAINT[0], colour="red"), ("a paint mark drawn as a point", "a line")),
    ],
)
def test_a_wrong_mark_is_named(tmp_path: Path, wrong: dict[str, Any], parts: tuple[str, ...]) -> None:
    only_fault(folder(tmp_path, wrong), "marks.geojson:2: m1", *parts)


@pytest.mark.parametrize(
    ("wrong", "parts"),
    [
        (hole(of="gas"), ('H1, of: found "gas", which is not there', "m1", "power")),
        (hole(of="house"), ('"house", which is a building',)),
        (hole(of=""), ("H1, of: found no of",)),
        (hole(depth="31"), ("H1, depth", "no unit")),
        (hole(depth=""), ("neither found nor a depth",)),
        (hole(depth="", found=True), ("without a depth",)),
        (hole(found=False), ("the depth of a line that was not found", "dug")),
        (hole(offset="1 ft"), ("an offset without a side", "north")),
        (hole(offset="1 ft", offset_side="up"), ('"up"', "north")),
        (hole([-111.9995, 46.00143]), ("a test hole 91", "another line")),  # 300 ft north of the paint
        (hole(date="2026-11-19"), ("2026-11-19, before 2026-11-20", "after the locate")),
        (hole(date="20.11.2026"), ("H1, date", "a date such as")),
        (
            feature("H1", "test_hole", "LineString", PAINT, of="power", depth="1 ft"),
            ("test hole drawn as a line",),
        ),
    ],
)
def test_a_wrong_hole_is_named(tmp_path: Path, wrong: dict[str, Any], parts: tuple[str, ...]) -> None:
    only_fault(folder(tmp_path, mark(of="power"), wrong), "marks.geojson:3: H1", *parts)


def test_one_id_twice_and_one_line_marked_twice(tmp_path: Path) -> None:
    only_fault(folder(tmp_path, mark(of="power"), mark(of="power")), "marks.geojson:3", '"m1" a second time')
    only_fault(
        folder(tmp_path, mark(of="power"), mark("m2", of="power")),
        "marks.geojson:3: m2, of",
        'second mark of "power"',
    )


def test_paint_in_pieces_and_a_drain_drawn_as_a_point(tmp_path: Path) -> None:
    pieces = mark(of="power")
    pieces["geometry"] = {"type": "MultiLineString", "coordinates": [PAINT, POWER]}
    only_fault(folder(tmp_path, pieces), "marks.geojson:2: m1", "paint in pieces", "one line")
    drain = feature("drain", "drain", "Point", ON_IT)
    only_fault(
        folder(tmp_path, hole(of="drain"), drawn=drain), "marks.geojson:2: H1, of", "not drawn as a line"
    )
    green = mark(colour="green", of="drain")
    only_fault(folder(tmp_path, green, drawn=drain), "marks.geojson:2: m1, of", "not drawn as a line")


def test_a_line_that_was_looked_for_and_not_found_is_not_marked(tmp_path: Path) -> None:
    write(
        tmp_path,
        site__toml=SITE_TOML + '\n[looked]\nbuilding_sewer = "none, walked with the owner"\n',
        marks__geojson=collection([mark(colour="green")]),
    )
    only_fault(tmp_path, "site.toml", "building_sewer as looked for and not found", "m1")


def test_one_row_of_a_table_is_no_line(tmp_path: Path) -> None:
    table = f"id,kind,longitude,latitude,colour\nm1,mark,{PAINT[0][0]},{PAINT[0][1]},red\n"
    only_fault(write(tmp_path, marks__csv=table), "marks.csv:2: m1", "a line")


def test_a_hole_on_paint_of_no_line(tmp_path: Path) -> None:
    white = mark("w1", colour="white")
    only_fault(folder(tmp_path, white, hole(of="w1")), "marks.geojson:3: H1, of", '"w1", which marks no line')


def test_another_line_beside_a_drawn_one_is_taken_at_its_word(tmp_path: Path) -> None:
    assert faults(folder(tmp_path, mark(of="new"))) == []
    assert faults(folder(tmp_path, mark(colour="yellow"))) == [], "gas is not the drawn power line"
    far = [[-111.9998, 46.0001], [-111.9992, 46.0001]]
    assert faults(folder(tmp_path, mark(coordinates=far))) == [], "200 ft from the drawn line"
