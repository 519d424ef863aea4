"""The price list against a bill made by hand, and the rows that only the measuring knows."""

from __future__ import annotations

from dataclasses import replace

import pytest
from shapely import box
from trench_scene import FT, POWER, WATER, WELL, feature, layout, reach, requirements, site

from siteplan.measure import measure
from siteplan.measure.prices import price_list, total
from siteplan.route.priced.bill import Item
from siteplan.site.rates import rate

OWN = rate(id="tee", name="tee", per="each", prices=[100, 200, 300], source="site")
BILL = (
    Item(row="tee", of="", amount=1.0, price=0.0),
    Item(row="dig-machine", of="", amount=60 * FT, price=0.0),
    Item(row="dig-machine", of="drive", amount=40 * FT, price=0.0),
    Item(row="restore-gravel", of="drive", amount=40 * FT, price=0.0),
)
"""Prices are left 0 on purpose: the list makes its own sums from the amounts."""


def test_sums_by_hand() -> None:
    """Of layers/rates.toml: machine $5, 8, 12 a foot, gravel $2, 4, 8; the tee at the site's own $100, 200, 300."""
    at = replace(site(), rates=site().rates.with_stated({"tee": OWN}))
    rows = price_list(at, BILL, no_room_m=10 * FT, pull_points=2)
    found = [(row.row, row.unit, row.stated, row.low, row.likely, row.high) for row in rows]
    assert [each[:3] for each in found] == [
        ("dig-machine", "length", False),
        ("restore-gravel", "length", False),
        ("tee", "count", True),
        ("pull-point", "count", False),
        ("no-room", "length", False),
    ]
    assert [each[3:] for each in found] == [
        pytest.approx((500, 800, 1200)),
        pytest.approx((80, 160, 320)),
        (100, 200, 300),
        (150, 300, 600),
        pytest.approx((30, 80, 150)),
    ]
    assert rows[0].amount == pytest.approx(100 * FT)
    assert total(rows) == pytest.approx((860, 1540, 2570))


def test_nothing_billed_is_an_empty_list() -> None:
    rows = price_list(site(), (), no_room_m=0.0, pull_points=0)
    assert rows == ()
    assert total(rows) == (0, 0, 0)


ZIGZAG = ((0, 0), (6, 0), (6, 6), (12, 6), (12, 0), (18, 0), (18, 6))
FAR = feature("house", "building", box(14, 6, 22, 12))


def test_pull_points_are_in_the_take_off_and_priced() -> None:
    """Five quarter bends and two risers are 630 degrees, 360 are allowed: one pull point, at the middle bend."""
    at = site(WELL, FAR, lines=(WATER, POWER))
    works = measure(at, requirements(), layout(reach(*ZIGZAG, lines=("water", "power"))), None)
    assert [(pull.start, pull.end, round(pull.sum_deg)) for pull in works.pulls] == [
        ("Well", "pull point P1", 270),
        ("pull point P1", "House", 270),
    ]
    counts = {row.item: row.amount for row in works.quantities if row.unit == "count"}
    assert counts["Pull point"] == 1
    assert counts["Sweep, 1 in PVC conduit"] == 6  # two ends, and four of the five bends
    assert [(row.row, row.amount) for row in works.prices] == [("pull-point", 1)]
    (station,) = [each for each in works.stations if "pull point" in each.what]
    assert station.what == "bend B3, 90 deg right; pull point P1, power line"
    assert station.distance_m == pytest.approx(18.0)


def test_a_conduit_within_the_limit_has_no_pull_point() -> None:
    at = site(WELL, FAR, lines=(WATER, POWER))
    works = measure(at, requirements(), layout(reach(*ZIGZAG[:3], lines=("water", "power"))), None)
    assert "Pull point" not in {row.item for row in works.quantities}
    assert works.prices == ()
