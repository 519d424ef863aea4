"""Pictures underneath: laid by points, kept as the command line says it, handed out by number, never by a name."""

from __future__ import annotations

import base64
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from page_client import DESK, opened, served, wait_for
from PIL import Image, ImageDraw
from playwright.sync_api import expect
from shapely import Point
from web_client import Client, client_for, quick_plan

from siteplan.plane.place import place
from siteplan.read import read_site, write_new_site
from siteplan.read.underlay import MOST_PICTURE_BYTES

TWO = [[300, 200, "Barn NW"], [500, 340, "Barn SE"]]


def picture(sort: str = "PNG", size: tuple[int, int] = (1200, 900)) -> bytes:
    """A plat: a frame round where the barn stands."""
    drawn = Image.new("L", size, 255)
    ImageDraw.Draw(drawn).rectangle((300, 200, 500, 340), outline=0, width=6)
    written = BytesIO()
    drawn.save(written, sort)
    return written.getvalue()


def lay(client: Client, content: bytes, points: Any, **more: Any) -> Any:
    body = {"content": base64.b64encode(content).decode(), "points": points, **more}
    return client.post("/api/underlay", json=body)


def test_a_picture_is_laid_kept_in_site_toml_and_taken_out(client: Client, folder: Path) -> None:
    before = {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()}
    tried = lay(client, picture(), TWO)
    assert tried.json()["misfit"] is None
    assert "a third would" in tried.json()["words"]
    assert {path.name for path in folder.iterdir() if path.is_file()} == before.keys(), "only tried"
    kept = lay(client, picture("JPEG"), TWO, keep=True)
    assert kept.json()["name"] == "picture-1.jpg", "by its first bytes"
    assert kept.json()["corners"] == tried.json()["corners"]
    (told,) = client.get("/api/underlay").json()["pictures"]
    handed = client.get("/api/underlay/1")
    assert (handed.headers["content-type"], handed.content) == ("image/jpeg", picture("JPEG"))
    (laid,) = quick_plan(folder).site.underlays
    assert laid.lie is not None
    _, frame = place(read_site(folder))
    for dots, lonlat in zip(((0, 0), (1200, 0), (0, 900)), told["corners"], strict=True):
        there = frame.to_ground(Point(lonlat))
        assert (there.x, there.y) == pytest.approx(laid.lie.ground(*dots), abs=1e-4)
    assert client.post("/api/underlay/take-out", json={"number": 1}).status_code == 200
    assert {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()} == before


def test_a_third_point_shows_the_misfit_in_the_units_of_the_site(client: Client, folder: Path) -> None:
    """Barn SW read 10 dots too far down, in a picture whose scale the other two give."""
    site, _ = place(read_site(folder))
    west, south, east, north = site.feature("barn").shape.bounds
    scale = (east - west) / 200  # metres a dot
    dots = [[300, 200], [500, 200], [300, 200 + (north - south) / scale + 10]]
    names = ("Barn NW", "Barn NE", "Barn SW")
    laid = lay(client, picture(), [[*two, name] for two, name in zip(dots, names, strict=True)]).json()
    assert float(laid["misfit"].removesuffix(" ft")) == pytest.approx(10 * scale / 0.3048, abs=0.051)


def test_a_picture_may_be_the_first_thing_of_an_empty_site(tmp_path: Path) -> None:
    folder = tmp_path / "new"
    write_new_site(folder, "New")
    (folder / "site.geojson").write_text('{"type": "FeatureCollection", "features": []}')
    client = client_for(folder)
    points = [[0, 0, -112.0710, 46.5950], [1200, 0, -112.0690, 46.5950]]
    assert lay(client, picture(), points, keep=True).status_code == 200
    (told,) = client.get("/api/underlay").json()["pictures"]
    assert told["corners"][0] == pytest.approx(points[0][2:], abs=1e-8)
    assert told["corners"][1] == pytest.approx(points[1][2:], abs=1e-8)
    assert client.get("/api/tapes").json()["corners"] == []


@pytest.mark.parametrize(
    ("content", "points", "says"),
    [
        (b"GIF89a" + b"x" * 50, TWO, "no PNG or JPEG by its first bytes"),
        (b"\x89PNG\r\n\x1a\n" + b"x" * 50, TWO, "a picture that does not open"),
        (b"\x89PNG\r\n\x1a\n" + b"x" * MOST_PICTURE_BYTES, TWO, "at most 4 MB"),
        (picture(), [[300, 200, "Barn NW"], [301, 200, "Barn SE"]], "two points that are nearly one"),
        (picture(), [[300, 200, "Barn NW"], [5000, 340, "Barn SE"]], "expected a place in the picture"),
        (picture(), [[300, 200, "Bern NW"], [500, 340, "Barn SE"]], 'did you mean "Barn NW"?'),
        (picture(), [[300, 200, 412, 46.5], [500, 340, "Barn SE"]], "the longitude 412"),
    ],
    ids=["gif", "half", "large", "one point", "outside", "no such corner", "no longitude"],
)
def test_what_cannot_be_laid_is_said_and_nothing_written(
    client: Client, folder: Path, content: bytes, points: Any, says: str
) -> None:
    before = {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()}
    answer = lay(client, content, points, keep=True)
    assert answer.status_code == 422
    assert says in answer.json()["faults"][0]
    assert {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()} == before


def test_no_name_of_a_picture_is_ever_asked_for(client: Client, folder: Path) -> None:
    (folder / "secret.png").write_bytes(picture())
    for address in ("0", "1", "99", "secret.png", "../site.toml", "%2e%2e/site.toml", "-1"):
        assert client.get(f"/api/underlay/{address}").status_code == 404
    for points in (
        [],
        [[1, 2, "a"]],
        [[1, "2", "a"]] * 2,
        [[1, 2, None]] * 2,
        [[1, 2, "a", "b"]] * 2,
        "x",
        [TWO[0]] * 4,
    ):
        assert lay(client, picture(), points).status_code == 400
    assert client.post("/api/underlay", json={"content": "?", "points": TWO}).status_code == 400
    assert lay(client, b"x" * 6_000_000, TWO).status_code == 413


def test_the_map_goes_to_a_picture_that_is_all_there_is(browser: Any, tmp_path: Path) -> None:
    """Typed with the keyboard: dots, and longitude and latitude."""
    folder = tmp_path / "new"
    write_new_site(folder, "New")
    (folder / "site.geojson").write_text('{"type": "FeatureCollection", "features": []}')
    with served(folder) as address, opened(browser, address, viewport=DESK) as page:
        page.locator("#planned").get_by_text("No plan").wait_for()
        page.locator("#underlay summary").first.focus()
        page.keyboard.press("Enter")
        page.locator("#underlay-file").set_input_files(
            {"name": "plat.png", "mimeType": "image/png", "buffer": picture()}
        )
        for number, (right, there) in enumerate(((0, "-112.0712, 46.5950"), (1200, "-112.0690, 46.5950"))):
            point = page.locator(".picture-points fieldset").nth(number)
            for label, text in (
                ("Dots from the left", str(right)),
                ("Dots from the top", "0"),
                ("or longitude, latitude", there),
            ):
                point.get_by_label(label).fill(text)
                page.keyboard.press("Tab")
        under = page.locator("#map img.under")
        expect(under).to_have_count(1)
        assert under.bounding_box()["width"] > 300
        page.get_by_role("button", name="Lay it under the drawing").click()
        page.locator("#underlay-said").get_by_text("Kept as picture-1.png").wait_for()
        page.reload()
        expect(under).to_have_attribute("src", "/api/underlay/1")
        page.wait_for_function("document.querySelector('#map img.under').getBoundingClientRect().width > 300")


WHERE = """async (name) => {
    const { desk } = await import("/desk.js");
    const { corners } = await (await fetch("/api/tapes")).json();
    const [longitude, latitude] = corners.find((corner) => corner.name === name).at;
    const there = desk.ground.map.latLngToContainerPoint([latitude, longitude]);
    const box = desk.ground.map.getContainer().getBoundingClientRect();
    return [there.x + box.x, there.y + box.y];
}"""


def test_points_are_clicked_in_the_picture_and_on_the_drawing(browser: Any, folder: Path) -> None:
    with served(folder) as address, opened(browser, address, viewport=DESK) as page:
        wait_for(page)
        page.locator("#underlay summary").first.click()
        page.locator("#underlay-file").set_input_files(
            {"name": "<b>plat.png", "mimeType": "image/png", "buffer": picture()}
        )
        sheet = page.get_by_role("img", name="The picture <b>plat.png")
        for right, down, corner in TWO:
            box = sheet.bounding_box()
            sheet.click(position={"x": right / 1200 * box["width"], "y": down / 900 * box["height"]})
            page.locator(".pick-strip").wait_for()
            page.mouse.click(*page.evaluate(WHERE, corner))
            expect(page.locator(".pick-strip")).to_have_count(0)
        page.locator("#underlay-said").get_by_text("a third would").wait_for()
        under = page.locator("#map img.under")
        expect(under).to_have_count(1)
        seen, barn = under.bounding_box(), [page.evaluate(WHERE, name) for name in ("Barn NW", "Barn SE")]
        assert seen["x"] < barn[0][0] and barn[1][0] < seen["x"] + seen["width"]
        page.get_by_role("button", name="Lay it under the drawing").click()
        page.locator("#underlay-said").get_by_text("Kept as picture-1.png").wait_for()
        (laid,) = read_site(folder).underlays
        assert [point.at for point in laid.points] == ["barn NW", "barn SE"], "a corner that is near is taken"
        assert [(point.right_px, point.down_px) for point in laid.points] == [
            (pytest.approx(right, abs=3), pytest.approx(down, abs=3)) for right, down, _ in TWO
        ]
        expect(page.locator("#map img.under")).to_have_attribute("src", "/api/underlay/1")
        page.get_by_label("How strong").fill("30")
        expect(page.locator(".leaflet-pictures-pane")).to_have_css("opacity", "0.3")
        page.get_by_label("Show pictures").uncheck()
        expect(page.locator("#map img.under")).to_be_hidden()
        page.get_by_role("button", name="Take out picture-1.png").click()
        expect(page.locator("#map img.under")).to_have_count(0)
        assert not (folder / "picture-1.png").exists()
