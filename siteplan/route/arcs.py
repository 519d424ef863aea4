"""Bends as the pipe can lie: each corner of a trench eased into a circular arc of the least radius that the products take.

A simple circular curve: with the radius R and the deflection D, the tangent is T = R tan(D/2), the arc L = R D, and the
middle of the arc lies E = R (sec(D/2) - 1) inside of the corner.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import atan2, ceil, copysign, cos, degrees, hypot, radians, sqrt, tan
from typing import NamedTuple

import numpy as np
import shapely
from shapely import LineString, Point
from shapely.geometry.base import BaseGeometry

from siteplan.route.mesh import Floats

CHORD_M = 0.001
"""The drawn arc lies nowhere farther than this [m] off the true one."""

_NEAR_M = 1e-6
_STRAIGHT_DEG = 1e-6
_ROUNDS = 3
_HALVINGS = 30
_FARTHEST = 4.0
_STEPS = 8
_MOST_MERGED_DEG = 150.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Arc:
    """One bend, eased.

    Attributes
    ----------
    bends : tuple of int
        Numbers of the bends along the line, from 1: one, or several that follow each other and are swept as one.
    centre, start, end : Point
        Ground metres; ``start`` and ``end`` are the points of tangency.
    radius_m : float
    deflection_deg : float
        Positive to the left.
    tangent_m : float
        From either point of tangency to the corner.
    """

    bends: tuple[int, ...]
    centre: Point
    radius_m: float
    start: Point
    end: Point
    deflection_deg: float
    tangent_m: float

    @property
    def length_m(self) -> float:
        """Length [m] along the arc."""
        return self.radius_m * radians(abs(self.deflection_deg))

    @property
    def external_m(self) -> float:
        """Distance [m] from the corner to the middle of the arc."""
        return external_m(self.radius_m, self.deflection_deg)


@dataclass(frozen=True, slots=True, kw_only=True)
class EasedLine:
    """A line with its bends eased.

    Attributes
    ----------
    arcs : tuple of Arc
        In order along the line; none for a bend that is tight.
    tight : tuple of int
        Numbers of the bends, from 1, where no arc of the radius fits: its tangents and those of the next bend do not both
        go on the leg between, or it would cut into what is kept off and there is no room to move the corner out.
    shape : LineString
        The line with its arcs drawn, within ``CHORD_M``; a tight bend is left as it was.
    """

    arcs: tuple[Arc, ...]
    tight: tuple[int, ...]
    shape: LineString


def tangent_m(radius_m: float, deflection_deg: float) -> float:
    """Return the tangent T = R tan(D/2) [m]; less than 180 degrees either way.

    >>> round(tangent_m(2000, 22.62), 1)
    400.0
    """
    return radius_m * tan(radians(abs(deflection_deg)) / 2)


def external_m(radius_m: float, deflection_deg: float) -> float:
    """Return the external distance E = R (sec(D/2) - 1) [m]; less than 180 degrees either way.

    >>> round(external_m(1.0, 90), 4)
    0.4142
    """
    return radius_m * (1 / cos(radians(abs(deflection_deg)) / 2) - 1)


def eased(line: LineString, radii_m: Sequence[float], half_width_m: float, free: BaseGeometry) -> EasedLine:
    """Draw each bend of a trench as an arc.

    An arc lies inside of its corner. As long as it stays in the trench as dug to the corner, or on free ground, nothing
    changes; else the corner is moved out along its bisector until the arc just touches, as far as the ground is free. Bends
    to one side that follow each other too closely for their tangents are swept as one, with the largest of their radii.

    Parameters
    ----------
    line : LineString
        Centreline, ground metres, no two places alike.
    radii_m : sequence of float
        The least radius [m] at each bend, 0 or more: one less than the legs of the line.
    half_width_m : float
        Half the trench [m].
    free : shapely geometry
        Where the centreline may lie; the line lies in it.

    Raises
    ------
    ValueError
        The radii are not as many as the bends, or one is negative.

    Examples
    --------
    >>> corner = LineString([(0, 0), (10, 0), (10, 10)])
    >>> found = eased(corner, [2.0], 0.3, shapely.box(-1, -1, 11, 11))
    >>> round(found.arcs[0].tangent_m, 3), round(found.shape.length, 2), found.tight
    (2.0, 19.14, ())
    """
    places = shapely.get_coordinates(line)
    if len(radii_m) != len(places) - 2 or any(radius_m < 0.0 for radius_m in radii_m):
        raise ValueError("one radius for each bend, none of them negative")
    room = shapely.union_all([free, line.buffer(half_width_m, join_style="mitre")]).buffer(_NEAR_M)
    shapely.prepare(room)
    bends = [
        _Bend(numbers=(number,), corner=places[number], radius_m=radius_m)
        for number, radius_m in enumerate(radii_m, 1)
    ]
    path = _Path(start=places[0], bends=tuple(bends), end=places[-1])
    while (swept := _swept_together(path, room)) is not path:
        path = swept
    for _ in range(_ROUNDS):
        former = path
        for at in range(len(path.bends)):
            path = _moved_out(path, at, room)
        if path is former:
            break
    curves = path.curves()
    lost = {at for at in range(len(curves)) if not _lies(path, at, room)} | _overlapping(path, curves)
    kept = {at: curve for at, curve in enumerate(curves) if at not in lost and curve.is_bent}
    return EasedLine(
        arcs=tuple(curve.arc() for curve in kept.values()),
        tight=tuple(number for at in sorted(lost) for number in path.bends[at].numbers),
        shape=_drawn(path, kept),
    )


class _Curve(NamedTuple):
    """An arc in plain numbers: many are tried for one that is kept; ``turn`` in radians, positive to the left."""

    numbers: tuple[int, ...]
    centre: tuple[float, float]
    radius_m: float
    start: tuple[float, float]
    end: tuple[float, float]
    turn: float
    tangent_m: float

    @property
    def deflection_deg(self) -> float:
        return degrees(self.turn)

    @property
    def is_bent(self) -> bool:
        return abs(self.deflection_deg) > _STRAIGHT_DEG and self.radius_m > 0.0

    def arc(self) -> Arc:
        """Return it as it is told."""
        return Arc(
            bends=self.numbers,
            centre=Point(self.centre),
            radius_m=self.radius_m,
            start=Point(self.start),
            end=Point(self.end),
            deflection_deg=self.deflection_deg,
            tangent_m=self.tangent_m,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Bend:
    numbers: tuple[int, ...]
    corner: Floats
    radius_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class _Path:
    """A line as its bends."""

    start: Floats
    bends: tuple[_Bend, ...]
    end: Floats

    def places(self) -> Floats:
        """All corners with both ends, shape (n + 2, 2)."""
        return np.stack([self.start, *(bend.corner for bend in self.bends), self.end])

    def beside(self, at: int) -> tuple[Floats, Floats, Floats]:
        """Return one bend, counted from 0, and the places before and after it."""
        before = self.bends[at - 1].corner if at else self.start
        after = self.bends[at + 1].corner if at + 1 < len(self.bends) else self.end
        return before, self.bends[at].corner, after

    def curves(self) -> list[_Curve]:
        """Ease all bends."""
        return [_curve(self, at) for at in range(len(self.bends))]

    def having(self, at: int, bend: _Bend, *, instead_of: int = 1) -> _Path:
        """Return the path with one bend instead of one or more."""
        return replace(self, bends=(*self.bends[:at], bend, *self.bends[at + instead_of :]))


def _swept_together(path: _Path, room: BaseGeometry) -> _Path:
    """The path with the first two bends made one that turn to one side and are too near to each other, if there is room."""
    places = path.places()
    for at, (one, other) in enumerate(pairwise(path.curves())):
        leg_m = hypot(*(places[at + 2] - places[at + 1]))
        turn_deg = one.deflection_deg + other.deflection_deg
        if one.tangent_m + other.tangent_m <= leg_m + _NEAR_M or not (
            one.deflection_deg * other.deflection_deg > 0.0 and abs(turn_deg) < _MOST_MERGED_DEG
        ):
            continue
        before, after = _run(places, at), _run(places, at + 2)
        ahead = _cross(places[at + 2] - places[at + 1], after) / _cross(before, after)
        bends = path.bends[at : at + 2]
        merged = _Bend(
            numbers=(*bends[0].numbers, *bends[1].numbers),
            corner=places[at + 1] + ahead * before,
            radius_m=max(bend.radius_m for bend in bends),
        )
        found = path.having(at, merged, instead_of=2)
        if _lies(found, at, room):
            return found
    return path


def _moved_out(path: _Path, at: int, room: BaseGeometry) -> _Path:
    """The path with one corner moved out no farther than its arc needs; as it was if there is no room for that."""
    if _lies(path, at, room):
        return path
    places, bend = path.places(), path.bends[at]
    away = _run(places, at) - _run(places, at + 1)
    away /= hypot(*away)

    def moved(shift_m: float) -> _Path:
        return path.having(at, replace(bend, corner=bend.corner + shift_m * away))

    curve = _curve(path, at)
    far_m = _FARTHEST * external_m(curve.radius_m, curve.deflection_deg)
    step_m = far_m / _STEPS
    open_m = next((m for step in range(1, _STEPS + 1) if _lies(moved(m := step * step_m), at, room)), None)
    if open_m is None:
        return path
    near_m = open_m - step_m
    for _ in range(_HALVINGS):
        middle_m = (near_m + open_m) / 2
        if _lies(moved(middle_m), at, room):
            open_m = middle_m
        else:
            near_m = middle_m
    return moved(open_m)


def _lies(path: _Path, at: int, room: BaseGeometry) -> bool:
    """Tell whether a bend lies in the room with its arc and both its legs."""
    curve, (before, corner, after) = _curve(path, at), path.beside(at)
    along = _along(curve) if curve.is_bent else corner[np.newaxis]
    return bool(room.covers(shapely.linestrings(np.vstack([before, along, after]))))


def _run(places: Floats, leg: int) -> Floats:
    """Direction of the leg that starts at a place, of length 1."""
    along = places[leg + 1] - places[leg]
    direction: Floats = along / hypot(*along)
    return direction


def _cross(one: Floats, other: Floats) -> float:
    return float(one[0] * other[1] - one[1] * other[0])


def _curve(path: _Path, at: int) -> _Curve:
    """Ease one bend, counted from 0."""
    bend, (before, corner, after) = path.bends[at], path.beside(at)
    (from_x, from_y), (x, y), (to_x, to_y) = before.tolist(), corner.tolist(), after.tolist()
    into_x, into_y, out_x, out_y = x - from_x, y - from_y, to_x - x, to_y - y
    into_m, out_m = hypot(into_x, into_y), hypot(out_x, out_y)
    into_x, into_y, out_x, out_y = into_x / into_m, into_y / into_m, out_x / out_m, out_y / out_m
    turn = atan2(into_x * out_y - into_y * out_x, into_x * out_x + into_y * out_y)
    back_m = tangent_m(bend.radius_m, degrees(turn))
    start_x, start_y = x - back_m * into_x, y - back_m * into_y
    side = copysign(bend.radius_m, turn)
    return _Curve(
        numbers=bend.numbers,
        centre=(start_x - side * into_y, start_y + side * into_x),
        radius_m=bend.radius_m,
        start=(start_x, start_y),
        end=(x + back_m * out_x, y + back_m * out_y),
        turn=turn,
        tangent_m=back_m,
    )


def _along(curve: _Curve) -> Floats:
    """Places along an arc, from tangent to tangent, close enough for ``CHORD_M``."""
    step = sqrt(8 * CHORD_M / curve.radius_m)
    count = max(ceil(abs(curve.turn) / step), 1)
    centre = complex(*curve.centre)
    turned = centre + (complex(*curve.start) - centre) * np.exp(1j * np.linspace(0.0, curve.turn, count + 1))
    along: Floats = np.stack([turned.real, turned.imag], axis=1)
    return along


def _overlapping(path: _Path, curves: Sequence[_Curve]) -> set[int]:
    """Bends whose tangents do not go on a leg together with those of the bend at its other end, counted from 0."""
    found: set[int] = set()
    tangents_m = [0.0, *(curve.tangent_m for curve in curves), 0.0]
    for leg, (here, there) in enumerate(pairwise(path.places())):
        if tangents_m[leg] + tangents_m[leg + 1] > hypot(*(there - here)) + _NEAR_M:
            found.update(end - 1 for end in (leg, leg + 1) if tangents_m[end] > 0.0)
    return found


def _drawn(path: _Path, curves: dict[int, _Curve]) -> LineString:
    corners = [
        _along(curves[at]) if at in curves else bend.corner[np.newaxis] for at, bend in enumerate(path.bends)
    ]
    joined = np.concatenate([path.start[np.newaxis], *corners, path.end[np.newaxis]])
    apart = np.append(True, np.hypot(*np.diff(joined, axis=0).T) > _NEAR_M)
    return LineString(joined[apart])
