from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from small_site import HOUSE, PARCEL, SITE_TOML, WELL, collection, faults, feature, good, only_fault, write

from siteplan.read import read_site


def with_well(**properties: Any) -> str:
    parcel, well, house = good()
    well["properties"] |= properties
    return collection([parcel, well, house])


def with_house(shape: str, coordinates: Any) -> str:
    parcel, well, _ = good()
    return collection([parcel, well, feature("house", "building", shape, coordinates)])


def extra(own: str, kind: str, shape: str, coordinates: Any, **properties: Any) -> str:
    return collection([*good(), feature(own, kind, shape, coordinates, **properties)])


BOW = [HOUSE[0], HOUSE[2], HOUSE[1], HOUSE[3], HOUSE[0]]
LINE = [[-111.9995, 46.0005], [-111.9994, 46.0006]]

BAD = {
    "unknown kind": (with_well(kind="wel"), ["site.geojson:3: well, kind:", '"wel"', 'did you mean "well"?']),
    "unknown property": (
        with_well(casing_dpth="62 ft"),
        ["site.geojson:3: well:", '"casing_dpth"', 'did you mean "casing_depth"?'],
    ),
    "property of nothing": (with_well(zzz=1), ["site.geojson:3: well:", "note_zzz"]),
    "length without unit": (
        with_well(casing_depth=62),
        ["site.geojson:3: well, casing_depth:", "62, which has no unit"],
    ),
    "length in text without unit": (
        with_well(casing_depth="62"),
        ["site.geojson:3: well, casing_depth:", '"62", which has no unit'],
    ),
    "yes or no": (with_well(pump_at_well="perhaps"), ["well, pump_at_well:", "true or false"]),
    "date": (with_well(drilled="14/9/2026"), ["well, drilled:", "a date such as"]),
    "number": (with_well(yield_gpm="11 gpm"), ["well, yield_gpm:", "a number without a unit"]),
    "unknown method": (with_well(method="tapd"), ["well, method:", 'did you mean "taped"?']),
    "stated method without an error": (
        with_well(method="stated"),
        ["site.geojson:3: well:", "without an error"],
    ),
    "no error at all": (with_well(error="0 ft"), ["well, error:", "an error above zero"]),
    "unknown status": (with_well(status="planned"), ["well, status:", "existing, proposed"]),
    "name with a control character": (with_well(name="a\nb"), ["well, name:", "U+000A"]),
    "half a character": (with_well(name="x\ud800"), ["well, name:", "U+D800"]),
    "name too long": (with_well(name="x" * 201), ["well, name:", "201 characters"]),
    "name that is a list": (with_well(name=["x"]), ["well, name:", "a text"]),
    "outline that crosses itself": (
        with_house("Polygon", [BOW]),
        ["site.geojson:4: house:", "crosses or touches itself near -111.9993"],
    ),
    "open outline": (
        with_house("Polygon", [HOUSE[:-1]]),
        ["site.geojson:4: house:", "an open outline", "repeat the first position"],
    ),
    "two corners": (
        with_house("Polygon", [[HOUSE[0], HOUSE[1], HOUSE[0]]]),
        ["house:", "an outline of 3 positions"],
    ),
    "area without extent": (with_house("Polygon", [[HOUSE[0]] * 4]), ["house:", "without extent"]),
    "hole outside": (with_house("Polygon", [HOUSE, PARCEL]), ["house:", "a hole outside of its area"]),
    "building drawn as a line": (
        with_house("LineString", LINE),
        ["site.geojson:4: house:", "drawn as a line", "expected an area"],
    ),
    "no geometry": (with_house("Nothing", None), ["house:", 'a geometry of type "Nothing"']),
    "letters for coordinates": (
        extra("t", "tree", "Point", ["x", 1]),
        ["site.geojson:5: t:", 'the coordinate "x"'],
    ),
    "one coordinate": (extra("t", "tree", "Point", [1]), ["t:", "a position of two numbers"]),
    "NaN": (extra("t", "tree", "Point", [float("nan"), 46]), ["site.geojson:5: t:", "the coordinate NaN"]),
    "Infinity": (
        extra("t", "tree", "Point", [-112, float("inf")]),
        ["site.geojson:5: t:", "the coordinate Infinity"],
    ),
    "number beyond floats": (
        extra("t", "tree", "Point", [10**400, 46]),
        ["site.geojson:5: t:", "a finite number"],
    ),
    "latitude out of range": (extra("t", "tree", "Point", [-112, 92]), ["site.geojson:5: t:", "latitude 92"]),
    "swapped": (
        extra("t", "tree", "Point", [46.0005, -111.9995]),
        ["site.geojson:5: t:", "latitude -111.999", "swapped?"],
    ),
    "far away": (
        extra("t", "tree", "Point", [-112.1, 46.0005]),
        ["site.geojson:5: t:", "km from the middle of the site"],
    ),
    "line of one position": (extra("d", "drive", "LineString", [LINE[0]]), ["d:", "a line of 1 position,"]),
    "line without length": (extra("d", "drive", "LineString", [LINE[0], LINE[0]]), ["d:", "without length"]),
    "mixture": (extra("t", "tree", "GeometryCollection", []), ["t:", "GeometryCollection"]),
    "parcel as a closed line": (
        collection([*good()[1:], feature("p", "parcel", "LineString", PARCEL)]),
        ["site.geojson:4: p:", "drawn as a line", "an area"],
    ),
    "second id": (
        extra("well", "tree", "Point", LINE[0]),
        ["site.geojson:5: well:", '"well" a second time', "site.geojson:3"],
    ),
    "entry off the wall": (
        extra("e", "entry", "Point", [-111.9995, 46.00035]),
        ["site.geojson:5: e:", "m off the nearest building", "on a wall"],
    ),
    "well inside of a building": (
        collection([good()[0], good()[2], feature("w", "well", "Point", [-111.9993, 46.00035])]),
        ["site.geojson:4: w:", "a well inside of house"],
    ),
    "no parcel": (collection(good()[1:]), ["site.toml: found nothing of kind parcel", "expected the land"]),
    "another coordinate system": (
        collection(good(), crs={"type": "name", "properties": {"name": "urn:ogc:def:crs:EPSG::32100"}}),
        ["EPSG::32100", "RFC 7946"],
    ),
    "feature that is none": (collection([*good(), 7]), ["site.geojson:5: feature 4:", "found 7"]),
    "properties that are none": (
        collection([*good(), {**feature("t", "tree", "Point", LINE[0]), "properties": [1]}]),
        ["site.geojson:5: feature 4:", "properties [1]"],
    ),
}


@pytest.mark.parametrize("case", BAD)
def test_a_bad_feature_is_named_with_its_line(tmp_path: Path, case: str) -> None:
    text, parts = BAD[case]
    found = faults(write(tmp_path, site__geojson=text))
    hits = [line for line in found if all(part in line for part in parts)]
    assert len(hits) == 1, found
    allowed = (
        2 if case == "properties that are none" else 1
    )  # nothing else is known of that feature, its kind either
    assert len(found) == allowed, found


WHOLE_FILE = {
    "no JSON": ('{"type": "FeatureCollection",\n"features": [}', ["site.geojson:2:", "no JSON"]),
    "empty": ("", ["site.geojson:1:", "no JSON"]),
    "a list": ("[1]", ["found type [1]", "FeatureCollection"]),
    "a geometry": ('{"type": "Point", "coordinates": [1, 2]}', ['found type "Point"']),
    "without features": ('{"type": "FeatureCollection", "features": {}}', ["found type"]),
    "depth bomb": (
        '{"type": "FeatureCollection", "features": ' + "[" * 200_000,
        ["lists in lists without end"],
    ),
    "a name twice": ('{"type": "Feature", "type": "Feature"}', ['"type" twice']),
    "endless digits": ('{"type": ' + "9" * 5000 + "}", ["expected GeoJSON"]),
    "virtual source": (
        '<OGRVRTDataSource><OGRVRTLayer name="x"><SrcDataSource>other.csv</SrcDataSource></OGRVRTLayer></OGRVRTDataSource>',
        ["site.geojson:1:", "no JSON"],
    ),
    "virtual source as JSON": (
        '{"type": "gdal_virtual_dataset", "command_line": "gdal vector pipeline ! read other.geojson"}',
        ['found type "gdal_virtual_dataset"'],
    ),
}


@pytest.mark.parametrize("case", WHOLE_FILE)
def test_a_file_that_is_no_geojson_is_one_fault(tmp_path: Path, case: str) -> None:
    text, parts = WHOLE_FILE[case]
    only_fault(write(tmp_path, site__geojson=text), "site.geojson", *parts)


def test_good_features_beside_bad_ones_keep_faults_from_doubling(tmp_path: Path) -> None:
    parcel, well, house = good()
    parcel["properties"]["kind"] = "parcl"
    well["properties"]["casing_depth"] = 62
    house["geometry"]["coordinates"] = [BOW]
    found = faults(write(tmp_path, site__geojson=collection([parcel, well, house])))
    assert [line.split(" ")[0] for line in found] == ["site.geojson:2:", "site.geojson:3:", "site.geojson:4:"]


def test_faults_of_all_files_come_together_by_file_and_line(tmp_path: Path) -> None:
    parcel, well, house = good()
    well["properties"]["mehtod"] = "taped"
    text = SITE_TOML.replace('"24 in"', '"24"').replace('"pe-1-ips"', '"pe"')
    folder = write(
        tmp_path, site__geojson=collection([parcel, well, house]), site__toml=text, b__csv="id;x;y\n"
    )
    heads = [line.split(" ")[0] for line in faults(folder)]
    assert heads == ["b.csv:1:", "site.geojson:3:", "site.toml:8:", "site.toml:18:"]


def test_lines_of_features_in_a_pretty_printed_file(tmp_path: Path) -> None:
    parcel, well, house = good()
    well["properties"]["kind"] = "wel"
    members = {
        "name": 'a "features": [ { trap',
        "bbox": [0, 1],
        "type": "FeatureCollection",
        "features": [parcel, well, house],
    }
    text = json.dumps(members, indent=2)
    line = next(n for n, row in enumerate(text.split("\n"), start=1) if '"id": "well"' in row) - 2
    only_fault(write(tmp_path, site__geojson=text), f"site.geojson:{line}: well, kind:")


def test_a_feature_alone_null_properties_and_private_ones(tmp_path: Path) -> None:
    tree = feature(
        "t",
        "tree",
        "Point",
        [*WELL[:1], 46.0005, 1200.0],
        status=None,
        species=" ",
        fid=3,
        _mine="x",
        note_x="y",
    )
    site = read_site(write(tmp_path, tree__geojson=json.dumps(tree)))
    found = site.feature("t")
    assert (found.status, found.name, dict(found.facts), found.shape.has_z) == (
        "existing",
        "tree",
        {"note_x": "y"},
        False,
    )
    assert (found.evidence.method, found.source.file, found.source.line) == ("drawn", "tree.geojson", 1)


@pytest.mark.parametrize(
    ("properties", "shared_ft", "private_ft", "method"),
    [
        ({}, 0, 15, "drawn"),
        ({"method": "phone"}, 16, 3, "phone"),
        ({"method": "phone", "error": "8 ft"}, 0, 8, "phone"),
        ({"method": "phone", "shared_error": "20 ft"}, 20, 3, "phone"),
        ({"method": "traced", "error": "2 ft", "shared_error": "5 ft"}, 5, 2, "traced"),
        ({"error": "6 ft"}, 0, 6, "stated"),
    ],
)
def test_a_stated_error_stands_instead_of_that_of_the_method(
    tmp_path: Path, properties: dict[str, str], shared_ft: float, private_ft: float, method: str
) -> None:
    tree = feature("t", "tree", "Point", [-111.9995, 46.0005], outing="walk", edge="2 ft", **properties)
    evidence = read_site(write(tmp_path, tree__geojson=collection([tree]))).feature("t").evidence
    assert evidence.method == method
    assert evidence.shared_m == pytest.approx(shared_ft * 0.3048)
    assert evidence.private_m == pytest.approx(private_ft * 0.3048)
    assert (evidence.edge_m, evidence.outing) == (pytest.approx(0.6096), "walk")


def test_facts_are_si(tmp_path: Path) -> None:
    shape = [-111.9995, 46.0005]
    tank = feature("t", "septic_tank", "Point", shape, capacity="1000 gal", watertight="yes", owner="A")
    well = read_site(write(tmp_path, tank__geojson=collection([tank]))).feature("well")
    facts = read_site(tmp_path).feature("t").facts
    assert facts == {
        "capacity": pytest.approx(3.785411784),
        "watertight": True,
        "owner": "A",
    }  # 231 cu in a gallon
    assert well.facts == {"casing_depth": pytest.approx(18.8976)}


def test_things_without_an_id_get_one_from_the_file(tmp_path: Path) -> None:
    trees = [feature("", "tree", "Point", [-111.9995, 46.0005 + n / 1e5]) for n in (0, 1)]
    for tree in trees:
        del tree["id"]
    site = read_site(write(tmp_path, trees__geojson=collection(trees)))
    assert [each.id for each in site.of_kind("tree")] == ["trees-1", "trees-2"]


def test_several_areas_of_one_thing(tmp_path: Path) -> None:
    two = [[PARCEL], [[[x + 0.002, y] for x, y in PARCEL]]]
    parcel = feature("parcel", "parcel", "MultiPolygon", two)
    site = read_site(write(tmp_path, site__geojson=collection([parcel, *good()[1:]])))
    assert site.feature("parcel").shape.geom_type == "MultiPolygon"
