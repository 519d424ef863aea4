"""How near the proven bound comes to the cheapest trench found over ground of different prices, and how long that takes.

Run ``python tests/bench/bench_ground_bound.py [--seeds N] [--wanted SHARE]``; not a test, and nothing is asserted about time.
*Plain* sites: 100 x 100 m, 10 to 25 turned buildings, 12 trees, a road at 4 times the price of a lawn, a drive, a yard and a
strip dug by hand, three pairs of places each; about 400 triangles. *Full* sites: those of ``priced_sites``, with bores and
with lines that have a toll and a least angle; the well, the walls of a house, a far corner. Seconds are those of the process,
everything from the scene to the bound.
"""

from __future__ import annotations

import argparse
import statistics
import time
from collections.abc import Iterator
from itertools import combinations

import numpy as np
import shapely
from priced_sites import priced_site
from shapely import LineString, MultiLineString, Point, affinity, box

from siteplan.route.between import Goal
from siteplan.route.proof.ground import least_over_ground
from siteplan.route.scene import Charge, Patch, Scene

SIDE_M = 100.0
TREES = 12

Case = tuple[Scene, Goal, Goal]


def plain_cases(seed: int) -> Iterator[Case]:
    """Give a site without bores and lines, three times, with two of three places on it."""
    draw = np.random.default_rng([seed, 93])
    flat = {"cap_style": "flat", "join_style": "mitre"}
    y = draw.uniform(22, 40, 3)
    road = LineString([(-5, y[0]), (draw.uniform(35, 55), y[1]), (105, y[2])]).buffer(3.5, **flat)
    yard_x, yard_y = draw.uniform(55, 70), draw.uniform(62, 72)
    drive = LineString([(yard_x - 8, y[1]), (yard_x - 4, yard_y - 12), (yard_x + 5, yard_y)]).buffer(
        2.0, **flat
    )
    yard = box(yard_x, yard_y, yard_x + 22, yard_y + 13)
    hand = LineString([(draw.uniform(10, 30), -5), (draw.uniform(20, 40), 60), (draw.uniform(5, 25), 105)])
    areas = [(road, 4.0), (drive, 1.3), (yard, 6.0), (hand.buffer(1.0, **flat), 5.0)]
    busy = shapely.union_all([road, drive, yard])
    buildings: list[shapely.Polygon] = []
    count = int(draw.integers(10, 26))
    for _ in range(6000):
        half = draw.uniform(3, 7, 2)
        turned = affinity.rotate(box(*-half, *half), draw.uniform(0, 90))
        kept_off = affinity.translate(turned, *draw.uniform(9, SIDE_M - 9, 2)).buffer(1.5, join_style="mitre")
        apart = all(kept_off.distance(other) > 0.5 for other in buildings)
        if len(buildings) < count and apart and kept_off.distance(busy) > 0.3:
            buildings.append(kept_off)
    areas += [
        (Point(draw.uniform(4, 96, 2)).buffer(draw.uniform(2, 5), quad_segs=3), 2.0) for _ in range(TREES)
    ]
    free = box(0, 0, SIDE_M, SIDE_M).difference(shapely.union_all(buildings))
    places = []
    for (x0, x1), (y0, y1) in (((3, 97), (3, 20)), ((3, 97), (75, 97)), ((3, 35), (45, 97))):
        spots = (Point(draw.uniform(x0, x1), draw.uniform(y0, y1)) for _ in range(1000))
        places.append(next(spot for spot in spots if free.contains(spot.buffer(0.3))))
    patches = tuple(
        Patch(feature=str(number), area=area, dig=charge(rate)) for number, (area, rate) in enumerate(areas)
    )
    scene = Scene(free=free, dig=charge(1.0), restore=charge(0.0), patches=patches)
    for start, goal in combinations(places, 2):
        yield scene, start, goal


def full_cases(seed: int) -> Iterator[Case]:
    """Give a site with everything, three times, with two of three places on it."""
    site = priced_site(seed)
    places: list[Goal] = []
    for approach in site.ends():
        spots = [place for place, _ in approach.places]
        places.append(spots[0] if isinstance(spots[0], Point) else MultiLineString(spots))
    for start, goal in combinations(places, 2):
        yield site.scene(), start, goal


def charge(price: float) -> Charge:
    return Charge(row="bench", price=price)


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--seeds", type=int, default=20)
    parser.add_argument("--wanted", type=float, default=0.01)
    asked = parser.parse_args()
    for name, cases in (("plain", plain_cases), ("full", full_cases)):
        seconds, gaps, pairs = [], [], []
        for seed in range(asked.seeds):
            for scene, start, goal in cases(seed):
                began = time.process_time()
                proven = least_over_ground(scene, start, goal, wanted=asked.wanted)
                seconds.append(time.process_time() - began)
                gaps.append(1 - proven.bound / proven.best)
                pairs.append(proven.pairs)
        reached = sum(gap <= asked.wanted * (1 + 1e-6) for gap in gaps)
        print(
            f"{name}: {reached} of {len(gaps)} at {asked.wanted:.1%}, worst gap {max(gaps):.2%}; "
            f"s median {statistics.median(seconds):.2f}, 90 % {np.quantile(seconds, 0.9):.2f}, worst {max(seconds):.2f}; "
            f"pairs median {statistics.median(pairs):,.0f}, most {max(pairs):,}"
        )


if __name__ == "__main__":
    main()
