"""The files of the record against the open standards, and read back by GDAL: nothing is lost on the way.

GPX 1.1: the order of elements in the schema of topografix.com/GPX/1/1. KML 2.2: OGC 07-147r2, the schema's order of a
Placemark, and longitude before latitude. GeoPackage: OGC 12-128, requirements 1, 2 and 5. GeoJSON: RFC 7946, in tests/document.
"""

from __future__ import annotations

import json
import os
import sqlite3
import subprocess
import sys
from collections import Counter
from pathlib import Path
from typing import Any
from xml.etree.ElementTree import Element, fromstring

import pytest
from shapely import get_coordinates, hausdorff_distance
from shapely.geometry import shape

from siteplan.document.asbuilt import record_geojson
from siteplan.document.geopackage import built_gpkg
from siteplan.document.gpx import GPX, built_gpx
from siteplan.document.kml import KML, built_kml
from siteplan.document.record_model import Record
from siteplan.read.tracks import read_gpx, read_kml
from siteplan.read.words import FaultList
from tests.measure.test_record import BOULDER, row
from tests.record_scene import record

ROWS = (
    BOULDER
    + row("power", "0+50", "1 ft right", "30 in", what='splice "A" & <B>')
    + row("barn", "0+40", "", "56 in", reach="A")
)
DEGREES = 1e-7

READ_BACK = """
import json, sys
import geopandas, pyogrio
from shapely.geometry import mapping
found = {}
for path in sys.argv[1:]:
    tables = {}
    for name, kind in pyogrio.list_layers(path):
        table = geopandas.read_file(path, layer=name, engine="pyogrio")
        assert table.crs.to_epsg() == 4326, table.crs
        rows = json.loads(table.drop(columns="geometry").to_json(orient="records", date_format="iso"))
        tables[name] = [[row, None if shape is None else mapping(shape)] for row, shape in zip(rows, table.geometry)]
    found[path.rsplit("/", 1)[1]] = tables
print(json.dumps(found))
"""


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Record:
    return record(tmp_path_factory.mktemp("site"), ROWS)


@pytest.fixture(scope="module")
def read_back(built: Record, tmp_path_factory: pytest.TempPathFactory) -> dict[str, dict[str, list[Any]]]:
    """Every file through GDAL with all of its drivers, which siteplan itself switches off: in a process of its own."""
    folder = tmp_path_factory.mktemp("files")
    (folder / "asbuilt.geojson").write_text(record_geojson(built), encoding="utf-8")
    (folder / "as-built.gpx").write_text(built_gpx(built), encoding="utf-8")
    (folder / "as-built.kml").write_text(built_kml(built), encoding="utf-8")
    (folder / "as-built.gpkg").write_bytes(built_gpkg(built))
    done = subprocess.run(
        [sys.executable, "-c", READ_BACK, *(str(path) for path in sorted(folder.iterdir()))],
        capture_output=True, text=True, check=False,
        env={name: value for name, value in os.environ.items() if name != "OGR_SKIP"},
    )  # fmt: skip
    assert done.returncode == 0, done.stderr[-2000:]
    found: dict[str, dict[str, list[Any]]] = json.loads(done.stdout)
    return found


def written(built: Record, *themes: str) -> list[dict[str, Any]]:
    features = json.loads(record_geojson(built))["features"]
    return [each for each in features if not themes or each["properties"]["theme"] in themes]


def assert_same_places(ours: Any, theirs: Any) -> None:
    a, b = shape(ours), shape(theirs)
    assert len(get_coordinates(a)) == len(get_coordinates(b))
    assert hausdorff_distance(a, b) < DEGREES


def test_geojson_through_gdal(built: Record, read_back: dict[str, dict[str, list[Any]]]) -> None:
    [rows] = read_back["asbuilt.geojson"].values()
    ours = written(built)
    assert len(rows) == len(ours)
    for (properties, place), each in zip(rows, ours, strict=True):
        assert_same_places(each["geometry"], place)
        for name in ("theme", "line", "what", "name", "cover_m", "off_plan_m", "error_95_m", "crew", "note"):
            wanted = each["properties"].get(name)
            assert properties.get(name) == (pytest.approx(wanted) if isinstance(wanted, float) else wanted)


def test_geopackage_through_gdal(built: Record, read_back: dict[str, dict[str, list[Any]]]) -> None:
    tables = read_back["as-built.gpkg"]
    assert list(tables) == ["lines", "stretches", "points", "corners"]
    for theme, table in (
        ("line", "lines"),
        ("stretch", "stretches"),
        ("point", "points"),
        ("corner", "corners"),
    ):
        ours = written(built, theme)
        assert [row["id"] for row, _ in tables[table]] == [each["id"] for each in ours]
        for (properties, place), each in zip(tables[table], ours, strict=True):
            assert_same_places(each["geometry"], place)
            for name, value in each["properties"].items():
                if name == "theme" or value is None:
                    continue
                text = json.dumps(value, ensure_ascii=False) if isinstance(value, list | dict) else value
                got = properties[name][:10] if name == "date" else properties[name]
                assert got == (pytest.approx(text) if isinstance(text, float) else text), name


def test_gpx_through_gdal(built: Record, read_back: dict[str, dict[str, list[Any]]]) -> None:
    tables = read_back["as-built.gpx"]
    points = [each for each in written(built, "point") if each["id"].startswith("shot-")]
    assert len(tables["waypoints"]) == len(points) == 8
    for (properties, place), each in zip(tables["waypoints"], points, strict=True):
        assert_same_places(each["geometry"], place)
        assert properties["desc"]
    assert 'power line: splice "A" & <B> (Main 0+50.0)' in [row["name"] for row, _ in tables["waypoints"]]
    stretches = Counter(each["properties"]["line"] for each in written(built, "stretch"))
    assert [len(place["coordinates"]) for _, place in tables["tracks"]] == list(stretches.values())


def test_kml_through_gdal(built: Record, read_back: dict[str, dict[str, list[Any]]]) -> None:
    tables = read_back["as-built.kml"]
    assert list(tables) == ["Lines", "Points"]
    for table, theme in (("Lines", "stretch"), ("Points", "point")):
        ours = [
            each for each in written(built, theme) if theme == "stretch" or each["id"].startswith("shot-")
        ]
        assert len(tables[table]) == len(ours)
        for (_, place), each in zip(tables[table], ours, strict=True):
            assert_same_places(each["geometry"], place)


def names(element: Element) -> list[str]:
    return [child.tag.split("}")[1] for child in element]


def in_order(found: list[str], order: tuple[str, ...]) -> bool:
    places = [order.index(name) for name in found]
    return places == sorted(places)


def test_gpx_has_the_order_of_its_schema(built: Record) -> None:
    """GPX 1.1 schema: gpxType, wptType, trkType and trksegType are sequences; lat and lon are asked of each point."""
    root = fromstring(built_gpx(built))
    assert root.tag == f"{{{GPX}}}gpx"
    assert (root.get("version"), bool(root.get("creator"))) == ("1.1", True)
    assert in_order(names(root), ("metadata", "wpt", "rte", "trk"))
    for point in root.iter(f"{{{GPX}}}wpt"):
        assert in_order(names(point), ("ele", "time", "name", "cmt", "desc"))
    for track in root.iter(f"{{{GPX}}}trk"):
        assert in_order(names(track), ("name", "cmt", "desc", "trkseg"))
    for point in [*root.iter(f"{{{GPX}}}wpt"), *root.iter(f"{{{GPX}}}trkpt")]:
        assert -90 <= float(str(point.get("lat"))) <= 90
        assert -180 <= float(str(point.get("lon"))) < 180


def test_kml_has_the_order_of_its_schema(built: Record) -> None:
    """OGC 07-147r2, 9.1: a Placemark is name, description, styleUrl, ExtendedData, geometry; every style used is there."""
    root = fromstring(built_kml(built))
    assert root.tag == f"{{{KML}}}kml"
    [document] = root
    assert in_order(names(document), ("name", "description", "Style", "Folder"))
    styles = {f"#{style.get('id')}" for style in document.iter(f"{{{KML}}}Style")}
    order = ("name", "description", "styleUrl", "ExtendedData", "Point", "LineString")
    for placemark in document.iter(f"{{{KML}}}Placemark"):
        assert in_order(names(placemark), order)
        assert {each.text for each in placemark.iter(f"{{{KML}}}styleUrl")} <= styles
    for text in (each.text or "" for each in document.iter(f"{{{KML}}}coordinates")):
        for longitude, latitude in (map(float, place.split(",")) for place in text.split()):
            assert (round(longitude), round(latitude)) == (-112, 46)


def test_our_own_readers_take_both_without_a_fault(built: Record) -> None:
    for reader, text, count in (
        (lambda text, faults: read_gpx(text, "t.gpx", "t", faults, None), built_gpx(built), 8),
        (lambda text, faults: read_kml(text, "t.kml", "t", faults), built_kml(built), 8),
    ):
        faults = FaultList()
        contents = reader(text, faults)
        assert contents is not None
        assert len(faults) == 0
        assert (
            sum(each.shape is not None and each.shape.geom_type == "Point" for each in contents.records)
            == count
        )


def test_geopackage_header_and_bytes(built: Record, tmp_path: Path) -> None:
    """OGC 12-128, requirements 1, 2 and 5; the only date in it is the day of the last visit, so the bytes are the same again."""
    content = built_gpkg(built)
    assert content[:16] == b"SQLite format 3\0"
    assert content[68:72] == b"GPKG"
    assert built_gpkg(built) == content
    (tmp_path / "t.gpkg").write_bytes(content)
    database = sqlite3.connect(tmp_path / "t.gpkg")
    assert database.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
    assert database.execute("PRAGMA foreign_key_check").fetchall() == []
    rows = database.execute("SELECT table_name, last_change, srs_id FROM gpkg_contents").fetchall()
    database.close()
    assert {name for name, _, _ in rows} == {"lines", "stretches", "points", "corners"}
    assert {(day, srs) for _, day, srs in rows} == {("2026-12-01T00:00:00.000Z", 4326)}
