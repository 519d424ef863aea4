"""Setbacks: distance, error and verdict on the smallest site."""

from __future__ import annotations

import pytest
from shapely import box

from siteplan.check import check, worst_verdict
from siteplan.check.setbacks import check_setbacks, check_unlooked
from siteplan.check.verdicts import judge
from siteplan.route.model import Layout
from siteplan.rules.citation import Citation
from siteplan.rules.model import Unmeasured
from siteplan.site.evidence import Evidence
from siteplan.units import Length
from tests.check.scenes import FT, ROW, feature, requirements, site, well_to, works


def test_a_measured_line_runs_from_the_casing_edge_to_the_nearest_edge() -> None:
    finding = well_to(20.0, casing_m=0.2)
    assert finding.measured_m == pytest.approx(19.9)
    (x0, y0), (x1, y1) = finding.points
    assert (x0, y0) == pytest.approx((0.1, 0.0))
    assert (x1, y1) == pytest.approx((20.0, 0.0))


def test_measured_from_the_casing_centre_where_the_rule_says_so() -> None:
    assert well_to(20.0, casing_m=0.2, from_point="casing centre").measured_m == pytest.approx(20.0)


@pytest.mark.parametrize(("unit", "required", "verdict"), [("m", 15.0, "clear"), ("ft", 50.0, "short")])
def test_the_rules_own_unit_decides(unit: str, required: float, verdict: str) -> None:
    """49.5 ft is 15.09 m: it passes 15 m and fails 50 ft, though tables print them as the same."""
    assert well_to(49.5 * FT, unit, required=required).verdict == verdict


def test_exactly_on_the_limit_without_error_is_clear() -> None:
    assert well_to(50 * FT).verdict == "clear"


def test_a_fuzzy_edge_makes_a_close_call_and_names_what_settles_it() -> None:
    finding = well_to(51 * FT, other=Evidence(method="record", edge_m=3 * FT))
    assert finding.verdict == "too close to call"
    assert finding.error_m == pytest.approx(3 * FT, rel=1e-3)
    assert "true edge of Field" in finding.settle
    assert "1.0 ft or better" in finding.settle


def test_a_shared_outing_cancels() -> None:
    walk = Evidence(method="phone", shared_m=16 * FT, private_m=0.3 * FT, outing="monday")
    other_walk = Evidence(method="phone", shared_m=16 * FT, private_m=0.3 * FT, outing="tuesday")
    assert well_to(52 * FT, well=walk, other=walk).verdict == "clear"
    assert well_to(52 * FT, well=walk, other=other_walk).verdict == "too close to call"


def test_a_shortfall_that_an_authority_may_grant_needs_approval() -> None:
    row = Citation(row="row", layer="us/xx", text="Rule 1", standing="verified", force="by_approval")
    assert well_to(40 * FT, citation=row).verdict == "needs approval"


def test_a_missing_fact_shows_both_answers_and_decides_nothing() -> None:
    either = (("casing 6 m or more", Length(15, "m")), ("any other well", Length(30, "m")))
    finding = well_to(20.0, "m", required=30, missing=("well.casing_depth",), either=either)
    assert finding.verdict == "not checked"
    assert "casing depth of the well" in finding.settle
    text = " | ".join(finding.because)
    assert "casing 6 m or more: 15 m, clear" in text
    assert "any other well: 30 m, short" in text


@pytest.mark.parametrize(("distance", "verdict"), [(40.0, "clear"), (10.0, "short")])
def test_a_missing_fact_that_decides_nothing_does_not_hide_the_verdict(distance: float, verdict: str) -> None:
    either = (("casing 6 m or more", Length(15, "m")), ("any other well", Length(30, "m")))
    finding = well_to(distance, "m", required=30, missing=("well.casing_depth",), either=either)
    assert finding.verdict == verdict


def test_a_row_whose_conditions_do_not_hold_is_not_applicable() -> None:
    finding = well_to(1.0, applies=False, because=("subdivision no",))
    assert finding.verdict == "not applicable"
    assert finding.because == ("subdivision no",)


def test_a_well_inside_the_area_measures_nothing_and_is_short() -> None:
    finding = well_to(-0.5)
    assert finding.measured_m == 0.0
    assert finding.verdict == "short"


def test_nobody_looked_is_never_a_pass() -> None:
    (finding,) = check_unlooked(requirements(unlooked=(("cesspool", ROW),)))
    assert finding.verdict == "not checked"
    assert "cesspool" in finding.what


def test_worst_first_and_numbered() -> None:
    layout = Layout(reaches=(), paths=(), kept_off=(), corridor=box(0, 0, 1, 1), certificate="")
    rules = requirements(unlooked=(("cesspool", ROW), ("privy", ROW)))
    findings = check(site(feature("well", "well", box(0, 0, 1, 1).centroid)), rules, layout, works())
    assert [finding.number for finding in findings] == [1, 2, 3]
    assert {finding.topic for finding in findings} == {"unlooked", "wellhead"}


def test_advised_rows_never_set_the_exit_code() -> None:
    advised = Citation(row="row", layer="us/xx", text="Rule 1", standing="verified", force="advised")
    assert worst_verdict((well_to(40 * FT, citation=advised),)) == "clear"
    assert worst_verdict((well_to(40 * FT),)) == "short"


@pytest.mark.parametrize(
    ("margin", "error", "verdict"),
    [(1.0, 0.5, "clear"), (0.5, 0.5, "clear"), (0.4, 0.5, "too close to call"), (-0.5, 0.5, "short")],
)
def test_judge(margin: float, error: float, verdict: str) -> None:
    assert judge(margin, error) == verdict


GRANT = {"required": 100.0, "approvable": Length(50, "ft"), "approval": "the board of health"}


@pytest.mark.parametrize(
    ("distance", "error", "verdict"),
    [
        (100.0, 0.0, "clear"),
        (99.0, 0.0, "needs approval"),
        (60.0, 0.0, "needs approval"),
        (50.0, 0.0, "needs approval"),
        (49.0, 0.0, "short"),
        (99.0, 3.0, "too close to call"),
        (104.0, 3.0, "clear"),
        (60.0, 3.0, "needs approval"),
        (52.0, 3.0, "too close to call"),
        (48.0, 3.0, "too close to call"),
        (46.0, 3.0, "short"),
    ],
)
def test_what_an_authority_may_grant_is_never_a_pass(distance: float, error: float, verdict: str) -> None:
    """N.J.A.C. 7:9A-4.3 footnote 4: a field 60 ft from a well, 100 ft, down to 50 ft by approval: needs approval."""
    finding = well_to(distance * FT, other=Evidence(method="record", edge_m=error * FT), **GRANT)
    assert finding.verdict == verdict
    assert "may be granted down to 50 ft: the board of health" in finding.because
    if verdict == "too close to call":
        assert f"{1.0 if distance == 99.0 else 2.0} ft" in finding.settle


def test_an_advised_distance_that_may_be_lowered_sets_no_exit_code() -> None:
    advised = Citation(row="row", layer="us/xx", text="Rule 1", standing="verified", force="advised")
    assert worst_verdict((well_to(60 * FT, citation=advised, **GRANT),)) == "clear"
    assert worst_verdict((well_to(60 * FT, **GRANT),)) == "needs approval"


@pytest.mark.parametrize(
    ("distance", "error", "verdict"),
    [
        (-0.5, 0.0, "short"),
        (0.0, 0.0, "short"),
        (0.1, 0.0, "clear"),
        (1.0, 3.0, "too close to call"),
        (-0.5, 3.0, "short"),
    ],
)
def test_a_prohibition_is_broken_by_touching(distance: float, error: float, verdict: str) -> None:
    finding = well_to(distance, required=0.0, prohibit=True, other=Evidence(method="record", edge_m=error))
    assert finding.verdict == verdict
    assert finding.required_text == "never in, under or through"


def test_a_formula_without_a_ceiling_is_never_clear_without_its_fact() -> None:
    given = {
        "missing": ("well.daily_gallons",),
        "either": (("never less than", Length(50, "ft")),),
        "open_top": True,
    }
    assert well_to(500 * FT, **given).verdict == "not checked"
    assert well_to(40 * FT, **given).verdict == "short"
    assert "daily gallons of the well" in well_to(500 * FT, **given).settle


def test_a_multiplier_is_told() -> None:
    finding = well_to(80 * FT, required=100.0, multiplied=("x 2: sensitive well",))
    assert finding.verdict == "short"
    assert "x 2: sensitive well" in finding.because


def test_a_multiplier_names_its_rule_and_whether_anyone_read_it() -> None:
    rule = Citation(row="row", layer="us/xx", text="Rule 7", standing="memory")
    finding = well_to(80 * FT, required=100.0, multiplied=("x 2: sensitive well",), also=(rule,))
    assert finding.because[-2:] == ("x 2: sensitive well", "multiplied by Rule 7 (unconfirmed)")


def test_a_grant_without_words_ends_with_its_number() -> None:
    finding = well_to(60 * FT, required=100.0, approvable=Length(50, "ft"), approval="")
    assert finding.because[-1] == "may be granted down to 50 ft"


@pytest.mark.parametrize(("applies", "verdict"), [(True, "not checked"), (False, "not applicable")])
def test_what_no_plan_can_be_tested_for_is_said_and_not_passed(applies: bool, verdict: str) -> None:
    words = "18 in, measured vertically: water over sewer"
    asked = Unmeasured(
        subject="well",
        of="well",
        to="field",
        words=words,
        missing=("hazard.watertight",),
        applies=applies,
        because=() if applies else ("watertight yes",),
        citation=ROW,
    )
    here, there = (
        feature("well", "well", box(0, 0, 1, 1).centroid),
        feature("field", "absorption_area", box(5, 5, 9, 9)),
    )
    layout = Layout(reaches=(), paths=(), kept_off=(), corridor=box(0, 0, 1, 1), certificate="")
    (finding,) = check_setbacks(site(here, there), requirements(unmeasured=(asked,)), layout, works())
    assert (finding.verdict, finding.what, finding.required_text) == (verdict, "Well to Field", words)
    assert finding.points == ()
    assert "not stated: watertight of the other thing" in finding.because
    assert bool(finding.settle) is applies
