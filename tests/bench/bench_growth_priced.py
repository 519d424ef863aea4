"""How the time of the priced router grows with the surfaces on a site and with the places to join.

Run ``python tests/bench/bench_growth_priced.py [--sites N] [--plot FILE]``; not a test, and nothing is asserted about time. CPU
time in milliseconds, the median over seeded sites. *Surfaces*: a site of ``priced_sites.py`` (road, drive, walk, two buried
lines, trees) with more and more patches of another price; *first* is the first answer from nothing, *even* the
shortest line over the same free ground at one price, *ratio* the one over the other. *Ends*: a yard of ``bench_trees.py``;
*tree* is the cheapest tree of trenches, *apart* a trench for each end by itself, *ratio* the one over the other.
"""

from __future__ import annotations

import argparse
import statistics
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from pathlib import Path
from time import process_time

import numpy as np
from bench_trees import yard
from plots import Series, log_log_chart
from priced_sites import SIDE_M, priced_site
from shapely import Point

from siteplan.route.approach import Approach
from siteplan.route.between import shortest_between
from siteplan.route.mesh import FreeGround
from siteplan.route.priced.cheapest import cheapest
from siteplan.route.priced.tree import cheapest_tree
from siteplan.route.scene import Charge, Patch, Scene

SURFACES = (5, 10, 20, 40, 80)
ENDS = (1, 2, 3, 4, 5, 6, 7, 8)


def cpu_ms(work: Callable[[], object]) -> float:
    """Return the CPU time of one call, milliseconds."""
    begin = process_time()
    work()
    return (process_time() - begin) * 1e3


def with_surfaces(scene: Scene, count: int, seed: int) -> Scene:
    """Give a scene so many patches: its own first, then round ones of made-up prices."""
    random = np.random.default_rng([seed, 77])
    more = [
        Patch(
            feature=f"patch-{n}",
            area=Point(*random.uniform(5, SIDE_M - 5, 2)).buffer(random.uniform(2, 6), quad_segs=4),
            restore=Charge(row="", price=random.uniform(10, 80)),
        )
        for n in range(max(0, count - len(scene.patches)))
    ]
    return replace(scene, patches=(*scene.patches, *more)[:count])


def over_surfaces(count: int, sites: int) -> dict[str, float]:
    """Measure the first answer on sites with so many surfaces."""
    rows = []
    for seed in range(sites):
        site = priced_site(seed)
        scene = with_surfaces(site.scene(), count, seed)
        well, house, _ = site.ends()
        rows.append((cpu_ms(partial(_first, scene, well, house)), cpu_ms(partial(_even, scene, well, house))))
    first_ms, even_ms = (statistics.median(column) for column in zip(*rows, strict=True))
    return {"count": count, "work": first_ms, "peer": even_ms}


def to_ends(count: int, sites: int) -> dict[str, float]:
    """Measure the cheapest tree to so many ends."""
    rows = []
    for seed in range(sites):
        scene, (start, *ends) = yard(seed, count)
        ground = FreeGround(scene.free)
        tree = cpu_ms(partial(cheapest_tree, scene, start, ends, ground=ground))
        rows.append((tree, sum(cpu_ms(partial(cheapest, scene, start, end, ground=ground)) for end in ends)))
    tree_ms, apart_ms = (statistics.median(column) for column in zip(*rows, strict=True))
    return {"count": count, "work": tree_ms, "peer": apart_ms}


def _first(scene: Scene, start: Approach, end: Approach) -> None:
    assert cheapest(scene, start, end, ground=FreeGround(scene.free)) is not None


def _even(scene: Scene, start: Approach, end: Approach) -> None:
    assert shortest_between(FreeGround(scene.free), start.goal, end.goal) is not None


def table(
    names: tuple[str, str, str],
    counts: tuple[int, ...],
    measure: Callable[[int, int], dict[str, float]],
    sites: int,
) -> list[dict[str, float]]:
    """Measure every size and print a row for each."""
    print(f"{names[0]:>8} {names[1] + ' ms':>9} {names[2] + ' ms':>9} {'ratio':>6}")
    rows = []
    for count in counts:
        row = measure(count, sites)
        rows.append(row)
        print(
            f"{count:>8} {row['work']:>9.1f} {row['peer']:>9.1f} {row['work'] / row['peer']:>6.1f}",
            flush=True,
        )
    print()
    return rows


def main() -> None:
    """Print the tables, and draw them if asked."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--sites", type=int, default=5)
    parser.add_argument("--plot", type=Path, help="write a chart as SVG")
    options = parser.parse_args()
    surfaces = table(("surfaces", "first", "even"), SURFACES, over_surfaces, options.sites)
    ends = table(("ends", "tree", "apart"), ENDS, to_ends, options.sites)
    if options.plot:
        log_log_chart(
            options.plot,
            title="The cheapest trench and the cheapest tree",
            x_name="surfaces, or places to join",
            y_name="CPU time, ms",
            series=[
                Series(name=name, points=[(row["count"], row[column]) for row in rows])
                for name, rows, column in (
                    ("first answer, by surfaces", surfaces, "work"),
                    ("one price, shortest line", surfaces, "peer"),
                    ("tree, by ends", ends, "work"),
                    ("a trench for each end", ends, "peer"),
                )
            ],
            note=f"Median of {options.sites} seeded sites of about 300 corners.",
        )


if __name__ == "__main__":
    main()
