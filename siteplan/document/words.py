"""Trade words made from geometry: which way, which wall, what to call a thing on the sheets."""

from __future__ import annotations

from math import atan2, degrees

import shapely
from shapely import Point
from shapely.geometry.base import BaseGeometry

from siteplan.document.model import Plan
from siteplan.document.speech import ENGLISH, Speech
from siteplan.measure.model import Bend
from siteplan.route.model import Reach
from siteplan.site.catalogue import kinds
from siteplan.site.features import Feature
from siteplan.units import Printer

_WINDS = ("north", "northeast", "east", "southeast", "south", "southwest", "west", "northwest")


def bearing_deg(start: tuple[float, float], end: tuple[float, float]) -> float:
    """Bearing from one ground point to another [deg clockwise from y].

    >>> bearing_deg((0, 0), (5, 0))
    90.0
    """
    return degrees(atan2(end[0] - start[0], end[1] - start[1])) % 360


def compass(bearing: float) -> str:
    """Word for a bearing.

    >>> compass(130), compass(359)
    ('southeast', 'north')
    """
    return _WINDS[round(bearing / 45) % 8]


def wall_facing(building: BaseGeometry, at: Point) -> str:
    """Which wall of a building a point is on, or nearest to, by where the wall faces.

    >>> wall_facing(shapely.box(0, 0, 10, 8), Point(0, 3))
    'west'
    """
    sides = [
        shapely.LineString(pair)
        for ring in _outer_rings(building)
        for pair in zip(ring.coords[:-1], ring.coords[1:], strict=True)
    ]
    wall = min(sides, key=at.distance)
    (x0, y0), (x1, y1) = wall.coords
    outward = (y1 - y0, x0 - x1)  # to the right of a ring that runs anticlockwise
    return compass(bearing_deg((0, 0), outward))


def corner_codes(plan: Plan) -> dict[str, str]:
    """Code of each corner to tape from by its name, the same on every sheet: C1, C2."""
    return {corner.name: f"C{n}" for n, corner in enumerate(plan.works.corners, 1)}


def coded(plan: Plan, corner: str) -> str:
    """Return what a tape is held to as the sheets name it: "C2 House NE"; what is no corner has no code."""
    return f"{corner_codes(plan).get(corner, '')} {plan.say.of(corner)}".lstrip()


def feature_name(feature: Feature, say: Speech = ENGLISH) -> str:
    """What a thing is called on the sheets: its name, and its status where that is not plain."""
    name = feature.name or say(kinds()[feature.kind].name)
    return name if feature.status in ("existing", "reserve") else f"{name} ({say(feature.status)})"


def named(plan: Plan, thing_id: str) -> str:
    """Name of a thing, a line to lay or a reach by its id; the id itself if there is none."""
    site = plan.site
    for feature in site.features:
        if feature.id == thing_id:
            return feature_name(feature, plan.say)
    for line in site.lines:
        if line.id == thing_id:
            return line.name
    return thing_id


def reach_title(plan: Plan, reach: Reach) -> str:
    """Name a reach with its ends: "Main, from Well to House"."""
    printer, say = Printer(plan.site.units), plan.say
    start = named(plan, reach.starts_at)
    if reach.parent is not None and reach.parent_m is not None:
        start = say("tee at {reach} {station}", reach=reach.parent, station=printer.station(reach.parent_m))
    return say(
        "{reach}, from {start} to {end}", reach=reach.name, start=start, end=named(plan, reach.ends_at)
    )


def sweep_in_words(bend: Bend, printer: Printer, say: Speech = ENGLISH) -> str:
    """How a bend is laid: "sweep radius 18 in or more, begin 1.2 ft before"; ``""`` if any radius will do."""
    if not bend.least_radius_m:
        return ""
    return say(
        "sweep radius {radius} or more, begin {before} before",
        radius=printer.short(bend.least_radius_m),
        before=printer.length(bend.tangent_m),
    )


def lines_in(plan: Plan, reach: Reach) -> str:
    """What lies in a reach: "Water to house + Pump power"."""
    seen = dict.fromkeys(run.line for run in reach.runs)
    return " + ".join(named(plan, line) for line in seen)


def reach_in_words(plan: Plan, reach: Reach, side: str) -> str:
    """Where one trench runs, as it is read to the call taker.

    Parameters
    ----------
    plan : Plan
    reach : Reach
    side : str
        How far to mark on each side, as printed.

    Returns
    -------
    str
        "From the Well, the trench runs 185.0 ft southeast to the west wall of the House; mark 10.0 ft each side."
    """
    printer, known = Printer(plan.site.units), plan.frame.north_known
    first, last = reach.path.coords[0], reach.path.coords[-1]
    way = f" {compass(bearing_deg(first[:2], last[:2]))}" if known else ""
    start = named(plan, reach.starts_at)
    if reach.parent is not None and reach.parent_m is not None:
        start = f"tee {printer.length(reach.parent_m)} along trench {reach.parent}"
    bends = sum(bend.reach == reach.name for bend in plan.works.bends)
    turns = f", with {bends} bend{'s' if bends > 1 else ''}," if bends else ""
    end = named(plan, reach.ends_at)
    ends = [feature for feature in plan.site.features if feature.id == reach.ends_at]
    if known and ends and ends[0].kind == "building":
        end = f"{wall_facing(ends[0].shape, Point(last))} wall of the {end}"
    return (
        f"From the {start}, the trench runs {printer.length(reach.length_m)}{way}{turns} to the {end};"
        f" mark {side} each side."
    )


def _outer_rings(area: BaseGeometry) -> list[shapely.LinearRing]:
    return [
        shapely.orient_polygons(part).exterior
        for part in shapely.get_parts(area)
        if part.geom_type == "Polygon"
    ]
