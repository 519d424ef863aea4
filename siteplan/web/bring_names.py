"""What a file that was dropped on the page is called in the folder.

The browser's name of a file is a name to show and an ending to look up. Where it is written is decided here.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from siteplan.errors import Fault, InputFaults
from siteplan.read.folder import LEVELS, NOT_READ, TIES
from siteplan.read.site_file import SITE_TOML
from siteplan.web.site_store import SITE_FILE

PARTS = (".shx", ".dbf", ".prj", ".cpg")
"""What comes along with a ``.shp``."""

TAKEN = (".geojson", ".csv", ".gpx", ".kml", ".gpkg", ".fgb", ".shp")
"""Endings of the files that are read."""

_OTHERS = {SITE_TOML, SITE_FILE, LEVELS, TIES, "asbuilt.geojson", "shots.csv"}
"""Names that mean something else than a file of things."""

_LONGEST_STEM = 40


@dataclass(frozen=True, slots=True, kw_only=True)
class Brought:
    """Files of one import under the names that they get here, the one that is read first."""

    sort: str
    contents: Mapping[str, bytes]

    @property
    def name(self) -> str:
        """Name of the file that is read."""
        return next(iter(self.contents))


def named(files: Sequence[tuple[str, bytes]], folder: Path) -> Brought:
    """Give dropped files a clean name that is free in the folder.

    Raises
    ------
    InputFaults
        No file that is read, or several that do not belong together.
    """
    suffixes = [_suffix(name) for name, _ in files]
    mains = [number for number, suffix in enumerate(suffixes) if suffix not in PARTS]
    if len(mains) != 1 or (len(files) > 1 and suffixes[mains[0]] != ".shp"):
        raise refusal("files", f"{len(files)} files", "one file, or a .shp with its .shx, .dbf and .prj")
    (first,) = mains
    suffix = suffixes[first]
    if suffix not in TAKEN:
        mend = NOT_READ.get(suffix, "save it in one of these formats")
        raise refusal(f"file{suffix}", "a file that is not read", f"one of {', '.join(TAKEN)}", mend)
    if suffix == ".csv" and (table := _table_sort(*files[first])):
        return Brought(sort=table, contents={f"{table}.csv": files[first][1]})
    stem = _free_stem(_stem(files[first][0]), suffix, folder)
    ordered = [files[first], *(each for number, each in enumerate(files) if number != first)]
    contents = {f"{stem}{_suffix(name)}": content for name, content in ordered}
    if len(contents) < len(files):
        raise refusal(f"{stem}{suffix}", "a part of it twice", "each part once")
    return Brought(sort="things", contents=contents)


def _table_sort(name: str, content: bytes) -> str | None:
    """Tell the two tables that have a name of their own by their columns, as a browser may have named them anew.

    Numbered heights may be anything; those whose file is called after the table are levels.
    """
    first = next(iter(content[:4000].decode("utf-8-sig", "replace").splitlines()), "")
    columns = {cell.strip() for cell in next(csv.reader([first]), [])}
    if {"point", "from"} <= columns:
        return "ties"
    heights = {"elevation", "elevation_m", "elevation_ft"} & columns
    other = {"kind", "name"} if _stem(name).casefold().startswith("levels") else {"id", "kind", "name"}
    return "levels" if heights and not columns & other else None


def _suffix(name: str) -> str:
    found = re.search(r"\.[A-Za-z0-9]{1,8}$", name)
    return found[0].lower() if found else ""


def _stem(name: str) -> str:
    """Letters and figures of the browser's name, without its folders and its ending."""
    last = re.split(r"[/\\]", name)[-1]
    words = re.findall(r"[a-z0-9]+", last[: len(last) - len(_suffix(last))].lower())
    return "-".join(words)[:_LONGEST_STEM].strip("-") or "file"


def _free_stem(stem: str, suffix: str, folder: Path) -> str:
    """A stem that no file of the folder has, whatever its ending, so that parts of two do not mix."""
    taken = {path.name.split(".")[0].lower() for path in folder.iterdir()}
    taken |= {name.split(".")[0] for name in _OTHERS}
    number, free = 1, stem
    while free in taken:
        number += 1
        free = f"{stem}-{number}"
    return free


def refusal(file: str, found: str, expected: str, mend: str = "") -> InputFaults:
    """Say of one file what is wrong with it."""
    return InputFaults([Fault(file=file, found=found, expected=expected, mend=mend)])
