"""On which line of a TOML text each key stands: ``tomllib`` gives values, but no lines to point at."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import TypeAlias

KeyPath: TypeAlias = tuple[str | int, ...]

_HEADER = re.compile(r"\s*(\[\[?)([^\[\]]+)\]")
_KEY = re.compile(
    r"""\s*((?:[A-Za-z0-9_-]+|"[^"]*"|'[^']*')(?:\s*\.\s*(?:[A-Za-z0-9_-]+|"[^"]*"|'[^']*'))*)\s*="""
)
_BLOCK_TEXT = re.compile(r'"{3}|\'{3}')


def toml_lines(text: str) -> dict[KeyPath, int]:
    r"""Map each table and each key at the start of a line to its line, counted from 1.

    Members of an array of tables have their index in the path. Keys inside an inline table have no line of their
    own; ``line_of`` gives them the line of what they stand in.

    Examples
    --------
    >>> toml_lines('[[cover]]\nid = "a"\n\n[[cover]]\nid = "b"')[("cover", 1, "id")]
    5
    """
    lines: dict[KeyPath, int] = {}
    counts: dict[KeyPath, int] = {}
    base: KeyPath = ()
    in_block = False
    for number, line in enumerate(text.splitlines(), start=1):
        if not in_block and (header := _HEADER.match(line)):
            base = _opened(_parts(header[2]), counts, member=header[1] == "[[")
            for named in (base, tuple(key for key in base if isinstance(key, str))):
                lines.setdefault(named, number)
        elif not in_block and (key := _KEY.match(line)):
            lines.setdefault(base + _parts(key[1]), number)
        in_block ^= len(_BLOCK_TEXT.findall(line)) % 2 == 1
    return lines


def line_of(lines: Mapping[KeyPath, int], path: KeyPath) -> int | None:
    """Return the line of a key path, or of the nearest thing around it that has one."""
    return next((lines[path[:n]] for n in range(len(path), 0, -1) if path[:n] in lines), None)


def _parts(dotted: str) -> KeyPath:
    return tuple(part.strip().strip("\"'") for part in dotted.split("."))


def _opened(keys: KeyPath, counts: dict[KeyPath, int], *, member: bool) -> KeyPath:
    path: KeyPath = ()
    for place, key in enumerate(keys, start=1):
        path += (key,)
        if member and place == len(keys):
            counts[path] = counts.get(path, -1) + 1
        if path in counts:
            path += (counts[path],)
    return path
