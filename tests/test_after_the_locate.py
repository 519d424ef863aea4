"""From the call to the test hole: water and sewer must cross; the plan is made again with what paint and shovel showed."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from siteplan.check.finding import Finding
from siteplan.document.geojson import plan_geojson
from siteplan.document.hazards import hazards
from siteplan.measure.crossing import Crossing
from siteplan.plan import Plan, plan_folder

CASE = Path(__file__).parent / "cases" / "sites" / "sewer_crossing"
FT, IN = 0.3048, 0.0254
COVER_IN, PIPE_IN = 57, 1.315
"""54 in (UPC 609.1 in the layer) and 3 in for a bottom that may be off; outside of 1 in iron-pipe-size PE (ASTM D2239)."""


def planned(folder: Path, marks: str | None) -> Plan:
    shutil.copytree(CASE, folder, dirs_exist_ok=True)
    (folder / "marks.csv").unlink()
    if marks is not None:
        (folder / "marks.csv").write_text(marks)
    return plan_folder(folder, thorough=False)


def with_hole(row: str) -> str:
    """The marks of the case with another test hole."""
    return "".join((CASE / "marks.csv").read_text().splitlines(keepends=True)[:3]) + row + "\n"


def crossed(plan: Plan) -> tuple[Crossing, Finding]:
    (crossing,) = plan.works.crossings
    (finding,) = (each for each in plan.findings if each.topic == "crossing")
    return crossing, finding


def test_before_the_locate_nobody_knows(tmp_path: Path) -> None:
    crossing, finding = crossed(planned(tmp_path, None))
    assert (crossing.depth_known, crossing.over, finding.verdict) == ("unknown", None, "not checked")
    assert "Hand dig a test hole" in finding.settle
    # the owner says where it is, to 15 ft: 18 in and 15 ft each side, the trench square to it
    assert crossing.hand_to_m - crossing.hand_from_m == pytest.approx(2 * (18 * IN + 15 * FT))


def test_a_test_hole_turns_not_checked_into_a_verdict(tmp_path: Path) -> None:
    plan = planned(tmp_path, (CASE / "marks.csv").read_text())
    crossing, finding = crossed(plan)
    assert (crossing.feature, crossing.depth_known, crossing.over) == ("sewer", "seen", True)
    assert crossing.clear_m == pytest.approx((9 * 12 - COVER_IN - PIPE_IN) * IN)
    # 0.1 ft of the tape, and 1/4 in per foot over the foot to the hole and the half foot that its place may be off
    assert crossing.seen is not None
    assert crossing.seen.error_m == pytest.approx(0.1 * FT + 1.5 / 48 * FT, abs=1e-6)
    assert (finding.verdict, finding.method) == ("clear", "depth seen in a test hole")
    assert [each.verdict for each in plan.findings if each.topic == "cover"] == ["clear"]
    # the paint is at 100 ft, the sewer was seen a foot north of it; the well is at 20 ft
    assert crossing.distance_m == pytest.approx(81 * FT, abs=1e-6)
    # still by hand: 18 in each side of the outer edge of a 4 in pipe, and the taping of the paint
    assert crossing.hand_to_m - crossing.hand_from_m == pytest.approx(2 * (18 + 2 + 6) * IN)


@pytest.mark.parametrize(
    ("depth", "verdict", "over"),
    [
        ("74 in", "clear", True),  # 15.7 in left of 12, within 3.4
        ("72 in", "too close to call", True),
        ("66 in", "short", True),
        ("36 in", "short", False),  # 17 in below it are enough, but the rule asks that water passes over
    ],
)
def test_depth_decides_over_or_under_and_the_verdict(
    tmp_path: Path, depth: str, verdict: str, over: bool
) -> None:
    row = f"H1,test_hole,101,101,m1,,,26-1101,2026-11-24,taped,,{depth},4 in,1 ft,north,"
    crossing, finding = crossed(planned(tmp_path, with_hole(row)))
    assert (finding.verdict, crossing.over) == (verdict, over)
    assert any("passes over" in each for each in finding.because) is not over
    assert bool(finding.settle) is (verdict == "too close to call")


def test_a_hole_in_vain_is_recorded_and_says_so(tmp_path: Path) -> None:
    row = "H1,test_hole,101,101,m1,,,,2026-11-24,taped,no,,,,,"
    plan = planned(tmp_path, with_hole(row))
    crossing, finding = crossed(plan)
    assert (crossing.depth_known, finding.verdict) == ("unknown", "not checked")
    assert "Dig on by hand" in finding.settle
    assert any("was not found" in each for each in finding.because)
    assert any("NOT FOUND in test hole H1, 2026-11-24" in each for each in hazards(plan))
    assert plan.site.feature("H1").name == "test hole H1, nothing found"


def test_seen_too_far_away_is_still_unknown_here(tmp_path: Path) -> None:
    row = "H1,test_hole,135,100,m1,,,,2026-11-24,taped,,9 ft,,,,"
    plan = planned(tmp_path, with_hole(row))
    crossing, finding = crossed(plan)
    assert (crossing.depth_known, crossing.their_depth_m, finding.verdict) == ("unknown", None, "not checked")
    assert any(
        "108 in deep in test hole H1, 2026-11-24, 35.0 ft along it: unknown here" in each
        for each in hazards(plan)
    )


def test_what_is_not_marked_stays_as_it_was_drawn(tmp_path: Path) -> None:
    plan = planned(tmp_path, (CASE / "marks.csv").read_text())
    marked, rest = (plan.site.feature(name) for name in ("sewer", "sewer (not marked)"))
    assert (marked.evidence.method, marked.facts["owner"]) == ("marked", "Valley Sewer District")
    assert marked.evidence.zone_m == pytest.approx(18 * IN)
    assert rest.evidence.method == "owner_says"
    assert marked.shape.union(rest.shape).bounds == pytest.approx(
        (10 * FT, 95 * FT, 190 * FT, 101 * FT), abs=1e-6
    )
    assert marked.shape.distance(rest.shape) == pytest.approx(0, abs=1e-9)


def test_the_record_for_a_gis_says_how_the_depth_is_known(tmp_path: Path) -> None:
    plan = planned(tmp_path, (CASE / "marks.csv").read_text())
    rows = {each["id"]: each["properties"] for each in json.loads(plan_geojson(plan))["features"]}
    assert rows["crossing-1"]["depth_known"] == "seen"
    assert [each["hole"] for each in rows["crossing-1"]["test_holes"]] == ["H1"]
    assert (rows["H1"]["kind"], rows["H1"]["photo"]) == ("test_hole", "img_0412.jpg")
    (station,) = (each for each in plan.works.stations if each.kind == "crossing")
    assert station.what == "crossing 1, Old sewer, seen"
