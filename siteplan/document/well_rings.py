"""Circles round the well on a plan drawing, and the part of them that lies beyond the lot, where nobody says to have looked."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from shapely import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from siteplan.document.drawing import NAME_PT, PlanDrawing
from siteplan.document.model import Plan
from siteplan.document.pdf import Stroke, line_parts
from siteplan.measure.plot import circle, outside_lot, required_rings
from siteplan.units import FOOT_M, Printer

NOT_LOOKED = "hatched: NOBODY LOOKED"
RING = Stroke(0.7, (6, 2.5, 1, 2.5))
HATCH = Stroke(0.6)
_HATCH_PT = 8.0
_CHOSEN_M = {"ft": 200 * FOOT_M, "m": 60.0}


@dataclass(frozen=True, slots=True)
class Ring:
    """One circle: its radius about the well [m] and the words set into it."""

    radius_m: float
    words: str


def rings_required(plan: Plan) -> list[Ring]:
    """Circles of the distances that the rules in force ask round the well, the largest first."""
    return [
        Ring(radius_m, f"{least} {'required' if required else 'advised'}")
        for least, radius_m, required in required_rings(plan.site, plan.requirements)
    ]


def search_ring(plan: Plan) -> Ring:
    """Circle within which a plot plan shows what may foul water: as the office asks, else the rules, else 200 ft or 60 m.

    200 ft: New York State, application to construct a water well, 10 NYCRR 5-2.8 (hazards), and Butte County, California,
    code 23B-4 (sewage); others ask 50 to 500 ft.
    """
    printer = Printer(plan.site.units)
    asked, rule = plan.site.paper.search_radius_m, plan.requirements.plot_plan.search_radius
    if asked is None and rule is not None:
        asked = rule.metres
    radius_m = _CHOSEN_M[printer.unit] if asked is None else asked
    return Ring(radius_m, f"search radius {printer.length(radius_m)}{'' if asked else ', chosen'}")


def beyond(plan: Plan, ring: Ring) -> BaseGeometry:
    """Return the part of a circle beyond the lot, in ground metres; empty if somebody is named who looked there."""
    return Polygon() if plan.site.paper.beyond_lot else outside_lot(plan.site, ring.radius_m)


def draw_beyond(drawing: PlanDrawing, ring: Ring) -> bool:
    """Hatch the part of a circle that nobody says to have looked at; returns whether any of it shows."""
    area = drawing.view.on_page(beyond(drawing.plan, ring))
    if area.is_empty or area.geom_type not in ("Polygon", "MultiPolygon"):
        return False
    drawing.pen.hatch(area, HATCH, spacing=_HATCH_PT)
    largest = max(getattr(area, "geoms", [area]), key=lambda part: part.area)
    spot = largest.representative_point()
    drawing.labels.add((spot.x, spot.y), NOT_LOOKED, NAME_PT, centred=True)
    return True


def draw_rings(drawing: PlanDrawing, rings: Iterable[Ring]) -> None:
    """Draw circles, each with its words set into it."""
    for ring in rings:
        outline = drawing.view.outline(circle(drawing.plan.site.well.shape, ring.radius_m))
        drawing.pen.lines(outline, RING)
        longest = max(line_parts(outline), key=lambda part: part.length, default=LineString())
        if not drawing.labels.add_along(longest, ring.words, NAME_PT) and not longest.is_empty:
            spot = longest.interpolate(0.5, normalized=True)
            drawing.labels.add((spot.x, spot.y), ring.words, NAME_PT)
