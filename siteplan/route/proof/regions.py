"""The ground cut into regions of one price, and the edges between them, where a cheapest trench may turn.

A *region* is a connected piece of free ground over which the price of digging a metre is the same, the same patches may be
bored under, and the same tolerance zones lie. A *bed* is all free ground of a patch that may be bored under, shut or not:
bores cross it from edge to edge. Everything is laid on a grid of 1e-6 m, so that neighbours share their edges
exactly: what is proven holds up to that.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import cached_property
from itertools import pairwise
from typing import TypeAlias

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString
from shapely.geometry.base import BaseGeometry

from siteplan.route.proof.convex import Floats, blockers_of
from siteplan.route.scene import Bore, Crossed, Scene

Key: TypeAlias = tuple[float, tuple[int, ...], tuple[int, ...]]
"""Price of digging a metre, the patches that may be bored under, the zones and the parts of zones beside an axis."""

GRID_M = 1e-6
NEAR_M = 2e-6
"""Two places nearer than this are the same."""

_IN_LINE = 1e-9
_NOWHERE = -1


@dataclass(frozen=True, slots=True)
class Face:
    """A piece of the plane that no outline cuts, its key, and whether it is free."""

    area: BaseGeometry
    key: Key
    free: bool


@dataclass(frozen=True)
class Region:
    """Connected free ground of one price, or a bed.

    Attributes
    ----------
    area : Polygon or MultiPolygon
        Metres.
    rate : float
        Price of digging and restoring a metre; infinite over a bed, which is only bored.
    beside : tuple of int
        The zones, then the parts of zones beside an axis, that it lies in.
    bore : Bore or None
        How a bed is bored.
    edge : shapely geometry or None
        The outline of the patch of a bed.
    """

    area: BaseGeometry
    rate: float
    beside: tuple[int, ...] = ()
    bore: Bore | None = None
    edge: BaseGeometry | None = None

    @cached_property
    def blockers(self) -> list[Floats]:
        """What stands between its points."""
        return blockers_of(self.area)

    @cached_property
    def wide(self) -> BaseGeometry:
        """The region and what is so near to it that it counts as in it."""
        grown = self.area.buffer(NEAR_M)
        shapely.prepare(grown)
        return grown


@dataclass(frozen=True)
class Edge:
    """A straight piece of boundary.

    Attributes
    ----------
    tail, head : int
        Nodes at its ends.
    homes : tuple of int
        The regions beside it, and the beds that end there.
    rate : float
        Price of digging a metre along it: that of the cheaper side, free or not.
    """

    tail: int
    head: int
    homes: tuple[int, ...]
    rate: float


@dataclass
class Regions:
    """The regions and beds of a scene, their edges and their corners.

    Attributes
    ----------
    at : ndarray
        Places of the nodes, (n, 2), metres.
    regions : list of Region
        The beds last.
    edges : list of Edge
        Where the price changes, or a bed ends.
    corners : list of (int, int)
        Nodes at which a region has a corner of more than half a turn, not on an edge of it; and the region.
    """

    at: Floats
    regions: list[Region] = field(default_factory=list)
    edges: list[Edge] = field(default_factory=list)
    corners: list[tuple[int, int]] = field(default_factory=list)

    def holding(self, place: BaseGeometry) -> list[int]:
        """Return the regions that a place touches, and the beds at whose edge it is."""
        return [
            number
            for number, region in enumerate(self.regions)
            if region.wide.intersects(place) and (region.edge is None or region.edge.distance(place) < NEAR_M)
        ]


def cut_into_regions(scene: Scene) -> Regions:
    """Cut the free ground of a scene into regions.

    Parameters
    ----------
    scene : Scene
        Ground that is shut is no region, but may be part of a bed.

    Examples
    --------
    >>> from siteplan.route.scene import Charge, Patch
    >>> one = Charge(row="", price=1.0)
    >>> drive = Patch(feature="drive", area=shapely.box(4, -1, 6, 10), restore=Charge(row="", price=30.0))
    >>> found = cut_into_regions(Scene(free=shapely.box(0, 0, 9, 9), dig=one, restore=one, patches=(drive,)))
    >>> sorted((region.area.area, region.rate) for region in found.regions), len(found.edges)
    ([(18.0, 31.0), (27.0, 2.0), (36.0, 2.0)], 2)
    """
    faces = _faces(scene)
    at, owner = _joined(faces)
    roots = _regions_of_faces(owner, faces)
    names: dict[int, int] = {}
    number = [
        names.setdefault(root, len(names)) if face.free and math.isfinite(face.key[0]) else _NOWHERE
        for root, face in zip(roots, faces, strict=True)
    ]
    found = Regions(at=at)
    for region in range(len(names)):
        mine = [face for face, its in zip(faces, number, strict=True) if its == region]
        area = shapely.union_all([face.area for face in mine], grid_size=GRID_M)
        found.regions.append(Region(area, mine[0].key[0], mine[0].key[2]))
    found.regions += _beds(scene, faces)
    borders: dict[tuple[int, int], list[tuple[int, int, int]]] = {}
    beyond = Face(shapely.Polygon(), (scene.plain, (), ()), False)
    for (tail, head), left in owner.items():
        right = owner.get((head, tail), _NOWHERE)
        sides = number[left], number[right] if right >= 0 else _NOWHERE
        if sides[0] >= 0 and sides[0] != sides[1]:
            borders.setdefault((head, sides[0]), []).append((tail, head, 1))
            borders.setdefault((tail, sides[0]), []).append((tail, head, 0))
        if right < 0 or tail < head:
            edge = _edge(
                (tail, head), sides, (faces[left], faces[right] if right >= 0 else beyond), len(names)
            )
            found.edges += [edge] if edge else []
    on_edge = {(node, home) for edge in found.edges for node in (edge.tail, edge.head) for home in edge.homes}
    found.corners = [spot for spot, lines in borders.items() if spot not in on_edge and _may_bend(at, lines)]
    return found


def _edge(
    nodes: tuple[int, int], sides: tuple[int, int], faces: tuple[Face, Face], first_bed: int
) -> Edge | None:
    """Return the edge between two faces if a trench may turn there."""
    here, there = (face.key for face in faces)
    ending = sorted(set(here[1]) ^ set(there[1])) if faces[0].free or faces[1].free else []
    changes = sides[0] != sides[1] and min(sides) >= 0
    changes |= sides[0] >= 0 > sides[1] and there[0] < here[0]
    changes |= sides[1] >= 0 > sides[0] and here[0] < there[0]
    if not (changes or ending):
        return None
    homes = tuple(side for side in dict.fromkeys(sides) if side >= 0)
    return Edge(*nodes, homes + tuple(first_bed + bed for bed in ending), min(here[0], there[0]))


def _beds(scene: Scene, faces: list[Face]) -> list[Region]:
    """Return all free ground of each patch that may be bored under."""
    found = []
    for number, patch in enumerate(patch for patch in scene.patches if patch.bore):
        mine = [face.area for face in faces if face.free and number in face.key[1]]
        area = shapely.union_all(mine, grid_size=GRID_M) if mine else shapely.Polygon()
        found.append(Region(area, math.inf, (), patch.bore, patch.area.boundary))
    return found


def axes_of(crossed: Crossed) -> list[LineString]:
    """Return the unbroken lines of an axis."""
    merged = shapely.line_merge(crossed.axis) if crossed.axis.geom_type == "MultiLineString" else crossed.axis
    return [part for part in shapely.get_parts(merged) if part.length > 0.0]


def beside(crossed: Crossed) -> list[tuple[tuple[float, float], BaseGeometry]]:
    """Return the parts of a zone square off the straight pieces of its axis, each with the direction of its piece.

    Empty if the line may be crossed at any angle.
    """
    if crossed.least_angle_deg <= 0.0:
        return []
    reach_m = shapely.hausdorff_distance(crossed.zone, crossed.axis) + 1.0
    found = []
    for line in shapely.get_parts(crossed.axis):
        for tail, head in pairwise(shapely.get_coordinates(line)):
            way = (head - tail) / math.dist(tail, head)
            aside = reach_m * np.array([-way[1], way[0]])
            # with the corners of the axis, so that its rim is cut there and stays on them on the grid
            slab = shapely.Polygon([tail - aside, head - aside, head, head + aside, tail + aside, tail])
            found.append(((float(way[0]), float(way[1])), crossed.zone.intersection(slab)))
    return found


def _faces(scene: Scene) -> list[Face]:
    """Return the pieces into which all outlines cut the plane."""
    slabs = [slab for crossed in scene.crossed for _, slab in beside(crossed)]
    zones = [crossed.zone for crossed in scene.crossed]
    areas = [patch.area for patch in scene.patches]
    outlines = shapely.boundary(np.array([scene.free, *areas, *zones, *slabs], dtype=object))
    lines = shapely.union_all(shapely.set_precision(outlines, GRID_M), grid_size=GRID_M)
    pieces = shapely.get_parts(shapely.polygonize(shapely.get_parts(lines)))
    inside = shapely.point_on_surface(pieces)
    dig = np.full(len(pieces), -math.inf)
    restore, shut = dig.copy(), np.zeros(len(pieces), bool)
    under: list[NDArray[np.bool_]] = []
    for patch in scene.patches:
        on = _covers(patch.area, inside)
        if patch.dig:
            dig[on] = np.maximum(dig[on], patch.dig.price)
        if patch.restore:
            restore[on] = np.maximum(restore[on], patch.restore.price)
        shut |= on & patch.shut
        if patch.bore:
            under.append(on)
    rate = np.where(np.isinf(dig), scene.dig.price, dig) + np.where(
        np.isinf(restore), scene.restore.price, restore
    )
    rate[shut] = math.inf
    beyond = [_covers(area, inside) for area in (*zones, *slabs)]
    keys: list[Key] = [
        (
            float(rate[k]),
            tuple(bore for bore, on in enumerate(under) if on[k]),
            tuple(zone for zone, on in enumerate(beyond) if on[k]),
        )
        for k in range(len(pieces))
    ]
    free = _covers(scene.free, inside)
    return [Face(piece, key, bool(its)) for piece, key, its in zip(pieces, keys, free, strict=True)]


def _covers(area: BaseGeometry, points: NDArray[np.object_]) -> NDArray[np.bool_]:
    shapely.prepare(area)
    covered: NDArray[np.bool_] = shapely.covers(area, points)
    return covered


def _joined(faces: list[Face]) -> tuple[Floats, dict[tuple[int, int], int]]:
    """Return the places of all nodes, and for every edge, from node to node, the face on its left."""
    numbers: dict[tuple[int, int], int] = {}
    at: list[tuple[float, float]] = []
    owner: dict[tuple[int, int], int] = {}
    for face, polygon in enumerate(shapely.orient_polygons([face.area for face in faces])):
        for ring in (polygon.exterior, *polygon.interiors):
            nodes = []
            for x, y in ring.coords:
                place = (round(x / GRID_M), round(y / GRID_M))
                if place not in numbers:
                    numbers[place] = len(at)
                    at.append((x, y))
                nodes.append(numbers[place])
            owner.update({edge: face for edge in pairwise(nodes) if edge[0] != edge[1]})
    return np.array(at).reshape(-1, 2), owner


def _regions_of_faces(owner: dict[tuple[int, int], int], faces: list[Face]) -> list[int]:
    """Give each face the lowest face that it hangs together with across edges where nothing changes."""
    above = list(range(len(faces)))

    def lowest(face: int) -> int:
        while above[face] != face:
            above[face] = above[above[face]]
            face = above[face]
        return face

    for (tail, head), face in owner.items():
        other = owner.get((head, tail))
        if (
            other is not None
            and faces[face].free
            and faces[other].free
            and faces[face].key == faces[other].key
        ):
            low, high = sorted((lowest(face), lowest(other)))
            above[high] = low
    return [lowest(face) for face in range(len(faces))]


def _may_bend(at: Floats, lines: Iterable[tuple[int, int, int]]) -> bool:
    """Tell whether a shortest line in a region can bend at a node, given the borders of the region there."""
    into = [(tail, head) for tail, head, comes in lines if comes]
    out = [(tail, head) for tail, head, comes in lines if not comes]
    if len(into) != 1 or len(out) != 1:
        return True
    way, onward = (at[head] - at[tail] for tail, head in (into[0], out[0]))
    turn = way[0] * onward[1] - way[1] * onward[0]
    return bool(turn < -_IN_LINE * math.hypot(*way) * math.hypot(*onward))
