from __future__ import annotations

import json
import tomllib
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from siteplan.site.toml_lines import line_of, toml_lines

BARE = st.text("abcxyz019_-", min_size=1, max_size=4)
AWKWARD = st.text("ab \".=[]#'", max_size=5)
KEY = st.one_of(BARE, AWKWARD.map(json.dumps))
VALUE = st.one_of(
    st.integers(0, 99).map(str),
    st.sampled_from(
        ["true", "2026-11-25", "1.5", "'# no = comment'", '"a = [b] \\" #"', "[1, 2]", "{ q = 1 }"]
    ),
    st.sampled_from(
        [
            '"""\none = 1\n[two]\n"""',
            "'''\n# three\nfour = 4\n'''",
            '["[x]",\n  # a = 1\n "b"]',
            '""""quoted""""',
        ]
    ),
)


@st.composite
def documents(draw: st.DrawFn) -> str:
    """Tables, arrays of tables and keys in any order, some of which TOML refuses."""
    lines = []
    for _ in range(draw(st.integers(1, 12))):
        keys = ".".join(draw(st.lists(KEY, min_size=1, max_size=2)))
        shape = draw(
            st.sampled_from(
                ["{k} = {v}", "{k}= {v} # note", "[{k}]", "[[{k}]]", "  [ {k} ]", "", "# {k} = {v}"]
            )
        )
        lines.append(shape.format(k=keys, v=draw(VALUE)))
    return "\n".join(lines)


def paths(value: Any, path: tuple[str | int, ...] = ()) -> list[tuple[str | int, ...]]:
    items = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    return [path, *(deep for key, each in items for deep in paths(each, (*path, key)))]


@given(documents())
def test_every_line_given_holds_its_key(text: str) -> None:
    try:
        content = tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return
    lines = toml_lines(text)
    known = set(paths(content))
    rows = text.split("\n")
    for path, line in lines.items():
        assert path in known, f"{path} is not in the document"
        names = [key for key in path if isinstance(key, str)]
        row = rows[line - 1]
        assert names[-1] in row or json.dumps(names[-1]) in row


@given(documents())
def test_every_key_outside_of_inline_tables_has_a_line(text: str) -> None:
    try:
        content = tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return
    lines = toml_lines(text)
    for key in content:
        assert line_of(lines, (key,)) is not None or any(path[0] == key for path in lines)


def test_lines_of_arrays_of_tables_and_long_texts() -> None:
    text = 'a = """\nb = 1\n"""\n[[c]]\nd = [\n  "]", # ]\n]\n"e f" = 1\n[[c]]\n[c.g]\nh.i = 2\n'
    assert toml_lines(text) == {
        ("a",): 1,
        ("c",): 4,
        ("c", 0): 4,
        ("c", 0, "d"): 5,
        ("c", 0, "e f"): 8,
        ("c", 1): 9,
        ("c", 1, "g"): 10,
        ("c", 1, "g", "h"): 11,
        ("c", 1, "g", "h", "i"): 11,
    }


def test_what_has_no_line_takes_that_of_what_it_stands_in() -> None:
    lines = toml_lines("[a]\nb = { c = 1 }\n")
    assert line_of(lines, ("a", "b", "c")) == 2
    assert line_of(lines, ("z",)) is None
