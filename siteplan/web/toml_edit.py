"""Changes to a TOML text that leave all the rest of it as it stands: comments, order, blank lines, the way numbers are written.

Places are key paths as ``toml_lines`` gives them: ``("digging", "bucket")``, or ``("line", 0, "cover")`` for the first
``[[line]]``. Each change is also made to the values that the text stood for; a text that would not stand for them is refused.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Mapping
from copy import deepcopy
from dataclasses import dataclass
from datetime import date
from operator import delitem, setitem
from typing import Any, TypeAlias

import tomlkit
from tomlkit.items import SingleKey

from siteplan.errors import Fault, InputFaults
from siteplan.site.toml_lines import KeyPath, toml_lines

Value: TypeAlias = str | bool | int | float | date | list[Any]
_LINE = re.compile(r"[^\n]*\n|[^\n]+")


def number_of(text: str, name: str, key: str, value: str) -> int:
    r"""Count, from 0, which ``[[name]]`` has this value.

    >>> number_of('[[line]]\nid = "a"\n[[line]]\nid = "b"\n', "line", "id", "b")
    1

    Raises
    ------
    InputFaults
        None has.
    """
    for number, member in enumerate(_values(text).get(name, [])):
        if isinstance(member, dict) and member.get(key) == value:
            return number
    expected = f'one with {key} = "{value}"'
    raise InputFaults([Fault(file="site.toml", where=f"[[{name}]]", found="none", expected=expected)])


def set_key(text: str, path: KeyPath, value: Value) -> str:
    r"""Write one value: over the old one, below the other keys of its table, or into a new table.

    >>> set_key('[digging]\nbucket = "24 in"   # of the small machine\n', ("digging", "bucket"), "18 in")
    '[digging]\nbucket = "18 in"   # of the small machine\n'

    Raises
    ------
    InputFaults
        The text is no TOML, or writes this in a way that is not changed here.
    """
    document = _Document(text)
    *table, key = path

    def change(values: Any) -> None:
        if not _has(values, table) and len(table) == 1:
            values[table[0]] = {}
        _at(values, table)[key] = value

    if statement := document.statement(path):
        document.rewrite(statement, path, lambda written: setitem(written, key, value))
    elif after := document.last_of(tuple(table)):
        document.insert(after.end, [_assignment(path[len(after.base) :], value, after.indent)])
    else:
        document.insert_block(str(path[0]), [f"[{_key(path[0])}]", _assignment((key,), value)])
    return document.changed_by(change)


def remove_key(text: str, path: KeyPath) -> str:
    r"""Take one key out with the comment beside it; ``InputFaults`` as for ``set_key``, also if it is not there.

    >>> remove_key("[facts]\n# of the whole site\nsubdivision = true\n", ("facts", "subdivision"))
    '[facts]\n# of the whole site\n'
    """
    document = _Document(text)
    statement = document.statement(path)
    if statement is None:
        raise _by_hand(f"no {'.'.join(map(str, path))}")
    if statement.path == path:
        document.cut(statement.begin, statement.end)
    else:
        document.rewrite(statement, path, lambda written: delitem(written, path[-1]))
    return document.changed_by(lambda values: delitem(_at(values, path[:-1]), path[-1]))


def add_table(text: str, name: str, values: Mapping[str, Value]) -> str:
    r"""Add ``[name]``: below a comment that shows how to write it, else at the end.

    >>> add_table("# [frost]\n# water = 1\n\n[site]\n", "frost", {"water": "15 %"})
    '# [frost]\n# water = 1\n\n[frost]\nwater = "15 %"\n\n[site]\n'
    """
    document = _Document(text)
    document.insert_block(name, [f"[{_key(name)}]", *_assignments(values)])
    return document.changed_by(lambda before: setitem(before, name, dict(values)))


def add_member(text: str, name: str, values: Mapping[str, Value]) -> str:
    """Add a ``[[name]]``: below the last one, else as ``add_table``."""
    document = _Document(text)
    block = [f"[[{_key(name)}]]", *_assignments(values)]
    members = document.members(name)
    if members:
        document.insert(members[-1][1], ["", *block])
    else:
        document.insert_block(name, block)
    return document.changed_by(lambda before: before.setdefault(name, []).append(dict(values)))


def remove_table(text: str, path: KeyPath) -> str:
    """Take out the table ``("frost",)`` or the member ``("line", 0)`` with the comments inside it."""
    document = _Document(text)
    begin, end = document.extent(path)
    document.cut(begin, end)
    document.close_gap(begin)

    def change(values: Any) -> None:
        del _at(values, path[:-1])[path[-1]]
        if len(path) == 2 and not values[path[0]]:
            del values[path[0]]

    return document.changed_by(change)


def move_member(text: str, name: str, number: int, to: int) -> str:
    """Put the ``[[name]]`` that is ``number`` (from 0) at the place ``to``; comments between them stay where they are."""
    document = _Document(text)
    slots = document.members(name)
    order = list(range(len(slots)))
    if not (0 <= number < len(order) and 0 <= to < len(order)):
        raise _by_hand(f"{len(order)} tables [[{name}]]")
    order.insert(to, order.pop(number))
    blocks = [document.lines[begin:end] for begin, end in slots]
    for (begin, end), which in reversed(list(zip(slots, order, strict=True))):
        document.lines[begin:end] = blocks[which]
    return document.changed_by(lambda values: values[name].insert(to, values[name].pop(number)))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Part:
    """A table's header or a ``key = value``: what it is of, the header above it, and its lines ``[begin, end)``."""

    path: KeyPath
    base: KeyPath
    begin: int
    end: int
    indent: str = ""
    is_header: bool = False


class _Document:
    """A TOML text as physical lines, and the parts on them."""

    def __init__(self, text: str) -> None:
        self._values = _values(text)
        self._newline = "\r\n" if "\r\n" in text else "\n"
        self.lines: list[str] = _LINE.findall(text)
        if self.lines and not self.lines[-1].endswith("\n"):
            self.lines[-1] += self._newline
        self._parts = list(self._find(text))

    def _find(self, text: str) -> list[_Part]:
        at: dict[int, KeyPath] = {}
        for path, number in toml_lines(text).items():
            at[number - 1] = max(at.get(number - 1, ()), path, key=len)
        parts: list[_Part] = []
        base: KeyPath = ()
        here = 0
        while here < len(self.lines):
            words = self.lines[here].lstrip()
            end = here + 1
            if words.startswith("["):
                base = at[here]
                parts.append(_Part(path=base, base=base, begin=here, end=end, is_header=True))
            elif words.strip() and not words.startswith("#"):
                while not _is_whole("".join(self.lines[here:end])):
                    end += 1
                indent = self.lines[here][: len(self.lines[here]) - len(words)]
                parts.append(_Part(path=at[here], base=base, begin=here, end=end, indent=indent))
            here = end
        return parts

    def statement(self, path: KeyPath) -> _Part | None:
        """Find the ``key = value`` that holds a path, itself or in an inline table."""
        return next(
            (part for part in self._parts if not part.is_header and part.path == path[: len(part.path)]), None
        )

    def last_of(self, table: KeyPath) -> _Part | None:
        """Find the last part of a table that a further key may follow."""
        found = [
            part
            for part in self._parts
            if part.path[: len(table)] == table and len(part.base) <= len(table) and table
        ]
        return found[-1] if found else None

    def extent(self, path: KeyPath) -> tuple[int, int]:
        """Lines of a table with all tables below it, from its header to its last value."""
        headers = [part for part in self._parts if part.is_header and part.path == path]
        if not headers:
            raise _by_hand(f"no table {'.'.join(map(str, path))} under a header of its own")
        below = [part.end for part in self._parts if part.base[: len(path)] == path]
        return headers[0].begin, max(below)

    def members(self, name: str) -> list[tuple[int, int]]:
        """Lines of every ``[[name]]``."""
        return [self.extent((name, number)) for number in range(len(self._values.get(name, [])))]

    def rewrite(self, part: _Part, path: KeyPath, change: Callable[[Any], None]) -> None:
        """Have the table of ``path``, as one ``key = value`` writes it, changed."""
        written = tomlkit.parse("".join(self.lines[part.begin : part.end]))
        try:
            change(_at(written, path[len(part.base) : -1]))
        except (LookupError, TypeError) as error:
            raise _by_hand("a value where a table is wanted") from error
        self.lines[part.begin : part.end] = [tomlkit.dumps(written)]

    def insert(self, here: int, rows: list[str]) -> None:
        """Put rows before a line."""
        self.lines[here:here] = [row + self._newline for row in rows]

    def insert_block(self, name: str, rows: list[str]) -> None:
        """Put a table where a comment shows how to write it, else at the end, between blank lines."""
        here = self._shown(name)
        before = [""] if here and self.lines[here - 1].strip() else []
        after = [""] if here < len(self.lines) and self.lines[here].strip() else []
        self.insert(here, [*before, *rows, *after])

    def cut(self, begin: int, end: int) -> None:
        """Take lines out."""
        del self.lines[begin:end]

    def close_gap(self, here: int) -> None:
        """Where lines were taken out, leave one blank line, not two, and none at either end."""
        above_blank = here == 0 or not self.lines[here - 1].strip()
        if here < len(self.lines):
            if above_blank and not self.lines[here].strip():
                del self.lines[here]
        elif here and above_blank:
            del self.lines[here - 1]

    def _shown(self, name: str) -> int:
        """Line below the comment that shows a table, if another table or the end follows; else the end."""
        header = re.compile(rf"#\s*\[+{re.escape(name)}\]")
        for number, line in enumerate(self.lines):
            if header.match(line):
                end = number
                while end < len(self.lines) and self.lines[end].startswith("#"):
                    end += 1
                after = next((part for part in self._parts if part.begin >= end), None)
                if after is None or after.is_header:
                    return end
        return len(self.lines)

    def changed_by(self, change: Callable[[Any], None]) -> str:
        """Return the text, if it stands for the values as ``change`` leaves them."""
        text = "".join(self.lines)
        wanted = deepcopy(self._values)
        try:
            change(wanted)
            if tomllib.loads(text) == wanted:
                return text
        except (tomllib.TOMLDecodeError, LookupError, TypeError) as error:
            raise _by_hand("a table that is written in an unusual way") from error
        raise _by_hand("a table that is written in an unusual way")


def _values(text: str) -> dict[str, Any]:
    try:
        return tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        raise _by_hand(f"no TOML ({error})") from error


def _is_whole(rows: str) -> bool:
    try:
        tomllib.loads(rows)
    except tomllib.TOMLDecodeError:
        return False
    return True


def _at(values: Any, path: KeyPath | list[str | int]) -> Any:
    for key in path:
        values = values[key]
    return values


def _has(values: Any, path: KeyPath | list[str | int]) -> bool:
    try:
        _at(values, path)
    except (LookupError, TypeError):
        return False
    return True


def _assignments(values: Mapping[str, Value]) -> list[str]:
    return [_assignment((key,), value) for key, value in values.items()]


def _assignment(keys: KeyPath, value: Value, indent: str = "") -> str:
    return f"{indent}{'.'.join(map(_key, keys))} = {tomlkit.item(value).as_string()}"


def _key(key: str | int) -> str:
    return SingleKey(str(key)).as_string()


def _by_hand(found: str) -> InputFaults:
    expected = "a table under a header, one key a line"
    return InputFaults(
        [Fault(file="site.toml", found=found, expected=expected, mend="mend the file by hand")]
    )
