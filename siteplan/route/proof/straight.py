"""What a straight piece of trench from one cell to another costs at least.

*Length.* The distance of x in one cell from y in another is convex in both; its mean over the corners x_i,
y_j exceeds it by at most e = (R^2 + S^2) / (2 d), with R and S the radii of the enclosing circles and d the
gap between these. So the corner distances less e may be interpolated; so may d itself at all corners; and so
may the corner distances along any one direction, which are linear. One of the three is taken for a pair of
cells, the highest on average. (The highest at each corner would not do.)

*Crossing.* Neither cell straddles an axis. Between two segments from cell to cell, move one to the other: how
often it crosses the axis changes by two, but where it passes an end of the axis, which then lies in the hull
of the two cells. So if no end does, and the segment between the middles crosses an odd number of times, every
segment crosses at least once and the toll is due.

*Angle.* If every segment crosses, and the directions of all corner segments are too flat, on the same side,
for every piece of the axis that can be met, then so are all directions between, and no straight piece of a
trench joins the cells.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString

from siteplan.route.proof.sightlines import Floats, Ints
from siteplan.route.scene import Crossed, Scene

_ON_AXIS_M = 1e-5
_HALF_TURN = math.pi + 1e-6
_ANGLE = 1e-9

Flags = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, kw_only=True)
class Axis:
    """One unbranched line that is crossed.

    Attributes
    ----------
    at : ndarray
        (n, 2): its corners, metres.
    toll : float
        For each crossing.
    flattest : float
        Cosine of the least angle, more than 1 if any will do.
    crossed : Crossed
        What it is a line of.
    """

    at: Floats
    toll: float
    flattest: float
    crossed: Crossed


def axes_of(scene: Scene) -> list[Axis]:
    """Return the lines that are crossed one by one; an angle is kept if the zone covers the axis on the free ground."""
    found = []
    for line in scene.crossed:
        for part in shapely.get_parts(line.axis):
            at = shapely.get_coordinates(part)
            kept = np.concatenate([[True], np.linalg.norm(np.diff(at, axis=0), axis=1) > 1e-9])
            bound = line.least_angle_deg > 0.0 and line.zone.buffer(1e-6).covers(
                part.intersection(scene.free)
            )
            flattest = math.cos(math.radians(line.least_angle_deg)) + _ANGLE if bound else 2.0
            if kept.sum() > 1:
                found.append(Axis(at=at[kept], toll=line.toll.price, flattest=flattest, crossed=line))
    return found


@dataclass(frozen=True, slots=True, kw_only=True)
class Lengths:
    """Least lengths between pairs of cells.

    Attributes
    ----------
    at_corners : ndarray
        (3, 3, pairs), metres: by corner of the first and of the second cell; may be interpolated.
    lost_m : ndarray
        (2, pairs): the share of the first and of the second cell in the error.
    """

    at_corners: Floats
    lost_m: Floats


def least_lengths(triangles: Floats, centre: Floats, radius: Floats, one: Ints, other: Ints) -> Lengths:
    """Return the least lengths between pairs of cells.

    Parameters
    ----------
    triangles, centre, radius : ndarray
        (n, 3, 2), (n, 2), (n,): the cells and their enclosing circles.
    one, other : ndarray of int
        (pairs,): the cells.

    Examples
    --------
    >>> cells = np.zeros((2, 3, 2))
    >>> cells[1] = 3.0, 4.0
    >>> least_lengths(cells, cells[:, 0], np.zeros(2), np.array([0]), np.array([1])).at_corners[0, :, 0].tolist()
    [5.0, 5.0, 5.0]
    """
    x, y = triangles[..., 0].T, triangles[..., 1].T
    way_x = x[None, :, other] - x[:, None, one]
    way_y = y[None, :, other] - y[:, None, one]
    middle = centre[other] - centre[one]
    apart = np.maximum(np.hypot(*middle.T), 1e-9)
    gap = np.maximum(apart - radius[one] - radius[other], 0.0)
    wide = np.stack([radius[one], radius[other]])
    lost = np.minimum(wide**2 / (2.0 * np.maximum(gap, 1e-9)), wide)
    best = np.hypot(way_x, way_y) - lost.sum(axis=0)
    mean = best.mean(axis=(0, 1))
    along = (middle[:, 0] * way_x + middle[:, 1] * way_y) / apart
    for choice in (along, np.broadcast_to(gap, along.shape)):
        average = choice.mean(axis=(0, 1))
        best = np.where(average > mean, choice, best)
        mean = np.maximum(mean, average)
    return Lengths(at_corners=best, lost_m=lost)


def tolls(axes: list[Axis], triangles: Floats, one: Ints, other: Ints, exempt: Flags) -> Floats:
    """Return the tolls due on every straight piece between pairs of cells; infinite where none may be laid.

    Parameters
    ----------
    axes : list of Axis
        What is crossed.
    triangles : ndarray
        (n, 3, 2): the cells.
    one, other : ndarray of int
        (pairs,).
    exempt : ndarray of bool
        (axes, pairs): whether the angle does not matter for the pair.

    Examples
    --------
    >>> from siteplan.route.scene import Charge
    >>> axis = LineString([(0, 5), (9, 5)])
    >>> line = Crossed(feature="gas", axis=axis, zone=axis.buffer(1), toll=Charge(row="", price=7.0), least_angle_deg=45)
    >>> cells = np.array([[[4.0, 0.0]] * 3, [[4.0, 9.0]] * 3, [[4.5, 5.2]] * 3, [[0.0, 4.8]] * 3])
    >>> pairs = np.array([0, 0, 2]), np.array([1, 3, 3])
    >>> none = Charge(row="", price=0.0)
    >>> scene = Scene(free=shapely.box(0, 0, 9, 9), dig=none, restore=none, crossed=(line,))
    >>> tolls(axes_of(scene), cells, *pairs, np.zeros((1, 3), bool)).tolist()
    [7.0, 0.0, inf]
    """
    due = np.zeros(len(one))
    middle = triangles.mean(axis=1)
    for axis, free in zip(axes, exempt, strict=True):
        sure = shapely.distance(LineString(axis.at), shapely.points(middle)) > _ON_AXIS_M
        odd = sure[one] & sure[other] & _crosses_oddly(axis.at, middle[one], middle[other])
        pairs = np.flatnonzero(odd)
        for end in axis.at[[0, -1]] if (axis.at[0] != axis.at[-1]).any() else ():
            hulls = np.concatenate([triangles[one[pairs]], triangles[other[pairs]]], axis=1)
            pairs = pairs[_outside(hulls, end)]
        due[pairs] += axis.toll
        if axis.flattest <= 1.0:
            bound = pairs[~free[pairs]]
            due[bound[_too_flat(axis, triangles[one[bound]], triangles[other[bound]])]] = np.inf
    return due


def _crosses_oddly(axis: Floats, start: Floats, end: Floats) -> Flags:
    """Tell which segments cross a polyline an odd number of times; none of their ends is on it."""
    way = (end - start).T
    beside = way[0] * (axis[:, 1, None] - start[:, 1]) - way[1] * (axis[:, 0, None] - start[:, 0]) >= 0.0
    odd = np.zeros(len(start), bool)
    for k in range(len(axis) - 1):
        x, y = axis[k + 1] - axis[k]
        sides = [x * (at[:, 1] - axis[k, 1]) - y * (at[:, 0] - axis[k, 0]) >= 0.0 for at in (start, end)]
        odd ^= (beside[k] != beside[k + 1]) & (sides[0] != sides[1])
    return odd


def _outside(hulls: Floats, point: Floats) -> Flags:
    """Tell whether a point is clearly outside the hull of each set of points (n, m, 2)."""
    way = hulls - point
    angles = np.sort(np.arctan2(way[..., 1], way[..., 0]), axis=1)
    around = np.concatenate([angles, angles[:, :1] + 2.0 * math.pi], axis=1)
    near = (np.hypot(way[..., 0], way[..., 1]) < _ON_AXIS_M).any(axis=1)
    outside: Flags = (np.diff(around, axis=1).max(axis=1) > _HALF_TURN) & ~near
    return outside


def _too_flat(axis: Axis, one: Floats, other: Floats) -> Flags:
    """Tell for which pairs of cells (n, 3, 2) all directions are too flat for every piece of an axis they can meet."""
    way = (other[:, None, :] - one[:, :, None]).reshape(-1, 9, 2)
    way = way / np.maximum(np.linalg.norm(way, axis=2), 1e-12)[..., None]
    both = np.concatenate([one, other], axis=1)
    low, high = both.min(axis=1), both.max(axis=1)
    flat = np.ones(len(one), bool)
    for start, end in zip(axis.at[:-1], axis.at[1:], strict=True):
        met = ((np.minimum(start, end) <= high) & (np.maximum(start, end) >= low)).all(axis=1)
        cosine = way @ ((end - start) / math.dist(start, end))
        flat &= ~met | (cosine > axis.flattest).all(axis=1) | (cosine < -axis.flattest).all(axis=1)
    return flat
