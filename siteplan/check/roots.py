"""Trees: where a trench must start or end inside a root zone, that is named. Elsewhere the route keeps off all of it."""

from __future__ import annotations

from collections.abc import Iterator

from shapely.ops import nearest_points

from siteplan.check.finding import Finding
from siteplan.check.pair_error import pair_error
from siteplan.check.verdicts import ROUNDING_M, how_measured
from siteplan.measure.along import opened
from siteplan.route.keep_off import root_zone_m
from siteplan.route.model import Layout
from siteplan.rules.model import Requirements
from siteplan.site.evidence import one_sided_m
from siteplan.site.site import Site
from siteplan.units import Printer


def check_roots(site: Site, requirements: Requirements, layout: Layout) -> Iterator[Finding]:
    """Name each tree whose root zone a trench enters that is opened there, not bored.

    Yields
    ------
    Finding
        Topic "roots", short against the radius that the rules name; nothing for a tree that is kept off.
    """
    trenches = [
        (reach, ground)
        for reach in layout.reaches
        if not (ground := opened(reach.path, ((each.from_m, each.to_m) for each in reach.bored))).is_empty
    ]
    for tree in site.of_kind("tree") if trenches else ():
        radius_m, citation = root_zone_m(tree, requirements)
        reach, ground = min(trenches, key=lambda one: one[1].distance(tree.shape))
        here, there = nearest_points(ground, tree.shape)
        measured_m = max(here.distance(there) - site.digging.bucket_m / 2, 0.0)
        margin_m = measured_m - radius_m
        if margin_m >= -ROUNDING_M:
            continue
        at_m = float(reach.path.project(here))
        error_m = one_sided_m(pair_error(site.digging.laying, tree.evidence).sigma_m, requirements.confidence)
        yield Finding(
            topic="roots",
            what=f"trench edge to {tree.name}: inside its root zone",
            subject=reach.name,
            to=tree.id,
            verdict="short",
            required_m=radius_m,
            required_text=Printer(site.units).length(radius_m),
            measured_m=measured_m,
            error_m=error_m,
            margin_m=margin_m,
            method=how_measured(site.digging.laying, tree.evidence),
            points=((here.x, here.y), (there.x, there.y)),
            reach=reach.name,
            from_m=at_m,
            to_m=at_m,
            settle=f"Bore under, or dig by hand round the roots of {tree.name}, and ask who answers for the tree.",
            confidence=requirements.confidence,
            citation=citation,
        )
