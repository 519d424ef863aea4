"""How fast the shortest line is found, beside the fastest exact package on PyPI that installs.

Run ``python tests/bench/bench_shortest.py [--quick] [--large] [--site NAME]``; not a test, and nothing is asserted about time.
Both find the shortest lines on the same made-up sites in the same run, and every length is compared. CPU time: *cold* is
everything from the outlines to the first answer (imports left out); *query* is the median of the further pairs of places.
``--quick`` leaves the other package out at 2,000 corners, where it takes a minute or more.
"""

from __future__ import annotations

import argparse
import statistics
from collections.abc import Callable
from dataclasses import dataclass
from importlib.metadata import version
from time import process_time

import shapely
from shapely import Point
from sites import SITES, BenchSite, Place, mixed_site

from siteplan.route.mesh import FreeGround
from siteplan.route.shortest import shortest_to_point

PEER = "extremitypathfinder"
SIZES = (100, 500, 2000)
SLOW = 2000

Find = Callable[[Place, Place], float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Timing:
    """CPU seconds, and the lengths found, metres."""

    cold_s: float
    query_s: float
    lengths_m: list[float]


def ours(site: BenchSite) -> Find:
    """Prepare the free ground."""
    ground = FreeGround(site.free_area)

    def find(start: Place, goal: Place) -> float:
        found = shortest_to_point(ground, Point(start), Point(goal))
        assert found is not None
        return found.length_m

    return find


def peer(site: BenchSite) -> Find:
    """Prepare the other package; it wants the parcel counterclockwise and the obstacles clockwise, unclosed."""
    from extremitypathfinder import PolygonEnvironment

    rings = [shapely.orient_polygons(obstacle, exterior_cw=True).exterior for obstacle in site.obstacles]
    environment = PolygonEnvironment()
    environment.store(site.parcel, [list(ring.coords)[:-1] for ring in rings], validate=False)
    environment.prepare()

    def find(start: Place, goal: Place) -> float:
        length_m = environment.find_shortest_path(start, goal)[1]
        return float(length_m)

    return find


def timed(prepare: Callable[[BenchSite], Find], site: BenchSite, repeats: int = 1) -> Timing:
    """Time the first answer, the best of some repeats, and the others."""
    cold_s = []
    for _ in range(repeats):
        begin = process_time()
        find = prepare(site)
        first_m = find(*site.pairs[0])
        cold_s.append(process_time() - begin)
    lengths_m, query_s = [first_m], []
    for pair in site.pairs[1:]:
        begin = process_time()
        lengths_m.append(find(*pair))
        query_s.append(process_time() - begin)
    return Timing(cold_s=min(cold_s), query_s=statistics.median(query_s), lengths_m=lengths_m)


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--quick", action="store_true", help="leave the other package out at 2,000 corners")
    parser.add_argument("--large", action="store_true", help="add 10,000 corners, siteplan alone")
    parser.add_argument("--site", choices=SITES, default="mixed", help="what stands on the parcel")
    options = parser.parse_args()
    ours(mixed_site(20))
    print(f"shortest lines, siteplan beside {PEER} {version(PEER)}; {options.site} site, CPU ms")
    print(f"{'corners':>8} {'cold':>9} {'query':>9} {'peer cold':>11} {'peer query':>11} {'cold ratio':>11}")
    for corners in (*SIZES, 10_000) if options.large else SIZES:
        site = SITES[options.site](corners)
        mine = timed(ours, site, repeats=3)
        row = f"{site.corners:>8} {mine.cold_s * 1e3:>9.1f} {mine.query_s * 1e3:>9.2f}"
        if corners > SLOW or (options.quick and corners == SLOW):
            print(row + f" {'left out':>11}", flush=True)
            continue
        other = timed(peer, site)
        apart = max(abs(a - b) / b for a, b in zip(mine.lengths_m, other.lengths_m, strict=True))
        if apart > 1e-9:
            raise SystemExit(f"lengths differ by a relative {apart:.1e} at {corners} corners")
        row += (
            f" {other.cold_s * 1e3:>11.1f} {other.query_s * 1e3:>11.2f} {other.cold_s / mine.cold_s:>11.0f}"
        )
        print(row + f"   lengths equal within {apart:.0e}", flush=True)


if __name__ == "__main__":
    main()
