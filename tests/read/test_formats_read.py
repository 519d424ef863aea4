"""CSV, GPX, KML, GeoPackage, FlatGeobuf and Shapefile give the same site as GeoJSON does, and say what they cannot take."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import shapely
from shapely.geometry import shape as shape_of
from small_site import HOUSE, PARCEL, SITE_TOML, WELL, faults, good, only_fault, write

from siteplan.read import gis_file, read_site
from siteplan.site.site import Site

MM_IN_DEGREES = 0.001 / 111_320
KINDS = {"parcel": "parcel", "well": "well", "house": "building"}


@pytest.fixture(scope="session")
def geopandas() -> Any:
    """GDAL as siteplan loads it."""
    return gis_file.gdal()[0]


def same_places(site: Site) -> bool:
    """Whether parcel, well and house lie within a millimetre of where the GeoJSON has them."""
    for each in good():
        [found] = [feature for feature in site.features if feature.kind == each["properties"]["kind"]]
        wanted = shape_of(each["geometry"])
        assert found.shape.geom_type == wanted.geom_type
        assert shapely.hausdorff_distance(found.shape, wanted) < MM_IN_DEGREES, found.id
    return True


def without_geojson(folder: Path, toml: str = SITE_TOML, **texts: str | bytes) -> Path:
    write(folder, site__toml=toml, **texts)
    (folder / "site.geojson").unlink()
    return folder


def with_file(path: str, **said: object) -> str:
    rows = "".join(f"{key} = {value}\n" for key, value in said.items())
    return f'{SITE_TOML}\n[[file]]\npath = "{path}"\n{rows}'


def rows(places: dict[str, list[Any]]) -> Iterator[str]:
    for own, positions in places.items():
        for x, y in positions[:-1] or positions:
            yield f"{own},{KINDS[own]},{x!r},{y!r},{own}"


def table(head: str, places: dict[str, list[Any]]) -> str:
    return "\n".join([head, *rows(places)]) + "\n"


DEGREES = {"parcel": PARCEL, "well": [WELL], "house": HOUSE}


def surveyed(geopandas: Any, epsg: int) -> dict[str, list[Any]]:
    """The same corners in survey coordinates."""
    moved = {}
    for own, positions in DEGREES.items():
        points = geopandas.GeoSeries([shapely.Point(each) for each in positions], crs=4326).to_crs(epsg)
        moved[own] = [(point.x, point.y) for point in points]
    return moved


def test_csv_in_degrees(tmp_path: Path) -> None:
    text = table("id,kind,longitude,latitude,name", DEGREES)
    assert same_places(read_site(without_geojson(tmp_path, points__csv="\ufeff" + text)))


@pytest.mark.parametrize(
    ("epsg", "unit"), [(32100, "m"), (2256, "ft"), (3568, "us-ft"), (32612, None), (6514, "m")]
)
def test_csv_of_a_survey(tmp_path: Path, geopandas: Any, epsg: int, unit: str | None) -> None:
    text = table("id,kind,x,y,name", surveyed(geopandas, epsg))
    said = {"epsg": epsg} | ({"unit": f'"{unit}"'} if unit else {})
    if epsg == 3568:  # Utah North: the site lies three degrees off, which is what a wrong code looks like
        folder = without_geojson(tmp_path, with_file("points.csv", **said), points__csv=text)
        assert "outside of the area of NAD83(HARN) / Utah North (ftUS)" in faults(folder)[0]
        return
    assert same_places(
        read_site(without_geojson(tmp_path, with_file("points.csv", **said), points__csv=text))
    )


def test_csv_with_the_columns_of_somebody_else(tmp_path: Path) -> None:
    text = (
        table("PointNo,Code,Easting,Northing,Remark", DEGREES)
        .replace("Easting", "Lon")
        .replace("Northing", "Lat")
    )
    names = '{ id = "PointNo", kind = "Code", longitude = "Lon", latitude = "Lat", note = "Remark" }'
    site = read_site(without_geojson(tmp_path, with_file("points.csv", columns=names), points__csv=text))
    assert same_places(site)
    assert site.well.facts == {"note": "well"}


def test_csv_shapes_facts_levels_and_evidence(tmp_path: Path) -> None:
    text = (
        "id,kind,shape,longitude,latitude,method,error,depth,watertight,elevation_ft\n"
        "s,building_sewer,line,-111.9993,46.0003,record,,30 in,yes,4000\n"
        "s,,,-111.9991,46.0002,,,,,4001\n\n"
        ",tree,,-111.9996,46.0006,,3 ft,,,4003.5\n"
    )
    site = read_site(write(tmp_path, more__csv=text))
    sewer, tree = site.feature("s"), site.feature("more-2")
    assert sewer.shape.geom_type == "LineString"
    assert (sewer.facts, sewer.source.line) == ({"depth": pytest.approx(0.762), "watertight": True}, 2)
    assert (tree.evidence.method, tree.evidence.private_m) == ("stated", pytest.approx(0.9144))
    assert [round(level.elevation_m, 4) for level in site.levels] == [1219.2, 1219.5048, 1220.2668]
    assert [level.source.line for level in site.levels] == [2, 3, 5]


BAD_CSV = {
    "empty": ("", ["points.csv: found an empty file"]),
    "semicolons": ("id;kind;x;y\n", ["points.csv:1:", "id;kind;x;y", "with commas between"]),
    "no coordinates": ("id,kind,lat,lng\n", ["points.csv:1:", "columns x and y, or longitude and latitude"]),
    "a column twice": ("id,kind,x,y,x\n", ["points.csv:1:", "two columns named x"]),
    "no system": (
        "id,kind,x,y\nt,tree,500000,200000\n",
        ["points.csv:", "an unnamed coordinate system", "epsg"],
    ),
    "too many values": (
        "id,kind,longitude,latitude\nt,tree,-111.9995,46.0005,Pine, tall\n",
        ["points.csv:2:", "found 6 values", "quotes"],
    ),
    "open quote": ('id,kind,longitude,latitude\nt,tree,"-111,46\n', ["points.csv:2:", "no table"]),
    "no number": (
        "id,kind,longitude,latitude\nt,tree,west,46.0005\n",
        ["points.csv:2: t:", 'longitude "west"'],
    ),
    "nan": ("id,kind,longitude,latitude\nt,tree,nan,46.0005\n", ["points.csv:2: t:", 'longitude "nan"']),
    "decimal comma": (
        'id,kind,longitude,latitude\nt,tree,"-111,9995",46.0005\n',
        ["points.csv:2: t:", "no commas"],
    ),
    "missing number": (
        "id,kind,longitude,latitude\nt,tree,,46.0005\n",
        ["points.csv:2: t:", "no longitude on line 2"],
    ),
    "unknown column with a value": (
        "id,kind,longitude,latitude,hieght\nt,tree,-111.9995,46.0005,3\n",
        ["points.csv:2: t:", '"hieght"'],
    ),
    "rows without a shape": (
        "id,kind,longitude,latitude\nd,drive,-111.9995,46.0005\nd,drive,-111.9994,46.0005\n",
        ["points.csv:2: d:", "2 rows with one id and no shape"],
    ),
    "rows of a point": (
        "id,kind,longitude,latitude\nt,tree,-111.9995,46.0005\nt,tree,-111.9994,46.0005\n",
        ["points.csv:2: t:", "2 rows for one point"],
    ),
    "unknown shape": (
        "id,kind,longitude,latitude,shape\nt,drive,-111.9995,46.0005,round\n",
        ["points.csv:2: t:", 'shape "round"'],
    ),
    "rows that differ": (
        "id,kind,longitude,latitude,shape,method\nd,drive,-111.9995,46.0005,line,taped\nd,drive,-111.9994,46.0005,line,phone\n",
        ["points.csv:2: d:", 'method "phone" on line 3'],
    ),
    "no kind": ("id,longitude,latitude\nt,-111.9995,46.0005\n", ["points.csv:2: t:", "no kind", "[[file]]"]),
    "elevation without unit": (
        "id,kind,longitude,latitude,elevation\nt,tree,-111.9995,46.0005,4000\n",
        ["points.csv:2: t:", '"4000", which has no unit', "elevation_ft"],
    ),
    "elevation off the earth": (
        "id,kind,longitude,latitude,elevation\nt,tree,-111.9995,46.0005,40000 m\n",
        ["points.csv:2: t:", "the earth's surface"],
    ),
    "one level": (
        "id,kind,longitude,latitude,elevation\nt,tree,-111.9995,46.0005,4000 ft\n",
        ["points.csv:", "found 1 ground heights", "at least three"],
    ),
}


@pytest.mark.parametrize("case", BAD_CSV)
def test_bad_csv(tmp_path: Path, case: str) -> None:
    text, parts = BAD_CSV[case]
    only_fault(write(tmp_path, points__csv=text), *parts)


SAID = {
    "unit that the code is not in": (
        {"epsg": 2256, "unit": '"us-ft"'},
        "x,y",
        ['unit "us-ft"', "expected foot, which EPSG:2256 is in"],
    ),
    "metres for feet": ({"epsg": 2256, "unit": '"m"'}, "x,y", ['unit "m"', "expected foot"]),
    "feet for metres": ({"epsg": 32100, "unit": '"ft"'}, "x,y", ['unit "ft"', "expected metre"]),
    "no such code": ({"epsg": 999999}, "x,y", ["EPSG:999999", "a code that is known"]),
    "heights only": ({"epsg": 5703}, "x,y", ["EPSG:5703", "plan coordinates"]),
    "degrees for a grid": ({"epsg": 32100}, "longitude,latitude", ["EPSG:32100", "columns x and y"]),
    "grid for degrees": ({"epsg": 4269}, "x,y", ["EPSG:4269", "columns longitude and latitude"]),
    "unit of degrees": ({"unit": '"ft"'}, "longitude,latitude", ['unit "ft"', "in degrees"]),
}


@pytest.mark.parametrize("case", SAID)
def test_what_a_file_table_may_not_say(tmp_path: Path, case: str) -> None:
    said, columns, parts = SAID[case]
    text = f"id,kind,{columns}\nt,tree,-111.9995,46.0005\n"
    only_fault(
        write(tmp_path, site__toml=with_file("points.csv", **said), points__csv=text), "points.csv:", *parts
    )


def test_swapped_easting_and_northing(tmp_path: Path, geopandas: Any) -> None:
    swapped = {own: [(y, x) for x, y in places] for own, places in surveyed(geopandas, 32612).items()}
    folder = without_geojson(
        tmp_path, with_file("p.csv", epsg=32612), p__csv=table("id,kind,x,y,name", swapped)
    )
    assert "are easting and northing swapped" in faults(folder)[0]


def test_a_code_for_geojson(tmp_path: Path) -> None:
    only_fault(
        write(tmp_path, site__toml=with_file("site.geojson", epsg=32100)),
        "EPSG:32100",
        "longitude and latitude only",
    )


LEVELS = """\
id,longitude,latitude,elevation
L1,-111.9999,46.0001,4000 ft
L2,-111.9995,46.0001,4001 ft
L3,-111.9999,46.0005,1220 m
"""


def test_levels(tmp_path: Path) -> None:
    site = read_site(write(tmp_path, levels__csv=LEVELS))
    assert [(level.x, round(level.elevation_m, 4)) for level in site.levels] == [
        (-111.9999, 1219.2),
        (-111.9995, 1219.5048),
        (-111.9999, 1220.0),
    ]
    assert len(site.features) == 3


def test_the_height_of_a_site_that_states_none_is_that_of_its_levels(tmp_path: Path) -> None:
    toml = SITE_TOML.replace('elevation = "4000 ft"\n', "")
    assert read_site(write(tmp_path, site__toml=toml, levels__csv=LEVELS)).elevation_m == pytest.approx(
        (1219.2 + 1219.5048 + 1220) / 3
    )


BAD_LEVELS = {
    "two heights": (
        LEVELS + "L4,-111.9999,46.0001,4002 ft\n",
        ["levels.csv:5: L4:", "1219.200 m, as line 2 of levels.csv has"],
    ),
    "on one line": (
        LEVELS.replace("46.0005", "46.0001").replace("-111.9999,46.0001,1220", "-111.9990,46.0001,1220"),
        ["levels.csv:", "ground heights on one line"],
    ),
    "another unit": (
        LEVELS.replace(" ft", " m").replace("1220", "4001"),
        ["site.toml:5: [site] elevation:", "1219 m", "another unit?"],
    ),
    "no height": (LEVELS + "L4,-111.9998,46.0001,\n", ["levels.csv:5:", "no elevation"]),
    "far away": (LEVELS + "L4,-111.8,46.0001,4000 ft\n", ["levels.csv:5: L4:", "km from the middle"]),
}


@pytest.mark.parametrize("case", BAD_LEVELS)
def test_bad_levels(tmp_path: Path, case: str) -> None:
    text, parts = BAD_LEVELS[case]
    only_fault(write(tmp_path, levels__csv=text), *parts)


GRID = '\n[grid]\nunit = "ft"\norigin = [-112.0, 46.0]\nnorth = "12 deg"\n'
TAPED = "id,kind,shape,x,y\n" + "".join(
    f"{own},{kind},{form},{x},{y}\n"
    for own, kind, form, places in (
        ("parcel", "parcel", "area", ((0, 0), (300, 0), (300, 300), (0, 300))),
        ("well", "well", "point", ((50, 250),)),
        ("house", "building", "area", ((200, 100), (240, 100), (240, 130), (200, 130))),
    )
    for x, y in places
)


def test_a_tape_grid_in_metres(tmp_path: Path) -> None:
    site = read_site(without_geojson(tmp_path, SITE_TOML + GRID, points__csv=TAPED))
    assert (site.coordinates, site.grid_origin, site.grid_north_deg) == ("local", (-112.0, 46.0), 12.0)
    assert (site.well.shape.x, site.well.shape.y) == (pytest.approx(15.24), pytest.approx(76.2))


def test_us_survey_feet_of_a_tape_grid(tmp_path: Path) -> None:
    site = read_site(
        without_geojson(tmp_path, SITE_TOML + GRID.replace('"ft"', '"us-ft"'), points__csv=TAPED)
    )
    assert site.well.shape.x == pytest.approx(50 * 1200 / 3937, abs=1e-12)


def test_degrees_in_a_tape_grid_are_refused_unless_said_to_be_x_and_y(tmp_path: Path) -> None:
    folder = write(tmp_path, site__toml=SITE_TOML + GRID)
    assert (
        "site.geojson: found longitude and latitude, expected x and y in the tape grid" in faults(folder)[0]
    )
    said = with_file("site.geojson", unit='"m"') + GRID
    x, _ = read_site(write(tmp_path, site__toml=said)).well.shape.coords[0]
    assert x == WELL[0]


def test_a_code_in_a_tape_grid(tmp_path: Path) -> None:
    toml = with_file("points.csv", epsg=32100) + GRID
    assert "EPSG:32100" in faults(without_geojson(tmp_path, toml, points__csv=TAPED))[0]


def gpx(*elements: str) -> str:
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n<gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1">\n'
        + "\n".join(elements)
        + "\n</gpx>\n"
    )


def points(name: str, places: list[Any]) -> str:
    return "".join(f'<{name} lat="{y!r}" lon="{x!r}"><ele>12</ele></{name}>' for x, y in places)


def test_gpx(tmp_path: Path) -> None:
    text = gpx(
        f'<wpt lat="{WELL[1]!r}" lon="{WELL[0]!r}"><name>Well</name><desc>steel</desc><type>well</type></wpt>',
        f"<rte><name>House</name><type>building</type>{points('rtept', HOUSE[:-1])}</rte>",
        f"<trk><type>parcel</type><trkseg>{points('trkpt', PARCEL)}</trkseg><trkseg/></trk>",
        f"<trk><type>overhead_line</type><trkseg>{points('trkpt', PARCEL[:2])}</trkseg></trk>",
    )
    toml = with_file("walk.gpx", method='"phone"', outing='"walk"').replace('to = "house"', 'to = "House"')
    site = read_site(without_geojson(tmp_path, toml, walk__gpx=text))
    assert same_places(site)
    assert (site.well.name, site.well.id, site.well.facts, site.well.source.line) == (
        "Well",
        "walk-1",
        {"note": "steel"},
        3,
    )
    assert (site.well.evidence.method, site.well.evidence.outing) == ("phone", "walk")
    assert site.feature("walk-4").shape.geom_type == "LineString"


def test_the_kind_of_a_gpx_file(tmp_path: Path) -> None:
    text = gpx('<wpt lat="46.0005" lon="-111.9995"><name>001</name></wpt>')
    only_fault(
        write(tmp_path, walk__gpx=text),
        "walk.gpx:3: feature 1:",
        "no kind",
        "[[file]] table with path and kind",
    )
    said = with_file("walk.gpx", kind='"tree"')
    assert read_site(write(tmp_path, site__toml=said)).feature("walk-1").kind == "tree"


def placemark(own: str, geometry: str, **data: str) -> str:
    facts = "".join(f'<Data name="{name}"><value>{value}</value></Data>' for name, value in data.items())
    return f'<Placemark id="{own}"><ExtendedData>{facts}</ExtendedData>{geometry}</Placemark>'


def kml(*placemarks: str) -> str:
    return (
        '<kml xmlns="http://www.opengis.net/kml/2.2"><Document><Folder>\n'
        + "\n".join(placemarks)
        + "\n</Folder></Document></kml>\n"
    )


def ring(places: list[Any], side: str = "outer") -> str:
    tuples = "\n".join(f"{x!r},{y!r},0" for x, y in places)
    return (
        f"<{side}BoundaryIs><LinearRing><coordinates>{tuples}</coordinates></LinearRing></{side}BoundaryIs>"
    )


KML_WELL = placemark(
    "well",
    f"<Point><coordinates>{WELL[0]!r},{WELL[1]!r}</coordinates></Point>",
    kind="well",
    casing_depth="62 ft",
    tag="7",
)


def test_kml(tmp_path: Path) -> None:
    line = " ".join(f"{x!r},{y!r}" for x, y in PARCEL[:2])
    text = kml(
        KML_WELL,
        placemark(
            "house", f"<MultiGeometry><Polygon>{ring(HOUSE)}</Polygon></MultiGeometry>", kind="building"
        ),
        '<Placemark><name>Parcel</name><ExtendedData><SchemaData><SimpleData name="kind">parcel</SimpleData>'
        f"</SchemaData></ExtendedData><Polygon>{ring(PARCEL)}</Polygon></Placemark>",
        placemark(
            "oh",
            f"<LineString><coordinates>{line}</coordinates></LineString>",
            kind="overhead_line",
            volts="7200 V",
        ),
    )
    site = read_site(without_geojson(tmp_path, site__kml=text))
    assert same_places(site)
    assert (site.well.facts, site.well.source.line) == (
        {"casing_depth": pytest.approx(18.8976), "tag": "7"},
        2,
    )
    assert site.feature("oh").facts == {"volts": 7200.0}


BOMB = '<!DOCTYPE x [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;">]>\n'
BAD_XML = {
    "bomb": (
        "x.gpx",
        BOMB + gpx("<name>&b;</name>").partition("\n")[2],
        ["x.gpx:", "a document type or an entity"],
    ),
    "outside entity": (
        "x.kml",
        '<!DOCTYPE x SYSTEM "file:///etc/hostname">\n' + kml(),
        ["x.kml:", "a document type"],
    ),
    "no XML": ("x.gpx", "<gpx>\n<wpt>\n</gpx>", ["x.gpx:3:", "no XML"]),
    "another root": ("x.gpx", kml(), ["x.gpx:1:", "found <kml>", "expected <gpx>"]),
    "another encoding": (
        "x.kml",
        "<?xml version='1.0' encoding='latin-1'?>\n" + kml(),
        ["x.kml:1:", "latin-1", "UTF-8"],
    ),
    "network link": (
        "x.kml",
        kml("<NetworkLink><Link><href>other.kml</href></Link></NetworkLink>"),
        ["x.kml:2:", "a network link"],
    ),
    "blanks in a position": (
        "x.kml",
        kml(placemark("t", "<Point><coordinates>-111.9995, 46.0005</coordinates></Point>", kind="tree")),
        ["x.kml:2: t:", 'the position "-111.9995,"'],
    ),
    "no shape": ("x.kml", kml(placemark("t", "", kind="tree")), ["x.kml:2: t:", "no coordinates"]),
    "mixture": (
        "x.kml",
        kml(
            placemark(
                "t",
                "<MultiGeometry><Point><coordinates>1,2</coordinates></Point>"
                "<LineString><coordinates>1,2 3,4</coordinates></LineString></MultiGeometry>",
                kind="tree",
            )
        ),
        ["x.kml:2: t:", "a mixture"],
    ),
    "no latitude": (
        "x.gpx",
        gpx('<wpt lon="-111.9995"><type>tree</type></wpt>'),
        ["x.gpx:3: feature 1:", "a position without lat"],
    ),
}


@pytest.mark.parametrize("case", BAD_XML)
def test_bad_xml(tmp_path: Path, case: str) -> None:
    name, text, parts = BAD_XML[case]
    only_fault(write(tmp_path, **{name.replace(".", "__"): text}), *parts)


def frame(geopandas: Any, only: slice = slice(None), **columns: list[Any]) -> Any:
    features = good()[only]
    table = {
        "id": [each["id"] for each in features],
        "kind": [each["properties"]["kind"] for each in features],
        "method": ["surveyed", "taped", None][only],
        **columns,
    }
    return geopandas.GeoDataFrame(table, geometry=[shape_of(each["geometry"]) for each in features], crs=4326)


@pytest.mark.parametrize("epsg", [4326, 32100, 2256])
def test_geopackage(tmp_path: Path, geopandas: Any, epsg: int) -> None:
    folder = without_geojson(tmp_path)
    land = frame(geopandas, slice(0, 1)).to_crs(epsg)
    rest = frame(geopandas, slice(1, 3), yield_gpm=[11.0, None], dwelling=[None, True]).to_crs(epsg)
    land.to_file(folder / "site.gpkg", layer="land")
    rest.to_file(folder / "site.gpkg", layer="rest")
    site = read_site(folder)
    assert same_places(site)
    assert (site.well.facts, site.feature("house").facts) == ({"yield_gpm": 11.0}, {"dwelling": True})
    assert [each.evidence.method for each in site.features] == ["surveyed", "taped", "drawn"]


def test_geopackage_with_a_fault_and_shapes_in_three_dimensions(tmp_path: Path, geopandas: Any) -> None:
    folder = write(tmp_path)
    shapes = [shapely.Point(-111.9995, 46.0005, 3), shapely.Point(-111.9995, 92)]
    geopandas.GeoDataFrame({"id": ["a", "b"], "kind": ["tree", "tree"]}, geometry=shapes, crs=4326).to_file(
        folder / "t.gpkg"
    )
    only_fault(folder, "t.gpkg: b:", "latitude 92")


@pytest.mark.parametrize("end", ["fgb", "shp"])
def test_flatgeobuf_and_shapefile(tmp_path: Path, geopandas: Any, end: str) -> None:
    folder = without_geojson(tmp_path)
    for number, each in enumerate(("parcel", "well", "house")):
        frame(geopandas, slice(number, number + 1)).to_crs(32100).to_file(folder / f"{each}.{end}")
    assert same_places(read_site(folder))


def test_shapefile_without_a_system_takes_that_of_site_toml(tmp_path: Path, geopandas: Any) -> None:
    folder = write(tmp_path)
    tree = geopandas.GeoDataFrame({"kind": ["tree"]}, geometry=[shapely.Point(-111.9995, 46.0005)], crs=4326)
    tree.to_crs(32100).to_file(folder / "tree.shp")
    (folder / "tree.prj").unlink()
    only_fault(folder, "tree.shp:", "an unnamed coordinate system")
    site = read_site(write(tmp_path, site__toml=with_file("tree.shp", epsg=32100)))
    assert site.feature("tree-1").shape.distance(shapely.Point(-111.9995, 46.0005)) < MM_IN_DEGREES


def test_a_code_that_contradicts_the_file(tmp_path: Path, geopandas: Any) -> None:
    folder = write(tmp_path, site__toml=with_file("t.gpkg", epsg=2256))
    tree = geopandas.GeoDataFrame({"kind": ["tree"]}, geometry=[shapely.Point(-111.9995, 46.0005)], crs=4326)
    tree.to_crs(32100).to_file(folder / "t.gpkg")
    only_fault(folder, "t.gpkg:", "NAD83 / Montana", "EPSG:2256")


HOSTILE = (
    '<OGRVRTDataSource><OGRVRTLayer name="trees"><SrcDataSource relativeToVRT="1">{}</SrcDataSource>'
    "</OGRVRTLayer></OGRVRTDataSource>"
)


@pytest.mark.parametrize(
    "name", ["hostile.geojson", "hostile.gpkg", "hostile.fgb", "hostile.shp", "hostile.gpx", "hostile.kml"]
)
def test_a_virtual_source_under_another_name_is_refused(tmp_path: Path, name: str) -> None:
    (tmp_path / "elsewhere").mkdir()
    (tmp_path / "elsewhere" / "trees.csv").write_text("id,kind,WKT\na,tree,POINT (-111.9995 46.0005)\n")
    write(tmp_path, **{name.replace(".", "__"): HOSTILE.format("elsewhere/trees.csv")})
    only_fault(tmp_path, f"{name}:")


def test_gdal_itself_does_not_follow_a_virtual_source_once_we_loaded_it(tmp_path: Path) -> None:
    (tmp_path / "trees.csv").write_text("id,kind,x,y\na,tree,1,2\n")
    (tmp_path / "hostile.gpkg").write_text(HOSTILE.format("trees.csv"))
    script = (
        "import sys; from siteplan.read import gis_file\n"
        "if sys.argv[1] == 'ours': gis_file.gdal()\n"
        "import pyogrio\n"
        "try: print(len(pyogrio.read_dataframe(sys.argv[2], read_geometry=False)))\n"
        "except pyogrio.errors.DataSourceError: print('refused')\n"
    )
    clean = {name: value for name, value in os.environ.items() if name != "OGR_SKIP"}

    def run(how: str) -> str:
        command = [sys.executable, "-c", script, how, str(tmp_path / "hostile.gpkg")]
        return subprocess.run(command, env=clean, capture_output=True, text=True, check=True).stdout.strip()

    assert run("plain") == "1", "the trap is still there without our switch"
    assert run("ours") == "refused"


def test_only_three_drivers_and_the_one_in_memory_are_on(geopandas: Any) -> None:
    import pyogrio

    assert set(pyogrio.list_drivers()) == {"MEM", "ESRI Shapefile", "GPKG", "FlatGeobuf"}


def test_a_damaged_geopackage(tmp_path: Path, geopandas: Any) -> None:
    folder = write(tmp_path)
    frame(geopandas).to_file(folder / "t.gpkg")
    (folder / "t.gpkg").write_bytes((folder / "t.gpkg").read_bytes()[:5000])
    only_fault(folder, "t.gpkg:", "a file that cannot be read")


def test_a_row_with_too_many_values_does_not_make_its_thing_missing(tmp_path: Path) -> None:
    text = table("id,kind,longitude,latitude,name", DEGREES).replace(",house", ",House, new")
    found = faults(without_geojson(tmp_path, points__csv=text))
    assert [line.split(" found ")[0] for line in found] == [f"points.csv:{n}:" for n in range(7, 11)]
