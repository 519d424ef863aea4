"""What a rules file may say of distances: each addition, and each way to get it wrong, named by file and line."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path

import jsonschema
import pytest
from rules_scenes import HEAD, write_layer

from siteplan.errors import InputFaults
from siteplan.rules import available_layers, check_file, layer_page, layer_schema, load_stack

ROW = """
[[setback]]
id = "xx-well-tank"
from = "well"
to = ["fuel_tank"]
BODY
SOURCE
"""
MULTIPLIER = """
[[multiplier]]
id = "xx-times"
from = "well"
to = ["KIND"]
factor = 2.0
BODY
SOURCE
"""
EVERYTHING = """
[[setback]]
id = "xx-default"
from = "well"
to = ["any_source"]
distance = "200 ft"
default = true
SOURCE

[[setback]]
id = "xx-casing"
from = "well"
to = ["septic_tank"]
interpolate = { fact = "well.casing_depth", points = [["20 ft", "100 ft"], ["50 ft", "50 ft"]] }
approvable_to = "25 ft"
approval = "the health officer, on a plan"
SOURCE

[[setback]]
id = "xx-flow"
from = "well"
to = ["cesspool"]
scale = { fact = "well.daily_gallons", power = 0.5, unit = "ft", floor = "50 ft", most = "300 ft" }
SOURCE

[[setback]]
id = "xx-tanks"
from = "well"
to = ["fuel_tank"]
distance = "25 ft"
sum_of = { fact = "hazard.capacity", over = [{ fact = "hazard.buried", op = "==", value = false }] }
when = [{ fact = "sum.capacity", op = ">", value = "500 gal" }]
statuses = ["existing", "proposed"]
SOURCE

[[setback]]
id = "xx-over"
from = "line:water"
to = ["building_sewer"]
distance = "18 in"
measured = "vertical"
SOURCE

[[setback]]
id = "xx-elsewhere"
from = "suction_line"
to = ["building_sewer"]
defers_to = "the state plumbing code"
SOURCE

[[setback]]
id = "xx-never"
from = "line:water"
to = ["absorption_area"]
prohibit = true
SOURCE

[[multiplier]]
id = "xx-times"
from = "well"
to = ["any_source"]
rows = ["xx-casing", "xx-flow"]
factor = 2.0
when = [{ fact = "well.casing_depth", op = "<", value = "50 ft" }]
words = "sensitive well"
SOURCE
"""
HEAD_MORE = (
    HEAD
    + 'gaps = ["county rules"]\nthin = true\nbbox = [-114.0, 44.0, -104.0, 49.0]\npreempts = ["setback"]\n'
)


def _faults(folder: Path, rows: str, head: str = HEAD) -> list[str]:
    write_layer(folder, "xx", rows, head)
    with pytest.raises(InputFaults) as caught:
        load_stack("xx", folder)
    return [str(fault) for fault in caught.value.faults]


def test_everything_fits_the_door_the_schema_and_the_page(tmp_path: Path) -> None:
    path = write_layer(tmp_path, "xx", EVERYTHING, HEAD_MORE)
    assert check_file(path) == []
    data = json.loads(json.dumps(tomllib.loads(path.read_text(encoding="utf-8")), default=str))
    jsonschema.Draft202012Validator(layer_schema()).validate(data)
    page = layer_page("xx", tmp_path)
    for words in (
        "Thin: this layer is not whole",
        "Preempts: rows of layers below count for nothing in setback",
        "well to any source: 200 ft; where no other row of this layer gives a distance",
        "straight between 100 ft at 20 ft, 50 ft at 50 ft of casing depth; down to 25 ft by approval",
        "1 x daily gallons^0.5, in ft, not less than 50 ft, not more than 300 ft",
        "25 ft, if capacity more than 500 gal; counts existing, proposed",
        "18 in, measured vertically",
        "no number here: the state plumbing code",
        "never in, under or through it",
        "Multipliers of these setbacks",
        "well to any source: x 2, if sensitive well; rows xx-casing, xx-flow only",
    ):
        assert words in page, words


@pytest.mark.parametrize(
    ("body", "line", "words"),
    [
        ("", 7, "found no distance"),
        ('distance = "25 ft"\nprohibit = true', 7, "more than one answer in one row"),
        ('distance = "25 ft"\ndefers_to = "chapter 2"', 7, "more than one answer in one row"),
        ('distance = "25 ft"\nprohibt = true', 12, 'did you mean "prohibit"?'),
        ('distance = "25 ft"\nmeasured = "verticaly"', 12, 'did you mean "vertical"?'),
        ('distance = "25 ft"\nmeasured = "vertical"\ndefault = true', 7, "measured vertical with default"),
        ('distance = "25 ft"\napprovable_to = "10 ft"', 7, "only one of approvable_to and approval"),
        (
            'distance = "25 ft"\napprovable_to = "25 ft"\napproval = "the county"',
            7,
            "approvable_to 25 ft, no less than 25 ft",
        ),
        (
            'distance = "25 ft"\napprovable_to = "10 ft"\napproval = "the county"\nforce = "by_approval"',
            7,
            'approvable_to with force = "by_approval"',
        ),
        ('prohibit = true\napprovable_to = "5 ft"\napproval = "the county"', 7, "approvable_to without"),
        ('distance = "25 ft"\nsum_of = { fact = "hazard.capacity" }', 12, "a sum that no condition asks for"),
        ('distance = "25 ft"\nsum_of = { fact = "hazard.product" }', 12, "hazard.product, which is text"),
        ('distance = "25 ft"\nsum_of = { fact = "hazard.capacty" }', 12, 'did you mean "hazard.capacity"?'),
        (
            'distance = "25 ft"\nsum_of = { fact = "hazard.capacity", over = '
            '[{ fact = "well.class", op = "==", value = "public" }] }',
            12,
            'unknown fact "well.class"',
        ),
        (
            'distance = "25 ft"\nwhen = [{ fact = "sum.capacity", op = ">", value = "500 gal" }]',
            12,
            'unknown fact "sum.capacity"',
        ),
        (
            'interpolate = { fact = "well.casing_depth", points = [["50 ft", "50 ft"], ["20 ft", "100 ft"]] }',
            11,
            "out of order",
        ),
        ('interpolate = { fact = "well.casing_depth", points = [["50 ft", "50 ft"]] }', 11, "at least 2"),
        (
            'interpolate = { fact = "well.casing_depth", points = [[20, "100 ft"], [50, "50 ft"]] }',
            11,
            "20, which has no unit",
        ),
        (
            'interpolate = { fact = "well.class", points = [["a", "100 ft"], ["b", "50 ft"]] }',
            11,
            "well.class, which is text",
        ),
        (
            'interpolate = { fact = "well.casing_depth", points = [["20 ft", "100 ft"], ["50 ft", "50 ft"]] }\n'
            'approvable_to = "100 ft"\napproval = "the county"',
            11,
            "no less than any distance of the row",
        ),
        ('scale = { fact = "well.daily_galons", unit = "ft" }', 11, 'did you mean "well.daily_gallons"?'),
        ('scale = { fact = "hazard.capacity", unit = "ft" }', 11, "hazard.capacity, which is volume"),
        (
            'scale = { fact = "well.daily_gallons", unit = "ft", floor = "50 ft", most = "40 ft" }',
            11,
            "most 40 ft below floor 50 ft",
        ),
        ('scale = { fact = "well.daily_gallons", unit = "yd" }', 11, '"yd"'),
        (
            'distance = "25 ft"\nwhen = [\n  { fact = "hazard.built", op = ">=", value = 2015-01-01 },\n'
            '  { fact = "hazard.built", op = "<", value = 1990-01-01 },\n]',
            12,
            "conditions on hazard.built that no value meets",
        ),
        (
            'distance = "25 ft"\nwhen = [{ fact = "hazard.built", op = "<", value = "1990-13-01" }]',
            12,
            "expected a date such as 2015-01-01",
        ),
        (
            'distance = "25 ft"\nwhen = [{ fact = "site.lot_created", op = "<", value = true }]',
            12,
            "a value of sort date",
        ),
    ],
)
def test_fault_in_a_setback_names_its_line(tmp_path: Path, body: str, line: int, words: str) -> None:
    faults = _faults(tmp_path, ROW.replace("BODY", body))
    assert any(f"rules.toml:{line}: xx-well-tank" in fault and words in fault for fault in faults), faults


def test_a_prohibition_may_say_0_ft(tmp_path: Path) -> None:
    write_layer(tmp_path, "xx", ROW.replace("BODY", 'distance = "0 ft"\nprohibit = true'))
    assert load_stack("xx", tmp_path).rows


@pytest.mark.parametrize(
    ("kind", "body", "words"),
    [
        ("fuel_tank", 'rows = ["xx-well-tnk"]', 'did you mean "xx-well-tank"?'),
        ("privy", 'rows = ["xx-well-tank"]', '"xx-well-tank", which speaks of other pairs'),
        ("privy", "", "a multiplier of no row"),
        ("fuel_tnk", "", 'did you mean "fuel_tank"?'),
        ("fuel_tank", "rws = []", 'did you mean "rows"?'),
        (
            "fuel_tank",
            'when = [{ fact = "well.casing_dpth", op = "<", value = "50 ft" }]',
            'did you mean "well.casing_depth"?',
        ),
    ],
)
def test_fault_in_a_multiplier_names_its_row(tmp_path: Path, kind: str, body: str, words: str) -> None:
    rows = ROW.replace("BODY", 'distance = "25 ft"') + MULTIPLIER.replace("KIND", kind).replace("BODY", body)
    faults = _faults(tmp_path, rows)
    assert any("xx-times" in fault and words in fault for fault in faults), faults


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("bbox = [-104.0, 44.0, -114.0, 49.0]", "west below east"),
        ("bbox = [-114.0, 44.0, -104.0]", "[west, south, east, north]"),
        ("bbox = [44.0, -114.0, 49.0, -104.0]", "south below north"),
        ("thin = true", "thin = true without gaps"),
        ('preempts = ["setbacks"]', 'did you mean "setback"?'),
        ('site_facts = { lot_created = "text" }', '"date", as in every layer'),
    ],
)
def test_fault_in_the_head_names_its_line(tmp_path: Path, line: str, words: str) -> None:
    faults = _faults(tmp_path, "", HEAD + line + "\n")
    assert any(fault.startswith("layers/xx/rules.toml:") and words in fault for fault in faults), faults


def test_a_default_that_covers_a_kind_contradicts_silence_about_it(tmp_path: Path) -> None:
    row = ROW.replace('["fuel_tank"]', '["any_source"]').replace("BODY", 'distance = "25 ft"')
    assert "of which a setback row speaks" in _faults(tmp_path, row, HEAD + 'silent = ["privy"]\n')[0]
    row = row.replace('distance = "25 ft"', 'defers_to = "chapter 2"')
    write_layer(tmp_path, "yy", row, HEAD + 'silent = ["privy"]\n')
    assert load_stack("yy", tmp_path)


def test_the_list_reads_heads_only_and_counts_rows(tmp_path: Path) -> None:
    broken = EVERYTHING.replace('to = ["cesspool"]', 'to = ["cesspol"]')
    write_layer(tmp_path, "xx", broken, HEAD_MORE)
    (layer,) = available_layers(tmp_path)
    assert (layer.rows, layer.verified, layer.thin) == (8, 0, True)
    with pytest.raises(InputFaults, match="cesspol"):
        load_stack("xx", tmp_path)
    write_layer(tmp_path, "yy", "", HEAD.replace("title", "titel"))
    with pytest.raises(InputFaults, match='did you mean "title"'):
        available_layers(tmp_path)
