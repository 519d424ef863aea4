"""Conditions of a rule: small tests of stated facts, joined by *all* and *any*. No text is ever executed.

A fact that nobody stated makes a test *unknown* (``None``), never true or false. ``outcomes`` then says what the
answer would be for each value that the missing facts could take.
"""

from __future__ import annotations

import operator
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any, Literal, TypeAlias

from siteplan.site.features import Fact
from siteplan.units import QuantityKind, parse_quantity

Op: TypeAlias = Literal["<", "<=", ">", ">=", "==", "!=", "in"]
Truth: TypeAlias = bool | None
Facts: TypeAlias = Mapping[str, Fact]

_COMPARE: dict[str, Any] = {
    "<": operator.lt,
    "<=": operator.le,
    ">": operator.gt,
    ">=": operator.ge,
    "==": operator.eq,
    "!=": operator.ne,
    "in": lambda fact, options: fact in options,
}
_WORDS = {
    "<": "less than ",
    "<=": "at most ",
    ">": "more than ",
    ">=": "at least ",
    "==": "",
    "!=": "anything but ",
    "in": "one of ",
}
_UNIT_OF_SORT = {"potential": "V", "current": "A", "volume": "m³"}
QUANTITY: Mapping[str, QuantityKind] = {
    "length": "length",
    "volume": "volume_liquid",
    "potential": "electric_potential",
    "current": "current",
}
"""Sorts of facts that have a unit, as ``units`` names them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """One test of one fact.

    Attributes
    ----------
    fact : str
        Such as ``well.casing_depth``.
    against : str, float, bool or tuple of str
        Threshold, in SI like the fact.
    shown : str
        The threshold as the rule prints it ("6 m").
    unit : str
        Unit of a quantity as the rule writes it, so that the fact prints in it; ``""`` for anything else.
    sort : str
        Sort of the fact as in ``layers/kinds.toml``.
    """

    fact: str
    op: Op
    against: Fact | tuple[str, ...]
    shown: str
    unit: str = ""
    sort: str

    def truth(self, facts: Facts) -> Truth:
        """Say whether it is met; ``None`` if the fact is not stated."""
        value = facts.get(self.fact)
        if value is None:
            return None
        if isinstance(value, str):
            value = value.casefold()
        return bool(_COMPARE[self.op](value, self.against))

    def asked(self) -> str:
        """The test in words: ``casing depth at least 6 m``."""
        return f"{label(self.fact)} {_WORDS[self.op]}{self.shown}"

    def found(self, facts: Facts) -> str:
        """The fact and how it compares: ``casing depth 18.9 m (at least 6 m)``."""
        fact = f"{label(self.fact)} {printed(facts[self.fact], self.sort, self.unit)}"
        if self.truth(facts):
            return fact if self.op == "==" else f"{fact} ({_WORDS[self.op]}{self.shown})"
        return f"{fact} (the rule says {_WORDS[self.op]}{self.shown})"


@dataclass(frozen=True, slots=True)
class AnyOf:
    """At least one of several tests."""

    tests: tuple[Check, ...]

    def truth(self, facts: Facts) -> Truth:
        """Say whether one is met; ``None`` if that hangs on a fact not stated."""
        truths = [test.truth(facts) for test in self.tests]
        if True in truths:
            return True
        return None if None in truths else False

    def asked(self) -> str:
        """The tests in words."""
        return " or ".join(test.asked() for test in self.tests)

    def found(self, facts: Facts) -> str:
        """The facts that decided, and how they compare."""
        met = [test for test in self.tests if test.truth(facts)]
        return ", ".join(test.found(facts) for test in met or self.tests)


Conditions: TypeAlias = tuple[Check | AnyOf, ...]
"""All of these must be met."""


def label(fact: str) -> str:
    """Name of a fact in words, without whose it is: ``well.casing_depth`` -> ``casing depth``."""
    return fact.partition(".")[2].replace("_", " ")


def printed(value: Fact, sort: str, unit: str = "") -> str:
    """A fact as it prints: a quantity in the unit of the rule, or in SI if the rule writes none.

    >>> printed(1.1356235352, "volume", "gal"), printed(1.1356235352, "volume"), printed(18.288, "length", "ft")
    ('300 gal', '1.13562 m³', '60 ft')
    """
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, str):
        return value
    if unit:
        number = f"{value / parse_quantity(f'1 {unit}', QUANTITY[sort]):.2f}"
        return f"{number.rstrip('0').rstrip('.')} {unit}"
    return f"{value:g} {_UNIT_OF_SORT.get(sort, '')}".strip()


def leaves(conditions: Conditions) -> Iterator[Check]:
    """Every single test."""
    for condition in conditions:
        yield from condition.tests if isinstance(condition, AnyOf) else (condition,)


def truth(conditions: Conditions, facts: Facts) -> Truth:
    """Say whether all are met; ``None`` if that hangs on a fact not stated."""
    truths = [condition.truth(facts) for condition in conditions]
    if False in truths:
        return False
    return None if None in truths else True


def open_part(conditions: Conditions, facts: Facts) -> Conditions:
    """What of conditions that are not false still hangs on facts that nobody stated."""
    still_open = [condition for condition in conditions if condition.truth(facts) is None]
    return tuple(
        AnyOf(tuple(test for test in condition.tests if test.truth(facts) is None))
        if isinstance(condition, AnyOf)
        else condition
        for condition in still_open
    )


def asked(conditions: Conditions) -> str:
    """The conditions in words."""
    return " and ".join(condition.asked() for condition in conditions)


def because(conditions: Conditions, facts: Facts) -> tuple[str, ...]:
    """The facts behind a known truth: all that hold, or those that fail."""
    wanted = truth(conditions, facts)
    return tuple(c.found(facts) for c in conditions if c.truth(facts) is wanted)


def missing(alternatives: Iterable[Conditions], facts: Facts) -> tuple[str, ...]:
    """Facts that nobody stated and that conditions still open hang on, each once, in order."""
    still_open = [c for conditions in alternatives for c in conditions if c.truth(facts) is None]
    names = (test.fact for condition in still_open for test in leaves((condition,)))
    return tuple(dict.fromkeys(name for name in names if name not in facts))


def outcomes(alternatives: Sequence[Conditions], facts: Facts) -> list[tuple[bool, ...]]:
    """Which of the alternatives would hold, for every value that the missing facts could take.

    Parameters
    ----------
    alternatives : sequence of Conditions
        Conditions of the rows of one rule.
    facts : mapping
        What is known.

    Returns
    -------
    list of tuple of bool
        Each possible answer once; one entry for each alternative.

    Examples
    --------
    >>> deep, shallow = (Check(fact="well.casing_depth", op=op, against=6.0, shown="6 m", unit="m", sort="length")
    ...                  for op in (">=", "<"))
    >>> outcomes([(deep,), (shallow,)], {})
    [(False, True), (True, False)]
    """
    answers = _answers(alternatives, facts, [test for one in alternatives for test in leaves(one)])
    return list(dict.fromkeys(answers))


def _answers(
    alternatives: Sequence[Conditions], facts: Facts, tests: Sequence[Check]
) -> Iterator[tuple[bool, ...]]:
    """Try one missing fact after the other, and stop where nothing is open any more."""
    still_open = missing([one for one in alternatives if truth(one, facts) is None], facts)
    if not still_open:
        yield tuple(truth(one, facts) is True for one in alternatives)
        return
    fact = still_open[0]
    for value in _values([test for test in tests if test.fact == fact]):
        yield from _answers(alternatives, {**facts, fact: value}, tests)


def never_met(conditions: Conditions) -> str:
    """Fact of which the conditions ask what no value can give, ``""`` if they can hold together.

    >>> low, high = (Check(fact="hazard.built", op=op, against=day, shown=day, sort="date")
    ...              for op, day in (("<", "1990-01-01"), (">=", "2015-01-01")))
    >>> never_met((low, high)), never_met((low,))
    ('hazard.built', '')
    """
    tests = [condition for condition in conditions if isinstance(condition, Check)]
    for fact, count in Counter(test.fact for test in tests).items():
        of_fact = [test for test in tests if test.fact == fact] if count > 1 else []
        if of_fact and not any(
            all(test.truth({fact: value}) for test in of_fact) for value in _values(of_fact)
        ):
            return fact
    return ""


def _values(tests: Sequence[Check]) -> list[Fact]:
    """Values of one fact that between them bring out every answer of its tests, each answer once."""
    answers: dict[tuple[Truth, ...], Fact] = {}
    for value in _tried(tests):
        answers.setdefault(tuple(test.truth({test.fact: value}) for test in tests), value)
    return list(answers.values())


def _tried(tests: Sequence[Check]) -> list[Fact]:
    """Every threshold of the tests of one fact, and values between and beyond them."""
    sort = tests[0].sort
    if sort == "yes_no":
        return [False, True]
    named = [
        a for test in tests for a in (test.against if isinstance(test.against, tuple) else (test.against,))
    ]
    if sort == "text":
        return [*dict.fromkeys(named), "\N{REPLACEMENT CHARACTER}"]
    if sort == "date":
        dates = sorted(str(date) for date in dict.fromkeys(named))
        return ["", *(value for date in dates for value in (date, f"{date}~"))]
    steps = sorted({float(value) for value in named})
    between = [(low + high) / 2 for low, high in pairwise(steps)]
    return sorted([steps[0] - 1.0, *steps, *between, steps[-1] + 1.0])
