"""The two papers of the bid where the plan lacks something: no place, no levels, no prices, nothing opened."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest
from sample_plan import sample_plan
from shapely import LineString

from siteplan.document.model import Plan
from siteplan.document.picture import picture
from siteplan.document.quantities import quantities_sheet
from siteplan.document.sheet import LETTER, Paper
from siteplan.plane.local import LocalGrid
from siteplan.route.model import Bored
from tests.document.printed import said, sheet_of

Sheet = Callable[[Plan, Paper], bytes]
SHEETS: tuple[Sheet, ...] = (quantities_sheet, picture)


@pytest.mark.parametrize("sheet", SHEETS)
def test_without_a_place_levels_prices_or_room(sheet: Sheet) -> None:
    plan = sample_plan()
    works = replace(plan.works, prices=(), quantities=(), spoil=())
    assert said(sheet_of(sheet, replace(plan, works=works, frame=LocalGrid()), LETTER))


@pytest.mark.parametrize("sheet", SHEETS)
def test_a_trench_that_is_bored_through_and_through(sheet: Sheet) -> None:
    plan = sample_plan()
    first = plan.layout.reaches[0]
    whole = replace(
        first,
        path=LineString(first.path.coords),
        bored=(Bored(feature="drive", from_m=0.0, to_m=first.length_m),),
    )
    layout = replace(plan.layout, reaches=(whole, *plan.layout.reaches[1:]))
    assert said(sheet_of(sheet, replace(plan, layout=layout), LETTER))


@pytest.mark.parametrize("sheet", SHEETS)
@pytest.mark.parametrize(
    ("units", "other"), [("ft", r" (m²|m³)"), ("ft-in", r" (m²|m³)"), ("m", r" (CY|sq ft)\b")]
)
def test_one_system_a_sheet_and_one_page(sheet: Sheet, units: Any, other: str) -> None:
    text = said(sheet_of(sheet, sample_plan(units=units), LETTER))
    assert not re.search(other, text)
    assert "sheet 1 of 1" in text


@pytest.mark.parametrize("sheet", SHEETS)
def test_a_way_in_that_is_said_is_only_words(sheet: Sheet) -> None:
    plan = sample_plan()
    site = replace(plan.site, digging=replace(plan.site.digging, way_in="<b>" + "north gate " * 30))
    assert said(sheet_of(sheet, replace(plan, site=site), LETTER))
