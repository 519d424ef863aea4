"""What is proven about the price of a group of lines: it never exceeds what was found, and comes near to it."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import count

import pytest
from route_scenes import asks, line, site, thing
from shapely import LineString, Point, box

from siteplan.route.alternatives import Choice
from siteplan.route.dig import Dug, dig
from siteplan.route.keep_off import Yard, keep_off, land_of
from siteplan.route.least import least_price
from siteplan.route.separate import together
from siteplan.site.features import Feature, Line

PARCEL = thing("parcel", "parcel", box(0, 0, 100, 100))
WELL = thing("well", "well", Point(10, 50))
HOUSE = thing("house", "building", box(80, 40, 95, 60))
WATER = line("water", "well", "house")
PLAIN = 11 / 0.3048


def found(things: Sequence[Feature], lines: Sequence[Line] = (WATER,)) -> tuple[Dug, float]:
    """The trenches of the only group of a site, and their proven least price."""
    made, rules = site([PARCEL, WELL, HOUSE, *things], lines), asks()
    (group,) = together(made, rules)
    yard = Yard(land=land_of(made), kept_off=tuple(k for k in keep_off(made, rules) if k.feature != "well"))
    dug = dig(made, rules, group, yard, (f"T{n}" for n in count()), Choice())
    return dug, least_price(made, rules, dug, yard)


SCENES = {
    "tank": [thing("tank", "septic_tank", box(40, 45, 44, 70))],
    "drive": [thing("drive", "drive", box(40, 0, 44, 100), surface="asphalt")],
    "cable": [thing("cable", "buried_line", LineString([(0, 40), (100, 75)]))],
}


@pytest.mark.parametrize("name", SCENES)
def test_the_least_price_is_not_above_the_price_and_near_to_it(name: str) -> None:
    dug, least = found(SCENES[name])
    price = sum(item.price for item in dug.bill)
    assert 0.95 * price <= least <= price * (1 + 1e-9)


def test_over_open_ground_the_least_price_is_the_straight() -> None:
    """70 m at $11 a foot: nothing is cheaper, and the proof says so within a share of a hundredth."""
    _, least = found([])
    assert 0.99 * 70 * PLAIN <= least <= 70 * PLAIN * (1 + 1e-9)


def test_two_ends_cost_no_less_than_the_farther_one() -> None:
    tap = thing("tap", "hydrant", Point(60, 80))
    dug, least = found([tap], [WATER, line("yard", "water", "tap")])
    price = sum(item.price for item in dug.bill)
    assert 70 * PLAIN * 0.98 <= least <= price * (1 + 1e-9)
