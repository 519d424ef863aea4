"""The drawing of a plot plan: to an accepted scale, lot lines with their lengths, distances from the well, circles."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import cos, radians, sin

import shapely
from shapely import LineString, Point
from shapely.geometry.base import BaseGeometry

from siteplan.document.drawing import NAME_PT, PlanDrawing
from siteplan.document.model import Plan
from siteplan.document.pdf import Stroke, line_parts
from siteplan.document.sheet import Box, Scale, Viewport, fit, scales
from siteplan.document.symbols import is_on_the_ground
from siteplan.document.well_rings import Ring, draw_beyond, draw_rings, rings_required, search_ring
from siteplan.document.words import bearing_deg
from siteplan.measure.plot import FromWell, LotSide, circle, fall, from_well, lot_of, lot_sides
from siteplan.site.catalogue import kinds
from siteplan.units import FOOT_M, INCH_M, Printer

MARGIN_PT = 8.0
DISTANCE = Stroke(0.75)
CONTOUR = Stroke(0.6, (7, 2))
CONTOUR_M = {"ft": 2 * FOOT_M, "m": 0.5}
"""Between contours [m]: 2 ft, Elkhart and McHenry Counties, sewage plans; 0.5 m is common practice (no source)."""
MOST_DISTANCES = 16
"""So many distances are drawn; more hide the drawing, and the table has all of them."""

_ENGINEERS = ("1 in = 10 ft", "1 in = 20 ft", "1 in = 30 ft", "1 in = 40 ft", "1 in = 50 ft", "1 in = 60 ft")
_METRIC = ("1:100", "1:200", "1:250", "1:500")
_GROUPS = ("sewage", "things that may foul water", "water", "buildings", "plants and surface water")
_KINDS = ("drain", "pit", "swimming_pool", "right_of_way", "road", "overhead_line")
_UNASKED = ("tree", "entry", "hydrant")
_LEAST_ANGLE_DEG = 30.0
_NAMED_CONTOURS = 5
_DIM_PT = 9.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Chosen:
    """What a plot plan shows, and at which scale.

    Attributes
    ----------
    shapes : list of shapely geometry
        What the drawing is to show.
    scale : Scale
    fits : bool
        Whether all of it fits the paper at that scale.
    whole : bool
        Whether that is the whole lot.
    """

    shapes: list[BaseGeometry]
    scale: Scale
    fits: bool
    whole: bool

    def height_pt(self) -> float:
        """Height of a box that shows it [points]."""
        _, south, _, north = shapely.total_bounds(self.shapes)
        return self.scale.points(north - south) + 2 * MARGIN_PT


def accepted(plan: Plan) -> tuple[Scale, ...]:
    """Scales that the office accepts, the largest drawing first; if nobody said, the engineer's scales up to 1 in = 60 ft.

    1 in = 10 to 50 ft: Elkhart County, Indiana, and McHenry County, Illinois, sewage ordinances; 60 ft is the last scale of
    the engineer's rule; 1:100, 1:200 and 1:500 are ISO 5455, 1:250 is common practice (no source).
    """
    if stated := plan.site.paper.scales or plan.requirements.plot_plan.scales:
        return tuple(sorted(map(_scale, stated), key=lambda scale: scale.ratio))
    usual = _METRIC if plan.site.units == "m" else _ENGINEERS
    return tuple(scale for scale in scales(plan.site.units) if scale.text in usual)


def _scale(text: str) -> Scale:
    """Scale of its words.

    >>> round(_scale("1 in = 20 ft").ratio, 9), _scale("1:250").ratio
    (240.0, 250.0)
    """
    if text.startswith("1:"):
        return Scale(ratio=float(text[2:]), text=text)
    return Scale(ratio=float(text.split()[3]) * FOOT_M / INCH_M, text=text)


def choose(plan: Plan, box: Box) -> Chosen:
    """Choose what the drawing shows: the lot with the search circle, else the lot, else what lies about the well."""
    lot, well = lot_of(plan.site), plan.site.well.shape
    search = circle(well, search_ring(plan).radius_m)
    there = [feature.shape for feature in plan.site.features if is_on_the_ground(feature)]
    whole = [lot, well] if not lot.is_empty else there
    near = [well, *_near(plan, search), *(reach.path for reach in plan.layout.reaches)]
    ringed = [*near, *(circle(well, ring.radius_m) for ring in rings_required(plan)[:1])]
    tied = [*ringed, *(Point(side.points[1]) for side in sides_to_draw(plan))]
    offers = [([*whole, search], True), (whole, True), ([*tied, search], False), (tied, False)]
    for shapes, is_whole in (*offers, (ringed, False), (near, False)):
        for scale in accepted(plan):
            if _fits(shapes, scale, box):
                return Chosen(shapes=shapes, scale=scale, fits=True, whole=is_whole)
    return Chosen(shapes=near, scale=accepted(plan)[-1], fits=False, whole=False)


def _near(plan: Plan, search: BaseGeometry) -> list[BaseGeometry]:
    """What a rule or an office asks about and reaches into the search circle; of lines the part in it."""
    asked = {one.to for one in distances_to_draw(plan)}
    shapes = [feature.shape for feature in plan.site.features if feature.id in asked]
    found = [shape if shapely.area(shape) > 0 else shape.intersection(search) for shape in shapes]
    return [shape for shape in found if shape.intersects(search)]


def _fits(shapes: Sequence[BaseGeometry], scale: Scale, box: Box) -> bool:
    west, south, east, north = shapely.total_bounds(shapes)
    room, slack = box.inset(MARGIN_PT), 1e-6
    wide, high = scale.points(east - west), scale.points(north - south)
    return wide <= room.width + slack and high <= room.height + slack


def distances_to_draw(plan: Plan) -> list[FromWell]:
    """Return the distances that the drawing writes: what a rule held speaks of, and what is asked within the search radius."""
    groups = {feature.id: (kinds()[feature.kind].group, feature.kind) for feature in plan.site.features}
    judged = {
        finding.to
        for finding in plan.findings
        if finding.subject == plan.site.well.id and finding.verdict != "not applicable"
    }
    radius_m = search_ring(plan).radius_m
    wanted = []
    for one in from_well(plan.site, plan.ground):
        group, kind = groups[one.to]
        asked = kind in _KINDS or (group in _GROUPS and kind not in _UNASKED)
        if one.to in judged or (asked and one.distance_m <= radius_m):
            wanted.append(one)
    return wanted[:MOST_DISTANCES]


def sides_to_draw(plan: Plan) -> list[LotSide]:
    """Return the two sides of the lot that the well is dimensioned to: the nearest, and the next that lies another way."""
    nearest = sorted(lot_sides(plan.site), key=lambda side: (side.well_m, side.number))
    for other in nearest[1:]:
        turn = abs(_way_deg(other) - _way_deg(nearest[0])) % 180
        if min(turn, 180 - turn) >= _LEAST_ANGLE_DEG:
            return [nearest[0], other]
    return nearest[:1]


def draw_site(drawing: PlanDrawing, rings: Sequence[Ring]) -> None:
    """Draw the plot plan into a drawing that is new, and finish it."""
    plan, printer = drawing.plan, Printer(drawing.plan.site.units)
    _fall_words(drawing)
    draw_beyond(drawing, rings[0])
    _contours(drawing)
    for side in sides_to_draw(plan):
        _distance(drawing, side.points, printer.length(side.well_m))
    for one in distances_to_draw(plan):
        _distance(drawing, one.points, printer.length(one.distance_m))
    draw_sides(drawing)
    draw_rings(drawing, rings)
    drawing.surroundings()
    drawing.trenches(plan.layout.reaches)
    _fall(drawing)
    drawing.finish()


def draw_lot(drawing: PlanDrawing) -> None:
    """Draw the whole lot with the lengths of its sides, and finish the drawing."""
    drawing.surroundings()
    drawing.trenches(drawing.plan.layout.reaches)
    draw_sides(drawing)
    drawing.finish()


def draw_sides(drawing: PlanDrawing) -> None:
    """Write the number and the length of each side of the lot into it."""
    printer = Printer(drawing.plan.site.units)
    for side in lot_sides(drawing.plan.site):
        _write(drawing, side.path, f"{side.number}:  {printer.length(side.length_m)}")


def whole_lot_view(plan: Plan, box: Box) -> Viewport:
    """Viewport of the whole lot at the largest of all scales that fits."""
    return fit(
        [lot_of(plan.site), plan.site.well.shape], box, scales(plan.site.units), margin_pt=MARGIN_PT + 6
    )


def whole_lot_height(plan: Plan, box: Box) -> float:
    """Height [points] that the whole lot needs, of the height of a box, at the scale at which it fits it."""
    lot, scale = lot_of(plan.site).union(plan.site.well.shape), whole_lot_view(plan, box).scale
    _, south, _, north = lot.bounds
    return min(box.height, scale.points(north - south) + 2 * (MARGIN_PT + 6) + 1)


def view_of(chosen: Chosen, box: Box) -> Viewport:
    """Viewport of what was chosen."""
    return fit(chosen.shapes, box, [chosen.scale], margin_pt=MARGIN_PT)


def _distance(drawing: PlanDrawing, points: Iterable[tuple[float, float]], words: str) -> None:
    ends = list(points)
    path = LineString(ends)
    drawing.pen.lines(drawing.view.on_page(path), DISTANCE)
    for spot in ends:
        if drawing.view.shows(*spot):
            drawing.pen.circle(*drawing.view.place(*spot), 1.4, DISTANCE, fill="black")
    _write(drawing, path, words)


def _write(drawing: PlanDrawing, path: LineString, words: str) -> None:
    """Write a length into a line, or beside it where the line is shorter than the words."""
    line = drawing.view.on_page(path)
    if line.is_empty or line.geom_type != "LineString":
        return
    if not drawing.labels.add_along(line, words, _DIM_PT, bold=True):
        spot = line.interpolate(0.5, normalized=True)
        drawing.labels.add((spot.x, spot.y), words, _DIM_PT, bold=True)


def _contours(drawing: PlanDrawing) -> None:
    """Draw contours, each fifth one with its elevation."""
    if drawing.plan.ground is None:
        return
    printer = Printer(drawing.plan.site.units)
    step_m = CONTOUR_M[printer.unit]
    for elevation, shape in drawing.plan.ground.contours(step_m):
        on_page = drawing.view.on_page(shape)
        drawing.pen.lines(on_page, CONTOUR)
        if round(elevation / step_m) % _NAMED_CONTOURS == 0:
            longest = max(line_parts(on_page), key=lambda part: part.length, default=LineString())
            drawing.labels.add_along(longest, f"elev. {printer.number(elevation)}", NAME_PT)


def _fall_words(drawing: PlanDrawing) -> None:
    """Take the upper left corner for the arrow down the slope, with the grade."""
    slope = fall(drawing.plan.site)
    if slope is not None:
        x, y = _corner(drawing)
        drawing.labels.keep_clear(Box(x - 24, y - 24, 48, 48), 60.0)
        words = f"ground falls {Printer(drawing.plan.site.units).slope(slope[1])}"
        drawing.labels.add((x, y - 30), words, NAME_PT, centred=True)


def _fall(drawing: PlanDrawing) -> None:
    """Draw the arrow down the slope."""
    slope = fall(drawing.plan.site)
    if slope is None:
        return
    turn = radians(90 - slope[0] + drawing.view.turn_deg)
    x, y = _corner(drawing)
    dx, dy = 18 * cos(turn), 18 * sin(turn)
    drawing.pen.fill(Box(x - 22, y - 22, 44, 44))
    drawing.pen.arrow((x - dx, y - dy), (x + dx, y + dy), Stroke(1.3), 7)


def _corner(drawing: PlanDrawing) -> tuple[float, float]:
    return drawing.view.box.x + 44, drawing.view.box.top - 28


def _way_deg(side: LotSide) -> float:
    first, last = (Point(spot) for spot in side.path.coords)
    return bearing_deg((first.x, first.y), (last.x, last.y))
