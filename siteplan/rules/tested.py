"""Facts of things that the rows of a stack test or compute with, and the texts that they know."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping

from siteplan.rules.conditions import leaves
from siteplan.rules.rows import MultiplierRow, SetbackRow
from siteplan.rules.setback_rows import kinds_named
from siteplan.rules.stack import Stack


def facts_tested(stack: Stack) -> Mapping[tuple[str, str], set[str]]:
    """Facts that rows test or compute with, by kind (or ``site``) and fact: the texts that they know, casefolded.

    A fact that is a number, a date or a yes or no has no texts. A status is no fact: it is checked where it is read.
    """
    known: dict[tuple[str, str], set[str]] = defaultdict(set)
    for placed in stack.rows:
        if not isinstance(placed.row, SetbackRow | MultiplierRow):
            continue
        for test in leaves((*placed.when, *placed.over)):
            texts = test.against if isinstance(test.against, tuple) else (str(test.against),)
            for whose in _whose(test.fact, placed.row):
                known[whose].update(texts if test.sort == "text" else ())
        if placed.formula is not None:
            for whose in _whose(placed.formula.fact, placed.row):
                known[whose].update(())
    return {whose: texts for whose, texts in known.items() if whose[1] != "status"}


def _whose(fact: str, row: SetbackRow | MultiplierRow) -> tuple[tuple[str, str], ...]:
    """Kinds that a fact of a row belongs to, each with its name."""
    whose, _, name = fact.partition(".")
    return tuple((kind, name) for kind in (kinds_named(row.to) if whose == "hazard" else (whose,)))
