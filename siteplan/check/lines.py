"""Along the trench: cover, separation of the lines, and crossings."""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from shapely import get_coordinates, get_parts, length, linestrings, shortest_line
from shapely.geometry.base import BaseGeometry

from siteplan.check.chance import Spread, depth_chance
from siteplan.check.finding import Finding
from siteplan.check.pair_error import pair_error
from siteplan.check.setbacks import edge_of, half_spread_m
from siteplan.check.settle import End, depth_settling, settling, survey_advice
from siteplan.check.verdicts import ROUNDING_M, how_measured, judge
from siteplan.measure.crossing import Crossing
from siteplan.measure.model import Section, Works
from siteplan.route.model import Layout
from siteplan.rules.model import Requirements, Separation
from siteplan.site.catalogue import lines_in_the_ground
from siteplan.site.evidence import one_sided_m
from siteplan.site.features import Feature
from siteplan.site.site import Site
from siteplan.units import Printer

ALONGSIDE_DEG = 30.0
"""Below this angle a trench runs along another line; above it crosses. Common practice, no source."""


def check_cover(site: Site, requirements: Requirements, layout: Layout, works: Works) -> Iterator[Finding]:
    """Planned cover of each line, for each stretch of one section, against the deepest row that holds."""
    for reach, from_m, to_m, section in works.stretches(layout.reaches):
        for laid in section.lines:
            if laid.required.least_m is None:
                yield _no_number(site, laid.line, laid.cover_m, section, (reach, from_m, to_m), requirements)
                continue
            margin = laid.cover_m - laid.required.least_m
            error = site.digging.depth_error_m
            verdict = judge(margin, error, laid.required.citation.force)
            settle, chances = "", None
            if verdict == "too close to call":
                settle, chances = depth_settling("level", "", margin, error, 0.0, Printer(site.units))
            yield Finding(
                topic="cover",
                what=f"{site.line(laid.line).name}: cover, {section.surface}",
                subject=laid.line,
                verdict=verdict,
                required_m=laid.required.least_m,
                required_text=Printer(site.units).short(laid.required.least_m),
                measured_m=laid.cover_m,
                error_m=error,
                margin_m=margin,
                chance=depth_chance(margin, error),
                method="planned, depth from the ground surface",
                reach=reach,
                from_m=from_m,
                to_m=to_m,
                settle=settle,
                prospect=chances,
                because=(laid.required.form,),
                confidence=requirements.confidence,
                citation=laid.required.citation,
            )


def _no_number(
    site: Site,
    line: str,
    cover_m: float,
    section: Section,
    where: tuple[str, float, float],
    requirements: Requirements,
) -> Finding:
    laid = next(each for each in section.lines if each.line == line)
    return Finding(
        topic="cover",
        what=f"{site.line(line).name}: cover, {section.surface}",
        subject=line,
        verdict="not checked",
        required_text="no number: ask",
        measured_m=cover_m,
        method="planned, the contractor's own design cover",
        reach=where[0],
        from_m=where[1],
        to_m=where[2],
        settle="Ask the authority for the depth it accepts here, and write it as an override with that reason.",
        because=(laid.required.form,),
        confidence=requirements.confidence,
        citation=laid.required.citation,
    )


def check_separations(
    site: Site, requirements: Requirements, layout: Layout, works: Works
) -> Iterator[Finding]:
    """Clear distance between lines to lay, in one trench or apart, and alongside lines that are there already."""
    ids = {line.id for line in site.lines}
    for separation in requirements.separations:
        if separation.beside_m is None:
            continue
        if separation.to in ids:
            yield from _between_new_lines(separation, site, requirements, layout, works)
        else:
            yield from _along_another(separation, site, requirements, layout, works)


def _between_new_lines(
    separation: Separation, site: Site, requirements: Requirements, layout: Layout, works: Works
) -> Iterator[Finding]:
    assert separation.beside_m is not None
    gaps = [
        abs(a.offset_m - b.offset_m) - (a.outside_m + b.outside_m) / 2
        for section in works.sections
        for a in section.lines
        for b in section.lines
        if (a.line, b.line) == (separation.of, separation.to)
    ]
    names = [site.line(each).name for each in (separation.of, separation.to)]
    if gaps:
        measured, method = min(gaps), "planned, in one trench"
    else:
        gaps_m = length(_alongside(*(layout.way(each) for each in (separation.of, separation.to))))
        apart_m = gaps_m[gaps_m > ROUNDING_M]
        if not len(apart_m):
            return  # they only meet, at the casing, a tee or a wall
        halves = half_spread_m(works, separation.of) + half_spread_m(works, separation.to)
        measured = float(apart_m.min()) - halves
        method = "planned, in separate trenches"
    margin = measured - separation.beside_m
    yield Finding(
        topic="separation",
        what=f"{names[0]} beside {names[1]}",
        subject=separation.of,
        to=separation.to,
        verdict=judge(margin, 0.0, separation.citation.force),
        required_m=separation.beside_m,
        required_text=Printer(site.units).short(separation.beside_m),
        measured_m=measured,
        error_m=0.0,
        margin_m=margin,
        method=method,
        confidence=requirements.confidence,
        citation=separation.citation,
    )


def _along_another(
    separation: Separation, site: Site, requirements: Requirements, layout: Layout, works: Works
) -> Iterator[Finding]:
    """Where the trench runs along a buried line (angle under 30 degrees), the nearest such place."""
    assert separation.beside_m is not None
    line, feature = site.line(separation.of), site.feature(separation.to)
    gaps = _alongside(layout.way(line.id), edge_of(feature))
    if not len(gaps):
        return
    gaps_m = length(gaps)
    nearest = int(np.argmin(gaps_m))
    here, there = get_coordinates(gaps[nearest]).tolist()
    half = half_spread_m(works, line.id) + float(feature.facts.get("diameter", 0.0)) / 2
    measured = max(float(gaps_m[nearest]) - half, 0.0)
    found = pair_error(site.digging.laying, feature.evidence)
    error = one_sided_m(found.sigma_m, requirements.confidence)
    margin = measured - separation.beside_m
    verdict = judge(margin, error, separation.citation.force)
    ends = (
        End(name=line.name, kind="", evidence=site.digging.laying),
        End(name=feature.name, kind=feature.kind, evidence=feature.evidence),
    )
    settle, chances = "", None
    if verdict == "too close to call":
        settle, chances = settling(margin, found, ends, Printer(site.units), requirements.confidence)
    yield Finding(
        topic="separation",
        what=f"{line.name} along {feature.name}",
        subject=line.id,
        to=feature.id,
        verdict=verdict,
        required_m=separation.beside_m,
        required_text=Printer(site.units).short(separation.beside_m),
        measured_m=measured,
        error_m=error,
        margin_m=margin,
        chance=Spread(measured_m=measured, sigma_m=found.sigma_m).chance(separation.beside_m),
        method=how_measured(site.digging.laying, feature.evidence),
        points=(tuple(here), tuple(there)),
        settle=settle,
        prospect=chances,
        because=survey_advice(margin, error, verdict, ends),
        confidence=requirements.confidence,
        citation=separation.citation,
    )


def _alongside(ours: BaseGeometry, theirs: BaseGeometry) -> NDArray[np.object_]:
    """Shortest line between every two straight pieces that run side by side (angle under 30 degrees), from ours to theirs."""
    a, b = _segments(ours), _segments(theirs)
    along, other = a[:, 1] - a[:, 0], b[:, 1] - b[:, 0]
    cross = along[:, :1] * other[:, 1] - along[:, 1:] * other[:, 0]
    angle_deg = np.degrees(np.arctan2(np.abs(cross), np.abs(along @ other.T)))
    i, j = np.nonzero(angle_deg < ALONGSIDE_DEG)
    return np.asarray(shortest_line(linestrings(a[i]), linestrings(b[j])))


@lru_cache(maxsize=64)
def _segments(shape: BaseGeometry) -> NDArray[np.float64]:
    """Straight pieces of a shape, array (n, 2, 2)."""
    places, part = get_coordinates(get_parts(shape), return_index=True)
    same = part[:-1] == part[1:]
    pieces: NDArray[np.float64] = np.stack([places[:-1][same], places[1:][same]], axis=1)
    return pieces


def check_crossings(site: Site, requirements: Requirements, works: Works) -> Iterator[Finding]:
    """Clear vertical distance at each crossing; unknown depth is never a pass."""
    for crossing in works.crossings:
        feature = site.feature(crossing.feature)
        separation = requirements.separation(crossing.ours, crossing.feature) if crossing.ours else None
        yield _crossing(crossing, feature, separation, site, requirements)


def _crossing(
    crossing: Crossing,
    feature: Feature,
    separation: Separation | None,
    site: Site,
    requirements: Requirements,
) -> Finding:
    ours = site.line(crossing.ours).name if crossing.ours else "trench"
    common = {
        "what": f"crossing {crossing.number}: {ours} and {feature.name}",
        "subject": crossing.ours,
        "to": feature.id,
        "reach": crossing.reach,
        "from_m": crossing.distance_m,
        "to_m": crossing.distance_m,
        "points": ((crossing.x, crossing.y),),
        "citation": separation.citation if separation else None,
    }
    hole = (
        f"Hand dig a test hole at crossing {crossing.number} and measure depth to the top of {feature.name}."
    )
    if feature.kind not in lines_in_the_ground():
        hole = f"Look at {feature.name} at crossing {crossing.number}."
    if any(each.in_vain for each in crossing.holes):
        hole = f"Dig on by hand for {feature.name} at crossing {crossing.number}, or have it marked again."
    seen = crossing.seen
    known = "depth seen in a test hole" if seen else "depth as stated, not seen"
    because = tuple(_holes(crossing, Printer(site.units)))
    if seen:
        hole = (
            f"Measure the depth of {ours} by level at crossing {crossing.number} as it is laid: "
            f"{feature.name} is seen, its trench bottom is not."
        )
    if crossing.clear_m is None:
        if seen:
            hole = f"Measure how thick {feature.name} is in test hole {seen.hole}: {ours} passes under it."
        return Finding(
            topic="crossing",
            verdict="not checked",
            required_m=crossing.required_m,
            required_text=""
            if crossing.required_m is None
            else Printer(site.units).short(crossing.required_m),
            method=known if seen else "depth not stated",
            settle=hole,
            because=because,
            confidence=requirements.confidence,
            **common,  # type: ignore[arg-type]
        )
    if crossing.required_m is None:
        return Finding(
            topic="crossing",
            verdict="not checked",
            required_text="no number in these rules",
            measured_m=crossing.clear_m,
            method=known,
            settle="Ask the owner of the line what clear distance it wants." + ("" if seen else f" {hole}"),
            because=because,
            confidence=requirements.confidence,
            **common,  # type: ignore[arg-type]
        )
    margin = crossing.clear_m - crossing.required_m
    their_error = seen.error_m if seen else _depth_error_m(feature)
    error = math.hypot(site.digging.depth_error_m, their_error)
    verdict = judge(margin, error, separation.citation.force if separation else "required")
    if separation and separation.over is not None and crossing.over is not separation.over:
        verdict = "short"
        way = "over" if separation.over else "under"
        because = (f"the rule asks that {ours} passes {way} {feature.name}", *because)
    chances = None
    if verdict == "too close to call":
        how, rest = ("level", their_error) if seen else ("test_hole", site.digging.depth_error_m)
        hole, chances = depth_settling(how, hole, margin, error, rest, Printer(site.units))
    return Finding(
        topic="crossing",
        verdict=verdict,
        required_m=crossing.required_m,
        required_text=Printer(site.units).short(crossing.required_m),
        measured_m=crossing.clear_m,
        error_m=error,
        margin_m=margin,
        chance=depth_chance(margin, error),
        prospect=chances,
        method=known,
        settle=hole if verdict == "too close to call" or (verdict == "short" and not seen) else "",
        because=because,
        confidence=requirements.confidence,
        **common,  # type: ignore[arg-type]
    )


def _holes(crossing: Crossing, printer: Printer) -> Iterator[str]:
    """Say what each test hole on the line showed."""
    for hole in crossing.holes:
        dug = f"test hole {hole.hole}{f' of {hole.date}' if hole.date else ''}"
        away = f"{printer.length(hole.away_m)} along the line"
        if not hole.found:
            yield f"{dug}: the line was not found, {away}"
        elif hole is crossing.seen:
            yield f"{dug}: seen, {away}, its depth here within {printer.length(hole.error_m)}"
        else:
            here = "" if hole.holds else "; its depth is unknown here"
            yield f"{dug}: seen {away}{here}"


def _depth_error_m(feature: Feature) -> float:
    """Error of a stated depth that nobody has seen: 6 in for a survey, else 1 ft. Common practice, no source."""
    return 0.15 if feature.evidence.method in ("surveyed", "rtk", "taped") else 0.3
