"""Trenches that follow former ones over ground that has changed: against the bill, a proven bound, and a search."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely import LineString, Point, box

from siteplan.route.approach import Approach
from siteplan.route.branching import bare_tree, begun
from siteplan.route.priced.bill import bill
from siteplan.route.priced.cheapest import Search, Way
from siteplan.route.priced.tree_follow import followed
from siteplan.route.priced.tree_net import Net, net_of, tree_of
from siteplan.route.priced.tree_price import NetPrice
from siteplan.route.priced.tree_settle import settled
from siteplan.route.proof.ground import least_over_ground
from siteplan.route.scene import Scene
from tests.route.priced.priced_scenes import at, charge, field, random_scene

START, END = at(2.0, 3.0), at(37.0, 36.0)
SEEDS = range(12)
DEARER = 0.02
"""A trench that follows a former one is no more than this share dearer than one that is searched for on these scenes."""


def as_net(way: Way) -> Net:
    """One trench between two points as a net."""
    tree = begun(bare_tree(START.goal), way.line, END.goal, 0)
    return net_of(tree, START, [END])


def followed_line(scene: Scene, before: Way) -> tuple[LineString, float] | None:
    """The trench that follows another on a scene, and what it was found to cost."""
    search = Search(scene)
    pricing = NetPrice(scene, START, [END], search.links)
    found = followed(pricing, search, as_net(before), (), before.price)
    if found is None:
        return None
    (line,) = tree_of(found, START, [END]).lines[1:]
    return line, pricing.of(found)


def moved_under(seed: int, before: Way) -> Scene:
    """The scene of a seed with a shed of 2 to 5 m put beside the middle of the trench, or on it."""
    rng = np.random.default_rng([seed, 77])
    scene = random_scene(seed)
    here = before.line.interpolate(rng.uniform(0.3, 0.7), normalized=True)
    x, y = np.array([here.x, here.y]) + rng.uniform(-3.0, 3.0, 2)
    wide, deep = rng.uniform(1.0, 2.5, 2)
    return replace(scene, free=scene.free.difference(box(x - wide, y - deep, x + wide, y + deep)))


@pytest.mark.parametrize("seed", SEEDS)
def test_one_trench_that_is_followed_may_be_dug_and_costs_what_its_bill_says(seed: int) -> None:
    before = Search(random_scene(seed)).way(START, END)
    if before is None:
        pytest.skip("there is no way")
    scene = moved_under(seed, before)
    found = followed_line(scene, before)
    searched = Search(scene).way(START, END)
    if found is None:
        assert searched is None or searched.price > before.price
        return
    line, price = found
    assert searched is not None
    priced = bill(scene, line)
    assert priced.why_not == ""
    assert priced.price == pytest.approx(price, rel=1e-9)
    assert scene.free.buffer(1e-5).covers(line)
    assert {line.coords[0], line.coords[-1]} == {(2.0, 3.0), (37.0, 36.0)}
    assert price <= searched.price * (1.0 + DEARER)
    bound = least_over_ground(scene, START.goal, END.goal, best=price, wanted=0.02, most_pairs=3_000).bound
    assert price >= bound * (1.0 - 1e-9)


@pytest.mark.parametrize("seed", SEEDS)
def test_on_the_same_ground_one_trench_stays(seed: int) -> None:
    scene = random_scene(seed)
    before = Search(scene).way(START, END)
    if before is None:
        pytest.skip("there is no way")
    found = followed_line(scene, before)
    assert found is not None
    line, price = found
    assert before.price * (1.0 - 1e-3) <= price <= before.price * (1.0 + 1e-9)
    assert shapely.hausdorff_distance(line, before.line) < 0.1


def test_a_shed_on_a_straight_trench_is_gone_round_as_near_as_may_be() -> None:
    """Bends are free: the shortest way is over one corner of the square."""
    before = Way(line=LineString([(2, 3), (37, 36)]), price=30.0 * 48.1)
    shed = box(18.5, 17.5, 22.5, 21.5)
    found = followed_line(field(free=box(0, 0, 40, 40).difference(shed)), before)
    assert found is not None
    line, price = found
    corners = [(2, 3), (18.5, 21.5), (37, 36)], [(2, 3), (22.5, 17.5), (37, 36)]
    assert price == pytest.approx(30.0 * min(LineString(way).length for way in corners), rel=1e-6)
    assert not line.crosses(shed)


def test_a_way_that_is_closed_is_not_followed() -> None:
    before = Way(line=LineString([(2, 3), (37, 36)]), price=30.0 * 48.1)
    wall = box(-1, 19, 41, 21)
    assert followed_line(field(free=box(0, 0, 40, 40).difference(wall)), before) is None


def test_one_trench_that_became_much_dearer_is_left_to_a_search() -> None:
    before = Way(line=LineString([(2, 3), (37, 36)]), price=30.0 * 48.1)
    wall = box(-1, 19, 39.5, 21)
    assert followed_line(field(free=box(0, 0, 40, 40).difference(wall)), before) is not None
    assert followed_line(field(free=box(0, 0, 40, 40).difference(wall)), replace(before, price=900.0)) is None


def test_all_at_once_three_trenches_meet_where_they_are_least_together() -> None:
    """Corners of an even-sided triangle of 20 m at 30 a metre: the least tree has 20 sqrt(3) m (Fermat's point)."""
    places = [(0.0, 0.0), (20.0, 0.0), (10.0, 10.0 * 3**0.5)]
    scene = Scene(free=box(-50, -50, 50, 50), dig=charge(20.0), restore=charge(10.0))
    start, *ends = (Approach(feature="", places=((Point(place), (0.0, 0.0)),), leg_m=0.0) for place in places)
    net = Net(
        (places[0], (3.0, 9.0), places[1], places[2]),
        (-1, 0, 1, 1),
        (None, None, 0, 1),
        (start.goal, None, *(end.goal for end in ends)),
    )
    _, price = settled(NetPrice(scene, start, ends), net)
    assert price == pytest.approx(30.0 * 20.0 * 3**0.5, rel=1e-5)
