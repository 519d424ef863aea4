"""The Plan tab in a real browser: what a verdict points at, other ways taken, routes by hand, facts asked for, stages."""

from __future__ import annotations

import json
import re
import shutil
import threading
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from page_client import DESK, PHONE, PLANNED_MS, drag, features, opened, served, tab, wait_for
from pyproj import Geod
from web_client import QuickPlanner, client_for, quick_plan

from siteplan.document.model import Plan
from siteplan.route.model import Alternative
from siteplan.site.catalogue import data_folder
from siteplan.site.site import Site
from siteplan.units import FOOT_M
from tests.plans import quick_site

CEDAR = data_folder("example_sites") / "cedar-bench"
ELEVATION_M, MEAN_RADIUS_M = 4450 * FOOT_M, 6371000.0


class Planner(QuickPlanner):
    """Plans the site as read. While ``gate`` is shut it does not answer; its proven plan has one other way."""

    def __init__(self, folder: Path) -> None:
        super().__init__(folder)
        self.gate = threading.Event()
        self.gate.set()

    def plan(self, stage: str, site: Site) -> Plan:
        assert self.gate.wait(60)
        plan = quick_site(site)
        if stage != "proven" or any(line.drawn or line.closed_sides for line in site.lines):
            return plan
        lines = tuple(
            replace(each, closed_sides=("north",)) if each.end == "house" else each for each in site.lines
        )
        other = quick_site(replace(site, lines=lines)).layout
        paths = tuple(reach.path for reach in other.reaches)
        way = Alternative(
            name="in at another side", paths=paths, price=other.price, why="As the test has it."
        )
        return replace(plan, layout=replace(plan.layout, alternatives=(way,)))


@pytest.fixture(scope="module")
def site_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return Path(shutil.copytree(CEDAR, tmp_path_factory.mktemp("plan") / "site"))


@pytest.fixture(scope="module")
def planner(site_folder: Path) -> Planner:
    return Planner(site_folder)


@pytest.fixture(scope="module")
def any_page(browser: Any, site_folder: Path, planner: Planner) -> Iterator[Any]:
    with served(site_folder, planner=planner) as address, opened(browser, address, viewport=DESK) as page:
        wait_for(page)
        yield page


@pytest.fixture
def page(any_page: Any, site_folder: Path) -> Any:
    """The Plan tab of the example as it was at the start."""
    for name in ("site.geojson", "site.toml"):
        (site_folder / name).write_bytes((CEDAR / name).read_bytes())
    any_page.reload()
    wait_for(any_page)
    tab(any_page, "Plan")
    return any_page


def fold(page: Any, words: str) -> None:
    page.locator("#panel-plan summary").filter(has_text=words).click()


def verdict(page: Any, words: str) -> Any:
    return page.locator("tr.verdict").filter(has_text=words).first


def price(page: Any) -> str:
    return str(page.locator("#numbers .price dd").first.inner_text())


def length_ft(words: str) -> float:
    return float(words.removesuffix(" ft"))


def answer(page: Any) -> dict[str, Any]:
    """What the page is told when it plans again."""
    with page.expect_response("**/api/plan") as told:
        page.get_by_role("button", name="Plan again").click()
    wait_for(page)
    return dict(told.value.json())


def test_the_line_that_a_verdict_points_at_is_as_long_as_it_says(page: Any) -> None:
    """Against the ellipsoid: pyproj's geodesic between the ends, raised to the elevation of the site."""
    shapes = {each["id"]: each for each in answer(page)["shapes"]["features"]}
    row = verdict(page, "Well to Absorption area")
    row.hover()
    measured = row.locator("td").nth(3).inner_text().partition("\n")[0].partition(" ±")[0].strip()
    assert page.locator("#map .size").inner_text() == measured
    number = row.locator("td").first.inner_text()
    assert page.locator(".number.found").inner_text() == number
    (x0, y0), (x1, y1) = shapes[f"finding-{number}"]["geometry"]["coordinates"]
    geodesic_m = Geod(ellps="WGS84").inv(x0, y0, x1, y1)[2] * (1 + ELEVATION_M / MEAN_RADIUS_M)
    assert geodesic_m / FOOT_M == pytest.approx(length_ft(measured), abs=0.06)
    drawn_px = page.locator('.leaflet-plan-pane path[stroke-dasharray="2 5"]').evaluate(
        "path => path.getTotalLength()"
    )
    bar_px = page.locator(".bar").bounding_box()["width"]
    bar_ft = length_ft(page.locator(".bar-words span").last.inner_text())
    assert drawn_px * bar_ft / bar_px == pytest.approx(length_ft(measured), rel=0.03)
    page.mouse.move(5, 5)
    assert page.locator(".number.found").count() == 0


def test_a_verdict_tells_its_rule_and_is_found_by_words(page: Any) -> None:
    shown = page.locator("tr.verdict:visible")
    open_ones = shown.count()
    assert open_ones == 4
    page.get_by_label("Only with these words").fill("water to barn cover")
    page.locator("#verdict-shown").get_by_text(re.compile(r"^2 of \d+ shown")).wait_for()
    row = verdict(page, "Water to barn: cover, drive")
    row.get_by_role("button").focus()
    assert page.locator(".number.found").inner_text() == row.locator("td").first.inner_text()
    page.keyboard.press("Enter")
    told = row.locator("xpath=following-sibling::tr[1]")
    assert "Rule: UPC 609.1" in told.inner_text()
    assert "unconfirmed" in told.inner_text()
    assert told.get_by_role("link").get_attribute("href").startswith("https://")
    page.get_by_label("Only with these words").fill("")
    row = verdict(page, "Well to Absorption area")
    row.get_by_role("button").click()
    told = row.locator("xpath=following-sibling::tr[1]")
    assert "% chance that it comes out clear" in told.inner_text()
    assert "at least 100 ft, from the casing edge to the nearest edge" in told.inner_text()
    told.get_by_role("button", name="All rows that speak of these two").click()
    told.locator(".rows").get_by_text("us-mt-well-drainfield").wait_for()
    page.get_by_label("Also what is clear").check()
    assert shown.count() > 40


def test_drawn_by_hand_the_trench_is_the_same_until_a_bend_is_moved_and_short_where_it_must_be(
    page: Any, site_folder: Path
) -> None:
    before, as_planned = features(site_folder), page.locator("#numbers").inner_text()
    fold(page, "Lines, and their routes by hand")
    page.get_by_role("button", name="Draw the trenches by hand").click()
    wait_for(page)
    assert page.locator("#numbers").inner_text() == as_planned
    assert 'drawn = "drawn_route-1"' in (site_folder / "site.toml").read_text()
    assert "Its trench lies as drawn" in page.locator('[data-line="water-house"]').inner_text()
    assert "short" not in page.locator("#verdict-counts").inner_text()
    tank = page.locator(".leaflet-tooltip").get_by_text("Septic tank").bounding_box()
    bend = page.locator(".handle.corner").nth(2)
    at = bend.bounding_box()
    drag(page, bend, tank["x"] + tank["width"] / 2 - at["x"], tank["y"] + tank["height"] / 2 - at["y"])
    wait_for(page)
    assert "short" in page.locator("#verdict-counts").inner_text()
    assert verdict(page, "Septic tank").locator(".short").count() == 1
    for _ in range(2):
        page.locator("#undo").click()
        wait_for(page)
    assert features(site_folder) == before
    assert (site_folder / "site.toml").read_bytes() == (CEDAR / "site.toml").read_bytes()
    page.locator("#redo").click()
    wait_for(page)
    page.locator('[data-line="water-house"]').get_by_role(
        "button", name="Let siteplan route it again"
    ).click()
    page.locator('[data-line="water-barn"]').get_by_role("button", name="Let siteplan route it again").click()
    wait_for(page)
    assert features(site_folder) == before
    assert page.locator("#numbers").inner_text() == as_planned


def test_a_point_is_pinned_and_a_side_is_closed(page: Any, site_folder: Path) -> None:
    as_planned = price(page)
    fold(page, "Lines, and their routes by hand")
    line = page.locator('[data-line="water-house"]')
    line.get_by_role("button", name="Pin a point").click()
    tree = page.locator(".leaflet-tooltip").get_by_text("Pine, 14 in").bounding_box()
    page.mouse.click(tree["x"], tree["y"] - 40)
    wait_for(page)
    assert 'through = ["pass_point-1"]' in (site_folder / "site.toml").read_text()
    assert "Routed through Water to house: pinned" in line.inner_text()
    assert price(page) != as_planned
    line.get_by_role("button", name="Let siteplan route it again").click()
    wait_for(page)
    assert "pass_point-1" not in features(site_folder)
    assert price(page) == as_planned
    line.get_by_label("north").check()
    wait_for(page)
    assert 'closed_sides = ["north"]' in (site_folder / "site.toml").read_text()
    assert price(page) != as_planned


def test_another_way_is_drawn_beside_the_plan_and_taken_at_its_price(page: Any, site_folder: Path) -> None:
    before, as_planned = features(site_folder), price(page)
    fold(page, "Other ways")
    way = page.locator("#ways li").first
    way.get_by_text("in at another side").wait_for(timeout=PLANNED_MS)
    way.get_by_role("button", name="in at another side").click()
    beside = page.locator('.leaflet-plan-pane path[stroke-dasharray="14 7"]')
    assert beside.count() == 1
    its_price = way.locator("b").inner_text()
    assert its_price != as_planned
    way.get_by_role("button", name="Take this way").click()
    page.locator("#ways-state").get_by_text("Taken").wait_for(timeout=PLANNED_MS)
    wait_for(page)
    assert price(page) == its_price
    assert beside.count() == 0
    assert any(each["properties"]["kind"] == "drawn_route" for each in features(site_folder).values())
    page.locator("#undo").click()
    wait_for(page)
    assert price(page) == as_planned
    assert features(site_folder) == before
    assert (site_folder / "site.toml").read_bytes() == (CEDAR / "site.toml").read_bytes()


def test_facts_that_a_verdict_waits_for_are_typed_where_it_stands(page: Any, site_folder: Path) -> None:
    crossing = verdict(page, "crossing 1")
    assert crossing.locator(".not-checked").count() == 1
    crossing.get_by_role("button").click()
    for words, typed in (("depth to its top", "24 in"), ("how thick it is", "2 in")):
        page.get_by_label(words).fill(typed)
        page.keyboard.press("Tab")
        wait_for(page)
    assert features(site_folder)["barn-power"]["properties"]["depth"] == "24 in"
    page.get_by_label("Also what is clear").check()
    assert crossing.locator(".clear").count() == 1
    manure = verdict(page, "manure storage")
    manure.get_by_role("button").click()
    told = manure.locator("xpath=following-sibling::tr[1]").inner_text()
    assert "What to look for: Look for manure storage" in told
    page.get_by_role("button", name="I looked: there is none").click()
    page.get_by_text("Say how far it was looked for").wait_for()
    page.get_by_label("No manure storage within").fill("300 ft")
    page.get_by_label("Who looked, and how").fill("R. Alder, walked it")
    page.get_by_role("button", name="I looked: there is none").click()
    manure.wait_for(state="detached", timeout=PLANNED_MS)
    assert (
        'manure_storage = "none within 300 ft, R. Alder, walked it"'
        in (site_folder / "site.toml").read_text()
    )


def test_a_fact_of_the_whole_site_is_typed_where_a_verdict_waits_for_it(page: Any, site_folder: Path) -> None:
    path = site_folder / "site.toml"
    path.write_text(path.read_text().replace("subdivision = false", "# subdivision"))
    page.reload()
    wait_for(page)
    tab(page, "Plan")
    waiting = page.locator("tr.verdict", has=page.locator(".not-checked")).filter(
        has_text="Well to Absorption area"
    )
    waiting.get_by_role("button").click()
    told = waiting.locator("xpath=following-sibling::tr[1]")
    assert "What would settle it: Find out: subdivision of the site." in told.inner_text()
    told.get_by_label("subdivision of the site").select_option("no")
    waiting.wait_for(state="detached", timeout=PLANNED_MS)
    assert verdict(page, "Well to Absorption area").locator(".too-close-to-call").count() == 1
    assert "subdivision = false" in path.read_text()


def test_the_last_plan_stays_marked_while_a_slow_one_is_made(page: Any, planner: Planner) -> None:
    numbers = page.locator("#numbers").inner_text()
    fold(page, "Lines, and their routes by hand")
    planner.gate.clear()
    try:
        page.locator('[data-line="water-house"]').get_by_label("north").check()
        page.locator("#stale").get_by_text("this is of the drawing before").wait_for()
        assert page.locator("#numbers").inner_text() == numbers
        assert page.locator(".leaflet-pane.stale").count() == 2
        tab(page, "Draw")
        tab(page, "Plan")
        row = verdict(page, "Well to Absorption area")
        row.hover()
        assert page.locator(".number.found").count() == 1
    finally:
        planner.gate.set()
    wait_for(page)
    assert page.locator("#stale").is_hidden()
    assert page.locator("#numbers").inner_text() != numbers
    page.locator("#undo").click()
    wait_for(page)
    assert page.locator("#stage").inner_text().startswith(("First look: ", "Searched through "))


def test_the_profile_and_the_map_tell_the_same_station(page: Any) -> None:
    fold(page, "Cover and cut")
    frame = page.get_by_role("slider", name="Place along Main")
    frame.focus()
    for _ in range(5):
        page.keyboard.press("PageUp")
    said = frame.get_attribute("aria-valuetext")
    assert said.startswith("Main 0+50.0; cut 5.2 ft; cover 57 in Water to house")
    assert page.locator("#map .reading").inner_text() == "Main 0+50.0"
    page.keyboard.press("End")
    assert frame.get_attribute("aria-valuetext").startswith(f"Main {_end(page)}")
    crossing = page.locator(".crossings li").inner_text()
    assert crossing.startswith("crossing 1, 0+") and "depth not known" in crossing
    frame.evaluate("frame => frame.blur()")
    assert page.locator("#map .reading").count() == 0
    bend = page.locator(".number.crossing").bounding_box()
    page.mouse.move(bend["x"] + bend["width"] / 2, bend["y"] + bend["height"] / 2)
    reading = page.locator("#map .reading").inner_text()
    assert reading.startswith("A 0+8") and "crossing 1" in reading
    shown = page.locator("#profiles .read-out").last
    assert shown.inner_text() == reading


def _end(page: Any) -> str:
    """The last station of the first profile, as its axis says."""
    words = page.locator("#profiles svg").first.locator("text").all_text_contents()
    return max(each for each in words if re.fullmatch(r"\d\+\d\d\.\d", each))


def test_on_a_phone_nothing_is_wider_than_the_screen(
    browser: Any, site_folder: Path, planner: Planner
) -> None:
    with served(site_folder, planner=planner) as address, opened(browser, address, viewport=PHONE) as page:
        wait_for(page)
        tab(page, "Plan")
        for summary in page.locator("#panel-plan summary").all():
            summary.click()
        for button in page.locator("tr.verdict:visible button").all():
            button.click()
        assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
        small = """() => [...document.querySelectorAll("#panel-plan *")].filter((box) => box.checkVisibility()
            && [...box.childNodes].some((part) => part.nodeType === 3 && part.data.trim())
            && parseFloat(getComputedStyle(box).fontSize) < 14).map((box) => box.outerHTML.slice(0, 80))"""
        assert page.evaluate(small) == []


def test_a_way_of_another_drawing_is_not_taken(folder: Path) -> None:
    client = client_for(folder, quick_plan)
    assert client.post("/api/plan/way", json={"number": 1}).status_code == 409
    assert client.post("/api/plan", json={"stage": "searched"}).status_code == 200
    assert client.post("/api/plan/way", json={"number": 1}).status_code == 400
    text = (folder / "site.toml").read_text()
    (folder / "site.toml").write_text(text.replace("Cedar Bench", "Cedar Bench Two", 1))
    assert client.post("/api/plan/way", json={"number": 1}).status_code == 409


def test_the_answer_of_the_plan_holds_what_the_files_hold(folder: Path) -> None:
    plan = quick_plan(folder)
    told = json.loads(client_for(folder, lambda _: plan).post("/api/plan", json={"stage": "searched"}).text)
    assert len(told["findings"]) == len(plan.findings)
    assert [row[0] for row in told["take_off"]] == [row.item for row in plan.works.quantities]
    assert {line["id"] for line in told["lines"] if line["trench"]} == {"water-house", "water-barn"}
    assert told["price"]["left_out"]
    assert [["line", "water-house", "drawn"], None] in told["control"]
