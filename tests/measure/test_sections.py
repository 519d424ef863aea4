"""How deep, how wide, and how the lines of one trench lie."""

from __future__ import annotations

import pytest
from trench_scene import (
    FT,
    IN,
    PIPE_OD_M,
    POWER,
    WATER,
    layout,
    line,
    reach,
    requirements,
    separation,
    site,
)

from siteplan.errors import InputFaults
from siteplan.measure import measure
from siteplan.measure.model import Section

STRAIGHT = layout(reach((0, 0), (30, 0)))
SHARED = layout(reach((0, 0), (30, 0), lines=("water", "power")))


# Minnesota 4714.609.1 (read, verified): 12 in below a frost depth of 42 in makes 54 in of cover; 6 in below it, as in the model
# plumbing code form (secondary), makes 48 in. Outside diameter of 1 in IPS pipe 1.315 in. The trench is deeper than the cover.
@pytest.mark.parametrize(("cover_in", "bottom_in"), [(42 + 12, 59.315), (42 + 6, 53.315), (48 + 12, 65.315)])
def test_bottom_is_cover_and_pipe_and_bedding(cover_in: float, bottom_in: float) -> None:
    works = measure(site(), requirements(cover_in * IN), STRAIGHT, None)
    assert works.sections[0].cut_m == pytest.approx(bottom_in * IN, abs=1e-9)
    assert {station.cut_m for station in works.stations} == {works.sections[0].cut_m}


def test_trench_is_deeper_by_what_the_dig_may_be_off() -> None:
    section = only_section(depth_error_m=3 * IN)
    assert section.lines[0].cover_m == pytest.approx(57 * IN)


def test_deeper_of_rules_and_own_design_governs() -> None:
    deep, shallow = (
        measure(site(lines=(line(cover_m=cover * IN),)), requirements(), STRAIGHT, None).sections[0]
        for cover in (60, 20)
    )
    assert deep.lines[0].cover_m == pytest.approx(60 * IN)
    assert shallow.lines[0].cover_m == pytest.approx(54 * IN)
    assert deep.lines[0].required.least_m == pytest.approx(54 * IN)


def test_rules_without_a_number_ask_for_one_for_each_line() -> None:
    with pytest.raises(InputFaults) as caught:
        measure(site(lines=(WATER, POWER)), requirements(None), SHARED, None)
    assert [fault.where for fault in caught.value.faults] == ["water", "power"]
    assert {(fault.file, fault.line) for fault in caught.value.faults} == {("site.toml", 7)}
    assert "ask the authority" in caught.value.faults[0].mend
    own = site(lines=(line(cover_m=1.2), line("power", "electric", "pvc-1", cover_m=0.6)))
    assert measure(own, requirements(None), SHARED, None).sections[0].cut_m == pytest.approx(
        1.2 + PIPE_OD_M + 4 * IN
    )


def test_two_lines_lie_apart_on_the_bottom_about_the_centreline() -> None:
    rules = requirements(
        {"water": 54 * IN, "power": 18 * IN}, separations=[separation("water", "power", beside_m=12 * IN)]
    )
    section = measure(site(lines=(WATER, POWER)), rules, SHARED, None).sections[0]
    water, power = section.lines
    assert water.offset_m == pytest.approx(-power.offset_m)
    assert water.offset_m - power.offset_m - PIPE_OD_M == pytest.approx(12 * IN)
    assert power.cover_m == pytest.approx(water.cover_m)
    assert section.governed_by.line == "water"
    assert section.width_m == pytest.approx(24 * IN)
    narrow = measure(site(lines=(WATER, POWER), bucket_m=0.3), rules, SHARED, None).sections[0]
    assert narrow.width_m == pytest.approx(12 * IN + 2 * PIPE_OD_M + 2 * 0.1)


def test_where_the_rules_are_silent_lines_keep_a_hand_apart() -> None:
    water, power = measure(site(lines=(WATER, POWER)), requirements(), SHARED, None).sections[0].lines
    assert water.offset_m - power.offset_m - PIPE_OD_M == pytest.approx(0.1)


def test_shelf_lifts_one_line_over_the_other_and_deepens_the_trench_if_it_must() -> None:
    shelf = separation("power", "water", beside_m=0.3, shelf_m=0.3)
    rules = requirements({"water": 1.0, "power": 0.4}, separations=[shelf])
    water, power = measure(site(lines=(WATER, POWER)), rules, SHARED, None).sections[0].lines
    assert (water.cover_m, power.cover_m) == pytest.approx((1.0, 0.7 - PIPE_OD_M))
    tight = requirements({"water": 1.0, "power": 0.9}, separations=[shelf])
    section = measure(site(lines=(WATER, POWER)), tight, SHARED, None).sections[0]
    assert section.lines[1].cover_m == pytest.approx(0.9)
    assert section.lines[0].cover_m == pytest.approx(0.9 + PIPE_OD_M + 0.3)
    assert section.governed_by.line == "power"


def test_a_shelf_may_stand_on_a_shelf() -> None:
    data = line("data", "communications", "pvc-1")
    shelves = [separation("data", "power", shelf_m=0.2), separation("power", "water", shelf_m=0.3)]
    rules = requirements({"water": 1.5, "power": 0.4, "data": 0.4}, separations=shelves)
    at = site(lines=(data, POWER, WATER))
    three = layout(reach((0, 0), (30, 0), lines=("data", "power", "water")))
    laid = {each.line: each for each in measure(at, rules, three, None).sections[0].lines}
    assert list(laid) == ["water", "power", "data"]
    assert laid["power"].cover_m == pytest.approx(1.5 - 0.3 - PIPE_OD_M)
    assert laid["data"].cover_m == pytest.approx(1.5 - 0.5 - 2 * PIPE_OD_M)


@pytest.mark.parametrize(
    ("entered", "cover_in", "soil", "slope"),
    [
        (False, 60, "common_earth", 0.0),
        (True, 54, "common_earth", 0.0),  # 59.3 in, less than 5 ft
        (True, 60, "common_earth", 1.5),
        (True, 60, "clay", 1.0),
        (True, 60, "rock", 0.0),
    ],
)
def test_walls_slope_where_somebody_enters_past_five_feet(
    entered: bool, cover_in: float, soil: str, slope: float
) -> None:
    section = only_section(cover_in, entered=entered, soil=soil)
    assert section.side_slope == slope
    assert section.top_width_m == pytest.approx(24 * IN + 2 * slope * section.cut_m)


def test_five_feet_exactly_counts() -> None:
    assert only_section(60 - 4 - 1.315, entered=True).cut_m == pytest.approx(5 * FT)
    assert only_section(60 - 4 - 1.315, entered=True).side_slope == 1.5


def only_section(cover_in: float = 54, **digging: object) -> Section:
    return measure(site(**digging), requirements(cover_in * IN), STRAIGHT, None).sections[0]
