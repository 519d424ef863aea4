"""How time and memory grow with the corners of a site.

Run ``python tests/bench/bench_growth.py [--site NAME] [--plot FILE]``; not a test, and nothing is asserted about time. Each size
runs in a fresh process. CPU time in milliseconds: *mesh* cleans the free area and cuts it into triangles, *first* finds the
first line over it, *query* is the median of more lines between far places. *Bare* takes the obstacles as they are; *clear* keeps
``KEEP_M`` off each, and counts growing, joining and cutting them out as well. *Least* is the triangulation by GEOS alone of the
same area, which every exact router on triangles pays, and *ratio* is all up to the first line as a multiple of it: that does not
depend on the machine. *Power* tells how cold grows from the size before: 1 is in step with the corners. Memory is the
peak above what the imports take.
"""

from __future__ import annotations

import argparse
import json
import math
import resource
import statistics
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from time import process_time
from typing import TypeVar

import shapely
from plots import Series, log_log_chart
from shapely import Point
from sites import SITES

from siteplan.route.grown import grown_each
from siteplan.route.mesh import FreeGround, cleaned
from siteplan.route.shortest import shortest_to_point

SIZES = (20, 100, 500, 2000, 10_000)
KEEP_M = 1.0

Result = TypeVar("Result")


def cpu_ms(work: Callable[[], Result]) -> tuple[float, Result]:
    """Return the CPU time of one call, milliseconds, and what it gave."""
    begin = process_time()
    result = work()
    return (process_time() - begin) * 1e3, result


def peak_mb() -> float:
    """Return the most memory that this process has held so far, MB."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def measured(kind: str, corners: int, *, clear: bool) -> dict[str, float]:
    """Measure one site, once, in this process."""
    at_start_mb = peak_mb()
    site = SITES[kind](corners)
    made_mb = peak_mb()
    grow_ms, area = 0.0, site.free_area
    if clear:
        grow_ms, area = cpu_ms(
            lambda: site.land.difference(
                shapely.disjoint_subset_union_all(
                    grown_each(site.obstacles, [KEEP_M] * len(site.obstacles), corners="outside")
                )
            )
        )
    mesh_ms, ground = cpu_ms(lambda: FreeGround(area))
    pairs = [(Point(start), Point(goal)) for start, goal in site.pairs]
    first_ms, _ = cpu_ms(lambda: shortest_to_point(ground, *pairs[0]))
    query_ms = [cpu_ms(lambda pair=pair: shortest_to_point(ground, *pair))[0] for pair in pairs[1:]]
    peak = peak_mb()
    clean = cleaned(area)
    return {
        "corners": site.corners,
        "ground": len(ground.mesh.x),
        "grow": grow_ms,
        "mesh": mesh_ms,
        "first": first_ms,
        "cold": grow_ms + mesh_ms + first_ms,
        "query": statistics.median(query_ms),
        "least": cpu_ms(lambda: shapely.constrained_delaunay_triangles(clean))[0],
        "memory": peak - at_start_mb,
        "site_memory": made_mb - at_start_mb,
    }


def in_a_process(kind: str, corners: int, *, clear: bool) -> dict[str, float]:
    """Measure one site in a process of its own."""
    command = [
        sys.executable,
        __file__,
        "--site",
        kind,
        "--measure",
        str(corners),
        *(["--clear"] if clear else []),
    ]
    done = subprocess.run(command, check=True, capture_output=True, text=True)
    result: dict[str, float] = json.loads(done.stdout)
    return result


def table(kind: str, *, clear: bool) -> list[dict[str, float]]:
    """Measure all sizes and print a row for each."""
    print(f"{kind} site, " + (f"{KEEP_M:g} m kept off each obstacle" if clear else "bare obstacles"))
    names = ("grow", "mesh", "first", "cold", "query", "least")
    print(f"{'corners':>8} {'of ground':>9}" + "".join(f" {name:>8}" for name in names), end="")
    print(f" {'ratio':>6} {'power':>6} {'MB':>6}")
    rows: list[dict[str, float]] = []
    for corners in SIZES:
        row = in_a_process(kind, corners, clear=clear)
        power = (
            f"{math.log(row['cold'] / rows[-1]['cold']) / math.log(row['corners'] / rows[-1]['corners']):.2f}"
            if rows
            else ""
        )
        rows.append(row)
        print(
            f"{row['corners']:>8.0f} {row['ground']:>9.0f}"
            + "".join(f" {row[name]:>8.1f}" for name in names),
            end="",
        )
        print(f" {row['cold'] / row['least']:>6.1f} {power:>6} {row['memory']:>6.0f}", flush=True)
    print()
    return rows


def main() -> None:
    """Print the tables, and draw them if asked."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--site", choices=SITES, default="mixed", help="what stands on the parcel")
    parser.add_argument("--plot", type=Path, help="write a chart as SVG")
    parser.add_argument("--measure", type=int, help=argparse.SUPPRESS)
    parser.add_argument("--clear", action="store_true", help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.measure:
        print(json.dumps(measured(options.site, options.measure, clear=options.clear)))
        return
    bare, clear = (table(options.site, clear=clear) for clear in (False, True))
    if options.plot:
        log_log_chart(
            options.plot,
            title=f"A shortest line on a {options.site} site",
            x_name="corners of the obstacles",
            y_name="CPU time, ms",
            series=[
                Series(name=name, points=[(row["corners"], row[column]) for row in rows])
                for name, rows, column in (
                    ("cold, with clearances", clear, "cold"),
                    ("cold, bare obstacles", bare, "cold"),
                    ("triangles alone (GEOS), bare", bare, "least"),
                    ("further line, with clearances", clear, "query"),
                    ("further line, bare", bare, "query"),
                )
            ],
            note="Cold: from the outlines to the first line. One run of each size.",
        )


if __name__ == "__main__":
    main()
