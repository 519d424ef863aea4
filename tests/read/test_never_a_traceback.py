"""Whatever stands in the files, ``read_site`` gives a site or names faults."""

from __future__ import annotations

import json
import tempfile
from pathlib import Path
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st
from small_site import SITE_TOML, collection, faults, good, write

NAMES = ["site.toml", "site.geojson", "levels.csv", "p.csv", "p.gpx", "p.kml", "p.gpkg", "p.fgb", "p.shp"]
ODD: st.SearchStrategy[Any] = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(),
    st.floats(),
    st.text(max_size=8),
    st.sampled_from(
        [
            "well",
            "building",
            "9 ft",
            "Point",
            "Polygon",
            [],
            {},
            [[]],
            [[[]]],
            [1, 2],
            [[1, 2]],
            {"type": "name"},
        ]
    ),
)


def said(**texts: str | bytes) -> list[str]:
    with tempfile.TemporaryDirectory() as folder:
        return faults(write(Path(folder), **texts))


@settings(max_examples=60, deadline=None)
@given(
    st.sampled_from(NAMES),
    st.one_of(
        st.binary(max_size=200), st.text(max_size=200).map(lambda text: text.encode("utf-8", "replace"))
    ),
)
def test_any_bytes_in_any_file(name: str, content: bytes) -> None:
    said(**{name.replace(".", "__"): content})


def spots(value: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    items = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    return [path, *(deep for key, each in items for deep in spots(each, (*path, key)))]


def put(value: Any, path: tuple[Any, ...], new: Any) -> Any:
    if not path:
        return new
    key, *rest = path
    copy = dict(value) if isinstance(value, dict) else list(value)
    copy[key] = put(copy[key], tuple(rest), new)
    return copy


GROUND = json.loads(collection(good()))


@settings(max_examples=150, deadline=None)
@given(st.sampled_from(spots(GROUND)[1:]), ODD)
def test_any_value_anywhere_in_the_drawing(path: tuple[Any, ...], new: Any) -> None:
    said(site__geojson=json.dumps(put(GROUND, path, new)))


FULL = SITE_TOML + (
    'cover = "5 ft"\nmethod = "x"\n[paper]\nprepared = 2026-11-25\n[facts]\na = 1\n[looked]\nprivy = "none"\n'
    '[[override]]\nrow = "r"\nreason = "w"\nleast = "9 ft"\n[[file]]\npath = "site.geojson"\nepsg = 32100\nunit = "m"\n'
    'kind = "tree"\ncolumns = { x = "X" }\n[grid]\nunit = "ft"\norigin = [-112.0, 46.0]\nnorth = "1 deg"\n'
)
LINES = ["", "x = 1", "[x]", "[[line]]", "[site]", "[[grid]]", '"" = 1']
VALUES = [
    "[]",
    "{}",
    "nan",
    "-inf",
    "1",
    "-1",
    "1e400",
    '""',
    '"x"',
    "true",
    "2026-11-25",
    "[[1]]",
    "{ a = [] }",
    "99999999999999999999",
]


@settings(max_examples=200, deadline=None)
@given(st.sampled_from(FULL.splitlines()), st.sampled_from(LINES), st.sampled_from(VALUES), st.booleans())
def test_any_line_or_value_of_site_toml_replaced(row: str, line: str, value: str, whole: bool) -> None:
    key, equals, _ = row.partition("= ")
    said(site__toml=FULL.replace(row, line if whole or not equals else f"{key}= {value}", 1))


@settings(max_examples=100, deadline=None)
@given(
    st.lists(
        st.lists(
            st.sampled_from(
                ["well", "tree", "building", "1", "nan", "", "9 ft", "-111.9995", "46.0005", "area"]
            ),
            max_size=7,
        ),
        max_size=5,
    )
)
def test_any_cells_in_a_table(rows: list[list[str]]) -> None:
    head = "id,kind,longitude,latitude,shape,elevation\n"
    said(p__csv=head + "\n".join(",".join(row) for row in rows))
