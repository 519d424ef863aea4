"""What the rows of one rule ask of one pair: known, open between several answers, or nothing.

Rows of one rule that are alternatives (casing to 6 m or more: 15 m; any other well: 30 m) share a group. As long as the
facts decide, every row answers for itself. Where a fact is missing, the answers that are still possible become one
setback that holds the largest number and names them all. A default row gives way to any other row of its layer that
gives the pair a distance; multipliers act on rows of their own layer alone.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from math import prod
from typing import Literal

from siteplan.rules.citation import FORCES
from siteplan.rules.conditions import (
    Conditions,
    Facts,
    asked,
    because,
    missing,
    open_part,
    outcomes,
    truth,
)
from siteplan.rules.model import Setback, Unmeasured
from siteplan.rules.rows import MultiplierRow, SetbackRow
from siteplan.rules.stack import Placed
from siteplan.units import Length

_NONE = Length(0.0, "ft")
"""Stands for the distance of a row that prohibits."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Voice:
    """One row, with the multipliers of its layer that speak of the same pair."""

    placed: Placed[SetbackRow]
    multipliers: tuple[Placed[MultiplierRow], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """Rows that answer together for one kind, and the rows of their layer to which a default row among them gives way."""

    voices: tuple[Voice, ...]
    specific: tuple[Voice, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Pair:
    """A well or a line, and a thing: ids, facts as conditions name them, and the sums by row."""

    subject: Literal["well", "line"]
    of: str
    to: str
    status: str
    facts: Facts
    sums: dict[str, Facts] = field(default_factory=dict)

    def facts_for(self, placed: Placed[SetbackRow]) -> Facts:
        """Facts that the conditions of one row are held against."""
        return {**self.facts, **self.sums.get(placed.row.id, {})}


@dataclass(frozen=True, slots=True, kw_only=True)
class _Answer:
    """One possible answer of a rule."""

    voice: Voice
    place: int
    words: str
    length: Length
    multiplied: tuple[Placed[MultiplierRow], ...]


def answers(rule: Rule, pair: Pair) -> Iterator[Setback | Unmeasured]:
    """Yield what a rule asks of a pair, also what does not apply, with the reason."""
    possible: list[Voice] = []
    for voice in rule.voices:
        why = _refused(voice, rule, pair)
        formula = voice.placed.formula
        if not voice.placed.row.in_plan:
            yield _unmeasured(voice.placed, pair, why)
        elif why:
            yield _known(voice, pair, why=why)
        elif formula is not None and formula.fact not in pair.facts and not formula.possible():
            yield _unmeasured(voice.placed, pair, (), formula.fact)
        else:
            possible.append(voice)
    rivals = [
        voice
        for voice in rule.specific
        if not _refused(voice, rule, pair) and any(displaces(voice.placed, one.placed) for one in possible)
    ]
    if any(_is_open(voice, rivals, pair) for voice in possible):
        yield from _undecided(possible, rivals, pair)
        return
    for voice in possible:
        yield _known(voice, pair)


def largest(placed: Placed[SetbackRow]) -> Length:
    """The largest distance that a row may ask for, before any multiplier; 0 if it gives none."""
    lengths = [length for _, length in placed.formula.possible()] if placed.formula else []
    return placed.row.distance or max(lengths, key=lambda length: length.metres, default=_NONE)


def _refused(voice: Voice, rule: Rule, pair: Pair) -> tuple[str, ...]:
    """Why a row does not hold for a pair; nothing if it holds, or may hold."""
    row, facts = voice.placed.row, pair.facts_for(voice.placed)
    if pair.status not in row.statuses:
        return (f"{pair.status} (the rule counts {', '.join(row.statuses)})",)
    if truth(voice.placed.when, facts) is False:
        return because(voice.placed.when, facts)
    if row.default:
        over = [one.placed for one in rule.specific if displaces(one.placed, voice.placed)]
        ids = [one.row.id for one in over if _holds(one, pair)]
        return (f"a default; {', '.join(ids)} of the same rules is specific",) if ids else ()
    return ()


def displaces(specific: Placed[SetbackRow], default: Placed[SetbackRow]) -> bool:
    """Whether a default row gives way to another row where that holds.

    Only to a distance of its own layer, never to words or a bare prohibition, and never to what binds less than itself.
    """
    row = specific.row
    return (
        default.row.default
        and specific.home == default.home
        and row.in_plan
        and not (row.default or row.prohibit)
        and FORCES.index(row.force) <= FORCES.index(default.row.force)
    )


def _holds(placed: Placed[SetbackRow], pair: Pair) -> bool:
    return pair.status in placed.row.statuses and truth(placed.when, pair.facts_for(placed)) is True


def _is_open(voice: Voice, rivals: Sequence[Voice], pair: Pair) -> bool:
    """Whether the answer of a row hangs on a fact that nobody stated."""
    placed = voice.placed
    return (
        truth(placed.when, pair.facts_for(placed)) is None
        or any(truth(one.when, pair.facts) is None for one in voice.multipliers)
        or (placed.formula is not None and placed.formula.fact not in pair.facts)
        or any(displaces(rival.placed, placed) for rival in rivals)
    )


def _undecided(
    possible: Sequence[Voice], rivals: Sequence[Voice], pair: Pair
) -> Iterator[Setback | Unmeasured]:
    """One setback for all answers between which only facts that nobody stated can choose."""
    voices = [*possible, *(rival for rival in rivals if rival not in possible)]
    by_id = {
        id(one): one
        for voice in voices
        for one in voice.multipliers
        if truth(one.when, pair.facts) is not False
    }
    multipliers = list(by_id)
    conditions: list[Conditions] = [
        *(open_part(voice.placed.when, pair.facts_for(voice.placed)) for voice in voices),
        *(open_part(one.when, pair.facts) for one in by_id.values()),
    ]
    found: dict[tuple[str, float], _Answer] = {}
    is_silent = False
    own_hold = False
    for chosen in outcomes(conditions, pair.facts):
        acting = {one for one, holds in zip(multipliers, chosen[len(voices) :], strict=True) if holds}
        holding = [
            (place, voice)
            for place, (voice, holds) in enumerate(zip(voices, chosen, strict=False))
            if holds and not _gives_way(voice, voices, chosen)
        ]
        own_hold = own_hold or any(place < len(possible) for place, _ in holding)
        is_silent = is_silent or not holding
        options = [_options(voice, place, acting, pair) for place, voice in holding]
        for answer in max(options, key=_top, default=[]):
            found.setdefault((answer.words, answer.length.metres), answer)
    if not own_hold:
        for voice in possible:
            yield _known(voice, pair, why=("a default; a specific row of the same rules speaks in any case",))
        return
    yield _one_of(
        sorted(found.values(), key=lambda one: (one.place, -one.length.metres)), is_silent, conditions, pair
    )


def _gives_way(voice: Voice, voices: Sequence[Voice], chosen: Sequence[bool]) -> bool:
    """Whether a default row gives way to a row that holds."""
    return any(
        holds and displaces(other.placed, voice.placed) for other, holds in zip(voices, chosen, strict=False)
    )


def _options(voice: Voice, place: int, acting: set[int], pair: Pair) -> list[_Answer]:
    """The answers that one row may give while these multipliers act: several if its formula lacks a fact."""
    placed = voice.placed
    multiplied = tuple(one for one in voice.multipliers if id(one) in acting)
    open_words = [_times(one) for one in multiplied if truth(one.when, pair.facts) is None]
    words = [placed.row.words or asked(placed.when), *open_words]
    if placed.formula is not None and placed.formula.fact not in pair.facts:
        lengths = placed.formula.possible()
    else:
        lengths = (("", _length(placed, pair.facts)),)
    return [
        _Answer(
            voice=voice,
            place=place,
            words=", ".join(part for part in (*words, when) if part) or "otherwise",
            length=_grown(length, multiplied),
            multiplied=multiplied,
        )
        for when, length in lengths
    ]


def _top(options: Sequence[_Answer]) -> float:
    return max(answer.length.metres for answer in options)


def _one_of(
    found: Sequence[_Answer], is_silent: bool, conditions: Sequence[Conditions], pair: Pair
) -> Setback:
    """Several answers as one setback; if they are all the same, nothing is missing."""
    governs = max(found, key=lambda answer: answer.length.metres)
    lowest = [_approvable(answer.voice.placed, answer.multiplied, answer.length) for answer in found]
    stated = [length for length in lowest if length is not None]
    formulas = [answer.voice.placed.formula for answer in found]
    open_formulas = [one for one in formulas if one is not None and one.fact not in pair.facts]
    same = len({(answer.length.metres, answer.voice.placed.row.prohibit) for answer in found}) == 1
    if same and not is_silent and all(one.has_ceiling for one in open_formulas):
        return _setback(governs.voice, pair, governs.length, governs.multiplied)
    either: list[tuple[str, Length | None]] = [(answer.words, answer.length) for answer in found]
    facts = [*missing(conditions, pair.facts), *(one.fact for one in open_formulas)]
    return _setback(
        governs.voice,
        pair,
        governs.length,
        governs.multiplied,
        open_facts=tuple(dict.fromkeys(facts)),
        either=(*either, *([("otherwise", None)] if is_silent else [])),
        approvable=max(stated, key=lambda one: one.metres) if stated and len(stated) == len(lowest) else None,
        prohibit=any(answer.voice.placed.row.prohibit for answer in found),
        open_top=not all(one.has_ceiling for one in open_formulas),
    )


def _known(voice: Voice, pair: Pair, *, why: tuple[str, ...] = ()) -> Setback:
    """What a row asks where all its facts are known, or why it does not apply."""
    placed = voice.placed
    if why:
        return _setback(voice, pair, largest(placed), (), because=why, applies=False)
    facts = pair.facts_for(placed)
    acting = tuple(one for one in voice.multipliers if truth(one.when, facts))
    told = (placed.formula.told(facts),) if placed.formula is not None else ()
    reasons = (*because(placed.when, facts), *told, *(r for one in acting for r in because(one.when, facts)))
    length = _grown(_length(placed, facts), acting)
    lowest = _approvable(placed, acting, length)
    reasons = tuple(dict.fromkeys(reasons))
    return _setback(
        voice, pair, length, acting, because=reasons, approvable=lowest, prohibit=placed.row.prohibit
    )


def _length(placed: Placed[SetbackRow], facts: Facts) -> Length:
    found = placed.formula.distance(facts) if placed.formula is not None else placed.row.distance
    return found or _NONE


def _grown(length: Length, multipliers: Sequence[Placed[MultiplierRow]]) -> Length:
    return Length(round(length.value * prod(one.row.factor for one in multipliers), 6), length.unit)


def _approvable(
    placed: Placed[SetbackRow], multipliers: Sequence[Placed[MultiplierRow]], length: Length
) -> Length | None:
    """Down to what an authority may grant; multiplied like the distance itself."""
    if placed.row.approvable_to is None:
        return None
    lowest = _grown(placed.row.approvable_to, multipliers)
    return lowest if lowest.metres < length.metres else None


def _times(placed: Placed[MultiplierRow]) -> str:
    words = placed.row.words or asked(placed.when)
    return f"x {placed.row.factor:g}{f': {words}' if words else ''}"


def _unmeasured(placed: Placed[SetbackRow], pair: Pair, why: tuple[str, ...], fact: str = "") -> Unmeasured:
    """A row that gives the plan nothing to measure: vertical, pointing elsewhere, or a formula without its fact."""
    row, facts = placed.row, pair.facts_for(placed)
    open_facts = () if why else (*missing((placed.when,), facts), *((fact,) if fact else ()))
    return Unmeasured(
        subject=pair.subject,
        of=pair.of,
        to=pair.to,
        words=f"{row.asks}: {row.words}" if row.words else row.asks,
        because=why or (because(placed.when, facts) if truth(placed.when, facts) else ()),
        missing=tuple(dict.fromkeys(open_facts)),
        applies=not why,
        citation=placed.cite(),
    )


def _setback(
    voice: Voice,
    pair: Pair,
    least: Length,
    multipliers: tuple[Placed[MultiplierRow], ...],
    *,
    because: tuple[str, ...] = (),
    open_facts: tuple[str, ...] = (),
    either: tuple[tuple[str, Length | None], ...] = (),
    applies: bool = True,
    approvable: Length | None = None,
    prohibit: bool = False,
    open_top: bool = False,
) -> Setback:
    row = voice.placed.row
    return Setback(
        subject=pair.subject,
        of=pair.of,
        to=pair.to,
        least=least,
        from_point=row.from_point,
        to_edge=row.to_edge,
        because=because,
        missing=open_facts,
        either=either,
        applies=applies,
        approvable=approvable,
        approval=row.approval if approvable is not None else "",
        prohibit=prohibit,
        multiplied=tuple(_times(one) for one in multipliers),
        open_top=open_top,
        citation=voice.placed.cite(),
        also=tuple(one.cite() for one in multipliers),
    )
