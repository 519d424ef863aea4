"""Trees of trenches: closed forms, a brute force over the branching place, and what every tree must hold to."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations
from math import hypot, isclose, pi, sqrt

import numpy as np
import pytest
import shapely
from shapely import LineString, MultiLineString, Point, box

from siteplan.route.between import shortest_between
from siteplan.route.bound import least_m
from siteplan.route.branching import End, Tree, shortest_tree
from siteplan.route.mesh import FreeGround
from siteplan.route.shortest import shortest_to_point
from siteplan.route.tee import best_tee

OPEN = FreeGround(box(-500, -500, 500, 500))


def tree_of(ground: FreeGround, start: Point, ends: Sequence[Point | MultiLineString]) -> Tree:
    tree = shortest_tree(ground, start, [End(goal=end) for end in ends])
    assert tree is not None
    return tree


def no_two_overlap(tree: Tree) -> bool:
    return all(one.intersection(other).length < 1e-6 for one, other in combinations(tree.lines, 2))


def yard(seed: int) -> tuple[FreeGround, list[Point]]:
    """A yard of 60 m with some buildings and trees, and four places on the free ground."""
    random = np.random.default_rng(seed)
    area = box(0, 0, 60, 60)
    for x, y in random.uniform(5, 55, (5, 2)):
        area = area.difference(box(x - 5, y - 3, x + 5, y + 3))
    for x, y in random.uniform(5, 55, (4, 2)):
        area = area.difference(Point(x, y).buffer(4, quad_segs=4))
    area = max(shapely.get_parts(area), key=lambda part: part.area)
    places: list[Point] = []
    while len(places) < 4:
        place = Point(random.uniform(1, 59, 2))
        if area.contains(place):
            places.append(place)
    return FreeGround(area), places


def test_three_places_in_the_open_meet_at_120_degrees() -> None:
    """Length 1 + sqrt 3 for (0, 0), (2, 0), (1, 1): analytic, and the published test of a pipe-layout library."""
    tree = tree_of(OPEN, Point(0, 0), [Point(20, 0), Point(10, 10)])
    assert tree.length_m / 10 == pytest.approx(2.7320508076, abs=1e-6)
    (tee,) = (tree.goals[node] for node in tree.tees)
    assert (tee.x, tee.y) == pytest.approx((10, 5.7735), abs=1e-3)


def test_four_corners_of_a_square_take_two_tees() -> None:
    """1 + sqrt 3 for the unit square: analytic, printed in the manual of a Steiner tree program."""
    tree = tree_of(OPEN, Point(0, 0), [Point(100, 100), Point(100, 0), Point(0, 100)])
    assert tree.length_m / 100 == pytest.approx(2.7320508076, abs=1e-4)
    assert len(tree.tees) == 2


def test_a_wide_corner_needs_no_tee_of_its_own() -> None:
    ends = [(-10.0, 1.0), (0.0, 0.0), (10.0, 1.0)]
    assert best_tee(ends) == (0.0, 0.0)
    tree = tree_of(OPEN, Point(-10, 1), [Point(10, 1), Point(0, 0)])
    assert tree.length_m == pytest.approx(2 * hypot(10, 1), abs=1e-3)


@pytest.mark.parametrize("turn", np.linspace(0, pi, 7))
def test_best_tee_is_no_worse_than_any_place_near_it(turn: float) -> None:
    ends = [(0.0, 0.0), (8.0, 1.0), (5 * np.cos(turn), 5 * np.sin(turn))]
    x, y = best_tee(ends)

    def total(at_x: float, at_y: float) -> float:
        return sum(hypot(at_x - a, at_y - b) for a, b in ends)

    for step in (1e-3, 0.1, 1.0):
        for angle in np.linspace(0, 2 * pi, 16):
            assert total(x, y) <= total(x + step * np.cos(angle), y + step * np.sin(angle)) + 1e-12


def test_trenches_round_one_corner_part_behind_it() -> None:
    ground = FreeGround(box(0, 0, 40, 40).difference(box(18, 0, 22, 30)))
    tree = tree_of(ground, Point(2, 2), [Point(38, 6), Point(30, 2)])
    assert no_two_overlap(tree)
    (tee,) = (tree.goals[node] for node in tree.tees)
    assert tee.x >= 22 - 1e-6
    by_hand = hypot(16, 28) + 4
    assert tree.length_m < by_hand + hypot(16, 24) + hypot(8, 28)


@pytest.mark.parametrize("seed", range(8))
def test_no_place_on_a_grid_branches_better(seed: int) -> None:
    ground, places = yard(seed)
    start, *ends = places[:3]
    tree = tree_of(ground, start, ends)
    best_m = np.inf
    for x in np.arange(0.5, 60, 2.0):
        for y in np.arange(0.5, 60, 2.0):
            tee = Point(x, y)
            if ground.holds(x, y) and sum(tee.distance(place) for place in places[:3]) < best_m:
                arms = [shortest_to_point(ground, tee, place) for place in places[:3]]
                best_m = min(best_m, sum(arm.length_m for arm in arms if arm))
    assert tree.length_m <= best_m + 0.01


@pytest.mark.parametrize("seed", range(12))
def test_every_tree_hangs_together_stays_on_the_ground_and_is_above_the_bound(seed: int) -> None:
    ground, (start, *ends) = yard(seed)
    walls = MultiLineString([ends[-1].buffer(1, quad_segs=1).exterior.coords])
    goals = [*ends[:-1], walls if ground.area.covers(walls) else ends[-1]]
    tree = tree_of(ground, start, goals)
    assert sorted(end for end in tree.end if end is not None) == [0, 1, 2]
    for goal in range(1, len(tree.goals)):
        line, above = tree.lines[goal], tree.goals[tree.above[goal]]
        assert Point(line.coords[0]).distance(above) < 1e-6
        assert Point(line.coords[-1]).distance(tree.goals[goal]) < 1e-6
        assert ground.area.buffer(1e-6).covers(line)
    assert no_two_overlap(tree)
    least = least_m(ground, start, goals)
    assert least <= tree.length_m + 1e-6
    assert least > 0.5 * tree.length_m


def test_many_ends_join_nearest_first() -> None:
    ends = [Point(10 * (i + 1), 3 * (-1) ** i) for i in range(6)]
    tree = tree_of(OPEN, Point(0, 0), ends)
    spine = LineString([(0, 0), (60, 0)]).length + 6 * 3
    assert 60 < tree.length_m < spine
    assert no_two_overlap(tree)


def test_between_walls_behind_an_obstacle_as_dense_trials_find() -> None:
    ground = FreeGround(box(0, 0, 30, 30).difference(box(13, 4, 17, 30)))
    one = MultiLineString([[(2, 10), (8, 28)], [(2, 10), (2, 28)]])
    other = MultiLineString([[(22, 12), (28, 26)]])
    found = shortest_between(ground, one, other)
    assert found is not None
    places = [
        part.interpolate(share, normalized=True) for part in one.geoms for share in np.linspace(0, 1, 301)
    ]
    trials = [trial.length_m for place in places if (trial := shortest_between(ground, place, other))]
    assert isclose(found.length_m, min(trials), abs_tol=0.01)


def test_two_trenches_may_leave_a_building_by_two_walls() -> None:
    house = box(-5, -5, 5, 5)
    ground = FreeGround(box(-50, -50, 50, 50).difference(house))
    walls = MultiLineString([list(house.exterior.coords)[i : i + 2] for i in range(4)])
    apart = [End(goal=Point(-30, 0)), End(goal=Point(30, 0))]
    tree = shortest_tree(ground, walls, apart)
    assert tree is not None
    assert tree.length_m == pytest.approx(50)
    assert least_m(ground, walls, [end.goal for end in apart]) <= 50 + 1e-9
    teed = [apart[0], End(goal=Point(30, 0), after=(0,), near=0)]
    joined = shortest_tree(ground, walls, teed)
    assert joined is not None
    assert joined.length_m == pytest.approx(2 * hypot(25, 5) + 10 + 0.0, abs=0.05)


def test_the_bound_of_a_triangle_is_its_least_tree() -> None:
    corners = [Point(0, 0), Point(2, 0), Point(1, sqrt(3))]
    assert least_m(OPEN, corners[0], corners[1:]) == pytest.approx(2 * sqrt(3))


def test_no_way_gives_no_tree() -> None:
    ground = FreeGround(box(0, 0, 20, 20).difference(box(9, 0, 11, 20)))
    assert shortest_tree(ground, Point(1, 1), [End(goal=Point(19, 1))]) is None
