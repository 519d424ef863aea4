"""Requirement and measurement in, findings out, worst margin first. Never raises for a breach."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from siteplan.check.bends import check_bends
from siteplan.check.drawn import check_drawn
from siteplan.check.finding import WORST_FIRST, Finding, Verdict
from siteplan.check.lines import check_cover, check_crossings, check_separations
from siteplan.check.roots import check_roots
from siteplan.check.setbacks import check_setbacks, check_unlooked
from siteplan.check.wellhead import check_wellhead
from siteplan.measure.model import Works
from siteplan.route.model import Layout
from siteplan.rules.model import Requirements
from siteplan.site.site import Site

__all__ = ["Finding", "Verdict", "check", "in_order", "worst_verdict"]


def check(site: Site, requirements: Requirements, layout: Layout, works: Works) -> tuple[Finding, ...]:
    """Check everything that the rules ask of this layout.

    Parameters
    ----------
    site : Site
        In ground metres.

    Returns
    -------
    tuple of Finding
        Numbered from 1, worst verdict first, then the smallest margin against its requirement.
    """
    findings = [
        *check_setbacks(site, requirements, layout, works),
        *check_drawn(site, layout),
        *check_cover(site, requirements, layout, works),
        *check_separations(site, requirements, layout, works),
        *check_crossings(site, requirements, works),
        *check_bends(site, requirements, layout, works),
        *check_roots(site, requirements, layout),
        *check_wellhead(site, requirements),
        *check_unlooked(requirements),
    ]
    return in_order(findings)


def in_order(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Findings worst first, numbered so."""
    ordered = sorted(findings, key=_worst_first)
    return tuple(replace(finding, number=number) for number, finding in enumerate(ordered, 1))


def _worst_first(finding: Finding) -> tuple[int, int, float, str, str]:
    advised = finding.citation is not None and finding.citation.force == "advised"
    share = float("inf")
    if finding.margin_m is not None and finding.required_m:
        share = finding.margin_m / finding.required_m
    return (WORST_FIRST.index(finding.verdict), advised, share, finding.what, finding.reach)


def worst_verdict(findings: tuple[Finding, ...]) -> Verdict:
    """Worst verdict among rows that are required or by approval; advised rows never decide."""
    decide = [f.verdict for f in findings if f.citation is None or f.citation.force != "advised"]
    return min(decide, key=WORST_FIRST.index, default="clear")
