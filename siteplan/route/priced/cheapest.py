"""The cheapest trench between two things, as far as it can be found.

The shortest line gives the first price that must be beaten. Then the cheapest way is sought among places where bends are
likely, first with every bend at its least price, then with bends priced by their angle; and the bends of the best ways are
moved until nothing is gained. The result is good, not proved: how far it can be from the cheapest is another matter.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from shapely import LineString

from siteplan.route.approach import Approach
from siteplan.route.between import shortest_between
from siteplan.route.mesh import Floats, FreeGround
from siteplan.route.priced.bill import bill
from siteplan.route.priced.candidates import candidates, in_free
from siteplan.route.priced.changed import changed_boxes
from siteplan.route.priced.feet import Feet
from siteplan.route.priced.graph import Graph, reach, settle, through_links
from siteplan.route.priced.links import Links
from siteplan.route.priced.net import Net
from siteplan.route.priced.routes import Priced, Pricing, Route
from siteplan.route.priced.sides import Sides
from siteplan.route.priced.slide import Slid, Slide
from siteplan.route.priced.turns import Turns
from siteplan.route.priced.ways import ways
from siteplan.route.scene import Scene

_SQUARE = 16
"""So many square feet are added at each end."""

_SLID = 4
_LOOKED_AT = 1.3
"""Whether the free ground holds a link is found out first on ways so many times as dear as they are at least."""

_NEARLY = 1.1
_APART_M = 3.0
"""Bends are moved of ``_SLID`` ways at most, at most so many times as dear as the best, with a bend so far [m] from others."""

_WIDER = (1.01, 1.03, 1.07, 1.15, 1.4, 2.0, 4.0, math.inf)
"""Ways so many times as dear as with the least bends are looked at, one after the other until there is one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """A trench and its price.

    Attributes
    ----------
    line : LineString
        From foot to foot, last legs included, metres.
    price : float
        As its bill has it.
    """

    line: LineString
    price: float


def cheapest(
    scene: Scene,
    start: Approach,
    goal: Approach,
    *,
    ground: FreeGround | None = None,
    hints: Sequence[LineString] = (),
) -> Way | None:
    """Find the cheapest trench between two things, as far as it can be found.

    Parameters
    ----------
    scene : Scene
        Metres.
    start, goal : Approach
        Where it starts and ends.
    ground : FreeGround, optional
        The free ground of the scene, if it is there already.
    hints : sequence of LineString
        Lines whose corners are tried as bends.

    Returns
    -------
    Way or None
        None if there is no way, or none with bends and crossings that are allowed was found.

    Examples
    --------
    >>> from shapely import Point, box
    >>> from siteplan.route.scene import Charge
    >>> dig, bend = Charge(row="dig", price=30.0), Charge(row="bend", price=25.0)
    >>> yard = box(0, 0, 20, 9).difference(box(8, 0, 12, 6))
    >>> ends = [Approach(feature="", places=((Point(x, 0), (0, 0)),), leg_m=0) for x in (0, 20)]
    >>> found = cheapest(Scene(free=yard, dig=dig, restore=dig, bends=((90.0, bend),)), *ends)
    >>> found.line.wkt, round(found.price, 2)
    ('LINESTRING (0 0, 8 6, 12 6, 20 0)', 1490.0)
    """
    return Search(scene, ground).way(start, goal, hints)


class Search:
    """Finds cheapest trenches over one scene; what one search learns about the ground serves the next.

    Parameters
    ----------
    scene : Scene
        Metres.
    ground : FreeGround, optional
        Its free ground, if it is there already.
    former : Search, optional
        One over nearly the same scene, where something moved: what it learned clear of that is not learned again. What
        is found can differ a little from what a search without it finds: which feet are tried depends on what is known.

    Attributes
    ----------
    links, turns : Links, Turns
        Price straight links, and bends.
    """

    def __init__(
        self, scene: Scene, ground: FreeGround | None = None, *, former: Search | None = None
    ) -> None:
        self.scene = scene
        self._ground = ground or FreeGround(scene.free)
        self.links = Links(scene)
        self.turns = Turns(scene)
        self._one_price = not (scene.patches or scene.crossed or scene.bends)
        boxes = changed_boxes(scene, former.scene) if former else None
        self._learned = (former.net.settled(), boxes) if former and boxes is not None else None
        self._slid: dict[bytes, Slid] = {}
        if former and boxes is not None:
            self._slid = {key: slid for key, slid in former._slid.items() if slid.holds(boxes)}

    @cached_property
    def net(self) -> Net:
        """Prices links between known places."""
        return Net(self.links, Sides(self.scene), self._learned)

    @cached_property
    def likely(self) -> Floats:
        """Places where bends are likely, array (n, 2)."""
        return candidates(self.scene)

    @cached_property
    def _edges(self) -> Floats:
        return _edges(self.scene)

    def way(self, start: Approach, goal: Approach, hints: Sequence[LineString] = ()) -> Way | None:
        """Find the cheapest trench between two things, as ``cheapest`` does; the same one from either end."""
        if start.goal.wkb > goal.goal.wkb:
            back = self._way(goal, start, hints)
            return back and Way(line=shapely.reverse(back.line), price=back.price)
        return self._way(start, goal, hints)

    def _way(self, start: Approach, goal: Approach, hints: Sequence[LineString]) -> Way | None:
        shortest = shortest_between(self._ground, start.goal, goal.goal)
        if shortest is None:
            return None
        feet = Feet(start), Feet(goal)
        pricing = Pricing(self.links, self.turns, feet)
        corners = shapely.get_coordinates(shortest.line)
        routes = [Route(places=corners, pieces=(feet[0].piece_of(corners[0]), feet[1].piece_of(corners[-1])))]
        if self._one_price:
            found: Sequence[Priced] = pricing.priced(routes)
        else:
            hinted = shapely.get_coordinates([shortest.line, *hints])
            routes += self._routes(feet, pricing.priced(routes)[0].price, hinted)
            found = self._slide(pricing, routes).found
        for likely in found:
            line = LineString(likely.whole)
            price = bill(self.scene, line, legs=(feet[0].has_leg, feet[1].has_leg)).price
            if math.isfinite(price):
                return Way(line=line, price=price)
        return None

    def _slide(self, pricing: Pricing, routes: list[Route]) -> Slid:
        """Move the bends of routes, if that was not done before."""
        whole = [pricing.whole(route) for route in routes]
        walls = [array for feet in pricing.feet for array in (feet.start, feet.end, feet.onward)]
        pieces = [np.array(route.pieces) for route in routes]
        key = b"|".join(array.tobytes() for array in (*whole, *walls, *pieces))
        if key not in self._slid:
            self._slid[key] = Slide(pricing, self._edges).slide(routes)
        return self._slid[key]

    def _routes(self, feet: tuple[Feet, Feet], most: float, hinted: Floats) -> list[Route]:
        """Return good routes among likely bends, the cheapest first."""
        bends = np.vstack([self.likely, in_free(self.scene.free, hinted)])
        graph = Graph(self.net, np.unique(self.net.numbers(bends, bare=False)), feet, self.links)
        bend = self.turns.least
        from_start, to_end = (reach(graph.price, fee, bend) for fee in graph.fee)
        at_foot = (graph.fee[0] <= from_start) | (graph.fee[1] <= to_end)
        graph.keep(from_start + to_end + np.where(at_foot, 0.0, bend) <= most)
        from_start, to_end = (reach(graph.price, fee, bend) for fee in graph.fee)
        wanted = through_links(graph, from_start, to_end, bend)
        graph.look(wanted <= min(most, _LOOKED_AT * wanted.min(initial=math.inf)))
        from_start, to_end, best = settle(graph, bend, most)
        if math.isfinite(best):
            for end, beyond in ((0, to_end), (1, from_start)):
                graph.add_square(end, beyond, _SQUARE)
            from_start, to_end, best = settle(graph, bend, most)
        limits = sorted({min(best * wider, most) for wider in _WIDER}) if math.isfinite(best) else []
        for limit in limits:
            through = through_links(graph, from_start, to_end, bend)
            graph.learn(through <= limit)
            through = through_links(graph, from_start, to_end, bend)
            found = ways(graph, self.turns, through, limit)
            if found:
                return _unlike(
                    [graph.route(nodes) for price, nodes in found if price <= found[0][0] * _NEARLY]
                )
        return []


def _unlike(routes: Sequence[Route]) -> list[Route]:
    """Keep the first routes that each have a place away from those before."""
    kept = list(routes[:1])
    for route in routes[1:]:
        if len(kept) == _SLID:
            break
        others = np.concatenate([other.places for other in kept])
        off_m = np.hypot(*(route.places[:, None] - others).transpose(2, 0, 1)).min(axis=1)
        if off_m.max() > _APART_M:
            kept.append(route)
    return kept


def _edges(scene: Scene) -> Floats:
    """Return all edges along which a bend may be moved, straight: array (n, 2, 2)."""
    areas = [scene.free, *(patch.area for patch in scene.patches), *(line.zone for line in scene.crossed)]
    rings = shapely.get_rings(shapely.get_parts(np.array(areas, dtype=object)))
    places, ring = shapely.get_coordinates(rings, return_index=True)
    same = ring[:-1] == ring[1:]
    edges: Floats = np.stack([places[:-1][same], places[1:][same]], axis=1)
    return edges
