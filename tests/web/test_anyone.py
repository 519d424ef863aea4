"""The whole page can be read and reached, part by part: on a desk and a phone, with a pointer, a finger or the keyboard alone.

What is looked at stands in ``page_reading.js``: 14 px of text, contrast of 4.5 to 1 (WCAG 2.2, 1.4.3), names of controls (4.1.2),
nothing wider than the screen (1.4.10), targets of 24 px for a finger (2.5.8), the trade's words alone.
"""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from page_client import DESK, PHONE, choose, hindrances, opened, planned_once, served, tab, wait_for
from PIL import Image
from playwright.sync_api import expect

from siteplan.site.catalogue import data_folder

SCREENS = {
    "desk": {"viewport": DESK},
    "phone": {"viewport": PHONE, "has_touch": True, "is_mobile": True},
}
TABS = ("Draw", "Lines", "Plan", "Sheets", "As built")
CLOSED = "[role=tabpanel]:not([hidden]) details:not([open], [hidden])"
OPEN_ALL = f"document.querySelectorAll('{CLOSED}').forEach((fold) => {{ fold.open = true; }})"
# Where the focus is: whether it can be seen, lies under nothing, and comes after where it was.
FOCUS = """() => {
    const box = document.activeElement;
    const panel = document.getElementById("panel");
    if (!panel.contains(box)) return null;
    const was = window.focusWas?.isConnected ? window.focusWas : null;
    window.focusWas = box;
    const { left, top, width, height } = box.getBoundingClientRect();
    const x = left + width / 2, y = top + Math.min(height / 2, 12);
    const over = document.elementFromPoint(x, y);
    const label = box.labels?.[0];
    const style = getComputedStyle(box);
    const faults = [];
    if (style.outlineStyle === "none" || parseFloat(style.outlineWidth) < 2) faults.push("the focus cannot be seen");
    if (!over || !(box.contains(over) || over.contains(box) || label?.contains(over))) faults.push("the focus is hidden");
    if (was && was !== box && !(was.compareDocumentPosition(box) & Node.DOCUMENT_POSITION_FOLLOWING)) faults.push("out of order");
    const fold = box.matches("summary") && !box.parentElement.open;
    return { fold, faults: faults.map((words) => `${words}: ${box.outerHTML.slice(0, 120)}`) };
}"""


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    folder = tmp_path_factory.mktemp("anyone") / "site"
    shutil.copytree(data_folder("example_sites") / "cedar-bench", folder)
    with served(folder, planned_once()) as address:
        yield address


@pytest.fixture(scope="module", params=SCREENS)
def page(request: pytest.FixtureRequest, browser: Any, address: str) -> Iterator[Any]:
    """One page for each screen."""
    with opened(browser, address, **SCREENS[request.param]) as page:
        wait_for(page)
        yield page


def with_all_folds(page: Any) -> None:
    """Open all folds of the shown tab, also those that come with what a fold holds."""
    while page.locator(CLOSED).count():
        page.evaluate(OPEN_ALL)
    if page.locator("#panel-draw").is_visible():
        page.locator("#tape-rows fieldset").first.wait_for()
        page.evaluate(OPEN_ALL)


@pytest.mark.parametrize("name", TABS)
def test_each_tab_can_be_read_and_touched(page: Any, name: str) -> None:
    tab(page, name)
    if name == "Lines":
        page.locator("#lines-cards details").first.wait_for()
    if name == "Plan":
        page.locator("tr.verdict button").first.click()
    if name == "As built":
        page.get_by_role("button", name="Show the tie list").click()
        page.locator("#built-points li").first.wait_for()
    with_all_folds(page)
    assert hindrances(page) == []
    assert "this is not a permit" in page.locator("#caution").inner_text()


def test_the_form_of_a_thing_and_the_strip_can_be_read_and_touched(page: Any) -> None:
    choose(page, "House: building")
    with_all_folds(page)
    assert hindrances(page) == []
    page.get_by_role("button", name="Done").click()
    page.get_by_label("What", exact=True).select_option(label="walk")
    page.get_by_role("button", name="Draw on the map").click()
    box = page.locator("#map").bounding_box()
    for right, down in ((0.3, 0.3), (0.6, 0.3)):
        page.mouse.click(box["x"] + box["width"] * right, box["y"] + box["height"] * down)
    if page.locator("#strip-type").is_visible():
        page.locator("#strip-type").click()
    expect(page.locator("#typed-length")).to_be_visible()
    assert hindrances(page) == []
    page.locator("#strip-cancel").click()


def test_what_is_asked_of_a_file_and_a_picture_can_be_read_and_touched(page: Any, tmp_path: Path) -> None:
    tab(page, "Draw")
    trees = tmp_path / "trees.csv"
    trees.write_text("id,kind,longitude,latitude\nash,tree,-112.0716,46.5939\n")
    picture = tmp_path / "plat.png"
    Image.new("L", (300, 200), 200).save(picture)
    with_all_folds(page)
    page.locator("#bring-file").set_input_files(trees)
    page.locator("#bring-asked h3").first.wait_for()
    page.locator("#underlay-file").set_input_files(picture)
    page.locator("#underlay-asked h3").wait_for()
    with_all_folds(page)
    assert hindrances(page) == []
    for asked in ("#bring-asked", "#underlay-asked"):
        page.locator(asked).get_by_role("button", name="Leave", exact=False).last.click()


@pytest.mark.parametrize("name", TABS)
def test_each_fold_is_reached_by_the_keyboard(page: Any, name: str) -> None:
    shown = page.get_by_role("tab", selected=True)
    shown.focus()
    page.keyboard.press("Home")
    for _ in range(TABS.index(name)):
        page.keyboard.press("ArrowRight")
    expect(page.get_by_role("tab", name=name, exact=True)).to_be_focused()
    if name == "Lines":
        page.locator("#lines-cards details").first.wait_for()
        page.locator("#brief-rules:not(:empty)").wait_for()
    page.evaluate(
        "document.querySelectorAll('[role=tabpanel]:not([hidden]) details').forEach((fold) => { fold.open = false; })"
    )
    page.evaluate("window.focusWas = undefined")
    folds, faults = 0, []
    for _ in range(400):
        page.keyboard.press("Tab")
        here = page.evaluate(FOCUS)
        if here is None:
            break
        faults += here["faults"]
        if here["fold"]:
            page.keyboard.press("Enter")
            folds += 1
    assert faults == []
    assert page.locator(CLOSED).count() == 0, f"{folds} folds were reached"
