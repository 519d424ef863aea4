"""Small hard sites with the answer known beforehand: each as its heading says, what must come out in the test.

They come from what the trade asks of a setback sheet (common practice, no source).
"""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest
from pypdf import PdfReader
from shapely import LineString, Point, box

from siteplan.check.finding import Finding
from siteplan.check.setbacks import check_setbacks
from siteplan.document.write import DOCUMENTS, write_documents
from siteplan.plan import plan_folder
from siteplan.route.model import Layout, LinePath, Reach, Run
from siteplan.rules.model import Setback
from siteplan.site.evidence import Evidence
from siteplan.site.features import Line
from siteplan.units import Length
from tests.check.scenes import FT, ROW, SOURCE, feature, requirements, site, well_to, works
from tests.read.small_site import SITE_TOML, collection, write
from tests.read.small_site import feature as drawn

TAPED = Evidence(method="taped", private_m=0.5 * FT)


def test_well_51_ft_from_a_field_whose_edge_is_known_to_3_ft() -> None:
    """Too close to call, and the taping that settles it is named: the true edge, then the tape; with its chance."""
    finding = well_to(51 * FT, well=TAPED, other=Evidence(method="record", edge_m=3 * FT))
    assert finding.verdict == "too close to call"
    assert finding.margin_m == pytest.approx(1 * FT)
    assert (
        "Find the true edge of Field (probe or dig), then tape Well to Field: good to 1.0 ft or better"
        in finding.settle
    )
    assert finding.prospect is not None
    assert finding.prospect.clear + finding.prospect.short > 0.7


def laid(*places: tuple[float, float]) -> Finding:
    """A water line at these places [ft], 10 ft asked from a tank between 20 ft and 30 ft along and 13 ft off the straight way."""
    path = LineString([(x * FT, y * FT) for x, y in places])
    reach = Reach(
        name="Main",
        path=path,
        runs=(Run(line="water", from_m=0.0, to_m=path.length),),
        starts_at="well",
        ends_at="house",
    )
    way = LinePath(line="water", legs=(("Main", 0.0, path.length),), entry=Point(path.coords[-1]))
    layout = Layout(reaches=(reach,), paths=(way,), kept_off=(), corridor=box(0, 0, 1, 1), certificate="")
    tank = feature("tank", "septic_tank", box(20 * FT, 13 * FT, 30 * FT, 18 * FT), TAPED)
    water = Line(
        id="water",
        name="Water",
        carries="water",
        start="well",
        end="house",
        product="pe-1-ips",
        source=SOURCE,
    )
    rule = Setback(
        subject="line",
        of="water",
        to="tank",
        least=Length(10, "ft"),
        from_point="nearest edge",
        to_edge="nearest edge",
        citation=ROW,
    )
    at = site(tank)
    at = replace(at, lines=(water,), digging=replace(at.digging, laying=TAPED))
    (finding,) = check_setbacks(at, requirements(setbacks=(rule,)), layout, works())
    return finding


def test_a_trench_curved_3_ft_round_a_boulder_is_too_close_to_call() -> None:
    """Planned 13 ft from the tank, dug 10.2 ft from it: clear as planned, too close to call as dug, short at 9 ft."""
    assert laid((0, 0), (60, 0)).verdict == "clear"
    dug = laid((0, 0), (18, 0), (25, 2.8), (32, 0), (60, 0))
    assert dug.verdict == "too close to call"
    assert dug.measured_m == pytest.approx(10.2 * FT)
    assert dug.chance == pytest.approx(0.755, abs=0.005)  # 0.2 ft at 0.289 ft
    assert "Tape Water to the nearest edge of Tank with a steel tape" in dug.settle
    assert laid((0, 0), (18, 0), (25, 4.0), (32, 0), (60, 0)).verdict == "short"


EAST_FT, NORTH_FT = 1 / 253_600, 1 / 364_600
"""A foot in degrees at 46 N, roughly."""


def spot(east_ft: float, north_ft: float) -> list[float]:
    return [-112.0 + east_ft * EAST_FT, 46.0 + north_ft * NORTH_FT]


def yard(west: float, south: float, east: float, north: float) -> list[list[list[float]]]:
    return [[spot(*at) for at in ((west, south), (east, south), (east, north), (west, north), (west, south))]]


def test_a_site_known_by_phone_under_trees_proves_no_setback_and_still_prints(tmp_path: Path) -> None:
    """Every distance of the well that the rules ask is not proven, each names what settles it, and the sheets say so."""
    trees = {"method": "phone_trees"}
    folder = write(
        tmp_path,
        site__toml=SITE_TOML + 'cover = "60 in"\n',
        site__geojson=collection(
            [
                drawn("land", "parcel", "Polygon", yard(-52, -400, 400, 400), **trees),
                drawn("well", "well", "Point", spot(0, 0), casing_depth="62 ft", **trees),
                drawn("house", "building", "Polygon", yard(-20, -130, 20, -100), **trees),
                drawn("tank", "septic_tank", "Polygon", yard(70, 20, 80, 25), **trees),
                drawn("field", "absorption_area", "Polygon", yard(-40, 85, 40, 115), **trees),
            ]
        ),
    )
    plan = plan_folder(folder, thorough=False)
    well = [
        each
        for each in plan.findings
        if each.topic == "setback" and each.subject == "well" and each.verdict != "not applicable"
    ]
    assert {each.verdict for each in well} <= {"too close to call", "not checked"}
    close = [each for each in well if each.verdict == "too close to call"]
    assert {each.to for each in close} == {"tank", "field", "land"}
    for finding in close:
        assert finding.prospect is not None
        assert any("survey" in said for said in finding.because)
    written = write_documents(plan, tmp_path / "plan")
    pages = PdfReader(tmp_path / "plan" / "setback-review.pdf").pages
    review = " ".join(" ".join(page.extract_text() for page in pages).split())
    assert "TOO CLOSE TO CALL" in review
    asked = {row for each in close if each.citation for row in (each.citation.text,)}
    assert all(" ".join(row.split()) in review for row in asked), "two rules of one pair may share a row"
    assert "chance that it comes out clear" in review
    told = json.loads((tmp_path / "plan" / "findings.json").read_text(encoding="utf-8"))["findings"]
    unproven = [each for each in told if each["verdict"] == "too close to call"]
    assert all(0.05 < each["chance"] < 0.95 and each["prospect"]["measurement"] for each in unproven)
    assert len(written) == len(DOCUMENTS)
