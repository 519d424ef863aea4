"""What the drawing page asks and is told."""

from __future__ import annotations

import json
import threading
from pathlib import Path

import pytest
from shapely import box
from web_client import KEY, PORT, Client, client_for, quick_plan

from siteplan.document.model import Plan
from siteplan.document.write import DOCUMENTS
from siteplan.errors import Fault, InputFaults, NoRoute, SiteplanError
from siteplan.measure.prices import total
from siteplan.site.catalogue import kinds
from siteplan.units import money
from siteplan.web.app import check_folder
from siteplan.web.serve import bound, serve


def test_the_site_comes_with_what_may_be_drawn(client: Client, folder: Path) -> None:
    told = client.get("/api/site").json()
    assert told["site"] == json.loads((folder / "site.geojson").read_text())
    assert (told["name"], told["units"]) == ("Cedar Bench", "ft")
    offered = [kind["id"] for group in told["catalogue"]["groups"] for kind in group["kinds"]]
    assert sorted(offered) == sorted(kinds())
    assert told["catalogue"]["groups"][0]["kinds"][0]["facts"]["casing_depth"] == "length"
    assert "taped" in [method["id"] for method in told["words"]["methods"]]


def test_a_site_that_cannot_be_read_can_still_be_drawn_on(client: Client, folder: Path) -> None:
    (folder / "site.toml").write_text("[site]\n")
    told = client.get("/api/site")
    assert told.status_code == 200
    assert told.json()["name"] == "site"


def test_a_drawing_that_is_no_json_is_a_fault(client: Client, folder: Path) -> None:
    (folder / "site.geojson").write_text("{\n{")
    answer = client.get("/api/site")
    assert answer.status_code == 422
    assert answer.json()["faults"][0].startswith("site.geojson:2:")


def test_saving_twice_from_one_version_is_a_conflict(client: Client) -> None:
    asked = client.get("/api/site").json()
    asked["site"]["features"][4]["geometry"]["coordinates"][0] += 1e-6
    first = client.put("/api/site", json={"site": asked["site"], "revision": asked["revision"]})
    assert first.status_code == 200
    asked["site"]["features"][4]["geometry"]["coordinates"][0] += 1e-6
    second = client.put("/api/site", json={"site": asked["site"], "revision": asked["revision"]})
    assert second.status_code == 409
    third = client.put("/api/site", json={"site": asked["site"], "revision": first.json()["revision"]})
    assert third.status_code == 200


def test_a_refused_drawing_comes_back_as_lines(client: Client) -> None:
    asked = client.get("/api/site").json()
    asked["site"]["features"][1]["properties"]["casing_depth"] = "62"
    answer = client.put("/api/site", json={"site": asked["site"], "revision": asked["revision"]})
    assert answer.status_code == 422
    assert "casing_depth" in answer.json()["faults"][0]


def test_faults_and_closed_ways_come_as_lines(folder: Path) -> None:
    def faulty(_: Path) -> Plan:
        raise InputFaults([Fault(file="a.csv", line=n, found="x", expected="y") for n in (1, 2)])

    def closed(_: Path) -> Plan:
        raise NoRoute("the parcel\nis too narrow", blockers=("parcel",), where=box(0, 0, 1, 1))

    answer = client_for(folder, faulty).post("/api/plan", json={})
    assert answer.status_code == 422
    assert answer.json()["faults"] == ["a.csv:1: found x, expected y", "a.csv:2: found x, expected y"]
    answer = client_for(folder, closed).post("/api/plan", json={})
    assert answer.json()["faults"] == ["no route: the parcel is too narrow"]
    assert answer.json()["blocked"]["features"][0]["geometry"]["type"] == "Polygon"


def test_a_slow_plan_does_not_hold_up_the_saving(folder: Path) -> None:
    begun, let_go = threading.Event(), threading.Event()

    def slow(_: Path) -> Plan:
        begun.set()
        assert let_go.wait(20)
        raise SiteplanError("done")

    client, other = client_for(folder, slow), client_for(folder)
    answers = []
    asking = threading.Thread(target=lambda: answers.append(client.post("/api/plan", json={})))
    asking.start()
    assert begun.wait(20)
    asked = other.get("/api/site").json()
    asked["site"]["features"][4]["geometry"]["coordinates"][0] += 1e-6
    saved = other.put("/api/site", json={"site": asked["site"], "revision": asked["revision"]})
    assert saved.status_code == 200
    assert not answers
    let_go.set()
    asking.join(20)
    assert answers[0].json()["faults"] == ["done"]


def test_a_plan_in_words_and_shapes(folder: Path) -> None:
    told = client_for(folder, quick_plan).post("/api/plan", json={}).json()
    plan = quick_plan(folder)
    assert told["revision"] == client_for(folder).get("/api/site").json()["revision"]
    assert [finding["number"] for finding in told["findings"]] == [
        finding.number for finding in plan.findings
    ]
    assert [finding["verdict"] for finding in told["findings"]] == [
        finding.verdict for finding in plan.findings
    ]
    assert all(finding["rule"] is None or finding["rule"]["text"] for finding in told["findings"])
    numbers = dict(told["numbers"])
    assert float(numbers["Trench"].removesuffix(" ft")) == pytest.approx(
        plan.layout.length_m / 0.3048, abs=0.051
    )
    assert float(numbers["Dirt in the bank"].removesuffix(" CY")) == pytest.approx(
        plan.works.volumes.bank_m3 / 0.9144**3, abs=0.051
    )
    assert told["price"]["likely"] == money(total(plan.works.prices)[1], plan.site.rates.currency)
    themes = {shape["properties"]["theme"] for shape in told["shapes"]["features"]}
    assert {"site", "trench", "finding", "kept off"} <= themes


def test_the_sheets_are_made_into_the_folder_and_handed_out(folder: Path) -> None:
    client = client_for(folder, quick_plan)
    assert client.get("/api/documents/route-sheet.pdf").status_code == 404
    made = client.post("/api/documents", json={}).json()["documents"]
    assert sorted(made) == sorted(DOCUMENTS)
    for name in made:
        assert client.get(f"/api/documents/{name}").content == (folder / "plan" / name).read_bytes()


def test_a_folder_without_site_toml_is_said_in_one_line(tmp_path: Path) -> None:
    with pytest.raises(
        InputFaults, match=r"site\.toml: found no such file, expected a site folder"
    ) as refused:
        serve(tmp_path, open_browser=False)
    assert len(refused.value.faults) == 1
    with pytest.raises(InputFaults):
        check_folder(tmp_path / "nowhere")


def test_it_listens_on_the_loopback_only_and_names_a_taken_port() -> None:
    with bound(0) as listening:
        address, port = listening.getsockname()
        assert address == "127.0.0.1"
        with pytest.raises(SiteplanError, match=str(port)):
            bound(port)
    with pytest.raises(SiteplanError, match="70000"):
        bound(70000)


def test_the_key_is_not_in_what_is_served(client: Client) -> None:
    assert PORT
    assert KEY not in client.get("/").text + client.get("/api/site").text


def test_a_site_in_a_tape_grid_is_named_as_such(folder: Path) -> None:
    """The page draws in degrees, so it must not offer to draw there."""
    assert client_for(folder).get("/api/site").json()["grid"] is False
    (folder / "site.geojson").unlink()
    (folder / "levels.csv").unlink()
    corners = [(-50, -50), (200, -50), (200, 200), (-50, 200), (-50, -50)]
    ring = ", ".join(f"[{x}, {y}]" for x, y in corners)
    house = "[100, 100], [140, 100], [140, 130], [100, 130], [100, 100]"
    area = '{{"type": "Feature", "id": "{0}", "properties": {{"kind": "{1}", "method": "taped"}}, "geometry": {2}}}'
    drawn = [
        area.format("parcel", "parcel", f'{{"type": "Polygon", "coordinates": [[{ring}]]}}'),
        area.format("house", "building", f'{{"type": "Polygon", "coordinates": [[{house}]]}}'),
        area.format("well", "well", '{"type": "Point", "coordinates": [0, 0]}'),
    ]
    (folder / "taped.geojson").write_text(
        f'{{"type": "FeatureCollection", "features": [{", ".join(drawn)}]}}'
    )
    toml = (folder / "site.toml").read_text()
    lines = "[[line]]" + toml.split("[[line]]")[1]
    grid = '[grid]\nunit = "ft"\norigin = [-112.07, 46.59]\nnorth = "10 deg"\n\n[[file]]\npath = "taped.geojson"\nunit = "ft"\n\n'
    (folder / "site.toml").write_text(toml.split("[[line]]")[0] + grid + lines)
    assert client_for(folder).get("/api/site").json()["grid"] is True
    told = client_for(folder, quick_plan).post("/api/plan", json={}).json()
    (well,) = (shape for shape in told["shapes"]["features"] if shape["id"] == "well")
    assert well["geometry"]["coordinates"] == [-112.07, 46.59]
