"""Trees over dear ground and tolled lines: the bound is never above a tree that can be dug, found by brute force."""

from __future__ import annotations

import numpy as np
import pytest
from shapely import LineString, Point, Polygon, box

from siteplan.route.between import Goal
from siteplan.route.proof.trees import least_tree
from siteplan.route.scene import Crossed, Patch, Scene
from tests.route.proof.dear_tree_reference import charge, tree_price, yard

ABOVE_ALL = 1.25
"""The best price is given as this much more than it is, so that a bound that is too high shows."""


@pytest.mark.parametrize("seed", [0, 3, 8, 22, 31])
def test_never_above_a_tree_found_by_brute_force(seed: int) -> None:
    scene, places = yard(seed, 2 + seed % 2)
    found = tree_price(scene, places)
    bound = least_tree(
        scene,
        places[0],
        places[1:],
        best=ABOVE_ALL * found,
        pair_bound=lambda one, other: 0.0,
        wanted=0.02,
    )
    assert 0.5 * found <= bound <= found * (1 + 1e-9)


def test_a_line_right_across_is_paid_once_with_its_zone() -> None:
    """By hand: 40 m and 20 m at 12, a toll of 100, 3 m of hand digging at 48 more; a tree with a tee may save a little."""
    zone = box(18.5, -1, 21.5, 61)
    line = Crossed(
        feature="line",
        axis=LineString([(20, -1), (20, 61)]),
        zone=zone,
        toll=charge(100.0),
        least_angle_deg=0,
    )
    scene = Scene(
        free=box(0, 0, 60, 60),
        dig=charge(10.0),
        restore=charge(2.0),
        patches=(Patch(feature="zone", area=zone, dig=charge(58.0)),),
        crossed=(line,),
    )
    places: list[Goal] = [Point(10, 30), Point(50, 30), Point(50, 50)]
    least = 60 * 12 + 100 + 3 * 48
    bound = least_tree(
        scene,
        places[0],
        places[1:],
        best=1.1 * least,
        pair_bound=lambda one, other: 0.0,
        wanted=0.005,
    )
    joined_m = (
        40**2 + 20**2 + 3**0.5 * 40 * 20
    ) ** 0.5  # least tree of a right angle: law of cosines at 150 degrees
    assert 0.98 * (least - 12 * (60 - joined_m)) <= bound <= least


def test_a_bend_at_an_end_that_is_only_passed_is_counted() -> None:
    """20 m east and 20 m north by way of an end: straight corners cost one bend, or a tee elsewhere."""
    free = box(-100, -100, 100, 100)
    bends = ((22.5, charge(20.0)), (45.0, charge(35.0)), (90.0, charge(50.0)))
    scene = Scene(free=free, dig=charge(10.0), restore=charge(0.0), tee=charge(200.0), bends=bends)
    bound = least_tree(
        scene,
        Point(0, 0),
        [Point(20, 0), Point(20, 20)],
        best=455.0,
        pair_bound=lambda one, other: 0.0,
        wanted=0.005,
    )
    assert 0.99 * 450 <= bound <= 450


def test_one_bend_before_an_end_that_is_passed_is_counted_once() -> None:
    """Round the end of a wall, and straight on through an end: one bend of 29.8 degrees, by hand."""
    free = box(-50, -50, 80, 50).difference(Polygon([(16, -40), (18, -40), (18, 1)]))
    bends = ((22.5, charge(20.0)), (45.0, charge(35.0)), (90.0, charge(50.0)))
    scene = Scene(free=free, dig=charge(10.0), restore=charge(0.0), tee=charge(200.0), bends=bends)
    end = np.array([20.0, 0.0])
    beyond = end + 20 * np.array([2.0, -1.0]) / 5**0.5
    least = 10 * (325**0.5 + 5**0.5 + 20) + 35
    bound = least_tree(
        scene,
        Point(0, 0),
        [Point(*end), Point(*beyond)],
        best=1.25 * least,
        pair_bound=lambda one, other: 0.0,
        wanted=0.005,
    )
    assert 0.9 * least <= bound <= least
