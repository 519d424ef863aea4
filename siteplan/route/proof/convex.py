"""Convex pieces that cover an area, so that what stands in a line of sight can be tested piece by piece.

The area is cut into triangles, and neighbours are put together as long as they stay convex. A line of sight could still
slip along the crack between two pieces: a thin kite is laid over every crack.
"""

from __future__ import annotations

import math

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

Floats = NDArray[np.float64]
Edge = tuple[int, int]

_GRID_M = 1e-6
_LEAST_M2 = 1e-9
_LEAST_M = 1e-6
_BEYOND_M = 1.0
_REFLEX_M2 = -1e-9


def convex_cover(area: BaseGeometry) -> list[Floats]:
    """Return convex polygons that together cover an area and nothing else.

    Parameters
    ----------
    area : shapely geometry
        Polygon, MultiPolygon or a collection; metres. Parts of less than 1e-9 m2 are left out.

    Returns
    -------
    list of ndarray
        Corners (m, 2) of each, counterclockwise, the first not repeated. They may overlap. Every point inside the area
        lies inside one of them, isolated points apart.

    Examples
    --------
    An L of two squares and their corner: two pieces, and a kite over the crack between them.

    >>> ell = shapely.box(0, 0, 2, 2).difference(shapely.box(1, 1, 2, 2))
    >>> sorted(len(piece) for piece in convex_cover(ell))
    [4, 4, 4]
    """
    parts = shapely.get_parts(area)
    return [
        piece
        for part in parts
        if part.geom_type == "Polygon" and part.area >= _LEAST_M2
        for piece in _cover_of_polygon(part)
    ]


def blockers_of(region: BaseGeometry) -> list[Floats]:
    """Return convex polygons that stand between the points of a region: two see each other unless one of them is between.

    They cover all that is not region within its convex hull, and reach out beyond the hull where the region leaves a gap
    in it, so that a line along the hull across the gap is cut too.

    Parameters
    ----------
    region : shapely geometry
        Polygon or MultiPolygon, metres.

    Examples
    --------
    >>> blockers_of(shapely.box(0, 0, 3, 3))
    []
    >>> len(blockers_of(shapely.box(0, 0, 3, 3).difference(shapely.box(1, 1, 2, 2))))
    1
    """
    hull = region.convex_hull
    wide = hull.buffer(_BEYOND_M, join_style="mitre")
    cover = convex_cover(wide.difference(region))
    if not cover:
        return []
    within = shapely.area(shapely.intersection([shapely.Polygon(piece) for piece in cover], hull))
    return [piece for piece, area_m2 in zip(cover, within, strict=True) if area_m2 > _LEAST_M2]


def convex_parts(area: BaseGeometry) -> list[Floats]:
    """Return convex polygons that together cover an area and nothing else, and do not overlap.

    Examples
    --------
    >>> ell = shapely.box(0, 0, 2, 2).difference(shapely.box(1, 1, 2, 2))
    >>> sorted(len(piece) for piece in convex_parts(ell))
    [4, 4]
    """
    return [
        piece
        for part in shapely.get_parts(area)
        if part.geom_type == "Polygon" and part.area >= _LEAST_M2
        for piece in _pieces(part)[0]
    ]


def _cover_of_polygon(polygon: shapely.Polygon) -> list[Floats]:
    """Return the pieces of one polygon, and the kites over the cracks between them."""
    pieces, kites = _pieces(polygon)
    return pieces + kites


def _pieces(polygon: shapely.Polygon) -> tuple[list[Floats], list[Floats]]:
    """Return the pieces and the kites of one polygon."""
    triangles = shapely.orient_polygons(shapely.get_parts(shapely.constrained_delaunay_triangles(polygon)))
    corners = shapely.get_coordinates(triangles).reshape(-1, 4, 2)[:, :3].reshape(-1, 2)
    _, first, number = np.unique(np.round(corners / _GRID_M), axis=0, return_index=True, return_inverse=True)
    at = corners[first]
    loops: dict[int, list[int]] = dict(enumerate(number.reshape(-1, 3).tolist()))
    third = {(loop[k - 2], loop[k - 1]): loop[k] for loop in loops.values() for k in range(3)}
    home = {(loop[k - 2], loop[k - 1]): piece for piece, loop in loops.items() for k in range(3)}
    inner = sorted(
        ((u, v) for u, v in home if u < v and (v, u) in home),
        key=lambda edge: -math.dist(at[edge[0]], at[edge[1]]),
    )
    cracks = [edge for edge in inner if not _joined(at, loops, home, edge)]
    kites = [_kite(at[[u, v]], at[[third[u, v], third[v, u]]]) for u, v in cracks]
    return [at[loop] for loop in loops.values()], [kite for kite in kites if kite is not None]


def _joined(at: Floats, loops: dict[int, list[int]], home: dict[Edge, int], edge: Edge) -> bool:
    """Put the two pieces at an edge together if that is convex; tell whether they were."""
    u, v = edge
    one, other = home[u, v], home[v, u]
    if one == other:
        return True
    loop, more = loops[one], loops[other]
    loop = loop[loop.index(v) :] + loop[: loop.index(v)]
    more = more[more.index(u) :] + more[: more.index(u)]
    if _turns_right(at, loop[-2], u, more[1]) or _turns_right(at, more[-2], v, loop[1]):
        return False
    loops[one] = loop + more[1:-1]
    del loops[other]
    for tail, head in zip(more, [*more[1:], more[0]], strict=True):
        home[tail, head] = one
    home[v, u] = one
    return True


def _turns_right(at: Floats, before: int, here: int, after: int) -> bool:
    way, onward = at[here] - at[before], at[after] - at[here]
    return bool(way[0] * onward[1] - way[1] * onward[0] < _REFLEX_M2)


def _kite(crack: Floats, apexes: Floats) -> Floats | None:
    """Return a kite over a crack (2, 2), half as wide as the triangles beside it; ``None`` if they have no width."""
    middle, way = crack.mean(axis=0), crack[1] - crack[0]
    aside = np.array([-way[1], way[0]]) / math.hypot(*way)
    widths = []
    for apex in apexes:
        far_m = abs(float((apex - middle) @ aside))
        along = (float((apex - middle) @ way)) / float(way @ way)
        widths.append(far_m * 0.25 / (0.5 + abs(along)))
    if min(widths) < _LEAST_M:
        return None
    kite: Floats = np.array([crack[0], middle - aside * widths[1], crack[1], middle + aside * widths[0]])
    return kite
