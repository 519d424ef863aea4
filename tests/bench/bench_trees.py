"""How long the cheapest tree of trenches takes, and how close the proof comes to it.

Run ``python tests/bench/bench_trees.py [--sites N]``; not a test, and nothing is asserted about time. Seeded yards of 80 m with
buildings, trees and a drive, 3 to 8 ends, bends and tees priced; "even" is the same yard at one price a metre. The time is that
of the process.
"""

from __future__ import annotations

import argparse
import statistics
import time
from dataclasses import replace

import numpy as np
import shapely
from shapely import Point, box

from siteplan.route.approach import Approach
from siteplan.route.between import Goal, shortest_between
from siteplan.route.mesh import FreeGround
from siteplan.route.priced.tree import cheapest_tree
from siteplan.route.proof.trees import least_tree
from siteplan.route.scene import Charge, Patch, Scene

SIDE_M = 80.0
WANTED = 0.01


def charge(row: str, price: float) -> Charge:
    return Charge(row=row, price=price)


def yard(seed: int, ends: int) -> tuple[Scene, list[Approach]]:
    """Make a yard and the places to join on it."""
    random = np.random.default_rng(seed)
    free = box(0, 0, SIDE_M, SIDE_M)
    for x, y in random.uniform(8, SIDE_M - 8, (6, 2)):
        free = free.difference(box(x - 6, y - 4, x + 6, y + 4).buffer(1.0, quad_segs=4))
    for x, y in random.uniform(8, SIDE_M - 8, (5, 2)):
        free = free.difference(Point(x, y).buffer(3, quad_segs=6))
    free = max(shapely.get_parts(free), key=lambda part: part.area)
    places: list[Approach] = []
    while len(places) < ends + 1:
        x, y = random.uniform(2, SIDE_M - 2, 2)
        if free.contains(Point(x, y)):
            places.append(Approach(feature="", places=((Point(x, y), (0.0, 0.0)),), leg_m=0.0))
    x = random.uniform(20, SIDE_M - 20)
    drive = Patch(feature="drive", area=box(x - 2, -1, x + 2, SIDE_M + 1), restore=charge("gravel", 25.0))
    bends = tuple(
        (deg, charge(f"bend-{deg:.0f}", price)) for deg, price in ((22.5, 25.0), (45, 30), (90, 40))
    )
    scene = Scene(
        free=free,
        dig=charge("dig", 12.0),
        restore=charge("lawn", 3.0),
        patches=(drive,),
        bends=bends,
        tee=charge("tee", 60.0),
    )
    return scene, places


def run(scene: Scene, places: list[Approach]) -> tuple[float, float, float]:
    """Return seconds for the tree, seconds for the proof, and the gap."""
    ground = FreeGround(scene.free)

    def alone(one: Goal, other: Goal) -> float:
        found = shortest_between(ground, one, other)
        return scene.plain * found.length_m if found else np.inf

    begin = time.process_time()
    found = cheapest_tree(scene, places[0], places[1:], ground=ground)
    between = time.process_time()
    assert found is not None
    start, *ends = (way.goal for way in places)
    bound = least_tree(scene, start, ends, best=found.price, pair_bound=alone, wanted=WANTED)
    return between - begin, time.process_time() - between, 1 - bound / found.price


def main() -> None:
    """Print one line for each number of ends."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sites", type=int, default=5)
    sites = parser.parse_args().sites
    print("ends  ground  tree s (median, worst)  proof s (median, worst)  gap % (median, worst)")
    for count in range(3, 9):
        for name in ("even", "priced"):
            rows = []
            for seed in range(sites):
                scene, places = yard(seed, count)
                if name == "even":
                    free = charge("", 0.0)
                    scene = replace(scene, patches=(), bends=(), tee=free)
                rows.append(run(scene, places))
            cells = [
                f"{scale * statistics.median(column):8.2f} {scale * max(column):8.2f}"
                for scale, column in zip((1, 1, 100), zip(*rows, strict=True), strict=True)
            ]
            print(f"{count:4d}  {name:6s}", *cells, sep="  ", flush=True)


if __name__ == "__main__":
    main()
