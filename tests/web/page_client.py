"""The drawing page in a real browser: serve a folder, open it, wait for its plan, choose and drag things."""

from __future__ import annotations

import json
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import uvicorn
from web_client import KEY, QuickPlanner, quick_plan

from siteplan.document.model import Plan
from siteplan.web.app import make_app
from siteplan.web.planner import Planner
from siteplan.web.serve import bound

PLANNED_MS = 120_000
DESK = {"width": 1440, "height": 900}
PHONE = {"width": 390, "height": 844}
READING = (Path(__file__).parent / "page_reading.js").read_text(encoding="utf-8")


def planned_once() -> Callable[[Path], Plan]:
    """Plan a folder once, however it is changed: for checks of the page, not of the plan."""
    plans: list[Plan] = []

    def plan(folder: Path) -> Plan:
        if not plans:
            plans.append(quick_plan(folder))
        return plans[0]

    return plan


@contextmanager
def served(
    folder: Path,
    plan: Callable[[Path], Plan] = quick_plan,
    planner: Planner | None = None,
    pictures: str = "",
) -> Iterator[str]:
    """Serve a folder from a thread; give the address to open. A ``planner`` plans it instead of ``plan``."""
    with bound(0) as listening:
        port = listening.getsockname()[1]
        app = make_app(folder, planner or QuickPlanner(folder, plan), port=port, key=KEY, pictures=pictures)
        server = uvicorn.Server(uvicorn.Config(app, log_level="critical", lifespan="off", ws="none"))
        running = threading.Thread(target=server.run, kwargs={"sockets": [listening]})
        running.start()
        try:
            yield f"http://127.0.0.1:{port}/?key={KEY}"
        finally:
            server.should_exit = True
            running.join(20)


@contextmanager
def opened(browser: Any, address: str, **options: Any) -> Iterator[Any]:
    """Open the page; fail on any script error, blocked content or request to another machine."""
    context = browser.new_context(**options)
    page = context.new_page()
    wrong: list[str] = []
    page.on("pageerror", lambda error: wrong.append(str(error)))
    page.on("dialog", lambda dialog: (wrong.append(dialog.message), dialog.dismiss()))
    page.on(
        "console", lambda message: wrong.append(message.text) if "Content Security" in message.text else None
    )
    home = address.partition("?")[0]
    page.on(
        "request",
        lambda request: None if request.url.startswith((home, "data:")) else wrong.append(request.url),
    )
    try:
        page.goto(address)
        yield page
        assert wrong == []
    finally:
        context.close()


def features(folder: Path) -> dict[str, Any]:
    drawn = json.loads((folder / "site.geojson").read_text(encoding="utf-8"))
    return {each["id"]: each for each in drawn["features"]}


# Saved (or refused) and planned for some frames on end: the end of a drag may tell of several changes.
SETTLED = """saved => {
    const words = (id) => document.getElementById(id).textContent;
    const state = document.getElementById("state").ariaBusy;
    const idle = state === "false" && words("saved") === saved && words("planned").startsWith("Plan: ");
    window.framesIdle = idle ? window.framesIdle + 1 : 0;
    return window.framesIdle > 6;
}"""


def wait_for(page: Any, saved: str = "Saved") -> None:
    """Wait until the last change is saved (or refused) and planned."""
    page.evaluate("window.framesIdle = 0")
    page.wait_for_function(SETTLED, arg=saved, polling="raf", timeout=PLANNED_MS)


def tab(page: Any, name: str) -> None:
    page.get_by_role("tab", name=name, exact=True).click()


def hindrances(page: Any) -> list[str]:
    """What hinders somebody who reads or reaches the page as it stands, one line for each: ``page_reading.js``."""
    return list(page.evaluate(READING))


def verdicts(page: Any) -> str:
    tab(page, "Plan")
    return str(page.locator("#verdicts tbody").inner_text())


def row(page: Any, words: str) -> str:
    tab(page, "Plan")
    return str(page.locator("tr.verdict").filter(has_text=words).first.inner_text())


def drag(page: Any, mark: Any, right: float, down: float) -> None:
    box = mark.bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + right, y + down, steps=5)
    page.mouse.up()


def choose(page: Any, words: str) -> None:
    tab(page, "Draw")
    if page.get_by_role("button", name="Done").is_visible():
        page.get_by_role("button", name="Done").click()
    summary = page.locator("#add summary").filter(has_text="What is drawn")
    if page.locator("#things").is_hidden():
        summary.click()
    page.get_by_role("button", name=words, exact=True).click()


def written(page: Any) -> None:
    page.locator("#panel-lines[aria-busy='false']").wait_for()


def unfold(page: Any, words: str) -> Any:
    """Open a folded part by its heading; return it."""
    fold = page.locator("#panel-lines details").filter(
        has=page.get_by_role("heading", name=words, exact=True)
    )
    if fold.get_attribute("open") is None:
        fold.locator("summary").first.click()
    return fold


def typed(page: Any, within: Any, label: str, value: str) -> None:
    field = within.get_by_label(label, exact=True)
    field.fill(value)
    field.press("Tab")
    written(page)
