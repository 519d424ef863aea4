"""Bills: against the links that the search adds up, which share no arithmetic with them, and against sums by hand."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from priced_scenes import bore, charge, field, random_scene
from shapely import LineString, box

from siteplan.route.priced.bill import bill
from siteplan.route.priced.links import Links
from siteplan.route.scene import Crossed, Patch

BENDS = ((45.0, charge(7, "bend-45")), (90.0, charge(11, "bend-90")))


def test_a_bend_sharper_than_any_is_billed_as_the_sharpest_and_not_allowed() -> None:
    priced = bill(replace(field(), bends=BENDS), LineString([(1, 1), (8, 1), (2, 2)]))
    assert priced.amount("bend-90") == 1.0
    assert "sharper than any bend" in priced.why_not
    assert priced.price == float("inf")


def test_bills_equal_link_prices_on_random_scenes() -> None:
    finite = bored = tolls = 0
    for seed in range(30):
        scene = random_scene(seed)
        starts, ends = np.random.default_rng(seed).uniform(0, 40, (2, 10, 2))
        prices = Links(scene).prices(starts, ends, first=True, last=True)
        for start, end, price in zip(starts, ends, prices, strict=True):
            priced = bill(scene, LineString([start, end]))
            assert priced.price == pytest.approx(price, rel=1e-9), (seed, start, end)
            finite += math.isfinite(priced.price)
            bored += priced.amount("pits") > 0
            tolls += any(item.row.startswith("toll") for item in priced.items)
    assert finite > 150
    assert bored > 30
    assert tolls > 30


def test_items_of_a_bore_and_of_what_is_dug() -> None:
    drive = Patch(
        feature="drive", area=box(0, 10, 40, 14), restore=charge(900, "gravel"), bore=bore(100, 25, least=60)
    )
    items = bill(field(drive), LineString([(20, 5), (20, 20)])).items
    assert [(item.row, item.of, item.amount, item.price) for item in items] == [
        ("dig", "", 11.0, 220.0),
        ("sod", "", 11.0, 110.0),
        ("pits", "drive", 1.0, 100.0),
        ("per-m", "drive", 4.0, 100.0),
    ]
    short = bill(field(drive), LineString([(39.0, 9.0), (39.0, 20.0)]))
    assert short.price == pytest.approx(7 * 30 + 200)
    narrow = Patch(feature="walk", area=box(0, 10, 40, 11), restore=charge(900), bore=bore(100, 25, least=60))
    assert bill(field(narrow), LineString([(20, 5), (20, 20)])).amount("least") == 1


def test_bends_by_class_and_no_bend_on_a_straight_line() -> None:
    scene = field(bends=BENDS)
    line = LineString([(1, 1), (5, 1), (9, 1), (12, 4), (12, 9)])
    assert bill(scene, line).amount("bend-45") == 2
    assert bill(scene, LineString([(1, 1), (5, 1), (5, 9)])).amount("bend-90") == 1
    sharp = bill(scene, LineString([(1, 1), (5, 1), (3, 4)]))
    assert sharp.price == math.inf
    assert "124 degrees" in sharp.why_not


def test_last_legs_are_priced_but_need_not_be_free_and_make_a_bend() -> None:
    scene = field(free=box(0, 0, 40, 38), bends=BENDS)
    line = LineString([(5, 20), (20, 38), (20, 40)])
    assert "leaves the ground" in bill(scene, line).why_not
    whole = bill(scene, line, legs=(False, True))
    assert whole.price == pytest.approx((math.hypot(15, 18) + 2) * 30 + 7)


def test_why_not_names_the_feature() -> None:
    axis = LineString([(0, 20), (40, 20)])
    gas = Crossed(feature="gas", axis=axis, zone=axis.buffer(0.5), toll=charge(5), least_angle_deg=45)
    rail = Patch(feature="rail", area=box(0, 10, 40, 14), shut=True)
    assert "zone of gas" in bill(field(crossed=(gas,)), LineString([(5, 15), (30, 25)])).why_not
    assert "rail" in bill(field(rail), LineString([(5, 5), (5, 18)])).why_not
    assert bill(field(crossed=(gas,)), LineString([(5, 15), (5, 20), (9, 25)])).amount("row") == 1
