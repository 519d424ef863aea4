"""The best place for a branch in the open: where three straight trenches are least together."""

from __future__ import annotations

import math
from collections.abc import Sequence

from shapely import LineString, Point

_ROUNDS = 100
_STILL_M = 1e-4


def best_tee(ends: Sequence[Sequence[float]]) -> tuple[float, float]:
    """Return the place from which three straight trenches to three places are least together.

    Parameters
    ----------
    ends : three of (x, y)
        Metres.

    Returns
    -------
    tuple of float
        The place from which all three are seen 120 degrees apart, or the one at which the others are more than that.

    Examples
    --------
    >>> x, y = best_tee([(0.0, 0.0), (2.0, 0.0), (1.0, 1.0)])
    >>> round(x, 5), round(y, 5)
    (1.0, 0.57735)
    """
    weights = []
    for i in range(3):
        (x, y), (x1, y1), (x2, y2) = (ends[(i + j) % 3][:2] for j in range(3))
        near_m, far_m = math.hypot(x1 - x, y1 - y), math.hypot(x2 - x, y2 - y)
        if near_m < 1e-9 or far_m < 1e-9:
            return x, y
        cosine = ((x1 - x) * (x2 - x) + (y1 - y) * (y2 - y)) / (near_m * far_m)
        angle = math.acos(max(-1.0, min(1.0, cosine)))
        if angle >= math.tau / 3:
            return x, y
        weights.append(math.hypot(x2 - x1, y2 - y1) / math.sin(angle + math.pi / 3))
    total = sum(weights)
    return (
        sum(weight * end[0] for weight, end in zip(weights, ends, strict=True)) / total,
        sum(weight * end[1] for weight, end in zip(weights, ends, strict=True)) / total,
    )


def aim(tee: Point, pieces: Sequence[LineString]) -> tuple[float, float]:
    """Return the place from which straight trenches to three straight pieces are least together.

    Parameters
    ----------
    tee : Point
        Where to begin.
    pieces : three of LineString
        Two points each; a piece without length stands for a place.

    Examples
    --------
    Between two places and a wall along y = 0:

    >>> wall = LineString([(-9, 0), (9, 0)])
    >>> places = [LineString([(x, 5), (x, 5)]) for x in (-3, 3)]
    >>> x, y = aim(Point(1, 2), [*places, wall])
    >>> round(x, 2), round(y, 2)
    (0.0, 3.27)
    """
    x, y = tee.x, tee.y
    for _ in range(_ROUNDS):
        before = x, y
        x, y = best_tee([_foot(x, y, piece) for piece in pieces])
        if math.dist(before, (x, y)) < _STILL_M:
            break
    return x, y


def _foot(x: float, y: float, piece: LineString) -> tuple[float, float]:
    (x1, y1), (x2, y2) = piece.coords
    square = (x2 - x1) ** 2 + (y2 - y1) ** 2
    share = ((x - x1) * (x2 - x1) + (y - y1) * (y2 - y1)) / square if square > 0.0 else 0.0
    share = min(max(share, 0.0), 1.0)
    return x1 + share * (x2 - x1), y1 + share * (y2 - y1)
