"""The locate request: words against coordinates, white marks, private lines, the log of the owners."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from math import atan2, degrees, hypot
from typing import Any

import pytest
from sample_plan import FEATURES, FOOT, REACHES, RECORD, sample_plan, thing
from set_lines import watch
from shapely import LineString, Point, box

from siteplan.document.dig_words import land_in_words, sides_in_words, trench_in_words
from siteplan.document.locate_answers import answers
from siteplan.document.locate_request import locate_request, locate_request_text
from siteplan.document.model import Plan
from siteplan.document.private_lines import not_located, private_lines
from siteplan.document.sheet import A4, LETTER, TABLOID, Paper
from siteplan.plane.local import LocalGrid
from tests.document.printed import pages, sheet_of

WINDS = {"north": 0, "northeast": 45, "east": 90, "southeast": 135, "south": 180, "southwest": 225}
WINDS |= {"west": 270, "northwest": 315}
WAYS = {"east": (1, 0), "west": (-1, 0), "north": (0, 1), "south": (0, -1)}
BARN = {"southwest": (44, 32), "northwest": (44, 40), "southeast": (54, 32), "northeast": (54, 40)}
"""Corners of the barn of the sample, read off its box(44, 32, 54, 40)."""


def more(plan: Plan, *features: Any) -> Plan:
    return replace(plan, site=replace(plan.site, features=(*plan.site.features, *features)))


@pytest.fixture(scope="module")
def plan() -> Plan:
    return sample_plan()


@pytest.mark.parametrize("reach", REACHES)
def test_start_and_end_lie_where_the_words_put_them(plan: Plan, reach: Any) -> None:
    said = trench_in_words(plan, reach)
    for head, (x, y) in (("It starts", reach.path.coords[0]), ("It ends", reach.path.coords[-1])):
        sentence = next(part for part in said.split(". ") if part.startswith(head))
        corner = BARN[re.search(r"of the (\w+) corner of the Barn", sentence)[1]]  # type: ignore[index]
        east_ft = north_ft = 0.0
        for number, way in re.findall(r"([\d.]+) ft (\w+)", sentence):
            east_ft += float(number) * WAYS[way][0]
            north_ft += float(number) * WAYS[way][1]
        assert east_ft * FOOT == pytest.approx(x - corner[0], abs=0.02)
        assert north_ft * FOOT == pytest.approx(y - corner[1], abs=0.02)
        nearest = min(hypot(x - cx, y - cy) for cx, cy in BARN.values())
        assert hypot(x - corner[0], y - corner[1]) == pytest.approx(nearest), "the nearest corner that stands"


@pytest.mark.parametrize("reach", REACHES)
def test_straights_lead_from_the_start_to_the_end(plan: Plan, reach: Any) -> None:
    parts = re.findall(r"([\d.]+) ft (\w+) \((\d+) deg\) to (bend B\d|the end)", trench_in_words(plan, reach))
    corners = list(reach.path.coords)
    assert len(parts) == len(corners) - 1
    for (long_ft, wind, bearing, _), (x0, y0), (x1, y1) in zip(parts, corners, corners[1:], strict=False):
        assert float(long_ft) * FOOT == pytest.approx(hypot(x1 - x0, y1 - y0), abs=0.02)
        true_deg = degrees(atan2(x1 - x0, y1 - y0)) % 360
        assert float(bearing) == pytest.approx(true_deg, abs=0.51)
        assert abs((WINDS[wind] - true_deg + 180) % 360 - 180) <= 22.5
    assert [end for *_, end in parts][-1] == "the end"


def test_without_north_there_are_tapes_and_no_directions(plan: Plan) -> None:
    loose = replace(plan, frame=LocalGrid())
    said = trench_in_words(loose, REACHES[0])
    for number, name in re.findall(r"([\d.]+) ft from ((?:house|barn) \w+)", said):
        corner = next(one for one in plan.works.corners if one.name == name)
        ends = [Point(REACHES[0].path.coords[n]) for n in (0, -1)]
        tapes_ft = [end.distance(Point(corner.x, corner.y)) / FOOT for end in ends]
        assert any(float(number) == pytest.approx(tape, abs=0.06) for tape in tapes_ft)
    assert "It starts" in said
    assert not re.search(r"\b(north|south|east|west)", said)
    assert sides_in_words(loose) == ""


def test_sides_and_land_are_those_of_the_drawing(plan: Plan) -> None:
    assert sides_in_words(plan).startswith("north and west of the House (proposed)")
    assert land_in_words(plan) == "private land: all of the trench lies inside the property line as drawn"
    features = [one for one in FEATURES if one.id != "parcel"]
    bare = replace(plan, site=replace(plan.site, features=tuple(features)))
    assert land_in_words(bare) == ""
    small = replace(FEATURES[0], shape=box(0, 0, 40, 46))
    over = replace(plan, site=replace(plan.site, features=(small, *features)))
    assert "the trench leaves the property line" in land_in_words(over)
    tight = replace(FEATURES[0], shape=box(8, 0, 61, 46))
    near = replace(plan, site=replace(plan.site, features=(tight, *features)))
    assert land_in_words(near).endswith("the 10.0 ft to be marked reach over it")
    way = thing("row", "right_of_way", "County road right-of-way", box(30, 0, 34, 46))
    assert land_in_words(more(plan, way)).endswith("it crosses County road right-of-way")


def test_answers_come_in_the_order_of_the_call(plan: Plan) -> None:
    asked = [question for question, _ in answers(plan)]
    order = [
        "Caller",
        "Phone",
        "Work for",
        "Type",
        "Equipment",
        "Depth",
        "Explosives",
        "Start",
        "County",
        "Address",
    ]
    order += [
        "Nearest",
        "Parcel",
        "Township",
        "Latitude",
        "Where to mark",
        "Front",
        "Private",
        "Marked",
        "Overhead",
        "Gates",
    ]
    places = [next(n for n, words in enumerate(asked) if words.startswith(head)) for head in order]
    assert places == sorted(places)


def test_the_sheet_says_what_the_text_says(plan: Plan) -> None:
    pdf = " ".join(pages(sheet_of(locate_request, plan)))
    for _, answer in answers(plan):
        if not set(answer) <= {"_"}:
            assert " ".join(answer.split()) in pdf
    text = locate_request_text(plan)
    for line in private_lines(plan):
        assert line.words in pdf
        assert f"{line.number}. {line.words}" in text
    assert "never over 20.0 ft apart" in pdf
    assert "never over 20.0 ft apart" in text


def test_private_lines_are_those_drawn_those_suspected_and_those_asked(plan: Plan) -> None:
    drawn = [line.words for line in private_lines(plan) if line.drawn]
    assert drawn == [
        f"{name} (drawn)" for name in ("Building sewer", "Effluent line", "Propane line", "Old pump cable")
    ]
    assert [feature.id for feature in not_located(plan)] == ["sewer", "effluent", "gas", "cable"]
    old = thing("old", "other_well", "Old well", Point(30, 33), RECORD)
    at_ft = REACHES[1].path.project(Point(34.4, 33)) / FOOT
    found = [line for line in private_lines(more(plan, old)) if "Old well" in line.words]
    assert [line.words for line in found] == [
        f"Suspected: old water line or pump cable, Barn to Old well, near trench A 0+{at_ft:04.1f}"
    ]
    assert found[0].shape is not None
    assert found[0].shape.equals(LineString([(44, 33), (30, 33)]))


def test_the_log_names_the_owners_of_public_lines(plan: Plan) -> None:
    log = pages(sheet_of(locate_request, plan))[-1]
    for words in (
        "telephone company: Telephone line",
        "electric cooperative: Overhead power",
        "Initials",
        "Date, time",
    ):
        assert words in log
    assert "Propane line" not in log
    assert "No digging until each row has an answer" in log


@pytest.mark.parametrize("paper", [LETTER, TABLOID, A4])
@pytest.mark.parametrize("change", ["plain", "long", "many"])
def test_nothing_runs_off_the_paper(
    monkeypatch: pytest.MonkeyPatch, plan: Plan, paper: Paper, change: str
) -> None:
    changed = CHANGES[change](plan)
    lines = watch(monkeypatch)
    pdf = locate_request(changed, paper)
    assert pdf == locate_request(changed, paper)
    assert lines
    for line in lines:
        assert line.left >= 20, line.text
        assert line.right <= paper.width_pt - 20, line.text
        assert 20 <= line.y <= paper.height_pt - 20


def long_names(plan: Plan) -> Plan:
    features = tuple(replace(one, name=f"{one.name} of the Upper Long Hollow Homestead") for one in FEATURES)
    return replace(plan, site=replace(plan.site, features=features, name="Upper Long Hollow " * 6))


def forty_hazards(plan: Plan) -> Plan:
    """Forty private lines and as many owners of public ones."""
    lines = [
        thing(
            f"n{n}",
            "buried_line",
            f"Line {n}",
            LineString([(2 + n, 1), (2 + n, 3)]),
            RECORD,
            facts={"carries": "water", "private": n % 2 == 0, "owner": f"owner {n}"},
        )
        for n in range(40)
    ]
    return more(plan, *lines)


CHANGES: dict[str, Callable[[Plan], Plan]] = {
    "plain": lambda plan: plan,
    "long": long_names,
    "many": forty_hazards,
}
