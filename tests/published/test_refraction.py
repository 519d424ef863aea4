"""The price of trenches over strips of ground, against the law of refraction.

Shortest paths over weighted ground refract as light does, rate times sine of the angle being the same on both sides (Mitchell
and Papadimitriou, Journal of the ACM 38, 1991). Over parallel strips the rest is arithmetic: find the one invariant with
which the steps aside add up. That is done here to 1e-12 by halving, and it agrees with 193.34995 and 9.899495 as worked
out elsewhere for the first two cases.
"""

from __future__ import annotations

import math

import pytest
from shapely import Point, box

from siteplan.route.proof.ground import least_over_ground
from siteplan.route.scene import Charge, Patch, Scene

SIDE_M = 150.0
CASES = {
    "two strips, 1 and 3": ([40.0, 30.0], [1.0, 3.0], 100.0, 193.34995),
    "equal strips": ([3.0, 4.0], [1.0, 1.0], 7.0, 9.899495),
    "two strips, 1 and 4": ([20.0, 15.0], [1.0, 4.0], 50.0, 112.230170303747),
    "three strips": ([15.0, 8.0, 17.0], [1.0, 4.0, 1.3], 50.0, 98.666956214184),
    "cheap between dear": ([15.0, 8.0, 17.0], [4.0, 1.0, 4.0], 50.0, 174.693849204750),
}


def refracted(heights_m: list[float], rates: list[float], aside_m: float) -> float:
    """Least price of a way across strips that goes so far aside."""
    low, high = 0.0, min(rates)
    for _ in range(200):
        invariant = (low + high) / 2
        went_m = sum(
            h * invariant / math.sqrt(r * r - invariant**2) for h, r in zip(heights_m, rates, strict=True)
        )
        low, high = (invariant, high) if went_m < aside_m else (low, invariant)
    return sum(h * r / math.sqrt(1 - (low / r) ** 2) for h, r in zip(heights_m, rates, strict=True))


def strips(heights_m: list[float], rates: list[float]) -> Scene:
    """Strips across the way up, the first one going on below and the last one above."""
    nothing = Charge(row="", price=0.0)
    patches, y = [], 0.0
    for number, (height_m, rate) in enumerate(zip(heights_m, rates, strict=True)):
        foot = -SIDE_M if number == 0 else y
        y += height_m
        top = SIDE_M if number == len(rates) - 1 else y
        area = box(-SIDE_M, foot, SIDE_M, top)
        patches.append(Patch(feature=str(number), area=area, dig=Charge(row="", price=rate)))
    free = box(1 - SIDE_M, 1 - SIDE_M, SIDE_M - 1, SIDE_M - 1)
    return Scene(free=free, dig=nothing, restore=nothing, patches=tuple(patches))


@pytest.mark.parametrize("name", CASES)
def test_bound_and_trench_enclose_the_refracted_way(name: str) -> None:
    heights_m, rates, aside_m, known = CASES[name]
    exact = refracted(heights_m, rates, aside_m)
    assert exact == pytest.approx(known, abs=1e-5 if known < 10 or known == 193.34995 else 1e-11)
    scene = strips(heights_m, rates)
    proven = least_over_ground(scene, Point(0, 0), Point(aside_m, sum(heights_m)), wanted=0.001)
    assert proven.bound <= exact * (1 + 1e-9)
    assert proven.best >= exact * (1 - 1e-7)
    assert proven.bound >= 0.9989 * exact
    assert proven.best == pytest.approx(exact, rel=1e-7)
