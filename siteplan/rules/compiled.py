"""Conditions of a row as written, made ready: fact names checked, thresholds read in the unit of the fact."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date
from typing import cast

from siteplan.rules.conditions import AnyOf, Check, Conditions, Op
from siteplan.rules.faults import Unfit, nearest, shown
from siteplan.rules.rows import STATUSES, ConduitRow, Row, SetbackRow, When
from siteplan.site.catalogue import kinds
from siteplan.site.features import Fact
from siteplan.site.toml_lines import KeyPath
from siteplan.units import LengthUnit, QuantityKind, UnitFault, parse_measure, parse_quantity

LINE_FACTS = {"volts": "potential", "amps": "current", "gfci": "yes_no", "dwelling": "yes_no"}
"""Facts of a line to lay; where ``dwelling`` is not stated, it follows from the building at the end of the line."""

_QUANTITY: dict[str, QuantityKind] = {
    "length": "length",
    "volume": "volume_liquid",
    "potential": "electric_potential",
    "current": "current",
}
_BARE: dict[str, tuple[type, ...]] = {
    "number": (int, float),
    "yes_no": (bool,),
    "text": (str,),
    "date": (date, str),
}
_ORDERED = ("length", "volume", "potential", "current", "number", "date")

Problem = tuple[KeyPath, Unfit]


def problems_of_kinds(row: SetbackRow) -> Iterator[Problem]:
    """Name the kinds that are not in ``layers/kinds.toml``."""
    for place, kind in enumerate(row.to):
        if kind not in kinds():
            yield (
                ("to", place),
                Unfit(found=shown(kind), expected="a kind of layers/kinds.toml", mend=nearest(kind, kinds())),
            )


def compile_when(row: Row, site_facts: Mapping[str, str]) -> tuple[Conditions, list[Problem]]:
    """Make the conditions of a row ready.

    Parameters
    ----------
    row : Row
        A row as read; only setback and conduit rows have conditions.
    site_facts : mapping
        Facts of the whole site that this layer or one above it declares, with their sort.

    Returns
    -------
    Conditions, list of (key path inside the row, Unfit)
        The conditions that fit, and all that does not.
    """
    if not isinstance(row, SetbackRow | ConduitRow):
        return (), []
    sorts = _sorts(row, site_facts)
    problems: list[Problem] = []
    ready: list[Check | AnyOf] = []

    def one(when: When, path: KeyPath) -> Check | None:
        try:
            return _check(when, sorts)
        except (Unfit, UnitFault) as error:
            mend = getattr(error, "mend", "")
            problems.append((path, Unfit(found=error.found, expected=error.expected, mend=mend)))
            return None

    for place, when in enumerate(row.when):
        path: KeyPath = ("when", place)
        if when.any:
            checks = [one(inner, (*path, "any", number)) for number, inner in enumerate(when.any)]
            ready.append(AnyOf(tuple(check for check in checks if check is not None)))
        elif (check := one(when, path)) is not None:
            ready.append(check)
    return tuple(ready), problems


def _sorts(row: SetbackRow | ConduitRow, site_facts: Mapping[str, str]) -> dict[str, str]:
    """Facts that the conditions of a row may name, with their sort."""
    sorts = {f"site.{name}": sort for name, sort in site_facts.items()}
    if isinstance(row, SetbackRow):
        shared = [kinds()[kind].facts for kind in row.to if kind in kinds()]
        common = {
            n: s for n, s in (shared[0] if shared else {}).items() if all(f.get(n) == s for f in shared)
        }
        sorts |= {f"hazard.{name}": sort for name, sort in common.items()} | {"hazard.status": "text"}
    if isinstance(row, SetbackRow) and row.from_ == "well":
        sorts |= {f"well.{name}": sort for name, sort in kinds()["well"].facts.items()} | {
            "well.status": "text"
        }
    else:
        sorts |= {f"line.{name}": sort for name, sort in LINE_FACTS.items()}
    return sorts


def _check(when: When, sorts: Mapping[str, str]) -> Check:
    if when.fact not in sorts:
        raise Unfit(
            found=f"the unknown fact {shown(when.fact)}",
            expected="a fact of the well, the line, the site, or of every kind named in to",
            mend=nearest(when.fact, sorts),
        )
    sort = sorts[when.fact]
    op = cast("Op", when.op)
    if op in ("<", "<=", ">", ">=") and sort not in _ORDERED:
        raise Unfit(found=f"{op} on {when.fact}, which is {sort}", expected='"==", "!=" or "in"')
    if (op == "in") != isinstance(when.value, list) or (op == "in" and sort != "text"):
        raise Unfit(
            found=f"{op} with {shown(when.value)}", expected='"in" with a list of texts, else one value'
        )
    against, words, unit = _threshold(when, sort)
    return Check(fact=when.fact, op=op, against=against, shown=words, unit=unit, sort=sort)


def _threshold(when: When, sort: str) -> tuple[Fact | tuple[str, ...], str, LengthUnit | None]:
    """Return the threshold in SI, in words, and its unit if it is a length."""
    value = when.value
    if isinstance(value, list):
        if when.fact.endswith(".status"):
            _known_statuses(value)
        return tuple(item.casefold() for item in value), ", ".join(value), None
    if sort in _QUANTITY:
        if not isinstance(value, str):
            raise Unfit(found=f"{shown(value)}, which has no unit", expected=f"a {sort} with its unit")
        if sort == "length":
            measure = parse_measure(value)
            return measure.metres, str(measure), measure.unit
        return parse_quantity(value, _QUANTITY[sort]), value, None
    if not isinstance(value, _BARE[sort]) or (sort == "number" and isinstance(value, bool)):
        raise Unfit(found=shown(value), expected=f"a value of sort {sort}, as {when.fact} is")
    if isinstance(value, bool):
        return value, "yes" if value else "no", None
    if isinstance(value, int | float):
        return float(value), f"{value:g}", None
    if when.fact.endswith(".status"):
        _known_statuses([str(value)])
    return str(value).casefold(), str(value), None


def _known_statuses(words: list[str]) -> None:
    for word in words:
        if word not in STATUSES:
            raise Unfit(
                found=shown(word), expected=f"one of {', '.join(STATUSES)}", mend=nearest(word, STATUSES)
            )
