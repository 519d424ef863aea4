"""The as-built record from the page: tapes typed into the tie list come out as the record that the command line makes."""

from __future__ import annotations

import io
import json
import zipfile
from pathlib import Path
from typing import Any

import pytest
from page_client import DESK, PHONE, opened, served, tab, wait_for
from web_client import Client, client_for, quick_plan

from siteplan.document.model import Plan
from siteplan.document.record_files import RECORDED
from siteplan.document.write import DOCUMENTS
from siteplan.measure.tie_list import tie_points
from siteplan.read.shots import read_shots
from siteplan.units import parse_length
from siteplan.web.planner import OutOfDate

INCH_M = 0.0254


@pytest.fixture
def at_work(folder: Path) -> Client:
    return client_for(folder, quick_plan)


def rows_for(point: dict[str, Any], **more: str) -> list[dict[str, Any]]:
    """What the page sends of a place that is as planned to the tenth."""
    tapes = {f"from_{n}": tie["corner"] for n, tie in enumerate(point["ties"][:2], 1)}
    tapes |= {f"tape_{n}": tie["tape"] for n, tie in enumerate(point["ties"][:2], 1)}
    return [
        {
            "line": line["id"],
            "what": point["name"],
            **tapes,
            "side": point["side"],
            "cover": line["cover"],
            **more,
        }
        for line in point["lines"]
    ]


def test_the_list_is_the_printed_one(at_work: Client, folder: Path) -> None:
    plan = quick_plan(folder)
    points = tie_points(plan.site, plan.layout, plan.works)
    told = at_work.get("/api/built").json()
    assert [point["number"] for point in told["points"]] == [point.number for point in points]
    for one, point in zip(told["points"], points, strict=True):
        assert len(one["ties"]) >= 2 or point.corner
        for tie in one["ties"]:
            (planned_m,) = (each.tape_m for each in point.ties if each.name == tie["corner"])
            assert parse_length(tie["tape"]) == pytest.approx(planned_m, abs=0.0153)
        assert {line["id"]: parse_length(line["cover"]) for line in one["lines"]} == pytest.approx(
            dict(point.covers), abs=INCH_M
        )
    assert told["rows"] == told["other_rows"] == []


def test_rows_typed_are_rows_of_the_file_and_of_the_record(at_work: Client, folder: Path) -> None:
    told = at_work.get("/api/built").json()
    bend = next(point for point in told["points"] if point["name"] == "bend B1")
    rows = rows_for(bend, date="2026-11-28", crew="R. A.")
    rows[0]["cover"] = "40 in"
    answer = at_work.post("/api/built", json={"rows": rows, "revision": told["revision"]})
    assert answer.status_code == 200, answer.text
    shots = read_shots(folder, quick_plan(folder).site).shots
    assert [(shot.line, shot.what, shot.crew) for shot in shots] == [
        (row["line"], "bend B1", "R. A.") for row in rows
    ]
    again = at_work.get("/api/built").json()
    assert next(point for point in again["points"] if point["name"] == "bend B1")["rows"] == [0, 1]
    record = at_work.post("/api/record", json={}).json()
    assert sorted(record["documents"]) == sorted(RECORDED)
    assert any("SHORT" in point["cover"] for point in record["points"])
    assert any(change["after"] == "short" for change in record["changes"])
    kept = json.loads((folder / "record" / "asbuilt.geojson").read_text())
    assert any("bend B1" in json.dumps(each["properties"]) for each in kept["features"])
    assert at_work.get("/api/record/tie-sheet.pdf").content.startswith(b"%PDF-")


def test_a_place_typed_again_takes_the_place_of_its_rows(at_work: Client, folder: Path) -> None:
    (folder / "shots.csv").write_text("note,line,what,station,cover\nby hand,water-house,splice,1+00,55 in\n")
    told = at_work.get("/api/built").json()
    assert told["other_rows"] == [0]
    bend = next(point for point in told["points"] if point["name"] == "bend B2")
    revision = at_work.post("/api/built", json={"rows": rows_for(bend), "revision": told["revision"]}).json()[
        "revision"
    ]
    first = (folder / "shots.csv").read_text()
    assert first.startswith("note,line,what,station,cover,from_1")
    assert "by hand,water-house,splice,1+00,55 in" in first
    now = at_work.get("/api/built").json()
    numbers = next(point for point in now["points"] if point["name"] == "bend B2")["rows"]
    changed = [
        {**row, "number": number, "cover": "70 in"}
        for number, row in zip(numbers, rows_for(bend), strict=True)
    ]
    assert at_work.post("/api/built", json={"rows": changed, "revision": revision}).status_code == 200
    second = (folder / "shots.csv").read_text()
    assert second.count("bend B2") == first.count("bend B2")
    assert second.count("70 in") == len(changed)


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ({"tape_1": "42"}, "unit"),
        ({"cover": "x"}, "cover"),
        ({"line": "no-such"}, "no-such"),
        ({"date": "2026-13-01"}, "date"),
    ],
)
def test_a_row_that_cannot_be_used_is_refused(
    at_work: Client, folder: Path, more: dict[str, str], words: str
) -> None:
    told = at_work.get("/api/built").json()
    rows = rows_for(told["points"][1])
    rows[0] |= more
    answer = at_work.post("/api/built", json={"rows": rows, "revision": told["revision"]})
    assert answer.status_code == 422
    assert words in answer.json()["faults"][0]
    assert answer.json()["faults"][0].startswith("shots.csv:2")
    assert not (folder / "shots.csv").exists()


@pytest.mark.parametrize(
    "row",
    [{"line": 1}, {"line": "a\nb"}, {"formula": "x"}, [], "x", {"line": "water-house", "number": "1"}],
)
def test_what_is_no_row_is_refused(at_work: Client, folder: Path, row: object) -> None:
    revision = at_work.get("/api/built").json()["revision"]
    answer = at_work.post("/api/built", json={"rows": [row], "revision": revision})
    assert answer.status_code in (400, 422)
    assert not (folder / "shots.csv").exists()


def test_a_file_changed_meanwhile_is_a_conflict(at_work: Client, folder: Path) -> None:
    told = at_work.get("/api/built").json()
    (folder / "shots.csv").write_text("line,what,station,cover\nwater-house,splice,1+00,55 in\n")
    answer = at_work.post(
        "/api/built", json={"rows": rows_for(told["points"][1]), "revision": told["revision"]}
    )
    assert answer.status_code == 409
    assert (folder / "shots.csv").read_text().count("\n") == 2


def test_all_documents_in_one_archive(at_work: Client, folder: Path) -> None:
    assert at_work.get("/api/sheets.zip").status_code == 404
    asked = {"paper": "a4", "language": "es", "call": "2026-11-25T15:00", "variance": True}
    made = at_work.post("/api/documents", json=asked).json()["documents"]
    assert set(made) >= set(DOCUMENTS)
    answer = at_work.get("/api/sheets.zip")
    with zipfile.ZipFile(io.BytesIO(answer.content)) as archive:
        assert set(archive.namelist()) == {f"plan/{name}" for name in made}
        assert archive.read("plan/findings.json") == (folder / "plan" / "findings.json").read_bytes()
    assert at_work.get("/api/sheets.zip").content == answer.content
    for name in made:
        assert at_work.get(f"/api/documents/{name}").status_code == 200


@pytest.mark.parametrize(
    "asked", [{"paper": "b5"}, {"language": "fr"}, {"call": "today"}, {"call": 7}, {"variance": "yes"}]
)
def test_a_wish_that_cannot_be_met_is_refused(
    at_work: Client, folder: Path, asked: dict[str, object]
) -> None:
    assert at_work.post("/api/documents", json=asked).status_code in (400, 422)
    assert not (folder / "plan").exists()


@pytest.mark.parametrize(
    ("method", "address"), [("GET", "/api/built"), ("POST", "/api/documents"), ("POST", "/api/record")]
)
def test_a_site_that_is_changed_meanwhile_is_said_in_one_line(
    folder: Path, method: str, address: str
) -> None:
    def ended(_: Path) -> Plan:
        raise OutOfDate

    answer = client_for(folder, ended).request(method, address, json={} if method == "POST" else None)
    assert answer.status_code == 409
    assert answer.json()["faults"] == ["the site was changed meanwhile: try again when it is planned"]


def test_a_crew_types_what_the_tape_said(browser: Any, folder: Path) -> None:
    with served(folder) as address, opened(browser, address, viewport=PHONE, has_touch=True) as page:
        wait_for(page)
        tab(page, "As built")
        page.get_by_role("button", name="Show the tie list").click()
        page.get_by_label("Crew").fill("Two Creeks")
        place = page.locator("#built-points li").filter(has_text="bend B1")
        place.locator("summary").click()
        assert "planned" in place.inner_text()
        shown = page.locator(".leaflet-tooltip.reading").all_inner_texts()
        tapes = [tape.inner_text().removeprefix("planned ") for tape in place.locator(".planned").all()]
        assert len(shown) >= 2
        assert [words.partition(": ")[2] for words in shown] == [tape for tape in tapes if tape]
        for n, tape in enumerate(place.locator(".planned").all()[:2], 1):
            planned = tape.inner_text().removeprefix("planned ")
            place.get_by_label("read").nth(n - 1).fill(planned)
        place.get_by_label("Cover of Water to house").fill("40")
        place.get_by_role("button", name="Keep").click()
        place.locator(".fault").get_by_text("cover").wait_for()
        assert not (folder / "shots.csv").exists()
        place.get_by_label("Cover of Water to house").fill("40 in")
        place.get_by_label("Cover of Pump power").fill("24 in")
        place.get_by_role("button", name="Keep").click()
        page.locator("#built-state").get_by_text("1 of ").wait_for()
        page.get_by_role("button", name="Make the record").click()
        page.locator("#record-told").get_by_text("SHORT").first.wait_for()
        assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
        with page.expect_download() as saved:
            page.get_by_role("link", name="The lines as built for a GPS receiver").click()
        assert "<gpx" in Path(saved.value.path()).read_text()
    shots = read_shots(folder, quick_plan(folder).site).shots
    assert {shot.crew for shot in shots} == {"Two Creeks"}
    assert {shot.line: shot.cover_m for shot in shots} == pytest.approx(
        {"water-house": 40 * INCH_M, "pump-power": 24 * INCH_M}
    )


def test_sheets_are_made_and_said_to_be_old(browser: Any, folder: Path) -> None:
    with served(folder) as address, opened(browser, address, viewport=DESK) as page:
        wait_for(page)
        tab(page, "Sheets")
        page.get_by_label("Paper", exact=True).select_option("A4")
        page.get_by_role("button", name="Make the sheets").click()
        page.locator("#sheets-state").get_by_text("Made.").wait_for(timeout=60_000)
        assert page.locator("#sheets-old").is_hidden()
        assert page.locator("#sheets li").count() == len(DOCUMENTS)
        toml = folder / "site.toml"
        toml.write_text(toml.read_text().replace('bucket = "24 in"', 'bucket = "18 in"'))
        page.locator("#sheets-old").wait_for()
