"""findings.json, stations.csv, quantities.csv and route.gpx."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import replace
from xml.etree import ElementTree

import pytest
from shapely import Point

from siteplan.document.gpx import GPX, route_gpx
from siteplan.document.summary import review_table, summary
from siteplan.document.tables import findings_json, quantities_csv, stations_csv
from siteplan.document.write import write_files
from siteplan.errors import SiteplanError
from siteplan.route.drawing_error import Tolerance
from tests.document.sample_plan import sample_plan

TOLERANCE = Tolerance(
    feature="barn",
    name="Barn",
    shift_m=0.5,
    fails="distance",
    row="us-line-building",
    where=Point(44, 36),
    way="water-barn",
)
WPT_ORDER = ["ele", "time", "name", "cmt", "desc", "sym", "type"]


def test_findings_json_holds_each_finding_in_order() -> None:
    plan = sample_plan()
    data = json.loads(findings_json(plan))
    assert [row["number"] for row in data["findings"]] == [finding.number for finding in plan.findings]
    for row, finding in zip(data["findings"], plan.findings, strict=True):
        assert row["verdict"] == finding.verdict
        if finding.margin_m is not None:
            assert row["margin"] == pytest.approx(finding.margin_m, abs=1e-4)
    assert "not a permit" in data["note"]


def test_stations_csv_gives_places_that_lie_on_the_trench() -> None:
    plan = sample_plan()
    rows = list(csv.DictReader(io.StringIO(stations_csv(plan))))
    assert len(rows) == len(plan.works.stations)
    for row, station in zip(rows, plan.works.stations, strict=True):
        place = plan.frame.to_ground(Point(float(row["longitude"]), float(row["latitude"])))
        assert place.distance(Point(station.x, station.y)) < 0.001
        assert float(row["cut_ft"]) == pytest.approx(station.cut_m / 0.3048, abs=0.051)


def test_quantities_csv_has_every_row_with_its_unit() -> None:
    plan = sample_plan()
    rows = list(csv.DictReader(io.StringIO(quantities_csv(plan))))
    assert [row["item"] for row in rows] == [
        *(quantity.item for quantity in plan.works.quantities),
        "Price, trench by machine",
        "Price, tee, and the hole for it",
        "Price, all of these",
    ]
    assert all(row["unit"] in ("ft", "CY", "sq ft", "no.") for row in rows[:-1])
    assert [(row["amount"], row["unit"]) for row in rows[-3:]] == [
        ("100.0", "ft"),
        ("1", "no."),
        ("920", "$"),
    ]
    assert rows[-3]["note"] == "$500 to $1,200, likely $800"
    assert rows[-2]["note"].startswith("$60 to $250, likely $120 (for scale only")
    assert rows[-1]["note"].startswith("$560 to $1,450; pipe, conduit, wire")


def test_findings_json_holds_prices_alternatives_and_tolerances() -> None:
    plan = replace(sample_plan(), tolerances=(TOLERANCE,))
    data = json.loads(findings_json(plan))
    assert data["price"] == {"low": 560.0, "likely": 920.0, "high": 1450.0}
    assert (data["currency"], data["least_price"]) == ("$", 900.0)
    assert [(each["name"], each["price"]) for each in data["alternatives"]] == [
        ("round the drive", 1000.0),
        ("bored under Gravel drive", 1500.4),
    ]
    (tolerance,) = data["tolerances"]
    assert (tolerance["feature"], tolerance["shift_m"], tolerance["fails"]) == ("barn", 0.5, "distance")
    assert "Barn" in tolerance["words"]
    bare = replace(plan.layout, least_price=None, alternatives=())
    assert json.loads(findings_json(replace(plan, layout=bare)))["least_price"] is None


@pytest.mark.parametrize("name", ["=1+2", "+SUM(A1)", "@x", "-2+3"])
def test_no_cell_is_a_formula(name: str) -> None:
    plan = sample_plan()
    stations = tuple(replace(station, what=name) for station in plan.works.stations)
    text = stations_csv(replace(plan, works=replace(plan.works, stations=stations)))
    assert {row["what"] for row in csv.DictReader(io.StringIO(text))} == {"'" + name}


def test_gpx_keeps_the_order_of_its_schema() -> None:
    """GPX 1.1 schema (topografix): metadata, wpt, rte in this order; lat and lon required; name before desc."""
    plan = sample_plan()
    root = ElementTree.fromstring(route_gpx(plan))
    assert root.tag == f"{{{GPX}}}gpx"
    assert root.get("version") == "1.1"
    assert root.get("creator")
    tags = [child.tag.removeprefix(f"{{{GPX}}}") for child in root]
    assert tags == sorted(tags, key=["metadata", "wpt", "rte", "trk"].index)
    assert tags.count("rte") == len(plan.layout.reaches)
    for point in root.iter(f"{{{GPX}}}wpt"):
        assert -90 <= float(point.attrib["lat"]) <= 90
        names = [child.tag.removeprefix(f"{{{GPX}}}") for child in point]
        assert names == sorted(names, key=WPT_ORDER.index)


def test_a_name_with_markup_stays_text() -> None:
    plan = sample_plan()
    hostile = replace(plan, site=replace(plan.site, name='<script>alert("x")</script>\x07'))
    root = ElementTree.fromstring(route_gpx(hostile))
    assert root.findtext(f"{{{GPX}}}metadata/{{{GPX}}}name") == '<script>alert("x")</script>'
    assert json.loads(findings_json(hostile))["site"] == hostile.site.name


def test_the_terminal_says_worst_first_and_never_a_word_it_must_not() -> None:
    plan = sample_plan()
    text = summary(plan) + review_table(plan)
    first = next(finding for finding in plan.findings if finding.verdict == "short")
    assert first.what in text.replace("\n", " ")
    for word in ("compliant", " safe"):
        assert word not in text.lower()
    assert "not a permit" in text.replace("\n", " ")


def test_files_are_written_whole_or_not_at_all(tmp_path: object) -> None:
    from pathlib import Path

    folder = Path(str(tmp_path))
    (folder / "one.txt").write_text("before")
    (folder / "two.txt").mkdir()
    with pytest.raises(SiteplanError, match="cannot write"):
        write_files({folder / "zero.txt": "after", folder / "two.txt" / ".." / "one.txt" / "x": "after"})
    assert (folder / "one.txt").read_text() == "before"
    assert not list(folder.glob(".*"))
    assert not (folder / "zero.txt").exists()
