"""A file that was dropped on the page: read by itself, as in a folder, then taken into the drawing or kept beside it."""

from __future__ import annotations

import csv
import tempfile
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from functools import lru_cache
from pathlib import Path
from typing import Any

import tomlkit
from tomlkit.items import InlineTable

from siteplan.document.geojson import feature
from siteplan.errors import InputFaults
from siteplan.read import read_site
from siteplan.read.features import feature_of
from siteplan.read.files import read_alone
from siteplan.read.folder import TIES, input_files, read_text
from siteplan.read.record import Contents, Record
from siteplan.read.shapes import Form, form_of
from siteplan.read.site_file import SITE_TOML, read_site_file
from siteplan.read.site_model import FileTable, GridTable
from siteplan.read.ties import parse_ties
from siteplan.read.words import FaultList, Place
from siteplan.site.catalogue import Kind, kinds
from siteplan.web.bring_names import PARTS, TAKEN, Brought, refusal
from siteplan.web.site_store import NO_FILE, SITE_FILE, SiteStore
from siteplan.web.toml_edit import add_member, number_of, remove_table
from siteplan.web.trial import newly_wrong, tried

MOST_BYTES = 20_000_000
"""Of all files of one import. What is larger can still be copied into the folder by hand."""

_TABLES = frozenset(("levels", "ties"))
_OWN = frozenset(("kind", "name", "status", "method", "error", "shared_error", "edge", "outing"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """What the user says of a file.

    ``kinds`` has the kind of what states none by its form; ``epsg`` and ``unit`` are those of x and y; ``columns`` the names
    that a table has for ours.
    """

    kinds: Mapping[str, str]
    method: str | None = None
    outing: str | None = None
    epsg: int | None = None
    unit: str | None = None
    columns: Mapping[str, str] = field(default_factory=dict)


def looked_at(brought: Brought, wanted: Wanted, folder: Path) -> dict[str, Any]:
    """Say what is in a file: how many things of what form and kind, or rows.

    Raises
    ------
    InputFaults
        It cannot be read; by file and line.
    """
    contents = _read(brought, wanted, folder)
    told: dict[str, Any] = {"sort": brought.sort, "name": brought.name, "words": _words(brought, contents)}
    if brought.sort in _TABLES:
        return {**told, "there": (folder / brought.name).exists()}
    bare = [each for each in contents.records if "kind" not in each.properties]
    forms = Counter(form_of(each.shape) for each in bare if each.shape is not None)
    of_gpx = brought.name.endswith(".gpx")
    return {
        **told,
        "bare": [
            {"form": form, "count": count, "forms": _may_be(form, of_gpx=of_gpx)}
            for form, count in forms.items()
            if form
        ],
        "unmeasured": sum(
            "method" not in each.properties and "error" not in each.properties for each in contents.records
        ),
    }


def features(brought: Brought, wanted: Wanted, folder: Path) -> dict[str, Any]:
    """Make features of the drawing of a file of things; what a kind does not state is left out and named.

    Raises
    ------
    InputFaults
        As for ``looked_at``, and what is wrong with one of the things.
    """
    contents = _read(brought, wanted, folder)
    faults, left_out, made = FaultList(), set[str](), []
    for number, record in enumerate(contents.records, 1):
        bare = "kind" not in record.properties
        whole, dropped = _whole(record, wanted, bare=bare)
        if bare:  # a GIS numbers its rows: that is no name for anything
            whole = replace(whole, id=f"{Path(brought.name).stem}-{number}")
        left_out |= dropped
        if feature_of(whole, None, faults) is not None and whole.shape is not None:
            made.append(feature(whole.shape, whole.properties, whole.id))
    if len(faults):
        raise faults.error()
    if contents.spots:
        left_out.add(_several(len(contents.spots), "ground height"))
    counts = Counter(str(each["properties"]["kind"]) for each in made)
    return {"features": made, "words": _counted(counts), "left_out": sorted(left_out)}


def keep(brought: Brought, wanted: Wanted, store: SiteStore, *, instead: bool) -> str | None:
    """Put a file into the folder, if all can be read with it; its name, or ``None`` if one of that name is there.

    What it does not say itself goes into a ``[[file]]`` table of ``site.toml``.

    Raises
    ------
    InputFaults
        What is wrong in it, or with the folder once it is there.
    """
    stands = {name: store.revision(name) for name in brought.contents}
    if not instead and any(revision != NO_FILE for revision in stands.values()):
        return None
    if brought.sort == "things":
        contents = _read(brought, wanted, store.folder)
        faults = FaultList()
        for record in contents.records:
            feature_of(record, None, faults)
        if len(faults):
            raise faults.error()
    changes = dict(brought.contents)
    said: dict[str, Any] = {
        "epsg": wanted.epsg,
        "unit": wanted.unit,
        "method": wanted.method,
        "outing": wanted.outing,
        "columns": _inline(wanted.columns),
    }
    if entry := {name: value for name, value in said.items() if value and brought.sort != "ties"}:
        text = _without_entry(store.text(SITE_TOML), brought.name)
        changes[SITE_TOML] = add_member(text, "file", {"path": brought.name, **entry}).encode()
        stands[SITE_TOML] = store.revision(SITE_TOML)
    within = store.versions.folder
    within.mkdir(exist_ok=True)
    after = tried(store.folder, changes, within)
    if isinstance(after, tuple):
        before = tried(store.folder, {}, within)
        if wrong := newly_wrong(after, before if isinstance(before, tuple) else ()):
            raise InputFaults(wrong)
    return brought.name if store.save_files(changes, stands) else None


def beside(folder: Path) -> dict[str, Any]:
    """Files of the folder that are read beside the drawing, and the things in them as features."""
    text = read_text(folder / SITE_TOML, FaultList())
    site_file = None if text is None else read_site_file(text, FaultList())
    entries = {row.table.path: row.table for row in site_file.files} if site_file else {}
    found = []
    for path in input_files(folder):
        if path.name == SITE_FILE or path.suffix.lower() not in TAKEN:
            continue
        contents = read_alone(path, entries.get(path.name), tape_grid(folder), FaultList())
        words = (
            "" if contents is None else _words(Brought(sort="things", contents={path.name: b""}), contents)
        )
        found.append({"name": path.name, "words": words or "not read"})
    return {"files": found, "things": _things_beside(folder)}


def _things_beside(folder: Path) -> list[dict[str, Any]]:
    try:
        site = read_site(folder, finished=False)
    except InputFaults:
        return []
    return [
        feature(each.shape, {"kind": each.kind, "name": each.name, "status": each.status}, each.id)
        for each in site.features
        if each.source.file not in (SITE_FILE, SITE_TOML) and site.coordinates == "lonlat"
    ]


def take_out(name: str, store: SiteStore) -> bool:
    """Take a file that was kept beside the drawing out again; ``False`` if there is none of that name."""
    if name == SITE_FILE or name not in {path.name for path in input_files(store.folder)}:
        return False
    path = Path(name)
    parts = [path.with_suffix(end).name for end in PARTS] if path.suffix.lower() == ".shp" else []
    gone = [name, *(part for part in parts if (store.folder / part).is_file())]
    changes: dict[str, bytes | None] = dict.fromkeys(gone)
    text = store.text(SITE_TOML)
    if (rest := _without_entry(text, name)) != text:
        changes[SITE_TOML] = rest.encode()
    return store.save_files(changes, {each: store.revision(each) for each in changes})


def _inline(columns: Mapping[str, str]) -> InlineTable | None:
    if not columns:
        return None
    made = tomlkit.inline_table()
    made.update(columns)
    return made


def _without_entry(text: str, name: str) -> str:
    """Take the ``[[file]]`` table of a file out of ``site.toml``."""
    try:
        return remove_table(text, ("file", number_of(text, "file", "path", name)))
    except InputFaults:
        return text


def _read(brought: Brought, wanted: Wanted, folder: Path) -> Contents:
    """Read the files in a folder of their own."""
    faults = FaultList()
    entry = FileTable(
        path=brought.name,
        epsg=wanted.epsg,
        unit=wanted.unit,  # type: ignore[arg-type]
        kind=wanted.kinds.get("line") if brought.name.endswith(".gpx") else None,
        columns=dict(wanted.columns),
    )
    with tempfile.TemporaryDirectory() as name:
        alone = Path(name)
        for each, content in brought.contents.items():
            (alone / each).write_bytes(content)
        if brought.sort == "ties":
            text = read_text(alone / TIES, faults)
            rows = () if text is None else parse_ties(text, TIES, faults)
            contents: Contents | None = Contents(axes="xy", records=(), spots=())
            if text is not None and not rows and not len(faults):
                faults.add(Place(file=TIES), found="no measurements", expected="one row a measurement")
        else:
            contents = read_alone(alone / brought.name, entry, tape_grid(folder), faults)
    if contents is None or len(faults):
        raise faults.error()
    if brought.sort != "ties" and not contents.records and not contents.spots:
        raise refusal(brought.name, "nothing in it", "things, or ground heights")
    return contents


def tape_grid(folder: Path) -> GridTable | None:
    """Return the tape grid in which a site is measured; ``None``: it is drawn in longitude and latitude."""
    text = read_text(folder / SITE_TOML, FaultList())
    return None if text is None else _grid_in(text)


@lru_cache(maxsize=4)
def _grid_in(text: str) -> GridTable | None:
    """As ``tape_grid``, of the text of ``site.toml``: asked at every change of the drawing."""
    site_file = read_site_file(text, FaultList())
    return site_file.grid if site_file else None


def _whole(record: Record, wanted: Wanted, *, bare: bool) -> tuple[Record, set[str]]:
    """Complete a record by what the user says; of a bare one only what its kind states stays. With the names left out."""
    said = {name: _plain(value) for name, value in record.properties.items()}
    form = form_of(record.shape) if record.shape is not None else None
    kind = said.get("kind") or wanted.kinds.get(str(form))
    if kind is None and form == "area":  # a track that goes round one
        kind = wanted.kinds.get("line")
    usual = {"kind": kind, "method": wanted.method, "outing": wanted.outing}
    if "error" in said:
        usual["method"] = None
    said = {name: value for name, value in usual.items() if value} | said
    row: Kind | None = kinds().get(str(kind))
    dropped = set[str]()
    if bare and row is not None:
        fits = {*_OWN, *row.facts}
        dropped = {name for name in said if name not in fits and not name.startswith("note")}
    kept = {name: value for name, value in said.items() if name not in dropped}
    return replace(record, properties=kept), dropped


def _plain(value: object) -> object:
    if isinstance(value, date):
        return value.isoformat()[:10]
    return value if isinstance(value, str | bool | int | float) else str(value)


def _may_be(form: Form | None, *, of_gpx: bool) -> list[str]:
    """Forms of the kinds that a bare shape may be: a track may also go round an area."""
    return ["line", "area"] if of_gpx and form == "line" else [str(form)]


def _words(brought: Brought, contents: Contents) -> str:
    if brought.sort == "ties":
        count = sum(
            1 for row in csv.reader(brought.contents[TIES].decode("utf-8-sig").splitlines()) if any(row)
        )
        return _several(count - 1, "measurement")
    heights = _several(len(contents.spots), "ground height") if contents.spots else ""
    counts = Counter(str(each.properties.get("kind", "")) for each in contents.records)
    bare = counts.pop("", 0)
    words = [_counted(counts), f"{_several(bare, 'thing')} without a kind" if bare else "", heights]
    return ", ".join(each for each in words if each)


def _counted(counts: Mapping[str, int]) -> str:
    known = kinds()
    return ", ".join(
        f"{count} × {known[kind].name if kind in known else kind}" for kind, count in sorted(counts.items())
    )


def _several(count: int, what: str) -> str:
    return f"{count} {what}" + ("" if count == 1 else "s")
