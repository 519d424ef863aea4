"""The variance appendix: every row that may be asked for, what was tried with its margin, and blanks; only on demand."""

from __future__ import annotations

import re
from dataclasses import replace
from math import hypot
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from shapely import Point

from siteplan.cli import main
from siteplan.document.model import Plan
from siteplan.document.sheet import A4, LETTER, PAPERS, TABLOID, Paper
from siteplan.document.summary import margin_text, measured_text
from siteplan.document.variance import ASKS, to_ask, variance
from siteplan.document.write import DOCUMENTS, VARIANCE, write_documents
from siteplan.units import Printer
from tests.document.printed import said, sheet_of
from tests.document.sample_plan import sample_plan
from tests.document.set_lines import watch
from tests.plans import example

FOOT = 0.3048


@pytest.fixture(scope="module")
def plan() -> Plan:
    return sample_plan()


@pytest.fixture(scope="module")
def cedar() -> Plan:
    return example("cedar-bench")


def test_each_row_with_its_rule_its_numbers_and_its_blanks(plan: Plan) -> None:
    asked, text, printer = to_ask(plan), said(sheet_of(variance, plan)), Printer("ft")
    assert [finding.number for finding in asked] == [1, 2, 3], (
        "not the clear, the advised and the not checked"
    )
    for finding in asked:
        assert f"No. {finding.number}, {finding.what}: {finding.verdict.upper()}" in text
        assert finding.citation is not None
        assert finding.citation.text in text
        assert f"{measured_text(finding, printer)} ±" in text
        assert f"margin {margin_text(finding, printer)}" in text
        for words in finding.because:
            assert words in text
    for words in (
        "Why the distance cannot be met (the applicant writes)",
        "[ ] granted",
        "Recorded with the property",
        "this is not a permit",
    ):
        assert words in text
    assert text.count("Decision, in writing") == len(asked)
    assert not re.search(r"\b(safe|compliant)\b", text.lower())


def test_other_trenches_with_their_distance_to_the_thing(plan: Plan) -> None:
    """The building sewer of the sample runs from (38, 10) to (35, 10); the distance of each other way by its corners."""
    text = said(sheet_of(variance, plan))
    for other in plan.layout.alternatives:
        assert f"Trenches {other.name}" in text
        corners = [xy for path in other.paths for xy in path.coords]
        nearest_m = min(hypot(max(35 - x, 0, x - 38), y - 10) for x, y in corners)
        found = re.search(rf"Trenches {re.escape(other.name)} ?([\d.]+) ft", text)
        assert found
        assert float(found[1]) <= nearest_m / FOOT + 0.05
        assert other.why in text


def test_the_nearest_place_of_the_example_keeps_its_distance_by_the_error(cedar: Plan) -> None:
    """The close call of the example: at the place named the margin is the error, 100 ft and the error from the field."""
    (close,) = to_ask(cedar)
    assert close.error_m is not None
    text = said(sheet_of(variance, cedar))
    tried = re.search(
        r"The well ([\d.]+) ft (\w+): the nearest place that keeps every distance by its error ?([\d.]+) ft",
        text,
    )
    assert tried
    assert float(tried[3]) == pytest.approx(100 + close.error_m / FOOT, abs=0.1)
    assert float(tried[1]) == pytest.approx((close.error_m - (close.margin_m or 0.0)) / FOOT, abs=0.2)
    assert tried[2] == "northwest"


def test_another_source_of_the_site_with_its_own_distance(plan: Plan) -> None:
    old = replace(plan.site.well, id="old-well", name="Old well", shape=Point(50, 43))
    site = replace(plan.site, features=(*plan.site.features, old))
    short = plan.findings[0]
    theirs = replace(
        short, number=14, subject="old-well", verdict="clear", measured_m=40.0, margin_m=40.0 - 100 * FOOT
    )
    text = said(sheet_of(variance, replace(plan, site=site, findings=(*plan.findings, theirs))))
    assert re.search(r"The other source, Old well ?131\.2 ft ?\+31\.2 ft ?clear", text)


@pytest.mark.parametrize("paper", [LETTER, A4, TABLOID])
@pytest.mark.parametrize("name", ["", "Upper " + "Long" * 30 + " Hollow"])
def test_nothing_is_clipped_and_the_bytes_are_the_same(
    paper: Paper, name: str, plan: Plan, monkeypatch: pytest.MonkeyPatch
) -> None:
    lines = watch(monkeypatch)
    features = tuple(replace(one, name=name or one.name) for one in plan.site.features)
    findings = tuple(replace(one, what=name or one.what, settle=name) for one in plan.findings)
    changed = replace(plan, site=replace(plan.site, features=features), findings=findings)
    assert variance(changed, paper) == variance(changed, paper)
    for line in lines:
        assert 20 <= line.left <= line.right <= paper.width_pt - 20, line
        assert 20 <= line.y <= paper.height_pt - 20, line
        assert line.size >= 9


def test_only_on_demand_and_only_if_there_is_something_to_ask(cedar: Plan, tmp_path: Path) -> None:
    names = {path.name for path in write_documents(cedar, tmp_path / "a")}
    assert names == set(DOCUMENTS)
    names = {path.name for path in write_documents(cedar, tmp_path / "b", variance=True)}
    assert names == {*DOCUMENTS, VARIANCE}
    fine = replace(cedar, findings=tuple(one for one in cedar.findings if one.verdict not in ASKS))
    names = {path.name for path in write_documents(fine, tmp_path / "c", variance=True)}
    assert names == set(DOCUMENTS)


def test_the_command_says_when_there_is_nothing_to_ask(
    cedar: Plan, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    found: list[Any] = [cedar]
    monkeypatch.setattr("siteplan.plan.plan_folder", lambda *_, **__: found[0])
    run = CliRunner().invoke(main, ["plan", str(tmp_path), "--variance"])
    assert run.exit_code == 0, run.output
    assert (tmp_path / "plan" / VARIANCE).is_file()
    found[0] = replace(cedar, findings=tuple(one for one in cedar.findings if one.verdict not in ASKS))
    run = CliRunner().invoke(main, ["plan", str(tmp_path), "--out", str(tmp_path / "other"), "--variance"])
    assert run.exit_code == 0
    assert f"No {VARIANCE}: no required setback is short" in run.output
    assert not (tmp_path / "other" / VARIANCE).exists()


def test_every_paper_takes_it(plan: Plan) -> None:
    for paper in PAPERS.values():
        assert sheet_of(variance, plan, paper).startswith(b"%PDF")
