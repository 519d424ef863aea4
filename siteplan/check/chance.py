"""How likely it is that a true distance is at least the required one, and the error band that says the same in metres.

Where the nearest place lies on one straight edge, the distance errs as the places do and the normal distribution serves.
Beside a corner, with edges that compete for the nearest, or with errors that are not small against the distance, it does
not: there both things are moved about by their errors some thousand times and the distances are counted.

Two points of method:

- **The more room, the more weight** is taken away again. A thing moved about at random ends up farther off more often than
  nearer, for there is more ground at a distance ``d`` from it: a strip as long as ``L + 2 pi d``, L its outline (Steiner's
  formula). Counted plainly, that makes far too much of a long distance with a large error: at errors of half the distance a
  verdict meant to be wrong once in twenty times is wrong once in ten. Each count is weighted by ``1 / (L + 2 pi d)``, so that
  before the measurement no distance was likelier than another; for two points that is the reference prior of a distance.
- **Nobody says whether the corners of one thing err together.** Both are counted, all of it as one and each corner by itself,
  and a verdict needs both.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache, lru_cache
from statistics import NormalDist, median
from typing import TypeAlias

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry
from shapely.ops import nearest_points

from siteplan.check.pair_error import PairError
from siteplan.check.verdicts import ROUNDING_M
from siteplan.site.evidence import Z95_ONE_SIDED

Floats: TypeAlias = NDArray[np.float64]

DRAWS = 2000
"""Times that both things are moved: a chance of 95 % is counted to 0.1 % for two points, to 0.5 % (sigma) corner by corner."""

FAR_SIGMAS = 6.0
"""A margin of so many sigmas needs no counting."""

REACH_SIGMAS = 3.0
"""How near an end of the edge or another edge must come, in sigmas, to compete for the nearest place."""

ROUND_SHARE = 0.05
"""Two points: with errors under this share of the distance, the distance errs as the places do."""

CORNER_DEG = 30.0
"""An outline that turns less than this goes on: a traced curve has no corners. Common practice, no source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Counted:
    """Distances as counted.

    Attributes
    ----------
    distance_m : array, shape (n,)
        Longest first [m]; below zero inside of an area or past a line.
    share : array, shape (n,)
        Share of the weight that lies at this distance or beyond, rising to 1.
    """

    distance_m: Floats
    share: Floats

    def chance(self, required_m: float) -> float:
        """Share of the weight at the required distance or beyond."""
        count = int(np.searchsorted(-self.distance_m, -required_m, side="right"))
        return float(self.share[count - 1]) if count else 0.0

    def reached_m(self, confidence: float) -> float:
        """Distance [m] that the truth reaches with this confidence."""
        count = min(int(np.searchsorted(self.share, confidence)), self.share.size - 1)
        return float(self.distance_m[count])


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """Where the true distance may lie.

    Attributes
    ----------
    measured_m : float
    sigma_m : float
        Standard deviation [m], first order.
    counted : tuple of Counted
        What was counted; empty where the normal distribution serves.
    """

    measured_m: float
    sigma_m: float
    counted: tuple[Counted, ...] = ()

    def chance(self, required_m: float) -> float:
        """Probability that the true distance is at least the required one; of two counts the less sure.

        >>> spread = Spread(measured_m=53.0, sigma_m=3 / 1.6449)
        >>> round(spread.chance(50.0), 3), round(spread.chance(53.0), 3)
        (0.95, 0.5)
        """
        if self.counted:
            chances = [each.chance(required_m) for each in self.counted]
            return median([min(chances), 0.5, max(chances)])
        margin_m = self.measured_m - required_m
        if self.sigma_m == 0.0:
            return 1.0 if margin_m >= -ROUNDING_M else 0.0
        return NormalDist().cdf(margin_m / self.sigma_m)

    def error_m(self, required_m: float, confidence: float) -> float:
        """One-sided error band [m] on the side of the requirement.

        A margin of at least the band is a chance of at least the confidence; a shortfall of at least the band, a chance of at
        most what is left of it.

        >>> round(Spread(measured_m=53.0, sigma_m=3 / 1.6449).error_m(50.0, 0.95), 3)
        3.0
        """
        if not self.counted:
            return self.sigma_m * NormalDist().inv_cdf(confidence)
        if self.measured_m >= required_m:
            return max(self.measured_m - min(each.reached_m(confidence) for each in self.counted), 0.0)
        return max(max(each.reached_m(1.0 - confidence) for each in self.counted) - self.measured_m, 0.0)


def depth_chance(margin_m: float, error_m: float) -> float:
    """Probability that a depth or height holds, from its margin [m] and its error band [m], one-sided at 95 %.

    >>> depth_chance(0.0, 0.0762), round(depth_chance(0.0762, 0.0762), 3)
    (0.5, 0.95)
    """
    return Spread(measured_m=margin_m, sigma_m=error_m / Z95_ONE_SIDED).chance(0.0)


def spread(
    here: BaseGeometry, there: BaseGeometry, half_m: float, error: PairError, limits_m: Sequence[float]
) -> Spread:
    """Spread of the distance between two things.

    Parameters
    ----------
    here, there : shapely geometry
        The two things, ground metres.
    half_m : float
        How much wider ``here`` stands than drawn [m], such as the radius of a casing.
    error : PairError
    limits_m : sequence of float
        What the distance will be held against [m]; more than ``FAR_SIGMAS`` from all of them nothing is counted.

    Returns
    -------
    Spread
        The same input gives the same numbers: the draws are always the same ones.

    Examples
    --------
    A well 52 ft from another, each known to 1.5 ft (sigma, each axis), 50 ft asked.

    >>> from shapely import Point
    >>> pair = PairError(position_m=math.hypot(1.5, 1.5))
    >>> round(spread(Point(0, 0), Point(52, 0), 0.0, pair, [50.0]).chance(50.0), 3)
    0.827
    """
    gap_m = here.distance(there)
    measured_m, sigma_m = max(gap_m - half_m, 0.0), error.sigma_m
    near = any(abs(measured_m - limit_m) <= FAR_SIGMAS * sigma_m for limit_m in limits_m)
    if error.position_m == 0.0 or not near or _normal_serves(here, there, gap_m, sigma_m):
        return Spread(measured_m=measured_m, sigma_m=sigma_m)
    ways = [False, True] if any(error.corners_m) and _corners(there).max() else [False]
    counted = tuple(_counted(here, there, half_m, error, by_corner) for by_corner in ways)
    return Spread(measured_m=measured_m, sigma_m=sigma_m, counted=counted)


def _normal_serves(here: BaseGeometry, there: BaseGeometry, gap_m: float, sigma_m: float) -> bool:
    """Whether a point meets one straight edge and nothing else within its errors, or another point far off."""
    if here.geom_type != "Point":
        return False
    if there.geom_type == "Point":
        return sigma_m <= ROUND_SHARE * gap_m
    if gap_m == 0.0 or there.geom_type == "MultiPoint":
        return False
    reach_m = REACH_SIGMAS * sigma_m
    edges = _edges(there)
    edge = edges[int(np.argmin(shapely.distance(here, edges)))]
    foot = nearest_points(here, edge)[1]
    if shapely.distance(foot, shapely.points(shapely.get_coordinates(edge))).min() < reach_m:
        return False
    rest = shapely.difference(shapely.multilinestrings(edges), edge.buffer(sigma_m))
    return bool(rest.is_empty or rest.distance(here) >= gap_m + reach_m)


def _outlines(shape: BaseGeometry) -> list[BaseGeometry]:
    """Points, lines and rings of a shape, in the order of its coordinates."""
    return [
        outline
        for part in shapely.get_parts(shape)
        for outline in (shapely.get_rings(part) if part.geom_type == "Polygon" else [part])
    ]


def _edges(shape: BaseGeometry) -> NDArray[np.object_]:
    """Straight edges of a shape, one by one."""
    places = [shapely.get_coordinates(outline) for outline in _outlines(shape)]
    ends = np.concatenate([np.stack([at[:-1], at[1:]], axis=1) for at in places])
    return np.asarray(shapely.linestrings(ends))


def _corners(shape: BaseGeometry) -> NDArray[np.int64]:
    """For each coordinate of a shape, the number of the corner that it moves with."""
    found: list[NDArray[np.int64]] = []
    first = 0
    for outline in _outlines(shape):
        at = shapely.get_coordinates(outline)
        steps = np.diff(at, axis=0)
        bearing = np.degrees(np.arctan2(steps[:, 1], steps[:, 0]))
        before = np.concatenate([bearing[-1:], bearing[:-1]])
        turned = np.abs((bearing - before + 180.0) % 360.0 - 180.0) >= CORNER_DEG
        closed = len(at) > 2 and bool((at[0] == at[-1]).all())
        if not closed:
            turned = np.concatenate([[True], turned[1:], [True]])[: len(at)]
        number = np.cumsum(turned) - 1
        if closed:
            number = np.append(number, number[0])
            number[number < 0] = number.max()
            number = np.maximum(number, 0)
        found.append(number + first)
        first = int(found[-1].max()) + 1
    return np.concatenate(found)


@cache
def _shifts() -> Floats:
    """Standard normal shifts in the plane, shape (DRAWS, 2): rings of equal chance, each a golden angle further round."""
    turn = np.arange(DRAWS)
    radius = np.sqrt(-2.0 * np.log((turn + 0.5) / DRAWS))
    angle = turn * math.pi * (3.0 - math.sqrt(5.0))
    return np.stack([radius * np.cos(angle), radius * np.sin(angle)], axis=1)


@cache
def _draws(count: int) -> Floats:
    """Standard normal draws, shape (DRAWS, count, 2), always the same, each set of mean zero and variance one."""
    draws = np.random.default_rng(20_240).standard_normal((DRAWS, count, 2))
    draws -= draws.mean(axis=0)
    return np.asarray(draws / draws.std(axis=0))


def _moved(
    shape: BaseGeometry, shift_m: Floats, corner_m: float, corners: NDArray[np.int64], draws: Floats
) -> NDArray[np.object_]:
    """Copies of a shape, each moved as a whole, and each corner by its own error as well."""
    at = shapely.get_coordinates(shape)[None, :, :] + shift_m[:, None, :]
    if corner_m:
        at = at + corner_m * draws[:, corners, :]
    if shape.geom_type == "Point":
        return np.asarray(shapely.points(at[:, 0, :]))
    copies = np.repeat(np.asarray([shape], dtype=object), len(shift_m))
    return np.asarray(shapely.set_coordinates(copies, at.reshape(-1, 2)))


def _signed(
    here: BaseGeometry, ours: NDArray[np.object_], theirs: BaseGeometry | NDArray[np.object_], apart: Floats
) -> Floats:
    """Distances [m] below zero inside of an area, and for a point that comes to lie on the other side of a line."""
    if here.geom_type == "Point" and int(np.min(shapely.get_dimensions(theirs))) == 1:
        ends = np.stack(
            [np.broadcast_to(shapely.get_coordinates(here), (len(ours), 2)), shapely.get_coordinates(ours)], 1
        )
        return np.where(shapely.intersects(shapely.linestrings(ends), theirs), -apart, apart)
    inside = apart == 0.0
    if not inside.any():
        return apart
    return apart - np.where(inside, shapely.distance(ours, shapely.boundary(theirs)), 0.0)


@lru_cache(maxsize=64)
def _counted(
    here: BaseGeometry, there: BaseGeometry, half_m: float, error: PairError, by_corner: bool
) -> Counted:
    """Move both things by their errors and count the distances: all of a thing as one, or each corner by itself too."""
    corners = _corners(here), _corners(there)
    counts = [int(each.max()) + 1 for each in corners]
    draws = _draws(1 + sum(counts))
    own = error.corners_m if by_corner else (0.0, 0.0)
    shift = _shifts() * math.sqrt(max(error.position_m**2 - own[0] ** 2 - own[1] ** 2, 0.0))
    ours = _moved(here, shift, own[0], corners[0], draws[:, 1 : 1 + counts[0]])
    theirs: BaseGeometry | NDArray[np.object_] = there
    if own[1]:
        theirs = _moved(there, np.zeros_like(shift), own[1], corners[1], draws[:, 1 + counts[0] :])
    apart = shapely.distance(ours, theirs)
    outline_m = sum(
        each.length * (2.0 if each.geom_type.endswith("LineString") else 1.0) for each in (here, there)
    )
    weight = 1.0 / (outline_m + 2.0 * math.pi * np.maximum(apart, error.position_m / 20.0))
    distance = _signed(here, ours, theirs, apart) - half_m + draws[:, 0, 0] * error.edges_m
    order = np.argsort(-distance, kind="stable")
    share = np.cumsum(weight[order])
    return Counted(distance_m=distance[order], share=share / share[-1])
