"""How fast the rules load and are resolved, beside the standard library's TOML reader on the same files.

Run ``python tests/bench/bench_rules.py``; not a test, and nothing is asserted about time. CPU time of fresh processes, the best
of some: *cold* loads every layer that ships once, each file with the layers above it; *parse* is ``tomllib`` alone on the same
texts, the least that any reader of them pays. The unit library is needed for a threshold in gallons or volts and is timed by
itself. *Resolve* holds 200 things on a site against a stack; most of them are alike, as on a real site.
"""

from __future__ import annotations

import argparse
import json
import subprocess
import sys
import time
import tomllib
from collections.abc import Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "rules"))

LAYER = "us/mt/helena"
KINDS = (
    *("septic_tank", "absorption_area", "building_sewer", "fuel_tank", "privy", "livestock_yard"),
    *("buried_line", "tree", "parcel"),
)


def cpu_ms(work: Callable[[], object]) -> float:
    """CPU time of one call, milliseconds."""
    start = time.process_time()
    work()
    return (time.process_time() - start) * 1e3


def measured() -> dict[str, float]:
    """Everything that one fresh process can measure, milliseconds and counts."""
    from rules_scenes import feature, line, site

    from siteplan.rules import available_layers, load_stack, resolve
    from siteplan.site.catalogue import kinds, layers_folder
    from siteplan.units import parse_quantity

    folder = layers_folder()
    paths = sorted(folder.rglob("rules.toml"))
    names = [path.parent.relative_to(folder).as_posix() for path in paths]
    texts = [path.read_text(encoding="utf-8") for path in paths]
    units = cpu_ms(lambda: (parse_quantity("1 gal", "volume_liquid"), kinds()))
    cold = cpu_ms(lambda: [load_stack(name) for name in names])
    parse = cpu_ms(lambda: [tomllib.loads(text) for text in texts])
    listing = cpu_ms(available_layers)
    warm = cpu_ms(lambda: [load_stack(name) for name in names])
    stack = load_stack(LAYER)
    things = [feature(f"f{n}", KINDS[n % len(KINDS)]) for n in range(200)]
    place = site(
        feature("well", "well", casing_depth="62 ft"),
        feature("house", "building", dwelling=True),
        *things,
        lines=(line("water", "water"), line("power", "electric", volts="240 V", amps="20 A", gfci=False)),
        facts={"subdivision": False},
    )
    return {
        "files": len(names),
        "rows": sum(len(load_stack(name).layers[-1].rows) for name in names),
        "units": units,
        "cold": cold,
        "parse": parse,
        "list": listing,
        "warm": warm,
        "resolve": min(cpu_ms(lambda: resolve(stack, place)) for _ in range(5)),
        "asked": len(resolve(stack, place).setbacks),
    }


def main() -> None:
    """Print the figures."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--runs", type=int, default=5, help="fresh processes, of which the best counts")
    parser.add_argument("--one", action="store_true", help="measure once and print the numbers as JSON")
    options = parser.parse_args()
    if options.one:
        print(json.dumps(measured()))
        return
    runs = [
        json.loads(
            subprocess.run([sys.executable, __file__, "--one"], capture_output=True, check=True).stdout
        )
        for _ in range(options.runs)
    ]
    best = {key: min(run[key] for run in runs) for key in runs[0]}
    python = ".".join(map(str, sys.version_info[:3]))
    print(
        f"{best['files']} layer files, {best['rows']} rows; CPU milliseconds, the best of {options.runs} processes"
    )
    print(f"{'tomllib of Python ' + python + ', the same texts':<52} {best['parse']:>8.1f}")
    for words, key in (
        ("all layers cold: parsed, checked, conditions ready", "cold"),
        ("all layers again in the same process", "warm"),
        ("the list of layers", "list"),
    ):
        print(f"{words:<52} {best[key]:>8.1f}   {best[key] / best['parse']:>5.2f} x tomllib")
    print(f"{'unit library and kinds, once for each process':<52} {best['units']:>8.1f}")
    words = f"200 things under {LAYER}: {best['asked']} answers"
    print(f"{words:<52} {best['resolve']:>8.1f}   {best['resolve'] / best['parse']:>5.2f} x tomllib")


if __name__ == "__main__":
    main()
