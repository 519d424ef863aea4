"""How a trench comes to the thing where it starts or ends.

A wall is met square (the trade's way at a building): the trench goes over free ground to the edge of what is kept off
the building, and from there straight to the wall. That last leg is as long everywhere along a wall, so the shortest
trench stays exact. It keeps half a metre from the corners of the building and crosses nothing else that is kept off.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

import shapely
from shapely import LineString, MultiLineString, Point, Polygon
from shapely.affinity import translate
from shapely.geometry.base import BaseGeometry
from shapely.ops import substring

from siteplan.route.keep_off import Yard
from siteplan.site.features import Feature, Side

CORNER_M = 0.5
"""Distance [m] from a corner of a building to an entry, a quarter of a shorter wall (common practice, no source)."""

NEAR_M = 1e-6
_CORNER_DEG = 10.0
_SLIVER_M2 = 1e-9
_LEAST_OPEN_M = 0.05
_BESIDE_M = 1.0
"""Ground further from a building than this [m] beyond its last legs is not looked at."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Approach:
    """Where the free ground gives way to a start or an end.

    Attributes
    ----------
    feature : str
        Id of the thing.
    places : tuple of (LineString or Point, (dx, dy))
        Where the trench may leave the free ground, and how it goes on from there, straight [m].
    leg_m : float
        Length [m] of that last leg, the same for all places.
    tapped : bool
        Is it a line that is there already: a trench that starts from it takes a tee.
    """

    feature: str
    places: tuple[tuple[LineString | Point, tuple[float, float]], ...]
    leg_m: float
    tapped: bool = False

    @property
    def goal(self) -> Point | MultiLineString:
        """The places as one geometry."""
        first = self.places[0][0]
        if isinstance(first, Point):
            return first
        return MultiLineString([place for place, _ in self.places])

    def foot(self, x: float, y: float) -> tuple[float, float]:
        """Return where the trench ends if it leaves the free ground here."""
        _, (dx, dy) = min(self.places, key=lambda place: float(place[0].distance(Point(x, y))))
        return x + dx, y + dy


def bare_approach(feature: Feature) -> Approach:
    """Return how a point is come to, or the edge of an area: from anywhere, without a last leg."""
    edge = feature.shape.boundary if feature.shape.area else feature.shape
    return Approach(
        feature=feature.id,
        places=tuple((part, (0.0, 0.0)) for part in shapely.get_parts(edge)),
        leg_m=0.0,
    )


def approach(
    feature: Feature, yard: Yard, features: dict[str, Feature], *, closed_sides: Collection[Side] = ()
) -> Approach | None:
    """Find where a trench can come to a feature.

    Parameters
    ----------
    feature : Feature
        Where the trench starts or ends: an area is met at its walls, a line anywhere along it, a point there. A point
        close to a building (an entry, a hydrant beside it) is come to square to the wall.
    yard : Yard
        What is kept off; nothing of a point or a line that is the feature itself.
    features : dict
        All features by id.
    closed_sides : collection of {"north", "east", "south", "west"}
        Walls of an area that face there are no way in.

    Returns
    -------
    Approach or None
        None if it lies outside the land, or inside of what is kept off something else.
    """
    if feature.shape.geom_type in ("Polygon", "MultiPolygon"):
        leg_m = yard.distance_m(feature.id)
        beside = shapely.box(*feature.shape.bounds).buffer(leg_m + _BESIDE_M, join_style="mitre")
        open_ground = yard.area(leave_out=[feature.id], within=beside).difference(feature.shape)
        free_ground = yard.area(within=beside).buffer(NEAR_M)
        places = tuple(
            (part, onward)
            for place, onward in _before_walls(feature.shape, leg_m, open_ground)
            if _facing(onward) not in closed_sides
            for part in shapely.get_parts(place.intersection(free_ground))
            if part.length > _LEAST_OPEN_M
        )
        return Approach(feature=feature.id, places=places, leg_m=leg_m) if places else None
    if feature.shape.geom_type != "Point":
        lines = tuple((line, (0.0, 0.0)) for line in shapely.get_parts(feature.shape))
        return Approach(feature=feature.id, places=lines, leg_m=0.0, tapped=True)
    return _to_point(feature, yard, features)


def inside_of(place: Point, yard: Yard) -> tuple[str, ...]:
    """Return the ids of what is kept off and holds a point, each once."""
    return tuple(
        dict.fromkeys(
            kept.feature
            for kept in yard.kept_off
            if kept.area.contains(place) and kept.area.boundary.distance(place) > NEAR_M
        )
    )


def _to_point(feature: Feature, yard: Yard, features: dict[str, Feature]) -> Approach | None:
    place = feature.shape
    assert isinstance(place, Point)
    holding = inside_of(place, yard)
    if yard.land.distance(place) > NEAR_M or len(holding) > 1:
        return None
    if not holding:
        return Approach(feature=feature.id, places=((place, (0.0, 0.0)),), leg_m=0.0)
    building = features.get(holding[0])
    if building is None or building.kind != "building":
        return None
    wall, (out_x, out_y) = min(_walls(building.shape), key=lambda wall: float(wall[0].distance(place)))
    foot = wall.interpolate(wall.project(place))
    end = foot if building.shape.contains(place) else place
    clear_m = yard.distance_m(building.id)
    edge = Point(foot.x + clear_m * out_x, foot.y + clear_m * out_y)
    leg = LineString([edge, end])
    open_ground = yard.area(leave_out=[building.id]).difference(building.shape)
    if leg.difference(open_ground.buffer(NEAR_M)).length > NEAR_M:
        return None
    across = (end.x - edge.x, end.y - edge.y)
    return Approach(feature=feature.id, places=((edge, across),), leg_m=float(leg.length))


@lru_cache(maxsize=64)
def _before_walls(
    building: BaseGeometry, leg_m: float, open_ground: BaseGeometry
) -> tuple[tuple[LineString, tuple[float, float]], ...]:
    """Return the lines parallel to the walls from which the trench can go square to the wall; known if nothing near moved."""
    found = []
    for wall, (out_x, out_y) in _walls(building):
        (x1, y1), (x2, y2) = wall.coords
        shift_x, shift_y = leg_m * out_x, leg_m * out_y
        strip = Polygon([(x1, y1), (x2, y2), (x2 + shift_x, y2 + shift_y), (x1 + shift_x, y1 + shift_y)])
        shut = sorted(
            _span_along(wall, part)
            for part in shapely.get_parts(strip.difference(open_ground))
            if part.area > _SLIVER_M2
        )
        for start_m, end_m in _left_open(wall.length, shut):
            place = substring(wall, start_m, end_m)
            found.append((translate(place, shift_x, shift_y), (-shift_x, -shift_y)))
    return tuple(found)


def _facing(onward: tuple[float, float]) -> Side:
    """Return the side of a building that a trench comes to, going on in some direction."""
    dx, dy = onward
    if abs(dy) >= abs(dx):
        return "north" if dy < 0.0 else "south"
    return "east" if dx < 0.0 else "west"


def _walls(building: BaseGeometry) -> Iterator[tuple[LineString, tuple[float, float]]]:
    """Give the walls of a building, short of its corners, with the direction out of the building."""
    for part in shapely.get_parts(building):
        ring = shapely.orient_polygons(part, exterior_cw=False).exterior.coords[:-1]
        turns = [_turns(ring[i - 1], ring[i], ring[(i + 1) % len(ring)]) for i in range(len(ring))]
        for i, ((x1, y1), (x2, y2)) in enumerate(pairwise([*ring, ring[0]])):
            wall = LineString([(x1, y1), (x2, y2)])
            back_m = min(CORNER_M, wall.length / 4)
            start_m = back_m if turns[i] else 0.0
            end_m = wall.length - (back_m if turns[(i + 1) % len(ring)] else 0.0)
            out = ((y2 - y1) / wall.length, (x1 - x2) / wall.length)
            yield substring(wall, start_m, end_m), out


def _turns(before: tuple[float, ...], here: tuple[float, ...], after: tuple[float, ...]) -> bool:
    """Tell whether two walls make a corner."""
    turn = math.atan2(after[1] - here[1], after[0] - here[0]) - math.atan2(
        here[1] - before[1], here[0] - before[0]
    )
    return abs(math.remainder(turn, math.tau)) > math.radians(_CORNER_DEG)


def _span_along(wall: LineString, part: BaseGeometry) -> tuple[float, float]:
    """Return from where to where a part reaches along a wall [m]."""
    (x1, y1), (x2, y2) = wall.coords
    along = shapely.get_coordinates(part) - (x1, y1)
    reach = along @ ((x2 - x1) / wall.length, (y2 - y1) / wall.length)
    return float(reach.min()), float(reach.max())


def _left_open(length_m: float, shut: list[tuple[float, float]]) -> Iterator[tuple[float, float]]:
    start_m = 0.0
    for from_m, to_m in [*shut, (length_m, length_m)]:
        if from_m - start_m > _LEAST_OPEN_M:
            yield start_m, from_m
        start_m = max(start_m, to_m)
