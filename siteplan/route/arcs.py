"""Bends as the pipe can lie: each corner of a trench eased into a circular arc of the least radius that the products take.

A simple circular curve: with the radius R and the deflection D, the tangent is T = R tan(D/2), the arc L = R D, and the
middle of the arc lies E = R (sec(D/2) - 1) inside of the corner.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import atan2, ceil, copysign, cos, degrees, hypot, radians, sqrt, tan

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, Point
from shapely.geometry.base import BaseGeometry

Places = NDArray[np.float64]

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
    for _ in radii_m:
        path = _swept_together(path, room)
    for _ in range(_ROUNDS):
        for at in range(len(path.bends)):
            path = _moved_out(path, at, room)
    arcs = path.arcs()
    lost = {at for at in range(len(arcs)) if not _lies(path, at, room)} | _overlapping(path)
    kept = {at: arc for at, arc in enumerate(arcs) if at not in lost and _is_bent(arc)}
    return EasedLine(
        arcs=tuple(kept.values()),
        tight=tuple(number for at in sorted(lost) for number in path.bends[at].numbers),
        shape=_drawn(path, kept),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Bend:
    numbers: tuple[int, ...]
    corner: Places
    radius_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class _Path:
    """A line as its bends."""

    start: Places
    bends: tuple[_Bend, ...]
    end: Places

    def places(self) -> Places:
        """All corners with both ends, shape (n + 2, 2)."""
        return np.stack([self.start, *(bend.corner for bend in self.bends), self.end])

    def arc(self, at: int) -> Arc:
        """Return the arc of one bend, counted from 0."""
        return _arc(self.places()[at : at + 3], self.bends[at])

    def arcs(self) -> list[Arc]:
        """All arcs."""
        return [self.arc(at) for at in range(len(self.bends))]

    def having(self, at: int, bend: _Bend, *, instead_of: int = 1) -> _Path:
        """Return the path with one bend instead of one or more."""
        return replace(self, bends=(*self.bends[:at], bend, *self.bends[at + instead_of :]))


def _swept_together(path: _Path, room: BaseGeometry) -> _Path:
    """The path with the first two bends made one that turn to one side and are too near to each other, if there is room."""
    places, arcs = path.places(), path.arcs()
    for at, (one, other) in enumerate(pairwise(arcs)):
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

    far_m = _FARTHEST * path.arc(at).external_m
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
    arc, places = path.arc(at), path.places()
    along = _along(arc) if _is_bent(arc) else places[at + 1 : at + 2]
    return bool(
        room.covers(LineString(np.concatenate([places[at : at + 1], along, places[at + 2 : at + 3]])))
    )


def _run(places: Places, leg: int) -> Places:
    """Direction of the leg that starts at a place, of length 1."""
    along = places[leg + 1] - places[leg]
    direction: Places = along / hypot(*along)
    return direction


def _cross(one: Places, other: Places) -> float:
    return float(one[0] * other[1] - one[1] * other[0])


def _arc(places: Places, bend: _Bend) -> Arc:
    """Ease the middle one of three places."""
    before, after = _run(places, 0), _run(places, 1)
    turn = atan2(_cross(before, after), float(before @ after))
    back_m = tangent_m(bend.radius_m, degrees(turn))
    start, end = places[1] - back_m * before, places[1] + back_m * after
    side = copysign(bend.radius_m, turn)
    return Arc(
        bends=bend.numbers,
        centre=Point(start + side * np.array([-before[1], before[0]])),
        radius_m=bend.radius_m,
        start=Point(start),
        end=Point(end),
        deflection_deg=degrees(turn),
        tangent_m=back_m,
    )


def _is_bent(arc: Arc) -> bool:
    return abs(arc.deflection_deg) > _STRAIGHT_DEG and arc.radius_m > 0.0


def _along(arc: Arc) -> Places:
    """Places along an arc, from tangent to tangent, close enough for ``CHORD_M``."""
    turn = radians(arc.deflection_deg)
    step = sqrt(8 * CHORD_M / arc.radius_m)
    count = max(ceil(abs(turn) / step), 1)
    centre = np.array(arc.centre.coords[0])
    out = np.array(arc.start.coords[0]) - centre
    angles = np.linspace(0.0, turn, count + 1)
    sines, cosines = np.sin(angles), np.cos(angles)
    turned = np.column_stack([out[0] * cosines - out[1] * sines, out[0] * sines + out[1] * cosines])
    along: Places = centre + turned
    return along


def _overlapping(path: _Path) -> set[int]:
    """Bends whose tangents do not go on a leg together with those of the bend at its other end, counted from 0."""
    found: set[int] = set()
    tangents_m = [0.0, *(arc.tangent_m for arc in path.arcs()), 0.0]
    for leg, (here, there) in enumerate(pairwise(path.places())):
        if tangents_m[leg] + tangents_m[leg + 1] > hypot(*(there - here)) + _NEAR_M:
            found.update(end - 1 for end in (leg, leg + 1) if tangents_m[end] > 0.0)
    return found


def _drawn(path: _Path, arcs: dict[int, Arc]) -> LineString:
    corners = [
        _along(arcs[at]) if at in arcs else bend.corner[np.newaxis] for at, bend in enumerate(path.bends)
    ]
    joined = np.concatenate([path.start[np.newaxis], *corners, path.end[np.newaxis]])
    apart = np.append(True, np.hypot(*np.diff(joined, axis=0).T) > _NEAR_M)
    return LineString(joined[apart])
