"""How fast the cheapest trenches of a made-up site are found.

Run ``python tests/bench/bench_priced.py [--sites N]``; not a test, and nothing is asserted about time. *First* is the time to
two trenches, from the well to the walls of a house and to a far place, with only the scene ready; *again* is the same after
one building was moved by half a metre, going on from the first search; *followed* is the same as a first look has it, each
trench following the one before, and *dearer* by how much the two together cost more than those found again. Processor
milliseconds; with ``--wall`` those of the clock on the wall.
"""

from __future__ import annotations

import argparse
import statistics
import time
from collections.abc import Callable
from functools import partial
from typing import TypeVar

from priced_sites import PricedSite, priced_site

from siteplan.route.approach import Approach
from siteplan.route.branching import bare_tree, begun
from siteplan.route.fixed import on_free_ground
from siteplan.route.priced.cheapest import Search, Way
from siteplan.route.priced.tree_follow import followed
from siteplan.route.priced.tree_net import net_of
from siteplan.route.priced.tree_price import NetPrice
from siteplan.route.scene import Scene

Ways = list[Way | None]
Found = TypeVar("Found")


def both(site: PricedSite, scene: Scene, former: Search | None = None) -> tuple[Search, Ways]:
    """Return the search and the two trenches, ``None`` where there is none."""
    well, house, far = site.ends()
    search = Search(scene, former=former)
    return search, [search.way(well, end) for end in (house, far)]


def both_after(site: PricedSite, scene: Scene, before: Ways) -> list[float]:
    """Return the prices of the two trenches if each follows the one before; one that cannot is searched for."""
    well, house, far = site.ends()
    search = Search(scene)
    return [_price_after(search, well, end, way) for end, way in zip((house, far), before, strict=True)]


def _price_after(search: Search, well: Approach, end: Approach, before: Way | None) -> float:
    if before is not None:
        pricing = NetPrice(search.scene, well, [end], search.links)
        line = on_free_ground(before, well, end)
        net = net_of(begun(bare_tree(well.goal), line, end.goal, 0), well, [end])
        found = followed(pricing, search, net, (), before.price)
        if found is not None:
            return pricing.of(found)
    way = search.way(well, end)
    return way.price if way else 0.0


def timed(work: Callable[[], Found], clock: Callable[[], float]) -> tuple[float, Found]:
    """Return milliseconds, and what came of it."""
    begin = clock()
    found = work()
    return (clock() - begin) * 1e3, found


def priced(ways: Ways) -> float:
    """Return the price of some trenches together."""
    return sum(way.price for way in ways if way)


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
    columns: dict[str, list[float]] = {"first": [], "again": [], "followed": []}
    dearer: list[float] = []
    heads = " ".join(f"{f'{name} ms':>11}" for name in columns)
    print(f"{'site':>5} {'corners':>8} {heads} {'dearer %':>9}  prices")
    for seed in range(options.sites):
        site = priced_site(seed)
        first_ms, (search, ways) = timed(partial(both, site, site.scene()), clock)
        other = next(i for i in range(len(site.buildings)) if i != site.house)
        moved = site.scene(moved=other, by=(0.4, 0.3))
        again_ms, (_, again) = timed(partial(both, site, moved, search), clock)
        followed_ms, prices = timed(partial(both_after, site, moved, ways), clock)
        times = first_ms, again_ms, followed_ms
        for column, ms in zip(columns.values(), times, strict=True):
            column.append(ms)
        dearer.append(100.0 * (sum(prices) / priced(again) - 1.0))
        shown = ", ".join(f"{way.price:.0f}" for way in ways if way)
        print(
            f"{seed:>5} {site.vertices:>8} {' '.join(f'{ms:>11.0f}' for ms in times)} {dearer[-1]:>9.3f}  {shown}",
            flush=True,
        )
    for name, column in columns.items():
        print(f"{name}: median {statistics.median(column):.0f} ms, 95 % {_high(column):.0f} ms")
    print(
        f"dearer: median {statistics.median(dearer):.3f} %, 95 % {_high(dearer):.3f} %, most {max(dearer):.3f} %"
    )


def _high(column: list[float]) -> float:
    """Return what 95 % are at most."""
    return sorted(column)[min(len(column) - 1, int(0.95 * len(column)))]


if __name__ == "__main__":
    main()
