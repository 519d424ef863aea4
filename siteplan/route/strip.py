"""The work strip: on which side of a trench the spoil pile and the machine find room."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import Literal, NamedTuple

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString
from shapely.geometry.base import BaseGeometry

from siteplan.route.grown import grown
from siteplan.route.keep_off import land_of
from siteplan.site.catalogue import kinds
from siteplan.site.site import Site

SHORT_M = 1.0
"""A shorter gap [m] in the strip is worked round, and a shorter place is no use. Common practice, no source."""

ROUND_A_PLACE_M = 0.9144
"""No pile and no machine stands nearer than this [m] to a well, a trunk or a brook: 3 ft. Common practice, no source."""

_BEARS_A_PILE = ("slab",)
_SLIVER_M2 = 1e-9
_REACH_M = 1e-6

_STEP_RAD = math.radians(5.0)

_Vector = NDArray[np.float64]
Side = Literal["left", "right", "neither"]
_Span = tuple[float, float]


class Fit(NamedTuple):
    """A stretch of a trench, distances [m] along it, and the side of the pile, looking up-station."""

    from_m: float
    to_m: float
    side: Side


class _Room(NamedTuple):
    """Room [m] to one side of the centreline: along a straight, and round the outside of a bend."""

    straight_m: float
    round_m: float


def strip_ground(site: Site) -> BaseGeometry:
    """Return the ground on which a spoil pile may lie and a machine stand.

    All land that may be dug, but for what a trench may never go through (slabs aside) and a yard round wells, trunks and
    other places: no pile and no heavy machine on a septic tank, on an absorption area or its reserve (common practice, no
    source).

    Parameters
    ----------
    site : Site
        In ground metres.
    """
    taken = []
    for feature in site.features:
        if feature.kind == "well" or (
            kinds()[feature.kind].dig == "never" and feature.kind not in _BEARS_A_PILE
        ):
            is_area = feature.shape.area > 0.0
            taken.append(
                feature.shape if is_area else grown(feature.shape, ROUND_A_PLACE_M, corners="inside")
            )
    return land_of(site).difference(shapely.union_all(taken))


def strip_fits(
    line: LineString,
    open_ground: BaseGeometry,
    pile_m: float,
    machine_m: float,
    *,
    half_top_m: float,
    back_m: float,
) -> tuple[Fit, ...]:
    """Find where along a trench the pile and the machine fit, and on which side the pile lies.

    The machine straddles the trench as it digs. Where it is too wide for that beside the pile, it stands over towards the
    other side, its near track at the toe of the pile (common practice, no source). Round the outside of a bend, where no dirt
    of its own comes to lie, the pile takes room up to its ridge: its outer foot has more than it needs there (own choice). Of
    the sides that fit, the pile stays on one as long as it can.

    Parameters
    ----------
    line : LineString
        Centreline, ground metres.
    open_ground : shapely geometry
        Where a pile may lie and a machine stand, as ``strip_ground`` gives it.
    pile_m, machine_m : float
        Width of the pile at its foot and of the machine [m], 0 or more.
    half_top_m : float
        Half the width [m] of the trench at the ground.
    back_m : float
        Distance [m] from the edge of the trench to the pile.

    Returns
    -------
    tuple of Fit
        From 0 to the length of the line, in order. A stretch without room shorter than ``SHORT_M`` is left out.

    Examples
    --------
    A strip of 13 ft to the left and 4 ft to the right, for a ditch of 2 ft with a pile of 9 ft, and a machine of 6 ft.

    >>> ft = 0.3048
    >>> yard = shapely.box(0, -4 * ft, 30, 13 * ft)
    >>> strip_fits(LineString([(0, 0), (30, 0)]), yard, 9 * ft, 6 * ft, half_top_m=ft, back_m=2 * ft)
    (Fit(from_m=0.0, to_m=30.0, side='left'),)
    """
    shapely.prepare(open_ground)
    toe_m = half_top_m + back_m
    pile_side_m = toe_m + pile_m
    machine_m = machine_side_m(half_top_m, back_m=back_m, machine_m=machine_m)
    pile, machine = _Room(pile_side_m, toe_m + pile_m / 2), _Room(machine_m, machine_m)
    shut: dict[Side, list[_Span]] = {
        "left": _shut(line, open_ground, pile, machine),
        "right": _shut(line, open_ground, machine, pile),
    }
    return tuple(_chosen(shut, float(line.length)))


def machine_side_m(half_top_m: float, *, back_m: float, machine_m: float) -> float:
    """Return the room [m] that trench and machine take from the centreline on the side without the pile.

    Parameters
    ----------
    half_top_m, back_m, machine_m : float
        As for ``strip_fits``.

    Examples
    --------
    Half a machine of 6 ft that straddles a ditch of 2 ft; one of 8 ft stands with its track at the toe of the pile, 3 ft off.

    >>> machine_side_m(1.0, back_m=2.0, machine_m=6.0), machine_side_m(1.0, back_m=2.0, machine_m=8.0)
    (3.0, 5.0)
    """
    return max(half_top_m, machine_m / 2, machine_m - half_top_m - back_m)


def _shut(line: LineString, open_ground: BaseGeometry, on_left: _Room, on_right: _Room) -> list[_Span]:
    """Stretches on which a strip of so much to the left and to the right does not lie in the open ground."""
    places = shapely.get_coordinates(line)
    steps = np.diff(places, axis=0)
    lengths_m = np.hypot(steps[:, 0], steps[:, 1])
    along = steps / lengths_m[:, None]
    starts_m = [0.0, *np.cumsum(lengths_m).tolist()]
    left = np.stack((-along[:, 1], along[:, 0]), axis=1)
    to_left, to_right = left * on_left.straight_m, left * on_right.straight_m
    here, there = places[:-1], places[1:]
    strips = shapely.polygons(
        np.stack((here + to_left, there + to_left, there - to_right, here - to_right), axis=1)
    )
    found: list[_Span] = []
    for leg, low_m, high_m in _taken(strips, open_ground, here, along):
        found.append((starts_m[leg] + low_m, starts_m[leg] + high_m))
    bends = [
        _outer_wedge(bend, before, after, on_left.round_m, on_right.round_m)
        for bend, (before, after) in zip(places[1:-1], pairwise(along), strict=True)
    ]
    wedges = np.array([wedge for wedge, _ in bends], dtype=object)
    across = np.reshape([each for _, each in bends], (-1, 2))
    for bend, low_m, high_m in _taken(wedges, open_ground, places[1:-1], across):
        at_m, half_m = starts_m[bend + 1], (high_m - low_m) / 2
        found.append((max(at_m - half_m, 0.0), min(at_m + half_m, float(line.length))))
    return _joined([span for span in _joined(found, _REACH_M) if span[1] - span[0] >= SHORT_M], SHORT_M)


def _taken(
    strips: NDArray[np.object_], open_ground: BaseGeometry, origins: _Vector, along: _Vector
) -> Iterator[tuple[int, float, float]]:
    """Give the number of a strip, and from where to where in its direction each part of it reaches that is not open."""
    shut = np.flatnonzero(~shapely.covers(open_ground, strips))
    parts, strip = shapely.get_parts(shapely.difference(strips[shut], open_ground), return_index=True)
    for part, number in zip(parts, shut[strip].tolist(), strict=True):
        if part.area > _SLIVER_M2:
            reached = (shapely.get_coordinates(part) - origins[number]) @ along[number]
            yield number, float(reached.min()), float(reached.max())


def _outer_wedge(
    bend: _Vector, before: _Vector, after: _Vector, left_m: float, right_m: float
) -> tuple[BaseGeometry, _Vector]:
    """Return the ground round the outside of a bend, between the strips of its two straights, and the direction across it.

    What is in the way takes as much of the strip as it is wide, half before the bend and half behind it (own choice).
    """
    turn_rad = math.atan2(before[0] * after[1] - before[1] * after[0], before @ after)
    outer, out_m = (-1.0, right_m) if turn_rad > 0.0 else (1.0, left_m)
    along_rad = math.atan2(before[1], before[0])
    arc_rad = along_rad + outer * math.pi / 2 + np.linspace(0.0, turn_rad, 2 + int(abs(turn_rad) / _STEP_RAD))
    arc = bend + out_m * np.column_stack((np.cos(arc_rad), np.sin(arc_rad)))
    across_rad = along_rad + turn_rad / 2
    wedge = shapely.polygons(np.vstack((bend, arc)))
    return wedge, np.array([math.cos(across_rad), math.sin(across_rad)])


def _joined(spans: Sequence[_Span], gap_m: float) -> list[_Span]:
    """Stretches in order, those made one that overlap or lie less than so far apart."""
    joined: list[_Span] = []
    for from_m, to_m in sorted(spans):
        if joined and from_m < joined[-1][1] + gap_m:
            joined[-1] = (joined[-1][0], max(joined[-1][1], to_m))
        else:
            joined.append((from_m, to_m))
    return joined


def _chosen(shut: dict[Side, list[_Span]], length_m: float) -> list[Fit]:
    """Go along the trench, and change sides as late as can be: that is the fewest times."""
    found: list[Fit] = []
    at_m = 0.0
    while at_m < length_m - _REACH_M:
        open_to_m = {side: _open_to(spans, at_m, length_m) for side, spans in shut.items()}
        side: Side = max(open_to_m, key=lambda one: (open_to_m[one], one == "left"))
        to_m = open_to_m[side]
        if to_m <= at_m + _REACH_M:
            side = "neither"
            to_m = min(
                next(end for begin, end in spans if begin - _REACH_M <= at_m < end - _REACH_M)
                for spans in shut.values()
            )
        found.append(Fit(at_m, min(to_m, length_m), side))
        at_m = to_m
    return found


def _open_to(spans: Sequence[_Span], at_m: float, length_m: float) -> float:
    """Up to where a side is open from here; not beyond here where it is shut."""
    for begin, end in spans:
        if end > at_m + _REACH_M:
            return max(min(begin, length_m), at_m)
    return length_m
