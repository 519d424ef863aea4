"""Corners to tape from, and the two best tapes to each point of the trench."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from math import dist, floor, hypot, radians, sin

import numpy as np
import shapely
from numpy.typing import NDArray

from siteplan.measure.along import SHORT_M
from siteplan.measure.model import Corner
from siteplan.measure.said import Said
from siteplan.plane.corners import LEAST_CROSSING_DEG, named_corners
from siteplan.site.features import Feature
from siteplan.site.site import Site

ONE_TAPE_M = 30.48
"""A tape of 100 ft. Common practice, no source."""

LONG_TAPE_M = 60.96
"""A tape of 200 ft, taken where no good pair is within one tape. Common practice, no source."""

MIRROR_M = 0.3
"""Two tapes fit two places, either side of the line through their corners; a third that differs so much [m] tells which."""

_STAKE = "stake"
_SHORTEST_M = 0.3

Ties = tuple[tuple[str, float], ...]
Offsets = list[tuple[float, float]]
"""From a place to each corner [m]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tie:
    """One tape: the name of what it is held to, where that is [ground m], and its length [m]."""

    name: str
    x: float
    y: float
    tape_m: float


def corners(site: Site) -> tuple[Corner, ...]:
    """Points to tape from: well casings, corners of buildings that stand, and stakes of buildings to come.

    A corner is named by the side of the building it is on.
    """
    found = [
        Corner(name=Said("{name} casing", name=well.name), x=well.shape.centroid.x, y=well.shape.centroid.y)
        for well in site.of_kind("well")
    ]
    for building in site.of_kind("building"):
        if building.status != "abandoned":
            found += _corners_of(building)
    return tuple(found)


class Tapes:
    """Chooses tapes; buildings stand in the way of some.

    Parameters
    ----------
    corners : tuple of Corner
        Points to tape from, as ``corners`` names them.
    """

    def __init__(self, site: Site, corners: tuple[Corner, ...]) -> None:
        self._corners = corners
        self._places = np.array([(corner.x, corner.y) for corner in corners]).reshape(-1, 2)
        self._stands = np.array([_STAKE not in corner.name for corner in corners], dtype=bool)
        stands = [building.shape for building in site.of_kind("building") if building.status != "abandoned"]
        self._walls = shapely.buffer(np.array(stands, dtype=object), -0.01)  # a tape may lie along a wall
        shapely.prepare(self._walls)

    def ties(self, x: float, y: float) -> Ties:
        """Return the two tapes that cross best at a place, the shorter first; one or none where no more can be seen.

        What stands and is within one tape comes first, then what stands within a long tape, then stakes; the next is tried if
        no pair crosses at 30 to 150 degrees.
        """
        offsets, tape_m, choices = self._choices(x, y)
        pair = self._two(choices, offsets, tape_m)
        return tuple((self._corners[n].name, tape_m[n]) for n in pair)

    def with_check(self, x: float, y: float) -> tuple[Tie, ...]:
        """Return the tapes of ``ties`` and a third where one is at hand: within one tape, or farther if the two cross flat.

        The third tells the place from its mirror image, if one does, and crosses the two as squarely as it can.
        """
        offsets, tape_m, choices = self._choices(x, y)
        pair = self._two(choices, offsets, tape_m)
        taken = list(pair)
        if len(pair) == 2:
            flat = _squareness(*pair, offsets) < sin(radians(LEAST_CROSSING_DEG))
            others = [n for n in choices[-1 if flat else 0] if _apart_m(n, pair, offsets) >= SHORT_M]
            taken += sorted(others, key=lambda n: _worth(n, pair, offsets, tape_m))[:1]
        corners = (self._corners[n] for n in taken)
        return tuple(
            Tie(name=corner.name, x=corner.x, y=corner.y, tape_m=tape_m[n])
            for n, corner in zip(taken, corners, strict=True)
        )

    def between(self, start: tuple[float, float], end: tuple[float, float]) -> float | None:
        """Length [m] of a tape between two places; ``None`` where it is too long, too short or a building stands between."""
        tape_m = hypot(end[0] - start[0], end[1] - start[1])
        sight = shapely.linestrings([start, end])
        hidden = bool(shapely.intersects(self._walls, sight).any())
        return tape_m if _SHORTEST_M <= tape_m <= LONG_TAPE_M and not hidden else None

    def _two(self, choices: list[list[int]], offsets: Offsets, tape_m: list[float]) -> tuple[int, ...]:
        """Return the pair of the first choice that crosses well, the shorter tape first; one or none where no pair is seen."""
        taken: Sequence[int] = choices[-1]
        for each in choices:
            if pair := _best_pair(each, offsets, tape_m):
                taken = pair
                if _squareness(*pair, offsets) >= sin(radians(LEAST_CROSSING_DEG)):
                    break
        return tuple(sorted(taken, key=lambda n: (tape_m[n], self._corners[n].name)))

    def _choices(self, x: float, y: float) -> tuple[Offsets, list[float], list[list[int]]]:
        """From a place to each corner: offset and tape [m]; the corners that come first, second, and last."""
        offsets = self._places - (x, y)
        tape_m = np.hypot(offsets[:, 0], offsets[:, 1])
        usable = self._seen(x, y) & (tape_m >= _SHORTEST_M) & (tape_m <= LONG_TAPE_M)
        ranks = (usable & self._stands & (tape_m <= ONE_TAPE_M), usable & self._stands, usable)
        choices = [np.flatnonzero(each).tolist() for each in ranks]
        return [(dx, dy) for dx, dy in offsets.tolist()], tape_m.tolist(), choices

    def _seen(self, x: float, y: float) -> NDArray[np.bool_]:
        here = np.broadcast_to((x, y), self._places.shape)
        sights = shapely.linestrings(np.stack((here, self._places), axis=1))
        seen: NDArray[np.bool_] = ~shapely.intersects(self._walls[:, None], sights).any(axis=0)
        return seen


def _apart_m(corner: int, others: tuple[int, ...], offsets: Offsets) -> float:
    return min(dist(offsets[corner], offsets[other]) for other in others)


def side_of(x: float, y: float, ties: Sequence[Tie]) -> str:
    """Side of the line from the first corner to the second that a place lies on, "left" or "right"; ``""`` if a third tape tells.

    >>> side_of(3.0, 4.0, [Tie(name="A", x=0.0, y=0.0, tape_m=5.0), Tie(name="B", x=6.0, y=0.0, tape_m=5.0)])
    'left'
    """
    if len(ties) < 2:
        return ""
    (ax, ay), (bx, by) = ((tie.x - x, tie.y - y) for tie in ties[:2])
    image = _mirror_image((ax, ay), (bx, by))
    told = any(
        abs(hypot(tie.x - x - image[0], tie.y - y - image[1]) - tie.tape_m) >= MIRROR_M for tie in ties[2:]
    )
    if told or hypot(*image) < MIRROR_M:
        return ""
    return "left" if ax * by - ay * bx > 0 else "right"


def _mirror_image(a: Sequence[float], b: Sequence[float]) -> tuple[float, float]:
    """Where the two tapes from corners at offsets a and b from a place meet again, as an offset from it."""
    along_x, along_y = b[0] - a[0], b[1] - a[1]
    if hypot(along_x, along_y) < SHORT_M:  # corners of two buildings in one place
        return 0.0, 0.0
    part = (a[0] * along_x + a[1] * along_y) / (along_x**2 + along_y**2)
    return 2 * (a[0] - part * along_x), 2 * (a[1] - part * along_y)


def _worth(
    third: int, pair: tuple[int, ...], offsets: Offsets, tape_m: list[float]
) -> tuple[bool, float, float, int]:
    """Sort key of a third corner: what tells the mirror image, then what is strong where the pair is weak, then the nearer."""
    image = _mirror_image(*(offsets[n] for n in pair))
    tells = abs(dist(offsets[third], image) - tape_m[third]) >= MIRROR_M
    units = np.array([(offsets[n][0] / tape_m[n], offsets[n][1] / tape_m[n]) for n in (*pair, third)])
    weakest = float(np.linalg.eigvalsh(units.T @ units)[0])
    return not tells, -floor(20 * weakest), tape_m[third], third


def _best_pair(found: list[int], offsets: Offsets, tape_m: list[float]) -> tuple[int, int] | None:
    """Pair of corners that cross nearest to a right angle (to 1 part in 20), the shorter tapes if alike."""

    def rank(pair: tuple[int, int]) -> tuple[float, float, tuple[int, int]]:
        return -floor(20 * _squareness(*pair, offsets)), tape_m[pair[0]] + tape_m[pair[1]], pair

    return min(combinations(found, 2), key=rank, default=None)


def _squareness(a: int, b: int, offsets: Offsets) -> float:
    """Sine of the angle at which two tapes cross: 1 for a right angle."""
    (ax, ay), (bx, by) = offsets[a], offsets[b]
    return abs(ax * by - ay * bx) / (hypot(ax, ay) * hypot(bx, by))


def _corners_of(building: Feature) -> list[Corner]:
    stands = building.status == "existing"
    return [
        Corner(
            name=Said(
                "{name} {side}" if stands else "{name} stake {side}", name=building.name, side=_side(side)
            ),
            x=x,
            y=y,
        )
        for side, x, y in named_corners(building.shape)
    ]


def _side(side: str) -> Said:
    octant, *number = side.split(" ")
    return Said("{side} {number}", side=Said(octant), number=number[0]) if number else Said(octant)
