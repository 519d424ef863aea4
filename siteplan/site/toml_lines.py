"""On which line of a TOML document each key stands.

``tomllib`` gives values without lines. This scanner walks the same text and maps key paths to lines; keys inside
an inline table have none of their own and are given the line of what they stand in.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from typing import TypeAlias

KeyPath: TypeAlias = tuple[str | int, ...]

_WORD = re.compile(
    r'"""(?:\\.|[^\\])*?"""(?!")'
    r"|'''.*?'''(?!')"
    r'|"(?:\\.|[^"\\\n])*"'
    r"|'[^'\n]*'"
    r"|\#[^\n]*|\n|[A-Za-z0-9_-]+|.",
    re.DOTALL,
)


def toml_lines(text: str) -> dict[KeyPath, int]:
    r"""Map each key path to the line, counted from 1, that holds its last key.

    Parameters
    ----------
    text : str
        A document that ``tomllib`` accepts.

    Examples
    --------
    >>> toml_lines('[site]\nname = "x"\n\n[[line]]\nid = "a"\n[[line]]\nid = "b"')[("line", 1, "id")]
    7
    """
    lines: dict[KeyPath, int] = {}
    counts: dict[KeyPath, int] = {}
    base: KeyPath = ()
    keys: list[str] = []
    state, depth, number = "key", 0, 1
    for word in _WORD.findall(text):
        if word == "\n" and depth == 0:
            state, keys = "key", []
        elif state == "value":
            depth += (word in ("[", "{")) - (word in ("]", "}"))
        elif word == "[":
            state = "tables" if state == "table" else "table"
        elif word == "]" and keys:
            base, keys = _opened(keys, counts, array=state == "tables"), []
            lines[base] = number
            if state == "tables":
                lines.setdefault(base[:-1], number)
        elif word == "=":
            for length in range(1, len(keys) + 1):
                lines.setdefault(base + tuple(keys[:length]), number)
            state = "value"
        elif word[0] in "\"'" or re.fullmatch(r"[A-Za-z0-9_-]+", word):
            keys.append(_name(word))
        number += word.count("\n")
    return lines


def line_of(lines: Mapping[KeyPath, int], path: KeyPath) -> int | None:
    """Return the line of a key path, or of the nearest thing around it that has one."""
    for length in range(len(path), 0, -1):
        if path[:length] in lines:
            return lines[path[:length]]
    return None


def _opened(keys: list[str], counts: dict[KeyPath, int], *, array: bool) -> KeyPath:
    """KeyPath of the table that a header opens; in an array of tables, of its newest member."""
    path: KeyPath = ()
    for place, key in enumerate(keys, start=1):
        path += (key,)
        if array and place == len(keys):
            counts[path] = counts.get(path, -1) + 1
        if path in counts:
            path += (counts[path],)
    return path


def _name(word: str) -> str:
    return str(tomllib.loads(f"k = {word}")["k"]) if word[0] in "\"'" else word
