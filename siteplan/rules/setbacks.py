"""Setback rows against the pairs of one site.

Rows of one rule that are alternatives (casing to 6 m or more: 15 m; any other well: 30 m) share a group. As long as the
facts decide, every row answers for itself. Where a fact is missing, the alternatives that are still possible become
one setback that holds the largest number and names every possible answer.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence

from siteplan.rules.conditions import Facts, asked, because, missing, outcomes, truth
from siteplan.rules.model import Setback
from siteplan.rules.rows import SetbackRow
from siteplan.rules.stack import Placed, Stack
from siteplan.site.catalogue import kinds
from siteplan.site.features import Feature
from siteplan.site.site import Site
from siteplan.units import Length

Rule = tuple[Placed[SetbackRow], ...]


def setbacks(stack: Stack, site: Site, line_facts: Mapping[str, Facts]) -> Iterator[Setback]:
    """Yield one setback for each row that speaks of a pair on the site, applicable or not.

    Parameters
    ----------
    stack : Stack
        Rules in force, overrides applied.
    site : Site
        Its shapes are not looked at.
    line_facts : mapping
        Facts of each line to lay by its id, named as conditions name them.
    """
    by_kind = _rules_by_kind(stack)
    general = {f"site.{name}": value for name, value in site.facts.items()}
    wells = [(well, {**general, **_named("well", well)}) for well in site.of_kind("well")]
    hazards = [(hazard, _named("hazard", hazard)) for hazard in site.features if hazard.kind in by_kind]
    for well, facts in wells:
        for hazard, hazard_facts in hazards:
            for rule in by_kind[hazard.kind]:
                if rule[0].row.from_ == "well" and hazard.id != well.id:
                    yield from _of_rule(rule, well.id, hazard, {**facts, **hazard_facts})
    for line in site.lines:
        for hazard, hazard_facts in hazards:
            for rule in by_kind[hazard.kind]:
                if rule[0].row.from_ == f"line:{line.carries}":
                    facts = {**general, **line_facts[line.id], **hazard_facts}
                    yield from _of_rule(rule, line.id, hazard, facts)


def ranked(found: Iterable[Setback]) -> list[Setback]:
    """Setbacks of one pair that apply, the one that governs first: the largest, then what is required."""
    applying = [setback for setback in found if setback.applies]
    return sorted(applying, key=lambda one: (-one.least.metres, one.citation.force != "required"))


def unlooked(stack: Stack, site: Site) -> Iterator[tuple[str, Placed[SetbackRow]]]:
    """Yield the kinds that a well's rows name, that the site has none of, and for which nobody says to have looked.

    One entry for each printed name of a kind, with the row of the largest distance. A row that cannot hold here whatever
    the hazard (it is for subdivisions and this is none) names nothing.
    """
    seen = {
        kinds()[kind].name for kind in (*(f.kind for f in site.features), *site.looked) if kind in kinds()
    }
    general = {f"site.{name}": value for name, value in site.facts.items()}
    wells = [{**general, **_named("well", well)} for well in site.of_kind("well")]
    strictest: dict[str, tuple[str, Placed[SetbackRow]]] = {}
    for placed in stack.of(SetbackRow):
        if placed.row.from_ != "well" or all(truth(placed.when, facts) is False for facts in wells):
            continue
        for kind in placed.row.to:
            name = kinds()[kind].name
            held = strictest.get(name)
            if name not in seen and (held is None or _metres(held[1]) < _metres(placed)):
                strictest[name] = (held[0] if held else kind, placed)
    yield from strictest.values()


def _metres(placed: Placed[SetbackRow]) -> float:
    return placed.row.distance.metres


def _rules_by_kind(stack: Stack) -> dict[str, list[Rule]]:
    """Rows that are alternatives together, by the kind that they speak of."""
    grouped: dict[tuple[str, str, str], list[Placed[SetbackRow]]] = defaultdict(list)
    for placed in stack.of(SetbackRow):
        for kind in placed.row.to:
            grouped[(kind, placed.row.from_, placed.row.group or f"={placed.row.id}")].append(placed)
    by_kind: dict[str, list[Rule]] = defaultdict(list)
    for (kind, _, _), rule in grouped.items():
        by_kind[kind].append(tuple(rule))
    return by_kind


def _named(whose: str, feature: Feature) -> Facts:
    return {f"{whose}.status": feature.status} | {
        f"{whose}.{name}": fact for name, fact in feature.facts.items()
    }


def _of_rule(rule: Rule, subject: str, hazard: Feature, facts: Facts) -> Iterator[Setback]:
    """What the alternatives of one rule ask of one pair."""
    possible: list[Placed[SetbackRow]] = []
    unknown = False
    for placed in rule:
        row = placed.row
        if hazard.status not in row.statuses:
            words = f"{hazard.status} (the rule counts {', '.join(row.statuses)})"
            yield _setback(placed, subject, hazard, applies=False, why=(words,))
            continue
        met = truth(placed.when, facts)
        if met is False:
            yield _setback(placed, subject, hazard, applies=False, why=because(placed.when, facts))
            continue
        unknown = unknown or met is None
        possible.append(placed)
    if unknown:
        yield _undecided(possible, subject, hazard, facts)
        return
    for placed in possible:
        yield _setback(placed, subject, hazard, why=because(placed.when, facts))


def _undecided(
    possible: Sequence[Placed[SetbackRow]], subject: str, hazard: Feature, facts: Facts
) -> Setback:
    """One setback for the alternatives between which only facts that nobody stated can choose."""
    conditions = [placed.when for placed in possible]
    answers: dict[str, Length | None] = {}
    for chosen in outcomes(conditions, facts):
        holding = [placed for placed, holds in zip(possible, chosen, strict=True) if holds]
        if holding:
            largest = max(holding, key=_metres)
            answers[_words(largest)] = largest.row.distance
        else:
            answers["otherwise"] = None
    governs = max(possible, key=_metres)
    if {answer and answer.metres for answer in answers.values()} == {governs.row.distance.metres}:
        return _setback(governs, subject, hazard)
    order = {_words(placed): place for place, placed in enumerate(possible)}
    either = sorted(answers.items(), key=lambda answer: order.get(answer[0], len(order)))
    return _setback(governs, subject, hazard, open_facts=missing(conditions, facts), either=tuple(either))


def _words(placed: Placed[SetbackRow]) -> str:
    return placed.row.words or asked(placed.when)


def _setback(
    placed: Placed[SetbackRow],
    subject: str,
    hazard: Feature,
    *,
    why: tuple[str, ...] = (),
    open_facts: tuple[str, ...] = (),
    either: tuple[tuple[str, Length | None], ...] = (),
    applies: bool = True,
) -> Setback:
    row = placed.row
    return Setback(
        subject="well" if row.from_ == "well" else "line",
        of=subject,
        to=hazard.id,
        least=row.distance,
        from_point=row.from_point,
        to_edge=row.to_edge,
        because=why,
        missing=open_facts,
        either=either,
        applies=applies,
        citation=placed.cite(),
    )
