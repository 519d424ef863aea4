"""Hard sites with the answer known beforehand: routes that must turn, share, or pay for depth.

They come from what the trade asks of a site plan (common practice, no source). Coordinates in feet.
"""

from __future__ import annotations

from itertools import pairwise
from math import atan2, degrees, hypot, radians, tan
from pathlib import Path

import pytest
from shapely import Point

from siteplan.plan import Plan, plan_folder
from tests.hard_site import hard_site

FT = 0.3048

SITE = hard_site("Hard routes")

WATER = """
[[line]]
id = "{own}"
carries = "water"
from = "well"
to = "{to}"
product = "pe-1-ips"
"""


def area(own: str, kind: str, west: float, south: float, east: float, north: float) -> str:
    first, *others = ((west, south), (east, south), (east, north), (west, north))
    rest = "".join(f"{own},,,{x},{y},\n" for x, y in others)
    return f"{own},{kind},area,{first[0]},{first[1]},taped\n{rest}"


def planned(folder: Path, *rows: str, site: str) -> Plan:
    (folder / "site.toml").write_text(site)
    (folder / "points.csv").write_text("id,kind,shape,x,y,method\n" + "".join(rows))
    return plan_folder(folder, thorough=False)


def water_to(*ends: str) -> str:
    return "".join(WATER.format(own=f"water_{end}", to=end) for end in ends)


LOT = area("lot", "parcel", 0, 0, 300, 300)
WELL = "well,well,point,150,40,taped\n"


def test_a_house_between_the_well_and_the_only_heated_wall_takes_a_pull_point(tmp_path: Path) -> None:
    """Round the corner and back to the north wall: two right angles, the turn at the corner, and two risers pass 360 deg."""
    power = """
[[line]]
id = "power"
carries = "electric"
from = "well"
to = "house"
closed_sides = ["south", "east", "west"]
product = "pvc-1"
volts = "240 V"
amps = "20 A"
gfci = false
"""
    shut = water_to("house").replace("product", 'closed_sides = ["south", "east", "west"]\nproduct')
    plan = planned(
        tmp_path, LOT, WELL, area("house", "building", 110, 120, 190, 160), site=SITE + shut + power
    )
    ways = [[(x / FT, y / FT) for x, y in plan.layout.way(line).coords] for line in ("water_house", "power")]
    for way in ways:
        assert way[-1][1] == pytest.approx(160, abs=0.05)  # the north wall
        assert (
            min(abs(x - 150) for x, y in way if y > 115) > 38
        )  # beside a house 40 ft to either side, or near its corner
    heads = [degrees(atan2(n - y, e - x)) for (x, y), (e, n) in pairwise(ways[1])]
    plan_deg = sum(abs((after - before + 180) % 360 - 180) for before, after in pairwise(heads))
    assert plan_deg + 180 > 360  # two risers of 90 deg
    pulls = [pull for pull in plan.works.pulls if pull.line == "power"]
    assert len(pulls) == 2
    assert sum(pull.sum_deg for pull in pulls) < plan_deg + 180  # the bend at the pull point is in neither
    assert sum(pull.risers_deg for pull in pulls) == 180
    assert all(pull.sum_deg <= pull.limit.value == 360 for pull in pulls)
    assert pulls[0].end == pulls[1].start
    assert "P1" in str(pulls[0].end)


def test_two_houses_a_barn_and_two_hydrants_share_the_trench(tmp_path: Path) -> None:
    """One trench to where the ways to the hydrants part at 120 deg; every line reaches; less than half of separate trenches."""
    ends = ("house", "guest", "barn", "h1", "h2")
    plan = planned(
        tmp_path,
        LOT,
        WELL,
        area("house", "building", 60, 180, 90, 210),
        area("guest", "building", 200, 180, 230, 210),
        area("barn", "building", 130, 240, 170, 270),
        "h1,hydrant,point,120,150,taped\n",
        "h2,hydrant,point,180,150,taped\n",
        site=SITE + water_to(*ends),
    )
    main, *branches = plan.layout.reaches
    assert {run.line for run in main.runs} == {f"water_{end}" for end in ends}
    # The point that sees the well and both hydrants under 120 deg: 30 ft / tan 60 deg short of them
    tee_ft = 150 - 40 - 30 / tan(radians(60))
    (branch,) = (each for each in branches if each.parent == "Main")
    assert branch.parent_m == pytest.approx(tee_ft * FT, abs=0.05)
    assert {run.line for run in branch.runs} == {"water_guest", "water_barn", "water_h2"}
    straight_ft = {"house": hypot(60, 140), "guest": hypot(50, 140), "barn": 200.0, "h1": hypot(30, 110)}
    straight_ft["h2"] = straight_ft["h1"]
    for end in ends:
        way = plan.layout.way(f"water_{end}")
        assert way.coords[0] == pytest.approx((150 * FT, 40 * FT), abs=0.2)
        assert way.length > straight_ft[end] * FT - 0.01
        assert Point(way.coords[-1]).distance(plan.site.feature(end).shape) < 0.05
    dug_ft = sum(reach.path.length for reach in plan.layout.reaches) / FT
    assert dug_ft < sum(straight_ft.values()) / 2


@pytest.mark.parametrize(("ledge_price", "through"), [(20, True), (60, False)])
def test_ledge_is_dug_in_full_or_gone_round_as_is_cheaper_and_nothing_is_credited(
    tmp_path: Path, ledge_price: float, through: bool
) -> None:
    """40 ft of ledge, or 96.4 ft more round it: by hand the turn is at 8 + 96.4 x 11 / 40 = 34.5 a foot, bends apart."""
    rates = f'\n[rates]\nper = "ft"\ndig-machine = 8\nrestore-lawn = 3\ndig-ledge = {ledge_price}\n'
    ledge = area("rock", "ledge", 0, 110, 260, 150)
    plan = planned(
        tmp_path,
        LOT,
        WELL,
        ledge,
        area("house", "building", 110, 200, 190, 240),
        site=SITE + rates + water_to("house"),
    )
    round_ft = hypot(110, 70) + 40 + hypot(70, 50)
    assert round_ft - 160 == pytest.approx(96.4, abs=0.1)
    if through:
        assert plan.layout.length_m / FT == pytest.approx(160, abs=0.5)
    else:
        assert round_ft - 1 <= plan.layout.length_m / FT <= round_ft + 12
    asked = {
        round(laid.required.least_m / FT * 12, 6) for section in plan.works.sections for laid in section.lines
    }
    assert asked == {54.0}  # 42 in of frost and 12 in more, in ledge as elsewhere
    assert min(section.cut_m for section in plan.works.sections) / FT > 54 / 12


def test_a_drive_is_crossed_or_gone_round_and_the_other_way_has_its_price(tmp_path: Path) -> None:
    """A gravel drive of 12 ft right in the way; round its end it is 96 ft farther, at 11 a foot."""
    rates = '\n[rates]\nper = "ft"\ndig-machine = 8\nrestore-lawn = 3\nrestore-gravel = 30\n'
    drive = area("drive", "drive", 0, 110, 260, 122)
    (tmp_path / "site.toml").write_text(SITE + rates + water_to("house"))
    rows = LOT + WELL + drive + area("house", "building", 110, 200, 190, 240)
    (tmp_path / "points.csv").write_text("id,kind,shape,x,y,method\n" + rows)
    layout = plan_folder(tmp_path).layout
    assert layout.length_m / FT == pytest.approx(160, abs=0.5)
    straight = 160 * 8 + 148 * 3 + 12 * 30
    assert layout.price == pytest.approx(straight, rel=0.03)
    assert layout.least_price is not None
    assert layout.least_price >= 0.98 * layout.price
    [other] = [each for each in layout.alternatives if each.name.startswith("round")]
    round_ft = hypot(110, 70) + 12 + hypot(70, 78)
    assert other.price == pytest.approx(round_ft * 11, rel=0.1)
    assert "less of" in other.why
    assert "more trench" in other.why
