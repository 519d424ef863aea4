"""How long it takes in the page from letting a dragged thing go to the plan redrawn, and where that time goes.

Run ``python tests/bench/bench_drop.py``; not a test, and nothing is asserted about time. Serves a copy of the first example with
the planner of ``siteplan draw``, opens it in the system's Chromium and drags the well to and fro. Wall time in milliseconds,
median and 95th percentile, of the first look after each drop:

- *drop to redrawn*: from the pointer let go to the end of the redraw
- *save*, *plan*: the two requests as the browser times them; of the second, *planning* is the planner, *answer* makes the values
- *redraw*: from the answer received to the end of the redraw; *frame*: until the browser has painted it
- *page*: all that is neither reading, saving nor planning: transfer, answer and redraw; and its share of the whole
"""

from __future__ import annotations

import argparse
import shutil
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[1] / "web"))

MEASURE = """() => new Promise((done, give_up) => {
    let up = 0;
    const seen = [];
    setTimeout(() => give_up(new Error(`no redraw after ${up}: ${seen.join()}`)), 30000);
    addEventListener("pointerup", () => {
        performance.clearMarks("redrawn");
        performance.clearResourceTimings();
        up = performance.now();
    }, { capture: true, once: true });
    const asked = (path, before) => performance.getEntriesByType("resource").filter(({ name, responseEnd, startTime }) =>
        new URL(name).pathname === path && startTime >= up && responseEnd <= before).at(-1);
    const watch = new PerformanceObserver((list) => {
        seen.push(...list.getEntriesByName("redrawn").map(({ detail, startTime }) => `${detail} ${startTime}`));
        const marks = list.getEntriesByName("redrawn");
        const mark = marks.find(({ startTime, detail }) => up && startTime > up && detail === "first look");
        if (!mark) return;
        watch.disconnect();
        requestAnimationFrame(() => setTimeout(() => {
            const painted = performance.now();
            const [save, plan] = [asked("/api/site", mark.startTime), asked("/api/plan", mark.startTime)];
            if (!save || !plan) return give_up(new Error("requests without a time"));
            done({
                whole: mark.startTime - up, save: save.duration, plan: plan.duration, kilobytes: plan.encodedBodySize / 1000,
                redraw: mark.startTime - plan.responseEnd, frame: painted - mark.startTime,
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
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        rows = _dropped(Path(folder) / "site", asked.drops, asked.tab)
    for row in rows:
        row["page"] = row["plan"] - row["planning"] + row["redraw"]
        row["share"] = 100 * row["page"] / row["whole"]
    names = ("whole", "save", "plan", "planning", "answer", "redraw", "frame", "page", "share", "kilobytes")
    for name in names:
        values = sorted(row[name] for row in rows)
        at_95 = values[min(len(values) - 1, round(0.95 * len(values)))]
        unit = {"share": "% of it", "kilobytes": "kB"}.get(name, "ms")
        title = {"whole": "drop to redrawn", "share": "page, share"}.get(name, name)
        print(
            f"{title:16} median {statistics.median(values):7.1f}   p95 {at_95:7.1f}   least {values[0]:7.1f} {unit}"
        )


def _dropped(folder: Path, drops: int, tab: str) -> list[dict[str, float]]:
    from page_client import DESK, choose, opened, served, wait_for
    from page_client import tab as show
    from playwright.sync_api import sync_playwright

    from siteplan.site.catalogue import data_folder
    from siteplan.web import plan_routes
    from siteplan.web.planner import StagedPlanner

    spent: dict[str, float] = {}

    def timed(name: str, work: Callable[..., Any]) -> Callable[..., Any]:
        def done(*given: Any, **named: Any) -> Any:
            start = time.perf_counter()
            try:
                return work(*given, **named)
            finally:
                spent[name] = (time.perf_counter() - start) * 1e3

        return done

    shutil.copytree(data_folder("example_sites") / "cedar-bench", folder)
    planner = StagedPlanner()
    looked = planner.plan

    def plan(stage: str, site: Any) -> Any:
        return timed("planning", looked)(stage, site) if stage == "first look" else looked(stage, site)

    planner.plan = plan  # type: ignore[method-assign]
    plan_routes.plan_answer = timed("answer", plan_routes.plan_answer)
    rows = []
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=shutil.which("chromium"))
        with (
            served(folder, planner=planner) as address,
            opened(browser, address, viewport=DESK) as page,
        ):
            wait_for(page)
            choose(page, "Well: well")
            show(page, tab)
            for number in range(drops + 2):
                box = page.locator(".mark.chosen").bounding_box()
                x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
                page.evaluate(f"void (window.told = ({MEASURE})())")
                page.mouse.move(x, y)
                page.mouse.down()
                page.mouse.move(x + (9 if number % 2 else -9), y + 4, steps=3)
                page.mouse.move(x + (12 if number % 2 else -12), y, steps=2)
                page.mouse.up()
                row = page.evaluate("window.told")
                rows.append({**row, **spent})
        browser.close()
    return rows[2:]


if __name__ == "__main__":
    main()
