"""Differences of price in words, worked by hand at $8 a foot to dig, $3 to put lawn back and $40 for asphalt."""

from __future__ import annotations

import pytest
from route_scenes import FOOT, line, site, thing
from shapely import Point, box

from siteplan.route.price_words import certificate, why
from siteplan.route.priced.bill import Item

SITE = site(
    [thing("well", "well", Point(0, 0)), thing("drive", "drive", box(0, 0, 1, 1), surface="asphalt")],
    [line("water", "well", "well")],
)


def dug(feet: float) -> Item:
    return Item(row="dig-machine", of="", amount=feet * FOOT, price=8 * feet)


def lawn(feet: float) -> Item:
    return Item(row="restore-lawn", of="", amount=feet * FOOT, price=3 * feet)


def asphalt(feet: float) -> Item:
    return Item(row="restore-asphalt", of="drive", amount=feet * FOOT, price=40 * feet)


def test_a_way_round_pays_up_to_what_the_surface_costs_beyond_lawn() -> None:
    """20 ft of asphalt is $740 dearer than lawn: at $11 a foot as much as 67.3 ft of detour. The detour here is 100 ft."""
    over = [dug(200), lawn(180), asphalt(20)]
    round_it = [dug(300), lawn(300)]
    assert why(SITE, over, round_it) == (
        "$360 dearer: 100.0 ft more trench, 20.0 ft less of Drive to restore. "
        "The way round is 100.0 ft longer; it would pay up to 67.3 ft."
    )
    assert why(SITE, round_it, over) == (
        "$360 cheaper: 100.0 ft less trench, 20.0 ft more of Drive to restore. "
        "It saves 100.0 ft of trench; it would pay past 67.3 ft."
    )


def test_a_detour_of_nothing_turns_nowhere() -> None:
    tee = Item(row="tee", of="", amount=1.0, price=120.0)
    assert why(SITE, [dug(100), lawn(100)], [dug(100), lawn(100), tee]) == "$120 dearer: 1 more tee."


def test_a_bore_is_no_saving_of_trench() -> None:
    pits = Item(row="bore-pits", of="drive", amount=1.0, price=400.0)
    least = Item(row="bore-least", of="drive", amount=1.0, price=1500.0)
    said = why(SITE, [dug(200), lawn(180), asphalt(20)], [dug(180), lawn(180), pits, least])
    assert said == "$940 dearer: a bore under Drive, 20.0 ft less of Drive to restore."


def test_equal_prices_are_as_dear() -> None:
    assert why(SITE, [dug(100)], [dug(100)]) == "As dear."


@pytest.mark.parametrize(
    ("price", "least", "percent"), [(1000.0, 990.0, "1.0"), (1000.0, 1000.0001, "0.0"), (0.0, 0.0, "0.0")]
)
def test_the_certificate_has_no_negative_percent(price: float, least: float, percent: str) -> None:
    said = certificate(price, least, fixed=False, from_here=False)
    assert said == (
        f"Proven: no layout that keeps every distance is more than {percent} % cheaper at the likely rates."
    )


def test_the_certificate_tells_what_it_does_not_hold_for() -> None:
    assert "wherever it lies" in certificate(2.0, 1.0, fixed=True, from_here=False)
    assert "with every line beginning where it does here" in certificate(
        2.0, 1.0, fixed=False, from_here=True
    )
    assert "was not worked out" in certificate(2.0, None, fixed=False, from_here=False)
