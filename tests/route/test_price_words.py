"""Differences of price in words, worked by hand at $8 a foot to dig, $3 to put lawn back and $40 for asphalt."""

from __future__ import annotations

from dataclasses import replace

import pytest
from route_scenes import FOOT, line, site, thing
from shapely import Point, box

from siteplan.route.price_words import certificate, why
from siteplan.route.priced.bill import Item
from siteplan.site.rates import rate

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
        "It would pay only if it were less than 67.3 ft longer; it is 100.0 ft longer."
    )
    assert why(SITE, round_it, over) == (
        "$360 cheaper: 100.0 ft less trench, 20.0 ft more of Drive to restore. "
        "It pays as long as it is more than 67.3 ft shorter; it is 100.0 ft shorter."
    )


def test_a_detour_of_nothing_turns_nowhere() -> None:
    tee = Item(row="tee", of="", amount=1.0, price=120.0)
    assert why(SITE, [dug(100), lawn(100)], [dug(100), lawn(100), tee]) == "$120 dearer: 1 more tee."


def test_a_bore_is_no_saving_of_trench() -> None:
    pits = Item(row="bore-pits", of="drive", amount=1.0, price=400.0)
    least = Item(row="bore-least", of="drive", amount=1.0, price=1500.0)
    said = why(SITE, [dug(200), lawn(180), asphalt(20)], [dug(180), lawn(180), pits, least])
    assert said == (
        "$940 dearer: a bore under Drive, 20.0 ft less of Drive to restore. "
        "It would pay only with more than 39.6 ft of Drive on the way; there are 20.0 ft."
    )


def test_where_an_open_cut_turns_over_beyond_the_least_charge() -> None:
    """Asphalt at $20 to put back: 28 a foot. 1900 / 28 = 67.9 ft are over the 60 ft of the least charge, so 400 / (28 - 25)."""
    cheap = rate(id="restore-asphalt", name="", per="ft", prices=[20, 20, 20], source="site")
    at = replace(SITE, rates=SITE.rates.with_stated({"restore-asphalt": cheap}))
    open_cut = [dug(200), lawn(100), replace(asphalt(100), price=2000.0)]
    under = [dug(100), lawn(100), pits(1), bored(100)]
    assert why(at, open_cut, under) == (
        "$100 dearer: a bore under Drive, 100.0 ft less of Drive to restore, 100.0 ft less trench. "
        "It would pay only with more than 133.3 ft of Drive on the way; there are 100.0 ft."
    )
    assert why(at, under, open_cut).endswith(
        "It pays with less than 133.3 ft of Drive on the way; there are 100.0 ft."
    )


def test_two_bores_more_turn_nowhere() -> None:
    under = [dug(160), lawn(160), pits(2), bored(120)]
    assert " only " not in why(SITE, [dug(200), lawn(180), asphalt(20)], under)


def hauled(feet: float) -> Item:
    return Item(row="no-room", of="", amount=feet * FOOT, price=8 * feet)


def test_spoil_that_is_hauled_over_the_same_length_is_saved_by_a_bore() -> None:
    """1900 / (48 + 8) = 33.9 ft."""
    least = Item(row="bore-least", of="drive", amount=1.0, price=1500.0)
    said = why(SITE, [dug(200), lawn(180), asphalt(20), hauled(20)], [dug(180), lawn(180), pits(1), least])
    assert said.startswith("$780 dearer: ")
    assert said.endswith("It would pay only with more than 33.9 ft of Drive on the way; there are 20.0 ft.")


def test_names_with_commas_do_not_run_into_each_other() -> None:
    oak = replace(thing("oak", "tree", Point(0, 0)), name="Oak, 24 in")
    at = replace(SITE, features=(*SITE.features, oak))
    under = [replace(item, of="oak") for item in (pits(1), bored(70))]
    assert why(at, [dug(100)], [dug(30), *under]) == (
        "$1,590 dearer: a bore under the roots of Oak, 24 in; 70.0 ft less trench."
    )


def test_a_way_round_that_pays_says_up_to_where() -> None:
    """The same 20 ft of asphalt, gone round on 50 ft more: 67.3 ft would still pay. Shorter by 50 ft it would not."""
    over, round_it = [dug(200), lawn(180), asphalt(20)], [dug(250), lawn(250)]
    assert why(SITE, over, round_it).endswith(
        "It pays as long as it is less than 67.3 ft longer; it is 50.0 ft longer."
    )
    assert why(SITE, round_it, over).endswith(
        "It would pay only if it were more than 67.3 ft shorter; it is 50.0 ft shorter."
    )


def test_a_turn_far_off_is_not_told() -> None:
    """20 ft of asphalt pay for 67.3 ft; the way round takes 300 ft more."""
    said = why(SITE, [dug(200), lawn(180), asphalt(20)], [dug(500), lawn(500)])
    assert said == "$2,560 dearer: 300.0 ft more trench, 20.0 ft less of Drive to restore."


def test_equal_prices_are_the_same_price() -> None:
    assert why(SITE, [dug(100)], [dug(100)]) == "The same price."


def by_hand(feet: float) -> Item:
    return Item(row="dig-hand", of="", amount=feet * FOOT, price=30 * feet)


def bend(row: str, count: int, price: float) -> Item:
    return Item(row=row, of="", amount=float(count), price=count * price)


def pits(count: int) -> Item:
    return Item(row="bore-pits", of="drive", amount=float(count), price=400.0 * count)


def bored(feet: float) -> Item:
    return Item(row="bore", of="drive", amount=feet * FOOT, price=25 * feet)


@pytest.mark.parametrize(
    ("chosen", "other", "said"),
    [
        ([bend("bend-45", 2, 30)], [bend("bend-90", 2, 50)], "$40 dearer: sharper bends."),
        ([bend("bend-90", 2, 50)], [bend("bend-45", 2, 30)], "$40 cheaper: gentler bends."),
        (
            [bend("bend-45", 2, 30)],
            [bend("bend-sharp", 1, 100)],
            "$40 dearer: 1 fewer bend but sharper ones.",
        ),
        ([bend("bend-45", 1, 30)], [bend("bend-45", 3, 30)], "$60 dearer: 2 more bends."),
        ([bend("crossing", 1, 150)], [bend("crossing-gas", 1, 300)], "$150 dearer: dearer crossings."),
        ([bend("crossing", 1, 150)], [], "$150 cheaper: 1 fewer crossing."),
        ([dug(100)], [dug(90), by_hand(10)], "$220 dearer: 10.0 ft more by hand."),
        ([pits(1), bored(70)], [pits(1), bored(90)], "$500 dearer: a longer bore under Drive."),
        ([pits(1), bored(70)], [pits(2), bored(90)], "$900 dearer: 1 more bore under Drive."),
        ([pits(1), bored(70)], [], "$2,150 cheaper: no bore under Drive."),
        (
            [dug(100)],
            [dug(80), Item(row="dig-ledge", of="drive", amount=20 * FOOT, price=560.0)],
            "$400 dearer: 20.0 ft more through Drive.",
        ),
    ],
)
def test_each_difference_says_what_it_is(chosen: list[Item], other: list[Item], said: str) -> None:
    """By hand: 10 ft at $30 in place of $8; a bore of 20 ft more at $25; 20 ft of ledge at $28 in place of $8."""
    assert why(SITE, chosen, other) == said


def test_trench_by_hand_is_not_told_twice() -> None:
    """10 ft more, all by hand: $80 of trench as by machine, $220 for the hands, $30 of lawn."""
    said = why(SITE, [dug(100), lawn(100)], [dug(100), by_hand(10), lawn(110)])
    assert said == "$330 dearer: 10.0 ft more by hand, 10.0 ft more trench."


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
    assert certificate(2.0, 1.5, beyond=0.4, fixed=False, from_here=False).endswith(
        "cheaper at the likely rates."
    )
    assert certificate(2.0, 1.0, beyond=1.0, fixed=False, from_here=False).endswith(
        "more than 50.0 % cheaper at the likely rates, even one with no spoil to haul and no pull points."
    )
    assert "was not worked out" in certificate(2.0, None, fixed=False, from_here=False)
