"""The bound on open ground: below every tree that anybody can draw."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Point, box
from shapely.affinity import rotate, scale

from siteplan.route.open_tree import MOST_PLACES, open_tree_m

PLACE = st.tuples(st.integers(-50, 50), st.integers(-50, 50))


def drawn_m(places: list[tuple[int, int]], joints: list[tuple[float, float]]) -> float:
    """Length of the least spanning tree over the places and some joints: a tree that could be dug."""
    points = np.array([*places, *joints], dtype=float)
    reached, waiting, total = {0}, set(range(1, len(points))), 0.0
    while waiting:
        gap, new = min((float(np.hypot(*(points[a] - points[b]))), b) for a in reached for b in waiting)
        total += gap
        reached.add(new)
        waiting.remove(new)
    return total


@settings(max_examples=40, deadline=None)
@given(
    st.lists(PLACE, min_size=3, max_size=5, unique=True),
    st.lists(st.tuples(st.floats(-50, 50), st.floats(-50, 50)), max_size=2),
)
def test_no_drawn_tree_is_shorter(places: list[tuple[int, int]], joints: list[tuple[float, float]]) -> None:
    assert open_tree_m(shapely.points(places)) <= drawn_m(places, joints) + 1e-6


@settings(max_examples=25, deadline=None)
@given(st.lists(PLACE, min_size=3, max_size=4, unique=True), st.floats(0, 360))
def test_turned_and_scaled(places: list[tuple[int, int]], angle: float) -> None:
    points = list(shapely.points(places))
    turned = [rotate(scale(point, 2, 2, origin=(0, 0)), angle, origin=(0, 0)) for point in points]
    assert open_tree_m(turned) == pytest.approx(2 * open_tree_m(points), rel=1e-3, abs=1e-3)


def test_a_building_is_met_anywhere_on_its_outline() -> None:
    """Well and hydrant 6 m either side of a wall 10 m off: least tree to the nearest place of the wall, by hand."""
    wall = box(-20, 10, 20, 15)
    least = 10 + 6 * 3**0.5  # 120 degrees at the joint: legs 2 x 6/sin 60, then up
    assert open_tree_m([Point(-6, 0), Point(6, 0), wall]) == pytest.approx(least, rel=1e-4)


def test_two_places_and_too_many() -> None:
    assert open_tree_m([Point(0, 0), box(3, 4, 5, 6)]) == 5.0
    assert open_tree_m([Point(k, k * k) for k in range(MOST_PLACES + 1)]) == 0.0


def test_all_places_in_one() -> None:
    assert open_tree_m([Point(1, 1)] * 4) == 0.0
