"""Each folder of example_sites is a test: it plans as its README says."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from io import BytesIO
from pathlib import Path

import pytest
from pypdf import PdfReader
from shapely import LineString, Point, box
from shapely.ops import substring

from siteplan.document.tie_list import tie_list
from siteplan.measure.tie_list import tie_points
from siteplan.plan import plan_site
from siteplan.read import read_site
from siteplan.rules import available_layers
from siteplan.site.catalogue import data_folder
from siteplan.site.evidence import one_sided_m, pair_sigma_m
from tests.plans import example, proven_example

EXAMPLES = sorted(path.parent for path in data_folder("example_sites").glob("*/site.toml"))
FT = 0.3048


def test_the_examples_are_here() -> None:
    assert [path.name for path in EXAMPLES] == ["birch-landing", "cedar-bench"]


@pytest.mark.parametrize("folder", EXAMPLES, ids=lambda path: path.name)
def test_every_example_says_what_to_expect_and_that_it_is_invented(folder: Path) -> None:
    text = (folder / "README.md").read_text(encoding="utf-8")
    assert "What to expect" in text
    assert "invented" in text


@pytest.mark.parametrize("folder", EXAMPLES, ids=lambda path: path.name)
def test_the_trench_keeps_every_distance_that_the_rules_ask(folder: Path) -> None:
    """Measured here from the shapes alone: distance less the error band, against each requirement of a line."""
    plan = example(folder.name)
    laying = plan.site.digging.laying
    asked = [
        setback for setback in plan.requirements.setbacks if setback.subject == "line" and setback.applies
    ]
    assert asked
    for setback in asked:
        thing = plan.site.feature(setback.to)
        band = one_sided_m(pair_sigma_m(laying, thing.evidence), plan.requirements.confidence)
        for name, begin, end in plan.layout.path(setback.of).legs:
            way = substring(plan.layout.reach(name).path, begin, end)
            assert way.distance(thing.shape) >= setback.least.metres + band - 1e-6, setback.citation.row


@pytest.mark.parametrize("folder", EXAMPLES, ids=lambda path: path.name)
def test_the_trench_stays_on_the_parcel_and_out_of_what_is_never_dug(folder: Path) -> None:
    plan = example(folder.name)
    (parcel,) = plan.site.of_kind("parcel")
    for reach in plan.layout.reaches:
        assert parcel.shape.contains(reach.path)
        for feature in plan.site.of_kind(
            "septic_tank", "absorption_area", "reserve_area", "pond", "fuel_tank"
        ):
            assert not reach.path.intersects(feature.shape), feature.id


@pytest.mark.parametrize("folder", EXAMPLES, ids=lambda path: path.name)
def test_every_line_has_the_cover_that_the_rules_ask(folder: Path) -> None:
    plan = example(folder.name)
    for section in plan.works.sections:
        for laid in section.lines:
            least = plan.requirements.cover(laid.line, _cover_class(section.surface)).least_m
            assert least is not None
            bottom = laid.cover_m + laid.outside_m + section.bedding_m
            assert laid.cover_m >= least + plan.site.digging.depth_error_m - 1e-9
            assert bottom <= section.cut_m + 1e-9


def _cover_class(surface: str) -> str:
    from siteplan.site.catalogue import surfaces

    return surfaces()[surface].cover_class


def test_cedar_bench_is_what_its_readme_says() -> None:
    plan = example("cedar-bench")
    text = (data_folder("example_sites") / "cedar-bench" / "README.md").read_text(encoding="utf-8")
    said_ft = re.search(r"one trench tree, about (\d+) ft", text)
    assert said_ft
    assert plan.layout.length_m / FT == pytest.approx(float(said_ft[1]), rel=0.005)
    assert [reach.name for reach in plan.layout.reaches] == ["Main", "A"]
    house = plan.site.feature("house").shape
    end = plan.layout.reach("Main").path.boundary.geoms[1]
    assert house.boundary.distance(end) < 1e-6
    assert end.y == pytest.approx(box(*house.bounds).bounds[3], abs=0.05)  # the north wall
    assert {round(section.cut_m / FT, 1) for section in plan.works.sections} == {5.2}
    close = [finding for finding in plan.findings if finding.verdict == "too close to call"]
    assert [finding.to for finding in close] == ["field"]
    assert close[0].measured_m is not None
    assert close[0].measured_m / FT == pytest.approx(101.5, abs=0.05)
    assert not [finding for finding in plan.findings if finding.verdict == "short"]
    (crossing,) = plan.works.crossings
    assert crossing.feature == "barn-power"
    assert crossing.clear_m is None


@pytest.mark.parametrize("name", ["cedar-bench", "birch-landing"])
def test_what_is_proven_about_the_price_is_what_the_readme_says(name: str) -> None:
    text = (data_folder("example_sites") / name / "README.md").read_text(encoding="utf-8")
    said = re.search(r"more than (\d+) % cheaper: that is proven", text)
    assert said
    layout = proven_example(name).layout
    assert layout.least_price is not None
    assert (1 - int(said[1]) / 100) * layout.price <= layout.least_price <= layout.price
    assert len(layout.alternatives) >= 2
    assert all(other.price >= layout.price for other in layout.alternatives)


def test_cedar_bench_keeps_clear_of_the_roots() -> None:
    """1 ft of radius per inch of trunk: 18 ft for the cottonwood, 12 and 14 ft for the pines, and half the bucket more."""
    plan = example("cedar-bench")
    for tree, radius_ft in (("oak-1", 18), ("oak-2", 12), ("oak-3", 14)):
        for reach in plan.layout.reaches:
            assert reach.path.distance(plan.site.feature(tree).shape) >= (radius_ft + 1) * FT


def test_birch_landing_is_what_its_readme_says() -> None:
    plan = example("birch-landing")
    (missing,) = [
        finding
        for finding in plan.findings
        if finding.topic == "setback" and finding.verdict == "not checked"
    ]
    assert missing.to == "bed"
    assert missing.measured_m == pytest.approx(24.1, abs=0.05)
    assert "casing depth of the well" in missing.settle
    answers = " ".join(missing.because)
    assert re.search(r"15 m, clear", answers)
    assert re.search(r"30 m, short", answers)
    assert [citation.row for citation in plan.requirements.overridden] == ["ca-on-obc-frost"]
    assert any(section.side_slope > 0 for section in plan.works.sections)
    assert len(plan.layout.reaches) == 2


@pytest.mark.parametrize("name", [layer.name for layer in available_layers() if layer.name.count("/") <= 1])
def test_the_example_plans_under_every_rule_set(name: str) -> None:
    """What the law of each place makes of one site: a plan with verdicts, never a crash; a price that is a sum."""
    as_read = read_site(data_folder("example_sites") / "cedar-bench")
    lines = tuple(replace(line, cover_m=1.6 if line.carries == "water" else None) for line in as_read.lines)
    plan = plan_site(replace(as_read, rules=name, lines=lines), thorough=False)
    assert plan.findings
    dug_m = sum(item.amount for item in plan.layout.bill if item.row.startswith("dig-"))
    assert dug_m == pytest.approx(plan.layout.length_m)
    rates = plan.site.rates
    assert plan.layout.price == pytest.approx(
        sum(item.amount * rates[item.row].likely for item in plan.layout.bill)
    )
    for finding in plan.findings:
        assert finding.citation is None or finding.citation.text


def test_the_example_is_plain_geojson() -> None:
    data = json.loads(
        (data_folder("example_sites") / "cedar-bench" / "site.geojson").read_text(encoding="utf-8")
    )
    assert data["type"] == "FeatureCollection"
    assert "crs" not in data


@pytest.mark.parametrize("folder", EXAMPLES, ids=lambda path: path.name)
def test_the_tie_list_holds_every_place_and_no_tape_goes_through_a_wall(folder: Path) -> None:
    """Distances worked out here from the coordinates of the corners, to the step that the sheet prints."""
    plan = example(folder.name)
    unit_m, decimals = (FT, 1) if plan.site.units == "ft" else (1.0, 2)
    pages = PdfReader(BytesIO(tie_list(plan))).pages
    text = " ".join(" ".join(page.extract_text().split()) for page in pages)
    places = {corner.name: Point(corner.x, corner.y) for corner in plan.works.corners}
    walls = [each.shape.buffer(-0.02) for each in plan.site.of_kind("building")]
    points = tie_points(plan.site, plan.layout, plan.works)
    listed = {(reach, round(distance_m, 3)) for point in points for reach, distance_m in point.places}
    for station in plan.works.stations:
        if station.kind in ("start", "end", "bend", "tee", "crossing"):
            assert (station.reach, round(station.distance_m, 3)) in listed
    for point in points:
        assert point.what.replace(" deg", "°") in text
        assert len(point.ties) >= 2 or point.corner
        for tie in point.ties:
            tape = LineString([places[tie.name], (point.x, point.y)])
            assert f"{tie.name} {tape.length / unit_m:.{decimals}f}" in text
            assert not any(wall.intersects(tape) for wall in walls)
