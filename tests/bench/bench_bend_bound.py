"""How near the proven bound comes to the cheapest trench found where bends have a price, and how long that takes.

Run ``python tests/bench/bench_bend_bound.py [--seeds N] [--wanted SHARE] [--pairs N]``; not a test, and
nothing is asserted about time.
Sites of 100 x 100 m with ponds and turned houses, ends on opposite sides, a metre costs 1, a bend the same as 0.5, 2 or
5 m, with and without two lines that are crossed for 4 each at 45 degrees or more: one right across the site, one that
ends in it. Seconds are those of the process, everything from the scene to the bound.
"""

from __future__ import annotations

import argparse
import math
import statistics
import time

import numpy as np
import shapely
from shapely import LineString, Point, Polygon, affinity

from siteplan.route.proof.bends import least_with_bends
from siteplan.route.scene import Charge, Crossed, Scene

SIDE_M = 100.0
BENDS = (0.5, 2.0, 5.0)
TOLL = 4.0
LEAST_ANGLE_DEG = 45.0
ZONE_M = 0.6
FREE = Charge(row="free", price=0.0)


def pond_scene(seed: int, bend: float, *, crossed: bool) -> tuple[Scene, Point, Point]:
    """Return a site with 6 to 14 ponds and 4 to 8 houses, and two places to join."""
    rng = np.random.default_rng([seed, 77])
    ponds, houses = int(rng.integers(6, 15)), int(rng.integers(4, 9))
    obstacles: list[Polygon] = []
    shapes = [_pond] * ponds + [_house] * houses
    for _ in range(4000):
        if len(obstacles) == len(shapes):
            break
        shape = shapes[len(obstacles)](rng)
        inside = shapely.box(0, 0, SIDE_M, SIDE_M).contains(shape)
        if inside and all(shape.distance(other) > 0.7 for other in obstacles):
            obstacles.append(shape)
    busy = shapely.union_all(obstacles)
    across = LineString(
        [(-1, rng.uniform(35, 65)), rng.uniform((30, 35), (70, 65)), (101, rng.uniform(35, 65))]
    )
    stub = LineString([(rng.uniform(20, 80), -1), rng.uniform((20, 40), (80, 90))])
    start, goal = (_clear_of(busy, rng, south) for south in ((2, 15), (85, 98)))
    toll, charge = Charge(row="toll", price=TOLL), Charge(row="bend", price=bend)
    lines = tuple(
        Crossed(
            feature=name,
            axis=axis,
            zone=axis.buffer(ZONE_M),
            toll=toll,
            least_angle_deg=LEAST_ANGLE_DEG,
        )
        for name, axis in (("across", across), ("stub", stub))
    )
    scene = Scene(
        free=shapely.box(0, 0, SIDE_M, SIDE_M).difference(busy),
        dig=Charge(row="dig", price=1.0),
        restore=FREE,
        crossed=lines if crossed else (),
        bends=((180.0, charge),),
    )
    return scene, start, goal


def _pond(rng: np.random.Generator) -> Polygon:
    return Point(rng.uniform(8, 92, 2)).buffer(rng.uniform(3, 9), quad_segs=6)


def _house(rng: np.random.Generator) -> Polygon:
    x, y = rng.uniform(8, 92, 2)
    wide, deep = rng.uniform(7, 16), rng.uniform(7, 12)
    house = affinity.rotate(shapely.box(x, y, x + wide, y + deep), rng.uniform(0, 90))
    return house.buffer(1.0, join_style="mitre")


def _clear_of(
    busy: shapely.geometry.base.BaseGeometry, rng: np.random.Generator, y: tuple[float, float]
) -> Point:
    while True:
        place = Point(rng.uniform(3, 97), rng.uniform(*y))
        if busy.distance(place) > 0.8:
            return place


def main() -> None:
    """Print one line for each scene and a summary for each price."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seeds", type=int, default=20)
    parser.add_argument("--wanted", type=float, default=0.02)
    parser.add_argument(
        "--pairs", type=int, default=250_000, help="pairs of cells to look at: two or three seconds"
    )
    asked = parser.parse_args()
    for crossed in (False, True):
        for bend in BENDS:
            gaps, seconds = [], []
            for seed in range(asked.seeds):
                scene, start, goal = pond_scene(seed, bend, crossed=crossed)
                began = time.process_time()
                found = least_with_bends(
                    scene, start, goal, best=math.inf, wanted=asked.wanted, most_pairs=asked.pairs
                )
                seconds.append(time.process_time() - began)
                gaps.append(1.0 - found.bound / found.best)
                print(
                    f"{seed:3} {bend:4} {'two' if crossed else 'none':4} best {found.best:7.2f}"
                    f" gap {100 * gaps[-1]:5.2f} % {seconds[-1]:5.2f} s {found.cells} cells {found.pairs} pairs",
                    flush=True,
                )
            within = sum(gap <= 0.02 * 1.0001 for gap in gaps)
            print(
                f"bend {bend} m, {'two lines' if crossed else 'no lines'}: gap {100 * statistics.median(gaps):.2f} %,"
                f" worst {100 * max(gaps):.2f} %, {within} of {len(gaps)} within 2 %,"
                f" {statistics.median(seconds):.2f} s, worst {max(seconds):.2f} s",
                flush=True,
            )


if __name__ == "__main__":
    main()
