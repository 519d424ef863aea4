"""What a site may decide or has to tell under a stack of rules: numbers that it may replace, and facts that rows ask for."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import chain

from siteplan.rules.citation import Citation
from siteplan.rules.conditions import asked, leaves
from siteplan.rules.overrides import changeable_keys
from siteplan.rules.pages import HEADINGS, row_words
from siteplan.rules.rows import ConduitRow, CoverRow, MultiplierRow, Row, SetbackRow
from siteplan.rules.stack import Placed, Stack

_WITH_UNIT = re.compile(r"\d[\d./ -]*[A-Za-z\"']")
_LEFT_OUT = ("trench", "locate_clock")
"""Numbers of the safety rules, and how the wait is counted: no site replaces those from a form."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Replaceable:
    """One row with numbers that a site may replace for a reason.

    Attributes
    ----------
    heading, words : str
        Under which heading it prints, and what it asks.
    numbers : mapping of str to str
        Each number by the key that an override names, as the row has it; ``""`` where the row has none.
    together : bool
        Whether an override replaces all the numbers at once, so that those left out are gone.
    citation : Citation
        Its source.
    """

    heading: str
    words: str
    numbers: Mapping[str, str]
    together: bool
    citation: Citation


def replaceable(stack: Stack) -> Iterator[Replaceable]:
    """Yield the rows in force that hold a number, in the order in which a page of rules prints them.

    Safety numbers of the trench are not among them.
    """
    for table, heading in HEADINGS.items():
        for placed in stack.rows:
            if placed.row.table != table or table in _LEFT_OUT:
                continue
            numbers = _numbers(placed)
            if numbers:
                said = getattr(placed.row, "words", "") or asked(placed.when)
                yield Replaceable(
                    heading=heading,
                    words=row_words(placed.row, f", if {said}" if placed.when else ""),
                    numbers=numbers,
                    together=isinstance(placed.row, CoverRow),
                    citation=placed.cite(),
                )


def site_facts_asked(stack: Stack) -> dict[str, tuple[Placed[Row], ...]]:
    """Facts of the whole site that rows in force ask for, each with these rows."""
    found: dict[str, list[Placed[Row]]] = {}
    for placed in stack.rows:
        for fact in _facts(placed):
            if fact.startswith("site."):
                found.setdefault(fact.removeprefix("site."), []).append(placed)
    return {fact: tuple(rows) for fact, rows in found.items()}


def line_facts_asked(stack: Stack, carries: str) -> tuple[str, ...]:
    """Facts of a line to lay that rows in force ask for, by what it carries."""
    found: dict[str, None] = {}
    for placed in stack.rows:
        row = placed.row
        own = isinstance(row, ConduitRow) and carries == "electric"
        if isinstance(row, SetbackRow | MultiplierRow):
            own = row.from_ == f"line:{carries}" or (row.from_ == "suction_line" and carries == "water")
        if own:
            found |= dict.fromkeys(fact for fact in _facts(placed) if fact.startswith("line."))
    return tuple(fact.removeprefix("line.") for fact in found)


def _facts(placed: Placed[Row]) -> dict[str, None]:
    """Facts that the conditions and the formula of a row name, in order."""
    names = [test.fact for test in chain(leaves(placed.when), leaves(placed.over))]
    if placed.formula is not None:
        names.append(placed.formula.fact)
    return dict.fromkeys(names)


def _numbers(placed: Placed[Row]) -> dict[str, str]:
    row, raw = placed.row, placed.raw
    if isinstance(row, CoverRow):
        return _stated(raw["form"], changeable_keys(row)) or {"fixed": ""}
    if isinstance(row, ConduitRow):
        return _stated(raw["cover"], changeable_keys(row))
    if isinstance(row, SetbackRow):
        return {"distance": str(raw.get("distance", ""))} if row.measured == "horizontal" else {}
    return _stated(raw, changeable_keys(row))


def _stated(raw: Mapping[str, object], keys: list[str]) -> dict[str, str]:
    """Keys of a row whose value is a number, or a text that is one with its unit."""
    return {key: str(raw[key]) for key in keys if key in raw and _is_number(raw[key])}


def _is_number(value: object) -> bool:
    if isinstance(value, str):
        return _WITH_UNIT.match(value) is not None
    return isinstance(value, int | float) and not isinstance(value, bool)
