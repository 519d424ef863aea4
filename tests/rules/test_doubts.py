"""What ``rules check`` names beside the faults that keep a file from loading."""

from __future__ import annotations

from pathlib import Path

import pytest
from rules_scenes import HEAD, setback, when, write_layer

from siteplan.errors import InputFaults
from siteplan.rules import check_file, load_stack

DEEP = f"when = [{when('well.casing_depth', '>=', chr(34) + '50 ft' + chr(34))}]"
BEND = '[[bend]]\nid = "{}"\nlimit_deg = 360\n{}SOURCE\n\n'


def _told(folder: Path, rows: str) -> list[str]:
    return [str(fault) for fault in check_file(write_layer(folder, "own", rows))]


def test_two_numbers_of_one_source_for_the_same_pair_contradict(tmp_path: Path) -> None:
    (told,) = _told(tmp_path, setback("xx-a", 'distance = "50 ft"') + setback("xx-b", 'distance = "75 ft"'))
    assert ":18: xx-b distance: " in told
    assert "found 75 ft to septic_tank, where xx-a says 50 ft for the same" in told


@pytest.mark.parametrize(
    "other",
    [
        'distance = "50 ft"',
        'distance = "600 in"',
        'distance = "75 ft"\nforce = "advised"',
        'distance = "75 ft"\nto_edge = "overhang"',
        'distance = "75 ft"\nstatuses = ["proposed"]',
        f'distance = "75 ft"\n{DEEP}',
        'distance = "75 ft"\ndefault = true',
        'distance = "18 in"\nmeasured = "vertical"',
        'defers_to = "chapter 2"',
    ],
)
def test_rows_that_something_tells_apart_do_not_contradict(tmp_path: Path, other: str) -> None:
    assert _told(tmp_path, setback("xx-a", 'distance = "50 ft"') + setback("xx-b", other)) == []


def test_alternatives_and_other_sections_do_not_contradict(tmp_path: Path) -> None:
    group = 'group = "g"'
    rows = setback("xx-a", f'distance = "50 ft"\n{group}') + setback("xx-b", f'distance = "75 ft"\n{group}')
    assert _told(tmp_path, rows) == []
    rows = setback("xx-a", 'distance = "50 ft"') + setback("xx-b", 'distance = "75 ft"')
    one, _, two = rows.rpartition("SOURCE")
    assert _told(tmp_path, f'{one}citation = "Test Code 2"\nstatus = "memory"{two}') == []


def test_conditions_in_another_order_are_the_same(tmp_path: Path) -> None:
    tests = [when("well.casing_depth", ">=", '"50 ft"'), when("hazard.watertight", "==", "true")]
    rows = "".join(
        setback(f"xx-{far}", f'distance = "{far} ft"\nwhen = [{", ".join(order)}]')
        for far, order in ((50, tests), (75, tests[::-1]))
    )
    assert len(_told(tmp_path, rows)) == 1


def test_an_edition_later_than_the_day_of_reading(tmp_path: Path) -> None:
    source = (
        'citation = "A"\nurl = "https://example.org"\nread = "2026-11"\nstatus = "verified"\nedition = "{}"\n'
    )
    row = BEND.format("xx-bend", "").replace("SOURCE\n", source)
    (told,) = _told(tmp_path, row.format("in force from 2027-01-01"))
    assert "xx-bend read: found read in 2026, before its edition (in force from 2027-01-01)" in told
    for edition in ("2024", "2024, as amended to 2027", "7th", "2026-12"):
        assert _told(tmp_path, row.format(edition)) == []


def _replaces(ident: str, target: str) -> str:
    return BEND.format(ident, f'replaces = "{target}"\nreason = "it is newer"\n')


def test_rows_of_one_file_that_replace_each_other(tmp_path: Path) -> None:
    told = _told(tmp_path, _replaces("xx-a", "xx-b") + _replaces("xx-b", "xx-a"))
    assert [words.partition("found ")[2] for words in told] == [
        f'"xx-{other}", a row of this same file, expected the id of a bend row of a layer above; take that row out instead'
        for other in "ba"
    ]
    assert _told(tmp_path, _replaces("xx-a", "us-bend")) == [], (
        "a file by itself does not know what is above it"
    )


def test_a_row_that_is_replaced_already(tmp_path: Path) -> None:
    write_layer(tmp_path, "xx", BEND.format("xx-bend", ""))
    write_layer(tmp_path, "xx/yy", _replaces("yy-bend", "xx-bend"))
    write_layer(tmp_path, "xx/yy/zz", _replaces("zz-bend", "xx-bend"))
    with pytest.raises(
        InputFaults, match=r'which yy-bend of a layer above replaces already.*did you mean "yy-bend"'
    ):
        load_stack("xx/yy/zz", tmp_path)
    write_layer(tmp_path, "xx/yy/zz", _replaces("zz-bend", "yy-bend"))
    assert [placed.row.id for placed in load_stack("xx/yy/zz", tmp_path).rows] == ["zz-bend"]


def test_a_row_may_keep_the_id_of_the_one_that_it_replaces(tmp_path: Path) -> None:
    for name in ("xx/yy", "xx/yy/zz"):
        write_layer(tmp_path, name, _replaces("xx-bend", "xx-bend"))
    write_layer(tmp_path, "xx", BEND.format("xx-bend", ""), HEAD)
    assert [placed.layer for placed in load_stack("xx/yy/zz", tmp_path).rows] == ["xx/yy/zz"]


def test_an_unknown_fact_of_a_file_by_itself(tmp_path: Path) -> None:
    test = when("site.floodway", "==", "true")
    rows = setback("xx-a", f'distance = "50 ft"\nwhen = [{test}]')
    assert 'unknown fact "site.floodway"' in _told(tmp_path, rows)[0]
