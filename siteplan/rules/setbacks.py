"""Setback rows against the pairs of one site, and what nobody looked for.

Which rows answer together is found once for each kind; two things of one kind with the same facts get the same answers.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from functools import lru_cache

from siteplan.rules.citation import FORCES, STANDINGS
from siteplan.rules.conditions import Facts, leaves, truth
from siteplan.rules.model import Setback, Unmeasured
from siteplan.rules.rows import MultiplierRow, SetbackRow
from siteplan.rules.setback_rows import kinds_named
from siteplan.rules.speaking import Pair, Rule, Voice, answers, displaces, largest
from siteplan.rules.stack import Placed, Stack
from siteplan.site.catalogue import kinds
from siteplan.site.features import Feature
from siteplan.site.site import Site


def setbacks(stack: Stack, site: Site, line_facts: Mapping[str, Facts]) -> Iterator[Setback | Unmeasured]:
    """Yield what each row asks that speaks of a pair on the site, applicable or not.

    Parameters
    ----------
    stack : Stack
        Rules in force, overrides applied.
    site : Site
        Its shapes are not looked at.
    line_facts : mapping
        Facts of each line to lay by its id, named as conditions name them.
    """
    rules = _rules(stack)
    spoken_of = {kind for kind, _ in rules}
    hazards = [
        (hazard, facts_named("hazard", hazard)) for hazard in site.features if hazard.kind in spoken_of
    ]
    sums = {kind: _sums(stack, site, kind) for kind in {hazard.kind for hazard, _ in hazards}}
    decisive = {kind: _decisive(rules, kind) for kind in sums}
    general = _of_site(site)
    subjects: list[tuple[str, str, Facts, tuple[str, ...]]] = [
        ("well", well.id, facts_named("well", well), ("well",)) for well in site.of_kind("well")
    ]
    for line in site.lines:
        names = (f"line:{line.carries}", *(("suction_line",) if line.carries == "water" else ()))
        subjects.append(("line", line.id, line_facts[line.id], names))
    for subject, of, own, names in subjects:
        told: dict[tuple[object, ...], list[Setback | Unmeasured]] = {}
        for hazard, facts in hazards:
            if hazard.id == of:
                continue
            key = (hazard.kind, *(facts.get(name) for name in decisive[hazard.kind]))
            if key not in told:
                pair = Pair(
                    subject="well" if subject == "well" else "line",
                    of=of,
                    to=hazard.id,
                    status=hazard.status,
                    facts={**general, **own, **facts},
                    sums=sums[hazard.kind],
                )
                found = (rule for name in names for rule in rules.get((hazard.kind, name), ()))
                told[key] = [answer for rule in found for answer in answers(rule, pair)]
            yield from (one if one.to == hazard.id else replace(one, to=hazard.id) for one in told[key])


def facts_named(whose: str, feature: Feature) -> Facts:
    """Status and facts of a thing as conditions name them."""
    return {f"{whose}.status": feature.status} | {
        f"{whose}.{name}": fact for name, fact in feature.facts.items()
    }


def ranked(found: Iterable[Setback]) -> list[Setback]:
    """Setbacks of one pair that apply, the one that governs first.

    The largest; of equal ones what is required before what is advised, then the more surely read.
    """
    applying = [setback for setback in found if setback.applies]
    return sorted(
        applying,
        key=lambda one: (
            -round(one.least.metres, 6),
            FORCES.index(one.citation.force),
            STANDINGS.index(one.citation.standing),
        ),
    )


def unlooked(stack: Stack, site: Site) -> Iterator[tuple[str, Placed[SetbackRow]]]:
    """Yield the kinds that a well's rows name, that the site has none of, and for which nobody says to have looked.

    One entry for each printed name of a kind, with the row of the largest distance. A row that cannot hold here whatever
    the hazard (it is for subdivisions and this is none) names nothing.
    """
    seen = {
        kinds()[kind].name for kind in (*(f.kind for f in site.features), *site.looked) if kind in kinds()
    }
    wells = [{**_of_site(site), **facts_named("well", well)} for well in site.of_kind("well")]
    strictest: dict[str, tuple[str, Placed[SetbackRow]]] = {}
    for placed in stack.of(SetbackRow):
        if placed.row.from_ != "well" or all(truth(placed.when, facts) is False for facts in wells):
            continue
        for kind in kinds_named(placed.row.to):
            name = kinds()[kind].name
            held = strictest.get(name)
            if name not in seen and (held is None or largest(held[1]).metres < largest(placed).metres):
                strictest[name] = (held[0] if held else kind, placed)
    yield from strictest.values()


@lru_cache(maxsize=64)
def _rules(stack: Stack) -> dict[tuple[str, str], list[Rule]]:
    """Rows that answer together, by the kind that they speak of and what they are measured from."""
    multipliers: dict[tuple[str, str, str], list[Placed[MultiplierRow]]] = defaultdict(list)
    for times in stack.of(MultiplierRow):
        for kind in kinds_named(times.row.to):
            multipliers[(kind, times.row.from_, times.home)].append(times)
    grouped: dict[tuple[str, str], dict[str, list[Voice]]] = defaultdict(lambda: defaultdict(list))
    for placed in stack.of(SetbackRow):
        row = placed.row
        for kind in kinds_named(row.to):
            acting = () if placed.override else multipliers.get((kind, row.from_, placed.home), ())
            voice = Voice(
                placed=placed,
                multipliers=tuple(one for one in acting if not one.row.rows or row.id in one.row.rows),
            )
            alone = not row.group or not row.in_plan
            grouped[(kind, row.from_)][f"={row.id}" if alone else row.group].append(voice)
    rules: dict[tuple[str, str], list[Rule]] = {}
    for key, groups in grouped.items():
        spoken = [voice for voices in groups.values() for voice in voices]
        rules[key] = [_rule(tuple(voices), spoken) for voices in groups.values()]
    return rules


def _decisive(rules: Mapping[tuple[str, str], list[Rule]], kind: str) -> list[str]:
    """Facts of a thing of a kind that any rule looks at."""
    voices = [
        voice for (one, _), found in rules.items() if one == kind for rule in found for voice in rule.voices
    ]
    conditions = [voice.placed.when for voice in voices]
    conditions += [one.when for voice in voices for one in voice.multipliers]
    names = {test.fact for when in conditions for test in leaves(when)}
    names |= {voice.placed.formula.fact for voice in voices if voice.placed.formula is not None}
    return ["hazard.status", *sorted(name for name in names if name.startswith("hazard."))]


def _rule(voices: tuple[Voice, ...], spoken: Iterable[Voice]) -> Rule:
    """Rows that answer together, with those to which a default row among them gives way."""
    defaults = [voice.placed for voice in voices if voice.placed.row.default]
    over = (one for one in spoken if any(displaces(one.placed, default) for default in defaults))
    return Rule(voices=voices, specific=tuple(over))


def _of_site(site: Site) -> Facts:
    return {f"site.{name}": value for name, value in site.facts.items()}


def _sums(stack: Stack, site: Site, kind: str) -> dict[str, Facts]:
    """The sum that each row asks for over the things of a kind; no sum where one of them leaves it open."""
    things = [(feature, facts_named("hazard", feature)) for feature in site.of_kind(kind)]
    sums: dict[str, Facts] = {}
    for placed in stack.of(SetbackRow):
        asked = placed.row.sum_of
        if asked is None or kind not in kinds_named(placed.row.to):
            continue
        counted = [facts for feature, facts in things if feature.status in placed.row.statuses]
        meeting = [(facts, truth(placed.over, facts)) for facts in counted]
        stated = [facts.get(asked.fact) if met else None for facts, met in meeting if met is not False]
        numbers = [float(value) for value in stated if value is not None]
        if len(numbers) == len(stated):
            sums[placed.row.id] = {asked.fact.replace("hazard.", "sum."): sum(numbers)}
    return sums
