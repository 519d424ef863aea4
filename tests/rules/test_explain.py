"""The explain, list and check commands: every pair in short, names and kinds, and the cover at a station."""

from __future__ import annotations

import shutil
from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from rules_scenes import HEAD, feature, line, setback, site, write_layer

from siteplan.cli import main
from siteplan.rules import available_layers, explain, explain_all, explain_cover, load_stack
from siteplan.site.catalogue import data_folder
from siteplan.site.features import Source
from siteplan.site.frost import FrostInputs
from siteplan.site.site import Site

WATER = line("water", "water")

pytestmark = pytest.mark.usefixtures("quick")


def _place() -> Site:
    return site(
        feature("well", "well", casing_depth="62 ft"),
        feature("house", "building"),
        feature("sewer", "building_sewer"),
        feature("tank", "septic_tank"),
        lines=(WATER,),
        facts={"subdivision": False},
    )


@pytest.fixture(scope="module")
def farm(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("farm") / "site"
    shutil.copytree(data_folder("example_sites") / "cedar-bench", folder)
    return folder


def run(*words: object) -> Result:
    return CliRunner().invoke(main, ["rules", *map(str, words)])


def test_every_pair_with_a_row_that_applies_is_told_in_short() -> None:
    text = explain_all(load_stack("us/mt"), _place())
    lines = text.splitlines()
    heads = [words for words in lines if words and not words.startswith(" ")]
    assert [head.partition("  ")[0] for head in heads[:-1]] == [
        "well:sewer",
        "well:tank",
        "water:tank",
        "water:sewer",
    ]
    assert lines[lines.index(heads[0]) + 1 :][:2] == [
        "  50 ft: ARM 36.21.638(2)(c); advised [us-mt-well-sewer-other]",
        "    not stated: hazard.watertight; the larger number is kept",
    ]
    assert "  50 ft: ARM 36.21.638(1)(a) [us-mt-well-septic-tank]" in lines
    assert heads[-1].endswith("--pair well:sewer")
    bare = site(feature("well", "well"))
    assert explain_all(load_stack("us/mt"), bare) == "No row of us/mt applies to a pair on this site."


@pytest.mark.parametrize("word", ["tank", "septic_tank", "septic tank", "Septic  Tank"])
def test_ids_kinds_and_printed_names_name_a_thing(word: str) -> None:
    stack, place = load_stack("us/mt"), _place()
    assert explain(stack, place, "well", word) == explain(stack, place, "well", "tank")


def test_the_cover_may_be_asked_by_the_name_of_the_line_and_tells_a_computed_frost_depth() -> None:
    inputs = FrostInputs(
        freezing_index_c_days=1111.0,
        mean_annual_c=7.5,
        season_days=120.0,
        n_factor=0.9,
        surface="bare soil",
        soil="silt-clay",
        dry_density_kg_m3=1601.85,
        water_percent=15.0,
        source=Source(file="site.toml"),
    )
    stack, place = load_stack("us/mt/helena"), replace(_place(), frost=inputs)
    text = explain(stack, place, "WATER", "cover")
    assert "computed frost depth" in text
    assert "air freezing index 2000 F-days" in text
    yard = explain_cover(stack, place, "water", "yard")
    assert "yard: at least" in yard
    assert "road" not in yard.partition("because")[0]
    assert "computed frost depth" not in explain_cover(stack, _place(), "water", "yard")


def test_explain_command_without_a_pair(farm: Path) -> None:
    told = run("explain", farm)
    assert told.exit_code == 0
    assert "well:field  Well (existing) to Absorption area (existing)" in told.output
    assert "[us-mt-well-drainfield]" in told.output
    assert run("explain", farm, "--pair", "Well:Absorption area").output.startswith("Well (existing) to")


def test_explain_command_at_a_station(farm: Path) -> None:
    told = run("explain", farm, "--station", "main:0+50")
    assert told.exit_code == 0
    for words in (
        "Main 0+50.0: section 1",
        "cover over Water to house, under us/mt/helena",
        "max(frost 42 in + 12 in, 12 in) = 54 in",
        "cover over Pump power, under us/mt/helena",
        "[us-nec-300-5-yard]",
        "planned here: 4.8 ft",
    ):
        assert words in told.output, words
    assert "road" not in told.output.partition("because")[0], "only the surface that is there"
    both = run("explain", farm, "--station", "Main:0+50", "--pair", "well:field").output
    assert "section 1" in both
    assert "[us-mt-well-drainfield]" in both


@pytest.mark.parametrize(
    ("option", "word", "words"),
    [
        ("--pair", "wel:field", 'did you mean "well"?'),
        ("--pair", "well:septic tnk", 'did you mean "septic tank"?'),
        ("--pair", "well", "two ids, names or kinds with a colon between"),
        ("--pair", "well:", "two ids, names or kinds with a colon between"),
        ("--station", "Mian:0+50", "the reaches are Main, A"),
        ("--station", "0+50", "the reaches are Main, A"),
        ("--station", "Main:9+50", "where Main ends"),
        ("--station", "Main:50", 'a station such as "1+35.5"'),
    ],
)
def test_what_is_not_there_is_one_line(farm: Path, option: str, word: str, words: str) -> None:
    told = run("explain", farm, option, word)
    assert told.exit_code == 2
    (only,) = told.output.splitlines()
    assert only.startswith(f"{option}: found ")
    assert words in only


def test_the_list_marks_what_is_not_whole() -> None:
    listed = dict(words.split(maxsplit=1) for words in run("list").output.splitlines())
    layers = available_layers()
    assert {layer.name for layer in layers if layer.thin} == {
        name for name, title in listed.items() if title.endswith(" (not whole)")
    }
    assert any(layer.thin for layer in layers)
    assert not all(layer.thin for layer in layers)


def test_check_command_names_a_contradiction_in_one_line(tmp_path: Path) -> None:
    rows = setback("xx-a", 'distance = "50 ft"') + setback("xx-b", 'distance = "75 ft"')
    told = run("check", write_layer(tmp_path, "own", rows, HEAD))
    assert told.exit_code == 2
    (only,) = told.output.splitlines()
    assert "where xx-a says 50 ft for the same" in only
