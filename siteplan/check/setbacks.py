"""Setbacks: each distance that the rules name, measured and judged with its error."""

from __future__ import annotations

from collections.abc import Iterator

from shapely import LineString, Point
from shapely.geometry.base import BaseGeometry
from shapely.ops import nearest_points

from siteplan.check.finding import Finding, Verdict
from siteplan.check.verdicts import ROUNDING_M, how_measured, judge, settling
from siteplan.measure.model import Works
from siteplan.route.model import Layout
from siteplan.rules.model import Requirements, Setback, Unmeasured
from siteplan.site.catalogue import kinds
from siteplan.site.evidence import Evidence, one_sided_m, pair_sigma_m
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
            yield _finding(setback, site, requirements, well.name, well.shape, radius, well.evidence)
        else:
            way = layout.way(setback.of)
            name = site.line(setback.of).name
            half = half_spread_m(works, setback.of)
            yield _finding(setback, site, requirements, name, way, half, site.digging.laying)
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
    name: str,
    shape: BaseGeometry,
    half_m: float,
    evidence: Evidence,
) -> Finding:
    """Measure and judge one setback from a shape that stands ``half_m`` wider than drawn."""
    to = site.feature(setback.to)
    what = f"{name} to {to.name}"
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
    here, there = nearest_points(shape, edge_of(to))
    gap = here.distance(there)
    measured = max(gap - half_m, 0.0)
    start = LineString([here, there]).interpolate(half_m) if 0 < half_m < gap else here
    sigma = pair_sigma_m(evidence, to.evidence)
    error = one_sided_m(sigma, requirements.confidence)
    required = setback.least.metres
    margin = measured - required
    verdict, notes = _verdict(setback, measured, error, Printer(site.units))
    settle = ""
    if verdict == "too close to call":
        settle = settling(
            _nearest_limit(setback, measured), evidence, name, to.evidence, to.name, Printer(site.units)
        )
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
        error_m=error,
        margin_m=margin,
        method=how_measured(evidence, to.evidence),
        points=(_xy(start), _xy(there)),
        settle=settle,
        because=setback.because + _multiplied(setback) + notes,
        confidence=requirements.confidence,
        citation=setback.citation,
    )


def _required_text(setback: Setback) -> str:
    return "never in, under or through" if _only_prohibits(setback, setback.least) else str(setback.least)


def _only_prohibits(setback: Setback, least: Length) -> bool:
    return setback.prohibit and least.value == 0


def _nearest_limit(setback: Setback, measured: float) -> float:
    """Margin [m] to the limit that makes the call a close one: the distance, or the lowest that may be granted."""
    limits = [setback.least] + ([setback.approvable] if setback.approvable is not None else [])
    return min((measured - limit.metres for limit in limits), key=abs)


def _verdict(
    setback: Setback, measured: float, error: float, print_: Printer
) -> tuple[Verdict, tuple[str, ...]]:
    """Judge against the requirement; with missing facts, only if every answer gives the same verdict."""
    granted = _granted(setback)
    if not setback.missing:
        return _judged(setback, setback.least, measured, error), granted
    answers: list[Verdict] = []
    notes = [*_not_stated(setback.missing)]
    for words, least in setback.either:
        if least is None:
            answers.append("not applicable")
            notes.append(f"{words}: this row does not apply")
            continue
        verdict = _judged(setback, least, measured, error)
        answers.append(verdict)
        notes.append(f"{words}: {least}, {verdict} (margin {print_.signed(measured - least.metres)})")
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


def _judged(setback: Setback, least: Length, measured: float, error: float) -> Verdict:
    """Judge one distance: short of it, an authority may still grant what is surely above the lowest."""
    force = setback.citation.force
    if _only_prohibits(setback, least) and measured <= ROUNDING_M:
        return "needs approval" if force == "by_approval" else "short"
    verdict = judge(measured - least.metres, error, force)
    lowest = setback.approvable
    if verdict != "short" or lowest is None or lowest.metres >= least.metres:
        return verdict
    down = judge(measured - lowest.metres, error)
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


def _xy(point: BaseGeometry) -> tuple[float, float]:
    assert isinstance(point, Point)
    return (point.x, point.y)


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
