"""How overhead lines lie to the dig: over the trench, near the ground that is dug, or elsewhere on the site."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from siteplan.route.model import Layout
from siteplan.site.features import Feature
from siteplan.site.site import Site


@dataclass(frozen=True, slots=True, kw_only=True)
class OverheadLine:
    """One overhead line and how it lies to the dig.

    Attributes
    ----------
    line : Feature
    away_m : float
        Level distance from the nearest trench [m], as drawn; 0 where it crosses over one.
    lies : {"over", "near", "elsewhere"}
        Over a trench as drawn; near: not surely farther from the ground that is dug than was asked.
    """

    line: Feature
    away_m: float
    lies: Literal["over", "near", "elsewhere"]


def overhead_lines(site: Site, layout: Layout, *, strip_m: float, near_m: float) -> tuple[OverheadLine, ...]:
    """Find how each overhead line of a site lies to the dig.

    Parameters
    ----------
    site : Site
    layout : Layout
    strip_m : float
        Width [m] of the ground on each side of a trench that belongs to the dig.
    near_m : float
        Distance [m] from that ground within which a line is near. The error of the drawn line (95 %) counts against it.
    """
    found = []
    for line in site.of_kind("overhead_line"):
        away_m = min((line.shape.distance(reach.path) for reach in layout.reaches), default=float("inf"))
        near = away_m - line.evidence.radius_m <= strip_m + near_m
        lies: Literal["over", "near", "elsewhere"] = (
            "over" if away_m == 0 else "near" if near else "elsewhere"
        )
        found.append(OverheadLine(line=line, away_m=float(away_m), lies=lies))
    return tuple(found)
