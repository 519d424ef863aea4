"""The cheapest tree of trenches from one start to several ends that can be found, over priced ground."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
import shapely
from shapely import LineString, MultiLineString, Point
from shapely.geometry.base import BaseGeometry

from siteplan.route.approach import Approach
from siteplan.route.branching import End, Tree, shortest_tree
from siteplan.route.mesh import Floats, FreeGround
from siteplan.route.priced.candidates import candidates
from siteplan.route.priced.cheapest import Search
from siteplan.route.priced.tree_graph import MOST_ENDS, TreeGraph
from siteplan.route.priced.tree_net import Net, net_of, tree_of
from siteplan.route.priced.tree_polish import polished, polished_each
from siteplan.route.priced.tree_price import NetPrice
from siteplan.route.priced.tree_ways import with_ways
from siteplan.route.scene import Scene
from siteplan.route.tee import best_tee

MOST_BENDS = 80
"""Likely bends that are tried at first; those beyond are left out, farthest from the ends first."""

_MOST_BRANCHES = 40
_ACROSS = (5, 9)
"""Each graph has places spread so many from side to side; no one spread leads to the best tree everywhere."""

_FINE = 2e-3
"""Trees are compared when their places have been moved by steps down to this share of their extent."""

_WALL_PARTS = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class CheapestTree:
    """A tree of trenches and its price.

    Attributes
    ----------
    tree : Tree
        Its lines lie on free ground, without the last legs.
    price : float
        Of the whole tree, last legs, bends and tees included.
    exact_on_graph : bool
        Whether it began as the very cheapest over the candidate places; False with more than ``MOST_ENDS`` ends, where ends
        join one after another.
    """

    tree: Tree
    price: float
    exact_on_graph: bool


def cheapest_tree(
    scene: Scene,
    start: Approach,
    ends: Sequence[Approach],
    *,
    families: Sequence[frozenset[int]] | None = None,
    ground: FreeGround | None = None,
    search: Search | None = None,
    look: Callable[[BaseGeometry], None] = lambda _: None,
) -> CheapestTree | None:
    """Find a tree of trenches that is as cheap as can be found.

    Parameters
    ----------
    scene : Scene
        Metres.
    start : Approach
        Where the trenches start. From walls they may leave at different places.
    ends : sequence of Approach
        One or more.
    families : sequence of frozenset of int, optional
        Ends that must hang together without the start, if it has walls; by default none must.
    ground : FreeGround, optional
        The free ground of the scene, if it is at hand.
    search : Search, optional
        One over the scene, if it is at hand.
    look : callable
        Shown the trenches, last legs left out, as soon as it is clear about where they lie; it may raise to end the search.

    Returns
    -------
    CheapestTree or None
        ``None`` if an end cannot be reached.

    Examples
    --------
    Three corners of an even-sided triangle of 20 m at 3 a metre: the least tree has 20 sqrt(3) m.

    >>> from siteplan.route.scene import Charge
    >>> scene = Scene(free=shapely.box(-50, -50, 50, 50), dig=Charge(row="", price=2), restore=Charge(row="", price=1))
    >>> places = [(0, 0), (20, 0), (10, 10 * 3**0.5)]
    >>> well, *ends = (Approach(feature="", places=((Point(at), (0, 0)),), leg_m=0.0) for at in places)
    >>> round(cheapest_tree(scene, well, ends).price, 3)
    103.923
    """
    ground = ground or FreeGround(scene.free)
    search = search or Search(scene, ground)
    pricing = NetPrice(scene, start, ends, search.links)
    blocks = blocks_of(start, ends, families)
    nets = []
    if len(ends) <= MOST_ENDS:
        found = _on_graphs(pricing, search, blocks, look)
        nets += [found] if found else []
    if len(ends) > MOST_ENDS or _one_price(scene):
        shortest = shortest_tree(ground, start.goal, _joined(ends, families))
        if shortest:
            nets.append(net_of(shortest, start, ends))
            nets.append(polished(pricing, nets[-1], first=_FINE))
    best = min(nets, key=pricing.of, default=None)
    if best is None or math.isinf(pricing.of(best)):
        return None
    tree = tree_of(best, start, ends)
    return CheapestTree(
        tree=tree, price=pricing.of(net_of(tree, start, ends)), exact_on_graph=len(ends) <= MOST_ENDS
    )


def blocks_of(
    start: Approach, ends: Sequence[Approach], families: Sequence[frozenset[int]] | None
) -> tuple[frozenset[int], ...]:
    """Return the ends that must hang together without the start: all of them if there is one leg from it."""
    if isinstance(start.goal, Point) and start.leg_m > 0.0:
        return (frozenset(range(len(ends))),)
    return tuple(families or ())


def _one_price(scene: Scene) -> bool:
    """Tell whether only the length counts."""
    return not scene.patches and not scene.crossed and not scene.tee.price and not scene.bend_price


def _joined(ends: Sequence[Approach], families: Sequence[frozenset[int]] | None) -> list[End]:
    """Return the ends as the shortest tree takes them: each of a family joins its first."""
    first = {end: min(family) for family in families or () for end in family if end != min(family)}
    return [
        End(goal=way.goal, after=(first[number],), near=first[number])
        if number in first
        else End(goal=way.goal)
        for number, way in enumerate(ends)
    ]


def _on_graphs(
    pricing: NetPrice,
    search: Search,
    blocks: Sequence[frozenset[int]],
    look: Callable[[BaseGeometry], None],
) -> Net | None:
    """Find the best tree on each of some graphs of candidate places, and polish the best of them."""
    likely = np.vstack([on_goals(pricing), _bends(pricing), branches(pricing)])
    nets = [
        TreeGraph(pricing, search.net, np.vstack([likely, _spread(pricing, across)])).best(blocks)
        for across in _ACROSS
    ]
    rough = polished_each(pricing, [net for net in nets if net is not None], last=_FINE)
    if not rough:
        return None
    best = min(rough, key=pricing.of)
    look(best.links())
    if pricing.scene.bends:
        best = with_ways(pricing, search.way, best)
    return polished(pricing, best, first=_FINE)


def on_goals(pricing: NetPrice) -> Floats:
    """Places on the start and the ends: points, walls in parts, and the feet from one to another."""
    goals = [pricing.start.goal, *(way.goal for way in pricing.ends)]
    found = []
    for goal in goals:
        if isinstance(goal, Point):
            found.append(shapely.get_coordinates(goal))
            continue
        found.append(shapely.get_coordinates(shapely.segmentize(goal, goal.length / _WALL_PARTS)))
        for other in goals:
            if other is not goal:
                found.append(shapely.get_coordinates(shapely.shortest_line(goal, other))[:1])
                feet = [shapely.shortest_line(part, other) for part in goal.geoms]
                found.append(shapely.get_coordinates(feet).reshape(-1, 2, 2)[:, 0])
    return np.vstack(found)


def _ends_at(pricing: NetPrice) -> Floats:
    """The start and the ends, walls at their middle; shape (1 + ends, 2)."""
    goals = [pricing.start.goal, *(way.goal for way in pricing.ends)]
    return np.array([(goal.centroid.x, goal.centroid.y) for goal in goals])


def _bends(pricing: NetPrice) -> Floats:
    """Places where trenches are likely to bend, those nearest to straight lines between start and ends."""
    places = candidates(pricing.scene)
    lines = MultiLineString([LineString(pair) for pair in combinations(_ends_at(pricing).tolist(), 2)])
    away_m = shapely.distance(lines, shapely.points(places))
    nearest: Floats = places[np.argsort(away_m, kind="stable")[:MOST_BENDS]].reshape(-1, 2)
    return nearest


def branches(pricing: NetPrice) -> Floats:
    """Places where three of the start and the ends would branch in the open."""
    places = _ends_at(pricing).tolist()
    return np.array([best_tee(three) for three in combinations(places, 3)][:_MOST_BRANCHES]).reshape(-1, 2)


def _spread(pricing: NetPrice, across: int) -> Floats:
    """Places spread evenly over the ground between the ends."""
    low, high = _ends_at(pricing).min(axis=0), _ends_at(pricing).max(axis=0)
    step_m = float((high - low).max()) / across
    x, y = np.meshgrid(
        *(np.arange(a - step_m, b + 1.5 * step_m, step_m) for a, b in zip(low, high, strict=True))
    )
    x = x + 0.5 * step_m * (np.arange(len(x)) % 2)[:, None]
    places = np.column_stack([x.ravel(), y.ravel()])
    inside: Floats = places[shapely.intersects_xy(pricing.scene.free, places)]
    return inside
