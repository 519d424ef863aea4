"""What if: things left out, come nearer to, moved, and gone across."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
from route_scenes import asks, line, setback, site, thing
from shapely import Point, box

from siteplan.route.keep_off import Yard, keep_off, land_of
from siteplan.route.relax import Question
from siteplan.site.features import Feature
from siteplan.units import Length

HALF_M = 0.3
WELL = thing("well", "well", Point(10, 50))
POINT = thing("tap", "hydrant", Point(90, 50))
PARCEL = thing("parcel", "parcel", box(0, 0, 100, 100))
RULES = asks([setback("water", "tank", Length(m, "m"), row=f"row-{m}") for m in (6, 4)])


def question(*features: Feature) -> Question:
    scene = site([PARCEL, WELL, POINT, *features], [line("water", "well", "tap")])
    return Question(
        site=scene,
        yard=Yard(land=land_of(scene), kept_off=keep_off(scene, RULES)),
        root=WELL,
        end=POINT,
        setbacks=RULES.setbacks,
    )


def test_an_open_yard_is_open_and_its_way_is_straight() -> None:
    ask = question()
    assert ask.is_open()
    way = ask.way()
    assert way is not None
    assert way.length == pytest.approx(80)


def test_how_near_one_thing_may_be_come_to_is_found_to_a_centimetre() -> None:
    """Ten metres between a tank and a fence: half a trench to the fence, the rest to the tank."""
    tank, fence = (
        thing("tank", "septic_tank", box(40, 55, 44, 120)),
        thing("fence", "no_dig", box(40, -20, 44, 50)),
    )
    ask = question(tank, fence)
    assert not ask.is_open()
    assert ask.without(["tank"]).is_open()
    assert ask.without(["fence"]).is_open()
    open_m = ask.open_at_m("tank")
    assert open_m == pytest.approx(5 - HALF_M, abs=0.06)
    assert ask.keeping("tank", 4.6).is_open()
    assert not ask.keeping("tank", 4.8).is_open()
    assert ask.moved("tank", 0.0, 2.0).is_open()
    assert not ask.moved("tank", 0.0, 1.0).is_open()


def test_to_come_nearer_never_keeps_more_than_is_asked() -> None:
    ask = question(thing("tank", "septic_tank", box(40, 55, 44, 60)))
    (kept,) = ask.keeping("tank", 50.0).kept("tank")
    assert kept == ask.kept("tank")[0]
    assert ask.keeping("tank", 2.0).yard.distance_m("tank") == 2.0


def test_what_must_be_gone_through_opens_at_no_distance() -> None:
    ask = question(thing("fence", "no_dig", box(40, -20, 44, 120)))
    assert ask.open_at_m("fence") is None
    across = ask.across("fence")
    assert across is not None
    assert across.length == pytest.approx(4 + 2 * HALF_M, abs=0.05)


def test_across_one_thing_nothing_else_is_crossed() -> None:
    """The fence is thin beside the gate: the line through the gate is longer, and the only one that crosses the slab alone."""
    gate = [
        thing("south", "no_dig", box(42, -20, 42.5, 49)),
        thing("north", "no_dig", box(42, 51, 42.5, 120)),
    ]
    ask = question(*gate, thing("slab", "slab", box(40, 30, 45, 70)))
    across = ask.across("slab")
    assert across is not None
    assert across.length == pytest.approx(5 + 2 * HALF_M, abs=0.05)
    assert all(across.distance(fence.shape) >= HALF_M for fence in gate)


def test_rows_that_ask_more_than_a_distance_come_largest_first() -> None:
    ask = question(thing("tank", "septic_tank", box(40, 55, 44, 60)))
    assert ask.rows("tank", 3.0) == {"row-6": 6.0, "row-4": 4.0}
    assert ask.rows("tank", 5.0) == {"row-6": 6.0}
    assert ask.rows("tank", 6.0) == {}


@pytest.mark.parametrize("seed", range(6))
def test_openers_are_those_that_a_try_of_every_set_finds(seed: int) -> None:
    random = np.random.default_rng(seed)
    spots = [
        thing(f"t{i}", "pond", box(x, y, x + 8, y + 8))
        for i, (x, y) in enumerate(random.uniform(15, 77, (7, 2)))
    ]
    walls = [thing(f"w{x}", "slab", box(x, -20, x + 4, 120)) for x in (30, 60)[: 1 + seed % 2]]
    ask = question(*spots, *walls)
    names = [feature for feature in ask.kept_features() if feature not in ("well", "tap")]
    opened = 0
    for count in (1, 2):
        every = [chosen for chosen in combinations(names, count) if ask.without(chosen).is_open()]
        assert list(ask.openers(names, count)) == every
        opened += len(every)
    assert opened > 0
