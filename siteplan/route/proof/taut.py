"""The length of the shortest way to an end, at every place and from below over every cell.

*At a place.* The shortest line from a place to an end is straight or goes straight to a corner of the ground
first. To a piece of wall it is no shorter than the straight distance, and it cannot be straight if one
blocker cuts the segments to both ends of that piece (shadow lemma, ``sightlines``).

*Tolls.* A line that is to cross an axis there and not here is straight where it crosses and bends round the
corners of the axes, their ends and where they meet, too; on which side it passes them is told by looking from
a little beside (``taut_tolls``).

*Over a cell.* Let d be the shortest length, x a point of a triangle and x the mean of its corners c by the
weights m_c. Pull the string that runs from x to the end along x -> c without lifting it over an obstacle: its
length g is convex along the way, g(x) = d(x), d(c) <= g(c), and its slope turns steadily, because the string
winds on and off corners in line, and it crosses no more axes than the line it was. Where the first corner (or
the foot on a wall) is o, the second derivative of g is that of h_o = |. - o|. So

    d(c) <= d(x) + p.(c - x) + sum over o of [h_o(c) - h_o(x) - grad h_o(x).(c - x)],

with one p for all c, and the mean over the corners is at most d(x) plus the interpolation errors of the h_o.
For all o that are no corners of the cell together, at least ``near`` away, that is R^2 / (2 near), R the
radius of the enclosing circle (the mean of |c - x|^2 is at most R^2). For a corner o of the cell itself h_o
is a cone, linear along rays from o: its error is largest on the opposite side bc, at most |bc|^2 / (8 h), h
the distance from o to bc. And never more than R, because d changes by no more than the way.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import scipy.sparse
import shapely
from numpy.typing import NDArray
from scipy.sparse.csgraph import dijkstra
from scipy.spatial import KDTree
from shapely.geometry.base import BaseGeometry

from siteplan.route.proof.places import Places
from siteplan.route.proof.sightlines import Floats, Ints
from siteplan.route.proof.taut_tolls import Tolls

_SAME_M = 1e-7
_LOOKED_AT = 8
_STRAIGHT_M2 = 1e-12
_LEAST_M = 1e-9


def bend_corners(ground: BaseGeometry) -> Floats:
    """Return the corners (n, 2) of the ground round which a tight line can bend.

    Examples
    --------
    >>> bend_corners(shapely.box(0, 0, 9, 9).difference(shapely.box(0, 0, 4, 3))).tolist()
    [[4.0, 3.0]]
    """
    found = [np.zeros((0, 2))]
    for part in shapely.get_parts(shapely.orient_polygons(ground)):
        for ring in (part.exterior, *part.interiors):
            at = shapely.get_coordinates(ring)[:-1]
            come, go = at - np.roll(at, 1, axis=0), np.roll(at, -1, axis=0) - at
            found.append(at[come[:, 0] * go[:, 1] - come[:, 1] * go[:, 0] < -_STRAIGHT_M2])
    return np.unique(np.concatenate(found), axis=0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Corners:
    """What the shortest lines bend round: corners of the ground, and of the axes, these once for every side.

    Attributes
    ----------
    places : ndarray of int
        (n,).
    beside : ndarray
        (n, 2): where they are looked at from, a little off the axes.
    """

    places: Ints
    beside: Floats


class TautWays:
    """Shortest lengths to one end, each toll counted as metres.

    Parameters
    ----------
    places : Places
        Where the corners and the pieces of the end are among.
    corners : Corners
        What lines bend round.
    seen : ndarray of int
        (2, m): the pairs of corners, by their order, that see each other.
    pieces : ndarray of int
        (k, 2): the ends of the straight pieces of the end; a point is a piece with both ends alike.
    tolls : Tolls
        What is due on the way.
    """

    def __init__(self, places: Places, corners: Corners, seen: Ints, pieces: Ints, tolls: Tolls) -> None:
        self._places, self._tolls = places, tolls
        count = len(corners.places)
        self._over = np.concatenate([np.stack([corners.places, corners.places], axis=1), pieces])
        self._beside = np.concatenate([np.stack([corners.beside] * 2, axis=1), places.at[pieces]])
        self._onward = np.concatenate([np.full(count, np.inf), np.zeros(len(pieces))])
        direct = np.maximum(self.at(corners.places, corners.beside), _LEAST_M / 1e3)
        known = np.flatnonzero(np.isfinite(direct))
        one, other = seen
        way = places.length_m(corners.places[one], corners.places[other])
        way += tolls.between(corners.beside[one], corners.beside[other])
        rows, columns = np.concatenate([one, np.full(len(known), count)]), np.concatenate([other, known])
        ways = np.concatenate([np.maximum(way, _LEAST_M / 1e3), direct[known]])
        graph = scipy.sparse.csr_matrix((ways, (rows, columns)), shape=(count + 1,) * 2)
        self._onward[:count] = dijkstra(graph, directed=False, indices=count)[:-1]

    def at(self, places: Ints, beside: Floats) -> Floats:
        """Return the shortest lengths [m], or a little less to walls; infinite where there is no way.

        Parameters
        ----------
        places : ndarray of int
            (n,).
        beside : ndarray
            (n, 2): the same places, moved off the axes to the side on which they are asked for.
        """
        ends = self._places.at[self._over]
        onward = np.flatnonzero(np.isfinite(self._onward))
        away = _to_segments(self._places.at[places], ends[onward]) + self._onward[onward]
        away += self._tolls.all_between(beside, self._beside[onward])
        order = np.argsort(away, axis=1, kind="stable")
        away = np.take_along_axis(away, order, axis=1)
        order = onward[order]
        found = np.full(len(places), np.inf)
        todo, first, count = np.arange(len(places)), 0, 2
        while len(todo) and first < len(onward):
            looked = order[todo, first : first + count]
            width = looked.shape[1]
            flat = np.repeat(places[todo], width)
            one, other = self._over[looked.reshape(-1)].T
            shared = self._places.cut(flat, one)
            walls = np.flatnonzero(one != other)
            shared[walls] &= self._places.cut(flat[walls], other[walls])
            clear = (shared == 0).all(axis=1).reshape(-1, width)
            seen = clear.any(axis=1)
            found[todo[seen]] = away[todo[seen], first + clear.argmax(axis=1)[seen]]
            todo, first, count = todo[~seen], first + count, 2 * count
        return found


def _to_segments(points: Floats, segments: Floats) -> Floats:
    """Return the distances (n, m) of points (n, 2) from segments (m, 2, 2)."""
    start, way = segments[None, :, 0], (segments[:, 1] - segments[:, 0])[None]
    off = points[:, None] - start
    share = (off * way).sum(axis=2) / np.maximum((way * way).sum(axis=2), 1e-18)
    foot = off - np.clip(share, 0.0, 1.0)[..., None] * way
    away: Floats = np.hypot(foot[..., 0], foot[..., 1])
    return away


def taut_errors_m(triangles: Floats, centre: Floats, radius: Floats, corners: Floats, end: Floats) -> Floats:
    """Return by how much [m] the mean of lengths at the corners of a cell can exceed the length in it.

    Parameters
    ----------
    triangles, centre, radius : ndarray
        (n, 3, 2), (n, 2), (n,): the cells and their enclosing circles.
    corners : ndarray
        (m, 2): corners of the ground.
    end : ndarray
        (k, 2, 2): the pieces of the end.

    Examples
    --------
    A cell of 2 m, alone and with a corner of the ground for one of its own: 2^2 / (8 sqrt 3) more.

    >>> cell = np.array([[[0, 0], [2, 0], [1, 3**0.5]]])
    >>> circle = np.array([[1, 3**-0.5]]), np.array([2 * 3**-0.5])
    >>> end = np.full((1, 2, 2), 100.0)
    >>> errors = [taut_errors_m(cell, *circle, corner, end) for corner in (np.full((1, 2), -50.0), np.zeros((1, 2)))]
    >>> [round(float(error[0]), 3) for error in errors]
    [0.009, 0.293]
    """
    near = np.maximum(_to_segments(centre, end).min(axis=1) - radius, 0.0)
    cones = np.zeros(len(triangles))
    if len(corners):
        count = min(_LOOKED_AT, len(corners))
        away, which = KDTree(corners).query(centre, k=np.arange(1, count + 1))
        if count < len(corners):
            near = np.minimum(near, np.maximum(away[:, -1] - radius, 0.0))
        for k in range(count):
            corner = corners[which[:, k]]
            own = np.linalg.norm(triangles - corner[:, None], axis=2) < _SAME_M
            is_own = own.any(axis=1)
            to_corner = _to_triangle(triangles, corner)
            near = np.where(is_own, near, np.minimum(near, to_corner))
            cones[is_own] += _cone_errors(triangles[is_own], own[is_own].argmax(axis=1))
    errors: Floats = np.minimum(radius, radius**2 / (2.0 * np.maximum(near, _LEAST_M)) + cones)
    return errors


def _cone_errors(triangles: Floats, tip: Ints) -> Floats:
    """Return how far the distance from a corner of each triangle is below its mean over the corners, at most."""
    each = np.arange(len(triangles))
    o, b, c = (triangles[each, (tip + k) % 3] for k in range(3))
    height = _paired(o, b, c)
    side2 = ((c - b) ** 2).sum(axis=1)
    errors: Floats = side2 / (8.0 * np.maximum(height, _LEAST_M))
    return errors


def _paired(points: Floats, start: Floats, end: Floats) -> Floats:
    """Return the distance of each point (n, 2) from its own segment."""
    way, off = end - start, points - start
    share = np.clip((off * way).sum(axis=1) / np.maximum((way * way).sum(axis=1), 1e-18), 0.0, 1.0)
    away: Floats = np.linalg.norm(off - share[:, None] * way, axis=1)
    return away


def _to_triangle(triangles: Floats, points: Floats) -> Floats:
    """Return the distance of each point from its own triangle, 0 inside."""
    sides = [(triangles[:, k], triangles[:, (k + 1) % 3]) for k in range(3)]
    away: Floats = np.min([_paired(points, *side) for side in sides], axis=0)
    turns: list[NDArray[np.float64]] = []
    for start, end in sides:
        way, off = end - start, points - start
        turns.append(way[:, 0] * off[:, 1] - way[:, 1] * off[:, 0])
    inside = (np.min(turns, axis=0) > 0.0) | (np.max(turns, axis=0) < 0.0)
    return np.where(inside, 0.0, away)
