"""``siteplan ties`` and plans of taped sites as a user runs them: the README's example, exit codes, what is printed."""

from __future__ import annotations

import re
import shutil
from math import hypot
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from siteplan.cli import main
from siteplan.document.write import DOCUMENTS, IN_DEGREES
from siteplan.site.catalogue import data_folder

ROOT = Path(__file__).resolve().parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")
TABLE, THINGS = re.findall(r"```(?:toml)?\n((?:point,from|\[grid\]).*?)```", README, re.DOTALL)
MORE = """
[[thing]]
id = "well"
kind = "well"
name = "Well"
points = ["W"]

[[thing]]
id = "parcel"
kind = "parcel"
points = ["P1", "P2", "P3", "P4"]
"""
POSTS = "".join(
    f"{post},H1,,,,H2,{along},{off},,,,,\n"
    for post, along, off in (
        ("P1", "0 ft", "60 ft right"),
        ("P2", "120 ft", "60 ft right"),
        ("P3", "120 ft", "150 ft left"),
        ("P4", "0 ft", "150 ft left"),
    )
)
SITE_TOML = """\
[site]
name = "Taped"
rules = "us/mt"
units = "ft-in"

[digging]
bucket = "24 in"
bedding = "4 in"
entered = false
soil = "sand"

[[line]]
id = "water"
carries = "water"
from = "well"
to = "house"
product = "pe-1-ips"
cover = "6 ft"

"""

pytestmark = pytest.mark.usefixtures("quick")


def run(*words: str | Path) -> Result:
    return CliRunner().invoke(main, [str(word) for word in words], catch_exceptions=False)


@pytest.fixture
def site(tmp_path: Path) -> Path:
    (tmp_path / "site.toml").write_text(SITE_TOML + THINGS + MORE)
    (tmp_path / "ties.csv").write_text(TABLE + POSTS)
    return tmp_path


def test_the_example_of_the_readme_fits(site: Path) -> None:
    result = run("ties", site)
    assert result.exit_code == 0, result.output
    assert re.search(r"W from H4 +51 ft 1 in +0 ft 2 in +", result.output)
    assert re.search(r"\n +W +", result.output)
    assert "The errors explain every misfit." in result.output


def test_a_tape_that_is_2_ft_out_is_named_and_exits_with_1(site: Path) -> None:
    (site / "ties.csv").write_text((TABLE + POSTS).replace("W,H3,51 ft 1 in", "W,H3,53 ft 1 in"))
    result = run("ties", site)
    assert result.exit_code == 1
    named = [line for line in result.output.splitlines() if line.startswith("ties.csv:")]
    assert len(named) == 1
    assert "W from H3" in named[0]
    assert "measure it again" in named[0]


def test_bad_input_is_one_line_and_exits_with_2(site: Path) -> None:
    (site / "ties.csv").write_text(TABLE + POSTS + "W,H9,51 ft,,,,,,,,,,\n")
    result = run("ties", site)
    assert result.exit_code == 2
    [line] = result.stderr.splitlines()
    assert line.startswith("ties.csv:")
    assert '"H9", which is not there' in line


def test_what_a_photo_was_moved_by_is_said(tmp_path: Path) -> None:
    """House traced 5 ft too far east on a photo, a surveyed well, four tapes between them that are right to 0.01 ft."""
    (tmp_path / "site.toml").write_text(
        SITE_TOML + '[grid]\nunit = "ft"\norigin = [-112.0, 46.0]\nnorth = "0 deg"\n'
    )
    corners = {"SW": (0, 0), "SE": (40, 0), "NE": (40, 28), "NW": (0, 28)}
    rows = ["id,kind,name,shape,x,y,method,outing", "well,well,Well,point,20,90,surveyed,"]
    rows += [f"house,building,House,area,{x + 5},{y},traced,photo" for x, y in corners.values()]
    rows += [
        f"parcel,parcel,,area,{x},{y},traced,photo" for x, y in ((-60, -60), (99, -60), (99, 150), (-60, 150))
    ]
    (tmp_path / "points.csv").write_text("\n".join(rows) + "\n")
    ties = [f"Well casing,House {side},{hypot(20 - x, 90 - y):.2f} ft" for side, (x, y) in corners.items()]
    (tmp_path / "ties.csv").write_text("\n".join(["point,from,distance", *ties]) + "\n")
    moved = re.search(r"photo: moved as a whole (\d) ft (\S+) in west", run("ties", tmp_path).output)
    assert moved is not None
    assert moved[1] in ("4", "5")


def test_a_site_without_tapes_says_so(tmp_path: Path) -> None:
    shutil.copytree(data_folder("example_sites") / "cedar-bench", tmp_path / "s")
    result = run("ties", tmp_path / "s")
    assert result.exit_code == 2
    assert "ties.csv: found no measurements" in result.stderr


def test_a_site_of_tapes_alone_is_planned_and_printed_without_degrees(site: Path) -> None:
    result = run("plan", site)
    assert result.exit_code == 0, result.output
    written = {path.name for path in (site / "plan").iterdir()}
    assert written == set(DOCUMENTS) - set(IN_DEGREES)
    assert "no longitude and latitude: map.html" in result.output
    assert re.search(r"tapes +worst ", result.output)
    rows = (site / "plan" / "stations.csv").read_text().splitlines()
    assert len(rows) > 2
    assert all(row.endswith(",,") for row in rows[1:])


def test_with_an_origin_it_is_on_the_map(site: Path) -> None:
    text = (site / "site.toml").read_text()
    placed = text.replace('unit = "ft"\n', 'unit = "ft"\norigin = [-112.0, 46.0]\nnorth = "0 deg"\n')
    (site / "site.toml").write_text(placed)
    result = run("plan", site)
    assert result.exit_code == 0, result.output
    assert {path.name for path in (site / "plan").iterdir()} == set(DOCUMENTS)


def test_a_site_of_tapes_alone_wants_a_grid(site: Path) -> None:
    text = (site / "site.toml").read_text()
    (site / "site.toml").write_text(text.replace(THINGS, THINGS[THINGS.index("[[thing]]") :]))
    result = run("ties", site)
    assert result.exit_code == 2
    assert "site.toml: found a site of taped points alone without a [grid]" in result.stderr
