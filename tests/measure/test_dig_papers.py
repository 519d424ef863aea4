"""White marks, straights, suspected lines, deeper digs, torn-up ground, fittings, days open: figures worked out by hand."""

from __future__ import annotations

from dataclasses import replace
from math import ceil, pi
from typing import Any

import pytest
from shapely import LineString, Point, box
from trench_scene import FT, HOUSE, IN, POWER, WATER, WELL, feature, layout, line, reach, requirements, site

from siteplan.measure import measure
from siteplan.measure.deeper import SIX_INCHES_M, dig
from siteplan.measure.fittings import joints
from siteplan.measure.suspected import suspected_lines
from siteplan.measure.torn_up import by_surface, torn_up
from siteplan.measure.whereabouts import from_corner, sides_of, straights
from siteplan.measure.white_marks import MOST_SPACING_M, white_marks
from siteplan.measure.work_days import open_days
from siteplan.route.model import Bored

DRIVE = feature("drive", "drive", box(10, -20, 14, 20))


def measured(*features: Any, lines: Any = (WATER,), path: Any = ((0, 0), (30, 0)), **digging: Any) -> Any:
    """Site, rules, layout and works of one trench."""
    here = site(*(features or (WELL, HOUSE)), lines=lines, **digging)
    rules = requirements()
    laid = layout(reach(*path, lines=tuple(one.id for one in lines)))
    return here, rules, laid, measure(here, rules, laid, None)


def test_white_marks_stand_at_ends_and_bends_and_never_far_apart() -> None:
    _, _, laid, works = measured(path=((0, 0), (20, 0), (20, 3), (30, 5)))
    marks = white_marks(laid.reaches[0], works.bends)
    assert marks.at_m[0] == 0.0
    assert marks.at_m[-1] == pytest.approx(laid.reaches[0].length_m)
    for bend in works.bends:
        assert bend.distance_m in marks.at_m
    gaps = [b - a for a, b in zip(marks.at_m, marks.at_m[1:], strict=False)]
    assert 0 < max(gaps) == marks.spacing_m <= MOST_SPACING_M
    assert len(gaps) == ceil(20 / MOST_SPACING_M) + 1 + ceil(104**0.5 / MOST_SPACING_M)


def test_straights_and_sides() -> None:
    _, _, laid, works = measured(path=((0, 0), (20, 20), (30, 20), (30, 5)))
    parts = straights(laid.reaches[0], works.bends)
    assert [round(part.bearing_deg, 6) for part in parts] == [45, 90, 180]
    assert [part.length_m for part in parts] == pytest.approx([800**0.5, 10, 15])
    assert [part.to for part in parts] == ["B1", "B2", ""]
    assert sides_of(HOUSE.shape, [laid.reaches[0].path]) == ("north", "west")


def test_the_nearest_corner_of_a_building_that_stands() -> None:
    shed = feature("shed", "building", box(2, -9, 6, -3))
    found = from_corner(site(WELL, HOUSE, shed), 0.0, 0.0)
    assert found is not None
    assert (found.building, found.side) == ("shed", "NW")
    assert (found.east_m, found.north_m) == pytest.approx((-2, 3))
    to_come = replace(HOUSE, status="proposed")
    assert from_corner(site(WELL, to_come), 0.0, 0.0) is None


def test_a_deeper_dig_and_the_dig_as_planned() -> None:
    """A 24 in trench with upright walls takes 2 ft x 0.5 ft more a foot: 200 ft of it 7.4 CY (trade study: 7 CY)."""
    here, rules, laid, works = measured(path=((0, 0), (200 * FT, 0)), bore=False)
    as_planned = dig(here, rules, laid, works)
    assert as_planned.bank_m3 == pytest.approx(works.volumes.bank_m3)
    assert as_planned.loose_m3 == pytest.approx(works.volumes.loose_m3)
    deeper = dig(here, rules, laid, works, deeper_m=SIX_INCHES_M)
    trench_m3 = 200 * 2 * 0.5 * FT**3
    pits_m3 = ((20 - 2.5 * 2) + (12 - 4 * 2)) * 0.5 * FT**3
    assert deeper.bank_m3 - as_planned.bank_m3 == pytest.approx(trench_m3 + pits_m3)
    assert (trench_m3 / (27 * FT**3)) == pytest.approx(7.4, abs=0.05)
    assert (as_planned.protected_m, deeper.protected_m) == (0.0, pytest.approx(200 * FT))


def test_a_deeper_dig_with_sloped_walls_and_a_bore_is_the_plan_at_nothing_deeper() -> None:
    here, rules, laid, _ = measured(WELL, HOUSE, DRIVE, entered=True)
    one = replace(laid.reaches[0], bored=(Bored(feature="drive", from_m=10.0, to_m=14.0),))
    laid = replace(laid, reaches=(one,))
    for rules in (requirements(), requirements(70 * IN)):
        works = measure(here, rules, laid, None)
        assert dig(here, rules, laid, works).bank_m3 == pytest.approx(works.volumes.bank_m3)


def test_ground_torn_up_by_hand() -> None:
    """30 m of a 0.61 m trench: pile 2 ft back, machine of 8 ft over the trench, all on one lot and clear of the house."""
    here, rules, laid, works = measured(WELL, HOUSE, DRIVE, machine_width_m=8 * FT)
    strip = torn_up(here, rules, laid, works)
    pile = works.spoil[0]
    assert [fit.side for fit in pile.fits] == ["left"]
    assert strip.trench.area == pytest.approx(30 * 2 * FT)
    assert strip.pile.area == pytest.approx(30 * pile.width_m, rel=0.01)
    toe_m = 1 * FT + 2 * FT
    whole_m2 = 30 * (max(4 * FT, 8 * FT - toe_m) - FT + 2 * FT)
    round_the_well_m2 = pi * (3 * FT) ** 2 / 2
    assert whole_m2 - round_the_well_m2 < strip.machine.area < whole_m2
    assert strip.ground.area == pytest.approx(
        strip.trench.area + strip.pile.area + strip.machine.area, rel=1e-3
    )
    assert not strip.ground.intersection(HOUSE.shape).area
    areas = by_surface(here, strip.ground)
    assert areas["drive"] == pytest.approx(strip.ground.intersection(DRIVE.shape).area)
    assert sum(areas.values()) == pytest.approx(strip.ground.area)


def test_couplings_and_tees_of_a_trench_by_hand() -> None:
    """Lines of 100 ft coils and 10 ft sticks: a 30 m trench, 30 m on the map and a full cut up the wall."""
    here, _, _, works = measured(lines=(WATER, POWER))
    rows = {row.item: row for row in works.quantities}
    length_m = dict(works.developed_m)
    sticks = ceil(length_m["power"] / (10 * FT))
    assert rows["Coupling, 1 in PVC conduit"].amount == sticks - 1 + 2
    assert rows["1 in PVC conduit"].pieces == f"{sticks} sticks of 10.0 ft"
    assert length_m["water"] > 100 * FT
    assert rows["Coupling, 1 in PE, IPS, DR 11"].amount == 1
    assert rows["1 in PE, IPS, DR 11"].pieces == "2 coils of 100.0 ft"
    assert rows["Wall sleeve with seal"].amount == 2
    assert not any(item.startswith("Tee") for item in rows)
    soil_shrink = 0.10
    assert rows["Dig, compacted"].amount == pytest.approx(works.volumes.bank_m3 * (1 - soil_shrink))
    assert here.digging.soil == "common_earth"


@pytest.mark.parametrize(
    ("stock_m", "lengths_m", "count"),
    [
        (30, [29], 0),
        (30, [30], 0),
        (30, [30.1], 1),
        (30, [60, 60], 2),
        (30, [20, 20, 20], 1),
        (30, [10, 95], 3),
    ],
)
def test_joints_are_coil_ends_inside_a_line(stock_m: float, lengths_m: list[float], count: int) -> None:
    ends = [sum(lengths_m[: n + 1]) for n in range(len(lengths_m))]
    inside = [n * stock_m for n in range(1, 20) if n * stock_m < ends[-1] and n * stock_m not in ends]
    assert joints(stock_m, lengths_m) == len(inside) == count


def test_suspected_lines_run_where_nothing_is_drawn() -> None:
    tank = feature("tank", "septic_tank", box(20, 8, 22, 10))
    field = feature("field", "absorption_area", box(0, 12, 15, 20))
    here = site(WELL, HOUSE, tank, field)
    laid = layout(reach((0, 0), (30, 0)))
    found = {(one.start, one.end): one for one in suspected_lines(here, laid)}
    assert set(found) == {("house", "tank"), ("tank", "field")}
    assert found["house", "tank"].path.length == pytest.approx(HOUSE.shape.distance(tank.shape))
    assert found["house", "tank"].reach == ""
    sewer = feature("sewer", "building_sewer", LineString([(30, 4), (22, 9)]))
    assert [one.end for one in suspected_lines(site(WELL, HOUSE, tank, field, sewer), laid)] == ["field"]
    to_come = replace(HOUSE, status="proposed")
    assert [one.end for one in suspected_lines(site(WELL, to_come, tank, field), laid)] == ["field"]
    old = feature("old", "other_well", Point(10, -2))
    (line_to_old,) = suspected_lines(site(WELL, HOUSE, old), layout(reach((15, -20), (15, 20))))
    assert (line_to_old.reach, line_to_old.at_m) == ("Main", pytest.approx(18.0))
    neighbours = feature("old", "other_well", Point(10, -40))
    lot = feature("lot", "parcel", box(-30, -30, 60, 30))
    assert suspected_lines(site(lot, WELL, HOUSE, neighbours), laid) == ()


def test_a_second_building_is_asked_about_unless_power_is_drawn_to_it() -> None:
    shed = feature("shed", "building", box(30, 20, 36, 26))
    laid = layout(reach((0, 0), (30, 0)))
    assert [(one.start, one.end) for one in suspected_lines(site(WELL, HOUSE, shed), laid)] == [
        ("house", "shed")
    ]
    wire = feature("wire", "overhead_line", LineString([(33, 5), (33, 20)]))
    assert suspected_lines(site(WELL, HOUSE, shed, wire), laid) == ()


def test_more_to_dig_is_never_sooner_done() -> None:
    """A third to a quarter of 150-300 ft/h is 37.5 to 100 ft/h: 1,200 ft are two to five days of six hours, and the closing."""
    days = open_days(1200 * FT, 0.0, 0)
    assert (days.few, days.many) == (3, 8)
    for machine, hand, bores in ((10.0, 0.0, 0), (0.0, 10.0, 0), (0.0, 0.0, 1)):
        more = open_days(100 + machine, 10 + hand, bores)
        less = open_days(100, 10, 0)
        assert (more.few, more.many) >= (less.few, less.many)
        assert more.few <= more.many


def test_tees_are_counted_where_a_water_line_leaves_another() -> None:
    branch = line("barn", start="water", end="barn")
    barn = feature("barn", "building", box(10, 20, 14, 24))
    here = site(WELL, HOUSE, barn, lines=(WATER, branch))
    laid = layout(
        reach((0, 0), (30, 0)),
        reach(
            (12, 0),
            (12, 20),
            name="A",
            lines=("barn",),
            starts_at="Main",
            ends_at="barn",
            parent="Main",
            parent_m=12.0,
        ),
    )
    rows = {row.item: row.amount for row in measure(here, requirements(), laid, None).quantities}
    assert rows["Tee, 1 in PE, IPS, DR 11"] == 1
