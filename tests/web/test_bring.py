"""Files that are dropped on the page: each sort that the command line reads ends up in the plan, nothing else gets in."""

from __future__ import annotations

import base64
import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import httpx
import pytest
from page_client import DESK, opened, served, wait_for
from playwright.sync_api import expect
from shapely import Point, Polygon
from web_client import Client, client_for, quick_plan

from siteplan.read import read_site, write_new_site
from siteplan.read.gis_file import gdal
from siteplan.web import bring

AT = (-112.0716, 46.5939)
GPX = """<gpx xmlns="http://www.topografix.com/GPX/1/1" version="1.1">
<wpt lon="-112.0716" lat="46.5939"><name>{name}</name>{kind}</wpt>
<trk><trkseg><trkpt lon="-112.0716" lat="46.5939"/><trkpt lon="-112.0715" lat="46.5939"/>
<trkpt lon="-112.0715" lat="46.5940"/></trkseg></trk>
</gpx>"""
LEVELS = "longitude,latitude,elevation\n-112.0716,46.5940,1360 m\n-112.0702,46.5945,1361 m\n-112.0712,46.5950,1360.5 m\n"


def table(name: str) -> Any:
    return gdal()[0].GeoDataFrame(
        {"id": [name], "kind": ["tree"], "name": [name]}, geometry=[Point(AT)], crs=4326
    )


def written(folder: Path, name: str) -> list[tuple[str, bytes]]:
    """One tree as a file of every sort."""
    folder.mkdir()
    own, ending = name.split(".")
    if ending in ("gpkg", "fgb", "shp"):
        table(own).to_file(folder / name)
    else:
        texts = {
            "geojson": json.dumps(json.loads(table(own).to_json())),
            "csv": f"id,kind,longitude,latitude\n{own},tree,{AT[0]},{AT[1]}\n",
            "gpx": GPX.format(name=own, kind="<type>tree</type>").partition("<trk>")[0] + "</gpx>",
            "kml": f'<kml xmlns="http://www.opengis.net/kml/2.2"><Placemark id="{own}"><name>{own}</name><ExtendedData>'
            f'<Data name="kind"><value>tree</value></Data></ExtendedData><Point><coordinates>{AT[0]},{AT[1]}'
            "</coordinates></Point></Placemark></kml>",
        }
        (folder / name).write_text(texts[ending])
    return [(path.name, path.read_bytes()) for path in sorted(folder.iterdir())]


def ask(client: Client, what: str, *files: tuple[str, bytes | str], **more: Any) -> httpx.Response:
    sent = [
        {
            "name": name,
            "content": base64.b64encode(content.encode() if isinstance(content, str) else content).decode(),
        }
        for name, content in files
    ]
    return client.post(f"/api/bring/{what}", json={"files": sent, **more})


def files_of(folder: Path) -> Mapping[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()}


SORTS = ("a.geojson", "b.csv", "c.gpx", "d.kml", "e.gpkg", "f.fgb", "g.shp")


def test_a_file_of_every_sort_is_in_the_plan(client: Client, folder: Path, tmp_path: Path) -> None:
    before = {each.id for each in read_site(folder).features}
    for name in SORTS:
        files = written(tmp_path / name, name)
        looked = ask(client, "look", *files)
        assert looked.json()["words"] == "1 × tree", looked.text
        kept = ask(client, "keep", *files)
        assert kept.json() == {"name": name}, kept.text
    told = client.get("/api/bring").json()
    assert [each["name"] for each in told["files"]] == [*SORTS, "levels.csv"]
    plan = quick_plan(folder)
    ours = {each.id for each in plan.site.features} - before
    assert ours == {"a", "b", "c-1", "d", "e", "f", "g"}
    assert {each["id"] for each in told["things"]} == ours
    assert client.post("/api/bring/take-out", json={"name": "g.shp"}).status_code == 200
    assert not [path for path in folder.iterdir() if path.stem == "g"], "its parts go with it"


def test_things_without_a_kind_are_asked_for_and_become_features_of_the_drawing(
    client: Client, folder: Path
) -> None:
    """A track said to be a yard goes round it; columns that the kind does not state are left out and named."""
    before = files_of(folder)
    bare = ("My walk.gpx", GPX.format(name="Spring", kind=""))
    looked = ask(client, "look", bare).json()
    assert [(each["form"], each["count"], each["forms"]) for each in looked["bare"]] == [
        ("point", 1, ["point"]),
        ("line", 1, ["line", "area"]),
    ]
    assert "found no kind" in ask(client, "take", bare).json()["faults"][0]
    taken = ask(client, "take", bare, kinds={"point": "tree", "line": "livestock_yard"}, method="phone")
    spring, yard = taken.json()["features"]
    assert spring["properties"] == {"kind": "tree", "name": "Spring", "method": "phone"}
    assert spring["geometry"] == {"type": "Point", "coordinates": list(AT)}
    assert (yard["properties"]["kind"], yard["geometry"]["type"]) == ("livestock_yard", "Polygon")
    areas = gdal()[0].GeoDataFrame(
        {"OWNER": ["x"], "SHAPE_AREA": [1.5], "note": ["old"]},
        geometry=[Polygon([(-112.0716, 46.5939), (-112.0715, 46.5939), (-112.0715, 46.594)])],
        crs=4326,
    )
    taken = ask(client, "take", ("county.geojson", areas.to_json()), kinds={"area": "woods"})
    assert taken.json()["left_out"] == ["OWNER", "SHAPE_AREA"]
    (woods,) = taken.json()["features"]
    assert woods["properties"] == {"kind": "woods", "note": "old"}
    asked = client.get("/api/site").json()
    asked["site"]["features"] += [spring, yard, woods]
    saved = client.put("/api/site", json={"site": asked["site"], "revision": asked["revision"]})
    assert saved.status_code == 200, saved.text
    assert {"my-walk-1", "my-walk-2", "county-1"} <= {each.id for each in quick_plan(folder).site.features}
    assert files_of(folder).keys() == before.keys()


def test_survey_points_want_their_code_and_may_be_kept_with_it(client: Client, folder: Path) -> None:
    """IOGP GIGS test 5103 part 2: Utah North in international feet, here with a code that is far from this site."""
    points = ("shots from crew.csv", "id,kind,x,y\nq1,tree,1360000,860000\n")
    assert "unnamed coordinate system" in ask(client, "look", points).json()["faults"][0]
    far = ask(client, "take", ("gigs.csv", "id,kind,x,y\nq1,tree,2054436.57,3527302.73\n"), epsg=2921).json()
    assert far["features"][0]["geometry"]["coordinates"] == pytest.approx([-110, 41], abs=5e-5)
    east, north = gdal()[0].GeoSeries([Point(AT)], crs=4326).to_crs(2256)[0].coords[0]
    here = ("shots from crew.csv", f"id,kind,x,y\nq1,tree,{east},{north}\n")
    before = (folder / "site.toml").read_text()
    kept = ask(client, "keep", here, epsg=2256, unit="ft", method="surveyed")
    assert kept.json() == {"name": "shots-from-crew.csv"}, kept.text
    tree = read_site(folder).feature("q1")
    assert (tree.shape.x, tree.shape.y) == pytest.approx(AT, abs=1e-8)
    assert tree.evidence.method == "surveyed"
    assert 'path = "shots-from-crew.csv"\nepsg = 2256' in (folder / "site.toml").read_text()
    client.post("/api/bring/take-out", json={"name": "shots-from-crew.csv"})
    assert (folder / "site.toml").read_text() == before


def test_a_table_with_other_names_of_its_columns(client: Client, folder: Path) -> None:
    """As a total station writes it: northing first, names of its own, a height for each point."""
    east, north = gdal()[0].GeoSeries([Point(AT)], crs=4326).to_crs(2256)[0].coords[0]
    points = ("job 12.csv", f"Pt,Northing,Easting,Elev\n101,{north},{east},4462.1\n")
    assert "expected columns x and y" in ask(client, "look", points).json()["faults"][0]
    columns = {"id": "Pt", "x": "Easting", "y": "Northing"}
    said = {"epsg": 2256, "columns": columns, "kinds": {"point": "tree"}}
    taken = ask(client, "take", points, **said).json()
    assert taken["features"][0]["geometry"]["coordinates"] == pytest.approx(AT, abs=1e-8)
    assert taken["left_out"] == ["Elev"]
    heights = ask(client, "take", points, **said | {"columns": {**columns, "elevation": "Elev"}}).json()
    assert "no unit" in heights["faults"][0]
    table_ = ("stakes.csv", f"Pt,what,Northing,Easting\nq7,tree,{north},{east}\n")
    kept = ask(client, "keep", table_, epsg=2256, columns={**columns, "kind": "what"})
    assert kept.json() == {"name": "stakes.csv"}, kept.text
    assert read_site(folder).feature("q7").shape.x == pytest.approx(AT[0], abs=1e-8)


def test_levels_and_ties_are_known_by_their_columns_and_take_the_place_of_the_file(
    client: Client, folder: Path
) -> None:
    before = (folder / "levels.csv").read_bytes()
    looked = ask(client, "look", ("levels (1).csv", LEVELS)).json()
    assert (looked["sort"], looked["words"], looked["there"]) == ("levels", "3 ground heights", True)
    assert ask(client, "keep", ("levels (1).csv", LEVELS)).status_code == 409
    assert (folder / "levels.csv").read_bytes() == before
    assert ask(client, "keep", ("levels (1).csv", LEVELS), instead=True).json() == {"name": "levels.csv"}
    assert len(quick_plan(folder).site.levels) == 3
    assert before in [path.read_bytes() for path in (folder / ".history").iterdir() if path.is_file()]
    numbered = ("levels.csv", before)
    assert before.startswith(b"id,")
    assert ask(client, "look", numbered).json()["sort"] == "levels"
    assert ask(client, "look", ("heights.csv", before)).json()["sort"] == "things"
    ties = ("book.csv", "point,from,distance\nhydrant,Barn SW,60 ft\n")
    assert ask(client, "look", ties).json()["words"] == "1 measurement"
    assert ask(client, "keep", ties).json() == {"name": "ties.csv"}
    wrong = ask(client, "keep", ("book.csv", "point,from,distance\nhydrant,Barn SW,60\n"), instead=True)
    assert wrong.json()["faults"][0].startswith('ties.csv:2: distance: found "60"')


def test_a_file_with_a_fault_is_refused_whole_by_file_and_line(client: Client, folder: Path) -> None:
    before = files_of(folder)
    two = "id,kind,longitude,latitude,trunk_diameter\nq1,tree,-112.0716,46.5939,14\nwell,tree,-112.0716,46.5939,14 in\n"
    faults = ask(client, "keep", ("trees.csv", two)).json()["faults"]
    assert faults[0].startswith('trees.csv:2: q1, trunk_diameter: found "14"')
    twice = ask(client, "keep", ("trees.csv", two.replace(",14\n", ",14 in\n"))).json()["faults"]
    assert any('the id "well" a second time' in line for line in twice)
    assert files_of(folder) == before


@pytest.mark.parametrize(
    ("name", "content", "says"),
    [
        (
            "../../x.geojson",
            '{"type": "FeatureCollection", "features": []}',
            "x.geojson: found nothing in it",
        ),
        (
            "a.geojson",
            "<OGRVRTDataSource><SrcDataSource>/etc/passwd</SrcDataSource></OGRVRTDataSource>",
            "no JSON",
        ),
        (
            "a.gpx",
            '<!DOCTYPE g [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;">]><gpx>&b;</gpx>',
            "a document type or an entity",
        ),
        (
            "a.kml",
            "<kml><NetworkLink><Link><href>http://127.0.0.1/</href></Link></NetworkLink></kml>",
            "a network link",
        ),
        ("a.gpkg", b"SQLite format 3\0" + b"x" * 200, "something else under that name"),
        ("a.gpkg", b"<OGRVRTDataSource/>", "something else under that name"),
        ("a.shp", b"\0\0\x27\x0a" + b"\0" * 100, "a file that cannot be read"),
        ("bomb.kmz", b"PK\3\4", "unzip it and keep the .kml inside"),
        ("bomb.zip", b"PK\3\4", "unzip it here"),
        ("site.toml", "[site]", "a file that is not read"),
        ("<script>alert(1)</script>", "x", "a file that is not read"),
        pytest.param("a.geojson", "[" * 100_000, "lists in lists without end", id="lists in lists"),
        ("a.csv", b"\xff\xfe", "expected text in UTF-8"),
    ],
)
def test_what_is_no_file_of_ours_is_refused(
    client: Client, folder: Path, name: str, content: bytes | str, says: str
) -> None:
    before = files_of(folder)
    for what in ("look", "take", "keep"):
        answer = ask(client, what, (name, content))
        assert answer.status_code == 422, answer.text
        assert says in answer.json()["faults"][0]
        assert "<script>" not in answer.text
    assert files_of(folder) == before
    assert not list(folder.parent.glob("x*"))


@pytest.mark.parametrize(
    "name",
    [
        "../../evil.csv",
        "..\\..\\evil.csv",
        "/etc/evil.csv",
        "evil\0.csv",
        "CON.csv",
        ".hidden.csv",
        "<img src=x>.csv",
        "asbuilt.csv",
    ],
)
def test_the_name_of_a_kept_file_is_made_here(client: Client, folder: Path, name: str) -> None:
    before = set(files_of(folder))
    kept = ask(client, "keep", (name, "id,kind,longitude,latitude\nq1,tree,-112.0716,46.5939\n"))
    (new,) = set(files_of(folder)) - before
    assert kept.json() == {"name": new}
    assert new.replace(".csv", "").replace("-", "").isalnum()
    assert not list(folder.parent.glob("*evil*"))


def test_names_that_mean_something_else_are_not_taken(client: Client, folder: Path) -> None:
    before = files_of(folder)
    one = json.dumps(json.loads(table("q1").to_json()))
    other = json.dumps(json.loads(table("q2").to_json()))
    assert ask(client, "keep", ("site.geojson", one)).json() == {"name": "site-2.geojson"}
    assert ask(client, "keep", ("asbuilt.geojson", other)).json() == {"name": "asbuilt-2.geojson"}
    assert all(files_of(folder)[name] == content for name, content in before.items())
    for name in ("site.geojson", "../site-2.geojson", "site.toml", ".history", "", None, 3):
        assert client.post("/api/bring/take-out", json={"name": name}).status_code == 404
    assert all(name in files_of(folder) for name in before)


def test_giant_bodies_and_bad_bodies_are_refused(client: Client, folder: Path) -> None:
    def claims() -> Any:
        yield b'{"files": [{"name": "a.csv", "content": "'
        for _ in range(200):
            yield b"A" * 1_000_000

    sent = b"".join(claims())
    assert len(sent) > 200_000_000
    answer = client.post("/api/bring/keep", content=sent, headers={"content-type": "application/json"})
    assert answer.status_code == 413
    for body in (
        {},
        {"files": []},
        {"files": [{"name": "a.csv"}]},
        {"files": [{"name": "a.csv", "content": "not base64!"}]},
        {"files": [{"name": "a.csv", "content": ""}] * 6},
        {"files": [{"name": "a.csv", "content": ""}], "kinds": {"point": "no such kind"}},
        {"files": [{"name": "a.csv", "content": ""}], "epsg": True},
    ):
        assert client.post("/api/bring/look", json=body).status_code == 400
    mixed = ask(client, "look", ("a.csv", "x"), ("b.csv", "y"))
    assert "2 files" in mixed.json()["faults"][0]


def test_a_site_that_is_still_being_drawn_takes_files_without_faults(tmp_path: Path) -> None:
    folder = tmp_path / "new"
    write_new_site(folder, "New")
    (folder / "site.geojson").write_text('{"type": "FeatureCollection", "features": []}')
    client = client_for(folder)
    assert ask(client, "keep", *written(tmp_path / "f", "q.gpkg")).json() == {"name": "q.gpkg"}
    told = client.get("/api/bring").json()
    assert [each["id"] for each in told["things"]] == ["q"]
    again = ask(client, "keep", *written(tmp_path / "g", "q.gpkg"))
    assert 'the id "q" a second time' in again.json()["faults"][0]


DROP = """async ([name, content, size]) => {
    const held = new DataTransfer();
    const bytes = size ? new Uint8Array(size) : content;
    held.items.add(new File([bytes], name));
    document.getElementById("map").dispatchEvent(new DragEvent("drop", { bubbles: true, cancelable: true, dataTransfer: held }));
}"""


SAVED = """async () => {
    const { desk } = await import("/desk.js");
    while (desk.follower.unsaved) await new Promise(requestAnimationFrame);
}"""


def test_drops_on_the_page(browser: Any, folder: Path) -> None:
    """A bare file is asked about and undone in one step; a file with kinds is kept and taken out; a giant is not even sent."""
    with served(folder) as address, opened(browser, address, viewport=DESK) as page:
        wait_for(page)
        sent: list[str] = []
        page.on("request", lambda request: sent.append(request.url) if "/api/bring/" in request.url else None)
        page.evaluate(DROP, ["big.gpkg", "", bring.MOST_BYTES + 1])
        page.locator("#bring-faults").get_by_text("20.0 MB").wait_for()
        assert sent == []

        before = json.loads((folder / "site.geojson").read_text())
        page.evaluate(
            DROP, ["<img src=x onerror=alert(1)>.gpx", GPX.format(name="&lt;b&gt;Spring", kind=""), 0]
        )
        page.get_by_role("heading", name="2 things without a kind").wait_for()
        assert page.locator("#panel img").count() == 0, "a name is never markup"
        page.get_by_role("button", name="Take into the drawing").click()
        page.locator("#bring-faults").get_by_text("Say what they are first").wait_for()
        page.get_by_label("1 point in this file: what is it?").select_option("tree")
        page.get_by_label("1 line in this file: what is it?").select_option("livestock_yard")
        page.get_by_role("button", name="Take into the drawing").click()
        page.get_by_text("Undo takes them out again").wait_for()
        page.evaluate(SAVED)
        drawn = json.loads((folder / "site.geojson").read_text())["features"]
        assert [each["properties"]["name"] for each in drawn[-2:]] == ["<b>Spring", "Livestock yard"]
        page.get_by_role("button", name="Undo").click()
        page.evaluate(SAVED)
        assert json.loads((folder / "site.geojson").read_text()) == before

        page.evaluate(DROP, ["Trees.csv", f"id,kind,longitude,latitude\nelm,tree,{AT[0]},{AT[1]}\n", 0])
        page.get_by_role("button", name="Keep the file beside the drawing").click()
        page.locator("#bring-said").get_by_text("Kept as trees.csv").wait_for()
        assert (folder / "trees.csv").is_file()
        page.locator("#bring-beside summary").click()
        page.get_by_role("button", name="Take out trees.csv").click()
        expect(page.get_by_role("button", name="Take out trees.csv")).to_have_count(0)
        assert not (folder / "trees.csv").exists()

        page.evaluate(DROP, ["bad.csv", "id,kind,longitude,latitude\nelm,tree,-112.0716,\n", 0])
        page.locator("#bring-faults").get_by_text("bad.csv:2").wait_for()
