"""The Lines tab in a real browser: the lines of the example are typed into a new site, and what is wrong is said at its field."""

from __future__ import annotations

import shutil
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from page_client import DESK, PHONE, opened, planned_once, served, tab, typed, unfold, wait_for, written

from siteplan.read import read_site
from siteplan.read.new_site import write_new_site
from siteplan.site.catalogue import data_folder
from siteplan.site.features import Line, Source

CEDAR = data_folder("example_sites") / "cedar-bench"


def begin(folder: Path) -> None:
    """Lay out a new site as ``siteplan new`` does, on the ground of the example; its lines go to what is not there."""
    write_new_site(folder, "Cedar Bench")
    path = folder / "site.toml"
    path.write_text(
        path.read_text(encoding="utf-8").replace('to = "house"', 'to = "cabin"'), encoding="utf-8"
    )
    for name in ("site.geojson", "levels.csv"):
        shutil.copyfile(CEDAR / name, folder / name)


def lines(folder: Path) -> list[Line]:
    nowhere = Source(file="", line=None)
    return [replace(line, source=nowhere) for line in read_site(folder).lines]


def chosen(page: Any, within: Any, label: str, option: str) -> None:
    within.get_by_label(label, exact=True).select_option(label=option)
    written(page)


def add(page: Any, carries: str, start: str, end: str) -> None:
    form = page.locator("#lines-add")
    chosen(page, form, "Carries", carries)
    chosen(page, form, "From", start)
    chosen(page, form, "To", end)
    form.get_by_role("button", name="Add this line").click()
    written(page)


def test_the_lines_of_the_example_are_typed_into_a_new_site(browser: Any, tmp_path: Path) -> None:
    folder = tmp_path / "new"
    begin(folder)
    with served(folder, planned_once()) as address, opened(browser, address, viewport=DESK) as page:
        tab(page, "Lines")
        told = "“cabin” is not drawn, and 2 lines name it."
        page.locator("#lines-cards .card").filter(has_text=told).wait_for()
        chosen(page, page, "In place of “cabin”", "House")
        page.get_by_role("button", name="Put it there").click()
        written(page)

        water = unfold(page, "1. Water to house")
        water.get_by_text("Points to pass, sides, short name").click()
        typed(page, water, "Short name (id)", "water-house")
        unfold(page, "2. Pump power").get_by_role("button", name="Remove: Pump power").click()
        written(page)
        add(page, "power", "Well", "House")
        power = unfold(page, "2. Power to House")
        typed(page, power, "Volts", "240 V")
        typed(page, power, "Amps", "20 A")
        chosen(page, power, "GFCI protected?", "no")
        power.get_by_text("Points to pass, sides, short name").click()
        typed(page, power, "Short name (id)", "pump-power")
        typed(page, unfold(page, "2. Power to House"), "Name that prints", "Pump power")
        add(page, "water", "Water to house", "Barn")
        typed(page, unfold(page, "3. Water to Barn"), "Name that prints", "Water to barn")
        add(page, "water", "Water to barn", "Yard hydrant")
        typed(page, unfold(page, "4. Water to Yard hydrant"), "Name that prints", "Water to yard hydrant")

        assert lines(folder) == lines(CEDAR)
        wait_for(page)
        text = (folder / "site.toml").read_text(encoding="utf-8")
        assert '# cover = "6 ft"              # your own design cover' in text

        page.get_by_role("button", name="Take back").click()
        written(page)
        assert read_site(folder).lines[3].name == "Water to Yard hydrant"


def test_what_is_wrong_is_said_at_its_field_and_the_plan_follows_what_is_right(
    browser: Any, folder: Path
) -> None:
    before = (folder / "site.toml").read_text(encoding="utf-8")
    with served(folder) as address, opened(browser, address, viewport=DESK) as page:
        wait_for(page)
        planned = page.locator("#numbers").text_content()
        tab(page, "Lines")
        written(page)
        digging = unfold(page, "Ground and digging")
        typed(page, digging, "Width of bucket or chain", "30")
        bucket = digging.get_by_label("Width of bucket or chain", exact=True)
        assert bucket.input_value() == "30"
        assert bucket.get_attribute("aria-invalid") == "true"
        told = page.locator(f"#{bucket.get_attribute('aria-describedby').split()[-1]}").inner_text()
        assert told.startswith('Not written: found "30", which has no unit, expected a length')
        assert (folder / "site.toml").read_text(encoding="utf-8") == before

        typed(page, digging, "Width of bucket or chain", "30 in")
        assert (
            digging.get_by_label("Width of bucket or chain", exact=True).get_attribute("aria-invalid") is None
        )
        wait_for(page)
        assert read_site(folder).digging.bucket_m == pytest.approx(30 * 0.0254)
        assert page.locator("#numbers").text_content() != planned

        rules = unfold(page, "Rules")
        rules.get_by_label("Search a place").fill("missoula")
        rules.get_by_role("button", name="Missoula").click()
        written(page)
        assert read_site(folder).rules == "us/mt/missoula"

        wait_for(page)
        tab(page, "Plan")
        page.locator("#verdict-words").fill("us-mt-well-drainfield")
        page.locator("tr.verdict:visible button").first.click()
        page.get_by_role("button", name="Replace this number here").click()
        replaced = unfold(page, "Numbers replaced here")
        assert replaced.get_by_label("Number of the rules").input_value() == "us-mt-well-drainfield"
        replaced.get_by_label("Distance").fill("80 ft")
        write = replaced.get_by_role("button", name="Replace the number")
        write.click()
        assert "Say why it differs here." in replaced.inner_text()
        replaced.get_by_label("Why it differs here").fill("tight lot")
        replaced.get_by_label("Who granted it, or that it is your own choice").fill("the county")
        write.click()
        written(page)
        assert read_site(folder).overrides[0].reason == "tight lot; granted by the county"

        looked = unfold(page, "Hazards looked for")
        looked.get_by_label("Who looked, and how far").fill("none, walked with the owner")
        looked.get_by_label("No manure storage").click()
        written(page)
        assert read_site(folder).looked["manure_storage"] == "none, walked with the owner"

        prices = unfold(page, "Prices")
        typed(page, prices, "tee, and the hole for it, likely", "150")
        assert (read_site(folder).rates.stated, read_site(folder).rates["tee"].likely) == (("tee",), 150)

        def meanwhile(route: Any) -> None:
            if route.request.method == "PUT":
                (folder / "site.toml").write_text(before, encoding="utf-8")
            route.continue_()

        page.route("**/api/words", meanwhile)
        typed(page, unfold(page, "Site and paper"), "Owner", "N. Body")
        assert "changed by another window or program" in page.locator("#problems").inner_text()
        assert (folder / "site.toml").read_text(encoding="utf-8") == before
        page.unroute("**/api/words")
        page.locator("#problems").get_by_role("button", name="Close").click()
        wait_for(page)

        page.set_viewport_size(PHONE)
        assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
        typed(page, unfold(page, "Bench mark"), "Rod reading on it", "4.2 ft")
        mark = read_site(folder).bench_mark
        assert mark is not None
        assert mark.rod_m == pytest.approx(4.2 * 0.3048)
