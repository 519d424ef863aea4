"""The plan goes with what is dragged: a look at the drawing as it would be, of which nothing is kept until it is let go."""

from __future__ import annotations

import json
import threading
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from page_client import DESK, choose, features, opened, row, served, wait_for
from web_client import KEY, PORT, Client

from siteplan.document.model import Plan
from siteplan.plan import plan_folder
from siteplan.read import read_site
from siteplan.read.new_site import write_new_site
from siteplan.site.site import Site
from siteplan.units import Printer
from siteplan.web.app import make_app
from siteplan.web.planner import OutOfDate, StagedPlanner
from siteplan.web.site_store import SiteStore


@pytest.fixture
def looking(folder: Path) -> Client:
    """Open the page with the planner that it is served with."""
    client = Client(make_app(folder, StagedPlanner(), port=PORT, key=KEY))
    client.get(f"/?key={KEY}")
    return client


def with_hydrant(told: dict[str, Any], by: float) -> dict[str, Any]:
    """The body that the page sends while the hydrant is dragged."""
    site = json.loads(json.dumps(told["site"]))
    (hydrant,) = (each for each in site["features"] if each["id"] == "hydrant")
    hydrant["geometry"]["coordinates"][0] += by
    return {"site": site, "revision": told["revision"]}


def state(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()}


def test_it_is_the_plan_that_saving_it_would_give_and_nothing_is_saved(looking: Client, folder: Path) -> None:
    before = state(folder)
    body = with_hydrant(looking.get("/api/site").json(), 2e-5)
    told = looking.post("/api/plan/carried", json=body).json()
    assert state(folder) == before
    assert list((folder / ".history").iterdir()) == []
    assert looking.put("/api/site", json=body).status_code == 200
    saved = looking.post("/api/plan", json={}).json()
    assert saved.keys() - told.keys() == {"revision", "stamp"}
    assert {name: saved[name] for name in told} == told
    by_command = plan_folder(folder, thorough=False)
    assert told["numbers"][0][1] == Printer(by_command.site.units).length(by_command.layout.length_m)


def test_a_drawing_that_another_hand_has_changed_is_not_planned(looking: Client, folder: Path) -> None:
    body = with_hydrant(looking.get("/api/site").json(), 2e-5)
    path = folder / "site.geojson"
    path.write_text(path.read_text() + "\n")
    assert looking.post("/api/plan/carried", json=body).json() == {"out_of_date": True}


def test_what_cannot_be_read_is_told_in_lines(looking: Client, folder: Path) -> None:
    body = with_hydrant(looking.get("/api/site").json(), 2e-5)
    (parcel,) = (each for each in body["site"]["features"] if each["properties"]["kind"] == "parcel")
    ring = parcel["geometry"]["coordinates"][0]
    ring[0], ring[1] = ring[1], ring[0]
    ring[-1] = ring[0]
    answer = looking.post("/api/plan/carried", json=body)
    assert answer.status_code == 422
    assert answer.json()["faults"][0].startswith("site.geojson:")
    assert looking.post("/api/plan/carried", json={"revision": body["revision"]}).status_code == 422
    assert looking.post("/api/plan/carried", json={}).json() == {"out_of_date": True}


def test_what_was_carried_is_not_read_again_when_it_is_saved(folder: Path) -> None:
    store = SiteStore(folder)
    drawing = store.load()
    drawing.site["features"][4]["geometry"]["coordinates"][0] += 1e-6
    carried = store.site_with(drawing.site, drawing.revision)
    told: list[Site | None] = []
    assert store.save(drawing.site, drawing.revision, meanwhile=told.append)
    assert [each is carried for each in told] == [True]
    assert store.site() is carried
    assert read_site(folder).features == carried.features
    assert store.site_with(drawing.site, drawing.revision) is None


def test_a_change_of_another_file_is_read_again(folder: Path) -> None:
    store = SiteStore(folder)
    drawing = store.load()
    first = store.site_with(drawing.site, drawing.revision)
    toml = folder / "site.toml"
    toml.write_text(toml.read_text().replace('name = "Cedar Bench"', 'name = "Another bench"'))
    again = store.site_with(drawing.site, drawing.revision)
    assert first is not None and again is not None
    assert (first.name, again.name) == ("Cedar Bench", "Another bench")


def test_one_site_is_looked_at_once(folder: Path) -> None:
    planner, site = StagedPlanner(), read_site(folder)
    first = planner.plan("first look", site)
    assert planner.plan("first look", site) is first
    assert planner.plan("first look", replace(site, name="Another")) is not first


def test_a_newer_look_ends_the_one_under_way(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from siteplan.web import planner as module

    site = read_site(folder)
    newer = replace(site, name="Newer")
    begun, go_on = threading.Event(), threading.Event()
    plan_site = module.plan_site

    def held(site: Any, *, between: Any, **named: Any) -> Any:
        def wait() -> None:
            begun.set()
            go_on.wait(60)
            between()

        return plan_site(site, between=wait, **named)

    planner = StagedPlanner()
    monkeypatch.setattr(module, "plan_site", held)
    ended: list[BaseException] = []

    def look() -> None:
        try:
            planner.plan("first look", site)
        except OutOfDate as error:
            ended.append(error)

    older = threading.Thread(target=look)
    older.start()
    assert begun.wait(60)
    looked: list[Any] = []
    later = threading.Thread(target=lambda: looked.append(planner.plan("first look", newer)))
    later.start()
    while planner._wanted is not newer:
        go_on.wait(0.01)
    go_on.set()
    older.join(60)
    later.join(60)
    assert len(ended) == 1
    assert looked[0].site.name == "Newer"


class Overtaken(StagedPlanner):
    """Another window has something planned before the first two plans of this one are there."""

    left = 2

    def plan(self, stage: str, site: Site) -> Plan:
        if self.left:
            self.left -= 1
            raise OutOfDate
        return super().plan(stage, site)


def test_a_page_that_another_window_overtook_asks_again(browser: Any, tmp_path: Path) -> None:
    folder = tmp_path / "small"
    write_new_site(folder)
    with served(folder, planner=Overtaken()) as address, opened(browser, address, viewport=DESK) as page:
        page.locator("#planned").filter(has_text="Plan: ").wait_for()


def test_the_verdicts_go_with_the_drag(browser: Any, tmp_path: Path) -> None:
    folder = tmp_path / "small"
    write_new_site(folder)
    before = features(folder)
    with (
        served(folder, planner=StagedPlanner()) as address,
        opened(browser, address, viewport=DESK) as page,
    ):
        wait_for(page)
        judged = row(page, "absorption area")

        def carry() -> str:
            choose(page, "Well: well")
            box = page.locator(".mark.chosen").bounding_box()
            x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
            page.mouse.move(x, y)
            page.mouse.down()
            page.mouse.move(x + 40, y + 30)
            page.locator("#planned").filter(has_text="With it here: ").wait_for()
            assert features(folder) == before
            return str(page.locator("tr.verdict").filter(has_text="absorption area").first.text_content())

        def told() -> str:
            return str(page.locator("tr.verdict").filter(has_text="absorption area").first.text_content())

        first = carry()
        page.keyboard.press("Escape")
        page.mouse.up()
        wait_for(page)
        assert row(page, "absorption area") == judged
        assert told() != first
        assert features(folder) == before

        assert carry() == first
        page.mouse.up()
        wait_for(page)
        assert told() == first
        assert features(folder)["well"] != before["well"]


def test_what_was_not_carried_is_told_as_soon_as_it_is_read(folder: Path) -> None:
    store = SiteStore(folder)
    drawing = store.load()
    drawing.site["features"][4]["geometry"]["coordinates"][0] += 1e-6
    told: list[Site | None] = []
    assert store.save(drawing.site, drawing.revision, meanwhile=told.append)
    assert told == [None, store.site()]
    assert store.save(drawing.site, "another revision", meanwhile=told.append) is None
    assert len(told) == 2
