"""The commands as a user runs them: exit codes, one line for each fault, nothing half-written."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from pathlib import Path

import pypdf
import pytest
from click.testing import CliRunner, Result

from siteplan.cli import main
from siteplan.document.write import DOCUMENTS, SHEETS
from siteplan.site.catalogue import data_folder
from tests.plans import forget

CEDAR = data_folder("example_sites") / "cedar-bench"

pytestmark = pytest.mark.usefixtures("quick")


def run(*words: str | Path) -> Result:
    return CliRunner().invoke(main, [str(word) for word in words], catch_exceptions=False)


@pytest.fixture
def site(tmp_path: Path) -> Path:
    return Path(shutil.copytree(CEDAR, tmp_path / "site", ignore=shutil.ignore_patterns("plan")))


@pytest.fixture
def no_sheets(monkeypatch: pytest.MonkeyPatch) -> None:
    """Leave out the printed sheets: for tests that look at none."""
    monkeypatch.setattr("siteplan.document.write.SHEETS", {})


def edit(path: Path, old: str, new: str) -> None:
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new), encoding="utf-8")


def test_plan_writes_every_file_and_says_what_to_open(site: Path) -> None:
    result = run("plan", site)
    assert result.exit_code == 0, result.output
    assert {path.name for path in (site / "plan").iterdir()} == set(DOCUMENTS)
    assert "map.html" in result.output
    assert "not a permit" in result.output


def test_same_input_same_bytes(site: Path, tmp_path: Path) -> None:
    for name in ("one", "two"):
        forget()
        assert run("plan", site, "--out", tmp_path / name).exit_code == 0
    for name in DOCUMENTS:
        assert (tmp_path / "one" / name).read_bytes() == (tmp_path / "two" / name).read_bytes(), name


@pytest.mark.parametrize(("paper", "inches"), [("letter", 8.5), ("tabloid", 11.0), ("A4", 8.268)])
def test_sheets_on_the_paper_asked_for(
    site: Path, paper: str, inches: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    three = ("route-sheet.pdf", "setback-review.pdf", "locate-request.pdf")
    monkeypatch.setattr("siteplan.document.write.SHEETS", {name: SHEETS[name] for name in three})
    assert run("plan", site, "--paper", paper).exit_code == 0
    for name in three:
        box = pypdf.PdfReader(site / "plan" / name).pages[0].mediabox
        assert min(float(box.width), float(box.height)) / 72 == pytest.approx(inches, abs=0.01)


@pytest.mark.usefixtures("no_sheets")
def test_demo_runs_anywhere(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    result = run("demo")
    assert result.exit_code == 0, result.output
    assert (tmp_path / "siteplan-demo" / "map.html").is_file()


def test_new_plans_as_it_stands(tmp_path: Path) -> None:
    assert run("new", tmp_path / "mine").exit_code == 0
    result = run("plan", tmp_path / "mine")
    assert result.exit_code == 0, result.output
    again = run("new", tmp_path / "mine")
    assert again.exit_code == 2
    assert len(again.stderr.splitlines()) == 1


def test_review_says_the_worst_verdict(site: Path) -> None:
    close = run("review", site)
    assert close.exit_code == 3
    assert "too close to call" in close.output


def test_review_under_other_rules_side_by_side(site: Path) -> None:
    result = run("review", site, "--under", "us/mt/helena", "--under", "us/mt/missoula")
    assert result.exit_code == 0, result.output
    lines = [line.strip() for line in result.output.splitlines()]
    head = next(line for line in lines if line.startswith("from - to"))
    assert head.split() == ["from", "-", "to", "us/mt/helena", "us/mt/missoula"]
    (field,) = (line for line in lines if line.startswith("Well to Absorption area"))
    assert field.count("100 ft: too close to") == 2
    (cover,) = (line for line in lines if line.startswith("Water to house: cover, yard"))
    assert cover.index("54 in") < cover.index("48 in")
    unknown = run("review", site, "--under", "us/mt/helana")
    assert unknown.exit_code == 2
    assert "us/mt/helena" in unknown.stderr


@pytest.mark.usefixtures("no_sheets")
def test_a_short_setback_gives_exit_code_1(site: Path) -> None:
    data = json.loads((site / "site.geojson").read_text(encoding="utf-8"))
    well = next(each for each in data["features"] if each["id"] == "well")
    well["geometry"]["coordinates"] = [-112.07128, 46.59454]
    (site / "site.geojson").write_text(json.dumps(data), encoding="utf-8")
    result = run("plan", site)
    assert result.exit_code == 1, result.output
    assert "short: Well to Absorption area" in result.output
    assert (site / "plan" / "map.html").is_file()


def test_no_route_says_what_blocks_and_draws_it(site: Path) -> None:
    data = json.loads((site / "site.geojson").read_text(encoding="utf-8"))
    fence = {
        "type": "Feature",
        "id": "cliff",
        "properties": {"kind": "no_dig", "name": "Cliff", "method": "taped"},
        "geometry": {
            "type": "Polygon",
            "coordinates": [
                [
                    [-112.0719, 46.5944],
                    [-112.0699, 46.5944],
                    [-112.0699, 46.59443],
                    [-112.0719, 46.59443],
                    [-112.0719, 46.5944],
                ]
            ],
        },
    }
    data["features"].append(fence)
    (site / "site.geojson").write_text(json.dumps(data), encoding="utf-8")
    result = run("plan", site)
    assert result.exit_code == 1
    assert "no route:" in result.stderr
    assert "Cliff" in result.stderr
    drawn = json.loads((site / "plan" / "no-route.geojson").read_text(encoding="utf-8"))
    assert drawn["features"]
    assert not (site / "plan" / "map.html").exists()


@pytest.mark.usefixtures("no_sheets")
def test_no_route_names_the_fact_that_nobody_stated(site: Path) -> None:
    """New Jersey keeps a suction line as far off as the well itself; whether the pump is in the well decides."""
    edit(site / "site.toml", 'rules = "us/mt/helena"', 'rules = "us/nj"')
    edit(site / "site.toml", 'product = "pe-1-ips"', 'product = "pe-1-ips"\ncover = "5 ft"')
    assert run("plan", site).exit_code == 0
    edit(site / "site.geojson", ', "pump_at_well": true', "")
    result = run("plan", site)
    assert result.exit_code == 1
    assert "while nobody states: suction of the line" in result.stderr


BAD = [
    ("site.toml", 'bucket = "24 in"', "bucket = 24", "bucket"),
    ("site.toml", 'bucket = "24 in"', 'bucket = "36"', "no unit"),
    ("site.toml", 'to = "house"', 'to = "hoose"', "house"),
    ("site.toml", 'rules = "us/mt/helena"', 'rules = "us/mt/hellena"', "us/mt/helena"),
    ("site.toml", "[digging]", "[diging]", "digging"),
    ("site.toml", 'product = "pvc-1"', 'product = "pvc-9"', "pvc-9"),
    ("site.geojson", '"kind": "septic_tank"', '"kind": "septik_tank"', "septic_tank"),
    ("site.geojson", "[-112.07144209, 46.59470464]", "[46.59470464, -112.07144209]", "well"),
    ("site.geojson", "[-112.07144209, 46.59470464]", "[NaN, 46.59470464]", "well"),
    ("site.geojson", '"trunk_diameter": "18 in"', '"trunk_diameter": "18"', "oak-1"),
    ("site.geojson", '"kind": "well"', '"kind": "tree"', "well"),
]


@pytest.mark.parametrize(("file", "old", "new", "says"), BAD)
def test_bad_input_is_one_line_a_fault_and_exit_2(
    site: Path, file: str, old: str, new: str, says: str
) -> None:
    edit(site / file, old, new)
    result = run("plan", site)
    assert result.exit_code == 2, result.output
    assert says in result.stderr
    assert "Traceback" not in result.output
    for line in result.stderr.splitlines():
        assert "found" in line, line
        assert "expected" in line, line
    assert not (site / "plan").exists()


def test_all_faults_are_named_at_once(site: Path) -> None:
    for file, old, new, _ in (BAD[1], BAD[6], BAD[9]):
        edit(site / file, old, new)
    lines = run("plan", site).stderr.splitlines()
    assert len(lines) == 3
    assert [line.split(":")[0] for line in lines] == ["site.geojson", "site.geojson", "site.toml"]


def test_a_missing_folder(tmp_path: Path) -> None:
    for command in ("plan", "review", "draw", "record"):
        result = run(command, tmp_path / "nowhere")
        assert result.exit_code == 2
        assert len(result.stderr.splitlines()) == 1


@pytest.mark.usefixtures("no_sheets")
def test_a_script_in_a_name_stays_a_name(site: Path) -> None:
    edit(site / "site.geojson", '"name": "Barn"', '"name": "<script>alert(1)</script>{{7*7}}"')
    result = run("plan", site)
    assert result.exit_code == 0, result.output
    page = (site / "plan" / "map.html").read_text(encoding="utf-8")
    assert "<script>alert(1)" not in page
    assert "49" not in page.split("plan-data")[0][:200]


def test_record_holds_shots_against_the_plan(site: Path) -> None:
    (site / "shots.csv").write_text(
        "line,reach,station,offset,cover,date,crew\n"
        "water-house,Main,0+00,,56 in,2026-12-01,TC\n"
        "water-house,Main,1+25,1.5 ft left,50 in,2026-12-01,TC\n"
        "pump-power,Main,1+25,,50 in,2026-12-01,TC\n",
        encoding="utf-8",
    )
    result = run("record", site)
    assert result.exit_code == 1
    assert "1.5 ft left of plan, cover 50 in against 54 in: SHORT" in result.output
    record = json.loads((site / "record" / "asbuilt.geojson").read_text(encoding="utf-8"))
    lines = {each["id"]: each["properties"] for each in record["features"]}
    assert lines["water-house"]["standing"]["position"] == "measured in part"
    assert lines["pump-power"]["standing"] == {
        "position": "planned",
        "cover": "measured in part",
        "material": "planned",
        "size": "planned",
    }


def test_record_names_every_bad_row(site: Path) -> None:
    (site / "shots.csv").write_text(
        "line,station,cover\nwater-hose,0+00,56 in\nwater-house,9+00,56 in\nwater-house,0+50,56\n",
        encoding="utf-8",
    )
    result = run("record", site)
    assert result.exit_code == 2
    assert "shots.csv:2:" in result.stderr
    assert "shots.csv:4:" in result.stderr
    assert not (site / "record").exists()


def test_rules_commands(site: Path, tmp_path: Path) -> None:
    assert "us/mt/helena" in run("rules", "list").output
    page = run("rules", "show", "us/mt").output
    assert "36.21.638" in page
    assert json.loads(run("rules", "schema").output)
    assert json.loads(run("new", "--schema").output)["type"] == "object"
    explained = run("rules", "explain", site, "--pair", "well:field")
    assert "ARM 36.21.638(1)(b)" in explained.output
    file = tmp_path / "rules.toml"
    file.write_text('[layer]\ntitle = "x"\n[[setbak]]\nid = "y"\n', encoding="utf-8")
    checked = run("rules", "check", file)
    assert checked.exit_code == 2
    assert "setback" in checked.stderr
    assert run("rules", "check", data_folder("layers") / "us" / "rules.toml").exit_code == 0


def test_help_is_quick_to_import() -> None:
    """Only the light half of the program is loaded for ``--help``."""
    code = (
        "import sys; from siteplan.cli import main\n"
        "try: main(['--help'])\nexcept SystemExit: pass\n"
        "heavy = {'geopandas', 'folium', 'reportlab', 'pyproj', 'scipy', 'pint', 'pydantic', 'numpy'} & set(sys.modules)\n"
        "sys.exit(', '.join(sorted(heavy)) or 0)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr


def test_every_command_has_help() -> None:
    for name, command in main.commands.items():
        result = run(name, "--help")
        assert result.exit_code == 0
        assert command.help, name
