"""What the map page does with a pointer, a finger, the keys, a position and a picture, read back from a real browser."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
import shapely
from shapely import LineString, Point

from siteplan.document.map_shapes import bounds
from siteplan.document.model import Plan
from siteplan.document.web_map import map_html
from siteplan.document.words import bearing_deg
from siteplan.units import FOOT_M, Printer, System
from tests.document.map_page import DOTS, GROUND, Opened, planned, underlay
from tests.plans import example

CLICKS = [(320, 260), (520, 410), (300, 600)]
NO_POSITION = "Object.defineProperty(Navigator.prototype, 'geolocation', { get: () => undefined })"
TOUCH: dict[str, Any] = {"width": 390, "height": 844, "has_touch": True}


def said_at(plan: Plan, name: str, distance_m: float) -> str:
    """What the page must say of a place on a trench: from the plan, printed as the sheets print it."""
    printer = Printer(plan.site.units)
    section = next(
        section
        for reach, from_m, to_m, section in plan.works.stretches(plan.layout.reaches)
        if reach == name and from_m <= distance_m <= to_m
    )
    stations = [each for each in plan.works.stations if each.reach == name]
    covers = [
        f"cover {printer.short(laid.cover_m)} {plan.site.line(laid.line).name}" for laid in section.lines
    ]
    ground = "no level here"
    if stations[0].grade_m is not None:
        along, grades = zip(*((each.distance_m, each.grade_m) for each in stations), strict=True)
        ground = f"ground {printer.length(float(np.interp(distance_m, along, grades)))}"
    cut = f"cut {printer.length(section.cut_m)}"
    return "; ".join([f"{name} {printer.station(distance_m)}", cut, *covers, ground])


def read_out(page: Any) -> str:
    return str(page.locator("#plan-map .read-out").inner_text())


def profile_mark_m(page: Any, name: str) -> float:
    """Distance along a trench at which the mark on its profile stands."""
    return float(
        page.evaluate(
            """name => {
                const it = document.querySelector(`svg.profile[data-reach="${name}"]`);
                return (it.querySelector(".pointer").getAttribute("x1") - it.dataset.left) / it.dataset.perM;
            }""",
            name,
        )
    )


def mark_on_map(page: Any, plan: Plan) -> Point:
    """Ground place of the mark on the map."""
    at = page.evaluate(
        "Object.values(planMap._layers).filter((it) => it.options.className === 'here')[0].getLatLng()"
    )
    return plan.frame.to_ground(Point(at["lng"], at["lat"]))


def on_screen(page: Any, plan: Plan, place: Point) -> tuple[float, float]:
    """Where a ground place lies in the window."""
    there = plan.frame.to_lonlat(place)
    return tuple(
        page.evaluate(
            """([lng, lat]) => {
                const at = planMap.latLngToContainerPoint([lat, lng]), box = planMap.getContainer().getBoundingClientRect();
                return [at.x + box.left, at.y + box.top];
            }""",
            [there.x, there.y],
        )
    )


def ground_at(page: Any, plan: Plan, x: float, y: float) -> Point:
    """Ground place under a place of the window."""
    lng, lat = page.evaluate(
        """([x, y]) => {
            const box = planMap.getContainer().getBoundingClientRect();
            const at = planMap.containerPointToLatLng([x - box.left, y - box.top]);
            return [at.lng, at.lat];
        }""",
        [x, y],
    )
    return plan.frame.to_ground(Point(lng, lat))


@pytest.mark.parametrize(("units", "levelled"), [("ft", True), ("m", True), ("ft-in", False)])
def test_the_pointer_on_a_profile_reads_the_plan_and_marks_the_map(
    opened: Any, units: System, levelled: bool
) -> None:
    plan = planned(units, levelled=levelled)
    page = opened(map_html(plan)).page
    for reach in plan.layout.reaches:
        drawing = page.locator(f'svg.profile[data-reach="{reach.name}"]')
        drawing.scroll_into_view_if_needed()
        box, left, per_m = (
            drawing.bounding_box(),
            float(drawing.get_attribute("data-left")),
            float(drawing.get_attribute("data-per-m")),
        )
        for part in (0.05, 0.43, 0.9):
            x = round(box["x"] + left + part * reach.length_m * per_m)
            page.mouse.move(x, box["y"] + 100)
            distance_m = (x - box["x"] - left) / per_m
            assert read_out(page) == said_at(plan, reach.name, distance_m)
            there = reach.path.interpolate(distance_m)
            assert mark_on_map(page, plan).distance(there) < 0.01
    page.mouse.move(700, 100)
    assert read_out(page) == ""


def test_the_pointer_on_the_map_marks_the_profile(opened: Any, page_text: str) -> None:
    plan, page = planned(), opened(page_text).page
    metre_px = page.evaluate("() => planMap.getSize().x") / 70
    for reach, distance_m in ((plan.layout.reaches[0], 14.0), (plan.layout.reaches[1], 9.0)):
        x, y = on_screen(page, plan, reach.path.interpolate(distance_m))
        page.mouse.move(x, y)
        found_m = profile_mark_m(page, reach.name)
        assert found_m == pytest.approx(distance_m, abs=2 / metre_px)
        assert read_out(page).startswith(f"{reach.name} {Printer('ft').station(found_m)}")
    page.mouse.move(30, 860)
    assert read_out(page) == ""


def test_the_keys_move_the_mark_and_say_it(opened: Any, page_text: str) -> None:
    plan, page = planned(), opened(page_text).page
    frame = page.get_by_role("slider", name="Place along Main")
    frame.focus()
    for key in ("ArrowRight", "ArrowRight", "PageUp", "ArrowLeft"):
        page.keyboard.press(key)
    distance_m = 26 * FOOT_M
    assert frame.get_attribute("aria-valuetext") == said_at(plan, "Main", distance_m)
    assert read_out(page) == said_at(plan, "Main", distance_m)
    assert profile_mark_m(page, "Main") == pytest.approx(distance_m, abs=0.02)
    page.keyboard.press("End")
    assert read_out(page) == said_at(plan, "Main", plan.layout.reaches[0].length_m)
    page.keyboard.press("Home")
    assert read_out(page) == said_at(plan, "Main", 0.0)
    page.keyboard.press("Escape")
    assert read_out(page) == ""


def test_a_finger_on_the_profile_moves_the_mark_and_leaves_it(opened: Any, page_text: str) -> None:
    plan, page = planned(), opened(page_text, **TOUCH).page
    drawing = page.locator("svg.profile").first
    drawing.evaluate("it => it.scrollIntoView({ block: 'end' })")
    box, left, per_m = (
        drawing.bounding_box(),
        float(drawing.get_attribute("data-left")),
        float(drawing.get_attribute("data-per-m")),
    )
    page.touchscreen.tap(box["x"] + 200, box["y"] + 120)
    assert read_out(page) == said_at(plan, "Main", (200 - left) / per_m)
    x, y = on_screen(page, plan, plan.layout.reaches[1].path.interpolate(8.0))
    page.touchscreen.tap(x, y)
    assert read_out(page).startswith("A ")


def tape(page: Any) -> list[str]:
    return [str(text) for text in page.locator("#tape-list li").all_inner_texts()]


def lengths(text: str, units: System) -> list[float]:
    """Lengths [m] in a printed line."""
    if units == "ft-in":
        found = re.findall(r"(\d+) ft (\d+)?(?: ?(1/2))? in", text)
        return [
            (int(feet) * 12 + int(inches or 0) + (0.5 if half else 0)) * 0.0254
            for feet, inches, half in found
        ]
    unit_m = FOOT_M if units == "ft" else 1.0
    return [float(number) * unit_m for number in re.findall(r"([\d.]+) (?:ft|m)\b", text)]


@pytest.mark.parametrize(("units", "step_m"), [("ft", 0.1 * FOOT_M), ("m", 0.01), ("ft-in", 0.0127)])
def test_distances_are_those_of_the_ground(opened: Any, units: System, step_m: float) -> None:
    """Against shapely in the ground plane of the plan, which ``tests/published/test_geodesy.py`` holds to the ellipsoid."""
    plan = planned(units)
    page = opened(map_html(plan)).page
    page.click("#tape-start")
    for at in CLICKS:
        page.mouse.click(*at)
    places = [ground_at(page, plan, *at) for at in CLICKS]
    legs = [a.distance(b) for a, b in pairwise(places)]
    said = tape(page)
    assert len(said) == 2
    for text, leg, run, pair in zip(said, legs, np.cumsum(legs), ((0, 1), (1, 2)), strict=True):
        assert lengths(text, units) == pytest.approx([leg, run], abs=step_m / 2 + 0.002)
        start, end = (places[n].coords[0] for n in pair)
        bearing = int(re.search(r"bearing (\d+)°", text)[1])
        assert (bearing - bearing_deg(start, end) + 180) % 360 - 180 == pytest.approx(0, abs=0.51)
    whole = lengths(page.inner_text("#tape-sum"), units)[0]
    assert whole == pytest.approx(shapely.length(LineString(places)), abs=step_m / 2 + 0.003)
    assert "a tape decides" in page.inner_text("#tape-sum")
    assert read_out(page) == said[-1]
    assert page.locator(".leaflet-popup").count() == 0
    page.click("#tape-back")
    assert tape(page) == [said[0].partition("°")[0] + "°"]
    page.click("#tape-clear")
    assert tape(page) == []
    assert page.locator("#plan-map path.tape-point").count() == 0
    page.click("#tape-start")
    page.mouse.click(*CLICKS[0])
    assert tape(page) == []


def test_distances_by_the_keys_alone(opened: Any, page_text: str) -> None:
    plan, page = planned(), opened(page_text).page
    page.get_by_role("button", name="Distances").focus()
    page.keyboard.press("Enter")
    assert "Enter takes the point" in page.inner_text("#tape-help")
    middles = []
    for keys in ([], ["ArrowRight"]):
        for key in keys:
            page.evaluate(
                "() => { window.moved = new Promise((done) => planMap.once('moveend', () => done())); }"
            )
            page.keyboard.press(key)
            page.evaluate("window.moved")
        box = page.locator("#plan-map .leaflet-container").bounding_box()
        middles.append(ground_at(page, plan, box["x"] + box["width"] / 2, box["y"] + box["height"] / 2))
        page.keyboard.press("Enter")
    [said] = tape(page)
    assert lengths(said, "ft") == pytest.approx([middles[0].distance(middles[1])], abs=0.1)
    assert middles[0].distance(middles[1]) > 1
    page.keyboard.press("Backspace")
    assert tape(page) == []
    page.keyboard.press("Escape")
    assert page.get_attribute("#tape-start", "aria-pressed") == "false"


def test_distances_with_a_thumb_on_a_phone(opened: Any, page_text: str) -> None:
    page = opened(page_text, **TOUCH).page
    page.locator("#tape-start").tap()
    page.touchscreen.tap(150, 150)
    page.touchscreen.tap(250, 220)
    [said] = tape(page)
    assert read_out(page) == said
    page.locator("#tape-clear").tap()
    assert tape(page) == []


@pytest.mark.parametrize("units", ["ft", "m", "ft-in"])
def test_the_page_prints_numbers_as_the_sheets_do(opened: Any, units: System) -> None:
    plan, printer = planned(units), Printer(units)
    values = [
        0.0,
        0.0127,
        0.01524,
        0.3048,
        1.0,
        2.4257,
        19.02,
        30.48,
        30.47,
        123.456,
        999.949,
        1000.05,
        0.005,
    ]
    values += np.random.default_rng(5).uniform(0, 400, 300).tolist()
    page = opened(map_html(plan)).page
    said = page.evaluate("all => all.map((it) => [planText.length(it), planText.station(it)])", values)
    assert said == [[printer.length(each), printer.station(each)] for each in values]


def at_well(plan: Plan, **more: float) -> dict[str, float]:
    there = plan.frame.to_lonlat(plan.site.well.shape)
    return {"longitude": there.x, "latitude": there.y, **more}


def test_where_am_i_shows_the_error_and_the_caution(opened: Any, page_text: str) -> None:
    plan = planned()
    shown = opened(page_text, geolocation=at_well(plan, accuracy=12), permissions=["geolocation"])
    page = shown.page
    page.get_by_role("button", name="Where am I").click()
    page.wait_for_selector("#plan-map path.you", state="attached")
    said = page.inner_text("#where-answer")
    for words in (
        "Within 39.4 ft of the mark (95 %",
        "from Main 0+00.0",
        "A phone is good to 16.0 ft",
        "no tape",
    ):
        assert words in said
    radius, lng, lat = page.evaluate(
        """() => {
            const circle = Object.values(planMap._layers).find((it) => it.options.className === "you-error");
            return [circle.getRadius(), circle.getLatLng().lng, circle.getLatLng().lat];
        }"""
    )
    assert radius == 12
    assert plan.frame.to_ground(Point(lng, lat)).distance(plan.site.well.shape) < 0.01
    page.get_by_role("button", name="Where am I").click()
    assert page.locator("#plan-map path.you").count() == 0
    assert page.inner_text("#where-answer") == ""


def test_where_am_i_far_from_the_site_leaves_the_map(opened: Any, page_text: str) -> None:
    page = opened(
        page_text,
        geolocation={"longitude": 10.0, "latitude": 50.0, "accuracy": 30},
        permissions=["geolocation"],
    ).page
    before = page.evaluate("planMap.getCenter()")
    page.click("#where-button")
    page.wait_for_selector("#plan-map path.you", state="attached")
    assert "You are not at this site." in page.inner_text("#where-answer")
    assert page.evaluate("planMap.getCenter()") == before


@pytest.mark.parametrize(
    ("script", "words"),
    [
        ("", "The browser did not allow the page to ask where you are."),
        (NO_POSITION, "This browser gives no position to the page."),
    ],
)
def test_where_am_i_refused_or_absent_is_one_line(
    opened: Any, page_text: str, script: str, words: str
) -> None:
    page = opened(page_text, script=script).page
    page.click("#where-button")
    page.wait_for_function(
        "words => document.getElementById('where-answer').textContent === words", arg=words
    )
    assert page.get_attribute("#where-button", "aria-pressed") == "false"


def test_a_thing_is_found_by_its_name(opened: Any, page_text: str) -> None:
    shown = opened(page_text)
    for typed, card, answer in (
        ("barn", "Barn", ""),
        ("Gravel", "Gravel drive", ""),
        ("septic tank", "Septic tank", ""),
        ("crossing 2", "Crossing 2", ""),
        ("B1", "bend B1", ""),
        ("tank", "", "2 things fit: Septic tank, Propane tank. Write more of the name."),
        ("outhouse", "", "Nothing has this name. Write a station such as 1+35"),
    ):
        shown.page.fill("#station", typed)
        shown.page.keyboard.press("Enter")
        assert shown.page.inner_text("#go-to output").startswith(answer)
        if card:
            assert card in shown.popup()
            shown.page.keyboard.press("Escape")
        shown.page.wait_for_selector(".leaflet-popup", state="detached")


def laid() -> Plan:
    plan = planned()
    return replace(plan, site=replace(plan.site, underlays=(underlay(),)))


def test_a_picture_lies_under_the_map_where_its_points_are(opened: Any) -> None:
    plan = laid()
    page = opened(map_html(plan)).page
    for view in ("site", "trench"):
        page.click(f"[data-view={view}]")
        shown = page.evaluate(
            """dots => {
                const picture = document.querySelector("img.underlay");
                const frame = new DOMMatrix(getComputedStyle(picture).transform);
                const pane = picture.parentElement.getBoundingClientRect();
                return dots.map(([x, y]) => {
                    const at = frame.transformPoint({ x, y });
                    return [at.x + pane.left, at.y + pane.top];
                });
            }""",
            DOTS.tolist(),
        )
        there = [on_screen(page, plan, Point(each)) for each in GROUND]
        assert np.abs(np.array(shown) - np.array(there)).max() < 1
    picture = page.locator("img.underlay")
    assert picture.evaluate("it => [it.naturalWidth, it.naturalHeight]") == [500, 400]
    assert picture.evaluate("it => getComputedStyle(it).filter") == "grayscale(1)"
    order = page.evaluate(
        "['underlay', 'overlayPane'].map((it) => Number(getComputedStyle(planMap.getPane(it)).zIndex))"
    )
    assert order[0] < order[1]
    page.uncheck("[data-group=underlay]")
    assert not picture.is_visible()


def test_a_picture_says_how_well_its_points_agree(opened: Any) -> None:
    plan = laid()
    misfit_m = plan.site.underlays[0].lie.misfit_m
    text = opened(map_html(plan)).page.inner_text("#switches")
    assert f"Barn NW lies {Printer('ft').length(misfit_m)} from where the first two put it" in text
    assert "nothing was measured on it" in text
    two = replace(underlay(), points=underlay().points[:2], lie=replace(underlay().lie, misfit_m=None))
    text = map_html(replace(plan, site=replace(plan.site, underlays=(two,))))
    assert "two points, so nothing shows whether they are right" in text


CONTRAST = """() => {
    const part = (it) => { const c = it / 255; return c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4; };
    const light = ([r, g, b]) => 0.2126 * part(r) + 0.7152 * part(g) + 0.0722 * part(b);
    const numbers = (text) => text.match(/[\\d.]+/g).map(Number);
    const behind = (at) => {
        for (let it = at; it; it = it.parentElement) {
            const found = numbers(getComputedStyle(it).backgroundColor);
            if (found.length < 4 || found[3] > 0) return found;
        }
        return [255, 255, 255];
    };
    const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT), poor = [];
    let count = 0;
    while (walker.nextNode()) {
        const { parentElement: at, textContent: text } = walker.currentNode;
        if (at.closest("script, noscript, template, :disabled") || !text.trim()) continue;
        const style = getComputedStyle(at), ink = numbers(at.closest("svg") ? style.fill : style.color);
        const [a, b] = [light(ink), light(behind(at))], ratio = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
        count += 1;
        if (ratio < 4.5) poor.push([text.trim().slice(0, 40), ratio]);
    }
    return [count, poor];
}"""


@pytest.mark.parametrize("sun", [False, True])
def test_words_stand_out_as_wcag_asks(opened: Any, page_text: str, sun: bool) -> None:
    """4.5 to 1, WCAG 2.2 success criterion 1.4.3; relative luminance as its glossary defines it (from memory)."""
    page = opened(page_text).page
    page.evaluate("document.querySelectorAll('details').forEach((it) => { it.open = true; })")
    page.locator("#verdicts button.circle").first.click()
    if sun:
        page.check("#sun")
    count, poor = page.evaluate(CONTRAST)
    assert count > 200
    assert poor == []


def test_who_asks_for_more_contrast_gets_it(opened: Any, page_text: str) -> None:
    assert opened(page_text, contrast="more").page.is_checked("#sun")


@pytest.mark.parametrize("sun", [False, True])
def test_lines_stand_out_from_the_paper(opened: Any, page_text: str, sun: bool) -> None:
    """3 to 1 for what one must see to understand, WCAG 2.2 success criterion 1.4.11; black on white in bright sun."""
    page = opened(page_text).page
    for name in ("kept-off", "along", "other"):
        page.check(f"[data-group={name}]")
    if sun:
        page.check("#sun")
    strokes = page.evaluate(
        """() => Array.from(document.querySelectorAll(
            "#plan-map path[class], #legend path, svg.profile line[class], svg.profile polyline"
        ), (it) => [it.getAttribute("class"), getComputedStyle(it).stroke])"""
    )
    seen = {
        (classes, tuple(map(int, re.findall(r"\d+", stroke))))
        for classes, stroke in strokes
        if stroke.startswith("rgb") and not set(classes.split()) & {"halo", "trench-halo", "bore-inside"}
    }
    assert len(seen) > 10

    def light(ink: tuple[int, ...]) -> float:
        parts = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in (n / 255 for n in ink)]
        return float(np.dot(parts, (0.2126, 0.7152, 0.0722)))

    assert {classes: ink for classes, ink in seen if 1.05 / (light(ink) + 0.05) < 3} == {}
    if sun:
        assert {ink for classes, ink in seen if "kept-off" not in classes} == {(0, 0, 0)}


def test_every_control_has_a_name_and_shows_where_the_keys_are(opened: Any, page_text: str) -> None:
    page = opened(page_text).page
    nameless = page.evaluate(
        """() => Array.from(document.querySelectorAll("button, input, a, [tabindex='0'], svg[role]"))
            .filter((it) => !(it.ariaLabel || it.textContent.trim() || it.labels?.[0]?.textContent.trim()))
            .map((it) => it.outerHTML.slice(0, 80))"""
    )
    assert nameless == []
    assert page.locator("[tabindex]:not([tabindex='0']):not([tabindex='-1'])").count() == 0
    reached: set[str] = set()
    for _ in range(40):
        page.keyboard.press("Tab")
        name, outline = page.evaluate(
            """() => {
                const at = document.activeElement;
                const name = at.ariaLabel || at.id || at.textContent || at.dataset.group;
                return [name, parseFloat(getComputedStyle(at).outlineWidth)];
            }"""
        )
        assert outline >= 2, name
        reached.add(name)
    assert {"Zoom in", "Cautions", "station", "tape-start", "where-button", "sun"} <= reached
    assert any(name.startswith("Map.") for name in reached)
    assert page.locator("#verdicts .circle").first.get_attribute("aria-label").startswith("1, short: ")


@pytest.mark.parametrize("width", [360, 390, 820])
def test_a_thumb_finds_every_control(opened: Any, page_text: str, width: int) -> None:
    """44 px, WCAG 2.2 success criterion 2.5.5 (from memory); marks on the map have their row in a list as well."""
    page = opened(page_text, width, 844).page
    page.evaluate("document.querySelectorAll('details').forEach((it) => { it.open = true; })")
    page.locator("#verdicts button.circle").first.click()
    small = page.evaluate(
        """() => Array.from(document.querySelectorAll("button:not(.lettering), a, summary, label.switch, #station, .card a"))
            .filter((it) => it.checkVisibility())
            .map((it) => [it.textContent || it.id, it.getBoundingClientRect()])
            .filter(([, at]) => at.width < 43.9 || at.height < 43.9)
            .map(([name, at]) => [name, at.width, at.height])"""
    )
    assert small == []
    assert page.evaluate("document.documentElement.scrollWidth") == width


OVERLAPS = """() => {
    const boxes = Array.from(document.querySelectorAll("#plan-map .lettering, #plan-map .leaflet-control"))
        .filter((it) => it.checkVisibility() && !it.style.transform.includes("rotate"))
        .map((it) => [it.textContent, it.getBoundingClientRect()]);
    const met = [];
    boxes.forEach(([name, one], n) => boxes.slice(0, n).forEach(([other, two]) => {
        const wide = Math.min(one.right, two.right) - Math.max(one.left, two.left);
        const high = Math.min(one.bottom, two.bottom) - Math.max(one.top, two.top);
        if (wide > 1 && high > 1) met.push([name, other]);
    }));
    return [boxes.length, met];
}"""


@pytest.mark.parametrize("width", [390, 820])
def test_the_words_on_a_small_map_do_not_cover_one_another(opened: Any, page_text: str, width: int) -> None:
    count, met = opened(page_text, width, 844).page.evaluate(OVERLAPS)
    assert count > 8
    assert met == []


def read_page(shown: Opened) -> dict[str, Any]:
    """Data that the page holds."""
    return json.loads(shown.page.text_content("#plan-data"))


@pytest.mark.parametrize("site", ["cedar-bench", "birch-landing"])
def test_the_page_of_an_example_says_what_the_plan_says(opened: Any, site: str) -> None:
    plan = example(site)
    text = map_html(plan)
    assert text == map_html(plan)
    assert len(text.encode()) < 1_000_000
    shown = opened(text, 390, 844)
    page, printer = shown.page, Printer(plan.site.units)
    count, met = page.evaluate(OVERLAPS)
    assert count > 8
    assert met == []
    assert page.locator("#verdicts button.circle").count() == len(plan.findings)
    labels = page.locator("#verdicts button.circle").evaluate_all("all => all.map((it) => it.ariaLabel)")
    assert sorted(labels) == sorted(f"{each.number}, {each.verdict}: {each.what}" for each in plan.findings)
    verdicts = page.locator("#verdicts b.verdict").all_text_contents()
    assert sorted(verdicts) == sorted(finding.verdict for finding in plan.findings)
    page.evaluate("document.querySelectorAll('details').forEach((it) => { it.open = true; })")
    rows = [row.split("\t") for row in page.locator("#stations tbody tr").all_inner_texts()]
    assert [(row[0].strip(), row[-1]) for row in rows] == [
        (f"{each.reach} {printer.station(each.distance_m)}", printer.length(each.cut_m))
        for each in plan.works.stations
    ]
    reach = plan.layout.reaches[0]
    page.get_by_role("slider", name=f"Place along {reach.name}").focus()
    page.keyboard.press("PageUp")
    assert read_out(page) == said_at(plan, reach.name, 25 * FOOT_M if plan.site.units == "ft" else 10.0)
    assert read_page(shown)["views"]["site"] == pytest.approx(bounds(plan, "site"))
    for button in page.locator("#sheet > section > table [data-ref]").all():
        button.click()
