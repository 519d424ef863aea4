"""The ground cut into small triangles, and places along walls into short intervals: bends and ends lie in them.

No triangle straddles a line that is crossed: the ground is cut into *parts* along these lines, and along each
end of them straight on to where the ground ends.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.spatial import KDTree
from shapely import LineString, MultiLineString, Point
from shapely.geometry.base import BaseGeometry

from siteplan.route.proof.places import Places
from siteplan.route.proof.sightlines import Floats, Ints

GRID_M = 1e-6

GROUND, START, GOAL = 0, 1, 2
NO_PART = -1

_BETWEEN_M = 1e-5


@dataclass(frozen=True, slots=True, kw_only=True)
class Cells:
    """Triangles, intervals and points.

    Attributes
    ----------
    corners : ndarray of int
        (n, 3): numbers of places. An interval repeats its second corner, a point its only one.
    part : ndarray of int
        (n,): the part of the ground in which it lies; ``NO_PART`` for an end between two.
    role : ndarray of int
        (n,): ``GROUND``, ``START`` or ``GOAL``.
    """

    corners: Ints
    part: Ints
    role: Ints


def parts_of(ground: BaseGeometry, axes: list[LineString]) -> list[BaseGeometry]:
    """Cut the ground along lines and straight on from their ends.

    Examples
    --------
    >>> ground, axis = shapely.box(0, 0, 10, 10), LineString([(-1, 5), (4, 5)])
    >>> [part.area for part in parts_of(ground, [axis])]
    [50.0, 50.0]
    """
    if not axes:
        return [part for part in shapely.get_parts(ground) if part.area > 0.0]
    far_m = math.dist(ground.bounds[:2], ground.bounds[2:])
    cuts = [_stretched(axis, far_m).intersection(ground) for axis in axes]
    lines = shapely.set_precision([ground.boundary, *cuts], GRID_M)
    noded = shapely.union_all(lines, grid_size=GRID_M)
    parts = shapely.get_parts(shapely.polygonize(shapely.get_parts(noded)))
    inside = shapely.covers(ground.buffer(GRID_M), shapely.point_on_surface(parts))
    return list(parts[inside])


def _stretched(axis: LineString, far_m: float) -> LineString:
    """Return a line with both ends drawn out straight."""
    at = shapely.get_coordinates(axis)
    ends = []
    for end, inner in ((at[0], at[1]), (at[-1], at[-2])):
        way = end - inner
        ends.append(end + far_m * way / max(math.hypot(*way), 1e-12))
    return LineString([ends[0], *at, ends[1]])


def part_at(parts: list[BaseGeometry], points: Floats) -> Ints:
    """Return the part in which each point (n, 2) lies; ``NO_PART`` between two."""
    away = shapely.distance(np.array(parts)[None, :], shapely.points(points)[:, None])
    nearest: Ints = away.argmin(axis=1)
    return np.where((away < _BETWEEN_M).sum(axis=1) > 1, NO_PART, nearest)


def ground_cells(places: Places, parts: list[BaseGeometry], size_m: float) -> Cells:
    """Cut every part into triangles with no side longer than ``size_m``."""
    triangles, part = [], []
    for number, area in enumerate(parts):
        corners = shapely.get_coordinates(shapely.get_parts(shapely.constrained_delaunay_triangles(area)))
        own = corners.reshape(-1, 4, 2)[:, :3]
        while True:
            sides = np.linalg.norm(own - np.roll(own, -1, axis=1), axis=2)
            large = sides.max(axis=1) > size_m
            if not large.any():
                break
            own = np.concatenate([own[~large], *_bisected(own[large])])
        triangles.append(own)
        part.append(np.full(len(own), number))
    points, corners = np.unique(np.concatenate(triangles).reshape(-1, 2), axis=0, return_inverse=True)
    numbers = places.add(points)
    return Cells(
        corners=numbers[corners.reshape(-1, 3)],
        part=np.concatenate(part),
        role=np.full(len(corners.reshape(-1, 3)), GROUND),
    )


def _bisected(triangles: Floats) -> tuple[Floats, Floats]:
    """Cut triangles (n, 3, 2) in two across their longest sides."""
    longest = np.linalg.norm(triangles - np.roll(triangles, -1, axis=1), axis=2).argmax(axis=1)
    each = np.arange(len(triangles))
    a, b, c = (triangles[each, (longest + k) % 3] for k in range(3))
    return np.stack([a, (a + b) / 2, c], axis=1), np.stack([(a + b) / 2, b, c], axis=1)


def end_cells(
    places: Places,
    parts: list[BaseGeometry],
    ground: BaseGeometry,
    axes: list[LineString],
    end: Point | MultiLineString,
    role: int,
    size_m: float,
) -> Cells:
    """Cut a start or goal into cells: a point, or the pieces of walls that are on the ground, none longer than ``size_m``."""
    if isinstance(end, Point):
        spans = np.array([[end.coords[0], end.coords[0]]])[..., :2]
    else:
        spans = _spans(end.intersection(ground.buffer(GRID_M)), axes, size_m)
        spans = np.round(spans / GRID_M) * GRID_M
    numbers = places.add(onto_corners(spans.reshape(-1, 2), ground)).reshape(-1, 2)
    return Cells(
        corners=numbers[:, [0, 1, 1]],
        part=part_at(parts, spans.mean(axis=1)),
        role=np.full(len(spans), role),
    )


def onto_corners(points: Floats, ground: BaseGeometry) -> Floats:
    """Move points (n, 2) that are within 2e-6 m of a corner of the ground onto it."""
    corners = shapely.get_coordinates(ground)
    away, which = KDTree(corners).query(points)
    return np.where((away < 2.0 * GRID_M)[:, None], corners[which], points)


def _spans(walls: BaseGeometry, axes: list[LineString], size_m: float) -> Floats:
    """Cut walls at corners, at axes and to a size: (n, 2, 2)."""
    lines: Any = [part for part in shapely.get_parts(walls) if part.geom_type == "LineString"]
    cut = shapely.union_all([*lines, *axes]).intersection(shapely.union_all(lines).buffer(1e-9))
    pieces = shapely.get_parts(shapely.segmentize(cut, size_m))
    spans = [
        at[k : k + 2]
        for at in map(shapely.get_coordinates, pieces)
        for k in range(len(at) - 1)
        if math.dist(at[k], at[k + 1]) > GRID_M
    ]
    return np.array(spans).reshape(-1, 2, 2)


def joined(*groups: Cells) -> Cells:
    """Put groups of cells into one."""
    return Cells(
        corners=np.concatenate([group.corners for group in groups]),
        part=np.concatenate([group.part for group in groups]),
        role=np.concatenate([group.role for group in groups]),
    )


def taken(cells: Cells, kept: NDArray[np.bool_]) -> Cells:
    """Return some of the cells."""
    return Cells(corners=cells.corners[kept], part=cells.part[kept], role=cells.role[kept])


def all_pairs(cells: Cells) -> tuple[Ints, Ints]:
    """Return all pairs of cells but those of the same end."""
    one, other = np.triu_indices(len(cells.role), 1)
    useful = (cells.role[one] != cells.role[other]) | (cells.role[one] == GROUND)
    return one[useful], other[useful]


def halved(
    places: Places, cells: Cells, kept: NDArray[np.bool_], split: NDArray[np.bool_]
) -> tuple[Cells, Ints]:
    """Keep some cells, cut others in two across their longest sides, and drop the rest.

    Returns
    -------
    cells : Cells
    children : ndarray of int
        (n, 2): by old cell the numbers of its new ones, -1 where there is none.
    """
    whole, cut = np.flatnonzero(kept & ~split), np.flatnonzero(kept & split)
    old = cells.corners[cut]
    longest = _sides_m(places, old).argmax(axis=1)
    each = np.arange(len(cut))
    a, b, c = (old[each, (longest + k) % 3] for k in range(3))
    count = len(places.at)
    keys, back = np.unique(np.minimum(a, b) * count + np.maximum(a, b), return_inverse=True)
    middle = places.add((places.at[keys // count] + places.at[keys % count]) / 2)[back]
    # an interval (p, q, q) has its longest side first: its halves are (p, m, m) and (m, q, q)
    first = np.stack([a, middle, np.where(c == b, middle, c)], axis=1)
    second = np.stack([middle, b, c], axis=1)
    children = np.full((len(cells.part), 2), -1)
    children[whole, 0] = np.arange(len(whole))
    children[cut, 0] = len(whole) + np.arange(len(cut))
    children[cut, 1] = len(whole) + len(cut) + np.arange(len(cut))
    order = np.concatenate([whole, cut, cut])
    corners = np.concatenate([cells.corners[whole], first, second])
    return Cells(corners=corners, part=cells.part[order], role=cells.role[order]), children


def longest_m(places: Places, cells: Cells) -> Floats:
    """Return the length of the longest side of each cell."""
    longest: Floats = _sides_m(places, cells.corners).max(axis=1, initial=0.0)
    return longest


def _sides_m(places: Places, corners: Ints) -> Floats:
    return places.length_m(corners, np.roll(corners, -1, axis=1))


def enclosing_circles(triangles: Floats) -> tuple[Floats, Floats]:
    """Return centre (n, 2) and radius (n,) of the least circle round each triangle (n, 3, 2).

    Examples
    --------
    >>> centre, radius = enclosing_circles(np.array([[[0, 0], [4, 0], [1, 1]], [[0, 0], [6, 0], [3, 9]]], float))
    >>> centre.tolist(), radius.tolist()
    ([[2.0, 0.0], [3.0, 4.0]], [2.0, 5.0])
    """
    a, b, c = triangles[:, 0], triangles[:, 1], triangles[:, 2]
    centre, radius = np.zeros((len(triangles), 2)), np.full(len(triangles), np.inf)
    for p, q, r in ((a, b, c), (b, c, a), (c, a, b)):
        middle, half = (p + q) / 2, np.linalg.norm(p - q, axis=1) / 2
        holds = (np.linalg.norm(r - middle, axis=1) <= half * (1.0 + 1e-9)) & (half < radius)
        radius, centre = np.where(holds, half, radius), np.where(holds[:, None], middle, centre)
    one, other = b - a, c - a
    twice = 2.0 * (one[:, 0] * other[:, 1] - one[:, 1] * other[:, 0])
    ones, others = (one * one).sum(axis=1), (other * other).sum(axis=1)
    acute = np.isinf(radius)
    share = np.where(acute, twice, 1.0)
    x = (other[:, 1] * ones - one[:, 1] * others) / share
    y = (one[:, 0] * others - other[:, 0] * ones) / share
    away = np.stack([x, y], axis=1)
    centre = np.where(acute[:, None], a + away, centre)
    return centre, np.where(acute, np.linalg.norm(away, axis=1), radius)
