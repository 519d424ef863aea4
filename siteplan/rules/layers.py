"""Rules files to stacks: ``us/mt/helena`` is read with ``us/mt`` and ``us`` above it.

A row holds unless a row of a layer below says that it ``replaces`` it, with a reason. Everything that does not fit is
named at once with file and line.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from siteplan.errors import Fault, InputFaults
from siteplan.rules.compiled import compile_when, problems_of_kinds
from siteplan.rules.faults import Places, Unfit, nearest, shown
from siteplan.rules.rows import ROWS, ConduitRow, Head, Row, SetbackRow
from siteplan.rules.stack import Layer, Placed, Stack
from siteplan.site.catalogue import kinds, layers_folder
from siteplan.site.toml_lines import toml_lines

FILE = "rules.toml"
_TABLES = {row.table: row for row in ROWS}
_AT_LINE = re.compile(r"at line (\d+)")


@dataclass(frozen=True, slots=True, kw_only=True)
class LayerInfo:
    """One layer in the list: its name, whose rules they are, and how many of its rows were read at the source."""

    name: str
    title: str
    authority: str
    edition: str
    covers: str
    rows: int
    verified: int


def available_layers(folder: Path | None = None) -> list[LayerInfo]:
    """List all layers, sorted by name; ``folder`` is ``layers/`` unless said.

    Raises ``InputFaults`` if a file does not fit.
    """
    return [
        LayerInfo(
            name=name,
            title=layer.head.title,
            authority=layer.head.authority,
            edition=layer.head.edition,
            covers=layer.head.covers,
            rows=len(layer.rows),
            verified=sum(placed.row.status == "verified" for placed in layer.rows),
        )
        for name in _names(_folder(folder))
        for layer in load_stack(name, folder).layers[-1:]
    ]


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
    known = _names(root)
    absent = [one for one in names if one not in known]
    if name in absent:
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
        layer, found = _read(root / one / FILE, one, layers)
        faults += found
        if layer is not None:
            layers.append(layer)
    if faults:
        raise InputFaults(faults)
    return Stack(name=name, layers=tuple(layers), rows=_in_force(layers))


def check_file(path: Path) -> list[Fault]:
    """Name everything to mend in one rules file; an empty list if it fits.

    A file inside ``layers/`` is checked together with the layers above it; any other file by itself.
    """
    root = layers_folder().resolve()
    resolved = path.resolve()
    if path.name == FILE and resolved.is_relative_to(root) and resolved.parent != root:
        try:
            load_stack(resolved.parent.relative_to(root).as_posix())
        except InputFaults as faults:
            return list(faults.faults)
        return []
    return _read(path, path.parent.name, None, file=str(path))[1]


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


def _read(
    path: Path, name: str, above: list[Layer] | None, *, file: str | None = None
) -> tuple[Layer | None, list[Fault]]:
    """One file, checked; ``above`` is ``None`` if the layers above it are not known."""
    file = file if file is not None else f"layers/{name}/{FILE}"
    try:
        text = path.read_text(encoding="utf-8")
        data = tomllib.loads(text)
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        line = _AT_LINE.search(str(error))
        found = "no such file" if isinstance(error, FileNotFoundError) else str(error)
        fault = Fault(
            file=file, line=int(line[1]) if line else None, found=found, expected="a readable TOML file"
        )
        return None, [fault]
    places = Places(file, toml_lines(text), data)
    faults = list(_unknown_tables(data, places))
    head = _head(data, places, faults)
    site_facts = {**(head.site_facts if head else {})}
    for layer in above or []:
        site_facts = {**layer.head.site_facts, **site_facts}
    rows: list[Placed[Row]] = []
    where: dict[str, tuple[str, int]] = {}
    for table, row_type in _TABLES.items():
        for place, raw in enumerate(_members(data, table)):
            row = _row(row_type, raw, (table, place), places, faults)
            if row is None:
                continue
            when, problems = compile_when(row, site_facts)
            if isinstance(row, SetbackRow):
                problems += problems_of_kinds(row)
            faults += [places.fault((table, place, *inner), unfit) for inner, unfit in problems]
            if row.id in where:
                unfit = Unfit(found=f'the id "{row.id}" twice', expected="an id of its own")
                faults.append(places.fault((table, place, "id"), unfit))
            where[row.id] = (table, place)
            rows.append(Placed(row=row, layer=name, when=when, raw=raw))
    if head is None:
        return None, faults
    faults += [
        places.fault((*where[row_id], *inner), unfit) for row_id, inner, unfit in _among_rows(rows, above)
    ]
    faults += [places.fault(("layer", "silent"), unfit) for unfit in _silent_problems(head, rows)]
    return Layer(name=name, file=file, head=head, rows=tuple(rows)), faults


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


def _among_rows(
    rows: list[Placed[Row]], above: list[Layer] | None
) -> Iterator[tuple[str, tuple[str, ...], Unfit]]:
    """What does not fit between rows: ids of layers above, replaced rows, relieved rows."""
    higher = {placed.row.id: placed.row for layer in above or [] for placed in layer.rows}
    own = {placed.row.id: placed.row for placed in rows}
    for row in own.values():
        if row.id in higher and row.replaces != row.id:
            yield (
                row.id,
                ("id",),
                Unfit(
                    found=f'"{row.id}", which a layer above has too',
                    expected="an id of its own",
                    mend=f'to replace that row, add replaces = "{row.id}" and a reason',
                ),
            )
        if row.replaces and above is not None:
            target = higher.get(row.replaces)
            if target is None or target.table != row.table:
                same = [one.id for one in higher.values() if one.table == row.table]
                yield (
                    row.id,
                    ("replaces",),
                    Unfit(
                        found=shown(row.replaces),
                        expected=f"the id of a {row.table} row of a layer above",
                        mend=nearest(row.replaces, same),
                    ),
                )
        if isinstance(row, ConduitRow) and row.instead_of:
            relieved = own.get(row.instead_of)
            if not isinstance(relieved, ConduitRow) or relieved.surface != row.surface or relieved.instead_of:
                yield (
                    row.id,
                    ("instead_of",),
                    Unfit(
                        found=shown(row.instead_of),
                        expected="a conduit_cover row of this file for the same surface, without conditions",
                        mend=nearest(row.instead_of, own),
                    ),
                )


def _silent_problems(head: Head, rows: list[Placed[Row]]) -> Iterator[Unfit]:
    spoken = {kind for placed in rows if isinstance(placed.row, SetbackRow) for kind in placed.row.to}
    for kind in head.silent:
        if kind not in kinds():
            yield Unfit(
                found=shown(kind), expected="a kind of layers/kinds.toml", mend=nearest(kind, kinds())
            )
        elif kind in spoken:
            yield Unfit(found=f'"{kind}", of which a setback row speaks', expected="kinds without a number")


def _in_force(layers: list[Layer]) -> tuple[Placed[Row], ...]:
    rows: dict[str, Placed[Row]] = {}
    for layer in layers:
        for placed in layer.rows:
            rows.pop(placed.row.replaces, None)
            rows[placed.row.id] = placed
    return tuple(rows.values())
