"""The tools of drawing in a real browser: what is drawn to, typed sides and sizes, the way back, the keyboard, first steps.

Lengths and directions are checked with geodesics on the ellipsoid (GeographicLib, by way of pyproj).
"""

from __future__ import annotations

import json
import random
import re
import shutil
from collections.abc import Iterator
from math import cos, radians, sin
from pathlib import Path
from typing import Any

import pytest
from page_client import DESK, PHONE, choose, drag, features, opened, planned_once, served, wait_for
from pyproj import Geod
from shapely.geometry import LineString, Point, shape

from siteplan.plane.frame import Frame
from siteplan.site.catalogue import data_folder

GEOD = Geod(ellps="WGS84")
FOOT_M = 0.3048
HERE = Frame(longitude_deg=-112.071, latitude_deg=46.5945)
COLLECTION = "async () => JSON.stringify((await import('/desk.js')).desk.drawing.collection())"
PIXEL = """async place => {
    const { ground } = (await import('/desk.js')).desk;
    const box = document.getElementById('map').getBoundingClientRect();
    const at = ground.map.latLngToContainerPoint([place[1], place[0]]);
    return [box.left + at.x, box.top + at.y];
}"""


@pytest.fixture(scope="module")
def shared(browser: Any, tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Any, Path]]:
    """One page over one copy of the example, for all checks that leave the drawing as they found it."""
    folder = tmp_path_factory.mktemp("draw") / "site"
    shutil.copytree(data_folder("example_sites") / "cedar-bench", folder)
    with (
        served(folder, planned_once()) as address,
        opened(browser, address, viewport=DESK) as page,
    ):
        wait_for(page)
        yield page, folder


@pytest.fixture
def site(shared: tuple[Any, Path]) -> Iterator[tuple[Any, Path]]:
    """Give the shared page; undo what a check has done."""
    page, folder = shared
    before = page.evaluate(COLLECTION)
    yield page, folder
    page.keyboard.press("Escape")
    page.keyboard.press("Escape")
    while page.locator("#undo").is_enabled():
        page.locator("#undo").click()
    page.evaluate("async () => (await import('/desk.js')).desk.ground.showAll()")
    wait_for(page)
    assert page.evaluate(COLLECTION) == before


def begin(page: Any, kind: str, sort: str = "") -> None:
    page.get_by_role("tab", name="Draw", exact=True).click()
    page.get_by_label("What", exact=True).select_option(label=kind)
    if sort:
        page.get_by_label("As", exact=True).select_option(sort)
    page.get_by_role("button", name="Draw on the map").click()
    page.locator("#strip").wait_for()


def pixel(page: Any, place: tuple[float, float] | list[float]) -> tuple[float, float]:
    x, y = page.evaluate(PIXEL, list(place))
    return x, y


def near(page: Any, place: list[float], right: float, down: float) -> tuple[float, float]:
    x, y = pixel(page, place)
    return x + right, y + down


def type_side(page: Any, length: str, direction: str = "", counted: str = "") -> None:
    page.get_by_label("Length of the side").fill(length)
    page.get_by_label("Direction", exact=True).fill(direction)
    if counted:
        page.get_by_label("Counted").select_option(label=counted)
    page.get_by_label("Length of the side").press("Enter")


def typed_sides(page: Any, count: int) -> None:
    page.locator(f"#strip[data-count='{count}']").wait_for()


def test_a_building_by_typed_sides_has_them(site: tuple[Any, Path]) -> None:
    page, folder = site
    page.get_by_label("What", exact=True).select_option(label="building")
    page.locator("#by-sides summary").click()
    page.get_by_label("Length of the first wall").fill("36 ft 6 in")
    page.get_by_label("Depth, square to it").fill("24")
    page.get_by_label("Direction of the first wall").fill("N 30 E")
    page.get_by_role("button", name="Put it on the map").click()
    page.locator("#by-sides .fault").get_by_text("Depth: found").wait_for()
    page.get_by_label("Depth, square to it").fill("24 ft")
    page.get_by_role("button", name="Put it on the map").click()
    page.locator("#strip").wait_for()
    at = [-112.0712, 46.5950]
    page.mouse.move(*pixel(page, at))
    page.mouse.click(*pixel(page, at))
    page.locator("#chosen").wait_for()
    wait_for(page)
    ring = features(folder)["building-1"]["geometry"]["coordinates"][0]
    sides = [GEOD.inv(*ring[n], *ring[n + 1]) for n in range(4)]
    assert [side[2] for side in sides] == pytest.approx(
        [36.5 * FOOT_M, 24 * FOOT_M, 36.5 * FOOT_M, 24 * FOOT_M], abs=0.01
    )
    assert [side[0] % 360 for side in sides] == pytest.approx([30, 300, 210, 120], abs=0.01)
    assert "36.5 ft" in page.locator(".size").all_inner_texts()

    page.get_by_text("Size, move and turn by numbers").click()
    page.get_by_label("First wall, corner 1 to 2").fill("40 ft")
    page.get_by_role("button", name="Size it").click()
    page.locator("#undo").get_by_text("size Building").wait_for()
    page.get_by_label("How far").fill("10 ft")
    page.locator("#by-numbers").get_by_label("Direction").fill("90")
    page.get_by_role("button", name="Move it").click()
    page.locator("#undo").get_by_text("move Building").wait_for()
    page.get_by_label("Degrees").fill("15")
    page.get_by_role("button", name="Turn it").click()
    page.locator("#undo").get_by_text("turn Building").wait_for()
    wait_for(page)
    after = features(folder)["building-1"]["geometry"]["coordinates"][0]
    way_deg, _, long_m = GEOD.inv(*after[0], *after[1])
    assert long_m == pytest.approx(40 * FOOT_M, abs=0.01)
    assert way_deg == pytest.approx(45, abs=0.01)


def test_a_line_is_drawn_to_a_wall_or_not(site: tuple[Any, Path]) -> None:
    page, folder = site
    barn = shape(features(folder)["barn"]["geometry"])
    ring = list(barn.exterior.coords)
    middle = [(ring[0][0] + ring[1][0]) / 2, (ring[0][1] + ring[1][1]) / 2]

    def drawn(name: str, first: list[float], free: bool = False) -> tuple[Point, str]:
        begin(page, "walk", "line")
        if free:
            page.keyboard.down("Shift")
        x, y = near(page, first, 2, 6)
        page.mouse.move(x, y)
        sign = page.locator(".sign b")
        words = sign.inner_text() if sign.count() else ""
        page.mouse.click(x, y)
        if free:
            page.keyboard.up("Shift")
        type_side(page, "20 ft", "180")
        typed_sides(page, 2)
        page.get_by_role("button", name="Finish", exact=True).click()
        wait_for(page)
        start = LineString(features(folder)[name]["geometry"]["coordinates"]).coords[0]
        page.get_by_role("button", name="Done").click()
        return HERE.to_ground(Point(start)), words

    wall = HERE.to_ground(barn).exterior
    on, words = drawn("walk-1", middle)
    assert words == "wall of Barn"
    assert on.distance(wall) < 0.001
    free, words = drawn("walk-2", middle, free=True)
    assert words == ""
    assert free.distance(wall) > 0.1
    corner, words = drawn("walk-3", list(ring[0]))
    assert words == "corner of Barn"
    assert corner.distance(HERE.to_ground(Point(ring[0]))) < 0.001
    page.get_by_label("Draw to corners and walls").uncheck()
    off, words = drawn("walk-4", middle)
    assert words == "" and off.distance(wall) > 0.1
    page.get_by_label("Draw to corners and walls").check()


def test_typed_sides_go_their_way(site: tuple[Any, Path]) -> None:
    page, folder = site
    begin(page, "buried line")
    page.get_by_label("First place: longitude, latitude").fill("-112.0712, 46.5949")
    page.keyboard.press("Enter")
    typed_sides(page, 1)
    type_side(page, "42", "N 40 E")
    page.locator("#typed-fault").get_by_text("which has no unit").wait_for()
    type_side(page, "42 ft 6 in", "N 40 E")
    typed_sides(page, 2)
    type_side(page, "12.5 m", "90", "turned right")
    typed_sides(page, 3)
    page.keyboard.press("Backspace")
    typed_sides(page, 2)
    type_side(page, "12.5 m", "90", "turned right")
    typed_sides(page, 3)
    assert "in all" in page.locator("#strip-words").inner_text()
    page.get_by_label("Length of the side").press("Enter")
    page.locator("#chosen").wait_for()
    wait_for(page)
    first, second, third = features(folder)["buried_line-1"]["geometry"]["coordinates"]
    assert first == [-112.0712, 46.5949]
    way_deg, _, long_m = GEOD.inv(*first, *second)
    assert (long_m, way_deg) == (pytest.approx(42.5 * FOOT_M, abs=0.01), pytest.approx(40, abs=0.01))
    way_deg, _, long_m = GEOD.inv(*second, *third)
    assert (long_m, way_deg) == (pytest.approx(12.5, abs=0.01), pytest.approx(130, abs=0.01))


def test_sides_stand_square(site: tuple[Any, Path]) -> None:
    page, folder = site
    begin(page, "slab")
    x, y = pixel(page, [-112.0716, 46.5946])
    for right, down in ((0, 0), (90, 30), (62, 116)):
        page.mouse.move(x + right, y + down)
        page.mouse.click(x + right, y + down)
    assert page.locator(".sign").count() == 0
    page.mouse.move(x - 26, y + 83)
    assert "square to the last side" in page.locator(".sign b").inner_text()
    assert "90.0°" in page.locator(".size.angle").all_inner_texts()
    page.mouse.click(x - 26, y + 83)
    page.get_by_role("button", name="Finish", exact=True).click()
    wait_for(page)
    ring = features(folder)["slab-1"]["geometry"]["coordinates"][0]
    ways = [GEOD.inv(*ring[n], *ring[n + 1])[0] for n in range(4)]
    assert [(ways[n + 1] - ways[n]) % 180 for n in range(3)] == pytest.approx([90, 90, 90], abs=0.02)


def test_by_the_keyboard_corners_are_moved_added_and_taken_out(site: tuple[Any, Path]) -> None:
    page, folder = site
    was = features(folder)["reserve"]["geometry"]["coordinates"][0]
    choose(page, "Reserve area: reserve area")
    corner = page.get_by_role("button", name="Corner 2 of 4, Reserve area")
    corner.focus()
    page.keyboard.press("ArrowUp")
    page.keyboard.press("ArrowUp")
    page.keyboard.press("Shift+ArrowRight")
    wait_for(page)
    now = features(folder)["reserve"]["geometry"]["coordinates"][0]
    before, after = (HERE.to_ground(Point(ring[1])) for ring in (was, now))
    assert (after.x - before.x, after.y - before.y) == (
        pytest.approx(0.1 * FOOT_M, abs=5e-4),
        pytest.approx(2 * FOOT_M, abs=5e-4),
    )
    assert now[2:4] == was[2:4] and now[0] == was[0]
    assert page.locator("#undo").inner_text() == "Undo: move a corner of Reserve area"
    assert page.evaluate("document.activeElement.ariaLabel") == "Corner 2 of 4, Reserve area"
    page.keyboard.press("Insert")
    page.get_by_role("button", name="Corner 3 of 5, Reserve area").wait_for()
    assert page.evaluate("document.activeElement.ariaLabel") == "Corner 3 of 5, Reserve area"
    page.keyboard.press("Delete")
    page.get_by_role("button", name="Corner 2 of 4, Reserve area").wait_for()
    page.get_by_role("button", name="Move whole").click()
    page.get_by_role("button", name="Move Reserve area").focus()
    page.keyboard.press("ArrowLeft")
    wait_for(page)
    moved = features(folder)["reserve"]["geometry"]["coordinates"][0]
    step_m = GEOD.inv(*now[0], *moved[0])[2]
    assert step_m == pytest.approx(FOOT_M, abs=1e-3)


def test_the_table_of_corners_takes_lengths(site: tuple[Any, Path]) -> None:
    page, folder = site
    choose(page, "Reserve area: reserve area")
    page.locator("#corner-table summary").click()
    field = page.get_by_label("Side from corner 1 to 2")
    field.fill("60 ft")
    field.press("Tab")
    page.locator("#undo").get_by_text("size a side of Reserve area").wait_for()
    page.get_by_role("button", name="Take out corner 3").click()
    wait_for(page)
    ring = features(folder)["reserve"]["geometry"]["coordinates"][0]
    assert len(ring) == 4
    assert GEOD.inv(*ring[0], *ring[1])[2] == pytest.approx(60 * FOOT_M, abs=0.01)


def test_what_is_moved_is_drawn_to_a_corner(site: tuple[Any, Path]) -> None:
    page, folder = site
    choose(page, "Propane tank: fuel tank")
    page.get_by_role("button", name="Move whole").click()
    page.evaluate("async () => (await import('/desk.js')).desk.ground.showAll()")
    house = features(folder)["house"]["geometry"]["coordinates"][0][1]
    tank = features(folder)["propane"]["geometry"]["coordinates"][0][3]
    (x, y), (to_x, to_y) = pixel(page, tank), pixel(page, house)
    drag(page, page.locator(".handle.middle"), to_x - x + 4, to_y - y + 3)
    wait_for(page)
    assert house in features(folder)["propane"]["geometry"]["coordinates"][0]


def test_what_is_turned_comes_square_to_a_wall_near_it(site: tuple[Any, Path]) -> None:
    page, folder = site
    house = features(folder)["house"]["geometry"]["coordinates"][0]
    wall_deg = GEOD.inv(*house[0], *house[1])[0]
    choose(page, "Front walk: walk")
    page.get_by_role("button", name="Turn", exact=True).click()
    handle = page.locator(".handle.turn")
    handle.focus()
    for _ in range(20):
        page.keyboard.press("ArrowRight")
    wait_for(page)
    walk = features(folder)["walk"]["geometry"]["coordinates"][0]
    turned_deg = GEOD.inv(*walk[0], *walk[1])[0]
    assert turned_deg - wall_deg == pytest.approx(20, abs=0.05)
    assert page.locator("#undo").inner_text() == "Undo: turn Front walk"
    box = handle.bounding_box()
    middle = page.evaluate(
        "async () => (await import('/flat.js')).middleOf((await import('/desk.js')).desk.drawing.things.at(-1).feature.geometry)"
    )
    x, y = pixel(page, middle)
    arm = y - (box["y"] + box["height"] / 2)
    page.mouse.move(x, y - arm)
    page.mouse.down()
    page.mouse.move(x + arm * 0.5, y - arm, steps=3)
    assert page.locator(".sign b").inner_text().startswith("turned 2")
    for degrees in (68, 69, 70, 71):
        page.mouse.move(x + arm * sin(radians(degrees)), y - arm * cos(radians(degrees)))
    assert "square to the wall of House" in page.locator(".sign b").inner_text()
    page.mouse.up()
    wait_for(page)
    walk = features(folder)["walk"]["geometry"]["coordinates"][0]
    off_deg = (GEOD.inv(*walk[0], *walk[1])[0] - wall_deg + 45) % 90 - 45
    assert off_deg == pytest.approx(0, abs=0.05)


def test_a_drag_that_is_broken_off_changes_nothing(site: tuple[Any, Path]) -> None:
    page, _ = site
    choose(page, "Well: well")
    before = page.evaluate(COLLECTION)
    box = page.locator(".mark.chosen").bounding_box()
    page.mouse.move(box["x"] + 13, box["y"] + 13)
    page.mouse.down()
    page.mouse.move(box["x"] + 60, box["y"] + 40, steps=3)
    page.keyboard.press("Escape")
    page.mouse.up()
    assert page.evaluate(COLLECTION) == before
    after = page.locator(".mark.chosen").bounding_box()
    assert (after["x"], after["y"]) == pytest.approx((box["x"], box["y"]), abs=0.5)


def test_every_step_goes_back_and_forth(site: tuple[Any, Path]) -> None:
    """Twenty steps at random: all undone gives the first drawing, all done again the last, each with its name."""
    page, _ = site
    chance = random.Random(20261129)
    first = page.evaluate(COLLECTION)
    names = ["Well: well", "House: building", "Septic tank: septic tank", "Gravel drive: drive"]

    def rename() -> None:
        choose(page, chance.choice(names))
        page.get_by_label("Standing").select_option("abandoned" if chance.random() < 0.5 else "reserve")

    def nudge() -> None:
        choose(page, chance.choice(names))
        page.locator("#map").focus()
        page.keyboard.press(chance.choice(["ArrowUp", "ArrowLeft", "Shift+ArrowDown"]))

    def place() -> None:
        if page.get_by_role("button", name="Done").is_visible():
            page.get_by_role("button", name="Done").click()
        page.get_by_label("What", exact=True).select_option(label=chance.choice(["tree", "slab", "ditch"]))
        page.get_by_role("button", name="Put in the middle").click()

    def corner() -> None:
        choose(page, "House: building")
        page.locator(".handle.corner").nth(chance.randrange(5)).focus()
        page.keyboard.press(chance.choice(["ArrowDown", "Insert", "Delete"]))

    def remove() -> None:
        place()
        page.get_by_role("button", name="Remove").click()

    stages = [first]
    words = []
    while len(stages) <= 20:
        chance.choice([rename, nudge, place, corner, remove])()
        now = page.evaluate(COLLECTION)
        if now != stages[-1]:
            stages.append(now)
            words.append(page.locator("#undo").inner_text())
    assert all(text.startswith("Undo: ") and len(text) > 8 for text in words)
    while page.locator("#undo").is_enabled():
        page.locator("#undo").click()
    assert page.evaluate(COLLECTION) == first
    while page.locator("#redo").is_enabled():
        page.locator("#redo").click()
    assert page.evaluate(COLLECTION) == stages[-1]
    assert page.locator("#undo").inner_text() == words[-1]


def test_the_form_goes_back_with_the_drawing(site: tuple[Any, Path]) -> None:
    page, _ = site
    choose(page, "Well: well")
    page.get_by_label("Name", exact=True).fill("Old well")
    page.keyboard.press("Tab")
    assert page.locator("#undo").inner_text() == "Undo: name of Well"
    page.locator("#undo").click()
    assert page.get_by_label("Name", exact=True).input_value() == "Well"
    assert page.locator("#redo").inner_text() == "Redo: name of Well"
    page.locator("#redo").click()
    assert page.get_by_label("Name", exact=True).input_value() == "Old well"


def test_a_wrong_value_is_told_at_its_field(site: tuple[Any, Path]) -> None:
    page, _ = site
    choose(page, "Well: well")
    field = page.get_by_label("Pitless depth")
    field.fill("54")
    page.keyboard.press("Tab")
    page.locator("[data-key=pitless_depth] .fault").get_by_text('Found "54", which has no unit').wait_for()
    assert field.get_attribute("aria-invalid") == "true"
    page.locator("#problems").get_by_text("pitless_depth").wait_for()
    field.fill("54 in")
    page.keyboard.press("Tab")
    wait_for(page)
    assert field.get_attribute("aria-invalid") is None
    known = page.locator("[data-key=class] datalist option").evaluate_all("all => all.map(one => one.value)")
    assert "public" in known
    told = page.locator("[data-key=method] .hint").inner_text()
    assert told == "Counted as off by up to 0.5 ft (95 times out of 100)."


OVERLAPS = """() => {
    const over = (one, other) =>
        one.left < other.right && other.left < one.right && one.top < other.bottom && other.top < one.bottom;
    const map = document.getElementById('map').getBoundingClientRect();
    const seen = [...document.querySelectorAll('#map .name:not(.no-room)')]
        .map((name) => [name.textContent, name.getBoundingClientRect()])
        .filter(([, box]) => over(box, map));
    return seen.flatMap(([name, box], n) =>
        seen.slice(n + 1).filter(([, other]) => over(box, other)).map(([other]) => `${name} / ${other}`));
}"""


def test_on_a_phone_names_do_not_overlap_and_taps_draw(browser: Any, folder: Path) -> None:
    with (
        served(folder, planned_once()) as address,
        opened(browser, address, viewport=PHONE, has_touch=True, is_mobile=True) as page,
    ):
        wait_for(page)
        assert page.locator("#map .name:not(.no-room)").count() >= 6
        assert page.evaluate(OVERLAPS) == []
        begin(page, "slab")
        page.locator("#map").scroll_into_view_if_needed()
        box = page.locator("#map").bounding_box()
        for right, down in ((0.3, 0.15), (0.7, 0.15), (0.7, 0.4)):
            page.touchscreen.tap(box["x"] + box["width"] * right, box["y"] + box["height"] * down)
        typed_sides(page, 3)
        assert page.locator("#strip").bounding_box()["height"] < box["height"] * 0.45
        page.get_by_role("button", name="Finish", exact=True).click()
        wait_for(page)
        assert len(features(folder)["slab-1"]["geometry"]["coordinates"][0]) == 4
        assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]


def test_an_empty_site_tells_what_to_do_first(browser: Any, folder: Path) -> None:
    (folder / "site.geojson").write_text('{"type": "FeatureCollection", "features": []}')
    (folder / "levels.csv").unlink()
    allowed = {
        "permissions": ["geolocation"],
        "geolocation": {"longitude": -112.05, "latitude": 46.6, "accuracy": 8},
    }
    with served(folder) as address, opened(browser, address, viewport=DESK, **allowed) as page:
        page.get_by_role("heading", name="What to do first").wait_for()
        field = page.get_by_label("Where is the site? Longitude, latitude")
        field.fill("46.6")
        page.get_by_role("button", name="That is the place").click()
        page.locator("#first .fault").get_by_text("is no place").wait_for()
        page.get_by_role("button", name="Where I am now").click()
        steps = page.locator("#first ol li")
        steps.first.wait_for()
        assert page.locator("#first h2").inner_text() == "What to draw next"
        page.locator("#planned").get_by_text("No plan yet").wait_for()
        assert page.locator("#problems").is_hidden()
        assert [words.strip() for words in steps.all_inner_texts()][:3] == [
            "Property lines",
            "Buildings",
            "The well",
        ]
        middle = page.evaluate("async () => (await import('/desk.js')).desk.ground.middle")
        assert middle == pytest.approx([-112.05, 46.6], abs=1e-6)
        page.get_by_role("button", name="The well", exact=True).click()
        page.mouse.click(*pixel(page, [-112.05, 46.6]))
        page.locator("#first li.done").get_by_text("The well: drawn").wait_for()
        page.wait_for_function("() => document.getElementById('saved').textContent === 'Saved'")
        assert features(folder)["well-1"]["geometry"]["coordinates"] == pytest.approx(
            [-112.05, 46.6], abs=1e-5
        )


def test_the_site_to_start_from_is_carried_to_its_place(browser: Any, tmp_path: Path) -> None:
    from siteplan.read import write_new_site

    folder = tmp_path / "mine"
    write_new_site(folder, "Mine")
    before = features(folder)
    with (
        served(folder, planned_once()) as address,
        opened(browser, address, viewport=DESK) as page,
    ):
        page.get_by_role("heading", name="A site to start from").wait_for()
        wait_for(page)
        page.get_by_label("Where is the site? Longitude, latitude").fill("-105.2, 40.1")
        page.get_by_role("button", name="That is the place").click()
        page.locator("#undo").get_by_text("carry all to your site").wait_for()
        page.get_by_role("heading", name="A site to start from").wait_for(state="detached")
        wait_for(page)
    after = features(folder)
    assert json.dumps(after["well"]["properties"]) == json.dumps(before["well"]["properties"])
    for name in ("house", "parcel"):
        old, new = (each[name]["geometry"]["coordinates"][0] for each in (before, after))
        for n in range(4):
            side_m = GEOD.inv(*new[n], *new[n + 1])[2]
            assert side_m == pytest.approx(GEOD.inv(*old[n], *old[n + 1])[2], abs=0.01)
    assert after["well"]["geometry"]["coordinates"] == pytest.approx([-105.2, 40.1], abs=0.002)


SERVICE = "https://pictures.example/{z}/{x}/{y}.png"
PICTURE = '<svg xmlns="http://www.w3.org/2000/svg" width="256" height="256"/>'


def test_pictures_of_a_map_service_are_shown_if_it_was_named(browser: Any, folder: Path) -> None:
    """The policy lets the named host in and no other; the address is kept in this browser alone."""
    before = {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()}
    with served(folder, planned_once(), pictures=SERVICE) as address:
        context = browser.new_context(viewport=DESK)
        try:
            page = context.new_page()
            fetched: list[str] = []
            page.on("request", lambda request: fetched.append(request.url))
            page.route(
                re.compile("^https:"), lambda route: route.fulfill(body=PICTURE, content_type="image/svg+xml")
            )
            page.goto(address)
            wait_for(page)
            assert [url for url in fetched if "example" in url] == []
            page.get_by_text("Pictures of a map service").click()
            field = page.get_by_label("Address of a map picture service")
            field.fill("https://elsewhere.example/{z}/{x}/{y}.png")
            page.get_by_role("button", name="Show", exact=True).click()
            page.locator("#tiles .fault").get_by_text("started for https://pictures.example alone").wait_for()
            field.fill(SERVICE)
            page.get_by_role("button", name="Show", exact=True).click()
            page.locator("img.leaflet-tile-loaded").first.wait_for(state="attached")
            others = {url.split("/")[2] for url in fetched if not url.startswith("http://127.0.0.1")}
            assert others == {"pictures.example"}
            blocked = page.evaluate(
                "() => new Promise(done => Object.assign(new Image(), { onload: () => done(false),"
                " onerror: () => done(true), src: 'https://elsewhere.example/1.png' }))"
            )
            assert blocked
            page.reload()
            page.locator("img.leaflet-tile-loaded").first.wait_for(state="attached")
        finally:
            context.close()
    assert {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()} == before
