"""Edits of ``site.toml`` change what they name and leave every other line as it stands."""

from __future__ import annotations

import re
import tomllib
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from siteplan.errors import InputFaults
from siteplan.site.catalogue import data_folder
from siteplan.web.toml_edit import (
    add_member,
    add_table,
    move_member,
    number_of,
    remove_key,
    remove_table,
    set_key,
)

CEDAR = (data_folder("example_sites") / "cedar-bench" / "site.toml").read_text(encoding="utf-8")

_TEXTS = st.text(st.characters(exclude_categories=["Cs"]), max_size=12)
_VALUES = st.one_of(
    _TEXTS,
    st.booleans(),
    st.integers(-(2**53), 2**53),
    st.floats(allow_nan=False, allow_infinity=False),
    st.dates(),
    st.lists(st.floats(0, 1e6), max_size=3),
    st.lists(_TEXTS, max_size=3),
)
_WRITTEN = st.sampled_from(
    [
        '"24 in"',
        "'a # b'",
        "0x1F",
        "1_000",
        "2026-11-20",
        "[1, 2]",
        "[\n  1, # one\n  2,\n]",
        '"""\n[no]\n# x\n"""',
        "{ a = 1 }",
    ]
)
_NOTES = st.sampled_from(["", "  # why", "\t#[x]"])
_BETWEEN = st.sampled_from(["", "\n", "# note\n", "\n# [frost]\n# water = 1\n\n", "  # deep\n\n\n"])
_KEYS = ("a", "bare-key", "c3")


@st.composite
def documents(draw: Any) -> str:
    """A text of tables and members with comments everywhere."""
    text = draw(_BETWEEN)
    for header in draw(st.lists(st.sampled_from(["[one]", "[two]", "[[line]]"]), max_size=6)):
        if header != "[[line]]" and f"\n{header}" in f"\n{text}":
            continue
        text += header + draw(_NOTES) + "\n" + draw(_BETWEEN)
        for key in draw(st.lists(st.sampled_from(_KEYS), unique=True, max_size=3)):
            text += (
                draw(st.sampled_from(["", "  "]))
                + f"{key} = {draw(_WRITTEN)}{draw(_NOTES)}\n"
                + draw(_BETWEEN)
            )
    return str(text)


def is_within(rows: list[str], longer: list[str]) -> bool:
    """Whether all rows stand in ``longer``, in the same order."""
    rest = iter(longer)
    return all(row in rest for row in rows)


def rows_of(text: str) -> list[str]:
    return re.findall(r"[^\n]*\n", text)


@given(documents(), st.sampled_from(["one", "two", "line"]), st.sampled_from(_KEYS), _VALUES, st.booleans())
def test_a_value_that_is_set_leaves_every_other_row(
    text: str, name: str, key: str, value: Any, crlf: bool
) -> None:
    if crlf:
        text = text.replace("\n", "\r\n")
    before = tomllib.loads(text)
    lines = before.get("line", [])
    path = (name, len(lines) - 1, key) if name == "line" else (name, key)
    if name == "line" and not lines:
        return
    after = set_key(text, path, value)
    wanted = tomllib.loads(text)
    (wanted["line"][-1] if name == "line" else wanted.setdefault(name, {}))[key] = value
    assert tomllib.loads(after) == wanted
    table = before.get(name, {}) if name != "line" else lines[-1]
    assert is_within(rows_of(remove_key(text, path) if key in table else text), rows_of(after))
    assert after.count("\r\n") == (after.count("\n") if "\r\n" in text else 0)
    assert set_key(after, path, value) == after


@given(documents(), st.dictionaries(st.sampled_from(["id", "odd key", "é"]), _VALUES))
def test_a_member_comes_and_goes_without_a_trace(text: str, values: dict[str, Any]) -> None:
    after = add_member(text, "line", values)
    assert tomllib.loads(after)["line"] == [*tomllib.loads(text).get("line", []), values]
    assert is_within(rows_of(text), rows_of(after))
    gone = remove_table(after, ("line", len(tomllib.loads(after)["line"]) - 1))
    assert [row for row in rows_of(gone) if row.strip()] == [row for row in rows_of(text) if row.strip()]


@given(documents(), st.data())
def test_members_that_change_places_keep_the_rows_between_them(text: str, data: Any) -> None:
    lines = tomllib.loads(text).get("line", [])
    if not lines:
        return
    number, to = (data.draw(st.integers(0, len(lines) - 1)) for _ in range(2))
    after = move_member(text, "line", number, to)
    moved = [*lines]
    moved.insert(to, moved.pop(number))
    assert tomllib.loads(after)["line"] == moved
    assert sorted(rows_of(after)) == sorted(rows_of(text))
    assert move_member(after, "line", to, number) == text


def test_a_value_keeps_the_words_beside_it() -> None:
    text = set_key(CEDAR, ("digging", "entered"), True)
    assert text == CEDAR.replace("entered = false ", "entered = true ")
    text = set_key(CEDAR, ("line", 0, "product"), "pe-1-cts")
    assert text == CEDAR.replace('"pe-1-ips"', '"pe-1-cts"', 1)


def test_a_new_key_stands_below_the_keys_of_its_table_not_below_the_comments_after_it() -> None:
    text = '[[line]]\nid = "a"\n# [[override]]\n# row = "r"\n\n[site]\nname = "x"\n'
    assert set_key(text, ("line", 0, "cover"), "5 ft") == text.replace('"a"\n', '"a"\ncover = "5 ft"\n')


def test_a_new_member_stands_below_the_last_one_and_a_new_table_below_its_comment() -> None:
    text = '[[line]]\nid = "a"\n\n# [[override]]  # shown\n# row = "r"\n\n[site]\nname = "x"\n'
    lines = add_member(text, "line", {"id": "b"})
    assert lines.startswith('[[line]]\nid = "a"\n\n[[line]]\nid = "b"\n\n# [[override]]')
    overrides = add_member(text, "override", {"row": "r", "distance": "5 ft"})
    assert '# row = "r"\n\n[[override]]\nrow = "r"\ndistance = "5 ft"\n\n[site]' in overrides
    assert remove_table(overrides, ("override", 0)) == text
    assert add_table(text, "facts", {"dry": True}) == text + "\n[facts]\ndry = true\n"


@pytest.mark.parametrize(
    ("text", "path", "wanted"),
    [
        ('site = { name = "x" } # y\n', ("site", "name"), 'site = { name = "é" } # y\n'),
        ('site.name = "x"\nsite.rules = "us"\n', ("site", "name"), 'site.name = "é"\nsite.rules = "us"\n'),
        ('site.rules = "us"\n', ("site", "name"), 'site.rules = "us"\nsite.name = "é"\n'),
        ('line = [{ id = "a" }]\n', ("line", 0, "name"), 'line = [{ id = "a" , name = "é"}]\n'),
    ],
)
def test_other_ways_to_write_a_table(text: str, path: tuple[str | int, ...], wanted: str) -> None:
    after = set_key(text, path, "é")
    assert after.replace(" ", "") == wanted.replace(" ", "")


def test_a_member_is_found_by_its_id() -> None:
    assert number_of(CEDAR, "line", "id", "water-barn") == 2
    with pytest.raises(InputFaults, match='one with id = "nobody"'):
        number_of(CEDAR, "line", "id", "nobody")


@pytest.mark.parametrize(
    "edit",
    [
        lambda: set_key("no toml", ("site", "name"), "x"),
        lambda: set_key('[[line]]\nid = "a"\n', ("line", 3, "name"), "x"),
        lambda: set_key("site = 3\n", ("site", "name"), "x"),
        lambda: remove_key("[site]\n", ("site", "name")),
        lambda: add_table("[site]\n", "site", {}),
        lambda: remove_table("[site]\n", ("line", 0)),
        lambda: move_member("[site]\n", "line", 0, 1),
    ],
)
def test_what_cannot_be_changed_is_said_and_nothing_is_guessed(edit: Any) -> None:
    with pytest.raises(InputFaults, match=r"site\.toml"):
        edit()
