"""The take-off on paper: every row and sum against the plan, what is left out, one page, nothing off the paper."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace

import pytest
from sample_plan import DRIVE, FEATURES, FOOT, INCH, SECTIONS, Plan, sample_plan, thing
from set_lines import watch
from shapely import Point, box

from siteplan.document.quantities import quantities_sheet
from siteplan.document.sheet import A4, LETTER, TABLOID, Paper
from siteplan.measure.amounts import Quantity
from siteplan.measure.torn_up import torn_up
from tests.document.printed import pages, sheet_of

CUBIC_YARD = 27 * FOOT**3


def said(plan: Plan, paper: Paper = LETTER) -> str:
    return " ".join(pages(sheet_of(quantities_sheet, plan, paper)))


@pytest.fixture(scope="module")
def plan() -> Plan:
    return sample_plan()


def test_each_row_is_there_with_its_amount_and_its_pieces(plan: Plan) -> None:
    rows = (
        Quantity(item="Dig, in the bank", unit="volume", amount=100 * CUBIC_YARD, order=100 * CUBIC_YARD),
        Quantity(item="Dig, in the pile", unit="volume", amount=125 * CUBIC_YARD, order=125 * CUBIC_YARD),
        Quantity(
            item="1 in PVC conduit",
            unit="length",
            amount=71 * FOOT,
            order=80 * FOOT,
            pieces="8 sticks of 10.0 ft",
        ),
        Quantity(item="Restore, drive", unit="area", amount=50 * FOOT**2, order=50 * FOOT**2),
        Quantity(item="Sweep, 1 in PVC conduit", unit="count", amount=4, order=4),
    )
    text = said(replace(plan, works=replace(plan.works, quantities=rows)))
    for words in (
        "100.0 CY",
        "125.0 CY",
        "Dig, loose in the pile",
        "71.0 ft; 8 sticks of 10.0 ft",
        "50.0 sq ft",
        "Sweep, 1 in PVC conduit 4 no.",
    ):
        assert words in text


def test_prices_and_sums_are_those_of_the_plan(plan: Plan) -> None:
    text = said(plan)
    assert "trench by machine 100.0 ft $500 $800 $1,200 site's own" in text
    assert "tee, and the hole for it 1 no. $60 $120 $250 for scale" in text
    assert "All of these $560 $920 $1,450" in text
    assert "1 of 2 rates are the site's own" in text
    for other in plan.layout.alternatives:
        assert f"{other.name}: " in text
        assert other.why in text


def test_what_is_left_out_is_said_from_the_plan(plan: Plan) -> None:
    text = said(plan)
    assert (
        "4 private lines not located (Building sewer, Effluent line, Propane line, Old pump cable): owner's risk, see the map."
        in text
    )
    assert (
        "Rock: none is drawn. Where it is met, a foot costs $15 to $48, likely $28, instead of $5 to $12"
        in text
    )
    haul_off, bedding = (volume / CUBIC_YARD for volume in (5.1, 4.0))
    assert f"Hauling {haul_off:.1f} CY loose away" in text
    assert f"{bedding:.1f} CY of bedding" in text
    assert "1 short, 1 too close to call, 1 needs approval of the setback review" in text
    old = thing("old", "other_well", "Old well", Point(30, 40))
    ledge = thing("ledge", "ledge", "Ledge", box(1, 1, 2, 2))
    more = said(replace(plan, site=replace(plan.site, features=(*FEATURES, old, ledge))))
    assert "Private lines that nobody drew: one more suspected" in more
    assert "Rock that nobody drew." in more


def test_the_ground_beside_the_trench_is_told_by_what_it_is(plan: Plan) -> None:
    found = re.search(
        r"under the pile and the machine \(yard ([\d.]+) sq ft, drive ([\d.]+) sq ft\)", said(plan)
    )
    assert found is not None
    strip = torn_up(plan.site, plan.requirements, plan.layout, plan.works)
    beside = strip.pile.union(strip.machine)
    on_drive = beside.intersection(DRIVE).area / FOOT**2
    assert float(found[2]) == pytest.approx(on_drive, abs=0.06)
    assert float(found[1]) == pytest.approx(beside.area / FOOT**2 - on_drive, abs=0.06)


def test_six_inches_deeper_by_hand(plan: Plan) -> None:
    """Upright walls 24 in wide: half a foot deeper is 1 CF a foot of trench; pits 15 and 4 CF a foot of depth."""
    long_ft = sum(reach.path.length for reach in plan.layout.reaches) / FOOT
    assert [section.width_m / INCH for section in SECTIONS] == pytest.approx([24.0] * len(SECTIONS))
    pits_cf = 0.5 * (20 - 2.5 * 2) + 2 * 0.5 * (12 - 4 * 2)
    deeper_cy = (long_ft * 2 * 0.5 + pits_cf) / 27
    assert f"6 in deeper all along: {deeper_cy:.1f} CY more in the bank" in said(plan)


def test_it_says_to_call_first(plan: Plan) -> None:
    assert f"call {plan.requirements.locate.call} and wait until every owner has answered" in said(plan)


@pytest.mark.parametrize("paper", [LETTER, TABLOID, A4])
@pytest.mark.parametrize("change", ["plain", "long", "many"])
def test_nothing_runs_off_the_paper(
    monkeypatch: pytest.MonkeyPatch, plan: Plan, paper: Paper, change: str
) -> None:
    changed = CHANGES[change](plan)
    lines = watch(monkeypatch)
    pdf = quantities_sheet(changed, paper)
    assert pdf == quantities_sheet(changed, paper)
    assert change == "many" or len(pages(pdf)) == 1
    for line in lines:
        assert line.left >= 20, line.text
        assert line.right <= paper.width_pt - 20, line.text
        assert 20 <= line.y <= paper.height_pt - 20


def long_names(plan: Plan) -> Plan:
    features = tuple(replace(one, name=f"{one.name} of the Upper Long Hollow Homestead") for one in FEATURES)
    site = replace(plan.site, features=features, name="Upper Long Hollow " * 6)
    return replace(plan, site=replace(site, paper=replace(site.paper, owner="Long " * 12)))


def many_rows(plan: Plan) -> Plan:
    """Forty rows to buy and forty prices."""
    quantities = tuple(
        Quantity(item=f"Sleeve under drive number {n}", unit="length", amount=n, order=n) for n in range(40)
    )
    prices = tuple(replace(plan.works.prices[0], what=f"price {n}") for n in range(40))
    return replace(plan, works=replace(plan.works, quantities=quantities, prices=prices))


CHANGES: dict[str, Callable[[Plan], Plan]] = {
    "plain": lambda plan: plan,
    "long": long_names,
    "many": many_rows,
}
