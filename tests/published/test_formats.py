"""What the open standards for files of places say, held against the readers. The source is named beside each check."""

from __future__ import annotations

import sqlite3
from pathlib import Path
from typing import Any

import pytest
import shapely

from siteplan.errors import InputFaults
from siteplan.read import gis_file, read_site
from siteplan.units import coordinate_unit_m

SITE_TOML = """\
[site]
name = "Published"
rules = "us/mt"
units = "ft"

[digging]
bucket = "24 in"
bedding = "4 in"
entered = false
soil = "sand"

[[line]]
id = "water"
carries = "water"
from = "well"
to = "house"
product = "pe-1-ips"

[[file]]
path = "site.kml"
kind = "no_dig"
"""


def site_faults(folder: Path, name: str, text: str) -> str:
    """Everything that is wrong with a folder that holds this one file."""
    (folder / "site.toml").write_text(SITE_TOML.replace("site.kml", name))
    (folder / name).write_text(text)
    with pytest.raises(InputFaults) as caught:
        read_site(folder)
    return str(caught.value)


KML = """\
<?xml version="1.0" encoding="UTF-8"?>
<kml xmlns="http://www.opengis.net/kml/2.2"><Document><Placemark id="place"><Polygon><outerBoundaryIs><LinearRing>
<coordinates>{}</coordinates></LinearRing></outerBoundaryIs></Polygon></Placemark></Document></kml>
"""


@pytest.mark.parametrize(
    ("coordinates", "said"),
    [
        ("-122.1,37.4,0", "site.kml:2: place: found an outline of 1 position"),
        ("-122.1,37.4 -122.0,37.4 -122.0,92 -122.1,37.4", "site.kml:2: place: found the latitude 92"),
    ],
)
def test_kml_that_the_schema_passes_and_a_reader_must_not(
    tmp_path: Path, coordinates: str, said: str
) -> None:
    """OGC CITE ets-kml22: a LinearRing of one tuple, and one with a latitude of 92; own files of the same two defects."""
    assert said in site_faults(tmp_path, "site.kml", KML.format(coordinates))


def test_kml_ring_in_order_passes(tmp_path: Path) -> None:
    """The same file without the defect is not named, so that the check above is one."""
    assert "place" not in site_faults(
        tmp_path, "site.kml", KML.format("-122.01,37.4 -122.0,37.4 -122.0,37.41 -122.01,37.4")
    )


OUTER = [[100, 0], [101, 0], [101, 1], [100, 1], [100, 0]]
HOLE = [[100.8, 0.8], [100.8, 0.2], [100.2, 0.2], [100.2, 0.8], [100.8, 0.8]]


@pytest.mark.parametrize("outer", [OUTER, OUTER[::-1]])
@pytest.mark.parametrize("hole", [HOLE, HOLE[::-1]])
def test_winding_is_taken_either_way(outer: list[list[float]], hole: list[list[float]]) -> None:
    """RFC 7946 section 3.1.6 and appendix A.3: parsers should not reject either order; areas 1.0 and 0.36."""
    from siteplan.read.shapes import area, check_shape

    assert check_shape(area([outer, hole])).area == pytest.approx(1.0 - 0.36, abs=1e-12)


def test_rfc_7946_winding_of_the_example_rings() -> None:
    """RFC 7946 section 3.1.6: the outline is counter-clockwise, the hole clockwise."""
    assert shapely.LinearRing(OUTER).is_ccw
    assert not shapely.LinearRing(HOLE).is_ccw


@pytest.mark.parametrize(
    ("application_id", "taken"),
    [(0x47504B47, True), (0x47503130, True), (0x47503131, True), (0, False), (1196444488, False)],
)
def test_geopackage_header(tmp_path: Path, application_id: int, taken: bool) -> None:
    """OGC 12-128 requirements 1 and 2: SQLite 3 with the application id GPKG (1196444487), earlier GP10 and GP11."""
    path = tmp_path / "t.gpkg"
    database = sqlite3.connect(path)
    database.execute(f"PRAGMA application_id = {application_id}")
    database.execute("PRAGMA user_version = 10200")
    database.execute("CREATE TABLE t (a INTEGER)")
    database.commit()
    database.close()
    assert path.read_bytes()[:16] == b"SQLite format 3\0"
    assert int.from_bytes(path.read_bytes()[68:72]) == application_id
    if taken:
        gis_file._check_first_bytes(path)
    else:
        with pytest.raises(ValueError, match="something else under that name"):
            gis_file._check_first_bytes(path)


GIGS_5103 = {2921: ("ft", 2054436.57, 3527302.73), 3568: ("us-ft", 2054432.46, 3527295.67)}


@pytest.mark.parametrize("epsg", GIGS_5103)
def test_both_feet_of_one_state_plane_zone(epsg: int) -> None:
    """IOGP GIGS test 5103 parts 2 and 3: -110, 41 in Utah North, NAD83(HARN), to 0.03 m."""
    unit, east, north = GIGS_5103[epsg]
    gis_file.check_unit(epsg, unit)
    [moved] = gis_file.reproject([shapely.Point(east, north)], epsg)
    geopandas: Any = gis_file.gdal()[0]
    # back to the datum of the test (EPSG:4152), as siteplan goes on to WGS 84
    [back] = geopandas.GeoSeries([moved], crs=4326).to_crs(4152)
    assert abs(back.y - 41) * 111_000 < 0.03
    assert abs(back.x + 110) * 84_000 < 0.03


def test_the_wrong_foot_is_caught_by_the_unit_and_would_be_four_feet_off() -> None:
    """IOGP GIGS 5103: the two systems differ in the foot alone, by 4.1 ft east and 7.1 ft north at this point."""
    for epsg, wrong in ((2921, "us-ft"), (3568, "ft"), (2921, "m")):
        with pytest.raises(ValueError, match=f'unit "{wrong}"'):
            gis_file.check_unit(epsg, wrong)
    (_, east, north), (_, us_east, us_north) = GIGS_5103.values()
    assert (east - us_east, north - us_north) == (
        pytest.approx(4.11, abs=0.01),
        pytest.approx(7.06, abs=0.01),
    )


def test_survey_foot() -> None:
    """NGS, "Putting the best foot forward" (2019), slide 4: 1200/3937 m, 2 ppm; 2,000,000 and 6,000,000 ft shift 4 and 12 ft."""
    us_ft, ft = coordinate_unit_m("us-ft"), coordinate_unit_m("ft")
    assert us_ft == pytest.approx(0.304800609601, abs=1e-12)
    assert [coordinate * (us_ft / ft - 1) for coordinate in (2_000_000, 6_000_000)] == [
        pytest.approx(4, abs=0.001),
        pytest.approx(12, abs=0.001),
    ]


GPX = """\
<?xml version="1.0"?>
<gpx version="1.1" creator="own" xmlns="http://www.topografix.com/GPX/1/1" xmlns:o="urn:example:other">
<metadata><bounds minlat="1.2" minlon="2.3" maxlat="3.4" maxlon="4.5"/></metadata>
<wpt lat="12.3" lon="45.6"><ele>75.1</ele><time>2013-01-01T02:30:00Z</time><name>A</name><sym>Flag</sym><type>tree</type>
<extensions><o:aaa>bbb</o:aaa></extensions></wpt>
<wpt lat="13.4" lon="46.7"/>
<rte><name>R1</name><rtept lat="10" lon="20"/><rtept lat="11" lon="21"/></rte>
<rte><name>R2</name><rtept lat="30" lon="40"/><rtept lat="31" lon="41"/></rte>
<trk><name>T1</name><trkseg><trkpt lat="1" lon="2"/><trkpt lat="3" lon="4"/></trkseg><trkseg/></trk>
<trk><name>T2</name><trkseg><trkpt lat="5" lon="6"/><trkpt lat="7" lon="8"/></trkseg></trk>
</gpx>
"""


def test_gpx_1_1_with_all_sorts_of_things() -> None:
    """GPX 1.1 schema: two waypoints, two routes, two tracks as in gpxpy's all-fields sample; own file of the same content."""
    from siteplan.read.tracks import read_gpx
    from siteplan.read.words import FaultList

    faults = FaultList()
    contents = read_gpx(GPX, "t.gpx", "t", faults, None)
    assert contents is not None
    assert len(faults) == 0
    shapes = [record.shape for record in contents.records]
    assert [shape.geom_type for shape in shapes if shape] == ["Point"] * 2 + ["LineString"] * 4
    assert [contents.records[0].properties[name] for name in ("name", "kind")] == ["A", "tree"]
