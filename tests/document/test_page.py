"""The offline page in a real browser with the network off, and against a geodesic library."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import folium
import pytest
from geographiclib.geodesic import Geodesic

from siteplan.document.page import (
    OfflineMap,
    OfflineShapes,
    data_block,
    escaped,
    escaped_json,
    sealed_html,
    vendor_text,
)
from siteplan.errors import SiteplanError

HOSTILE = '<img src=x onerror=alert(1)>"</script><script>alert(2)</script> {{ 7*7 }} {% raw %} {#'
CENTRE = (-113.9000, 46.9000)
BOUNDS = (-113.9010, 46.8995, -113.8990, 46.9005)
HEX_ID = "0123456789abcdef0123456789abcdef"


def sample_site(name: str = HOSTILE) -> dict[str, Any]:
    """Lay out a building, a well and the line between them."""
    lon, lat = CENTRE
    corners = [(0, 0), (2e-4, 0), (2e-4, 1e-4), (0, 1e-4), (0, 0)]
    well = [lon - 5e-4, lat - 1e-4]
    return {
        "type": "FeatureCollection",
        "features": [
            {
                "type": "Feature",
                "id": HEX_ID,
                "properties": {"name": name},
                "geometry": {"type": "Polygon", "coordinates": [[[lon + x, lat + y] for x, y in corners]]},
            },
            {
                "type": "Feature",
                "id": "line",
                "properties": {"name": "Water line"},
                "geometry": {"type": "LineString", "coordinates": [well, [lon, lat]]},
            },
            {
                "type": "Feature",
                "id": "well",
                "properties": {"name": "Well"},
                "geometry": {"type": "Point", "coordinates": well},
            },
        ],
    }


def sample_map(name: str = HOSTILE) -> OfflineMap:
    map_ = OfflineMap(BOUNDS)
    OfflineShapes(
        sample_site(name),
        style_function=lambda _: {"color": "#000", "weight": 2},
        marker=folium.CircleMarker(radius=6),
        tooltip=folium.GeoJsonTooltip(["name"], labels=False),
    ).add_to(map_)
    return map_


def sample_page(name: str = HOSTILE, **parts: Any) -> str:
    options = {"title": name, "styles": "", "scripts": []} | parts
    return sealed_html(sample_map(name), **options)


class Opened:
    """A page opened from disk with the network off, and all that it did."""

    def __init__(self, browser: Any, file: Path, script: str = "", **options: Any) -> None:
        self.context = browser.new_context(offline=True, viewport={"width": 900, "height": 600}, **options)
        self.page = self.context.new_page()
        if script:
            self.page.add_init_script(script)
        self.requests: list[str] = []
        self.messages: list[str] = []
        self.dialogs: list[str] = []
        self.page.on("request", lambda request: self.requests.append(request.url))
        self.page.on("console", lambda message: self.messages.append(message.text))
        self.page.on("pageerror", lambda error: self.messages.append(str(error)))
        self.page.on("dialog", self._note_dialog)
        self.page.goto(file.as_uri())

    def _note_dialog(self, dialog: Any) -> None:
        self.dialogs.append(dialog.message)
        dialog.dismiss()


@pytest.fixture
def opened(browser: Any, tmp_path: Path) -> Iterator[Any]:
    """Give a function that writes a page and opens it."""
    pages: list[Opened] = []

    def open_page(text: str, **options: Any) -> Opened:
        file = tmp_path / "map.html"
        file.write_text(text, encoding="utf-8")
        pages.append(Opened(browser, file, **options))
        return pages[-1]

    yield open_page
    for one in pages:
        one.context.close()


def test_the_page_asks_for_nothing_and_says_nothing(opened: Any) -> None:
    shown = opened(sample_page(), device_scale_factor=2)
    shown.page.mouse.move(450, 300)
    for act in (
        lambda: shown.page.mouse.wheel(0, -300),
        lambda: shown.page.click(".leaflet-control-zoom-out"),
    ):
        shown.page.evaluate(
            "() => { window.zoomed = new Promise((done) => planMap.once('zoomend', () => done())); }"
        )
        act()
        shown.page.evaluate("window.zoomed")
    assert len(shown.requests) == 1
    assert shown.requests[0].startswith("file://")
    assert shown.messages == []
    assert shown.dialogs == []


def test_stock_markers_carry_their_own_picture(opened: Any) -> None:
    script = "L.marker(planMap.getCenter()).addTo(planMap); L.control.layers({}, {}).addTo(planMap);"
    shown = opened(sample_page(scripts=[script]), device_scale_factor=2)
    width = shown.page.evaluate("document.querySelector('img.leaflet-marker-icon').naturalWidth")
    assert width == 50
    assert len(shown.requests) == 1
    assert shown.messages == []


def test_the_shapes_stand_where_they_were_put(opened: Any) -> None:
    shown = opened(sample_page("Cabin"))
    assert shown.page.locator("#plan-map path.leaflet-interactive").count() == 3
    box = shown.page.locator("#plan-map path.leaflet-interactive").first.bounding_box()
    corner = [box["x"], box["y"] + box["height"]]
    seen = shown.page.evaluate("corner => planMap.containerPointToLatLng(corner)", corner)
    one_pixel_deg = 360 / 256 / 2 ** shown.page.evaluate("planMap.getZoom()")
    assert (seen["lng"], seen["lat"]) == pytest.approx(CENTRE, abs=3 * one_pixel_deg)


def test_a_hostile_name_is_shown_and_never_run(opened: Any) -> None:
    shown = opened(sample_page(body=f"<p id='heading'>{escaped(HOSTILE)}</p>"))
    shown.page.locator("#plan-map path.leaflet-interactive").first.hover()
    tooltip = shown.page.locator(".leaflet-tooltip td")
    assert tooltip.text_content().strip() == HOSTILE
    assert shown.page.locator("#heading").text_content() == HOSTILE
    assert shown.page.title() == HOSTILE
    assert shown.page.locator("img").count() == 0
    assert (shown.dialogs, shown.messages) == ([], [])


def test_the_policy_stops_what_was_not_sealed(opened: Any) -> None:
    raw = "<script>ran = 1</script><img src='data:,x' onerror='ran = 2'><b style='color: red'>x</b>"
    listen = "window.refused = []; addEventListener('securitypolicyviolation', (it) => refused.push(it.effectiveDirective));"
    shown = opened(sample_page(body=raw), script=listen)
    shown.page.wait_for_function("window.refused.length > 2")
    assert sorted(shown.page.evaluate("window.refused")) == [
        "script-src-attr",
        "script-src-elem",
        "style-src-attr",
    ]
    assert shown.page.evaluate("window.ran") is None


def test_panels_read_their_data_and_own_styles_win(opened: Any) -> None:
    data = {"name": HOSTILE, "stations": [0.0, 30.48], "line separators": "\u2028\u2029"}
    script = """
        const planData = JSON.parse(document.getElementById("plan-data").textContent);
        document.getElementById("panel").textContent = planData.name;
    """
    shown = opened(
        sample_page(
            styles="#plan-map .leaflet-container, .leaflet-bar a { background-color: rgb(1, 2, 3); }",
            scripts=[script],
            body=f'<p id="panel"></p>{data_block(data)}',
        )
    )
    assert shown.page.evaluate("planData") == data
    assert shown.page.locator("#panel").text_content() == HOSTILE
    for place in (".leaflet-container", "a.leaflet-control-zoom-in"):
        background = shown.page.locator(place).evaluate("it => getComputedStyle(it).backgroundColor")
        assert background == "rgb(1, 2, 3)"
    assert shown.messages == []


@pytest.mark.parametrize("latitude", [0.0, 46.9, -33.0, 68.0])
def test_the_scale_bar_agrees_with_the_geodesic(opened: Any, latitude: float) -> None:
    """Against Karney's geodesics on WGS 84 (geographiclib), 30 m in eight directions from the middle.

    A Mercator drawing of the ellipsoid is not quite the same in all directions: the two curvatures differ by up
    to 0.67 % (at the equator), so that one bar for both is right to 0.34 %.
    """
    map_ = OfflineMap((10.0 - 1e-3, latitude - 1e-3, 10.0 + 1e-3, latitude + 1e-3))
    shown = opened(sealed_html(map_, title="", styles="", scripts=["planMap.setZoom(21, {animate: false});"]))
    centre = shown.page.evaluate("planMap.getCenter()")
    bars = shown.page.locator(".ground-scale-bar").all()
    ends = shown.page.locator(".ground-scale-ends span:last-child").all_text_contents()
    assert [text.split()[1] for text in ends] == ["ft", "m"]
    for bar, text, unit_m in zip(bars, ends, (0.3048, 1.0), strict=True):
        pixels_per_m = bar.bounding_box()["width"] / (float(text.split()[0]) * unit_m)
        for azimuth in range(0, 360, 45):
            far = Geodesic.WGS84.Direct(centre["lat"], centre["lng"], azimuth, 30.0)
            point = shown.page.evaluate(
                "([lat, lng]) => planMap.project([lat, lng]).subtract(planMap.project(planMap.getCenter()))",
                [far["lat2"], far["lon2"]],
            )
            assert math.hypot(point["x"], point["y"]) == pytest.approx(30.0 * pixels_per_m, rel=0.0035)


def test_the_scale_bar_is_round_and_fits(opened: Any) -> None:
    shown = opened(sealed_html(OfflineMap(BOUNDS), title="", styles="", scripts=[]))
    for zoom in range(2, 25):
        shown.page.evaluate("zoom => planMap.setZoom(zoom, {animate: false})", zoom)
        bars = shown.page.locator(".ground-scale-bar").all()
        ends = shown.page.locator(".ground-scale-ends span:last-child").all_text_contents()
        for bar, text in zip(bars, ends, strict=True):
            assert re.fullmatch(r"(0\.0*)?[125]0* (ft|m)", text)
            assert 200 / 2.5 - 0.1 <= bar.bounding_box()["width"] <= 200 + 0.1


def test_the_figures_stand_at_the_ends_of_the_bar(opened: Any) -> None:
    shown = opened(sealed_html(OfflineMap(BOUNDS), title="", styles="", scripts=[]))
    for ruler in shown.page.locator(".ground-scale-ruler").all():
        bar = ruler.locator(".ground-scale-bar").bounding_box()
        first, last = (span.bounding_box() for span in ruler.locator(".ground-scale-ends span").all())
        assert first["x"] == pytest.approx(bar["x"], abs=1)
        assert last["x"] + last["width"] == pytest.approx(bar["x"] + bar["width"], abs=1)


def test_the_same_map_gives_the_same_bytes() -> None:
    first, second = sample_page(), sample_page()
    assert first == second
    assert set(re.findall(r"\b[0-9a-f]{32}\b", first)) == {HEX_ID}


def test_scripts_reach_a_shape_by_its_name(opened: Any) -> None:
    map_ = OfflineMap(BOUNDS)
    shapes = OfflineShapes(sample_site()).add_to(map_)
    shown = opened(
        sealed_html(
            map_, title="", styles="", scripts=[f"window.count = {shapes.get_name()}.getLayers().length;"]
        )
    )
    assert shown.page.evaluate("window.count") == 3


class _Outside(HTMLParser):
    """Every attribute through which HTML can fetch something."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[tuple[str, str]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found += [
            (tag, name) for name, _ in attrs if name in ("src", "href", "srcset", "data", "action")
        ]


def test_no_element_of_the_page_can_fetch() -> None:
    page = sample_page("Cabin")
    reader = _Outside()
    reader.feed(page)
    assert reader.found == []
    addresses = set(re.findall(r"url\((?!data:|#)[^)]*\)|@import", page))
    assert addresses == set()


def test_foliums_own_map_is_left_as_it_was() -> None:
    before = [list(folium.Map.default_js), list(folium.Map.default_css)]
    sample_page()
    assert [folium.Map.default_js, folium.Map.default_css] == before
    assert all(before)
    assert OfflineMap.default_js == OfflineMap.default_css == []


@pytest.mark.parametrize("text", ["x</script>", "x</SCRIPT >", "<!-- x", "a\r\nb"])
def test_a_script_that_would_end_itself_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="script"):
        sample_page(scripts=[text])


def test_a_style_that_would_end_itself_is_refused() -> None:
    with pytest.raises(ValueError, match="style"):
        sample_page(styles="p { color: red } </style>")


def test_a_missing_library_says_what_to_do() -> None:
    with pytest.raises(SiteplanError, match=r"leaflet-nowhere\.js .*pip install"):
        vendor_text("leaflet-nowhere.js")


def test_not_a_number_is_refused_as_data() -> None:
    with pytest.raises(ValueError, match="JSON compliant"):
        data_block({"cover_m": math.nan})


def test_escaping_leaves_the_given_value_alone() -> None:
    given = {"<k>": ["{a}", 1.5, None, {"b": "'"}]}
    assert escaped_json(given) == {"&lt;k&gt;": ["&#123;a&#125;", 1.5, None, {"b": "&#x27;"}]}
    assert given == {"<k>": ["{a}", 1.5, None, {"b": "'"}]}


def test_the_licence_travels_with_the_library() -> None:
    assert vendor_text("leaflet.LICENSE.txt") in sample_page("Cabin")
    assert "Redistribution" in vendor_text("leaflet.LICENSE.txt")
