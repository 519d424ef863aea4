"""Rules files to stacks: ``us/mt/helena`` is read with ``us/mt`` and ``us`` above it.

A row holds unless a row of a layer below says that it ``replaces`` it, with a reason. Everything that does not fit is
named at once with file and line.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from siteplan.errors import Fault, InputFaults
from siteplan.rules.among_rows import among_rows
from siteplan.rules.compiled import SITE_FACTS, compile_row
from siteplan.rules.doubts import doubts
from siteplan.rules.faults import Places, Unfit, nearest, shown
from siteplan.rules.rows import ROWS, Head, Row, SetbackRow
from siteplan.rules.setback_rows import kinds_named
from siteplan.rules.stack import Layer, Placed, Stack
from siteplan.site.catalogue import kinds, layers_folder

FILE = "rules.toml"
_TABLES = {row.table: row for row in ROWS}
_AT_LINE = re.compile(r"at line (\d+)")
_ROW = re.compile(rf"^\[\[({'|'.join(_TABLES)})\]\]", re.MULTILINE)
_VERIFIED = re.compile(r"^status = \"verified\"", re.MULTILINE)


@dataclass(frozen=True, slots=True, kw_only=True)
class LayerInfo:
    """One layer in the list: its name, whose rules they are, how many of its rows were read at the source, is it whole."""

    name: str
    title: str
    authority: str
    edition: str
    covers: str
    rows: int
    verified: int
    thin: bool = False


def available_layers(folder: Path | None = None) -> list[LayerInfo]:
    """List all layers, sorted by name; ``folder`` is ``layers/`` unless said.

    Reads the heads and counts the rows, and checks no row. Raises ``InputFaults`` if a head does not fit.
    """
    root = _folder(folder)
    found: list[LayerInfo] = []
    faults: list[Fault] = []
    for name in _names(root):
        text, unread = _text(root / name / FILE, _file(name))
        heading = _ROW.search(text)
        data, unfit = _data(text[: heading.start()] if heading else text, _file(name))
        head = None if unread or unfit else _head(data, Places(_file(name), text, data), faults)
        faults += unread or unfit
        if head is not None:
            found.append(
                LayerInfo(
                    name=name,
                    title=head.title,
                    authority=head.authority,
                    edition=head.edition,
                    covers=head.covers,
                    rows=len(_ROW.findall(text)),
                    verified=len(_VERIFIED.findall(text)),
                    thin=head.thin,
                )
            )
    if faults:
        raise InputFaults(faults)
    return found


def load_stack(name: str, folder: Path | None = None) -> Stack:
    """Read a layer and all layers above it.

    Parameters
    ----------
    name : str
        Such as ``us/mt/helena``.
    folder : Path, optional
        Folder of the layers; ``layers/`` of siteplan unless said.

    Raises
    ------
    InputFaults
        No such layer (the nearest name is offered), a layer above it is missing, or a file does not fit.
    """
    root = _folder(folder)
    parts = name.split("/")
    names = ["/".join(parts[:count]) for count in range(1, len(parts) + 1)]
    absent = [one for one in names if not (root / one / FILE).is_file()]
    if name in absent:
        known = _names(root)
        fault = Fault(
            file=f"layers/{name}/{FILE}",
            found="no such layer",
            expected=f"one of {', '.join(known)}",
            mend=nearest(name, known),
        )
        raise InputFaults([fault])
    if absent:
        raise InputFaults(
            Fault(
                file=f"layers/{name}/{FILE}",
                found=f"no layers/{one}/{FILE}",
                expected=f"every layer above {name}",
                mend=f"write layers/{one}/{FILE}, or move {name}",
            )
            for one in absent
        )
    layers: list[Layer] = []
    faults: list[Fault] = []
    for one in names:
        layer, found = _read(root / one / FILE, one, tuple(layers))
        faults += found
        if layer is not None:
            layers.append(layer)
    if faults:
        raise InputFaults(faults)
    return _stacked(name, tuple(layers))


@lru_cache(maxsize=64)
def _stacked(name: str, layers: tuple[Layer, ...]) -> Stack:
    """Layers that fit as a stack; the same layers are the same stack."""
    rows, set_aside = _in_force(layers)
    return Stack(name=name, layers=layers, rows=rows, set_aside=set_aside)


def check_file(path: Path) -> list[Fault]:
    """Name everything to mend in one rules file; an empty list if it fits.

    A file inside ``layers/`` is checked together with the layers above it; any other file by itself. Beside what keeps a file
    from loading this names what it can hardly mean (``doubts``).
    """
    root = layers_folder().resolve()
    resolved = path.resolve()
    if path.name == FILE and resolved.is_relative_to(root) and resolved.parent != root:
        try:
            layer: Layer | None = load_stack(resolved.parent.relative_to(root).as_posix()).layers[-1]
        except InputFaults as faults:
            return list(faults.faults)
    else:
        layer, found = _read(path, path.parent.name, None, file=str(path))
        if found:
            return list(found)
    return [] if layer is None else doubts(layer, path.read_text(encoding="utf-8"))


def layer_schema() -> dict[str, Any]:
    """JSON Schema of a rules file, for editors that check while one types."""
    head = Head.model_json_schema(ref_template="#/$defs/{model}")
    parts = {row.table: row.model_json_schema(by_alias=True, ref_template="#/$defs/{model}") for row in ROWS}
    defs: dict[str, Any] = {}
    for part in (head, *parts.values()):
        defs.update(part.pop("$defs", {}))
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "A rules file of siteplan",
        "type": "object",
        "additionalProperties": False,
        "required": ["layer"],
        "properties": {
            "layer": head,
            **{name: {"type": "array", "items": part} for name, part in parts.items()},
        },
        "$defs": dict(sorted(defs.items())),
    }


def _folder(folder: Path | None) -> Path:
    return folder if folder is not None else layers_folder()


def _names(root: Path) -> list[str]:
    return sorted(path.parent.relative_to(root).as_posix() for path in root.glob(f"**/{FILE}"))


def _file(name: str) -> str:
    return f"layers/{name}/{FILE}"


def _text(path: Path, file: str) -> tuple[str, list[Fault]]:
    try:
        return path.read_text(encoding="utf-8"), []
    except (OSError, UnicodeDecodeError) as error:
        found = "no such file" if isinstance(error, FileNotFoundError) else str(error)
        return "", [Fault(file=file, found=found, expected="a readable TOML file")]


def _data(text: str, file: str) -> tuple[dict[str, Any], list[Fault]]:
    try:
        return tomllib.loads(text), []
    except tomllib.TOMLDecodeError as error:
        line = _AT_LINE.search(str(error))
        number = int(line[1]) if line else None
        return {}, [Fault(file=file, line=number, found=str(error), expected="a readable TOML file")]


def _read(
    path: Path, name: str, above: tuple[Layer, ...] | None, *, file: str = ""
) -> tuple[Layer | None, tuple[Fault, ...]]:
    """One file, checked; ``above`` is ``None`` if the layers above it are not known."""
    file = file or _file(name)
    text, faults = _text(path, file)
    return (None, tuple(faults)) if faults else _checked(text, name, above, file)


@lru_cache(maxsize=512)
def _checked(
    text: str, name: str, above: tuple[Layer, ...] | None, file: str
) -> tuple[Layer | None, tuple[Fault, ...]]:
    """The text of one file, checked; the same text below the same layers is checked once."""
    data, faults = _data(text, file)
    if faults:
        return None, tuple(faults)
    places = Places(file, text, data)
    faults += _unknown_tables(data, places)
    head = _head(data, places, faults)
    site_facts = {**(head.site_facts if head else {})}
    for layer in above or ():
        site_facts = {**layer.head.site_facts, **site_facts}
    rows: list[Placed[Row]] = []
    where: dict[str, tuple[str, int]] = {}
    for table, row_type in _TABLES.items():
        for place, raw in enumerate(_members(data, table)):
            row = _row(row_type, raw, (table, place), places, faults)
            if row is None:
                continue
            ready, problems = compile_row(row, site_facts)
            faults += [places.fault((table, place, *inner), unfit) for inner, unfit in problems]
            if row.id in where:
                unfit = Unfit(found=f'the id "{row.id}" twice', expected="an id of its own")
                faults.append(places.fault((table, place, "id"), unfit))
            where[row.id] = (table, place)
            rows.append(
                Placed(
                    row=row,
                    layer=name,
                    home=name,
                    when=ready.when,
                    over=ready.over,
                    formula=ready.formula,
                    raw=raw,
                )
            )
    if head is None:
        return None, tuple(faults)
    faults += [
        places.fault((*where[row_id], *inner), unfit) for row_id, inner, unfit in among_rows(rows, above)
    ]
    faults += [places.fault(("layer", *inner), unfit) for inner, unfit in _head_problems(head, rows)]
    return Layer(name=name, file=file, head=head, rows=tuple(rows)), tuple(faults)


def _unknown_tables(data: dict[str, Any], places: Places) -> Iterator[Fault]:
    for table, value in data.items():
        if table not in _TABLES and table != "layer":
            unfit = Unfit(
                found=f'the unknown table "{table}"',
                expected=f"one of layer, {', '.join(_TABLES)}",
                mend=nearest(table, [*_TABLES, "layer"]),
            )
            yield places.fault((table,), unfit)
        elif table in _TABLES and not (
            isinstance(value, list) and all(isinstance(row, dict) for row in value)
        ):
            yield places.fault((table,), Unfit(found=f"[{table}]", expected=f"[[{table}]] for each row"))


def _members(data: dict[str, Any], table: str) -> list[dict[str, Any]]:
    value = data.get(table, [])
    return [row for row in value if isinstance(row, dict)] if isinstance(value, list) else []


def _head(data: dict[str, Any], places: Places, faults: list[Fault]) -> Head | None:
    try:
        return Head.model_validate(data.get("layer", {}))
    except ValidationError as error:
        faults += places.of(error, Head, ("layer",))
        return None


def _row(
    row_type: type[Row], raw: dict[str, Any], path: tuple[str, int], places: Places, faults: list[Fault]
) -> Row | None:
    try:
        return row_type.model_validate(raw)
    except ValidationError as error:
        faults += places.of(error, row_type, path)
        return None


def _head_problems(head: Head, rows: list[Placed[Row]]) -> Iterator[tuple[tuple[str, ...], Unfit]]:
    """What does not fit in the head: silent kinds that rows speak of, tables that are none, facts of another sort."""
    spoken = {
        kind
        for placed in rows
        if isinstance(placed.row, SetbackRow) and placed.row.in_plan
        for kind in kinds_named(placed.row.to)
    }
    for kind in head.silent:
        if kind not in kinds():
            unfit = Unfit(
                found=shown(kind), expected="a kind of layers/kinds.toml", mend=nearest(kind, kinds())
            )
            yield ("silent",), unfit
        elif kind in spoken:
            unfit = Unfit(found=f'"{kind}", of which a setback row speaks', expected="kinds without a number")
            yield ("silent",), unfit
    for table in head.preempts:
        if table not in _TABLES:
            unfit = Unfit(
                found=shown(table), expected=f"one of {', '.join(_TABLES)}", mend=nearest(table, _TABLES)
            )
            yield ("preempts",), unfit
    for name, sort in head.site_facts.items():
        if SITE_FACTS.get(name, sort) != sort:
            unfit = Unfit(found=shown(sort), expected=f'"{SITE_FACTS[name]}", as in every layer')
            yield ("site_facts", name), unfit


def _in_force(
    layers: tuple[Layer, ...],
) -> tuple[tuple[Placed[Row], ...], tuple[tuple[Placed[Row], str], ...]]:
    """Rows that count, and rows of tables that a layer above preempts, with its name."""
    rows: dict[str, Placed[Row]] = {}
    set_aside: list[tuple[Placed[Row], str]] = []
    preempted: dict[str, str] = {}
    for layer in layers:
        for placed in layer.rows:
            by = preempted.get(placed.row.table)
            if by is not None:
                set_aside.append((placed, by))
                continue
            rows.pop(placed.row.replaces, None)
            rows[placed.row.id] = placed
        for table in layer.head.preempts:
            preempted.setdefault(table, layer.name)
    return tuple(rows.values()), tuple(set_aside)
