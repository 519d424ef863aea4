"""Where a trench lies beside a line that may be crossed, not run along."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

import shapely
from shapely import LineString
from shapely.geometry.base import BaseGeometry

from siteplan.route.scene import Crossed, Scene

NEAR_M = 1e-6
"""Ground this near to an edge [m] counts as on it."""

ASIDE_M = 2e-6
"""The ground beside an edge is looked at so far off it [m]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Beside:
    """The part of a tolerance zone that is square off one straight piece of its line.

    Attributes
    ----------
    crossed : Crossed
        The line.
    along : (float, float)
        Unit direction of the piece.
    area : shapely geometry
        Short of its edge by 1e-6 m, so that a trench along the edge of the zone is not in it.
    """

    crossed: Crossed
    along: tuple[float, float]
    area: BaseGeometry


@lru_cache(maxsize=16)
def with_edge(free: BaseGeometry) -> BaseGeometry:
    """Return free ground and what is so near to it that it counts as on its edge, prepared."""
    area = free.buffer(NEAR_M, join_style="mitre")
    shapely.prepare(area)
    return area


def beside(scene: Scene) -> tuple[Beside, ...]:
    """Return the ground beside every straight piece of the lines that have a least angle.

    Ground past the ends of a line, or outside of its bends, is beside no piece of it.

    Examples
    --------
    >>> from shapely import box
    >>> from siteplan.route.scene import Charge
    >>> free, axis = Charge(row="", price=0.0), LineString([(2, 5), (8, 5)])
    >>> line = Crossed(feature="gas", axis=axis, zone=axis.buffer(1), toll=free, least_angle_deg=45)
    >>> [round(part.area.area, 3) for part in beside(Scene(free=box(0, 0, 9, 9), dig=free, restore=free, crossed=(line,)))]
    [12.0]
    """
    return tuple(part for crossed in scene.crossed if crossed.least_angle_deg > 0 for part in _parts(crossed))


@lru_cache(maxsize=256)
def _parts(crossed: Crossed) -> tuple[Beside, ...]:
    """Cut the zone of one line square off its pieces."""
    reach_m = float(shapely.hausdorff_distance(crossed.zone, crossed.axis)) + 1.0
    found = []
    for line in shapely.get_parts(crossed.axis):
        for (x1, y1), (x2, y2) in pairwise(line.coords):
            length_m = math.dist((x1, y1), (x2, y2))
            if length_m <= NEAR_M:
                continue
            piece = LineString([(x1, y1), (x2, y2)])
            strip = crossed.zone.intersection(piece.buffer(reach_m, cap_style="flat"))
            near = [part for part in shapely.get_parts(strip) if part.distance(piece) <= NEAR_M]
            area = shapely.union_all(near).buffer(-NEAR_M, join_style="mitre")
            if not area.is_empty:
                along = ((x2 - x1) / length_m, (y2 - y1) / length_m)
                found.append(Beside(crossed=crossed, along=along, area=area))
    return tuple(found)
