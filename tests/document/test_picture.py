"""The owner's picture: one page, large letters, what it says against the plan, what it draws where."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace

import pytest
from sample_plan import BRANCH, FEATURES, FOOT, MAIN, Plan, sample_plan, thing
from set_lines import watch
from shapely import LineString, Point, box

from siteplan.document.picture import picture
from siteplan.document.sheet import A4, LETTER, TABLOID, Paper
from siteplan.measure.torn_up import torn_up
from siteplan.measure.way_in import way_in
from siteplan.measure.work_days import days_of
from tests.document.printed import pages, sheet_of

JARGON = (
    r"\b(station|tolerance|casing|absorption|easement|layer|polygon|SCH|OSHA|CY|LF|station|azimuth|datum)\b"
)


def said(plan: Plan, paper: Paper = LETTER) -> str:
    return " ".join(pages(sheet_of(picture, plan, paper)))


@pytest.fixture(scope="module")
def plan() -> Plan:
    return sample_plan()


def test_the_words_are_those_of_the_plan(plan: Plan) -> None:
    text = said(plan)
    long_ft = (MAIN.length + BRANCH.length) / FOOT
    deepest_ft = max(station.cut_m for station in plan.works.stations) / FOOT
    assert f"trench {long_ft:.1f} ft long, 2.0 ft wide, up to {deepest_ft:.1f} ft deep" in text
    ground_ft2 = torn_up(plan.site, plan.requirements, plan.layout, plan.works).ground.area / FOOT**2
    assert f"In all {ground_ft2:.1f} sq ft" in text
    days = days_of(plan.layout, plan.works)
    assert f"Open about {days.few} to {days.many} work days (a guess)." in text
    assert "likely $920, from $560 to $1,450. Rough, no offer." in text
    assert "harm to your 4 unmarked lines" in text
    assert "Building sewer, Effluent line, Propane line and 1 more" in text
    assert f"No digging before {plan.requirements.locate.call} was called" in text
    assert "Overhead wires" in text
    assert "this is not a permit" in text


def test_what_is_not_so_is_not_said(plan: Plan) -> None:
    features = tuple(one for one in FEATURES if one.kind not in ("overhead_line", "tree", "parcel"))
    sections = tuple(replace(one, surface="yard") for one in plan.works.sections)
    prices = tuple(replace(one, stated=True) for one in plan.works.prices)
    changed = replace(
        plan,
        site=replace(plan.site, features=features),
        works=replace(plan.works, sections=sections, prices=prices),
    )
    text = said(changed)
    for words in ("Overhead", "tree", "Cars out", "Rough", "MACHINE COMES IN"):
        assert words not in text
    assert "Machine comes in: ____" in text
    told = replace(changed.site, digging=replace(changed.site.digging, way_in="north gate, along the fence"))
    assert "Machine comes in: north gate, along the fence." in said(replace(changed, site=told))


def test_letters_are_large_and_words_plain(monkeypatch: pytest.MonkeyPatch, plan: Plan) -> None:
    lines = watch(monkeypatch)
    text = " ".join(pages(picture(plan, LETTER)))
    body = [line for line in lines if 27.5 + 44 < line.y < LETTER.height_pt - 27.5 - 40]
    assert body
    small = [line.text for line in body if line.size < 14]
    assert all(re.fullmatch(r"N|scale .*|[\d.]+( ft)?", words) for words in small), small
    assert not re.findall(JARGON, text.replace("Absorption area", ""))
    assert not re.search(r"\b(safe|compliant)", text, re.IGNORECASE)


def test_the_way_in_is_where_the_drive_meets_the_line(plan: Plan) -> None:
    """The drive of the sample, 30 to 34 wide, runs up to y = 46, the north side of the parcel."""
    assert way_in(plan.site) == ("drive", Point(32, 46))
    assert "MACHINE COMES IN" in said(plan)
    inside = tuple(replace(one, shape=box(30, 17, 34, 40)) if one.id == "drive" else one for one in FEATURES)
    assert way_in(replace(plan.site, features=inside)) is None
    near = tuple(replace(one, shape=box(30, 17, 34, 45)) if one.id == "drive" else one for one in FEATURES)
    found = way_in(replace(plan.site, features=near))
    assert found is not None
    assert found[1].y == pytest.approx(46)


@pytest.mark.parametrize("paper", [LETTER, TABLOID, A4])
@pytest.mark.parametrize("change", ["plain", "long", "many"])
def test_one_page_and_nothing_off_the_paper(
    monkeypatch: pytest.MonkeyPatch, plan: Plan, paper: Paper, change: str
) -> None:
    changed = CHANGES[change](plan)
    lines = watch(monkeypatch)
    pdf = picture(changed, paper)
    assert pdf == picture(changed, paper)
    assert len(pages(pdf)) == 1
    for line in lines:
        assert line.left >= 20, line.text
        assert line.right <= paper.width_pt - 20, line.text
        assert 20 <= line.y <= paper.height_pt - 20, line.text


def long_names(plan: Plan) -> Plan:
    features = tuple(replace(one, name=f"{one.name} of the Upper Long Hollow Homestead") for one in FEATURES)
    return replace(plan, site=replace(plan.site, features=features, name="Upper Long Hollow " * 6))


def forty_hazards(plan: Plan) -> Plan:
    tanks = [thing(f"t{n}", "fuel_tank", f"Tank {n}", Point(2 + n, 44)) for n in range(20)]
    lines = [
        thing(f"n{n}", "buried_line", f"Line {n}", LineString([(2 + n, 1), (2 + n, 3)])) for n in range(20)
    ]
    return replace(plan, site=replace(plan.site, features=(*FEATURES, *tanks, *lines)))


CHANGES: dict[str, Callable[[Plan], Plan]] = {
    "plain": lambda plan: plan,
    "long": long_names,
    "many": forty_hazards,
}
