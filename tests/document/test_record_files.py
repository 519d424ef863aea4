"""The files of a record: what they hold, that a later visit adds, and that nothing which stops the writing loses anything."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from siteplan.document import record_files
from siteplan.document.asbuilt import asbuilt_geojson, record_geojson
from siteplan.document.record_files import DATA, DERIVED, write_record
from siteplan.document.record_model import Record
from siteplan.document.record_words import record_table
from siteplan.errors import InputFaults, SiteplanError
from siteplan.read.asbuilt import read_asbuilt, read_measurements
from tests.document.test_geojson import assert_rfc7946
from tests.measure.test_record import BOULDER, row
from tests.record_scene import plan, record

LATER = row("water", "0+30", "0.5 ft left", "57 in", when="2026-12-03,08:15")


@pytest.fixture
def light(monkeypatch: pytest.MonkeyPatch) -> None:
    """Only the quick files: what is tested is the order of writing, not the sheets."""
    monkeypatch.setattr(
        record_files, "DERIVED", {name: DERIVED[name] for name in ("findings.json", "as-built.gpx")}
    )
    monkeypatch.setattr(record_files, "SHEETS", {})


def features(built: Record) -> dict[str, dict[str, Any]]:
    return {each["id"]: each["properties"] for each in assert_rfc7946(record_geojson(built))}


def test_the_record_is_rfc7946_and_marks_every_value(tmp_path: Path) -> None:
    rows = BOULDER.replace("2026-12-01,,TC,,,", "2026-12-01,,TC,T-88,PE 1 in,") + row(
        "power", "0+50", "", "30 in"
    )
    built = features(record(tmp_path, rows))
    water, power, barn = (built[name] for name in ("water", "power", "barn"))
    assert water["standing"] == {
        "position": "measured", "cover": "planned", "material": "confirmed", "size": "planned",
    }  # fmt: skip
    assert (water["date"], water["crew"], water["ticket_number"]) == ("2026-12-01", "TC", "T-88")
    assert water["material_confirmed"] == "PE 1 in"
    assert (power["standing"]["position"], power["standing"]["cover"]) == ("planned", "measured in part")
    assert set(barn["standing"].values()) == {"planned"}
    assert {cover["standing"] for cover in power["covers"]} == {"planned", "measured"}
    themes = [each["theme"] for each in built.values()]
    assert themes.count("corner") == len(plan().works.corners)
    points = [each for each in built.values() if each["theme"] == "point"]
    assert sum(each["standing"]["position"] == "measured" for each in points) == 6
    assert {each["what"] for each in points if "cut" in each["standing"]} == {
        "tee, branch A", "crossing 1, Gas", "tee, Hydrant", "tee on Main", "Barn wall",
    }  # fmt: skip


def test_measurements_come_back_as_they_were(tmp_path: Path) -> None:
    built = record(tmp_path, BOULDER + LATER)
    (tmp_path / DATA).write_text(record_geojson(built), encoding="utf-8")
    back = {each.id: each for each in read_measurements(tmp_path / DATA)}
    assert back == {point.measurement.id: point.measurement for point in built.built.points}


def test_same_input_same_bytes_and_no_history(tmp_path: Path) -> None:
    out = tmp_path / "record"
    write_record(record(tmp_path, BOULDER), out)
    before = {path.name: path.read_bytes() for path in out.iterdir()}
    write_record(record(tmp_path, BOULDER, read_measurements(out / DATA)), out)
    assert {path.name: path.read_bytes() for path in out.iterdir()} == before
    assert {DATA, *DERIVED} <= before.keys()


def test_a_later_visit_keeps_the_former_file(tmp_path: Path, light: None) -> None:
    out = tmp_path / "record"
    write_record(record(tmp_path, BOULDER), out)
    first = (out / DATA).read_bytes()
    write_record(record(tmp_path, LATER, read_measurements(out / DATA)), out)
    assert (out / "history" / "asbuilt-1.geojson").read_bytes() == first
    assert len(read_measurements(out / DATA)) == 7
    replaced = row("water", "1+50", "1 ft left", "56 in", what="bend B1", when="2026-12-04,")
    write_record(record(tmp_path, replaced, read_measurements(out / DATA)), out)
    assert sorted(path.name for path in (out / "history").iterdir()) == [
        "asbuilt-1.geojson",
        "asbuilt-2.geojson",
    ]
    data = json.loads((out / DATA).read_text(encoding="utf-8"))
    gone = [each for each in data["features"] if each["properties"].get("superseded")]
    assert [each["properties"]["what"] for each in gone] == ["bend B1"]
    assert [visit["date"] for visit in data["visits"]] == ["2026-12-01", "2026-12-03", "2026-12-04"]


def test_a_record_that_cannot_be_read_is_not_written_over(tmp_path: Path) -> None:
    for text in ("", "{", '{"type": "FeatureCollection", "features": []}', '{"type": "Feature"}'):
        (tmp_path / DATA).write_text(text, encoding="utf-8")
        with pytest.raises(InputFaults) as caught:
            read_measurements(tmp_path / DATA)
        assert len(caught.value.faults) == 1
    whole = json.loads(asbuilt_geojson(plan()))
    for spoil in ({"cut_m": "deep"}, {"ties": [{"from": 3}]}, {"cover_m": -1}, {"date": "soon"}, {"row": 5}):
        point = next(each for each in whole["features"] if each["properties"]["theme"] == "point")
        point["properties"].update(spoil)
        (tmp_path / DATA).write_text(json.dumps(whole), encoding="utf-8")
        with pytest.raises(InputFaults, match=r"found .* expected what siteplan wrote there"):
            read_asbuilt(tmp_path / DATA)


def test_a_folder_that_cannot_be_written(tmp_path: Path, light: None) -> None:
    (tmp_path / "record").write_text("a file", encoding="utf-8")
    with pytest.raises(SiteplanError):
        write_record(record(tmp_path, BOULDER), tmp_path / "record")
    assert (tmp_path / "record").read_text(encoding="utf-8") == "a file"


STEPS: tuple[tuple[str, str], ...] = (
    ("os", "fsync"),
    ("pathlib.Path", "replace"),
    ("tempfile", "mkstemp"),
    ("os", "fdopen"),
)


class Stopper:
    """Calls through to a function of the system until its turn has come; then it stops the writing for good."""

    def __init__(self, after: int, stop: Callable[[], None]) -> None:
        self.left, self.stop = after, stop

    def wrap(self, original: Callable[..., Any]) -> Callable[..., Any]:
        def called(*args: Any, **kwargs: Any) -> Any:
            if self.left == 0:
                self.left -= 1
                self.stop()
            self.left -= 1
            return original(*args, **kwargs)

        return called


def stopped(
    out: Path, second: Record, after: int, stop: Callable[[], None], patch: pytest.MonkeyPatch
) -> bool:
    """Write the second visit and stop at the so-maniest step of any sort; False if it was done by then."""
    stopper = Stopper(after, stop)
    with patch.context() as steps:
        for owner, name in STEPS:
            module = {"os": os, "pathlib.Path": Path, "tempfile": __import__("tempfile")}[owner]
            steps.setattr(module, name, stopper.wrap(getattr(module, name)))
        try:
            write_record(second, out)
        except (OSError, SiteplanError, KeyboardInterrupt):
            return True
    return False


_AGAIN: dict[bytes, Record] = {}


def again(folder: Path, kept: Path) -> Record:
    """Both visits held against the plan by the next run; the same kept file gives the same record."""
    content = kept.read_bytes()
    if content not in _AGAIN:
        _AGAIN[content] = record(folder, BOULDER + LATER, read_measurements(kept))
    return _AGAIN[content]


def assert_mended(folder: Path, out: Path, first: bytes, whole: dict[str, bytes]) -> None:
    """After whatever stopped it every file is whole and no visit lost; the next run brings all of them to where they would be."""
    known = {each.id for each in read_measurements(out / DATA)}
    assert len(known) in (6, 7)
    history = list((out / "history").glob("*.geojson"))
    assert all(path.read_bytes() == first for path in history)
    if len(known) == 7:
        assert len(history) == 1
    assert (out / DATA).read_bytes() in (first, whole[DATA])
    write_record(again(folder, out / DATA), out)
    assert files(out) == whole


def files(out: Path) -> dict[str, bytes]:
    return {
        str(path.relative_to(out)): path.read_bytes() for path in sorted(out.rglob("*")) if path.is_file()
    }


def test_stopped_at_any_step_nothing_is_lost_and_the_next_run_mends_it(
    tmp_path: Path, light: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken_disk() -> None:
        raise OSError(28, "No space left on device")

    def interrupted() -> None:
        raise KeyboardInterrupt

    one = record(tmp_path, BOULDER)
    write_record(one, tmp_path / "whole")
    first = (tmp_path / "whole" / DATA).read_bytes()
    second = record(tmp_path, BOULDER + LATER, read_measurements(tmp_path / "whole" / DATA))
    write_record(second, tmp_path / "whole")
    whole = files(tmp_path / "whole")
    steps = 0
    for stop in (broken_disk, interrupted):
        for after in range(200):
            out = tmp_path / f"{stop.__name__}-{after}"
            write_record(one, out)
            if not stopped(out, second, after, stop, monkeypatch):
                break
            steps += 1
            assert not list(out.rglob("*.unfinished"))
            assert_mended(tmp_path, out, first, whole)
        else:
            pytest.fail("it never ended")
    assert steps > 30


KILLED = """
import os, signal, sys
from pathlib import Path
from pytest import MonkeyPatch
from siteplan.document import record_files
from tests.document.test_record_files import *
record_files.DERIVED = {name: DERIVED[name] for name in ("findings.json", "as-built.gpx")}
record_files.SHEETS = {}
base = Path(sys.argv[1])
one = record(base, BOULDER)
write_record(one, base / "whole")
first = (base / "whole" / DATA).read_bytes()
second = record(base, BOULDER + LATER, read_measurements(base / "whole" / DATA))
write_record(second, base / "whole")
whole = files(base / "whole")
for after in range(200):
    out = base / f"killed-{after}"
    write_record(one, out)
    child = os.fork()
    if child == 0:
        done = not stopped(out, second, after, lambda: os.kill(os.getpid(), signal.SIGKILL), MonkeyPatch())
        os._exit(0 if done else 1)
    status = os.waitpid(child, 0)[1]
    if status == 0:
        break
    assert os.WTERMSIG(status) == signal.SIGKILL
    assert_mended(base, out, first, whole)
print(after)
"""


@pytest.mark.skipif(not hasattr(os, "fork"), reason="kills a forked process")
def test_killed_at_any_step_nothing_is_lost_and_the_next_run_mends_it(tmp_path: Path) -> None:
    assert signal.SIGKILL
    done = subprocess.run(
        [sys.executable, "-c", KILLED, str(tmp_path)],
        capture_output=True, text=True, check=False, cwd=Path(__file__).parents[2],
    )  # fmt: skip
    assert done.returncode == 0, done.stderr[-2000:]
    assert int(done.stdout) > 15


def test_what_the_terminal_says(tmp_path: Path) -> None:
    rows = BOULDER + row("water", "1+20", "", "50 in") + row("water", "1+30", "", "50 in")
    text = record_table(record(tmp_path, rows))
    lines = text.splitlines()
    assert "  Main 1+00.0: 3.0 ft left of plan" in lines
    assert "  Main 1+20.0: place not measured, cover 50 in against 54 in: SHORT" in lines
    assert "power line: not measured, as planned" in lines
    changed = lines[lines.index("Verdicts that differ from the plan's:") + 1 :]
    assert changed[0] == "  1. water line: cover, yard: clear -> SHORT, 50 in against 54 in"
    assert any(
        line.startswith("  2. water line to Tank: clear -> too close to call, 10.2 ft") for line in changed
    )
    assert "Cover short: water line: cover, yard, Main 1+20.0 to 1+30.0, least 50 in against 54 in" in lines


def test_no_change_is_said(tmp_path: Path) -> None:
    assert "No verdict differs from the plan's." in record_table(
        record(tmp_path, row("water", "0+50", "", "60 in"))
    )
