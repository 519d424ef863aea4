"""Pull points: the fewest, and the most even, against all sets there are."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations, pairwise

import numpy as np
import pytest
from shapely import Point, box
from trench_scene import HOUSE, POWER, WATER, WELL, feature, layout, line, number, reach, requirements, site

from siteplan.measure.bends import pulls
from siteplan.measure.pull_points import on_reach, pull_points
from siteplan.route.model import LinePath, Run

RISER_DEG = 90.0


def sums_deg(bends: list[float], chosen: tuple[int, ...]) -> list[float]:
    """Written down from the rule: add up what lies between, and a riser at each end."""
    edges = [-1, *chosen, len(bends)]
    between = [sum(abs(bend) for bend in bends[a + 1 : b]) for a, b in pairwise(edges)]
    between[0] += RISER_DEG
    between[-1] += RISER_DEG
    return between


def test_three_sixty_holds_two_risers_and_two_quarter_bends() -> None:
    assert pull_points([90, 90], 360, riser_deg=RISER_DEG) == ()
    assert pull_points([90, 90, 1], 360, riser_deg=RISER_DEG) == (1,)
    assert pull_points([], 360, riser_deg=RISER_DEG) == ()


def test_a_limit_below_one_riser_is_beyond_help() -> None:
    assert pull_points([45, 45], 80, riser_deg=RISER_DEG) == ()
    assert pull_points([], 100, riser_deg=RISER_DEG) == ()


@pytest.mark.parametrize("seed", range(60))
def test_against_every_set_of_bends(seed: int) -> None:
    random = np.random.default_rng(seed)
    bends = random.choice([-90.0, -45.0, 11.25, 22.5, 45.0, 90.0, 60.0], random.integers(1, 10)).tolist()
    limit_deg = float(random.choice([180.0, 270.0, 360.0]))
    chosen = pull_points(bends, limit_deg, riser_deg=RISER_DEG)
    assert max(sums_deg(bends, chosen)) <= limit_deg
    for fewer in range(len(chosen)):
        assert all(
            max(sums_deg(bends, other)) > limit_deg for other in combinations(range(len(bends)), fewer)
        )
    assert (
        max(sums_deg(bends, chosen))
        == min(max(sums_deg(bends, other)) for other in combinations(range(len(bends)), len(chosen)))
        or not chosen
    )


ZIGZAG = [(0, 0), (10, 0), (10, 10), (20, 10), (20, 0), (30, 0)]
"""Four quarter bends, at 10, 20, 30 and 40 m of 50."""


def test_the_pulls_of_a_conduit_with_too_many_bends() -> None:
    scene = site(WELL, HOUSE, lines=(WATER, POWER))
    plan = layout(reach(*ZIGZAG, lines=("water", "power")))
    first, second = pulls(scene, requirements(), plan, {"power": 55.0})
    assert (first.start, first.end, second.start, second.end) == (
        "Well",
        "pull point P1",
        "pull point P1",
        "House",
    )
    assert [(one.from_m, one.to_m) for one in (first, second)] == [(0.0, 20.0), (20.0, 50.0)]
    assert [(one.plan_deg, one.risers_deg) for one in (first, second)] == [(90, 90), (180, 90)]
    assert [one.length_m for one in (first, second)] == pytest.approx([22, 33])
    assert all(one.sum_deg <= one.limit.value for one in (first, second))
    wide = replace(requirements(), bend_limit_deg=number(540))
    (whole,) = pulls(scene, wide, plan, {"power": 55.0})
    assert (whole.sum_deg, whole.length_m) == (pytest.approx(540), 55.0)


def test_points_are_numbered_over_all_lines_and_water_has_none() -> None:
    pump = line("pump", "electric", "pvc-1")
    scene = site(WELL, HOUSE, lines=(WATER, POWER, pump))
    plan = layout(reach(*ZIGZAG, lines=("water", "power", "pump")))
    found = pulls(scene, requirements(), plan, {"power": 50.0, "pump": 50.0})
    assert [one.line for one in found] == ["power", "power", "pump", "pump"]
    assert [one.end for one in found] == ["pull point P1", "House", "pull point P2", "House"]


def test_a_point_on_a_branch_is_found_on_its_reach() -> None:
    path = LinePath(
        line="power", legs=(("Main", 0.0, 12.0), ("A", 5.0, 0.0), ("B", 0, 7.0)), entry=Point(0, 0)
    )
    assert on_reach(path, 3.0) == ("Main", 3.0)
    assert on_reach(path, 14.0) == ("A", 3.0)
    assert on_reach(path, 20.0) == ("B", 3.0)
    assert on_reach(path, 99.0) == ("B", 7.0)
    branch = reach((12, 0), (12, -9), name="A", runs=(Run(line="power", from_m=0, to_m=9),))
    shed = feature("shed", "building", box(10, -12, 14, -9))
    scene = site(
        WELL, HOUSE, shed, lines=(WATER, line("power", "electric", "pvc-1", start="water", end="shed"))
    )
    plan = layout(reach((0, 0), (30, 0)), branch)
    (pull,) = pulls(scene, requirements(), plan, {"power": 9.0})
    assert (pull.start, pull.end) == ("water line", "Shed")
