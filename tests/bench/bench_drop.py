"""How long it takes in the page from letting a dragged thing go to the plan redrawn, and where that time goes.

Run ``python tests/bench/bench_drop.py [--rest MS]``; not a test, and nothing is asserted about time. Serves a copy of the first
example by ``siteplan draw``, opens it in the system's Chromium and drags the well to and fro in half a second. The plan goes
with it while it is dragged; ``--rest`` is how long the pointer rests before it lets go. Wall time in milliseconds, median and
95th percentile, of the first look after each drop:

- *drop to redrawn*: from the pointer let go to the end of the redraw
- *save*, *plan*: the two requests as the browser times them
- *redraw*: from the answer received to the end of the redraw; *frame*: until the browser has painted it
- *carried*: from one plan that goes with the drag to the next
"""

from __future__ import annotations

import argparse
import math
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "web"))

STEPS, STEP_MS = 30, 16
FAR_PX = 60

MEASURE = """() => new Promise((done, give_up) => {
    let up = 0;
    const carried = [];
    setTimeout(() => give_up(new Error(`no redraw after ${up}`)), 30000);
    addEventListener("pointerup", () => {
        performance.clearMarks("redrawn");
        performance.clearResourceTimings();
        up = performance.now();
    }, { capture: true, once: true });
    const asked = (path, before) => performance.getEntriesByType("resource").filter(({ name, responseEnd, startTime }) =>
        new URL(name).pathname === path && startTime >= up && responseEnd <= before).at(-1);
    const watch = new PerformanceObserver((list) => {
        const marks = list.getEntriesByName("redrawn");
        carried.push(...marks.filter(({ detail }) => detail === "carried").map(({ startTime }) => startTime));
        const mark = marks.find(({ startTime, detail }) => up && startTime > up && detail === "first look");
        if (!mark) return;
        watch.disconnect();
        requestAnimationFrame(() => setTimeout(() => {
            const painted = performance.now();
            const [save, plan] = [asked("/api/site", mark.startTime), asked("/api/plan", mark.startTime)];
            if (!save || !plan) return give_up(new Error("requests without a time"));
            const apart = carried.slice(1).map((time, n) => time - carried[n]);
            done({
                whole: mark.startTime - up, save: save.duration, plan: plan.duration, kilobytes: plan.encodedBodySize / 1000,
                redraw: mark.startTime - plan.responseEnd, frame: painted - mark.startTime,
                carried: apart.length ? apart.reduce((sum, each) => sum + each) / apart.length : NaN,
            });
        }));
    });
    watch.observe({ entryTypes: ["mark"] });
})"""


def main() -> None:
    """Drag, and print a line for each part."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--drops", type=int, default=20)
    parser.add_argument("--tab", default="Plan", help="the tab that is open")
    parser.add_argument(
        "--rest", type=int, default=0, help="milliseconds that the pointer rests before it lets go"
    )
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        rows = _dropped(Path(folder) / "site", asked.drops, asked.tab, asked.rest)
    for name in ("whole", "save", "plan", "redraw", "frame", "carried", "kilobytes"):
        values = sorted(row[name] for row in rows if not math.isnan(row[name]))
        if not values:
            continue
        at_95 = values[min(len(values) - 1, round(0.95 * len(values)))]
        unit = "kB" if name == "kilobytes" else "ms"
        title = "drop to redrawn" if name == "whole" else name
        print(
            f"{title:16} median {statistics.median(values):7.1f}   p95 {at_95:7.1f}   least {values[0]:7.1f} {unit}"
        )


@contextmanager
def _served(folder: Path) -> Iterator[str]:
    """Serve the folder from a process of its own; give the address to open."""
    command = [sys.executable, "-m", "siteplan", "draw", str(folder), "--no-open"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as running:
        assert running.stdout is not None
        yield running.stdout.readline().split()[-1]
        running.terminate()


def _dropped(folder: Path, drops: int, tab: str, rest_ms: int) -> list[dict[str, float]]:
    from page_client import DESK, choose, opened, wait_for
    from page_client import tab as show
    from playwright.sync_api import sync_playwright

    from siteplan.site.catalogue import data_folder

    shutil.copytree(data_folder("example_sites") / "cedar-bench", folder)
    rows = []
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=shutil.which("chromium"))
        with _served(folder) as address, opened(browser, address, viewport=DESK) as page:
            wait_for(page)
            choose(page, "Well: well")
            show(page, tab)
            for number in range(drops + 2):
                box = page.locator(".mark.chosen").bounding_box()
                x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
                page.evaluate(f"void (window.told = ({MEASURE})())")
                page.mouse.move(x, y)
                page.mouse.down()
                way = FAR_PX if number % 2 else -FAR_PX
                for step in range(1, STEPS + 1):
                    page.mouse.move(x + way * _gone(step / STEPS), y)
                    time.sleep(STEP_MS / 1e3)
                time.sleep(rest_ms / 1e3)
                page.mouse.up()
                rows.append(page.evaluate("window.told"))
        browser.close()
    return rows[2:]


def _gone(part: float) -> float:
    """Return how much of a way a hand has gone after a part of its time: it sets out and arrives gently (least jerk)."""
    return part**3 * (10 - 15 * part + 6 * part**2)


if __name__ == "__main__":
    main()
