"""``plan --call``: the dig dates on the terminal and on the sheets; a bad time is one line."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from pypdf import PdfReader

from siteplan.cli import main
from siteplan.document.write import SHEETS
from siteplan.site.catalogue import data_folder

CEDAR = data_folder("example_sites") / "cedar-bench"

pytestmark = pytest.mark.usefixtures("quick")


@pytest.fixture(autouse=True)
def few_sheets(monkeypatch: pytest.MonkeyPatch) -> None:
    """Print the two sheets alone that have the dates."""
    two = ("route-sheet.pdf", "locate-request.pdf")
    monkeypatch.setattr("siteplan.document.write.SHEETS", {name: SHEETS[name] for name in two})


def run(*words: str | Path) -> Result:
    return CliRunner().invoke(main, [str(word) for word in words], catch_exceptions=False)


def said(path: Path) -> str:
    return " ".join(" ".join(page.extract_text().split()) for page in PdfReader(path).pages)


def test_dates_of_a_montana_site_print(tmp_path: Path) -> None:
    result = run("plan", CEDAR, "--out", tmp_path, "--call", "2026-11-25 15:00")
    assert result.exit_code == 0, result.output
    assert "Earliest start Tue 1 Dec 2026." in result.output
    assert "Thu 26 Nov 2026, Thanksgiving" in result.output
    assert "Confirm with the one-call centre" in result.output
    request = said(tmp_path / "locate-request.pdf")
    assert "Tue 1 Dec 2026, if the ticket says no later" in request
    assert "renew by Tue 22 Dec 2026; expires at the end of Fri 25 Dec 2026" in request
    route = said(tmp_path / "route-sheet.pdf")
    assert "Tue 1 Dec" in route
    assert "Fri 25 Dec" in route
    assert "Worked out from a call on Wed 25 Nov 2026 15:00." in route
    assert "Confirm with the one-call centre" in route


def test_without_a_call_the_dates_are_blanks(tmp_path: Path) -> None:
    result = run("plan", CEDAR, "--out", tmp_path)
    assert result.exit_code == 0, result.output
    assert "Earliest start" not in result.output
    assert "Worked out from a call" not in said(tmp_path / "route-sheet.pdf")
    assert "Dates from the time of the call" not in said(tmp_path / "locate-request.pdf")


def test_bad_time_of_call_is_one_line_and_nothing_is_written(tmp_path: Path) -> None:
    result = run("plan", CEDAR, "--out", tmp_path / "plan", "--call", "next Tuesday")
    assert result.exit_code == 2
    (line,) = result.stderr.splitlines()
    assert '"next Tuesday"' in line
    assert "2026-11-25 15:00" in line
    assert not (tmp_path / "plan").exists()
