"""``site.toml``: read, checked table by table, and every fault given the line it stands on.

A table that is spoilt is left out and the others are kept, so that one mistake does not hide or cause another.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cache, lru_cache
from typing import Any, Generic, TypeVar

from pydantic import BaseModel, TypeAdapter, ValidationError
from pydantic_core import ErrorDetails

from siteplan.read.paper_model import PaperTable
from siteplan.read.site_fields import Bare
from siteplan.read.site_model import (
    TABLES,
    BenchMarkTable,
    DiggingTable,
    FileTable,
    FrostTable,
    GridTable,
    LineTable,
    OverrideTable,
    RatesTable,
    SiteTable,
    SiteToml,
    ThingTable,
)
from siteplan.read.underlay import UnderlayTable
from siteplan.read.words import FaultList, Place, listed, shown, suggestion
from siteplan.site.toml_lines import KeyPath as Path
from siteplan.site.toml_lines import line_of, toml_lines

SITE_TOML = "site.toml"

Table = TypeVar("Table", bound=BaseModel)


@dataclass(frozen=True, slots=True)
class Row(Generic[Table]):
    """One table of an array of tables, and where it and its keys stand."""

    table: Table
    name: str
    place: Place
    _lines: Mapping[Path, int]
    _path: Path

    def at(self, key: str) -> Place:
        """Where one key of it stands."""
        return Place(
            file=SITE_TOML, line=line_of(self._lines, (*self._path, key)), where=f"{self.place.where}, {key}"
        )


@dataclass(slots=True)
class SiteFile:
    """What ``site.toml`` says; ``spoilt`` holds name and title of the tables that were left out."""

    site: SiteTable | None = None
    digging: DiggingTable | None = None
    paper: PaperTable = field(default_factory=PaperTable)
    grid: GridTable | None = None
    frost: FrostTable | None = None
    bench_mark: BenchMarkTable | None = None
    rates: RatesTable | None = None
    lines: list[Row[LineTable]] = field(default_factory=list)
    overrides: list[Row[OverrideTable]] = field(default_factory=list)
    files: list[Row[FileTable]] = field(default_factory=list)
    things: list[Row[ThingTable]] = field(default_factory=list)
    underlays: list[Row[UnderlayTable]] = field(default_factory=list)
    facts: Mapping[str, Bare] = field(default_factory=dict)
    looked: Mapping[str, str] = field(default_factory=dict)
    key_lines: Mapping[Path, int] = field(default_factory=dict)
    spoilt: set[tuple[str, str]] = field(default_factory=set)

    def at(self, table: str, key: str) -> Place:
        """Where a key of a table that is there once stands."""
        return Place(file=SITE_TOML, line=line_of(self.key_lines, (table, key)), where=f"[{table}] {key}")


def read_site_file(text: str, faults: FaultList) -> SiteFile | None:
    """Read ``site.toml``; None if it is no TOML at all. Faults go into the list."""
    try:
        content = tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        line = re.search(r"\(at line (\d+)", str(error))
        what = re.sub(r" \(at .*\)", "", str(error))
        faults.add(
            Place(file=SITE_TOML, line=int(line[1]) if line else text.count("\n") + 1),
            found=f"no TOML ({what[:1].lower()}{what[1:]})",
            expected="TOML",
            mend="texts want quotes; true, false and dates want none",
        )
        return None
    return _Reader(content, _lines_of(text), faults).read()


@lru_cache(maxsize=8)
def _lines_of(text: str) -> Mapping[Path, int]:
    """On which line each key stands; the same text is walked once."""
    return toml_lines(text)


@cache
def _free_values(name: str) -> TypeAdapter[Any]:
    """Check of the values of a table whose keys are free."""
    return TypeAdapter(SiteToml.model_fields[name].annotation or Any)


class _Reader:
    def __init__(self, content: Mapping[str, Any], lines: Mapping[Path, int], faults: FaultList) -> None:
        self._content, self._lines, self._faults = content, lines, faults
        self._site_file = SiteFile(key_lines=lines)

    def read(self) -> SiteFile:
        made = self._site_file
        for key in self._content.keys() - SiteToml.model_fields.keys():
            self._faults.add(
                self._place((key,), ""),
                found=f"the unknown table or key {shown(key)}",
                expected=f"one of {listed(SiteToml.model_fields)}",
                mend=suggestion(key, SiteToml.model_fields),
            )
        made.site = self._one("site")
        made.digging = self._one("digging")
        made.paper = self._one("paper") or PaperTable()
        made.grid = self._one("grid")
        made.frost = self._one("frost")
        made.bench_mark = self._one("bench_mark")
        made.rates = self._one("rates")
        made.lines = list(self._many("line", "id"))
        made.overrides = list(self._many("override", "row"))
        made.files = list(self._many("file", "path"))
        made.things = list(self._many("thing", "id"))
        made.underlays = list(self._many("underlay", "picture"))
        made.facts = self._free("facts")
        made.looked = self._free("looked")
        return made

    def _one(self, name: str) -> Any:
        """Check one table; None if it is spoilt or, where it may, missing."""
        if name not in self._content:
            if SiteToml.model_fields[name].is_required():
                self._missing(name)
            return None
        return self._checked(TABLES[name], self._content[name], (name,), f"[{name}]")

    def _many(self, name: str, title: str) -> Iterator[Row[Any]]:
        tables = self._content.get(name, [])
        if not isinstance(tables, list):
            self._wrong(name, f"[[{name}]] with two brackets each side, as there may be several")
            return
        if not tables and SiteToml.model_fields[name].is_required():
            self._missing(name)
        for number, table in enumerate(tables):
            known = isinstance(table, dict) and isinstance(table.get(title), str)
            label = str(table[title]) if known else str(number + 1)
            where = f"[[{name}]] {label}"
            checked = self._checked(TABLES[name], table, (name, number), where, label)
            if checked is not None:
                place = self._place((name, number), where)
                yield Row(checked, label, place, self._lines, (name, number))

    def _free(self, name: str) -> Any:
        table = self._content.get(name, {})
        if not isinstance(table, dict):
            self._wrong(name, f"a table [{name}]")
            return {}
        kept = {}
        for key, value in table.items():
            try:
                kept.update(_free_values(name).validate_python({key: value}, strict=True))
            except ValidationError as error:
                self._explain(error.errors()[0], (name,), f"[{name}]", SiteToml)
        return kept

    def _checked(
        self, model: type[Table], value: object, path: Path, where: str, label: str = ""
    ) -> Table | None:
        if not isinstance(value, dict):
            self._wrong(str(path[0]), f"a table [{path[0]}]")
            return None
        try:
            return model.model_validate(value)
        except ValidationError as error:
            self._site_file.spoilt.add((str(path[0]), label))
            seen: set[str | int] = set()
            for detail in error.errors():
                key = detail["loc"][0] if detail["loc"] else ""
                if key not in seen:
                    self._explain(detail, path, where, model)
                seen.add(key)
            return None

    def _explain(self, detail: ErrorDetails, path: Path, where: str, model: type[BaseModel]) -> None:
        """Say in our words what pydantic found."""
        key = str(detail["loc"][0]) if detail["loc"] else ""
        names = {info.alias or name: info for name, info in model.model_fields.items()}
        info = names.get(key) or names.get(str(path[0]))
        described = (info.description if info else None) or "a text, a number, true or false"
        joint = ", " if path[1:] and key else " "
        place = self._place((*path, key), f"{where}{joint}{key}".strip())
        sort, context = detail["type"], detail.get("ctx", {})
        if sort == "siteplan":
            self._faults.add(
                place, found=context["found"], expected=context["expected"], mend=context.get("mend", "")
            )
        elif sort == "missing":
            self._faults.add(
                self._place(path, where), found=f"no {key}", expected=described, mend=f"add {key} = ..."
            )
        elif sort == "extra_forbidden":
            self._faults.add(
                place,
                found=f"the unknown key {shown(key)}",
                expected=f"one of {listed(names)}",
                mend=suggestion(key, names),
            )
        else:
            options = f": {context['expected']}" if sort == "literal_error" else ""
            self._faults.add(place, found=shown(detail["input"]), expected=described + options)

    def _place(self, path: Path, where: str) -> Place:
        return Place(file=SITE_TOML, line=line_of(self._lines, path), where=where)

    def _missing(self, name: str) -> None:
        self._site_file.spoilt.add((name, ""))
        self._faults.add(
            Place(file=SITE_TOML),
            found=f"no [{name}]",
            expected=SiteToml.model_fields[name].description or name,
            mend="add it",
        )

    def _wrong(self, name: str, expected: str) -> None:
        self._site_file.spoilt.add((name, ""))
        self._faults.add(
            self._place((name,), ""), found=f"{name} = {shown(self._content[name])}", expected=expected
        )
