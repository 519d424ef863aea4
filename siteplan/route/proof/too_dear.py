"""Ground that no trench enters if it has little to spare.

A trench that reaches a place deep inside dear ground has to come in and to go out again: each time it pays for its depth.
If that is more than the trench has to spare above the shortest way at the cheapest metre, it does not go there.
"""

from __future__ import annotations

import math

import shapely
from shapely.geometry.base import BaseGeometry

from siteplan.route.proof.dear import levels_of, metre_in
from siteplan.route.scene import Scene

_NEAR_M = 1e-5
_ROUND = 1.01


def too_dear(scene: Scene, ends: BaseGeometry, least: float, spare: float) -> BaseGeometry:
    """Return ground that no trench enters that costs less than this above the shortest way at the least price.

    Parameters
    ----------
    scene : Scene
        The prices.
    ends : shapely geometry
        Where the trench may start and end; ground with one of these in it is left out.
    least : float
        A price that no metre falls below.
    spare : float
        More than 0; infinite: all that is shut and may not be bored under.

    Examples
    --------
    A pond of bad ground, 10 more a metre; with 20 to spare no trench goes 1 m into it, and a hundredth for its round corners.

    >>> from shapely import LineString, box
    >>> from siteplan.route.scene import Charge, Patch
    >>> dig, none, more = (Charge(row="", price=price) for price in (2.0, 0.0, 10.0))
    >>> pond = Patch(feature="", area=box(3, 3, 6, 6), restore=more)
    >>> scene = Scene(free=box(0, 0, 9, 9), dig=dig, restore=none, patches=(pond,))
    >>> too_dear(scene, LineString([(0, 0), (9, 0)]), 2.0, 20.0).bounds
    (4.01, 4.01, 4.99, 4.99)
    """
    shut = [
        patch.area
        for patch in scene.patches
        if patch.shut and metre_in(scene, patch, least, spare) == math.inf
    ]
    deep = [
        part.buffer(-_ROUND * spare / (2.0 * level.more))
        for level in levels_of(scene, least, spare)
        for part in shapely.get_parts(level.area)
        if spare < math.inf and part.distance(ends) > _NEAR_M
    ]
    return shapely.union_all([*shut, *deep])
