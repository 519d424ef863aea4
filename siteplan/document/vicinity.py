"""The vicinity sketch of the plot plan: the lot with its drives and roads, room around it, and what is left to draw by hand."""

from __future__ import annotations

from shapely import Point
from shapely.geometry.base import BaseGeometry

from siteplan.document.drawing import PlanDrawing
from siteplan.document.model import Plan
from siteplan.document.pages import SMALL_PT, Book, Flow
from siteplan.document.pdf import wrap
from siteplan.document.sheet import Box, fit, scales
from siteplan.document.words import bearing_deg, compass, feature_name
from siteplan.measure.plot import from_well, lot_of
from siteplan.units import Printer

LEAST_PT, MOST_PT = 130.0, 300.0
_KINDS = ("parcel", "property_line", "building", "drive", "road", "well")
_AROUND = 0.2
"""Room left around the lot, of its longer side."""


def vicinity(flow: Flow, book: Book, plan: Plan) -> None:
    """Place the sketch: what the files hold, to scale, and under it in words which roads are to be drawn by hand."""
    words = vicinity_words(plan)
    lines = [line for each in words for line in wrap(each, flow.width, SMALL_PT)]
    text_pt = len(lines) * SMALL_PT * 1.25 + 3 * len(words)
    flow.heading("Vicinity sketch", below=LEAST_PT + text_pt)
    for each in words:
        flow.text(each, size=SMALL_PT)
    flow.block(max(LEAST_PT, min(MOST_PT, flow.room)), lambda box: _draw(book, plan, box))


def vicinity_words(plan: Plan) -> list[str]:
    """Say which roads the sketch shows and how far they are, or that they are to be drawn; and the way there."""
    printer = Printer(plan.site.units)
    roads = {road.id: road for road in plan.site.of_kind("road")}
    said = []
    for one in from_well(plan.site, plan.ground):
        if one.to in roads:
            start, end = (Point(spot) for spot in one.points)
            way = (
                f" {compass(bearing_deg((start.x, start.y), (end.x, end.y)))}"
                if plan.frame.north_known
                else ""
            )
            said.append(f"{feature_name(roads[one.to])}: {printer.length(one.distance_m)}{way} of the well.")
    if said:
        said = [" ".join(said) + " Draw by hand: the nearest crossing of roads, with its name and distance."]
    else:
        said = [
            "No road is drawn in the files. Draw by hand around the lot, or attach a map: the nearest roads with their names,"
            " and the distance to where two of them cross."
        ]
    return [*said, *([f"Directions: {plan.site.paper.directions}"] if plan.site.paper.directions else [])]


def _draw(book: Book, plan: Plan, box: Box) -> None:
    features = [each for each in plan.site.features if each.kind in _KINDS]
    lot = lot_of(plan.site)
    shapes: list[BaseGeometry] = [plan.site.well.shape, lot if not lot.is_empty else features[0].shape]
    shapes += [each.shape for each in features if each.kind == "building"]
    ground = shapes[1].union(shapes[0]).envelope
    west, south, east, north = ground.bounds
    shapes.append(ground.buffer(_AROUND * max(east - west, north - south), join_style="mitre"))
    drawing = PlanDrawing(book.pen, plan, fit(shapes, box, scales(plan.site.units)), sparse=True)
    drawing.show(features)
    drawing.finish()
