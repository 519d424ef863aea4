"""Tolls as metres on the shortest way, and the corners of the lines that are crossed."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString
from shapely.geometry.base import BaseGeometry

from siteplan.route.proof.sightlines import Floats
from siteplan.route.proof.straight import Axis

Flags = NDArray[np.bool_]

BESIDE_M = 1e-4
"""How far [m] beside an axis a place on it is looked at from."""

_SAME_M = 1e-6


class Tolls:
    """What crossing costs, as metres.

    Parameters
    ----------
    axes : sequence of Axis
        No end of the trench is on one of them.
    metre : float
        Price of a metre, more than 0.

    Examples
    --------
    >>> axis = Axis(at=np.array([[0.0, 5.0], [9.0, 5.0]]), toll=6.0, flattest=2.0, crossed=None)
    >>> Tolls([axis], 2.0).between(np.array([[1.0, 0.0], [10.0, 0.0]]), np.array([[1.0, 9.0], [10.0, 9.0]])).tolist()
    [3.0, 0.0]
    """

    def __init__(self, axes: Sequence[Axis], metre: float) -> None:
        self._pieces = [
            (tail, head, axis.toll / metre)
            for axis in axes
            for tail, head in zip(axis.at[:-1], axis.at[1:], strict=True)
        ]

    def between(self, start: Floats, end: Floats) -> Floats:
        """Return the tolls [m] on the straight way from each place (n, 2) to another."""
        due = np.zeros(len(start))
        for tail, head, toll in self._pieces:
            due += toll * _crossed(tail, head, start, end)
        return due

    def all_between(self, start: Floats, ends: Floats) -> Floats:
        """Return the tolls (n, m) due on every straight way from places (n, 2) to segments (m, 2, 2)."""
        due = np.zeros((len(start), len(ends)))
        walls = (ends[:, 0] != ends[:, 1]).any(axis=1)
        for tail, head, toll in self._pieces:
            crossed = _crossed(tail, head, start[:, None], ends[None, :, 0])
            crossed[:, walls] &= _crossed(tail, head, start[:, None], ends[None, walls, 1])
            due += toll * crossed
        return due


def _crossed(tail: Floats, head: Floats, start: Floats, end: Floats) -> Flags:
    """Tell which segments (..., 2) cross the piece from tail to head; through a corner of an axis, one of its two pieces."""
    x, y = head - tail
    from_start = x * (start[..., 1] - tail[1]) - y * (start[..., 0] - tail[0])
    from_end = x * (end[..., 1] - tail[1]) - y * (end[..., 0] - tail[0])
    way_x, way_y = end[..., 0] - start[..., 0], end[..., 1] - start[..., 1]
    from_tail = way_x * (tail[1] - start[..., 1]) - way_y * (tail[0] - start[..., 0])
    from_head = way_x * (head[1] - start[..., 1]) - way_y * (head[0] - start[..., 0])
    crossed: Flags = (from_start * from_end < 0.0) & ((from_tail >= 0.0) != (from_head >= 0.0))
    return crossed


def axis_corners(axes: Sequence[Axis], ground: BaseGeometry) -> tuple[Floats, Floats]:
    """Return the ends, corners and meeting points of axes on the ground, once for each side of the lines there.

    Returns
    -------
    at, beside : ndarray
        (n, 2): the corners, and each moved ``BESIDE_M`` to one side.

    Examples
    --------
    One end of a line is on the ground, and has one side.

    >>> axis = Axis(at=np.array([[-1.0, 5.0], [4.0, 5.0]]), toll=6.0, flattest=2.0, crossed=None)
    >>> [side.round(4).tolist() for side in axis_corners([axis], shapely.box(0, 0, 9, 9))]
    [[[4.0, 5.0]], [[4.0001, 5.0]]]
    """
    lines = [LineString(axis.at) for axis in axes]
    noded = shapely.get_parts(shapely.node(shapely.MultiLineString(lines))) if lines else []
    pieces = [shapely.get_coordinates(part) for part in noded]
    points = np.unique(np.concatenate([np.zeros((0, 2)), *pieces]), axis=0)
    points = points[shapely.dwithin(ground, shapely.points(points), _SAME_M)]
    at, beside = [np.zeros((0, 2))], [np.zeros((0, 2))]
    spans = [(one, other) for piece in pieces for one, other in pairwise(piece)]
    for point in points:
        arms = [
            math.atan2(*(there - here)[::-1])
            for span in spans
            for here, there in (span, span[::-1])
            if math.dist(here, point) < _SAME_M
        ]
        arms = sorted(arms)
        for arm, following in zip(arms, [*arms[1:], arms[0] + 2.0 * math.pi], strict=True):
            middle = (arm + following) / 2.0
            at.append(point[None])
            beside.append(point[None] + BESIDE_M * np.array([[math.cos(middle), math.sin(middle)]]))
    return np.concatenate(at), np.concatenate(beside)
