"""How fast an example is planned after one thing on it was moved: the first look, beside a plan searched from nothing.

Run ``python tests/bench/bench_first_look.py [--moves N] [--wall]``; not a test, and nothing is asserted about time. Each move
begins from the example as it is: every thing but the parcel in turn, by 0.3 to 5 m in any direction, every sixth by 5 to 15 m;
now and then a thing is taken away where no line ends, or a tree put beside a trench. *Cold* is the quick plan of the moved site,
without proof and other ways; *first* follows the plan before. Reading the files is left out; it is the last column. Both times
are the least of some runs, processor milliseconds, with ``--wall`` those of the clock on the wall. *Dearer* is by how much the
layout of the first look costs more; below 0 it is the cheaper one. A move that leaves no way is left out.
"""

from __future__ import annotations

import argparse
import math
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import partial

import numpy as np
from shapely import affinity
from shapely.geometry.base import BaseGeometry

from siteplan.document.model import Plan
from siteplan.errors import SiteplanError
from siteplan.plan import plan_site
from siteplan.read import read_site
from siteplan.site.catalogue import data_folder
from siteplan.site.features import Feature
from siteplan.site.site import Site

SEED = 20261129
EXAMPLES = ("cedar-bench", "birch-landing")
RUNS = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Moved:
    """What came of one move: milliseconds, and by which share the first look is dearer."""

    cold_ms: float
    first_ms: float
    dearer: float
    followed: bool


def moves(site: Site, plan: Plan, count: int) -> Iterator[Site]:
    """Give the site with one thing moved, taken away or put in, so many times."""
    rng = np.random.default_rng(SEED)
    things = [each for each in site.features if each.kind != "parcel" and not each.shape.is_empty]
    ends = {place for line in site.lines for place in (line.start, line.end)}
    for number in range(count):
        thing, how = things[number % len(things)], (number + number // len(things)) % 12
        if how == 5 and thing.id not in ends and thing.kind != "building":
            yield replace(site, features=tuple(each for each in site.features if each is not thing))
        elif how == 11:
            yield replace(site, features=(*site.features, _tree(rng, site, plan)))
        else:
            far_m = rng.uniform(5.0, 15.0) if how % 6 == 2 else rng.uniform(0.3, 5.0)
            turn = rng.uniform(0.0, math.tau)
            shape = _shifted(plan, thing.shape, far_m * math.cos(turn), far_m * math.sin(turn))
            yield replace(
                site,
                features=tuple(
                    replace(each, shape=shape) if each is thing else each for each in site.features
                ),
            )


def _shifted(plan: Plan, shape: BaseGeometry, east_m: float, north_m: float) -> BaseGeometry:
    return plan.frame.to_lonlat(affinity.translate(plan.frame.to_ground(shape), east_m, north_m))


def _tree(rng: np.random.Generator, site: Site, plan: Plan) -> Feature:
    """Plant a tree like the first one within 4 m of a trench."""
    reach = plan.layout.reaches[int(rng.integers(len(plan.layout.reaches)))]
    beside = reach.path.interpolate(rng.uniform(0.1, 0.9), normalized=True)
    beside = affinity.translate(beside, *rng.uniform(-4.0, 4.0, 2))
    like = next(each for each in site.features if each.kind == "tree")
    return replace(like, id="new-tree", name="New tree", shape=plan.frame.to_lonlat(beside))


def least(work: Callable[[], Plan], clock: Callable[[], float]) -> tuple[float, Plan]:
    """Return the least milliseconds of some runs, and what came of it."""
    times = []
    for _ in range(RUNS):
        begin = clock()
        plan = work()
        times.append((clock() - begin) * 1e3)
    return min(times), plan


def measured(name: str, count: int, clock: Callable[[], float]) -> tuple[list[Moved], float]:
    """Plan an example after each of some moves; also return the milliseconds that reading it takes."""
    folder = data_folder("example_sites") / name
    site = read_site(folder)
    before = plan_site(site, thorough=False)
    begin = clock()
    for _ in range(RUNS):
        read_site(folder)
    read_ms = (clock() - begin) * 1e3 / RUNS
    found = []
    for moved in moves(site, before, count):
        try:
            cold_ms, cold = least(partial(plan_site, moved, thorough=False), clock)
            first_ms, first = least(partial(plan_site, moved, former=before), clock)
        except SiteplanError:
            continue
        dearer = first.layout.price / cold.layout.price - 1.0
        found.append(Moved(cold_ms=cold_ms, first_ms=first_ms, dearer=dearer, followed=first.layout.followed))
    return found, read_ms


def main() -> None:
    """Print a line for each example."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--moves", type=int, default=60)
    parser.add_argument("--wall", action="store_true", help="wall clock")
    options = parser.parse_args()
    clock = time.perf_counter if options.wall else time.process_time
    print(
        f"{'example':>14} {'moves':>6} {'followed':>9} {'cold ms':>8} {'p95':>6} {'first ms':>9} {'p95':>6}"
        f" {'cold/first':>11} {'dearer %':>9} {'p95':>6} {'most':>6} {'read ms':>8}"
    )
    for name in EXAMPLES:
        found, read_ms = measured(name, options.moves, clock)
        cold, first, dearer = (
            np.array([getattr(each, what) for each in found]) for what in ("cold_ms", "first_ms", "dearer")
        )
        p95 = [float(np.quantile(column, 0.95)) for column in (cold, first, 100 * dearer)]
        print(
            f"{name:>14} {len(found):>6} {sum(each.followed for each in found):>9}"
            f" {np.median(cold):>8.0f} {p95[0]:>6.0f} {np.median(first):>9.0f} {p95[1]:>6.0f}"
            f" {np.median(cold / first):>11.1f} {100 * np.median(dearer):>9.2f} {p95[2]:>6.2f}"
            f" {100 * dearer.max():>6.2f} {read_ms:>8.0f}",
            flush=True,
        )


if __name__ == "__main__":
    main()
