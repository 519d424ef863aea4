"""The drawing on disk: written whole or not at all, never unreadable, nothing of it lost."""

from __future__ import annotations

import json
import os
import shutil
from pathlib import Path
from typing import Any

import pytest

from siteplan.errors import InputFaults, SiteplanError
from siteplan.read import read_site
from siteplan.web import versions
from siteplan.web.site_store import NO_FILE, SiteStore


def moved(site: dict[str, Any], feature_id: str, by: float = 1e-5) -> dict[str, Any]:
    """Return the drawing with one point moved, as a browser sends it: whole numbers and 11.0 are one to it."""
    sent: dict[str, Any] = json.loads(json.dumps(site), parse_int=float)
    (feature,) = (each for each in sent["features"] if each["id"] == feature_id)
    feature["geometry"]["coordinates"][0] += by
    return sent


def stray(folder: Path) -> list[str]:
    return [path.name for path in folder.rglob("*") if path.name.startswith((".site", "trial-"))]


def test_a_change_is_written_and_the_version_before_it_kept(folder: Path) -> None:
    store = SiteStore(folder)
    before = (folder / "site.geojson").read_bytes()
    drawing = store.load()
    revision = store.save(moved(drawing.site, "hydrant"), drawing.revision)
    assert revision == store.load().revision != drawing.revision
    assert (folder / ".history" / "0001-site.geojson").read_bytes() == before
    hydrant = read_site(folder).feature("hydrant").shape
    was = next(each for each in drawing.site["features"] if each["id"] == "hydrant")["geometry"][
        "coordinates"
    ]
    assert hydrant.x == pytest.approx(was[0] + 1e-5, abs=1e-12)
    assert stray(folder) == []


def test_what_was_not_touched_stays_to_the_last_digit(folder: Path) -> None:
    """Heights, unknown members, whole numbers past 2^53 and 11.0: no browser carries these, the file keeps them."""
    path = folder / "site.geojson"
    site = json.loads(path.read_text())
    site["features"][1]["properties"] |= {
        "note_lot": 12345678901234567891,
        "note_count": 11.0,
    }
    site["features"][1]["geometry"]["coordinates"].append(1356)
    site["features"][1]["theirs"] = {"deep": [1, 2.0, None]}
    site["name"] = "kept"
    path.write_text(json.dumps(site))
    store = SiteStore(folder)
    drawing = store.load()
    store.save(moved(drawing.site, "hydrant"), drawing.revision)
    after = json.loads(path.read_text())
    assert after["name"] == "kept"
    assert json.dumps(after["features"][1]) == json.dumps(site["features"][1])
    assert [each for each in after["features"] if each["id"] != "hydrant"] == [
        each for each in site["features"] if each["id"] != "hydrant"
    ]


def test_true_and_1_are_not_the_same(folder: Path) -> None:
    store = SiteStore(folder)
    drawing = store.load()
    (tank,) = (each for each in drawing.site["features"] if each["id"] == "tank")
    assert tank["properties"]["watertight"] is True
    sent = moved(drawing.site, "hydrant")
    next(each for each in sent["features"] if each["id"] == "tank")["properties"]["watertight"] = 1
    with pytest.raises(InputFaults, match="watertight: found 1"):
        store.save(sent, drawing.revision)


def test_no_change_writes_nothing(folder: Path) -> None:
    store = SiteStore(folder)
    drawing = store.load()
    revision = store.save(moved(drawing.site, "hydrant"), drawing.revision)
    assert revision is not None
    stamp = (folder / "site.geojson").stat().st_mtime_ns
    assert store.save(json.loads(json.dumps(store.load().site), parse_int=float), revision) == revision
    assert (folder / "site.geojson").stat().st_mtime_ns == stamp
    assert len(list((folder / ".history").iterdir())) == 1


def test_a_file_changed_meanwhile_is_not_written_over(folder: Path) -> None:
    store = SiteStore(folder)
    drawing = store.load()
    path = folder / "site.geojson"
    path.write_text(path.read_text() + "\n")
    theirs = path.read_bytes()
    assert store.save(moved(drawing.site, "hydrant"), drawing.revision) is None
    assert path.read_bytes() == theirs
    assert not (folder / ".history").exists()


def test_a_drawing_with_a_fault_is_refused_with_all_its_faults(folder: Path) -> None:
    store = SiteStore(folder)
    drawing = store.load()
    before = (folder / "site.geojson").read_bytes()
    sent = moved(drawing.site, "hydrant")
    sent["features"][1]["properties"]["casing_depth"] = "62"
    sent["features"][2]["properties"]["footing_depth"] = "4 furlongs"
    with pytest.raises(InputFaults) as refused:
        store.save(sent, drawing.revision)
    text = str(refused.value)
    assert "casing_depth" in text and "footing_depth" in text
    assert (folder / "site.geojson").read_bytes() == before
    assert stray(folder) == []


def test_what_another_file_lacks_then_is_for_the_plan_to_say(folder: Path) -> None:
    """A line of site.toml ends at the hydrant: taking it out is saved, and the line is named when it is planned."""
    store = SiteStore(folder)
    drawing = store.load()
    sent = moved(drawing.site, "well")
    sent["features"] = [each for each in sent["features"] if each["id"] != "hydrant"]
    assert store.save(sent, drawing.revision) == store.revision()
    with pytest.raises(InputFaults, match=r"site\.toml:\d+: .*hydrant"):
        store.site()
    assert store.save(drawing.site, store.revision())
    assert store.site().feature("hydrant")


def test_a_folder_that_cannot_be_read_yet_takes_a_faultless_drawing(folder: Path) -> None:
    """Nothing is drawn yet: the well comes first, the house that site.toml names comes later."""
    (folder / "site.geojson").unlink()
    with pytest.raises(InputFaults):
        read_site(folder)
    store = SiteStore(folder)
    assert store.load().revision == NO_FILE
    well = {
        "type": "Feature",
        "id": "well",
        "properties": {"kind": "well", "name": "Well", "method": "taped"},
        "geometry": {"type": "Point", "coordinates": [-112.0714, 46.5947]},
    }
    drawn = {"type": "FeatureCollection", "features": [well]}
    assert store.save(drawn, NO_FILE) == store.revision()
    assert json.loads((folder / "site.geojson").read_text()) == drawn
    assert list((folder / ".history").iterdir()) == []


@pytest.mark.parametrize(
    "sent",
    [
        None,
        [],
        "x",
        {"type": "Feature"},
        {"type": "FeatureCollection"},
        {"type": "FeatureCollection", "features": [1]},
    ],
)
def test_what_is_no_collection_is_refused(folder: Path, sent: object) -> None:
    store = SiteStore(folder)
    with pytest.raises(InputFaults, match="FeatureCollection"):
        store.save(sent, store.revision())


def test_half_a_character_is_refused(folder: Path) -> None:
    store = SiteStore(folder)
    sent = moved(store.load().site, "hydrant")
    sent["features"][1]["properties"]["name"] = "\ud800"
    with pytest.raises(InputFaults):
        store.save(sent, store.revision())


@pytest.mark.parametrize(
    "content", [b"{", b"\xff", b'{"type": "FeatureCollection", "features": [NaN]}', b"[" * 100_000, b"3"]
)
def test_a_file_that_is_no_drawing_is_named_and_left_alone(folder: Path, content: bytes) -> None:
    (folder / "site.geojson").write_bytes(content)
    with pytest.raises(InputFaults, match=r"site\.geojson"):
        SiteStore(folder).load()
    assert (folder / "site.geojson").read_bytes() == content


def test_a_failing_disk_loses_nothing(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    store = SiteStore(folder)
    drawing = store.load()
    before = (folder / "site.geojson").read_bytes()

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(SiteplanError, match="No space left"):
        store.save(moved(drawing.site, "hydrant"), drawing.revision)
    assert (folder / "site.geojson").read_bytes() == before
    assert stray(folder) == []


def test_the_last_versions_are_kept(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(versions, "KEPT", 3)
    store = SiteStore(folder)
    earlier = []
    for _ in range(5):
        drawing = store.load()
        earlier.append((folder / "site.geojson").read_bytes())
        store.save(moved(drawing.site, "hydrant"), drawing.revision)
    kept = sorted((folder / ".history").iterdir())
    assert [path.name for path in kept] == ["0003-site.geojson", "0004-site.geojson", "0005-site.geojson"]
    assert [path.read_bytes() for path in kept] == earlier[2:]


def test_it_works_where_files_cannot_be_linked(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object) -> None:
        raise OSError(1, "not here")

    copied = []
    copy = shutil.copyfile
    monkeypatch.setattr(os, "link", refuse)
    monkeypatch.setattr(shutil, "copyfile", lambda source, to: (copied.append(to), copy(source, to)))
    store = SiteStore(folder)
    drawing = store.load()
    assert store.save(moved(drawing.site, "hydrant"), drawing.revision)
    assert copied
