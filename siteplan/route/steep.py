"""Ground too steep for the machine."""

from __future__ import annotations

import shapely
from shapely.geometry.base import BaseGeometry

from siteplan.plane.ground import GroundSurface

_LEVELS_GOOD_TO = 1e-9


def steep_ground(ground: GroundSurface, steepest: float) -> BaseGeometry:
    """Return the levelled ground that is steeper than a machine digs on.

    As steep as the levels show it, triangle by triangle: a bank between two levels is not seen, and ground without levels is
    not judged.

    Parameters
    ----------
    ground : GroundSurface
        In ground metres.
    steepest : float
        Steepest ground that the machine digs on, rise over run, 0 or more; ground just as steep is dug.

    Returns
    -------
    shapely geometry
        Polygon or MultiPolygon; an empty one if nothing is too steep.

    Examples
    --------
    A bank of 1 in 2 between two flats, 10 m long on the map and 20 m wide.

    >>> levels = [(x, y, z) for x, z in ((0, 0), (10, 0), (20, 5), (30, 5)) for y in (0, 20)]
    >>> steep_ground(GroundSurface(levels), 0.4).bounds
    (10.0, 0.0, 20.0, 20.0)
    """
    triangles, slopes = ground.slopes()
    return shapely.union_all(triangles[slopes > steepest + _LEVELS_GOOD_TO])
