"""The casing over finished grade, and over the flood elevation where one is drawn."""

from __future__ import annotations

from collections.abc import Iterator

from siteplan.check.chance import depth_chance
from siteplan.check.finding import Finding
from siteplan.check.verdicts import judge
from siteplan.rules.citation import Citation
from siteplan.rules.model import Requirements
from siteplan.site.features import Feature
from siteplan.site.site import Site
from siteplan.units import Length, Printer

TAPED_M = 0.025
"""Error [m] of a height taped at the casing, one-sided: 1 in on rough ground (common practice, no source)."""


def check_wellhead(site: Site, requirements: Requirements) -> Iterator[Finding]:
    """Judge the height of each casing; a casing at or below grade is short.

    Yields
    ------
    Finding
        Topic "wellhead"; "not checked" where no height was read in the rules.
    """
    rule = requirements.wellhead
    for well in site.of_kind("well"):
        if well.status == "abandoned":
            continue
        if rule is None:
            yield _no_number(requirements, well)
            continue
        what, height_m = "casing over finished grade", _height_m(well)
        yield _finding(site, requirements, well, rule.citation, rule.casing_height, what, height_m)
        if rule.above_flood is None:
            continue
        source = (*rule.also, rule.citation)[0]
        for plain in site.of_kind("floodplain"):
            if plain.shape.intersects(well.shape):
                what = f"casing over the flood elevation of {plain.name}"
                over_m = _over_flood_m(well, plain)
                yield _finding(site, requirements, well, source, rule.above_flood, what, over_m)


def _no_number(requirements: Requirements, well: Feature) -> Finding:
    return Finding(
        topic="wellhead",
        what=f"{well.name}: casing over finished grade",
        subject=well.id,
        verdict="not checked",
        required_text="no number read",
        measured_m=_height_m(well),
        method="no number was read in these rules",
        settle=f"Ask the authority how high the casing of {well.name} must end, over finished grade and over flood.",
        confidence=requirements.confidence,
    )


def _height_m(well: Feature) -> float | None:
    height = well.facts.get("casing_height")
    return None if height is None else float(height)


def _over_flood_m(well: Feature, plain: Feature) -> float | None:
    """Casing top over the flood elevation [m], if the elevations of ground, casing and flood are all stated."""
    ground, flood, height = well.facts.get("ground_elevation"), plain.facts.get("elevation"), _height_m(well)
    if ground is None or flood is None or height is None:
        return None
    return float(ground) + height - float(flood)


def _finding(
    site: Site,
    requirements: Requirements,
    well: Feature,
    source: Citation,
    least: Length,
    what: str,
    height_m: float | None,
) -> Finding:
    common = {
        "what": f"{well.name}: {what}",
        "subject": well.id,
        "required_m": least.metres,
        "required_text": str(least),
        "confidence": requirements.confidence,
        "citation": source,
    }
    good = f"good to {Printer(site.units).short(TAPED_M)}, after final grading"
    if height_m is None:
        return Finding(
            topic="wellhead",
            verdict="not checked",
            method="not stated",
            settle=f"Measure {what} at {well.name}: {good}.",
            **common,  # type: ignore[arg-type]
        )
    margin_m = height_m - least.metres
    verdict = judge(margin_m, TAPED_M, source.force)
    return Finding(
        topic="wellhead",
        verdict=verdict,
        measured_m=height_m,
        error_m=TAPED_M,
        margin_m=margin_m,
        chance=depth_chance(margin_m, TAPED_M),
        method="taped at the casing",
        settle=f"Measure it again: {good}." if verdict == "too close to call" else "",
        **common,  # type: ignore[arg-type]
    )
