"""Casing height: judged with its error, short at or below grade, never assumed."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from shapely import Point, box

from siteplan.check.wellhead import check_wellhead
from siteplan.rules.model import Wellhead
from siteplan.units import Length
from tests.check.scenes import FT, ROW, feature, requirements, site

INCH = FT / 12
RULE = Wellhead(casing_height=Length(18, "in"), above_flood=Length(24, "in"), citation=ROW)


def verdicts(*features: Any) -> list[str]:
    return [finding.verdict for finding in check_wellhead(site(*features), requirements(wellhead=RULE))]


@pytest.mark.parametrize(
    ("inches", "verdict"),
    [(24.0, "clear"), (18.5, "too close to call"), (16.0, "short"), (0.0, "short"), (None, "not checked")],
)
def test_height_over_finished_grade(inches: float | None, verdict: str) -> None:
    facts = {} if inches is None else {"casing_height": inches * INCH}
    assert verdicts(feature("well", "well", Point(0, 0), **facts)) == [verdict]


def test_a_stated_height_settles_what_was_not_checked() -> None:
    (finding,) = check_wellhead(site(feature("well", "well", Point(0, 0))), requirements(wellhead=RULE))
    assert "Measure casing over finished grade" in finding.settle
    assert finding.required_text == "18 in"


def test_rules_without_a_height_are_no_pass() -> None:
    well = feature("well", "well", Point(0, 0), casing_height=24 * INCH)
    (finding,) = check_wellhead(site(well), requirements(wellhead=None))
    assert finding.verdict == "not checked"
    assert "Ask the authority" in finding.settle


def test_the_flood_height_is_cited_from_its_own_row() -> None:
    other = replace(ROW, row="flood-row")
    rule = replace(RULE, also=(other,))
    well = feature("well", "well", Point(0, 0), casing_height=30 * INCH, ground_elevation=100 * FT)
    flood = feature("flood", "floodplain", box(-5, -5, 5, 5), elevation=100 * FT)
    findings = check_wellhead(site(well, flood), requirements(wellhead=rule))
    assert [finding.citation.row for finding in findings if finding.citation] == ["row", "flood-row"]


def test_over_the_flood_only_where_a_flood_plain_is_drawn_over_the_well() -> None:
    well = feature("well", "well", Point(0, 0), casing_height=30 * INCH, ground_elevation=100 * FT)
    flood = feature("flood", "floodplain", box(-5, -5, 5, 5), elevation=100 * FT)
    away = feature("away", "floodplain", box(50, 50, 60, 60), elevation=100 * FT)
    assert verdicts(well, away) == ["clear"]
    assert verdicts(well, flood) == ["clear", "clear"]
    higher = feature("flood", "floodplain", box(-5, -5, 5, 5), elevation=101 * FT)
    assert verdicts(well, higher) == ["clear", "short"]
    unknown = feature("flood", "floodplain", box(-5, -5, 5, 5))
    assert verdicts(well, unknown) == ["clear", "not checked"]
