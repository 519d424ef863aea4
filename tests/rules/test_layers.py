"""Reading layers: stacks by path, and every fault named by file and line with the nearest right word."""

from __future__ import annotations

import json
import tomllib
from datetime import date
from pathlib import Path

import jsonschema
import pytest
from rules_scenes import HEAD, write_layer

from siteplan.errors import InputFaults
from siteplan.rules import available_layers, check_file, layer_page, layer_schema, load_stack
from siteplan.site.catalogue import kinds, layers_folder

FIRST = ["ca", "ca/on", "us", "us/mt", "us/mt/helena", "us/mt/missoula"]
NAMES = sorted(
    path.parent.relative_to(layers_folder()).as_posix() for path in layers_folder().rglob("rules.toml")
)


def _faults(folder: Path, name: str) -> list[str]:
    with pytest.raises(InputFaults) as caught:
        load_stack(name, folder)
    return [str(fault) for fault in caught.value.faults]


def test_layers_that_ship() -> None:
    assert [layer.name for layer in available_layers()] == NAMES
    assert set(FIRST) <= set(NAMES)
    assert [layer.name for layer in load_stack("us/mt/helena").layers] == ["us", "us/mt", "us/mt/helena"]


@pytest.mark.parametrize("name", NAMES)
def test_rows_that_ship_say_how_surely_they_were_read(name: str) -> None:
    for placed in load_stack(name).layers[-1].rows:
        row = placed.row
        assert row.citation
        assert (row.status == "verified") <= bool(row.url and row.read)
        assert (row.status == "memory") <= (row.read is None)
        assert row.read is None or date(2026, 11, 1) <= row.read <= date(2026, 11, 30)


@pytest.mark.parametrize("name", NAMES)
def test_files_that_ship_fit_the_schema(name: str) -> None:
    path = layers_folder() / name / "rules.toml"
    data = json.loads(json.dumps(tomllib.loads(path.read_text(encoding="utf-8")), default=str))
    jsonschema.Draft202012Validator(layer_schema()).validate(data)
    assert check_file(path) == []


def test_schema_refuses_an_unknown_key() -> None:
    validator = jsonschema.Draft202012Validator(layer_schema())
    head = tomllib.loads(HEAD)
    row = {"id": "a", "citation": "b", "status": "memory", "limit_deg": 360}
    assert validator.is_valid({**head, "bend": [row]})
    assert not validator.is_valid({**head, "bend": [{**row, "limits": 1}]})


@pytest.mark.parametrize("name", NAMES)
def test_page_holds_every_row_with_its_source(name: str) -> None:
    page = layer_page(name)
    for placed in load_stack(name).rows:
        assert f"[{placed.row.id}]" in page
        assert placed.row.citation in page
    assert page.count("unconfirmed (memory)") >= sum(p.row.status == "memory" for p in load_stack(name).rows)


def test_unknown_layer_offers_the_nearest() -> None:
    with pytest.raises(
        InputFaults, match=r'us/mt/helna/rules.toml: found no such layer.*did you mean "us/mt/helena"\?'
    ):
        load_stack("us/mt/helna")


def test_missing_layer_above_is_named(tmp_path: Path) -> None:
    write_layer(tmp_path, "xx/yy/zz", "")
    assert _faults(tmp_path, "xx/yy/zz") == [
        "layers/xx/yy/zz/rules.toml: found no layers/xx/rules.toml, expected every layer above xx/yy/zz; "
        "write layers/xx/rules.toml, or move xx/yy/zz",
        "layers/xx/yy/zz/rules.toml: found no layers/xx/yy/rules.toml, expected every layer above xx/yy/zz; "
        "write layers/xx/yy/rules.toml, or move xx/yy/zz",
    ]


ROW = """
[[bend]]
id = "xx-bend"
limit_deg = 360
SOURCE
"""


@pytest.mark.parametrize(
    ("rows", "line", "words"),
    [
        (ROW.replace("limit_deg", "limit_dge"), 9, 'unknown key "limit_dge"'),
        (ROW.replace("limit_deg", "limit_dge"), 9, 'did you mean "limit_deg"?'),
        (ROW.replace("[[bend]]", "[[bends]]"), 7, 'unknown table "bends"'),
        (ROW.replace("SOURCE\n", 'status = "memory"\n'), 7, 'expected the key "citation"'),
        (ROW.replace("SOURCE\n", 'citation = "x"\n'), 7, 'expected the key "status"'),
        (ROW.replace("SOURCE\n", 'citation = "x"\nstatus = "verifed"\n'), 11, 'did you mean "verified"?'),
        (ROW.replace("SOURCE\n", 'citation = "x"\nstatus = "verified"\n'), 7, "without url or without read"),
        (ROW + 'read = "2026-11"\n', 7, "a row from memory with the day it was read"),
        (ROW + 'replaces = "xx-other"\n', 7, "only one of replaces and reason"),
        (
            ROW + 'replaces = "xx-other"\nreason = "it is newer"\n',
            12,
            'found "xx-other", expected the id of a bend row',
        ),
        (ROW + ROW, 14, 'the id "xx-bend" twice'),
        (ROW + "read = 2026-13-45\n", 12, "readable TOML"),
        (
            """
            [[wellhead]]
            id = "xx-head"
            casing_height = 18
            SOURCE
            """,
            9,
            "found 18, which is not a text, expected a length with its unit",
        ),
        (
            """
            [[wellhead]]
            id = "xx-head"
            casing_height = "18 inchs"
            SOURCE
            """,
            9,
            "18 inchs",
        ),
        (
            """
            [[setback]]
            id = "xx-well-tank"
            from = "well"
            to = ["septic_tnk"]
            distance = "50 ft"
            SOURCE
            """,
            10,
            'did you mean "septic_tank"?',
        ),
        (
            """
            [[setback]]
            id = "xx-well-tank"
            from = "wel"
            to = ["septic_tank"]
            distance = "50 ft"
            SOURCE
            """,
            9,
            'did you mean "well"?',
        ),
        (
            """
            [[cover]]
            id = "xx-cover"
            line = "water"
            form = { fixed = "5 ft", least = "4 ft" }
            SOURCE
            """,
            10,
            "none or several forms of cover",
        ),
        (
            """
            [[cover]]
            id = "xx-cover"
            line = "water"
            form = { frost_pls = "12 in" }
            SOURCE
            """,
            10,
            'did you mean "frost_plus"?',
        ),
        (
            """
            [[trench]]
            id = "xx-slope"
            what = "slope"
            distance = "5 ft"
            SOURCE
            """,
            7,
            "the wrong numbers for slope",
        ),
        (
            """
            [[separation]]
            id = "xx-apart"
            between = ["water", "sewage"]
            SOURCE
            """,
            7,
            'found "sewage", expected one of water',
        ),
    ],
)
def test_fault_names_line_and_nearest_word(tmp_path: Path, rows: str, line: int, words: str) -> None:
    write_layer(tmp_path, "xx", rows)
    faults = _faults(tmp_path, "xx")
    place = f"layers/xx/rules.toml:{line}:"
    assert any(fault.startswith(place) and words in fault for fault in faults), faults


SETBACK = """
[[setback]]
id = "xx-well-tank"
from = "well"
to = ["septic_tank", "fuel_tank"]
distance = "50 ft"
when = [
    CONDITION,
]
SOURCE
"""


@pytest.mark.parametrize(
    ("condition", "words"),
    [
        ('{ fact = "well.casing_dpth", op = "<", value = "6 m" }', 'did you mean "well.casing_depth"?'),
        ('{ fact = "well.casing_depth", op = "<", value = 6 }', "which has no unit"),
        ('{ fact = "well.casing_depth", op = "=<", value = "6 m" }', '"=<"'),
        ('{ fact = "well.casing_depth", op = "<" }', "neither a test nor a list of tests"),
        (
            '{ any = [{ fact = "well.class", op = "==", value = "public" }] }',
            "neither a test nor a list of tests",
        ),
        ('{ fact = "well.class", op = "<", value = "public" }', "< on well.class, which is text"),
        ('{ fact = "well.class", op = "in", value = "public" }', '"in" with a list of texts'),
        ('{ fact = "hazard.vault", op = "==", value = true }', "unknown fact"),
        ('{ fact = "hazard.capacity", op = ">", value = "500 galons" }', "galons"),
        ('{ fact = "hazard.status", op = "!=", value = "proposd" }', 'did you mean "proposed"?'),
        ('{ fact = "site.floodway", op = "==", value = true }', "unknown fact"),
        ('{ fact = "well.pump_at_well", op = "==", value = "yes" }', "a value of sort yes_no"),
    ],
)
def test_condition_fault_names_its_line(tmp_path: Path, condition: str, words: str) -> None:
    write_layer(tmp_path, "xx", SETBACK.replace("CONDITION", condition))
    faults = _faults(tmp_path, "xx")
    assert any(
        fault.startswith("layers/xx/rules.toml:12: xx-well-tank") and words in fault for fault in faults
    ), faults


def test_conditions_are_never_executed(tmp_path: Path) -> None:
    evil = "__import__('os').system('touch owned')"
    write_layer(
        tmp_path, "xx", SETBACK.replace("CONDITION", f'{{ fact = "{evil}", op = "==", value = true }}')
    )
    assert "unknown fact" in _faults(tmp_path, "xx")[0]
    assert not Path("owned").exists()


def test_all_faults_at_once(tmp_path: Path) -> None:
    write_layer(
        tmp_path,
        "xx",
        ROW.replace("limit_deg", "limit") + ROW.replace("360", "-1").replace("xx-bend", "xx-b"),
    )
    assert len(_faults(tmp_path, "xx")) == 3


def test_same_id_without_replaces_is_a_fault(tmp_path: Path) -> None:
    write_layer(tmp_path, "xx", ROW)
    path = write_layer(tmp_path, "xx/yy", ROW.replace("360", "270"))
    (fault,) = _faults(tmp_path, "xx/yy")
    assert fault.startswith(
        'layers/xx/yy/rules.toml:8: xx-bend id: found "xx-bend", which a layer above has too'
    )
    assert check_file(path) == []


def test_replaced_row_is_gone_and_the_reason_prints(tmp_path: Path) -> None:
    write_layer(tmp_path, "xx", ROW)
    below = ROW.replace("360", "270").replace("xx-bend", "yy-bend")
    write_layer(tmp_path, "xx/yy", below + 'replaces = "xx-bend"\nreason = "the county says so"\n')
    (placed,) = load_stack("xx/yy", tmp_path).rows
    assert placed.row.id == "yy-bend"
    assert placed.cite().note == "in place of xx-bend: the county says so"


def test_silent_kind_with_a_row_is_a_contradiction(tmp_path: Path) -> None:
    row = SETBACK.replace("CONDITION", '{ fact = "well.class", op = "==", value = "public" }')
    write_layer(tmp_path, "xx", row, HEAD + 'silent = ["septic_tank"]\n')
    assert "of which a setback row speaks" in _faults(tmp_path, "xx")[0]


def test_silent_kinds_are_in_the_catalogue() -> None:
    silent = {kind for name in NAMES for layer in load_stack(name).layers for kind in layer.head.silent}
    assert silent
    assert silent <= set(kinds())


def test_file_outside_the_layers_is_checked_by_itself(tmp_path: Path) -> None:
    path = write_layer(tmp_path, "own", ROW.replace("limit_deg", "limit"))
    assert [fault.line for fault in check_file(path)] == [7, 9]
    (missing,) = check_file(tmp_path / "absent.toml")
    assert missing.found == "no such file"
