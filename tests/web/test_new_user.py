"""A new user draws the first example from nothing in the page, comes to the same plan as the command line, prints, and comes back
after the program was killed in the middle of a change."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from page_client import DESK, PLANNED_MS, choose, drag, opened, tab, typed, unfold, wait_for, written

from siteplan.cli import main
from siteplan.site.catalogue import data_folder, kinds, methods

EXAMPLE = data_folder("example_sites") / "cedar-bench"
STANDING = {"proposed": "proposed: not there yet", "reserve": "reserve: ground kept for it"}
SORTS = {"Point": "point", "LineString": "line", "Polygon": "area"}


@contextmanager
def drawing(folder: Path) -> Iterator[tuple[str, subprocess.Popen[str]]]:
    """Run ``siteplan draw`` as a user does; give the address that it prints."""
    command = [sys.executable, "-m", "siteplan", "draw", str(folder), "--no-open"]
    with subprocess.Popen(
        command, stdout=-1, text=True, env={**os.environ, "PYTHONUNBUFFERED": "1"}
    ) as running:
        assert running.stdout is not None
        try:
            yield running.stdout.readline().split(" at ")[1].strip(), running
        finally:
            running.kill()


def filled(page: Any, label: str, value: str) -> None:
    field = page.locator("#chosen").get_by_label(label, exact=True)
    if field.is_hidden():
        page.get_by_text("More facts", exact=True).click()
    field.fill(value)
    field.press("Tab")


def picked(page: Any, label: str, option: str) -> None:
    field = page.locator("#chosen").get_by_label(label, exact=True)
    if field.is_hidden():
        page.get_by_text("More facts", exact=True).click()
    field.select_option(label=option)


def draw(page: Any, feature: dict[str, Any]) -> None:
    """Draw one thing: what it is, its corners as typed places, and everything that its form asks."""
    properties = dict(feature["properties"])
    kind = kinds()[properties.pop("kind")]
    shape = feature["geometry"]
    page.get_by_label("What", exact=True).select_option(label=kind.name)
    if len(kind.shapes) > 1:
        page.get_by_label("As", exact=True).select_option(SORTS[shape["type"]])
    page.get_by_role("button", name="Put in the middle").click()
    page.get_by_text("Places as numbers").click()
    places = {"Point": [shape["coordinates"]], "LineString": shape["coordinates"]}.get(shape["type"])
    places = places or shape["coordinates"][0][:-1]
    page.locator("#places").fill("\n".join(f"{x}, {y}" for x, y in places))
    page.keyboard.press("Tab")
    filled(page, "Name", properties.pop("name"))
    filled(page, "Short name (id)", feature["id"])
    picked(page, "How it was measured", methods()[properties.pop("method")].name)
    if status := properties.pop("status", None):
        picked(page, "Standing", STANDING[status])
    for key, label in (
        ("error", "Its own error"),
        ("edge", "Width of a vague outline"),
        ("outing", "Outing"),
    ):
        if key in properties:
            filled(page, label, properties.pop(key))
    for key, value in properties.items():
        field = page.locator(f'#chosen [data-key="{key}"]').locator("input, select")
        if field.is_hidden():
            page.get_by_text("More facts", exact=True).click()
        if isinstance(value, bool):
            field.select_option(label="yes" if value else "no")
        else:
            field.fill(str(value))
            field.press("Tab")
    page.get_by_role("button", name="Done", exact=True).click()


def lay(page: Any, start: str, end: str, id_: str, name: str) -> None:
    """Add a water line that tees off another."""
    form = page.locator("#lines-add")
    form.get_by_label("Carries", exact=True).select_option(label="water")
    form.get_by_label("From", exact=True).select_option(label=start)
    form.get_by_label("To", exact=True).select_option(label=end)
    form.get_by_role("button", name="Add this line").click()
    written(page)
    number = page.locator("#panel-lines h3").filter(has_text=f"Water to {end}").inner_text()
    typed(page, unfold(page, number), "Name that prints", name)
    card = unfold(page, f"{number.partition('.')[0]}. {name}")
    card.get_by_text("Points to pass, sides, short name").click()
    typed(page, card, "Short name (id)", id_)


def say_what_is_laid(page: Any, site: dict[str, Any]) -> None:
    """The Lines tab: lines, height, facts, and what was looked for."""
    tab(page, "Lines")
    written(page)
    water = unfold(page, "1. Water to house")
    water.get_by_text("Points to pass, sides, short name").click()
    typed(page, water, "Short name (id)", "water-house")
    lay(page, "Water to house", "Barn", "water-barn", "Water to barn")
    lay(page, "Water to barn", "Yard hydrant", "water-hydrant", "Water to yard hydrant")
    paper = unfold(page, "Site and paper")
    typed(page, paper, "Name of the site", site["site"]["name"])
    typed(page, paper, "Height above the sea", site["site"]["elevation"])
    unfold(page, "Facts that rules ask for").get_by_label("Subdivision?", exact=True).select_option(
        label="no"
    )
    written(page)
    for hazard, words in site["looked"].items():
        looked = unfold(page, "Hazards looked for")
        looked.get_by_label("Who looked, and how far", exact=True).fill(words)
        looked.get_by_label(f"No {kinds()[hazard].name} ").first.click()
        written(page)


def proven(page: Any) -> None:
    page.locator('#state[data-stage="proven"]').wait_for(timeout=PLANNED_MS)


def test_the_first_example_is_drawn_from_nothing(
    browser: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("siteplan.document.write.SHEETS", {})  # of the command line two tables are looked at
    folder, expected = tmp_path / "mine", tmp_path / "expected"
    assert CliRunner().invoke(main, ["new", str(folder)]).exit_code == 0
    features = json.loads((EXAMPLE / "site.geojson").read_text())["features"]
    site = tomllib.loads((EXAMPLE / "site.toml").read_text())
    assert CliRunner().invoke(main, ["plan", str(EXAMPLE), "--out", str(expected)]).exit_code == 0
    with drawing(folder) as (address, running), opened(browser, address, viewport=DESK) as page:
        wait_for(page)
        page.get_by_role("button", name="Take it all out").click()
        page.get_by_label("Where is the site? Longitude, latitude").fill("-112.0709, 46.5945")
        page.get_by_role("button", name="That is the place").click()
        for feature in features:
            draw(page, feature)
        wait_for(page)
        assert json.loads((folder / "site.geojson").read_text())["features"] == features
        page.get_by_text("Bring in a file").click()
        page.locator("#bring-file").set_input_files(EXAMPLE / "levels.csv")
        page.get_by_role("button", name="Keep it as levels.csv").click()
        page.locator("#bring-said").get_by_text("levels.csv").wait_for()
        say_what_is_laid(page, site)
        wait_for(page)
        proven(page)
        tab(page, "Sheets")
        page.get_by_role("button", name="Make the sheets").click()
        page.locator("#sheets-state").get_by_text("Made.").wait_for(timeout=PLANNED_MS)
        assert (folder / "plan" / "findings.json").read_bytes() == (expected / "findings.json").read_bytes()
        assert (folder / "plan" / "quantities.csv").read_bytes() == (expected / "quantities.csv").read_bytes()
        with page.expect_download() as saved:
            page.get_by_role("link", name="All of them in one file").click()
        assert Path(saved.value.path()).stat().st_size > 100_000

        choose(page, "Yard hydrant: yard hydrant")
        mark = page.locator(".mark.chosen")
        drag(page, mark, 20, 10)
        page.locator("#saved").get_by_text("Saved", exact=True).wait_for()
        moved = json.loads((folder / "site.geojson").read_text())["features"]
        assert moved != features
        box = mark.bounding_box()
        page.mouse.move(box["x"] + 5, box["y"] + 5)
        page.mouse.down()
        page.mouse.move(box["x"] + 60, box["y"] + 40, steps=3)
        os.kill(running.pid, signal.SIGKILL)
        running.wait(20)
        page.mouse.up()
        page.locator("#problems").get_by_text("siteplan does not answer").wait_for()

    with drawing(folder) as (address, _), opened(browser, address, viewport=DESK) as page:
        wait_for(page)
        assert json.loads((folder / "site.geojson").read_text())["features"] == moved
        page.get_by_text("Earlier versions", exact=True).click()
        page.get_by_role("button", name="Bring back the drawing").first.click()
        page.locator("#earlier-state").get_by_text("Brought back").wait_for()
        wait_for(page)
        assert json.loads((folder / "site.geojson").read_text())["features"] == features
