"""Walls cut into pieces along the triangles of the free ground, so that a search knows where it meets them."""

from __future__ import annotations

from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, MultiLineString

from siteplan.route.mesh import REACH_M, Floats, FreeGround

Piece = tuple[float, float, float, float]
"""A straight piece from (x1, y1) to (x2, y2), metres; may be a single point."""

Cut = tuple[NDArray[np.bool_], Floats]
"""By span (n, 2, 2): whether a cut leaves a piece of it, and the ends of that piece (n, 2, 2)."""


def pieces_by_triangle(ground: FreeGround, walls: LineString | MultiLineString) -> dict[int, list[Piece]]:
    """Cut walls along the triangles of the ground.

    Parameters
    ----------
    ground : FreeGround
        Metres in a plane.
    walls : LineString or MultiLineString
        Anywhere in that plane; what is off the ground is left out.

    Returns
    -------
    dict
        By triangle: the pieces that lie in it. What runs along an edge or ends at it, within 1e-6 m, is moved
        onto it.

    Examples
    --------
    >>> from shapely import box
    >>> pieces = pieces_by_triangle(FreeGround(box(0, 0, 4, 4)), LineString([(1, 0), (3, 0)]))
    >>> sorted({piece for here in pieces.values() for piece in here if piece[0] < piece[2]})
    [(1.0, 0.0, 3.0, 0.0)]
    """
    points, line = shapely.get_coordinates(shapely.get_parts(walls), return_index=True)
    spans = np.stack([points[:-1], points[1:]], axis=1)
    spans = spans[(line[1:] == line[:-1]) & (spans[:, 0] != spans[:, 1]).any(axis=1)]
    span, triangle = ground.tree.query(shapely.linestrings(spans), predicate="dwithin", distance=REACH_M)
    spans = spans[span]
    mesh = ground.mesh
    rounds = [mesh.tail[3 * where + k] for where in triangle.tolist() for k in range(3)]
    corners = np.array([(mesh.x[corner], mesh.y[corner]) for corner in rounds]).reshape(-1, 3, 2)
    cuts = [_across(spans, corners)]
    cuts += [_along(spans, corners[:, [k, (k + 1) % 3]]) for k in range(3)]
    cuts += [_ending(spans[:, end], ground.triangles[triangle]) for end in range(2)]
    pieces: dict[int, list[Piece]] = {}
    for kept, ends in cuts:
        for where, (start, stop) in zip(triangle[kept].tolist(), ends[kept].tolist(), strict=True):
            pieces.setdefault(where, []).append((*start, *stop))
    return pieces


def _across(spans: Floats, triangles: Floats) -> Cut:
    """Cut spans to the triangles (n, 3, 2), counterclockwise, that they cross."""
    low, high = np.zeros(len(spans)), np.ones(len(spans))
    for edge in range(3):
        foot = triangles[:, edge]
        way = triangles[:, (edge + 1) % 3] - foot
        at_start, at_end = (_cross(way, spans[:, end] - foot) for end in range(2))
        change = at_start - at_end
        share = np.divide(at_start, change, out=np.zeros(len(spans)), where=change != 0.0)
        low = np.where((at_start < 0.0) & (at_end >= 0.0), np.maximum(low, share), low)
        high = np.where((at_start >= 0.0) & (at_end < 0.0), np.minimum(high, share), high)
        high = np.where((at_start < 0.0) & (at_end < 0.0), 0.0, high)
    return low < high, _between(spans, low, high)


def _cross(one: Floats, other: Floats) -> Floats:
    """Cross products of vectors, row by row, (n, 2) each: positive where the second turns left."""
    cross: Floats = one[:, 0] * other[:, 1] - one[:, 1] * other[:, 0]
    return cross


def _along(spans: Floats, edges: Floats) -> Cut:
    """Cut spans to the edges (n, 2, 2) that they run along, and move them onto these."""
    low, high = np.sort(_shares(spans, edges), axis=1).T
    ends = _between(spans, low, high)
    moved = _between(edges, *_shares(edges, ends).T)
    return (low < high) & (np.linalg.norm(moved - ends, axis=2) <= REACH_M).all(axis=1), moved


def _ending(ends: Floats, triangles: NDArray[Any]) -> Cut:
    """Keep the ends of spans (n, 2) that lie in their triangles, and move those near an edge onto it."""
    ways = shapely.shortest_line(triangles, shapely.points(ends))
    moved = shapely.get_coordinates(ways).reshape(-1, 2, 2)[:, :1]
    return shapely.length(ways) <= REACH_M, np.repeat(moved, 2, axis=1)


def _shares(spans: Floats, points: Floats) -> Floats:
    """Return at which share of each span (n, 2, 2) the points (n, 2, 2) are abreast, none beyond its ends."""
    start, way = spans[:, :1], spans[:, 1] - spans[:, 0]
    ahead = np.einsum("ikj,ij->ik", points - start, way)
    shares: Floats = np.clip(ahead / np.einsum("ij,ij->i", way, way)[:, None], 0.0, 1.0)
    return shares


def _between(spans: Floats, low: Floats, high: Floats) -> Floats:
    way = spans[:, 1] - spans[:, 0]
    return np.stack([spans[:, 0] + low[:, None] * way, spans[:, 0] + high[:, None] * way], axis=1)
