"""Hard sites with the answer known beforehand: a gate in which neither pile nor machine finds room beside the trench.

They come from what the trade asks of a site plan (common practice, no source). Coordinates in feet; prices of
``layers/rates.toml``: $8 a foot to dig, 3 for lawn, 40 for asphalt, 8 to haul the spoil, a bore 400 and at least 1500.
"""

from __future__ import annotations

from math import ceil
from pathlib import Path

import pytest

from siteplan.measure.prices import total
from siteplan.measure.spoil import NO_ROOM
from siteplan.plan import Plan, plan_folder
from siteplan.route.model import Alternative
from tests.hard_site import hard_site_with_water

FT = 0.3048
LAWN, ASPHALT, HAULED, BORE = 8 + 3, 8 + 40, 8, 400 + 1500

SITE = hard_site_with_water("Gate")


def area(own: str, kind: str, west: float, south: float, east: float, north: float, surface: str = "") -> str:
    first, *others = ((west, south), (east, south), (east, north), (west, north))
    rest = "".join(f"{own},,,{x},{y},,,,\n" for x, y in others)
    return f"{own},{kind},area,{first[0]},{first[1]},surveyed,,,{surface}\n{rest}"


def gate(folder: Path, wide_ft: int, *, east_ft: int = 200, site: str = SITE) -> Plan:
    """160 ft from the well to the house, through a gate of 8 ft, the only one, that is paved with asphalt all along."""
    north = 100 + wide_ft
    rows = (
        area("lot", "parcel", 0, 0, 200, 300),
        "well,well,point,100,40,surveyed,24 in,6 in,\n",
        area("house", "building", 80, 200, 120, 240),
        area("drive", "drive", 0, 100, 200, north, "asphalt"),
        area("west", "no_dig", 0, 100, 96, north),
        area("east", "no_dig", 104, 100, east_ft, north),
    )
    folder.mkdir(exist_ok=True)
    (folder / "site.toml").write_text(site)
    head = "id,kind,shape,x,y,method,casing_height,casing_diameter,surface\n"
    (folder / "points.csv").write_text(head + "".join(rows))
    return plan_folder(folder)


def way(plan: Plan, name: str) -> Alternative:
    (found,) = (other for other in plan.layout.alternatives if other.name == name)
    return found


def hauled_ft(plan: Plan) -> float:
    return sum(each.to_m - each.from_m for each in plan.works.intervals if each.what == NO_ROOM) / FT


@pytest.mark.parametrize(("wide_ft", "bored"), [(30, False), (36, True), (42, True)])
def test_what_is_cheaper_with_the_spoil_hauled_is_taken(tmp_path: Path, wide_ft: int, bored: bool) -> None:
    """The trench alone: a bore pays from 1900 / 48 = 39.6 ft. With the spoil hauled, from 1900 / 56 = 33.9 ft."""
    plan = gate(tmp_path, wide_ft)
    rest = (160 - wide_ft) * LAWN
    prices = {True: rest + BORE, False: rest + wide_ft * (ASPHALT + HAULED)}
    assert prices[bored] < prices[not bored]
    assert [each.feature for each in plan.layout.reaches[0].bored] == ["drive"] * bored
    assert hauled_ft(plan) == pytest.approx(0 if bored else wide_ft, abs=0.01)
    assert total(plan.works.prices)[1] == pytest.approx(prices[bored], rel=1e-4)
    other = way(plan, "an open cut through drive" if bored else "bored under drive")
    assert other.price == pytest.approx(prices[not bored], rel=1e-4)
    more_or_less, less_or_more = ("more", "less") if bored else ("less", "more")
    assert f"{wide_ft}.0 ft {more_or_less} with the spoil hauled away" in other.why
    assert other.why.endswith(
        f" It would pay only with {less_or_more} than 33.9 ft of drive on the way; there are {wide_ft}.0 ft."
    )


def test_what_is_proven_holds_for_the_printed_price(tmp_path: Path) -> None:
    """The bound is on the trenches alone, an open cut of 36 ft; the percentage is of the printed price, and says so."""
    plan = gate(tmp_path, 36)
    printed = total(plan.works.prices)[1]
    least = plan.layout.least_price
    assert plan.layout.price == pytest.approx(printed)
    assert least is not None
    trenches = (160 - 36) * LAWN + 36 * ASPHALT
    assert 0.98 * trenches < least <= trenches + 1e-6
    assert least < min(printed, *(other.price for other in plan.layout.alternatives))
    assert f"is more than {ceil(1000 * (1 - least / printed)) / 10:.1f} % cheaper" in plan.layout.certificate


def test_the_trench_goes_round_the_gate_and_leaves_the_machine_its_half(tmp_path: Path) -> None:
    """Without bores, and the gate shut only as far as 130 ft east: round it, half a machine of 6 ft off it, nothing is hauled."""
    plan = gate(tmp_path, 36, east_ft=130, site=SITE.replace("[[line]]", "bore = false\n\n[[line]]"))
    path = plan.layout.reaches[0].path
    shut = plan.site.feature("east").shape
    assert path.distance(shut) / FT == pytest.approx(3.0, abs=0.1)
    assert hauled_ft(plan) == 0
    straight = 124 * LAWN + 36 * (ASPHALT + HAULED)
    longer_ft = path.length / FT - 160
    bends = [item for item in plan.layout.bill if item.row.startswith("bend")]
    printed = total(plan.works.prices)[1]
    # square over the drive, as the straight way goes
    assert printed == pytest.approx(
        124 * LAWN + 36 * ASPHALT + longer_ft * LAWN + sum(item.price for item in bends), rel=2e-3
    )
    assert printed < straight
    through = way(plan, "round the other side of no-dig area")
    assert through.price == pytest.approx(straight, rel=1e-4)
    assert "36.0 ft more with the spoil hauled away" in through.why


def test_spoil_that_is_hauled_and_not_proven_is_said(tmp_path: Path) -> None:
    """The gate is the only way, and nothing is bored: what is hauled is in the price, and in no bound."""
    plan = gate(tmp_path, 36, site=SITE.replace("[[line]]", "bore = false\n\n[[line]]"))
    assert hauled_ft(plan) == pytest.approx(36, abs=0.01)
    printed, least = total(plan.works.prices)[1], plan.layout.least_price
    assert printed == pytest.approx(124 * LAWN + 36 * (ASPHALT + HAULED), rel=1e-4)
    assert least is not None
    assert least <= printed - 36 * HAULED + 1e-6
    assert plan.layout.certificate == (
        f"Proven: no layout that keeps every distance is more than {ceil(1000 * (1 - least / printed)) / 10:.1f} % cheaper "
        "at the likely rates, even one with no spoil to haul and no pull points."
    )
