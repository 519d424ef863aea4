"""The casing over finished grade, and over the flood elevation where one is drawn."""

from __future__ import annotations

from collections.abc import Iterator

from siteplan.check.finding import Finding
from siteplan.check.verdicts import judge
from siteplan.rules.model import Requirements, Wellhead
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
        Topic "wellhead". Nothing where the rules give no height.
    """
    rule = requirements.wellhead
    if rule is None:
        return
    for well in site.of_kind("well"):
        if well.status == "abandoned":
            continue
        yield _finding(
            site, requirements, well, rule, rule.casing_height, "casing over finished grade", _height_m(well)
        )
        if rule.above_flood is not None:
            for plain in site.of_kind("floodplain"):
                if plain.shape.intersects(well.shape):
                    over_m = _over_flood_m(well, plain)
                    what = f"casing over the flood elevation of {plain.name}"
                    yield _finding(site, requirements, well, rule, rule.above_flood, what, over_m)


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
    rule: Wellhead,
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
        "citation": rule.citation,
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
    verdict = judge(margin_m, TAPED_M, rule.citation.force)
    return Finding(
        topic="wellhead",
        verdict=verdict,
        measured_m=height_m,
        error_m=TAPED_M,
        margin_m=margin_m,
        method="taped at the casing",
        settle=f"Measure it again: {good}." if verdict == "too close to call" else "",
        **common,  # type: ignore[arg-type]
    )
