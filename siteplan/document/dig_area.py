"""The area to be dug, for the locate request: the trenches with a strip on each side, and its corners on the earth."""

from __future__ import annotations

import shapely
from shapely import Point, Polygon
from shapely.geometry.base import BaseGeometry

from siteplan.document.cautions import OVERHEAD_M
from siteplan.document.model import Plan

STRIP_M = OVERHEAD_M
"""Width marked on each side of a trench [m]: 10 ft (common practice, no source)."""

_ROUGHNESS_M = 0.5


def dig_area(plan: Plan) -> BaseGeometry:
    """Ground within ``STRIP_M`` of a trench, with few corners; never less than that.

    Returns
    -------
    Polygon or MultiPolygon
        Ground metres.
    """
    around_m = STRIP_M + _ROUGHNESS_M
    strips = [
        reach.path.buffer(around_m, cap_style="square", join_style="mitre", mitre_limit=2.0)
        for reach in plan.layout.reaches
    ]
    return shapely.union_all(strips).simplify(_ROUGHNESS_M)


def corners(area: BaseGeometry) -> list[tuple[float, float]]:
    """Corners of the outer outline in ground metres: clockwise, from the most northern one, each once."""
    found: list[tuple[float, float]] = []
    for part in shapely.get_parts(area):
        if isinstance(part, Polygon):
            ring = list(shapely.orient_polygons(part, exterior_cw=True).exterior.coords)[:-1]
            first = max(range(len(ring)), key=lambda n: (ring[n][1], ring[n][0]))
            found += [(float(x), float(y)) for x, y in ring[first:] + ring[:first]]
    return found


def corners_on_earth(plan: Plan) -> list[tuple[float, float]]:
    """Latitude and longitude [deg] of the corners; nothing if the site has no place on the earth."""
    if not plan.frame.placed:
        return []
    spots = [plan.frame.to_lonlat(Point(*corner)) for corner in corners(dig_area(plan))]
    return [(float(spot.y), float(spot.x)) for spot in spots]
