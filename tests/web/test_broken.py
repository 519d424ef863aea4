"""What may go wrong under somebody's hands: one clear line on the page, nothing half-written, no script error."""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from page_client import DESK, choose, features, opened, planned_once, served, tab, wait_for
from playwright.sync_api import expect
from web_client import client_for

from siteplan.read import write_new_site
from siteplan.site.catalogue import data_folder

README = Path(__file__).resolve().parents[2] / "README.md"
MARKUP = '<script>alert(1)</script>{{ 7*7 }} <b id="evil">x</b>'
HIDDEN = "House \u202eesuoh"


@pytest.fixture(scope="module")
def shared(browser: Any, tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Any, Path]]:
    folder = tmp_path_factory.mktemp("broken") / "site"
    shutil.copytree(data_folder("example_sites") / "cedar-bench", folder)
    with served(folder, planned_once()) as address, opened(browser, address, viewport=DESK) as page:
        wait_for(page)
        yield page, folder


@pytest.fixture
def site(shared: tuple[Any, Path]) -> Iterator[tuple[Any, Path]]:
    """Give the shared page; undo what a check has done."""
    page, folder = shared
    yield page, folder
    while page.locator("#undo").is_enabled():
        page.locator("#undo").click()
    wait_for(page)


def typed(page: Any, places: list[list[float]]) -> None:
    page.get_by_text("Places as numbers").click()
    page.locator("#places").fill("\n".join(f"{x}, {y}" for x, y in places))
    page.keyboard.press("Tab")


def test_swapped_numbers_are_said_to_look_swapped(site: tuple[Any, Path]) -> None:
    page, folder = site
    before = (folder / "site.geojson").read_bytes()
    choose(page, "Well: well")
    typed(page, [features(folder)["well"]["geometry"]["coordinates"][::-1]])
    expect(page.locator("#place-table .fault")).to_contain_text("They look swapped: longitude comes first.")
    assert (folder / "site.geojson").read_bytes() == before


def test_of_a_drawing_that_is_not_saved_no_sheets_are_made(site: tuple[Any, Path]) -> None:
    page, folder = site
    before = (folder / "site.geojson").read_bytes()
    choose(page, "Parcel 7: property line")
    corners = features(folder)["parcel"]["geometry"]["coordinates"][0][:-1]
    typed(page, [corners[0], corners[2], corners[1], *corners[3:]])
    fault = page.locator("#problems").get_by_text("crosses or touches itself near")
    fault.wait_for()
    assert not re.search(r"\.\d{9}", fault.inner_text()), "no more digits than anybody can read"
    tab(page, "Sheets")
    page.get_by_role("button", name="Make the sheets").click()
    expect(page.locator("#sheets-state")).to_contain_text(
        "Not made: the last change of the drawing is not saved."
    )
    assert not (folder / "plan").exists()
    assert (folder / "site.geojson").read_bytes() == before


def test_hidden_marks_in_a_name_are_refused_and_markup_is_words(site: tuple[Any, Path]) -> None:
    page, folder = site
    choose(page, "House: building")
    name = page.locator("#chosen").get_by_label("Name", exact=True)
    name.fill(HIDDEN)
    name.press("Tab")
    page.locator("#problems").get_by_text("found the hidden character U+202E").wait_for()
    name.fill(MARKUP)
    name.press("Tab")
    wait_for(page)
    assert features(folder)["house"]["properties"]["name"] == MARKUP
    for each in ("Lines", "Plan", "Sheets", "As built"):
        tab(page, each)
        assert page.locator("#evil").count() == 0


def grid_site(folder: Path) -> Path:
    """The taped site of the README, with its well."""
    ties, grid = (
        re.search(pattern, README.read_text(encoding="utf-8"), re.DOTALL)[1]  # type: ignore[index]
        for pattern in (r"```\n(point,from.*?)```", r"```toml\n(\[grid\].*?)```")
    )
    write_new_site(folder, "Taped")
    (folder / "site.geojson").unlink()
    well = '\n[[thing]]\nid = "well"\nkind = "well"\nname = "Well"\npoints = ["W"]\n'
    toml = folder / "site.toml"
    toml.write_text(f"{toml.read_text(encoding='utf-8')}\n{grid}{well}", encoding="utf-8")
    (folder / "ties.csv").write_text(ties, encoding="utf-8")
    return folder


def test_a_taped_site_is_told_what_the_page_can_do_and_stays_as_it_is(browser: Any, tmp_path: Path) -> None:
    folder = grid_site(tmp_path / "taped")
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    with served(folder) as address, opened(browser, address, viewport=DESK) as page:
        page.get_by_text("This site has a grid of its own").wait_for()
        page.locator("#problems").get_by_text("found nothing of kind parcel").wait_for()
        assert not page.locator("#map").is_visible()
        assert not page.get_by_role("button", name="Draw on the map").is_visible()
        for each in ("Lines", "Plan", "Sheets", "As built"):
            tab(page, each)
        page.get_by_role("button", name="Show the tie list").click()
        expect(page.locator("#built-state")).to_contain_text("found nothing of kind parcel")
    client = client_for(folder)
    empty = {"site": {"type": "FeatureCollection", "features": []}, "revision": "none"}
    refused = client.put("/api/site", json=empty)
    assert (refused.status_code, "tape grid" in refused.text) == (422, True)
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == before
