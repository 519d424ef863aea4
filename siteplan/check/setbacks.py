"""Setbacks: each distance that the rules name, measured and judged with its error."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from shapely import get_coordinates, shortest_line
from shapely.geometry.base import BaseGeometry

from siteplan.check.chance import Spread, spread
from siteplan.check.finding import Finding, Prospect, Verdict
from siteplan.check.pair_error import PairError, pair_error
from siteplan.check.settle import End, settling, survey_advice
from siteplan.check.verdicts import ROUNDING_M, how_measured, judge
from siteplan.measure.model import Works
from siteplan.route.model import Layout
from siteplan.rules.citation import Force
from siteplan.rules.model import Requirements, Setback, Unmeasured
from siteplan.site.catalogue import kinds
from siteplan.site.features import Feature
from siteplan.site.site import Site
from siteplan.units import Length, Printer


def edge_of(feature: Feature) -> BaseGeometry:
    """Shape that a distance is measured to: the boundary of a parcel, else the thing itself (0 inside it)."""
    return feature.shape.boundary if feature.kind == "parcel" else feature.shape


def half_spread_m(works: Works, line: str) -> float:
    """Farthest that the outer edge of a line lies off the centreline [m], over all sections."""
    return max(
        (
            abs(laid.offset_m) + laid.outside_m / 2
            for section in works.sections
            for laid in section.lines
            if laid.line == line
        ),
        default=0.0,
    )


def check_setbacks(site: Site, requirements: Requirements, layout: Layout, works: Works) -> Iterator[Finding]:
    """One finding for each row that speaks of a pair on the site, also for what no plan can be tested for.

    Parameters
    ----------
    site : Site
        In ground metres.

    Yields
    ------
    Finding
        Topic "setback"; rows whose conditions are not met come as "not applicable".
    """
    for setback in requirements.setbacks:
        if setback.subject == "well":
            well = site.feature(setback.of)
            diameter = well.facts.get("casing_diameter", 0.0)
            radius = float(diameter) / 2 if setback.from_point != "casing centre" else 0.0
            end = End(name=well.name, kind=well.kind, evidence=well.evidence)
            yield _finding(setback, site, requirements, end, well.shape, radius)
        else:
            way = layout.way(setback.of)
            end = End(name=site.line(setback.of).name, kind="", evidence=site.digging.laying)
            half = half_spread_m(works, setback.of)
            yield _finding(setback, site, requirements, end, way, half)
    for unmeasured in requirements.unmeasured:
        yield _not_measured(unmeasured, site, requirements)


def _not_measured(unmeasured: Unmeasured, site: Site, requirements: Requirements) -> Finding:
    """A vertical distance, or a row that points elsewhere: said, and never passed."""
    is_well = unmeasured.subject == "well"
    name = site.feature(unmeasured.of).name if is_well else site.line(unmeasured.of).name
    missing = _not_stated(unmeasured.missing)
    return Finding(
        topic="setback",
        what=f"{name} to {site.feature(unmeasured.to).name}",
        subject=unmeasured.of,
        to=unmeasured.to,
        verdict="not checked" if unmeasured.applies else "not applicable",
        required_text=unmeasured.words,
        settle=f"Check on site, or with the authority: {unmeasured.words}." if unmeasured.applies else "",
        because=unmeasured.because + missing,
        confidence=requirements.confidence,
        citation=unmeasured.citation,
    )


def _finding(
    setback: Setback,
    site: Site,
    requirements: Requirements,
    end: End,
    shape: BaseGeometry,
    half_m: float,
) -> Finding:
    """Measure and judge one setback from a shape that stands ``half_m`` wider than drawn."""
    to = site.feature(setback.to)
    what = f"{end.name} to {to.name}"
    if not setback.applies:
        return Finding(
            topic="setback",
            what=what,
            subject=setback.of,
            to=setback.to,
            verdict="not applicable",
            required_text=_required_text(setback),
            because=setback.because,
            confidence=requirements.confidence,
            citation=setback.citation,
        )
    edge = edge_of(to)
    (x, y), (to_x, to_y) = get_coordinates(shortest_line(shape, edge)).tolist()
    gap = math.hypot(to_x - x, to_y - y)
    share = half_m / gap if 0 < half_m < gap else 0.0
    start, there = (x + share * (to_x - x), y + share * (to_y - y)), (to_x, to_y)
    ends = (end, End(name=to.name, kind=to.kind, evidence=to.evidence))
    well = setback.subject == "well"
    ids = (setback.of if well else "", setback.to)
    error = pair_error(end.evidence, to.evidence, site.net, ids, ((x, y), there))
    limits = _limits_m(setback) if well else []  # a line to lay is kept off by the normal distribution
    judged = _Judged(
        setback=setback,
        spread=spread(shape, edge, half_m, error, limits),
        confidence=requirements.confidence,
    )
    required, measured = setback.least.metres, judged.spread.measured_m
    margin, error_m = measured - required, judged.error_m(setback.least)
    verdict, notes = _verdict(judged, Printer(site.units))
    settle, chances = "", None
    if verdict == "too close to call":
        settle, chances = _settling(judged, error, ends, Printer(site.units))
    elif setback.missing and verdict == "not checked":
        settle = "Find out: " + ", ".join(fact_words(fact) for fact in setback.missing) + "."
    return Finding(
        topic="setback",
        what=what,
        subject=setback.of,
        to=setback.to,
        verdict=verdict,
        required_m=required,
        required_text=_required_text(setback),
        measured_m=measured,
        error_m=error_m,
        margin_m=margin,
        chance=judged.chance(setback.least),
        method=how_measured(end.evidence, to.evidence),
        points=(start, there),
        settle=settle,
        prospect=chances,
        because=setback.because
        + _multiplied(setback)
        + notes
        + survey_advice(margin, error_m, verdict, ends),
        confidence=requirements.confidence,
        citation=setback.citation,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Judged:
    """A row, and where the true distance may lie."""

    setback: Setback
    spread: Spread
    confidence: float

    def error_m(self, least: Length) -> float:
        return self.spread.error_m(least.metres, self.confidence)

    def chance(self, least: Length) -> float:
        return self.spread.chance(ROUNDING_M if _only_prohibits(self.setback, least) else least.metres)

    def verdict(self, least: Length, force: Force = "required") -> Verdict:
        return judge(self.spread.measured_m - least.metres, self.error_m(least), force)


def _required_text(setback: Setback) -> str:
    return "never in, under or through" if _only_prohibits(setback, setback.least) else str(setback.least)


def _only_prohibits(setback: Setback, least: Length) -> bool:
    return setback.prohibit and least.value == 0


def _limits_m(setback: Setback) -> list[float]:
    """Distances [m] that the measured one is held against."""
    limits = [setback.least, setback.approvable, *(least for _, least in setback.either)]
    return [limit.metres for limit in limits if limit is not None]


def _settling(
    judged: _Judged, error: PairError, ends: tuple[End, End], print_: Printer
) -> tuple[str, Prospect | None]:
    """What settles a close call to the limit that makes it one: the distance, or the lowest that may be granted."""
    setback, measured = judged.setback, judged.spread.measured_m
    limits = [setback.least] + ([setback.approvable] if setback.approvable is not None else [])
    limit = min(limits, key=lambda each: abs(measured - each.metres))
    granted = setback.approvable is not None or setback.citation.force == "by_approval"
    outcomes: tuple[Verdict, Verdict] = ("clear", "needs approval" if granted else "short")
    if limit is not setback.least:
        outcomes = ("needs approval", "short")
    return settling(measured - limit.metres, error, ends, print_, judged.confidence, outcomes)


def _verdict(judged: _Judged, print_: Printer) -> tuple[Verdict, tuple[str, ...]]:
    """Judge against the requirement; with missing facts, only if every answer gives the same verdict."""
    setback = judged.setback
    granted = _granted(setback)
    if not setback.missing:
        return _judged(judged, setback.least), granted
    answers: list[Verdict] = []
    notes = [*_not_stated(setback.missing)]
    for words, least in setback.either:
        if least is None:
            answers.append("not applicable")
            notes.append(f"{words}: this row does not apply")
            continue
        verdict = _judged(judged, least)
        answers.append(verdict)
        margin_m = judged.spread.measured_m - least.metres
        notes.append(f"{words}: {least}, {verdict} (margin {print_.signed(margin_m)})")
    if setback.open_top:
        answers.append("short")
        notes.append("or more: the rule has no ceiling")
    verdicts = set(answers)
    notes += granted
    if len(verdicts) == 1:
        return verdicts.pop(), tuple(notes)
    if verdicts == {"clear", "not applicable"}:
        return "clear", tuple(notes)
    return "not checked", tuple(notes)


def _granted(setback: Setback) -> tuple[str, ...]:
    if setback.approvable is None:
        return ()
    words = f": {setback.approval}" if setback.approval else ""
    return (f"may be granted down to {setback.approvable}{words}",)


def _multiplied(setback: Setback) -> tuple[str, ...]:
    """Multipliers in the number, and the rules that set them."""
    rules = dict.fromkeys(f"{one.text}{'' if one.confirmed else ' (unconfirmed)'}" for one in setback.also)
    return setback.multiplied + ((f"multiplied by {'; '.join(rules)}",) if rules else ())


def _judged(judged: _Judged, least: Length) -> Verdict:
    """Judge one distance: short of it, an authority may still grant what is surely above the lowest."""
    setback = judged.setback
    force = setback.citation.force
    if _only_prohibits(setback, least) and judged.spread.measured_m <= ROUNDING_M:
        return "needs approval" if force == "by_approval" else "short"
    verdict = judged.verdict(least, force)
    lowest = setback.approvable
    if verdict != "short" or lowest is None or lowest.metres >= least.metres:
        return verdict
    down = judged.verdict(lowest)
    return "needs approval" if down == "clear" else down


def _not_stated(facts: tuple[str, ...]) -> tuple[str, ...]:
    return (f"not stated: {', '.join(fact_words(fact) for fact in facts)}",) if facts else ()


def fact_words(fact: str) -> str:
    """Print a fact name in words: ``well.casing_depth`` is "casing depth of the well"."""
    owner, _, name = fact.partition(".")
    owners = {
        "well": " of the well",
        "hazard": " of the other thing",
        "line": " of the line",
        "site": " of the site",
        "sum": " of all of its kind together",
    }
    return name.replace("_", " ") + owners.get(owner, "")


def check_unlooked(requirements: Requirements) -> Iterator[Finding]:
    """Hazards that nobody drew and nobody says to have looked for: silence is never a pass."""
    for kind, citation in requirements.unlooked:
        name = kinds()[kind].name
        yield Finding(
            topic="unlooked",
            what=f"{name}: none drawn, nobody looked",
            subject=kind,
            verdict="not checked",
            settle=f"Look for {name} (own and neighbours' land); draw it, or write in [looked] who looked and how far.",
            confidence=requirements.confidence,
            citation=citation,
        )
