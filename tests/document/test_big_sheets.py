"""A route of 2,000 ft with 40 hazards, 12 crossings and long names: nothing runs off the paper, nothing lies on other words."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import replace
from functools import cache
from io import BytesIO
from itertools import combinations, groupby
from math import dist
from typing import Any

import numpy as np
import pytest
from big_plan import CROSSINGS, HAZARDS, LONG_M, LONG_NAME, big_plan
from pypdf import PdfReader
from pypdf.generic import ContentStream
from sample_plan import sample_plan
from set_lines import SetLine, watch

from siteplan.document.locate_request import locate_request
from siteplan.document.model import Plan
from siteplan.document.pages import LEAST_PT, MARGIN_PT
from siteplan.document.picture import picture
from siteplan.document.plot_plan import plot_plan
from siteplan.document.quantities import quantities_sheet
from siteplan.document.route_sheet import route_sheet
from siteplan.document.setback_review import setback_review
from siteplan.document.sheet import A3, A4, LETTER, TABLOID, Paper
from siteplan.document.speech import Speech
from siteplan.document.tie_list import tie_list
from siteplan.measure.tie_list import tie_points
from siteplan.units import FOOT_M, INCH_M, Printer
from tests.document.printed import pages, said

PAPERS = (LETTER, TABLOID, A4, A3)
_RISES, _FALLS = 0.72, 0.2
"""Parts of the size that letters rise over their baseline and fall below it."""


@pytest.fixture(scope="module")
def plan() -> Plan:
    return long_site()


@cache
def long_site() -> Plan:
    return big_plan()


@cache
def printed(paper: Paper, language: str) -> tuple[bytes, list[SetLine]]:
    """The route sheet and the lines of text that were set on it, drawn once for all that look at it."""
    with pytest.MonkeyPatch.context() as patch:
        lines = watch(patch)
        pdf = route_sheet(replace(long_site(), say=Speech(language)), paper)
    return pdf, lines


def test_the_site_is_as_large_as_it_says(plan: Plan) -> None:
    assert plan.layout.reaches[0].length_m == pytest.approx(LONG_M, rel=0.01)
    assert len(plan.works.crossings) == CROSSINGS
    assert sum(feature.id.startswith("hazard") for feature in plan.site.features) == HAZARDS
    assert len(LONG_NAME) > 60


def overlaps(lines: list[SetLine]) -> list[tuple[SetLine, SetLine]]:
    """Pairs of lines that lie on each other by more than a point both ways."""
    left, right, y, size = np.array([(line.left, line.right, line.y, line.size) for line in lines]).T
    wide = np.minimum.outer(right, right) - np.maximum.outer(left, left)
    top, low = y + _RISES * size, y - _FALLS * size
    high = np.minimum.outer(top, top) - np.maximum.outer(low, low)
    return [(lines[a], lines[b]) for a, b in np.argwhere(np.triu((wide > 1) & (high > 1), 1))]


@pytest.mark.parametrize(
    ("paper", "language"), [(LETTER, "en"), (LETTER, "es"), (TABLOID, "es"), (A4, "en"), (A3, "en")]
)
def test_nothing_is_cut_off_or_lies_on_other_words(paper: Paper, language: str) -> None:
    _, lines = printed(paper, language)
    assert lines
    assert max(words_on_words(lines).values(), default=0) <= 1  # of some thirty words on a crowded drawing


@pytest.mark.parametrize("paper", [LETTER, A3], ids=lambda paper: paper.name)
@pytest.mark.parametrize(
    "sheet", [tie_list, setback_review, plot_plan, locate_request, quantities_sheet, picture]
)
def test_nothing_of_the_other_sheets_is_cut_off(
    plan: Plan, sheet: Any, paper: Paper, monkeypatch: pytest.MonkeyPatch
) -> None:
    lines = watch(monkeypatch)
    sheet(plan, paper)
    assert max(words_on_words(lines).values(), default=0) <= 4  # of some forty words on a drawing of 2,000 ft


def words_on_words(lines: list[SetLine]) -> Counter[int]:
    """How many words of drawings lie on others, by page; all other words lie apart and on the paper, or this fails."""
    on_drawings: Counter[int] = Counter()
    for page, group in groupby(lines, key=lambda line: line.page):
        level = [line for line in group if line.text.strip() and not line.turned]
        for line in level:
            width, height = line.paper
            assert line.left >= MARGIN_PT - 1, line
            assert line.right <= width - MARGIN_PT + 1, line
            assert MARGIN_PT - 1 <= line.y <= height - MARGIN_PT, line
            assert line.size >= LEAST_PT, line
        for one, other in overlaps(level):
            assert one.of_drawing or other.of_drawing, (one, other)
            on_drawings[page] += 1
    return on_drawings


def test_every_crossing_hazard_and_station_is_there(plan: Plan) -> None:
    text = said(printed(LETTER, "en")[0])
    printer = Printer("ft")
    for n in range(CROSSINGS):
        assert text.count(LONG_NAME.format(n)) >= 2
    for feature in plan.site.features:
        if feature.id.startswith("hazard"):
            assert feature.name in text
    for station in plan.works.stations:
        assert printer.station(station.distance_m) in text
    for held in plan.works.held:
        assert f"Main {printer.station(held.from_m)} to {printer.station(held.to_m)}" in text


def test_a_long_callout_keeps_how_to_pass(plan: Plan) -> None:
    strips = " ".join(text for text in pages(printed(LETTER, "en")[0]) if "Up the page" in text)
    for crossing in plan.works.crossings:
        how = "find it by hand" if crossing.over is None else "deep by record"
        assert re.search(rf"crossing {crossing.number},.{{1,220}}?{how}", strips), crossing.number


def test_two_runs_give_the_same_bytes() -> None:
    assert printed(A3, "en")[0] == route_sheet(big_plan(), A3)


def squares(pdf: bytes) -> list[tuple[float, float]]:
    """Middles of the squares of 6 points on the first page: the corners to tape from."""
    reader = PdfReader(BytesIO(pdf))
    operations = ContentStream(reader.pages[0].get_contents(), reader).operations
    boxes = [[float(part) for part in operands] for operands, operator in operations if operator == b"re"]
    return [(x + 3, y + 3) for x, y, width, height in boxes if width == height == 6]


@pytest.mark.parametrize("paper", PAPERS, ids=lambda paper: paper.name)
@pytest.mark.parametrize("units", ["ft", "m"])
@pytest.mark.parametrize("sheet", [route_sheet, tie_list])
def test_corners_on_the_key_plan_are_to_scale(sheet: Any, units: str, paper: Paper) -> None:
    """Within 0.2 %, from the drawing operators alone: user space is 1/72 in, ISO 32000-1, 8.3.2.3."""
    plan = sample_plan(units=units)  # type: ignore[arg-type]
    pdf = sheet(plan, paper)
    text = PdfReader(BytesIO(pdf)).pages[0].extract_text()
    if units == "ft":
        found = re.search(r"scale 1 in = (\d+) ft", text)
        ratio = float(found[1]) * FOOT_M / INCH_M if found else 0.0
    else:
        found = re.search(r"scale 1:(\d+)", text)
        ratio = float(found[1]) if found else 0.0
    drawn = sorted(dist(a, b) / 72 * INCH_M * ratio for a, b in combinations(squares(pdf), 2))
    used = {name for station in plan.works.stations for name, _ in station.ties}
    if sheet is tie_list:
        points = tie_points(plan.site, plan.layout, plan.works)
        used = {tie.name for point in points for tie in point.ties} | {point.corner for point in points}
    corners = [(corner.x, corner.y) for corner in plan.works.corners if corner.name in used]
    assert len(corners) >= 2
    assert drawn == pytest.approx(sorted(dist(a, b) for a, b in combinations(corners, 2)), rel=0.002)


def test_bookmarks_title_author_and_language(plan: Plan) -> None:
    reader = PdfReader(BytesIO(printed(LETTER, "en")[0]))
    titles = [str(entry.title) for entry in reader.outline]  # type: ignore[union-attr]
    assert len(titles) == len(reader.pages)
    assert titles[0] == "find the line"
    assert any(title.startswith("strip of Main") for title in titles)
    assert titles[-1] == "stations and cuts"
    assert [reader.get_destination_page_number(entry) for entry in reader.outline] == list(  # type: ignore[arg-type]
        range(len(reader.pages))
    )
    assert reader.metadata is not None
    assert reader.metadata.title == f"ROUTE SHEET: {plan.site.name}"
    assert reader.metadata.author == plan.site.paper.contractor
    assert reader.trailer["/Root"]["/Lang"] == "en"  # type: ignore[index]
