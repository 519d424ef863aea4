"""Prices in words: sums, whose rates they are, what sharing saves, and where no sum may stand."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest
from shapely import Point
from shapely.geometry import shape

from siteplan.document.geojson import plan_geojson
from siteplan.document.model import Plan
from siteplan.document.price_list import (
    alternative_words,
    price_words,
    rates_words,
    sharing_words,
    tolerance_words,
)
from siteplan.document.route_sheet import route_sheet
from siteplan.document.summary import summary
from siteplan.route.drawing_error import Tolerance
from tests.document.printed import said, sheet_of
from tests.document.sample_plan import sample_plan


def with_stated(*stated: bool) -> Plan:
    plan = sample_plan()
    prices = tuple(replace(row, stated=each) for row, each in zip(plan.works.prices, stated, strict=True))
    return replace(plan, works=replace(plan.works, prices=prices))


def test_the_price_is_the_sum_of_its_rows() -> None:
    said = price_words(sample_plan())
    assert said.startswith("likely $920, $560 to $1,450: the trench only; pipe, conduit, wire")
    assert "1 of 2 rates are the site's own, the others for scale only" in said


@pytest.mark.parametrize(
    ("stated", "said"),
    [
        ((True, True), "all rates are the site's own"),
        ((False, False), "rates for scale only: state your own in [rates] of site.toml"),
    ],
)
def test_whose_rates_they_are(stated: tuple[bool, bool], said: str) -> None:
    assert rates_words(with_stated(*stated)) == said


@pytest.mark.parametrize(
    ("apart", "said"),
    [
        (1400.0, "$480 less than a trench of its own to each end, at likely rates"),
        (920.4, ""),
        (None, ""),
    ],
)
def test_what_sharing_saves(apart: float | None, said: str) -> None:
    plan = sample_plan()
    assert sharing_words(replace(plan, layout=replace(plan.layout, apart_price=apart))) == said


def test_other_ways_say_length_price_and_why() -> None:
    """Of the first, 11.705 + 24.331 and 31.623 m: 222.0 ft in all."""
    (first, length_and_why), (second, _) = alternative_words(sample_plan())
    assert (first, second) == ("round the drive", "bored under Gravel drive")
    assert length_and_why == "222.0 ft, $1,000: $80 dearer: 12.0 ft more trench."


def test_the_terminal_says_price_sharing_and_other_ways() -> None:
    said = summary(sample_plan())
    assert "  price       likely $920, $560 to $1,450" in said
    assert "  sharing     $480 less" in said
    assert "  or          round the drive: 222.0 ft, $1,000: $80 dearer" in said


def test_only_the_first_tolerances_are_said() -> None:
    near = tuple(
        Tolerance(
            feature="barn",
            name="Barn",
            shift_m=0.5 * n,
            fails="route",
            row="",
            where=Point(0, 0),
            way="water-barn",
        )
        for n in range(12)
    )
    said = tolerance_words(replace(sample_plan(), tolerances=near))
    assert len(said) == 8
    assert said[0].endswith("is short as drawn.")


def test_the_operators_sheet_has_no_sums() -> None:
    text = said(sheet_of(route_sheet, sample_plan()))
    assert "$" not in text
    assert "dearer" not in text
    assert "round the drive" not in text


def test_other_ways_in_plan_geojson() -> None:
    plan = sample_plan()
    data = json.loads(plan_geojson(plan))
    ways = [each for each in data["features"] if each["properties"]["theme"] == "other way"]
    assert [(each["id"], each["properties"]["price"]) for each in ways] == [
        ("other-way-1", 1000.0),
        ("other-way-2", 1500.4),
    ]
    assert ways[0]["geometry"]["type"] == "MultiLineString"
    drawn = plan.frame.to_ground(shape(ways[0]["geometry"]))
    assert drawn.length == pytest.approx(plan.layout.alternatives[0].length_m, abs=0.002)
    assert ways[0]["properties"]["length_m"] == pytest.approx(drawn.length, abs=0.002)
