"""Trees that cross a line in the ground between two places, and trees that do not.

Of two points outside the dear ground round the axis of a line, a tree either joins them by a way that crosses the axis, or by
one that does not.

* If the way crosses, it pays the toll; and from where it crosses it goes out of the dear ground on both sides: as far as the
  nearest place outside lies from the axis, at least.
* If it does not, it lies on ground where the axis is closed, or can be moved aside onto it by as little as the axis is made wide,
  and the ground with it.
  Then the tree is no less than that way, and no less than a tree that joins the two there and a third place by a straight way.

So a tree costs no less than the lesser of the two. What crossing one line takes is on top of what others take, and of the
length at the least price, as far as no metre of dear ground is counted for two lines. Cases are told apart only as long as
that proves more.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import combinations

import shapely
from shapely import Point
from shapely.geometry.base import BaseGeometry

from siteplan.route.between import Goal, shortest_between
from siteplan.route.mesh import FreeGround
from siteplan.route.proof.dear import Level
from siteplan.route.proof.forced import without_rim
from siteplan.route.scene import Scene

TreeBound = Callable[[FreeGround, Sequence[Goal], float, frozenset[int]], float]
"""Price that no tree falls below, all of it at the least price, by: the ground; the places; a price above which nothing need be
proven; the numbers of the places that are joined by straight ways over whatever ground."""

_HALF_M = 1e-4
_NEAR_M = 1e-3
_ROUNDING_M = 1e-3


@dataclass(frozen=True, slots=True, kw_only=True)
class _Barrier:
    """A line in the ground that a tree may cross between two points.

    Attributes
    ----------
    crossing : float
        What crossing it between the two costs on top of the least price of all metres.
    reach_m : float
        So far from the axis lies the dear ground that is counted in that.
    apart : float
        What the way between the two costs that does not cross, at least; infinite if there is none.
    closed : shapely geometry
        Free ground with the axis closed.
    pair : tuple of Point
    """

    axis: BaseGeometry
    crossing: float
    reach_m: float
    apart: float
    closed: BaseGeometry
    pair: tuple[Point, Point]


def least_by_cases(
    scene: Scene,
    places: Sequence[Goal],
    free: BaseGeometry,
    *,
    tree: TreeBound,
    metre: float,
    levels: Sequence[Level],
    best: float,
    target: float,
) -> float:
    """Return a price that no tree falls below.

    Parameters
    ----------
    scene : Scene
        The prices.
    places : sequence of Point or MultiLineString
        The start, and two or more ends.
    free : shapely geometry
        Free ground, or a little more.
    tree : callable
        Bounds trees at the least price.
    metre : float
        A price that no metre falls below.
    levels : sequence of Level
        The dear ground.
    best : float
        Price of the best tree that is known.
    target : float
        No more than this need be proven.
    """
    barriers: list[_Barrier] = []
    if isinstance(places[0], Point):
        found = [
            _barrier(scene, crossed.axis, crossed.toll.price, places, free, metre, levels)
            for crossed in scene.crossed
        ]
        barriers = sorted((each for each in found if each), key=lambda each: -each.crossing)
    usual = max((each.crossing for each in barriers), default=0.0)
    whole = tree(FreeGround(free), places, best - usual, frozenset())

    def least(paid: float, number: int, counted: tuple[_Barrier, ...]) -> float:
        if whole + paid >= target or number == len(barriers):
            return whole + paid
        barrier = barriers[number]
        if not all(_far(barrier, other) for other in counted):
            return least(paid, number + 1, counted)
        crossing = least(paid + barrier.crossing, number + 1, (*counted, barrier))
        beside = max(whole, barrier.apart) + paid
        for third in places:
            if beside >= min(crossing, target):
                break
            if third not in barrier.pair:
                three = (*barrier.pair, third)
                bound = tree(FreeGround(barrier.closed), three, best - paid, frozenset([2]))
                beside = max(beside, bound - metre * _ROUNDING_M + paid)
        return min(crossing, beside)

    return least(0.0, 0, ())


def _barrier(
    scene: Scene,
    axis: BaseGeometry,
    toll: float,
    places: Sequence[Goal],
    free: BaseGeometry,
    metre: float,
    levels: Sequence[Level],
) -> _Barrier | None:
    """Return a line as a barrier between the two points that are farthest apart without crossing.

    None if a way between them need not cross it, or if it cannot be told from what is on its two sides.
    """
    points = [place for place in places if isinstance(place, Point)]
    within = axis.intersection(scene.free)
    if not within.length or any(axis.distance(point) < _NEAR_M for point in points):
        return None
    crossing, reach_m, dear = toll, 0.0, [Point().buffer(0.0)]
    for level in levels:
        outside = scene.free.difference(without_rim(level.area))
        far_m = within.distance(outside) - _ROUNDING_M
        if not outside.is_empty and far_m > 0.0:
            parts = shapely.get_parts(level.area)
            dear += parts[shapely.intersects(parts, within)].tolist()
            crossing += 2 * level.step * far_m
            reach_m = max(reach_m, far_m)
    area = shapely.union_all(dear)
    wide = free.buffer(_NEAR_M, join_style="mitre")
    closed = wide.difference(axis.buffer(_HALF_M, cap_style="flat"))
    ground = FreeGround(closed)
    found: list[tuple[float, tuple[Point, Point]]] = []
    for one, other in combinations([point for point in points if not point.intersects(area)], 2):
        way = shortest_between(ground, one, other)
        found.append((metre * (way.length_m - _ROUNDING_M) if way else float("inf"), (one, other)))
    if not found:
        return None
    apart, pair = max(found, key=lambda each: each[0])
    across = shortest_between(FreeGround(wide), *pair)
    if across and apart < metre * (across.length_m + _NEAR_M):
        return None
    return _Barrier(axis=axis, crossing=crossing, reach_m=reach_m, apart=apart, closed=closed, pair=pair)


def _far(one: _Barrier, other: _Barrier) -> bool:
    """Tell whether the dear ground that is counted for two lines lies apart."""
    return bool(one.axis.distance(other.axis) >= one.reach_m + other.reach_m)
