"""What a row asks for, made ready: fact names checked, thresholds and formulas read in the unit of the fact."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cache
from itertools import pairwise
from typing import cast

from siteplan.rules.conditions import QUANTITY, AnyOf, Check, Conditions, Op, leaves, never_met
from siteplan.rules.faults import Unfit, nearest, shown
from siteplan.rules.formulas import Formula, Power, Straight
from siteplan.rules.rows import STATUSES, ConduitRow, MultiplierRow, Row, SetbackRow, When
from siteplan.rules.setback_rows import ANY_SOURCE, Interpolate, Scale, kinds_named
from siteplan.rules.tables import length_of
from siteplan.site.catalogue import kinds
from siteplan.site.features import Fact
from siteplan.site.toml_lines import KeyPath
from siteplan.units import Length, UnitFault, parse_quantity

SITE_FACTS = {"soil_permeable": "yes_no", "subdivision": "yes_no", "lot_created": "date"}
"""Facts of the whole site that every layer may ask for; a layer declares any other in [layer.site_facts]."""
LINE_FACTS = {
    "volts": "potential",
    "amps": "current",
    "gfci": "yes_no",
    "dwelling": "yes_no",
    "suction": "yes_no",
}
"""Facts of a line to lay; where ``dwelling`` is not stated, it follows from the building at the end of the line."""

_LINE = {f"line.{name}": sort for name, sort in LINE_FACTS.items()}
_SUCTION = Check(fact="line.suction", op="==", against=True, shown="yes", sort="yes_no")

_UNIT = re.compile(r"[^0-9. ].*")
_BARE: dict[str, tuple[type, ...]] = {
    "number": (int, float),
    "yes_no": (bool,),
    "text": (str,),
    "date": (date, str),
}
_ORDERED = ("length", "volume", "potential", "current", "number", "date")

_ADDED_UP = ("length", "volume", "number")

Problem = tuple[KeyPath, Unfit]


@dataclass(frozen=True, slots=True, kw_only=True)
class Ready:
    """The parts of a row that are held against facts.

    Attributes
    ----------
    when : Conditions
        What must hold.
    over : Conditions
        What a thing must meet to be added up.
    formula : Formula or None
        How the distance hangs on a fact.
    """

    when: Conditions = ()
    over: Conditions = ()
    formula: Formula | None = None


def compile_row(row: Row, site_facts: Mapping[str, str]) -> tuple[Ready, list[Problem]]:
    """Make the conditions and the formula of a row ready.

    Parameters
    ----------
    row : Row
        A row as read; only setback, multiplier and conduit rows have conditions.
    site_facts : mapping
        Facts of the whole site that this layer or one above it declares, with their sort.

    Returns
    -------
    Ready, list of (key path inside the row, Unfit)
        The parts that fit, and all that does not.
    """
    if not isinstance(row, SetbackRow | MultiplierRow | ConduitRow):
        return Ready(), []
    problems: list[Problem] = []
    sorts = _sorts(row, site_facts)
    over: Conditions = ()
    formula: Formula | None = None
    if isinstance(row, SetbackRow | MultiplierRow):
        problems += _problems_of_kinds(row)
    if isinstance(row, SetbackRow):
        if row.sum_of is not None:
            of_hazard = {fact: sort for fact, sort in sorts.items() if fact.startswith("hazard.")}
            over = _conditions(row.sum_of.over, of_hazard, ("sum_of", "over"), problems)
            sorts |= _added_up(row.sum_of.fact, of_hazard, problems)
        formula = _formula(row, sorts, problems)
    when = _conditions(row.when, sorts, ("when",), problems)
    summed = isinstance(row, SetbackRow) and row.sum_of is not None
    if summed and not problems and not any(test.fact.startswith("sum.") for test in leaves(when)):
        unfit = Unfit(
            found="a sum that no condition asks for", expected="a condition on it, named sum. and the fact"
        )
        problems.append((("sum_of",), unfit))
    if isinstance(row, SetbackRow | MultiplierRow) and row.from_ == "suction_line":
        when = (_SUCTION, *when)
    if not problems and (fact := never_met(when)):
        unfit = Unfit(found=f"conditions on {fact} that no value meets", expected="conditions that can hold")
        problems.append((("when",), unfit))
    return Ready(when=when, over=over, formula=formula), problems


def _problems_of_kinds(row: SetbackRow | MultiplierRow) -> Iterator[Problem]:
    """Name the kinds that are not in ``layers/kinds.toml``."""
    known = [*kinds(), ANY_SOURCE]
    for place, kind in enumerate(row.to):
        if kind not in known:
            expected = f"a kind of layers/kinds.toml, or {ANY_SOURCE}"
            yield ("to", place), Unfit(found=shown(kind), expected=expected, mend=nearest(kind, known))


def _conditions(
    written: Sequence[When], sorts: Mapping[str, str], root: KeyPath, problems: list[Problem]
) -> Conditions:
    ready: list[Check | AnyOf] = []

    def one(when: When, path: KeyPath) -> Check | None:
        try:
            return _check(when, sorts)
        except (Unfit, UnitFault) as error:
            problems.append((path, _as_unfit(error)))
            return None

    for place, when in enumerate(written):
        path: KeyPath = (*root, place)
        if when.any:
            checks = [one(inner, (*path, "any", number)) for number, inner in enumerate(when.any)]
            ready.append(AnyOf(tuple(check for check in checks if check is not None)))
        elif (check := one(when, path)) is not None:
            ready.append(check)
    return tuple(ready)


def _as_unfit(error: Unfit | UnitFault) -> Unfit:
    return Unfit(found=error.found, expected=error.expected, mend=getattr(error, "mend", ""))


def _sorts(row: SetbackRow | MultiplierRow | ConduitRow, site_facts: Mapping[str, str]) -> dict[str, str]:
    """Facts that the conditions of a row may name, with their sort."""
    sorts = {f"site.{name}": sort for name, sort in {**SITE_FACTS, **site_facts}.items()}
    if isinstance(row, ConduitRow):
        return sorts | _LINE
    of_line = {} if row.from_ == "well" else _LINE
    return sorts | _well_sorts() | of_line | _hazard_sorts(kinds_named(row.to))


@cache
def _well_sorts() -> dict[str, str]:
    return _whose("well", kinds()["well"].facts)


@cache
def _hazard_sorts(named: tuple[str, ...]) -> dict[str, str]:
    """Facts that things of all these kinds may state."""
    shared = [kinds()[kind].facts for kind in named if kind in kinds()]
    first = shared[0] if shared else {}
    common = {name: sort for name, sort in first.items() if all(one.get(name) == sort for one in shared)}
    return _whose("hazard", common)


def _whose(whose: str, facts: Mapping[str, str]) -> dict[str, str]:
    return {f"{whose}.status": "text"} | {f"{whose}.{name}": sort for name, sort in facts.items()}


def _sort_of(fact: str, sorts: Mapping[str, str], *wanted: str) -> str:
    """Sort of a fact that a row may name; one of the wanted sorts, if any are."""
    if fact not in sorts:
        raise Unfit(
            found=f"the unknown fact {shown(fact)}",
            expected="a fact of the well, the line, the site, or of every kind named in to",
            mend=nearest(fact, sorts),
        )
    if wanted and sorts[fact] not in wanted:
        raise Unfit(found=f"{fact}, which is {sorts[fact]}", expected=f"a fact of sort {', '.join(wanted)}")
    return sorts[fact]


def _added_up(fact: str, of_hazard: Mapping[str, str], problems: list[Problem]) -> dict[str, str]:
    """The sum as a fact that conditions may name, with its sort."""
    try:
        sort = _sort_of(fact, of_hazard, *_ADDED_UP)
    except Unfit as unfit:
        problems.append((("sum_of", "fact"), unfit))
        return {}
    return {fact.replace("hazard.", "sum."): sort}


def _formula(row: SetbackRow, sorts: Mapping[str, str], problems: list[Problem]) -> Formula | None:
    path: KeyPath = ("interpolate" if row.interpolate is not None else "scale",)
    try:
        if row.interpolate is not None:
            formula: Formula = _straight(row.interpolate, sorts)
        elif row.scale is not None:
            formula = _power(row.scale, sorts)
        else:
            return None
    except (Unfit, UnitFault) as error:
        problems.append((path, _as_unfit(error)))
        return None
    possible = [length.metres for _, length in formula.possible()]
    if row.approvable_to and formula.has_ceiling and row.approvable_to.metres >= max(possible):
        found = f"approvable_to {row.approvable_to}, no less than any distance of the row"
        problems.append((path, Unfit(found=found, expected="less than the distance")))
    return formula


def _straight(written: Interpolate, sorts: Mapping[str, str]) -> Straight:
    sort = _sort_of(written.fact, sorts, *QUANTITY, "number")
    points: list[tuple[float, str, Length]] = []
    units: list[str] = []
    for value, distance in written.points:
        against, words, unit = _threshold(When(fact=written.fact, op=">=", value=value), sort)
        points.append((cast("float", against), words, distance))
        units.append(unit)
    if any(one[0] >= other[0] for one, other in pairwise(points)):
        raise Unfit(found=f"points of {written.fact} out of order", expected="ascending, each value once")
    return Straight(fact=written.fact, sort=sort, unit=units[0], points=tuple(points))


def _power(written: Scale, sorts: Mapping[str, str]) -> Power:
    sort = _sort_of(written.fact, sorts, "number", "length")
    return Power(
        fact=written.fact,
        sort=sort,
        factor=written.factor,
        power=written.power,
        unit=written.unit,
        floor=written.floor,
        most=written.most,
    )


def _check(when: When, sorts: Mapping[str, str]) -> Check:
    sort = _sort_of(when.fact, sorts)
    op = cast("Op", when.op)
    if op in ("<", "<=", ">", ">=") and sort not in _ORDERED:
        raise Unfit(found=f"{op} on {when.fact}, which is {sort}", expected='"==", "!=" or "in"')
    if (op == "in") != isinstance(when.value, list) or (op == "in" and sort != "text"):
        raise Unfit(
            found=f"{op} with {shown(when.value)}", expected='"in" with a list of texts, else one value'
        )
    against, words, unit = _threshold(when, sort)
    return Check(fact=when.fact, op=op, against=against, shown=words, unit=unit, sort=sort)


def _threshold(when: When, sort: str) -> tuple[Fact | tuple[str, ...], str, str]:
    """Return the threshold in SI, in words, and the unit of a quantity."""
    value = when.value
    if isinstance(value, list):
        if when.fact.endswith(".status"):
            _known_statuses(value)
        return tuple(item.casefold() for item in value), ", ".join(value), ""
    if sort in QUANTITY:
        return _quantity(value, sort)
    if not isinstance(value, _BARE[sort]) or (sort == "number" and isinstance(value, bool)):
        raise Unfit(found=shown(value), expected=f"a value of sort {sort}, as {when.fact} is")
    if when.fact.endswith(".status"):
        _known_statuses([str(value)])
    if sort == "date":
        return _day(value), _day(value), ""
    if isinstance(value, bool):
        return value, "yes" if value else "no", ""
    if isinstance(value, int | float):
        return float(value), f"{value:g}", ""
    return str(value).casefold(), str(value), ""


def _quantity(value: object, sort: str) -> tuple[Fact, str, str]:
    if not isinstance(value, str):
        raise Unfit(found=f"{shown(value)}, which has no unit", expected=f"a {sort} with its unit")
    if sort == "length":
        measure = length_of(value)
        return measure.metres, str(measure), measure.unit
    unit = _UNIT.search(value)
    return parse_quantity(value, QUANTITY[sort]), value, unit[0].strip() if unit else ""


def _day(value: object) -> str:
    try:
        return date.fromisoformat(str(value)).isoformat()
    except ValueError:
        raise Unfit(found=shown(value), expected="a date such as 2015-01-01") from None


def _known_statuses(words: list[str]) -> None:
    for word in words:
        if word not in STATUSES:
            raise Unfit(
                found=shown(word), expected=f"one of {', '.join(STATUSES)}", mend=nearest(word, STATUSES)
            )
