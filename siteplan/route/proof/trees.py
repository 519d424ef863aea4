"""What no tree of trenches from a start to several ends can cost less than.

Where some ground is dear, the bound is the least price of a tree put together from parts (``components.py``). Where it costs the
same everywhere, or that leaves more open than it should, the bound is the least length of a tree with its tees (``open_tree.py``,
``tree_cells.py``) at the price of the cheapest metre, and what crossing lines in the ground costs on top (``tree_cases.py``), or
the dear ground that no way between two of its places gets round. With more ends than that is made for, these count too:

* the way to the end that is dearest to reach alone;
* half the cheapest round trip over all ends: walking round a tree uses each trench twice.

A way through a tee turns there at the price of the tee, but the bound of the way may count a bend. So for each tee that a
way may pass a bend is taken off, and a tee put back, if that is less. In the bound by length one bend is
counted for each stretch that cannot be straight.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from itertools import combinations, pairwise, permutations, product

from shapely import Point

from siteplan.route.between import Goal
from siteplan.route.mesh import FreeGround
from siteplan.route.open_tree import open_tree_m
from siteplan.route.proof.components import least_of_components
from siteplan.route.proof.dear import levels_of
from siteplan.route.proof.forced import dear_ground, least_metre
from siteplan.route.proof.passing import Legs
from siteplan.route.proof.tree_cases import least_by_cases
from siteplan.route.proof.tree_cells import MOST_TERMINALS, least_tree_m
from siteplan.route.proof.turning import Turning
from siteplan.route.proof.wider import wider
from siteplan.route.scene import Scene

ROUND_TRIP_ENDS = 6
"""With more ends than this no round trips are tried."""

PairBound = Callable[[Goal, Goal], float]

_WIDER = 0.03
_ENOUGH = 2.0
"""So many times the share that is wanted may be left open by the first bound before another is tried."""


def least_tree(
    scene: Scene,
    start: Goal,
    ends: Sequence[Goal],
    *,
    best: float,
    pair_bound: PairBound,
    wanted: float = 0.02,
    legs: Sequence[Legs] = (),
) -> float:
    """Return a price that no tree of trenches from the start to all ends falls below, last legs left out.

    Parameters
    ----------
    scene : Scene
        Priced ground.
    start : Point or MultiLineString
        The start; trenches may leave walls at different places.
    ends : sequence of Point or MultiLineString
        One or more; there is a way to each.
    best : float
        Price of the best tree known, last legs left out.
    pair_bound : callable
        Price that no single trench between two places falls below; it may count bends.
    wanted : float
        Share of ``best`` by which the bound may stay below it before it is refined no more.
    legs : sequence of Legs
        For each end the parts of its walls, each with the last leg from it, nothing for a point; none where last legs do not
        count.

    Returns
    -------
    float
        Proven, whatever ``best`` is.

    Examples
    --------
    Three corners of an even-sided triangle of 20 m at 3 a metre: the least tree has 20 sqrt(3) m.

    >>> import shapely
    >>> from siteplan.route.scene import Charge
    >>> scene = Scene(free=shapely.box(-50, -50, 50, 50), dig=Charge(row="", price=2), restore=Charge(row="", price=1))
    >>> corners = [Point(0, 0), Point(20, 0), Point(10, 10 * 3**0.5)]
    >>> apart = lambda one, other: 3 * one.distance(other)
    >>> round(least_tree(scene, corners[0], corners[1:], best=103.93, pair_bound=apart), 2)
    103.92
    """
    if len(ends) == 1:
        return pair_bound(start, ends[0])
    by_length = _by_length(scene, start, ends, best, wanted, legs)
    if by_length > 0.0 and len(ends) < MOST_TERMINALS:
        return by_length
    return max(by_length, _by_ways(scene, start, ends, pair_bound))


def _by_ways(scene: Scene, start: Goal, ends: Sequence[Goal], pair_bound: PairBound) -> float:
    """Bound by single ways: the dearest, and half the cheapest round trip."""
    places = [start, *ends]
    bend, tee, tees = scene.bend_price, scene.tee.price, len(ends) - 1
    alone = [pair_bound(start, end) for end in ends]
    dearest = max(alone) - tees * max(0.0, bend - tee)
    if len(ends) > ROUND_TRIP_ENDS:
        return dearest
    between = {frozenset((0, number)): price for number, price in enumerate(alone, start=1)}
    for i, j in combinations(range(1, len(places)), 2):
        price = pair_bound(places[i], places[j])
        if not isinstance(start, Point):
            price = min(price, alone[i - 1] + alone[j - 1])
        between[frozenset((i, j))] = price
    trip = min(
        math.fsum(between[frozenset(leg)] for leg in pairwise((0, *order, 0)))
        for order in permutations(range(1, len(places)))
    )
    return max(dearest, (trip - tees * max(0.0, 3 * bend - 2 * tee)) / 2)


def _by_length(
    scene: Scene, start: Goal, ends: Sequence[Goal], best: float, wanted: float, legs: Sequence[Legs]
) -> float:
    """Bound by the least length at the cheapest metre, and what ways pay on top."""
    places = [start, *ends]
    metre = least_metre(scene)
    if not metre > 0.0:
        return 0.0
    ways = combinations(places, 2) if isinstance(start, Point) else product([start], ends)
    forced = max(dear_ground(scene, one, other) for one, other in ways)
    open_m = open_tree_m(places) if isinstance(start, Point) else 0.0
    if best <= 0.0 or forced + metre * open_m >= (1.0 - wanted) * best:
        return forced + metre * open_m

    spare = best - metre * open_m
    levels = levels_of(scene, metre, spare)
    ground = wider(scene.free, _WIDER * wanted * best / metre)
    least = 0.0
    if levels or scene.crossed:
        least = least_of_components(
            scene,
            places,
            ground,
            metre=metre,
            levels=levels,
            spare=spare,
            target=(1.0 - wanted) * best,
            legs=legs or [()] * len(ends),
        )
    if least >= (1.0 - _ENOUGH * wanted) * best:
        return max(forced + metre * open_m, min(least, best))
    turning = Turning(scene)

    def tree(ground: FreeGround, places: Sequence[Goal], best: float, straight: frozenset[int]) -> float:
        return metre * least_tree_m(
            ground,
            places,
            best_m=best / metre,
            wanted=wanted,
            tee_m=scene.tee.price / metre,
            bend_m=scene.bend_price / metre,
            legs=_all_with_legs(ends, legs),
            straight=straight,
            turn_m=lambda angles: turning.price(angles) / metre,
        )

    by_cases = least_by_cases(
        scene,
        places,
        ground,
        tree=tree,
        metre=metre,
        levels=levels,
        best=best,
        target=(1.0 - wanted) * best,
    )
    return max(forced + metre * open_m, by_cases, min(least, best))


def _all_with_legs(ends: Sequence[Goal], legs: Sequence[Legs]) -> bool:
    """Tell whether a last leg leaves every end that has walls."""
    return bool(legs) and all(
        isinstance(end, Point) or (parts and all(any(leg) for _, leg in parts))
        for end, parts in zip(ends, legs, strict=True)
    )
