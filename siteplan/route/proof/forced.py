"""What no trench between two places gets round: the cheapest metre, and metres of dear ground.

*Dear ground.* Sort the prices of a metre above the cheapest. A trench pays, for each step of the price, that
step times its metres on ground at least so dear. Those metres are no fewer than the least sum of straight
distances on a way from the start to the goal from one piece of the cheaper ground to another. The rim of dear ground is
cheaper ground: along an edge the cheaper side is paid, also where that is not free.
"""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from siteplan.route.proof.dear import levels_of
from siteplan.route.proof.sightlines import Floats
from siteplan.route.scene import Scene

_ROUNDING_M = 1e-5
_RIM_M = 5e-6


def least_metre(scene: Scene) -> float:
    """Return a price that no metre of trench falls below, dug or bored.

    Examples
    --------
    >>> from siteplan.route.scene import Charge, Patch
    >>> dig, restore, dear = (Charge(row="", price=price) for price in (3.0, 1.0, 90.0))
    >>> ground = shapely.box(0, 0, 9, 9)
    >>> road = Patch(feature="road", area=shapely.box(0, 4, 9, 5), restore=dear)
    >>> least_metre(Scene(free=ground, dig=dig, restore=restore, patches=(road,)))
    4.0
    """
    met = [patch for patch in scene.patches if patch.area.intersects(scene.free)]
    dig = min([scene.dig.price, *(patch.dig.price for patch in met if patch.dig)])
    restore = min([scene.restore.price, *(patch.restore.price for patch in met if patch.restore)])
    return min([dig + restore, *(patch.bore.per_m.price for patch in met if patch.bore)])


def dear_ground(scene: Scene, start: BaseGeometry, goal: BaseGeometry) -> float:
    """Return what the ground that cannot be gone round costs more, at least, than its metres at ``least_metre``.

    Examples
    --------
    A road of 1 m right across, 90 more for a metre.

    >>> from siteplan.route.scene import Charge, Patch
    >>> dig, restore, dear = (Charge(row="", price=price) for price in (3.0, 1.0, 91.0))
    >>> road = Patch(feature="road", area=shapely.box(-1, 4, 10, 5), restore=dear)
    >>> scene = Scene(free=shapely.box(0, 0, 9, 9), dig=dig, restore=restore, patches=(road,))
    >>> round(dear_ground(scene, shapely.Point(3, 1), shapely.Point(4, 8)), 2)
    90.0
    """
    least = least_metre(scene)
    total = 0.0
    for level in levels_of(scene, least):
        total += level.step * _metres_in(scene.free, level.area, start, goal)
    return total


def without_rim(dear: BaseGeometry) -> BaseGeometry:
    """Return dear ground without the edge along which the cheaper side is paid."""
    return dear.buffer(-_RIM_M, join_style="mitre")


def _metres_in(free: BaseGeometry, dear: BaseGeometry, start: BaseGeometry, goal: BaseGeometry) -> float:
    """Return the least metres in dear ground on any way from start to goal, at least."""
    cheap = shapely.get_parts(shapely.difference(free, without_rim(dear), grid_size=1e-6))
    places = np.array([start, goal, *cheap], dtype=object)
    apart = shapely.distance(places[:, None], places[None, :])
    metres = float(_by_way_of_others(apart)[0, 1])
    return max(metres - _ROUNDING_M, 0.0)


def _by_way_of_others(direct: Floats) -> Floats:
    """Return the least sums (n, n) on the way from one to another, given the direct ones."""
    least = direct
    for k in range(len(direct)):
        least = np.minimum(least, least[:, k, None] + least[None, k])
    return least
