"""The map page in a real browser with the network off: what it shows, what it opens, and that no name runs as script."""

from __future__ import annotations

import re
from dataclasses import replace
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from shapely import LineString, Point, box

from siteplan.document import symbols
from siteplan.document.map_cards import finding_card, rule_text
from siteplan.document.map_shapes import GROUPS, drawn, slug
from siteplan.document.model import Plan
from siteplan.document.web_map import map_html
from siteplan.route.drawing_error import Tolerance
from siteplan.rules.citation import Citation
from siteplan.site.catalogue import kinds
from siteplan.units import System
from tests.document.map_page import HOSTILE, hostile_plan, planned
from tests.document.sample_plan import cite, thing

LONG = "Upper " + "Long" * 60 + " Hollow"
CSS = Path(symbols.__file__).with_name("web_map.css").read_text(encoding="utf-8")


def test_the_page_is_small_and_always_the_same(page_text: str) -> None:
    assert page_text == map_html(planned())
    assert len(page_text.encode()) < 1_000_000


def test_every_look_has_its_line_type_in_the_style_sheet() -> None:
    of_the_record = {symbols.AS_BUILT.legend, symbols.ONLY_PLANNED.legend}
    looks = {each.legend for each in symbols.ALL_LOOKS} - of_the_record
    legends = {legend for legend in looks if not legend.startswith("trench")}
    classes = {f".{slug(legend)}" for legend in legends}
    assert {each for each in classes if f"path{each} " not in CSS} == {".fuel-tank"}, (
        "a fuel tank is a plain outline"
    )
    assert {name for name in GROUPS if f".hide-{name} .group-{name}" not in CSS} == set()


def test_groups_switch_by_keyboard_and_what_is_settled_is_off_at_first(opened: Any, page_text: str) -> None:
    page = opened(page_text).page
    for name in GROUPS:
        shapes, box = page.locator(f"#plan-map path.group-{name}"), page.locator(f"[data-group={name}]")
        assert shapes.count() > 0
        is_on = name not in ("kept-off", "along", "other")
        assert (box.is_checked(), shapes.first.evaluate("it => getComputedStyle(it).display")) == (
            is_on,
            "inline" if is_on else "none",
        )
        box.focus()
        page.keyboard.press("Space")
        assert shapes.first.evaluate("it => getComputedStyle(it).display") == ("none" if is_on else "inline")


def test_a_hidden_group_hides_its_words(opened: Any, page_text: str) -> None:
    page = opened(page_text).page
    assert "SHORT" in page.locator(".leaflet-lettering-pane").inner_text()
    page.uncheck("[data-group=setbacks]")
    assert "SHORT" not in page.locator(".leaflet-lettering-pane").inner_text()


def test_the_trench_opens_station_cut_section_and_the_rule_that_set_the_cover(
    opened: Any, page_text: str
) -> None:
    text = opened(page_text).click_shape("stretch-1")
    for words in (
        "0+00.0 to 0+90.5",
        "Water to house + Pump power",
        "cover 54 in",
        "Plumbing code 305.4 as amended, 2024",
    ):
        assert words in text
    assert re.search(r"Cut\s+4\.9 ft", text)
    assert re.search(r"Width\s+24 in", text)
    assert "NO ENTRY" not in text


def test_a_deep_stretch_says_no_entry(opened: Any, page_text: str) -> None:
    shown = opened(page_text)
    shown.page.fill("#station", "0+95")
    shown.page.keyboard.press("Enter")
    assert "NO ENTRY without a protective system (29 CFR 1926.652(a)(1))" in shown.popup()


def test_a_station_opens_what_cut_and_ties(opened: Any, page_text: str) -> None:
    shown = opened(page_text)
    shown.page.click("#stations summary")
    shown.page.click('#stations [data-ref="station-1"]')
    text = shown.popup()
    for words in ("Main 0+00.0", "casing", "4.9 ft", "Ground", "house"):
        assert words in text


def test_a_measured_line_opens_verdict_numbers_and_citation(opened: Any, page_text: str) -> None:
    text = opened(page_text).click_shape("finding-1")
    finding = planned().findings[0]
    assert (finding.verdict, finding.required_text) == ("short", "100 ft")
    for words in (
        "SHORT",
        "100 ft",
        "67.6 ft",
        "± 3.2 ft at 95%",
        "-32.4 ft",
        "Private well code 36.21 (4)(b), 2024",
    ):
        assert words in text


def test_a_verdict_row_shows_its_line_and_unfolds_its_card(opened: Any, page_text: str) -> None:
    page = opened(page_text).page
    page.locator("#verdicts button", has_text=re.compile("^3$")).focus()
    page.keyboard.press("Enter")
    assert "Tape the casing centre to the north property line" in page.inner_text("tr.card-row")
    assert "(unconfirmed)" in page.inner_text("tr.card-row")
    chosen = page.locator("#plan-map path.chosen.setback")
    assert chosen.count() == 1
    assert "too-close-to-call" in chosen.get_attribute("class")
    page.keyboard.press("Enter")
    assert page.locator("tr.card-row").count() == 0


def test_the_worst_verdict_comes_first_and_none_is_missing(opened: Any, page_text: str) -> None:
    page = opened(page_text).page
    findings = planned().findings
    unlooked = [finding for finding in findings if finding.topic == "unlooked"]
    asked = [finding for finding in findings if finding.topic != "unlooked"]
    worst = [finding for finding in asked if finding.verdict not in ("clear", "not applicable")]
    rest = [finding for finding in asked if finding.verdict in ("clear", "not applicable")]
    shown = [*worst, *unlooked, *rest]
    assert sorted(finding.number for finding in shown) == [finding.number for finding in findings]
    numbers = page.locator("#verdicts button.circle").all_text_contents()
    assert numbers == [str(finding.number) for finding in shown]
    rows = page.locator("#verdicts tbody tr").all_text_contents()
    assert all(finding.verdict in row for finding, row in zip(shown, rows, strict=True))


def test_what_nobody_looked_for_is_one_folded_line(opened: Any, page_text: str) -> None:
    page = opened(page_text).page
    folded = page.locator("#verdicts details", has_text="nobody looked")
    assert folded.count() == 1
    assert folded.get_attribute("open") is None
    assert folded.locator("summary").inner_text().startswith("1 not checked, nobody looked: ")
    assert not folded.locator("button.circle").is_visible()
    folded.locator("summary").click()
    assert folded.locator("button.circle").inner_text() == "12"


def test_a_row_of_a_hidden_group_switches_it_on(opened: Any, page_text: str) -> None:
    page = opened(page_text).page
    page.uncheck("[data-group=setbacks]")
    page.locator("#verdicts button.circle").first.click()
    assert page.is_checked("[data-group=setbacks]")


def test_a_station_is_found(opened: Any, page_text: str) -> None:
    shown = opened(page_text)
    for typed, title, answer in (
        ("0+59.1", "Main 0+59.1", ""),
        ("A 0+20", "A 0+20", ""),
        ("Main:0+59.1", "Main 0+59.1", ""),
        ("sta. 0+58", "Main 0+58", ""),
        ("9+00", "", "Main ends before 9+00, at 1+22.0."),
        ("C 0+10", "", "There is no trench C."),
        ("x 3", "", "Nothing has this name. Write a station"),
        ("", "", "Nothing has this name."),
    ):
        shown.page.fill("#station", typed)
        shown.page.keyboard.press("Enter")
        assert shown.page.inner_text("#go-to output").startswith(answer)
        if title:
            assert title in shown.popup()


def test_a_typed_station_is_where_the_plan_has_it(opened: Any, page_text: str) -> None:
    shown = opened(page_text)
    plan = planned()
    tee = next(each for each in plan.works.stations if each.what == "tee, branch A")
    shown.page.fill("#station", "0+59.055")
    shown.page.keyboard.press("Enter")
    shown.popup()
    found = shown.page.evaluate(
        "Object.values(planMap._layers).filter((it) => it.options.className === 'here')[0].getLatLng()"
    )
    number = plan.works.stations.index(tee) + 1
    there = next(each for each in drawn(plan) if each.ref == f"station-{number}")
    lonlat = plan.frame.to_lonlat(there.shape)
    assert (found["lng"], found["lat"]) == pytest.approx((lonlat.x, lonlat.y), abs=2e-8)


def test_the_pointer_on_a_profile_moves_a_mark_on_the_map(opened: Any, page_text: str) -> None:
    page = opened(page_text).page
    drawing = page.locator("svg.profile").first
    drawing.scroll_into_view_if_needed()
    box = drawing.bounding_box()
    page.mouse.move(box["x"] + 200, box["y"] + 100)
    assert page.locator("#plan-map path.here").count() == 1
    page.mouse.move(box["x"] - 40, box["y"] - 40)
    assert page.locator("#plan-map path.here").count() == 0


def test_no_name_runs_and_every_name_is_shown(opened: Any) -> None:
    shown = opened(map_html(hostile_plan()))
    page = shown.page
    assert page.locator("h1").text_content() == HOSTILE
    assert page.title().startswith(HOSTILE)
    assert HOSTILE in shown.click_shape("finding-1")
    assert HOSTILE in shown.click_shape("stretch-1")
    page.evaluate("document.querySelectorAll('details').forEach((it) => { it.open = true; })")
    for button in page.locator("#sheet [data-ref]").all():
        button.click()
    assert page.locator("img:not(.underlay)").count() == 0
    assert page.locator("img.underlay").get_attribute("alt") == f"Picture {HOSTILE}"
    assert HOSTILE in page.inner_text("#switches")
    page.fill("#station", "<img")
    page.keyboard.press("Enter")
    assert f"things fit: {HOSTILE}, {HOSTILE}" in page.inner_text("#go-to output")
    page.locator(".scroll").first.focus()
    page.keyboard.press("End")
    assert f"in {HOSTILE}" in page.locator("#plan-map .read-out").inner_text()
    assert page.locator(".card a").count() == 0
    assert "{{7*7}}" in page.locator(".leaflet-lettering-pane").text_content()


def test_prices_and_other_ways_are_on_the_page(opened: Any, page_text: str) -> None:
    page = opened(page_text).page
    summary = page.locator("#summary")
    assert "likely $920, $560 to $1,450: the trench only" in summary.inner_text()
    assert "$480 less than a trench of its own to each end, at likely rates" in summary.inner_text()
    table = summary.locator("table")
    assert not table.is_visible()
    page.locator("#summary summary").click()
    rows = [row.inner_text().split("\t") for row in table.locator("tbody tr").all()]
    assert rows == [
        ["trench by machine, own rate", "100.0 ft", "$800", "$500 to $1,200"],
        ["tee, and the hole for it", "1 no.", "$120", "$60 to $250"],
        ["all of these", "", "$920", "$560 to $1,450"],
    ]
    assert "1 of 2 rates are the site's own" in summary.inner_text()
    assert page.locator("#alternatives dt").all_inner_texts() == [
        "round the drive",
        "bored under Gravel drive",
    ]


def test_another_way_opens_its_card_when_its_group_is_shown(opened: Any, page_text: str) -> None:
    shown = opened(page_text)
    shown.page.locator("[data-group=other]").check()
    card = shown.click_shape("other-2")
    assert "bored under Gravel drive" in card
    assert "$1,500: $580 dearer" in card


@pytest.mark.parametrize("width", [1400, 390])
def test_many_other_ways_and_tolerances_do_not_widen_the_page(opened: Any, width: int) -> None:
    plan = planned()
    others = tuple(replace(plan.layout.alternatives[0], name=f"{LONG} {n}", why=LONG) for n in range(6))
    near = tuple(
        Tolerance(
            feature="barn",
            name="Barn",
            shift_m=0.5 * n,
            fails="route",
            row="",
            where=Point(44, 36),
            way="water-barn",
        )
        for n in range(30)
    )
    full = replace(plan, layout=replace(plan.layout, alternatives=others), tolerances=near)
    page = opened(map_html(full), width=width, height=844).page
    page.evaluate("document.querySelectorAll('details').forEach((it) => { it.open = true; })")
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert page.locator("#alternatives dt").count() == 6
    assert page.locator("#tolerances li").count() == 8


def test_a_link_is_given_only_for_a_web_address() -> None:
    finding = planned().findings[0]

    def url(address: str) -> str | None:
        citation = Citation(row="r", layer="us", text="Code 1", standing="verified", url=address)
        return finding_card(planned(), replace(finding, citation=citation)).get("url")

    assert url("https://example.org/code") == "https://example.org/code"
    assert url("javascript:alert(1)") is None
    assert url("") is None


def test_a_rule_says_its_edition_its_force_and_whether_anyone_read_it() -> None:
    given = cite("r", "Code 603.2", force="advised", standing="secondary")
    assert rule_text(given) == "Code 603.2, 2024 (advised) (unconfirmed)"


@pytest.mark.parametrize("width", [360, 390])
def test_a_phone_scrolls_one_way_only(opened: Any, page_text: str, width: int) -> None:
    page = opened(page_text, width, 844).page
    assert (
        page.locator("#sheet").bounding_box()["y"] >= page.locator("#plan-map").bounding_box()["height"] - 1
    )
    page.evaluate("document.querySelectorAll('details').forEach((it) => { it.open = true; })")
    page.locator("#verdicts button.circle").first.click()
    assert page.evaluate("document.documentElement.scrollWidth") == width


@pytest.mark.parametrize("width", [1400, 390])
def test_no_text_is_smaller_than_14_px(opened: Any, page_text: str, width: int) -> None:
    shown = opened(page_text, width, 844)
    shown.page.evaluate("document.querySelectorAll('details').forEach((it) => { it.open = true; })")
    shown.click_shape("finding-1")
    small = shown.page.evaluate(
        """() => {
            const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
            const small = [];
            while (walker.nextNode()) {
                const { parentElement: at, textContent: text } = walker.currentNode;
                if (at.closest("script, noscript, template, title") || !text.trim()) continue;
                if (parseFloat(getComputedStyle(at).fontSize) < 14) small.push(text);
            }
            return small;
        }"""
    )
    assert small == []


def test_words_to_avoid_are_not_on_the_page(opened: Any, page_text: str) -> None:
    page = opened(page_text).page
    page.evaluate("document.querySelectorAll('details').forEach((it) => { it.open = true; })")
    cards = page.evaluate(
        "Object.values(JSON.parse(document.getElementById('plan-data').textContent).cards)"
        ".map(({ title, rows }) => [title, ...rows.flat()].join(' ')).join(' ')"
    )
    words = set(re.findall(r"[a-z]+", f"{page.inner_text('body')} {cards}".lower()))
    banned = {"safe", "compliant", "node", "edge", "polygon", "layer", "vertex", "feature", "snap", "buffer"}
    assert words & banned <= {"edge"}, "edge is a trade word in 'edge 3 ft' and 'outer edge of a line'"


def test_the_cautions_and_who_decides_are_on_the_page(opened: Any, page_text: str) -> None:
    text = opened(page_text).page.inner_text("#sheet")
    for words in (
        "CALL FOR LOCATES AND WAIT",
        "HAND DIG",
        "NO ENTRY",
        "OVERHEAD LINES",
        "this is not a permit",
    ):
        assert words in text
    for words in (
        "203.3 ft",
        "No layout of trenches can be more than 2 % shorter.",
        "tank watertight, county letter",
    ):
        assert words in text


def test_paper_is_one_sheet_of_map_legend_and_cautions(opened: Any, page_text: str) -> None:
    page = opened(page_text).page
    page.emulate_media(media="print")
    page.locator("#tools").wait_for(state="hidden")
    sheet, map_ = page.locator("#sheet").bounding_box(), page.locator("#plan-map").bounding_box()
    assert sheet["y"] >= map_["y"] + map_["height"]
    assert page.locator("#plan-map path.trench").first.is_visible()
    assert page.evaluate("planMap.getSize().x") == pytest.approx(map_["width"], abs=5)
    shown = page.locator("body").inner_text()
    for words in (
        "CALL FOR LOCATES AND WAIT",
        "HAND DIG",
        "NO ENTRY",
        "this is not a permit",
        "Check bar: 2 in",
    ):
        assert words in shown
    assert page.locator("#check-bar span").bounding_box()["width"] == pytest.approx(2 * 96, abs=0.5)
    assert page.locator("#legend li").count() > 12
    controls = page.locator("button, input, a, summary").filter(visible=True)
    assert {each.get_attribute("class").split()[0] for each in controls.all()} <= {"lettering"}
    page.emulate_media(media="screen")
    page.locator("#tools").wait_for(state="visible")


def test_the_view_is_the_same_after_printing_as_before(opened: Any, page_text: str) -> None:
    page = opened(page_text).page
    page.evaluate(
        "planMap.setView(planMap.getBounds().getNorthEast(), planMap.getZoom() + 1, {animate: false})"
    )
    view = "[planMap.getCenter().lat, planMap.getCenter().lng, planMap.getZoom()]"
    before = page.evaluate(view)
    page.emulate_media(media="print")
    page.locator("#tools").wait_for(state="hidden")
    assert page.evaluate(view) != before
    page.emulate_media(media="screen")
    page.locator("#tools").wait_for(state="visible")
    assert page.evaluate(view) == pytest.approx(before, abs=1e-6)


@pytest.mark.parametrize("paper", ["Letter", "A4"])
def test_the_printed_page_is_one(opened: Any, page_text: str, paper: str) -> None:
    from pypdf import PdfReader

    printed = PdfReader(BytesIO(opened(page_text).page.pdf(format=paper)))
    assert len(printed.pages) == 1
    text = printed.pages[0].extract_text()
    assert "CALL FOR LOCATES AND WAIT" in text
    assert "LEGEND" in text.upper()


def everything() -> Plan:
    """The plan with one more of each kind of thing that it has none of: a legend of 40 rows."""
    plan = planned()
    there = {each.kind for each in plan.site.features}
    more = []
    for n, (name, kind) in enumerate(sorted(kinds().items())):
        if name not in there:
            x, y = 5.0 + n % 10 * 5, 5.0 + n // 10 * 5
            shapes = {"point": Point(x, y), "line": LineString([(x, y), (x + 3, y)])}
            more.append(thing(f"more-{n}", name, name, shapes.get(kind.shapes[0], box(x, y, x + 3, y + 3))))
    return replace(plan, site=replace(plan.site, features=(*plan.site.features, *more)))


@pytest.mark.parametrize("paper", ["Letter", "A4"])
def test_a_legend_of_forty_rows_stays_on_the_printed_page(opened: Any, paper: str) -> None:
    from pypdf import PdfReader

    page = opened(map_html(everything())).page
    rows = [row.strip() for row in page.locator("#legend li").all_text_contents()]
    assert len(rows) >= 40
    printed = PdfReader(BytesIO(page.pdf(format=paper)))
    assert len(printed.pages) == 1
    text = " ".join(printed.pages[0].extract_text().split())
    assert [row for row in rows if row.lstrip("WECGSFOH?") not in text] == []
    assert "Check bar: 2 in" in text


@pytest.mark.parametrize(("units", "station"), [("m", "0+010"), ("ft-in", "0+25")])
def test_other_units_and_ground_without_levels(opened: Any, units: System, station: str) -> None:
    page = opened(map_html(planned(units, levelled=False))).page
    assert station in page.locator("svg.profile").first.text_content()
    assert "from ground surface only" in page.inner_text("#profiles")
    assert page.locator("#sheet").inner_text().count("None") == 0


def test_the_words_on_the_map_do_not_cover_one_another(opened: Any, page_text: str) -> None:
    """Except those that must be seen whatever the room: verdicts that are not clear, crossings, bends."""
    page = opened(page_text).page
    boxes = page.evaluate(
        """() => Array.from(document.querySelectorAll(".lettering"), (it) => {
            const at = it.getBoundingClientRect();
            return [it.className, it.style.transform.includes("rotate"), at.left, at.top, at.right, at.bottom];
        })"""
    )
    upright = [box for box in boxes if not box[1]]
    assert len(upright) > 15
    crowded = [
        (one[0], other[0])
        for place, one in enumerate(upright)
        for other in upright[:place]
        if one[2] < other[4] - 1 and other[2] < one[4] - 1 and one[3] < other[5] - 1 and other[3] < one[5] - 1
    ]
    assert crowded == []
