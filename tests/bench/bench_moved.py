"""How fast a line is found again after one obstacle was dragged, beside making everything anew.

Run ``python tests/bench/bench_moved.py [--quick] [--large]``; not a test, and nothing is asserted about time. CPU time in
milliseconds. *Patch* makes the ground anew where an obstacle was and is, and finds the line across the parcel; *anew* makes the
whole ground and finds it; the peer, the fastest exact package on PyPI that installs, cannot move an obstacle and prepares its
whole scene. Each drag moves one obstacle by up to three metres and turns it, clear of all others, on from the drag before; after
each, the length is compared with that over ground made anew. ``--quick`` leaves the peer out at 2,000 corners, where it takes
a minute; ``--large`` adds 10,000 corners without it.
"""

from __future__ import annotations

import argparse
import math
import statistics
from collections.abc import Callable
from dataclasses import dataclass
from importlib.metadata import version
from time import process_time

import numpy as np
import shapely
from bench_shortest import PEER, SIZES, SLOW, peer, timed
from shapely import Point, Polygon, affinity
from sites import SEED, BenchSite, mixed_site

from siteplan.route.mesh import FreeGround
from siteplan.route.moved import Obstructed, obstructed
from siteplan.route.shortest import shortest_to_point

DRAGS = 60
CLEAR_M = 0.3


@dataclass(frozen=True, slots=True, kw_only=True)
class Drags:
    """CPU time of each drag, milliseconds, and the greatest relative difference of a length."""

    patch_ms: list[float]
    anew_ms: list[float]
    apart: float


def dragged(rng: np.random.Generator, yard: Obstructed) -> tuple[int, Polygon]:
    """Choose an obstacle and a new place for it, clear of all others."""
    tree = shapely.STRtree(yard.obstacles)
    while True:
        which = int(rng.integers(len(yard.obstacles)))
        shape = affinity.rotate(
            affinity.translate(yard.obstacles[which], *rng.uniform(-3, 3, 2)), rng.uniform(-9, 9)
        )
        near = tree.query(shape, predicate="dwithin", distance=CLEAR_M)
        if set(near.tolist()) <= {which} and shape.within(yard.land.buffer(-CLEAR_M)):
            return which, shape


def across(ground: FreeGround, site: BenchSite) -> float:
    """Return the length of the line across the parcel, infinite if an obstacle was dragged onto its end."""
    found = shortest_to_point(ground, *map(Point, site.pairs[0]))
    return found.length_m if found else math.inf


def cpu_ms(work: Callable[[], float]) -> tuple[float, float]:
    """Return the CPU time of one call, milliseconds, and what it gave."""
    begin = process_time()
    value = work()
    return (process_time() - begin) * 1e3, value


def drags(site: BenchSite) -> Drags:
    """Drag, find the line both ways, and compare."""
    rng = np.random.default_rng([SEED, site.corners])
    yard = obstructed(site.land, site.obstacles)
    across(yard.ground, site)
    patch_ms, anew_ms, apart = [], [], 0.0
    for _ in range(DRAGS):
        which, shape = dragged(rng, yard)
        begin = process_time()
        yard = yard.moved(which, shape)
        here_m = across(yard.ground, site)
        patch_ms.append((process_time() - begin) * 1e3)
        free = Polygon(site.parcel, [obstacle.exterior for obstacle in yard.obstacles])
        time_ms, there_m = cpu_ms(lambda free=free: across(FreeGround(free), site))
        anew_ms.append(time_ms)
        if here_m != there_m:
            apart = max(apart, abs(here_m - there_m) / there_m)
    return Drags(patch_ms=patch_ms, anew_ms=anew_ms, apart=apart)


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--quick", action="store_true", help="leave the peer out at 2,000 corners")
    parser.add_argument("--large", action="store_true", help="add 10,000 corners, siteplan alone")
    options = parser.parse_args()
    drags(mixed_site(20))
    print(
        f"the line found again after one of {DRAGS} drags, and {PEER} {version(PEER)} from the start; CPU ms"
    )
    print(
        f"{'corners':>8} {'patch':>8} {'p95':>8} {'most':>8} {'anew':>8} {'anew/patch':>11}"
        f" {'peer':>9} {'peer/patch':>11} {'peer/p95':>9}"
    )
    for corners in (*SIZES, 10_000) if options.large else SIZES:
        site = mixed_site(corners)
        done = drags(site)
        if done.apart > 1e-12:
            raise SystemExit(f"lengths differ by a relative {done.apart:.1e} at {corners} corners")
        median, anew = statistics.median(done.patch_ms), statistics.median(done.anew_ms)
        p95 = float(np.quantile(done.patch_ms, 0.95))
        row = f"{site.corners:>8} {median:>8.2f} {p95:>8.2f} {max(done.patch_ms):>8.2f} {anew:>8.1f} {anew / median:>11.1f}"
        if corners > SLOW or (options.quick and corners == SLOW):
            print(row + f" {'left out':>9}", flush=True)
            continue
        peer_ms = timed(peer, site).cold_s * 1e3
        print(row + f" {peer_ms:>9.1f} {peer_ms / median:>11.0f} {peer_ms / p95:>9.0f}", flush=True)


if __name__ == "__main__":
    main()
