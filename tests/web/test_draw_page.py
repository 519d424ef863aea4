"""The drawing page in a real browser, against a served copy of the example: draw, see the verdicts follow, find it on disk."""

from __future__ import annotations

import signal
import subprocess
import sys
from pathlib import Path
from typing import Any

import httpx
import pytest
from page_client import (
    DESK,
    PHONE,
    PLANNED_MS,
    choose,
    drag,
    features,
    opened,
    planned_once,
    row,
    served,
    tab,
    verdicts,
    wait_for,
)
from web_client import KEY


def test_a_well_that_is_moved_is_saved_and_judged_anew(browser: Any, folder: Path) -> None:
    before = features(folder)
    with served(folder) as address, opened(browser, address, viewport=DESK) as page:
        wait_for(page)
        assert KEY not in page.url
        judged = verdicts(page)
        setback = row(page, "absorption area")
        choose(page, "Well: well")
        drag(page, page.locator(".mark.chosen"), 40, 30)
        wait_for(page)
        after = features(folder)
        assert after["well"]["geometry"] != before["well"]["geometry"]
        assert after["well"]["properties"] == before["well"]["properties"]
        assert {name: each for name, each in after.items() if name != "well"} == {
            name: each for name, each in before.items() if name != "well"
        }
        assert verdicts(page) != judged
        assert row(page, "absorption area") != setback
        page.get_by_role("button", name="Undo").click()
        wait_for(page)
        assert features(folder) == before
        assert verdicts(page) == judged
    assert len(list((folder / ".history").glob("*-site.geojson"))) == 2


def test_a_drawn_tree_is_in_the_file_and_its_form_writes_facts(browser: Any, folder: Path) -> None:
    evil = "<img src=x onerror=alert(1)>"
    with served(folder, planned_once()) as address, opened(browser, address, viewport=DESK) as page:
        wait_for(page)
        page.get_by_label("What", exact=True).select_option(label="tree")
        page.get_by_role("button", name="Draw on the map").click()
        box = page.locator("#map").bounding_box()
        page.mouse.move(box["x"] + box["width"] * 0.3, box["y"] + box["height"] * 0.8)
        page.mouse.click(box["x"] + box["width"] * 0.3, box["y"] + box["height"] * 0.8)
        wait_for(page)
        tree = features(folder)["tree-1"]
        assert tree["properties"] == {"kind": "tree", "name": "Tree", "method": "drawn"}
        assert all(len(str(number).partition(".")[2]) <= 9 for number in tree["geometry"]["coordinates"])
        page.get_by_label("Name", exact=True).fill(evil)
        page.keyboard.press("Tab")
        page.get_by_label("Trunk diameter").fill("14")
        page.keyboard.press("Tab")
        page.locator("#problems").get_by_text('found "14", which has no unit').wait_for()
        assert "trunk_diameter" not in features(folder)["tree-1"]["properties"]
        page.get_by_label("Trunk diameter").fill("14 in")
        page.keyboard.press("Tab")
        wait_for(page)
        assert page.locator("#problems").is_hidden()
        assert features(folder)["tree-1"]["properties"] == {
            "kind": "tree",
            "name": evil,
            "method": "drawn",
            "trunk_diameter": "14 in",
        }
        assert page.locator("img").count() == 0, "a name is never markup"
        page.get_by_role("button", name="Remove").click()
        wait_for(page)
        assert "tree-1" not in features(folder)


def test_corners_lines_and_typed_places(browser: Any, folder: Path) -> None:
    with served(folder, planned_once()) as address, opened(browser, address, viewport=DESK) as page:
        wait_for(page)
        choose(page, "Reserve area: reserve area")
        corners = page.locator(".handle.corner")
        assert corners.count() == 4
        was = features(folder)["reserve"]["geometry"]
        drag(page, corners.first, -12, 8)
        wait_for(page)
        now = features(folder)["reserve"]["geometry"]
        assert now != was
        assert now["coordinates"][0][1:4] == was["coordinates"][0][1:4], (
            "the other corners stay to the last digit"
        )
        page.get_by_text("Places as numbers").click()
        page.locator("#places").fill("\n".join(f"{x}, {y}" for x, y in was["coordinates"][0][:-1]))
        page.keyboard.press("Tab")
        wait_for(page)
        assert features(folder)["reserve"]["geometry"] == was
        page.get_by_role("button", name="Done").click()
        page.get_by_label("What", exact=True).select_option(label="walk")
        page.get_by_label("As", exact=True).select_option("line")
        page.get_by_role("button", name="Draw on the map").click()
        box = page.locator("#map").bounding_box()
        for right, down in ((0.15, 0.5), (0.25, 0.5), (0.25, 0.6)):
            page.mouse.click(box["x"] + box["width"] * right, box["y"] + box["height"] * down)
        assert "in all" in page.locator("#strip-words").inner_text()
        page.get_by_role("button", name="Take back").click()
        page.get_by_role("button", name="Finish", exact=True).click()
        wait_for(page)
        drawn = features(folder)["walk-1"]["geometry"]
        assert (drawn["type"], len(drawn["coordinates"])) == ("LineString", 2)


def test_a_file_changed_meanwhile_is_not_lost(browser: Any, folder: Path) -> None:
    path = folder / "site.geojson"
    with served(folder, planned_once()) as address, opened(browser, address, viewport=DESK) as page:
        wait_for(page)
        state = page.evaluate("fetch('/api/state').then(answer => answer.json())")
        page.route("**/api/state", lambda route: route.fulfill(json=state))
        theirs = path.read_text().replace('"Yard hydrant"', '"Their hydrant"')
        path.write_text(theirs)
        choose(page, "Well: well")
        drag(page, page.locator(".mark.chosen"), 10, 0)
        page.locator("#problems").get_by_text("changed by another program").wait_for()
        assert path.read_text() == theirs
        page.unroute("**/api/state")
        page.get_by_role("button", name="Take the file, drop my changes").click()
        wait_for(page)
        choose(page, "Their hydrant: yard hydrant")


def test_a_file_changed_by_hand_is_shown_when_planned_again(browser: Any, folder: Path) -> None:
    path = folder / "site.geojson"
    with served(folder) as address, opened(browser, address, viewport=DESK) as page:
        wait_for(page)
        path.write_text(path.read_text().replace('"Yard hydrant"', '"Their hydrant"'))
        tab(page, "Plan")
        page.get_by_role("button", name="Plan again").click()
        page.locator(".leaflet-tooltip").get_by_text("Their hydrant").wait_for(timeout=PLANNED_MS)
        wait_for(page)
        choose(page, "Their hydrant: yard hydrant")


def test_a_drawing_without_a_route_keeps_the_last_plan_marked(browser: Any, folder: Path) -> None:
    with served(folder) as address, opened(browser, address, viewport=DESK) as page:
        wait_for(page)
        judged = verdicts(page)
        tab(page, "Draw")
        page.get_by_label("What", exact=True).select_option(label="no-dig area")
        page.get_by_role("button", name="Put in the middle").click()
        page.get_by_text("Places as numbers").click()
        x, y = features(folder)["well"]["geometry"]["coordinates"]
        places = [(x - 1e-4, y - 1e-4), (x + 1e-4, y - 1e-4), (x + 1e-4, y + 1e-4), (x - 1e-4, y + 1e-4)]
        page.locator("#places").fill("\n".join(f"{east:.9f}, {north:.9f}" for east, north in places))
        page.keyboard.press("Tab")
        page.locator("#planned").get_by_text("No plan").wait_for(timeout=PLANNED_MS)
        assert "no route" in page.locator("#problems").inner_text()
        tab(page, "Plan")
        assert "this is the last one" in page.locator("#stale").inner_text()
        assert page.locator(".leaflet-pane.stale").count() == 2
        tab(page, "Draw")
        page.get_by_role("button", name="Remove").click()
        wait_for(page)
        assert page.locator("#problems").is_hidden()
        assert page.locator(".leaflet-pane.stale").count() == 0
        assert verdicts(page) == judged


def test_a_verdict_points_at_what_it_measured_and_tells_its_rule(browser: Any, folder: Path) -> None:
    with served(folder) as address, opened(browser, address, viewport=DESK) as page:
        wait_for(page)
        tab(page, "Plan")
        verdict = page.locator("tr.verdict").filter(has_text="absorption area").first
        verdict.hover()
        number = verdict.locator("td").first.inner_text()
        assert page.locator(".number.found").inner_text() == number
        verdict.get_by_role("button").click()
        told = verdict.locator("xpath=following-sibling::tr[1]").inner_text()
        assert "Rule:" in told and "How measured:" in told


def test_on_a_phone_the_map_stays_over_the_panel(browser: Any, folder: Path) -> None:
    before = features(folder)
    with (
        served(folder, planned_once()) as address,
        opened(browser, address, viewport=PHONE, has_touch=True) as page,
    ):
        wait_for(page)
        assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
        tab(page, "Plan")
        page.get_by_role("button", name="Plan again").scroll_into_view_if_needed()
        ground = page.locator("#ground").bounding_box()
        assert ground["y"] == pytest.approx(0, abs=1)
        assert 250 < ground["height"] < PHONE["height"] / 2
        choose(page, "Yard hydrant: yard hydrant")
        drag(page, page.locator(".mark.chosen"), 12, 12)
        wait_for(page)
        assert features(folder)["hydrant"]["geometry"] != before["hydrant"]["geometry"]


def test_with_the_keyboard_alone(browser: Any, folder: Path) -> None:
    with served(folder, planned_once()) as address, opened(browser, address, viewport=DESK) as page:
        wait_for(page)
        page.get_by_label("What", exact=True).focus()
        page.keyboard.type("tree")
        for _ in range(6):
            page.keyboard.press("Tab")
            if page.evaluate("document.activeElement.id") == "add-middle":
                break
        page.keyboard.press("Enter")
        wait_for(page)
        assert features(folder)["tree-1"]["geometry"]["type"] == "Point"
        page.get_by_text("Places as numbers").focus()
        page.keyboard.press("Enter")
        page.keyboard.press("Tab")
        page.keyboard.press("Control+A")
        page.keyboard.type("-112.0716, 46.5939")
        page.keyboard.press("Tab")
        wait_for(page)
        assert features(folder)["tree-1"]["geometry"]["coordinates"] == [-112.0716, 46.5939]
        page.keyboard.press("Escape")
        page.keyboard.press("Control+z")
        page.keyboard.press("Control+z")
        wait_for(page)
        assert "tree-1" not in features(folder)


def test_ctrl_c_ends_it_with_one_line(folder: Path) -> None:
    words = (
        "from pathlib import Path; from siteplan.web.serve import serve; serve(Path('.'), open_browser=False)"
    )
    command = [sys.executable, "-c", words]
    with subprocess.Popen(command, cwd=folder, stdout=-1, stderr=-1, text=True) as running:
        assert running.stdout is not None
        address = running.stdout.readline()
        assert "http://127.0.0.1:" in address and "?key=" in address
        running.stdout.readline()
        assert httpx.get(address.split(" at ")[1].strip(), timeout=60).status_code in (200, 303)
        running.send_signal(signal.SIGINT)
        out, err = running.communicate(timeout=30)
    assert out.count("\n") == 1 and out.startswith("Stopped")
    assert err == ""
    assert running.returncode == 0
