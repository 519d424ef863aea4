"""The drawing of the owner's picture: what is there, the trench, the pile, the strip of the machine and its way in."""

from __future__ import annotations

import shapely
from shapely import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.ops import substring

from siteplan.document.drawing import PlanDrawing
from siteplan.document.model import Plan
from siteplan.document.pdf import HAIR, Pen, Stroke
from siteplan.document.sheet import Box, fit, scales
from siteplan.document.words import feature_name
from siteplan.measure.along import opened
from siteplan.measure.torn_up import TornUp
from siteplan.measure.way_in import way_in
from siteplan.site.features import Feature

LARGE_PT = 14.0
"""Letters of the picture [points]."""

_WAY_IN = "MACHINE COMES IN"
_TRENCH = Stroke(4.5)
_BORED = Stroke(4.5, (2.0, 5.0))
_WALL, _DRIVE, _LOT, _OTHER = Stroke(2.2), Stroke(1.0), Stroke(0.9, (18, 4, 4, 4)), Stroke(0.8, (2.5, 2.5))
_TRENCH_EDGE = Stroke(1.6)
_MACHINE = Stroke(0.9, (6, 3))
_PILE_HATCH, _PILE_EDGE = Stroke(0.6), Stroke(0.8)
_LOOKS = {"building": _WALL, "drive": _DRIVE, "walk": _DRIVE, "road": _DRIVE, "slab": _DRIVE, "parcel": _LOT}
_NAMED = (
    "well",
    "building",
    "septic_tank",
    "holding_tank",
    "absorption_area",
    "drive",
    "hydrant",
    "tree",
    "pond",
    "fuel_tank",
)
_MOST_NAMED = 14
_ARROW_PT = 46.0
_NORTH_PT = 56.0
"""So far from the corner of the drawing with the north arrow another arrow begins [points]."""


def draw_picture(pen: Pen, plan: Plan, strip: TornUp, box: Box, *, words: bool) -> None:
    """Draw the picture into a box.

    Parameters
    ----------
    strip : TornUp
    words : bool
        Whether to place the words: it takes most of the time.
    """
    shown = [strip.ground, plan.site.well.shape, *(each.shape for each in _served(plan))]
    view = fit(shown, box, scales(plan.site.units), margin_pt=16)
    drawing = PlanDrawing(pen, plan, view)
    _strip(drawing, strip)
    for feature in plan.site.features:
        _thing(drawing, feature)
    for reach in plan.layout.reaches:
        dug = opened(reach.path, ((each.from_m, each.to_m) for each in reach.bored))
        pen.lines(view.on_page(reach.path.difference(dug.buffer(1e-6))), _BORED)
        on_page = view.on_page(dug)
        pen.lines(on_page, _TRENCH)
        drawing.labels.keep_clear_along(on_page, 5.0, 4.0)
    _arrow(drawing)
    if words:
        for feature in _to_name(plan):
            _name(drawing, feature)
        drawing.finish()


def _served(plan: Plan) -> list[Feature]:
    ends = {end for line in plan.site.lines for end in (line.start, line.end)}
    return [each for each in plan.site.features if each.id in ends]


def _strip(drawing: PlanDrawing, strip: TornUp) -> None:
    view, pen = drawing.view, drawing.pen
    pen.lines(view.on_page(strip.ground), _MACHINE)
    pen.lines(view.on_page(strip.trench), _TRENCH_EDGE)
    for part in shapely.get_parts(shapely.make_valid(view.on_page(strip.pile))):
        if isinstance(part, Polygon):
            pen.hatch(part, _PILE_HATCH, spacing=6.0)
            pen.lines(part, _PILE_EDGE)


def _thing(drawing: PlanDrawing, feature: Feature) -> None:
    view, pen = drawing.view, drawing.pen
    if feature.kind in _NAMED and feature.shape.geom_type in ("Point", "MultiPoint"):
        for spot in shapely.get_parts(view.on_page(feature.shape)):
            _spot(drawing, feature.kind, spot)
        return
    stroke = _LOOKS.get(feature.kind, _OTHER if feature.kind in _NAMED else None)
    if stroke is not None:
        outline = view.outline(feature.shape)
        pen.lines(outline, stroke)
        drawing.labels.keep_clear_along(outline, 2.0, 0.6)


def _spot(drawing: PlanDrawing, kind: str, spot: Point) -> None:
    pen, x, y = drawing.pen, spot.x, spot.y
    radius = 7.0 if kind in ("well", "tree") else 4.0
    pen.circle(x, y, radius, Stroke(1.8 if kind == "well" else 1.0), fill="white")
    if kind == "well":
        pen.circle(x, y, 2.6, HAIR, fill="black")
    if kind == "tree":
        pen.line([(x - 5, y), (x + 5, y)], HAIR)
        pen.line([(x, y - 5), (x, y + 5)], HAIR)
    drawing.labels.keep_clear(Box(x - radius, y - radius, 2 * radius, 2 * radius), 40.0)


def _to_name(plan: Plan) -> list[Feature]:
    """Things to name, the most telling kinds first, of each kind those nearest to the trench."""
    paths = shapely.union_all([reach.path for reach in plan.layout.reaches])
    named = [each for each in plan.site.features if each.kind in _NAMED]
    named.sort(key=lambda each: (_NAMED.index(each.kind), float(each.shape.distance(paths))))
    return named[:_MOST_NAMED]


def _name(drawing: PlanDrawing, feature: Feature) -> None:
    shape = drawing.view.on_page(feature.shape)
    if shape.is_empty:
        return
    spot = shape.representative_point()
    bold = feature.kind in ("well", "building")
    drawing.labels.add(
        (spot.x, spot.y),
        feature_name(feature),
        LARGE_PT,
        bold=bold,
        width=150.0,
        centred=shape.area > 0.0,
    )


def _arrow(drawing: PlanDrawing) -> None:
    """Draw an arrow into the lot along the drive that meets its edge, from where the picture shows it first."""
    found = way_in(drawing.plan.site)
    if found is None:
        return
    drive = drawing.view.on_page(drawing.plan.site.feature(found[0]).shape)
    parts: list[BaseGeometry] = [part for part in shapely.get_parts(drive) if not part.is_empty]
    if not parts:
        return
    place = Point(drawing.view.place(found[1].x, found[1].y))
    part = min(parts, key=lambda one: float(one.distance(place)))
    edge = part.intersection(shapely.box(*_edges(drawing.view.box)).boundary)
    near = edge.centroid if not edge.is_empty else shapely.get_point(shapely.shortest_line(part, place), 0)
    corner = Point(drawing.view.box.right, drawing.view.box.top)
    from_pt = _NORTH_PT if near.distance(corner) < _NORTH_PT else 0.0
    least, most = (near.buffer(from_pt + n * _ARROW_PT) for n in (1, 2))
    beyond = part.intersection(most).difference(least)
    if beyond.is_empty:
        return
    arrow = substring(LineString([near, beyond.centroid]), from_pt, from_pt + _ARROW_PT)
    if arrow.length < _ARROW_PT / 2:
        return
    (x0, y0), (x1, y1) = arrow.coords
    drawing.pen.arrow((x0, y0), (x1, y1), Stroke(2.6), 14)
    drawing.labels.keep_clear_along(arrow, 6.0, 4.0)
    drawing.labels.add((x1, y1), _WAY_IN, LARGE_PT, bold=True, width=160.0)


def _edges(box: Box) -> tuple[float, float, float, float]:
    return box.x, box.y, box.right, box.top
