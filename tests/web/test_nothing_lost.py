"""Each change is on the disk before the page calls it saved, whatever happens to the program, and can be taken back."""

from __future__ import annotations

import json
import os
import random
import signal
from contextlib import suppress
from pathlib import Path
from typing import Any

import httpx
import pytest
from page_client import DESK, choose, drag, features, opened, served, wait_for
from web_client import Client

from siteplan.read import read_site
from tests.web.killed_server import serving


def moved(site: dict[str, Any], by: float) -> dict[str, Any]:
    sent: dict[str, Any] = json.loads(json.dumps(site))
    (hydrant,) = (each for each in sent["features"] if each["id"] == "hydrant")
    hydrant["geometry"]["coordinates"][0] += by
    return sent


def test_an_earlier_version_is_brought_back_as_a_change_of_its_own(client: Client, folder: Path) -> None:
    path = folder / "site.geojson"
    began = path.read_bytes()
    asked = client.get("/api/site").json()
    revision = asked["revision"]
    for step in (1, 2):
        sent = {"site": moved(asked["site"], step * 1e-6), "revision": revision}
        revision = client.put("/api/site", json=sent).json()["revision"]
    second = path.read_bytes()
    versions = client.get("/api/versions").json()["versions"]
    assert [(each["number"], each["file"]) for each in versions] == [(2, "site.geojson"), (1, "site.geojson")]
    assert client.post("/api/versions", json={"number": 1}).json() == {"written": True}
    assert path.read_bytes() == began
    assert client.get("/api/versions").json()["versions"][0]["number"] == 3
    assert client.post("/api/versions", json={"number": 3}).status_code == 200
    assert path.read_bytes() == second


@pytest.mark.parametrize("number", [99, None, "1", "../1", [1]])
def test_a_version_that_is_not_kept_is_refused(client: Client, folder: Path, number: object) -> None:
    before = sorted(folder.iterdir())
    answer = client.post("/api/versions", json={"number": number})
    assert answer.status_code == 404
    assert sorted(folder.iterdir()) == before


def test_a_version_that_cannot_be_planned_with_is_refused(client: Client, folder: Path) -> None:
    (folder / ".history").mkdir()
    (folder / ".history" / "0001-site.toml").write_text("[site]\n")
    stood = (folder / "site.toml").read_bytes()
    answer = client.post("/api/versions", json={"number": 1})
    assert answer.status_code == 422
    assert "site.toml" in answer.json()["faults"][0]
    assert (folder / "site.toml").read_bytes() == stood


def test_the_state_tells_of_any_file(client: Client, folder: Path) -> None:
    first = client.get("/api/state").json()
    levels = folder / "levels.csv"
    levels.write_text(levels.read_text() + "\n")
    second = client.get("/api/state").json()
    assert second["revision"] == first["revision"]
    assert second["stamp"] != first["stamp"]


def test_files_saved_together_are_saved_together_or_not_at_all(folder: Path) -> None:
    from siteplan.web.site_store import NO_FILE, SiteStore

    store = SiteStore(folder)
    toml = store.text("site.toml")
    changes = {"site.toml": toml.replace("Cedar Bench", "Other").encode(), "more.csv": b"x"}
    assert not store.save_files(changes, {"site.toml": "another", "more.csv": NO_FILE})
    assert (folder / "site.toml").read_text() == toml
    assert not (folder / "more.csv").exists()
    changes["more.csv"] = None
    assert store.save_files(changes, {"site.toml": store.revision("site.toml"), "more.csv": NO_FILE})
    assert read_site(folder).name == "Other"


@pytest.mark.skipif(not hasattr(os, "fork"), reason="kills a forked process")
def test_killed_at_any_moment_the_last_saved_change_is_there(folder: Path) -> None:
    chance = random.Random(7)
    for _ in range(4):
        with serving(folder) as (address, running):
            home = address.partition("/?")[0]
            with httpx.Client(
                base_url=home, headers={"Origin": home}, follow_redirects=True, timeout=60
            ) as page:
                page.get(address)
                asked = page.get("/api/site").json()
                told = asked["site"]
                if chance.random() < 0.5:
                    page.post("/api/plan", json={"stage": "first look"})
                changes = chance.randrange(1, 5)
                for step in range(changes):
                    sent = {"site": moved(asked["site"], (step + 1) * 1e-6), "revision": asked["revision"]}
                    answer = page.put("/api/site", json=sent).json()
                    asked["revision"], told = answer["revision"], sent["site"]
                unanswered = {"site": moved(asked["site"], 9e-6), "revision": asked["revision"]}
                body = json.dumps(unanswered).encode()
                headers = {"Content-Type": "application/json"}
                with suppress(httpx.HTTPError):
                    page.put("/api/site", content=body, headers=headers, timeout=chance.uniform(0.001, 0.03))
                os.kill(running.pid, signal.SIGKILL)
        assert running.exitcode == -signal.SIGKILL
        stands = json.loads((folder / "site.geojson").read_text())
        assert stands["features"] in (told["features"], unanswered["site"]["features"])
        read_site(folder)


def test_two_windows_show_the_same_drawing(browser: Any, folder: Path) -> None:
    with (
        served(folder) as address,
        opened(browser, address, viewport=DESK) as one,
        opened(browser, address, viewport=DESK) as other,
    ):
        wait_for(one)
        wait_for(other)
        choose(one, "Yard hydrant: yard hydrant")
        drag(one, one.locator(".mark.chosen"), 25, 5)
        wait_for(one)
        other.locator("#problems").get_by_text("changed by another window").wait_for()
        other.get_by_role("button", name="Close").click()
        wait_for(other)
        choose(other, "Well: well")
        drag(other, other.locator(".mark.chosen"), 8, 8)
        wait_for(other)
        one.locator("#problems").get_by_text("changed by another window").wait_for()
        wait_for(one)
        assert one.locator("#problems").inner_text() != ""
        now = features(folder)
        one.get_by_text("Earlier versions", exact=True).click()
        one.get_by_role("button", name="Bring back the drawing").last.click()
        one.locator("#earlier-state").get_by_text("Brought back").wait_for()
        wait_for(one)
        assert features(folder) != now
