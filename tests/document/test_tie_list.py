"""The tie list on paper: every place with its distances, nothing clipped, its head on every page."""

from __future__ import annotations

import re
from dataclasses import replace
from math import hypot
from typing import Any

import pytest

from siteplan.document.model import Plan
from siteplan.document.route_sheet import route_sheet
from siteplan.document.sheet import A4, LETTER, TABLOID, Paper
from siteplan.document.tie_list import tie_list
from siteplan.measure.tie_list import KINDS, tie_points
from siteplan.units import Printer
from tests.document.printed import pages, sheet_of
from tests.document.sample_plan import CORNERS, sample_plan
from tests.document.set_lines import watch

FOOT = 0.3048


@pytest.fixture(scope="module")
def plan() -> Plan:
    return sample_plan()


def with_points(plan: Plan, count: int) -> Plan:
    """The plan with so many stations to tape, 1 m apart along the main trench and its branch."""
    first = plan.works.stations[0]
    places = [(reach, float(n)) for reach in plan.layout.reaches for n in range(1, int(reach.length_m))]
    assert len(places) >= count
    stations = []
    for n, (reach, distance_m) in enumerate(places[:count], 1):
        place = reach.path.interpolate(distance_m)
        stations.append(
            replace(
                first,
                reach=reach.name,
                distance_m=distance_m,
                x=place.x,
                y=place.y,
                kind="bend",
                what=f"bend B{n}, 10 deg left",
                section="1" if reach.name == "Main" else "3",
            )
        )
    features = tuple(each for each in plan.site.features if each.kind != "drive")
    works = replace(plan.works, stations=tuple(stations))
    return replace(plan, works=works, site=replace(plan.site, features=features))


def test_corners_have_the_same_numbers_on_every_sheet(plan: Plan) -> None:
    """On the key plan of the route sheet, in its tables, and on the tie list."""
    printer, route, ties = (
        Printer("ft"),
        pages(sheet_of(route_sheet, plan)),
        " ".join(pages(sheet_of(tie_list, plan))),
    )
    codes = {corner.name: f"C{n}" for n, corner in enumerate(plan.works.corners, 1)}
    for name in {name for station in plan.works.stations for name, _ in station.ties}:
        assert route[0].count(f"{codes[name]} {name}") >= 2, "beside the corner and in the table of ties"
    for station in plan.works.stations:
        for name, tape_m in station.ties[:2]:
            assert f"{codes[name]} {name} {printer.number(tape_m)}" in " ".join(route)
    for tie in (tie for point in tie_points(plan.site, plan.layout, plan.works) for tie in point.ties):
        assert ties.count(f"{codes[tie.name]} {tie.name}") >= 2, "beside the corner and in the row"


def test_every_place_is_there_with_its_distances_from_the_coordinates(plan: Plan) -> None:
    text = " ".join(pages(sheet_of(tie_list, plan)))
    places = {corner.name: (corner.x, corner.y) for corner in CORNERS}
    stations = [each for each in plan.works.stations if each.kind in KINDS]
    assert {each.kind for each in stations} == set(KINDS)
    points = tie_points(plan.site, plan.layout, plan.works)
    rows = {
        number: re.search(rf"\b{number} (?:Main|A) \d\+.*?(?= {number + 1} (?:Main|A) \d\+|$)", text)
        for number in range(1, len(points) + 1)
    }
    for point in points:
        row = rows[point.number]
        assert row is not None
        assert 2 <= len(point.ties) <= 3
        for tie in point.ties:
            x, y = places[tie.name]
            assert f"{tie.name} {hypot(x - point.x, y - point.y) / FOOT:.1f}" in row[0]
    for station in stations:
        hundreds, feet = divmod(round(station.distance_m / FOOT, 1), 100)
        assert f"{station.reach} {hundreds:.0f}+{feet:04.1f}" in text
        if station.what != "tee on Main":
            assert station.what.replace(" deg", "°") in text


def test_the_least_cover_is_that_of_the_rules(plan: Plan) -> None:
    """54 in under the yard; 18 in over the conduit (the sample's rules)."""
    text = " ".join(pages(sheet_of(tie_list, plan)))
    row = re.search(r"\b1 Main 0\+00\.0 casing.*?(?= 2 Main)", text)
    assert row is not None
    assert "W 54 E 18" in row[0]
    assert "1.37" in " ".join(pages(sheet_of(tie_list, sample_plan(units="m"))))


def test_its_head_says_what_can_hurt(plan: Plan) -> None:
    texts = pages(sheet_of(tie_list, with_points(plan, 30)))
    assert (
        "TAKE TIES BEFORE BACKFILL. DO NOT ENTER THE TRENCH UNPROTECTED. CALL FOR LOCATES AND WAIT."
        in texts[0]
    )
    assert "Call 811 before you dig." in texts[0]
    assert "Nobody enters at 5.0 ft deep or more without a protective system" in texts[0]
    for text in texts:
        assert "Before backfill. No entry unprotected. Call for locates." in text
        assert "No. Place Tape A Tape B Tape C Cover Photo Initials" in text
        assert "this is not a permit" in text


@pytest.mark.parametrize("paper", [LETTER, A4, TABLOID])
def test_thirty_places_go_over_pages_each_place_once(paper: Paper, plan: Plan) -> None:
    texts = pages(sheet_of(tie_list, with_points(plan, 30), paper))
    assert len(texts) == (2 if paper is TABLOID else 3)
    for n in range(1, 31):
        assert sum(len(re.findall(rf"bend B{n}, 10°", text)) for text in texts) == 1


def test_a_small_site_is_one_page_with_an_empty_row(plan: Plan) -> None:
    assert len(pages(sheet_of(tie_list, with_points(plan, 7)))) == 1


@pytest.mark.parametrize("units", ["ft", "ft-in", "m"])
@pytest.mark.parametrize("paper", [LETTER, A4])
@pytest.mark.parametrize("name", ["", "Upper " + "Long" * 20 + " Hollow"])
def test_nothing_is_clipped(units: Any, paper: Paper, name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    lines = watch(monkeypatch)
    plan = sample_plan(units=units)
    if name:
        features = tuple(replace(each, name=name) for each in plan.site.features)
        corners = tuple(replace(each, name=f"{name} {each.name}") for each in plan.works.corners)
        works = replace(plan.works, corners=corners)
        plan = replace(plan, works=works, site=replace(plan.site, name=name, features=features))
    tie_list(plan, paper)
    assert lines
    for line in lines:
        assert 20 <= line.left <= line.right <= paper.width_pt - 20, line
        assert 20 <= line.y <= paper.height_pt - 20, line
        assert line.size >= 9, line


def test_a_place_that_no_corner_sees_says_so(plan: Plan) -> None:
    """Beyond 200 ft (60.96 m) of the one corner left: only the places beside it can be taped from, and not from all of them."""
    far = replace(plan, works=replace(plan.works, corners=(replace(CORNERS[0], x=38 + 61 + 60),)))
    assert "TOO FEW CORNERS IN SIGHT: tape along the trench too" not in " ".join(
        pages(sheet_of(tie_list, plan))
    )
    text = " ".join(pages(sheet_of(tie_list, far)))
    assert "TOO FEW CORNERS IN SIGHT: tape along the trench too" in text
    assert "point 2" in text


def test_feet_and_inches_print_under_their_name() -> None:
    plan = sample_plan(units="ft-in")
    text = " ".join(pages(sheet_of(tie_list, plan)))
    point = tie_points(plan.site, plan.layout, plan.works)[0]
    halves = round(point.ties[0].tape_m / 0.0254 * 2)
    feet, rest = divmod(halves, 24)
    inches = f"{rest // 2} 1/2" if rest % 2 and rest > 1 else f"{rest / 2:.0f}"
    assert f"{feet}'-{inches}\"" in text
