"""What the page asks to be changed in ``site.toml``, done to its text, and where in its forms a fault stands."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable, Mapping
from contextlib import suppress
from datetime import date
from typing import Any

from siteplan.errors import Fault
from siteplan.read.facts import LINE_FACTS
from siteplan.read.site_file import SITE_TOML
from siteplan.site.toml_lines import KeyPath, toml_lines
from siteplan.web.handling import Refused
from siteplan.web.site_forms import forms, is_required, may_be_empty, sort_of
from siteplan.web.toml_edit import (
    Value,
    add_member,
    add_table,
    move_member,
    number_of,
    remove_key,
    remove_table,
    set_key,
)

_TITLES = {"line": "id", "override": "row", "thing": "id", "file": "path", "underlay": "picture"}
"""Tables of which there may be several, and the key that tells them apart."""
_DEEPEST = 2
"""Lists in lists that a key may hold: points of a picture."""
_NUMBER = re.compile(r"[+-]?\d{1,15}(\.\d+)?", re.ASCII)


def edited(text: str, edits: object, fact_sorts: Mapping[str, str]) -> str:
    """Return the text of ``site.toml`` with some edits made one after the other.

    Parameters
    ----------
    text : str
        As it stands.
    edits : list of mappings
        ``{"do": "set", "at": [table, key], "to": value}``, or ``[table, which, key]`` with the number or the title of one of
        several tables; an empty text takes out a key that may be missing. ``{"do": "remove", "at": [...]}`` of a key or a table.
        ``{"do": "add", "table": name, "values": {...}}``. ``{"do": "move", "at": [table, which], "to": number}``.
    fact_sorts : mapping
        Sorts of the facts of the whole site, as the rules declare them.

    Raises
    ------
    Refused
        What was sent is no list of edits.
    InputFaults
        An edit does not fit the file.
    """
    if not isinstance(edits, list) or not 0 < len(edits) <= 200:
        raise Refused(400, "expected a list of edits")
    for edit in edits:
        text = _done(text, edit, fact_sorts)
    return text


def _done(text: str, edit: object, fact_sorts: Mapping[str, str]) -> str:
    match edit:
        case {"do": "set", "at": [str(), *_] as at, "to": value}:
            return _set(text, _path(text, at), value, fact_sorts)
        case {"do": "remove", "at": [str(), *_] as at}:
            return _removed(text, _path(text, at))
        case {"do": "add", "table": str(name), "values": dict(values)}:
            stated = {key: _value(name, key, value, fact_sorts) for key, value in values.items()}
            kept = {key: value for key, value in stated.items() if value != "" or is_required(name, key)}
            return add_member(text, name, kept) if name in _TITLES else add_table(text, name, kept)
        case {"do": "move", "at": [str(name), which], "to": int(to)}:
            number = _path(text, [name, which])[1]
            return move_member(text, name, int(number), to)
    raise Refused(400, "expected an edit: set, remove, add or move")


def _path(text: str, at: list[Any]) -> KeyPath:
    name, *rest = at
    if name in _TITLES and rest:
        which = rest[0] if isinstance(rest[0], int) else number_of(text, name, _TITLES[name], str(rest[0]))
        rest = [which, *rest[1:]]
    return (name, *(key if isinstance(key, int) else str(key) for key in rest))


def _set(text: str, path: KeyPath, given: Any, fact_sorts: Mapping[str, str]) -> str:
    if len(path) < 2 or (path[0] in _TITLES and len(path) < 3):
        raise Refused(400, "expected a key of a table")
    table, key = str(path[0]), str(path[-1])
    value = _value(table, key, given, fact_sorts)
    if value in ("", []) and not is_required(table, key):
        if not _is_there(text, path):
            return text
        if not may_be_empty(table, key):
            return _removed(text, path)
    return set_key(text, path, value)


def _removed(text: str, path: KeyPath) -> str:
    is_table = len(path) == (2 if path[0] in _TITLES else 1)
    return remove_table(text, path) if is_table else remove_key(text, path)


def _is_there(text: str, path: KeyPath) -> bool:
    values: Any = tomllib.loads(text)
    for key in path:
        try:
            values = values[key]
        except (LookupError, TypeError):
            return False
    return True


def _value(table: str, key: str, given: Any, fact_sorts: Mapping[str, str], *, deep: int = 0) -> Value:
    """Return a value as TOML has it; what does not fit stays as typed, for the reader of the file to refuse."""
    if isinstance(given, list) and deep < _DEEPEST:
        return [_value(table, key, each, fact_sorts, deep=deep + 1) for each in given]
    if isinstance(given, str):
        sort = _sort(table, key, fact_sorts)
        return _typed(given.strip(), "text" if deep and sort == "list" else sort)
    if isinstance(given, bool | int | float):
        return given
    raise Refused(400, "expected a text, a number, true, false or a list")


def _typed(typed: str, sort: str) -> Value:
    if sort == "number" and _NUMBER.fullmatch(typed):
        return float(typed) if "." in typed else int(typed)
    if sort == "list":
        return [part.strip() for part in typed.split(",") if part.strip()]
    if sort == "date":
        with suppress(ValueError):
            return date.fromisoformat(typed)
    return typed


def _sort(table: str, key: str, fact_sorts: Mapping[str, str]) -> str:
    if table == "facts":
        sort = fact_sorts.get(key, "text")
        return "text" if sort == "date" else sort
    if table == "rates" and key not in {field["key"] for field in forms()["rates"]}:
        return "number"
    if table == "line" and key in LINE_FACTS:
        return LINE_FACTS[key]
    return sort_of(table, key)


def placed(faults: Iterable[Fault], text: str) -> list[dict[str, Any]]:
    """Return each fault in words, with the key path in ``site.toml`` that it is about; none if it is about another file."""
    at: dict[int, KeyPath] = {}
    for path, line in toml_lines(text).items():
        at[line] = max(at.get(line, ()), path, key=len)
    return [{"words": words(fault), "line": str(fault), "at": list(_at(fault, at))} for fault in faults]


def words(fault: Fault) -> str:
    """What is wrong, without the place, and without what to type into the file."""
    mend = f"; {fault.mend}" if fault.mend and not fault.mend.endswith("= ...") else ""
    return f"found {fault.found}, expected {fault.expected}{mend}"


def _at(fault: Fault, at: Mapping[int, KeyPath]) -> KeyPath:
    if fault.file.startswith("layers/"):
        return ("site", "rules")
    if fault.file != SITE_TOML:
        return ()
    if fault.line is None:
        return tuple(fault.where.split(".")) if fault.where.startswith("facts.") else ()
    path = at.get(fault.line, ())
    missing = re.fullmatch(r"no (\w+)", fault.found)
    return (*path, missing[1]) if missing and len(path) < 3 else path
