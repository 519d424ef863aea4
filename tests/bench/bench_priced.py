"""How fast the cheapest trenches of a made-up site are found.

Run ``python tests/bench/bench_priced.py [--sites N]``; not a test, and nothing is asserted about time. *First* is the time to
two trenches, from the well to the walls of a house and to a far place, with only the scene ready; *again* is the same after
one building was moved by half a metre, going on from the first search. Processor milliseconds; with ``--wall`` those of the
clock on the wall.
"""

from __future__ import annotations

import argparse
import statistics
import time
from collections.abc import Callable

from priced_sites import PricedSite, priced_site

from siteplan.route.priced.cheapest import Search
from siteplan.route.scene import Scene


def both(site: PricedSite, scene: Scene, former: Search | None = None) -> tuple[Search, list[float]]:
    """Return the search and the prices of the two trenches, 0 where there is none."""
    well, house, far = site.ends()
    search = Search(scene, former=former)
    ways = [search.way(well, end) for end in (house, far)]
    return search, [way.price if way else 0.0 for way in ways]


def timed(
    site: PricedSite, scene: Scene, clock: Callable[[], float], former: Search | None = None
) -> tuple[float, Search, list[float]]:
    """Return milliseconds, the search, and prices."""
    begin = clock()
    search, prices = both(site, scene, former)
    return (clock() - begin) * 1e3, search, prices


def main() -> None:
    """Print a line for each site, and the sum of it."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--sites", type=int, default=10)
    parser.add_argument("--wall", action="store_true", help="wall clock")
    options = parser.parse_args()
    clock = time.perf_counter if options.wall else time.process_time
    both(priced_site(0), priced_site(0).scene())
    first, again = [], []
    print(f"{'site':>5} {'corners':>8} {'first ms':>9} {'again ms':>9}  prices")
    for seed in range(options.sites):
        site = priced_site(seed)
        first_ms, search, prices = timed(site, site.scene(), clock)
        other = next(i for i in range(len(site.buildings)) if i != site.house)
        again_ms, _, _ = timed(site, site.scene(moved=other, by=(0.4, 0.3)), clock, search)
        first.append(first_ms)
        again.append(again_ms)
        shown = ", ".join(f"{price:.0f}" for price in prices)
        print(f"{seed:>5} {site.vertices:>8} {first_ms:>9.0f} {again_ms:>9.0f}  {shown}", flush=True)
    for name, times in (("first", first), ("again", again)):
        times.sort()
        p95 = times[min(len(times) - 1, int(0.95 * len(times)))]
        print(f"{name}: median {statistics.median(times):.0f} ms, 95 % {p95:.0f} ms")


if __name__ == "__main__":
    main()
