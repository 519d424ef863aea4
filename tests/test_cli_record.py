"""``siteplan record`` and ``siteplan find`` at the terminal: exit codes, one line a fault, nothing half-written."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from siteplan.cli import main
from siteplan.read.asbuilt import read_measurements
from tests.measure.test_record import BOULDER, row
from tests.record_scene import COLUMNS, plan


def run(*words: object) -> Result:
    return CliRunner().invoke(main, [str(word) for word in words])


@pytest.fixture
def site(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder whose plan is the scene: the router is tested elsewhere."""
    monkeypatch.setattr("siteplan.record.plan_folder", lambda folder: plan())
    return tmp_path


def shots(folder: Path, rows: str, columns: str = COLUMNS) -> None:
    (folder / "shots.csv").write_text(columns + rows, encoding="utf-8")


def test_nothing_short_is_0_and_too_close_is_said(site: Path) -> None:
    shots(site, BOULDER)
    result = run("record", site)
    assert result.exit_code == 0, result.output
    assert "water line to Tank: clear -> too close to call" in result.output
    names = {path.name for path in (site / "record").iterdir()}
    assert {"asbuilt.geojson", "as-built.gpx", "as-built.kml", "as-built.gpkg", "findings.json"} <= names
    findings = json.loads((site / "record" / "findings.json").read_text(encoding="utf-8"))["findings"]
    assert [each["verdict"] for each in findings if each["to"] == "tank"] == ["too close to call", "clear"]


def test_anything_short_is_1(site: Path) -> None:
    shots(site, BOULDER + row("water", "0+50", "", "40 in"))
    assert run("record", site).exit_code == 1


def test_bad_rows_are_2_and_leave_the_record_as_it_was(site: Path) -> None:
    shots(site, BOULDER)
    run("record", site)
    before = {path: path.read_bytes() for path in (site / "record").rglob("*") if path.is_file()}
    shots(site, row("water", "9+00") + row("watr", "0+10"))
    result = run("record", site)
    assert result.exit_code == 2
    assert [line.split(" ")[0] for line in result.stderr.splitlines()] == ["shots.csv:3:"]
    shots(site, row("water", "9+00") + row("barn", "0+10", reach="B"))
    result = run("record", site)
    assert [line.split(" ")[0] for line in result.stderr.splitlines()] == ["shots.csv:2:", "shots.csv:3:"]
    assert {path: path.read_bytes() for path in (site / "record").rglob("*") if path.is_file()} == before


def test_a_spoilt_record_is_2_and_is_left_alone(site: Path) -> None:
    shots(site, BOULDER)
    (site / "record").mkdir()
    (site / "record" / "asbuilt.geojson").write_text("{", encoding="utf-8")
    result = run("record", site)
    assert result.exit_code == 2
    assert len(result.stderr.splitlines()) == 1
    assert result.stderr.startswith("asbuilt.geojson")
    assert (site / "record" / "asbuilt.geojson").read_text(encoding="utf-8") == "{"
    assert [path.name for path in (site / "record").iterdir()] == ["asbuilt.geojson"]


def test_a_second_visit_and_the_same_again(site: Path) -> None:
    shots(site, BOULDER)
    run("record", site)
    shots(site, row("water", "0+30", "0.5 ft left", when="2026-12-03,"))
    run("record", site)
    after = (site / "record" / "asbuilt.geojson").read_bytes()
    run("record", site)
    assert (site / "record" / "asbuilt.geojson").read_bytes() == after
    assert len(read_measurements(site / "record" / "asbuilt.geojson")) == 7
    assert [path.name for path in (site / "record" / "history").iterdir()] == ["asbuilt-1.geojson"]


def test_find_needs_the_file_alone(site: Path) -> None:
    shots(site, BOULDER)
    run("record", site)
    alone = site / "elsewhere.geojson"
    (site / "record" / "asbuilt.geojson").rename(alone)
    listed = run("find", alone)
    assert listed.exit_code == 0
    assert "bend B1" in listed.output
    found = run("find", alone, "bend", "B1")
    assert found.exit_code == 0
    assert found.output.count("  tape ") == 2


@pytest.mark.parametrize(
    "text",
    ["", "[]", "{", '{"type": "FeatureCollection", "features": []}', "\x00", '{"type": "Point"}', "x" * 10],
)
def test_find_in_a_file_that_is_no_record(tmp_path: Path, text: str) -> None:
    (tmp_path / "a.geojson").write_text(text, encoding="utf-8")
    result = run("find", tmp_path / "a.geojson", "B1")
    assert result.exit_code == 2
    assert len(result.stderr.splitlines()) == 1
    assert "a.geojson" in result.stderr
    assert not result.stdout


def test_find_without_a_file(tmp_path: Path) -> None:
    for path in (tmp_path / "none.geojson", tmp_path):
        result = run("find", path)
        assert (result.exit_code, len(result.stderr.splitlines())) == (2, 1)
    assert "found no such file" in run("find", tmp_path / "none.geojson").stderr
