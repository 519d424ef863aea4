"""Placing by tape from the page: solved as the command line solves it, both mirror places told, the tapes kept as evidence."""

from __future__ import annotations

import json
from math import hypot
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from page_client import DESK, opened, served, wait_for
from playwright.sync_api import expect
from scipy.optimize import least_squares
from shapely import Point, Polygon
from shapely.geometry import mapping
from web_client import Client, client_for, quick_plan

from siteplan.plane.frame import Frame
from siteplan.plane.place import place
from siteplan.read import read_site, write_new_site

FOOT = 0.3048
HERE = Frame(longitude_deg=-112.07, latitude_deg=46.594, height_m=0.0)


def feature(id_: str, kind: str, shape: Any, **facts: Any) -> dict[str, Any]:
    properties = {"kind": kind, "name": id_, "method": "surveyed", **facts}
    geometry = json.loads(json.dumps(mapping(HERE.to_lonlat(shape))))
    return {"type": "Feature", "id": id_, "properties": properties, "geometry": geometry}


def site_of(folder: Path, *features: dict[str, Any]) -> Path:
    """A site that is still being drawn: no well, no parcel."""
    write_new_site(folder, "Begun")
    toml = (folder / "site.toml").read_text().replace('elevation = "6250 ft" ', "# ")
    (folder / "site.toml").write_text(toml)
    (folder / "site.geojson").write_text(json.dumps({"type": "FeatureCollection", "features": features}))
    return folder


def two_marks(folder: Path, a_ft: tuple[float, float], b_ft: tuple[float, float]) -> Client:
    """Two surveyed points on the ground, east and north [ft] about the middle of both, so that it is the middle of the site."""
    a, b = (Point(x * FOOT, y * FOOT) for x, y in (a_ft, b_ft))
    return client_for(site_of(folder, feature("A1", "tree", a), feature("B1", "tree", b)))


def tried(client: Client, *rows: dict[str, str], thing: dict[str, str] | None = None) -> list[dict[str, Any]]:
    answer = client.post(
        "/api/tapes/try", json={"thing": thing or {"kind": "well", "id": "well-1"}, "rows": rows}
    )
    assert answer.status_code == 200, answer.text
    places: list[dict[str, Any]] = answer.json()["places"]
    return places


def ground_ft(at: list[float]) -> tuple[float, float]:
    there = HERE.to_ground(Point(at))
    return there.x / FOOT, there.y / FOOT


@pytest.mark.parametrize(
    ("tapes", "expected"),
    [(("90 ft", "120 ft"), (0.625, 89.9978298349)), (("110 ft", "70 ft"), (85.0, 69.8212002188))],
    ids=["NW", "NE"],
)
def test_two_ties_give_the_published_place_and_its_mirror_image(
    tmp_path: Path, tapes: tuple[str, str], expected: tuple[float, float]
) -> None:
    """HP Museum forum, "Geometry: triangulation for measuring a lot/yard" (July 2018), post 3: base 8, ties 9 and 12, 11 and 7.

    Here in tens of feet, the base from west to east.
    """
    client = two_marks(tmp_path / "s", (-40, 0), (40, 0))
    left, right = tried(
        client, *({"from": f, "distance": d} for f, d in zip(("A1", "B1"), tapes, strict=True))
    )
    assert (left["letter"], right["letter"]) == ("A", "B")
    assert left["where"] == "left of the line from A1 to B1"
    x, y = expected
    assert ground_ft(left["at"]) == pytest.approx((x - 40, y), abs=0.001)
    assert ground_ft(right["at"]) == pytest.approx((x - 40, -y), abs=0.001)
    assert not left["checked"] and left["worst"] is None
    assert len(left["arcs"]) == 2


@pytest.mark.parametrize(
    ("bearings", "expected"),
    [(("253 26 15", "314 33 26"), (836.445, 1450.051)), (("140 54 25", "91 34 08"), (463.846, 2435.613))],
    ids=["LR", "FP"],
)
def test_two_bearings_cross_where_the_worked_example_says(
    tmp_path: Path, bearings: tuple[str, str], expected: tuple[float, float]
) -> None:
    """Mahun, J., Open Access Surveying Library, COGO intersect problem 1, parts b and c (north, east in ft; 0.002 ft)."""
    one, other = (1000.0, 2000.0), (480.951, 1811.082)
    north, east = (one[0] + other[0]) / 2, (one[1] + other[1]) / 2
    client = two_marks(tmp_path / "s", (one[1] - east, one[0] - north), (other[1] - east, other[0] - north))
    rows = [
        {"from": f, "bearing": b, "declination": "0"} for f, b in zip(("A1", "B1"), bearings, strict=True)
    ]
    (found,) = tried(client, *rows)
    x, y = ground_ft(found["at"])
    assert (y + north, x + east) == pytest.approx(expected, abs=0.002)


def test_three_ties_are_fitted_as_another_solver_fits_them(tmp_path: Path) -> None:
    """House 40 by 28 ft, surveyed; the third tape is a foot too long. Reference: scipy's least_squares on corners and point."""
    corners = {"NE": (40.0, 28.0), "SE": (40.0, 0.0), "SW": (0.0, 0.0), "NW": (0.0, 28.0)}
    house = Polygon([(x * FOOT, y * FOOT) for x, y in corners.values()])
    folder = site_of(tmp_path / "s", feature("House", "building", house, method="taped"))
    client = client_for(folder)
    taped = {"NE": hypot(30, 47), "SE": hypot(30, 75), "NW": hypot(70, 47) + 1.0}
    rows = [{"from": f"House {side}", "distance": f"{feet:.4f} ft"} for side, feet in taped.items()]
    (found,) = tried(client, *rows)
    places = np.array([corners[side] for side in taped])
    coordinate, tape = 0.5 / 2.4477468306808, 0.5 / 1.959963984540054  # 95 % in two and in one dimension

    def misfits(values: Any) -> Any:
        moved, point = values[:6].reshape(3, 2), values[6:]
        reach = np.hypot(*(point - moved).T)
        off = np.array([round(each, 4) for each in taped.values()]) - reach
        return np.concatenate((((places - moved) / coordinate).ravel(), off / tape))

    solved = least_squares(misfits, np.concatenate((places.ravel(), (70, 75))), xtol=1e-14, ftol=1e-14)
    middle = HERE.to_ground(Point(found["at"]))
    assert (middle.x / FOOT, middle.y / FOOT) == pytest.approx(tuple(solved.x[6:]), abs=0.01)
    off_ft = -misfits(solved.x)[6:] * -tape
    told = [float(tie["misfit"].removesuffix(" ft")) for tie in found["ties"]]
    assert told == pytest.approx(off_ft.tolist(), abs=0.051)
    worst = int(np.argmax(np.abs(off_ft)))
    assert found["worst"] == worst
    assert found["checked"]


def test_a_flat_crossing_is_named_with_its_angle_and_where_to_tape_from(tmp_path: Path) -> None:
    client = two_marks(tmp_path / "s", (-10, 0), (10, 0))
    for place_ in tried(client, {"from": "A1", "distance": "100 ft"}, {"from": "B1", "distance": "100 ft"}):
        (warning,) = place_["warnings"]
        assert "cross at 11 deg at best" in warning  # 2 asin(10 / 100)
        assert "tape it once more, from the east or west" in warning
        assert place_["toward"] % 180 == pytest.approx(90, abs=1), "long across the tapes"


def test_what_is_taped_from_a_thing_that_is_only_drawn_is_said_to_be_no_better(tmp_path: Path) -> None:
    house = Polygon([(0, 0), (12, 0), (12, 8), (0, 8)])
    folder = site_of(tmp_path / "s", feature("House", "building", house, method="drawn"))
    asked = {
        "thing": {"kind": "well", "id": "well-1"},
        "rows": [{"from": "House NW", "distance": "60 ft"}, {"from": "House SE", "distance": "60 ft"}],
    }
    told = client_for(folder).post("/api/tapes/try", json=asked).json()
    (words,) = told["loose"]
    assert words.startswith("House is known to 15.0 ft only (drawn, not measured)")
    assert float(told["places"][0]["within"].removesuffix(" ft")) > 15


def test_along_a_wall_and_out_of_it_on_either_side(tmp_path: Path) -> None:
    client = two_marks(tmp_path / "s", (-40, 0), (40, 0))
    row = {"from": "A1", "to": "B1", "along": "12 ft", "offset": "9 ft 6 in"}
    left, right = tried(client, row)
    assert ground_ft(left["at"]) == pytest.approx((-28, 9.5), abs=0.001)
    assert ground_ft(right["at"]) == pytest.approx((-28, -9.5), abs=0.001)
    (one,) = tried(client, {**row, "offset": "9 ft 6 in right"})
    assert one["at"] == pytest.approx(right["at"], abs=1e-10)


def test_a_magnetic_bearing_is_turned_by_the_declination(tmp_path: Path) -> None:
    client = two_marks(tmp_path / "s", (-40, 0), (40, 0))
    (found,) = tried(client, {"from": "A1", "distance": "50 ft", "bearing": "N 78 E", "declination": "12 E"})
    assert ground_ft(found["at"]) == pytest.approx((10, 0), abs=0.001)


def test_what_is_wrong_is_said_at_its_row(tmp_path: Path) -> None:
    client = two_marks(tmp_path / "s", (-40, 0), (40, 0))

    def wrong(*rows: dict[str, str], **thing: str) -> dict[str, Any]:
        asked = {"thing": thing or {"kind": "well", "id": "well-1"}, "rows": rows}
        answer = client.post("/api/tapes/try", json=asked)
        assert answer.status_code == 422
        told: dict[str, Any] = answer.json()
        return told

    good = {"from": "A1", "distance": "50 ft"}
    assert 'found "42", which has no unit' in wrong(good, {"from": "B1", "distance": "42"})["rows"]["1"][0]
    assert wrong(good, {"from": "B9", "distance": "42 ft"})["rows"] == {"1": ["choose a corner"]}
    assert (
        "30.0 ft are missing"
        in wrong(good | {"distance": "20 ft"}, {"from": "B1", "distance": "30 ft"})["faults"][0]
    )
    assert wrong(good, kind="parcel", id="p")["faults"] == [
        "choose what is to be placed: a thing that is drawn as a point"
    ]
    assert wrong(good, kind="tree", id="A1\n2")["rows"]["0"], "no hidden line goes into ties.csv"
    assert wrong(*[good] * 13)["faults"] == ["expected 1 to 12 measurements"]


@pytest.mark.parametrize(
    "body",
    [
        {},
        {"thing": "well", "rows": []},
        {"thing": {}, "rows": [{"from": 1}]},
        {"thing": {}, "rows": [], "side": "up"},
    ],
)
def test_what_no_page_sends_is_refused(client: Client, folder: Path, body: dict[str, Any]) -> None:
    for address in ("try", "keep"):
        assert client.post(f"/api/tapes/{address}", json=body).status_code == 400
    assert client.post("/api/tapes/take-out", json={"lines": [1]}).status_code == 400
    assert not (folder / "ties.csv").exists()


def test_the_tape_stays_the_evidence_and_the_plan_knows_its_error(client: Client, folder: Path) -> None:
    """The hydrant, drawn 6 ft off, is taped from the barn: the plan has it where the tapes put it, as taped."""
    placed, frame = place(read_site(folder))
    hydrant, barn = placed.feature("hydrant").shape, placed.feature("barn").shape
    names = {each["name"]: each["at"] for each in client.get("/api/tapes").json()["corners"]}
    rows = [
        {"from": name, "distance": f"{frame.to_ground(Point(names[name])).distance(hydrant) / FOOT:.3f} ft"}
        for name in ("Barn SW", "Barn SE", "Well casing")
    ]
    assert barn.distance(frame.to_ground(Point(names["Barn SW"]))) < 0.01
    kept = client.post("/api/tapes/keep", json={"thing": {"id": "hydrant"}, "rows": rows})
    assert kept.json()["lines"][0].startswith("hydrant,barn SW,")
    asked = client.get("/api/site").json()
    own = next(each for each in asked["site"]["features"] if each["id"] == "hydrant")
    own["properties"]["method"] = "drawn"
    own["geometry"]["coordinates"][1] += 6 * FOOT / 111_200
    saved = client.put("/api/site", json={"site": asked["site"], "revision": asked["revision"]})
    assert saved.status_code == 200
    planned = quick_plan(folder).site.feature("hydrant")
    there = frame.to_lonlat(hydrant)
    assert planned.evidence.method == "taped"
    assert planned.evidence.private_m < 1.0 * FOOT
    site, frame = place(read_site(folder))
    assert frame.to_lonlat(site.feature("hydrant").shape).distance(there) * 111_200 < 0.1 * FOOT
    told = client.get("/api/tapes").json()
    (point,) = told["points"]
    assert point["of"] == "hydrant"
    assert Point(point["at"]).distance(there) * 111_200 < 0.1 * FOOT
    assert float(point["off"].removesuffix(" ft")) == pytest.approx(6.0, abs=0.2), "as it is drawn"
    assert [each["of"] for each in told["tapes"]] == ["hydrant"] * 3
    client.post("/api/tapes/take-out", json=kept.json())
    assert not (folder / "ties.csv").exists()


def test_rows_are_added_below_what_stands_in_the_file(client: Client, folder: Path) -> None:
    """Other columns, other line ends and comments of the crew stay as they are."""
    before = 'point,from,to,along,offset,note\nP1,Barn NW,Barn NE,12 ft,3 ft left,"by Jo, wet"\n'
    (folder / "ties.csv").write_text(before)
    rows = [{"from": "Barn NE", "distance": "42 ft 6 in"}, {"from": "Barn SE", "distance": "50 ft"}]
    asked = {"thing": {"kind": "tree", "id": "tree-1"}, "rows": rows}
    assert client.post("/api/tapes/keep", json=asked).status_code == 422, "two places and no side"
    assert (folder / "ties.csv").read_text() == before
    told = client.post("/api/tapes/keep", json={**asked, "side": "right"})
    after = (folder / "ties.csv").read_text()
    assert after.splitlines()[1] == before.splitlines()[1]
    assert after.splitlines()[0] == "point,from,to,along,offset,note,distance,side"
    assert after.splitlines()[2:] == told.json()["lines"]
    assert "tree-1,barn NE,barn SE,,,,42 ft 6 in,right" in after
    client.post("/api/tapes/take-out", json=told.json())
    assert (folder / "ties.csv").read_text().splitlines()[1:] == before.splitlines()[1:]


TAPED = "async name => (await import('/desk.js')).desk.drawing.things.find(({ feature }) => feature.id === name)?.feature"


def test_with_the_keyboard_two_ties_show_two_places_and_one_is_kept(browser: Any, folder: Path) -> None:
    """Both places are lettered on the map; the side is chosen; undo takes the tapes out of the file with the place."""
    with served(folder) as address, opened(browser, address, viewport=DESK) as page:
        wait_for(page)
        page.locator("#tape summary").first.focus()
        page.keyboard.press("Enter")
        page.get_by_label("What is placed").select_option("new:tree")
        for number, (corner, tape) in enumerate((("Barn NE", "42 ft 6 in"), ("Barn SE", "50 ft"))):
            row = page.locator("#tape-rows fieldset").nth(number)
            row.get_by_label("From", exact=True).select_option(corner)
            row.get_by_label("Tape", exact=True).focus()
            page.keyboard.type(tape)
        page.locator("#tape-two").get_by_text("Two places fit alike").wait_for()
        expect(page.locator(".tape-place")).to_have_text(["A", "B"])
        expect(page.locator("#map path[stroke-dasharray='4 5']")).to_have_count(2)
        assert page.locator("#tape-keep").is_disabled(), "nobody chose a side"
        page.locator("#tape-places input").first.focus()
        page.keyboard.press("ArrowDown")
        expect(page.locator(".tape-place.chosen")).to_have_text("B")
        page.locator("#tape-keep").focus()
        page.keyboard.press("Enter")
        page.get_by_text("Kept: 2 measurements in ties.csv").wait_for()
        ties = (folder / "ties.csv").read_text()
        assert (
            ties
            == "point,from,to,distance,side\ntree-1,barn NE,barn SE,42 ft 6 in,right\ntree-1,barn SE,,50 ft,\n"
        )
        tree = page.evaluate(TAPED, "tree-1")
        assert tree["properties"] == {"kind": "tree", "name": "Tree", "method": "drawn"}
        corners = client_for(folder).get("/api/tapes").json()["corners"]
        barn = next(each for each in corners if each["name"] == "Barn NE")
        assert tree["geometry"]["coordinates"][0] < barn["at"][0], "west of the east wall"
        page.locator("#tape-all summary").click()
        expect(page.locator("#tape-all tbody tr")).to_have_count(2)
        page.get_by_role("button", name="Undo").click()
        expect(page.locator("#tape-all")).to_be_hidden()
        assert not (folder / "ties.csv").exists()
        page.get_by_role("button", name="Redo").click()
        expect(page.locator("#tape-all")).to_be_visible()
        expect(page.locator("#tape-all tbody tr")).to_have_count(2)
        assert (folder / "ties.csv").read_text() == ties

        page.get_by_role("button", name="Pick corners on the map").click()
        names = ("House stake SW", "House stake SE", "Barn SW")
        at = {each["name"]: HERE.to_ground(Point(each["at"])) for each in corners if each["name"] in names}
        there = Point((at[names[1]].x + at[names[2]].x) / 2 + 10, (at[names[1]].y + at[names[2]].y) / 2)
        tapes = [at[name].distance(there) + (1.0 if name == "Barn SW" else 0.0) for name in names]
        for corner in names:
            page.get_by_role("button", name=corner, exact=True).click()
        for number, tape in enumerate(tapes):
            page.locator("#tape-rows fieldset").nth(number).get_by_label("Tape", exact=True).fill(
                f"{tape:.2f} m"
            )
        page.locator(".tape-table .least").wait_for()
        assert "fits least" in page.locator(".tape-table .least").inner_text()


def test_a_file_that_another_hand_changes_meanwhile_is_not_called_written(
    client: Client, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("siteplan.web.site_store.SiteStore.save_file", lambda *_: None)
    answer = client.post("/api/tapes/take-out", json={"lines": []})
    assert answer.status_code == 409
    assert "ties.csv was changed by another window" in answer.json()["faults"][0]
