"""What the bends of a tree cost at least where it passes an end, by where it branches before.

A part of the tree with one place x where it branches comes to the end e, and another part leads on to a place y, and a last leg
from there. All bends from x to the leg turn by no less than the corner between the straight line from x to e and the leg, or the
line from e to y if there is none (Milnor 1950: a polygon inscribed in a curve turns no more than the curve). The bends on the
ways from x to the other places of the part are none of these. A way to a point that is not straight has one at least.

The part costs no less than its calibration, and no less than the three ways from x to its places. The way from x to
each of them costs no less than its length at the least price, nor than a potential rises between the two (``calibration``),
and if it is straight no less than with all dear ground that every straight way goes through (``dear``).

All this is told for triangles that x may lie in. In each a distance is no less than its tangent plane at the middle, potentials
are linear, and which of these is taken for the whole triangle is chosen by what they come to there. Those that make the bound
are cut in four. Where that does not help, a potential is sought that tells more there.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import product
from typing import TypeAlias

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, Point
from shapely.geometry.base import BaseGeometry

from siteplan.route.between import Goal
from siteplan.route.proof.calibration import calibrated
from siteplan.route.proof.calibration_mesh import Mesh
from siteplan.route.proof.convex import blockers_of
from siteplan.route.proof.dear import DearGround
from siteplan.route.proof.turning import Turning
from siteplan.route.scene import Scene

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Legs: TypeAlias = Sequence[tuple[Point | LineString, tuple[float, float]]]

_ROUNDS = 16
_MOST_CELLS = 4000
_FINE_M = 0.5
_SMALL_M = 8.0
_LEARN_M = 1.5
_MOST_LEARNED = 2
_LEVEL = 2e-3
_FAR = 0.02
_ROUNDING_M = 1e-5
_HERE_M = 1e-6


class Passing:
    """Bends where a tree passes an end.

    Parameters
    ----------
    scene : Scene
        The prices.
    free : shapely geometry
        Free ground, or a little more.
    metre : float
        A price that no metre falls below.
    spare : float
        No bore is made that costs so much more than its metres at the least price.
    mesh : Mesh
        The ground that the parts are calibrated on.
    """

    def __init__(self, scene: Scene, free: BaseGeometry, metre: float, spare: float, mesh: Mesh) -> None:
        self._metre, self._mesh, self._bend = metre, mesh, scene.bend_price
        self._turning = Turning(scene)
        patches = tuple(replace(patch, area=_filled(patch.area, free)) for patch in scene.patches)
        self._dear = DearGround(replace(scene, patches=patches), metre, spare, free)
        blockers = shapely.buffer([shapely.Polygon(piece) for piece in blockers_of(free)], -_ROUNDING_M)
        self._blockers = shapely.STRtree(blockers[~shapely.is_empty(blockers)])

    def more(
        self,
        places: Sequence[Goal],
        spot: int,
        price: float,
        rises: Sequence[Sequence[Floats]],
        beyond: Goal,
        legs: Legs,
        onward: float,
    ) -> float:
        """Return what passing an end costs on top of two parts, and tees apart.

        Parameters
        ----------
        places : sequence of Point or MultiLineString
            The places of the part that comes to the end.
        spot : int
            Which of them is the end.
        price : float
            What the part costs at least.
        rises : sequence of sequence of ndarray
            For each of its places, by node: what ways to it cost at least, told by one potential or another.
        beyond : Point or MultiLineString
            To this the other part leads from the end.
        legs : Legs
            The parts of its walls with their last legs, if it has walls.
        onward : float
            What the other part costs at least.
        """
        end = places[spot]
        if not self._bend or not isinstance(end, Point) or len(places) > 3:
            return 0.0
        ways = list(self._onward(end, beyond, legs, onward))
        if len(places) == 2:
            other = places[1 - spot]
            if not isinstance(other, Point):
                return 0.0
            at = np.array([[[other.x, other.y]] * 3])
            return min(more + float(self._turned(at, end, way)[0]) for way, more in ways)
        return self._branching(places, spot, price, rises, ways)

    def _onward(self, end: Point, beyond: Goal, legs: Legs, onward: float) -> Iterator[tuple[Floats, float]]:
        """Give the directions in which the trench ends, none if all are possible, and what that costs on top."""
        if isinstance(beyond, Point):
            yield np.array([beyond.x - end.x, beyond.y - end.y]), 0.0
            return
        for wall, leg in legs:
            yield np.array(leg), max(self._metre * wall.distance(end) - onward, 0.0)

    def _turned(self, at: Floats, end: Point, way: Floats) -> Floats:
        """Return the least prices of turning on the way from triangles (n, 3, 2) through an end on into a direction."""
        if not way.any():
            return np.zeros(len(at))
        chord = np.array([end.x, end.y]) - at
        turn = np.arctan2(
            way[0] * chord[..., 1] - way[1] * chord[..., 0], way[0] * chord[..., 0] + way[1] * chord[..., 1]
        )
        low, high = turn.min(axis=1), turn.max(axis=1)
        least = np.where((low <= 0.0) & (high >= 0.0) & (high - low <= np.pi), 0.0, np.abs(turn).min(axis=1))
        near = shapely.dwithin(shapely.convex_hull(shapely.multipoints(at)), end, _HERE_M)
        return np.where(near, 0.0, self._turning.price(least))

    def _branching(
        self,
        places: Sequence[Goal],
        spot: int,
        price: float,
        rises: Sequence[Sequence[Floats]],
        ways: list[tuple[Floats, float]],
    ) -> float:
        """Return the least over all places to branch at."""
        known = [list(each) for each in rises]
        cells = _Cells.all_of(self._mesh)
        told = self._told(places, spot, price, cells, known, ways)
        best, dropped, learned = price, np.inf, 0
        for _ in range(_ROUNDS):
            least = float(told.min(initial=np.inf))
            best = max(best, min(least, dropped))
            kept = told <= least + _FAR * price
            dropped = min(dropped, float(told[~kept].min(initial=np.inf)))
            if not kept.any() or least > dropped or len(told) > _MOST_CELLS:
                break
            hot = told <= least + _LEVEL * price
            large = hot & (cells.size_m > _FINE_M)
            if cells.size_m[told.argmin()] <= _LEARN_M and learned < _MOST_LEARNED:
                middle = Point(cells.at[told.argmin()].mean(axis=0))
                known[spot].append(self._rise_to(places[spot], middle))
                learned += 1
                cells = cells.take(kept)
                told = np.maximum(told[kept], self._told(places, spot, price, cells, known, ways))
                continue
            if not large.any():
                break
            halves = cells.take(large).quarters()
            more = self._told(places, spot, price, halves, known, ways)
            kept &= ~large
            told, cells = np.concatenate([told[kept], more]), cells.take(kept).joined(halves)
        return best - price

    def _rise_to(self, end: Goal, place: Point) -> Floats:
        """Return, by node, what ways to an end cost at least, as much as can be told at a place."""
        assert isinstance(end, Point)
        told: Floats = calibrated(self._mesh, end, [place]).potentials[0]
        return told

    def _told(
        self,
        places: Sequence[Goal],
        spot: int,
        price: float,
        cells: _Cells,
        rises: Sequence[Sequence[Floats]],
        ways: list[tuple[Floats, float]],
    ) -> Floats:
        """Return what the part and its bends cost at least if it branches in each cell."""
        at = cells.at
        plane = [self._plane(at, place) for place in places]
        by_way = [
            _largest([each, *(cells.of(rise) for rise in mine)])
            for each, mine in zip(plane, rises, strict=True)
        ]
        whole = np.sum(by_way, axis=0)
        choices: list[list[tuple[Floats | float, float]]] = []
        for number, place in enumerate(places):
            if number != spot and isinstance(place, Point):
                straight = _largest([self._straight(cells, place, plane[number]), by_way[number]])
                choices.append([(straight - by_way[number], 0.0), (0.0, self._bend)])
        least = np.full(len(at), np.inf)
        for chosen in product(*choices):
            more = whole + sum(each for each, _ in chosen)
            least = np.minimum(least, np.maximum(more.min(axis=1), price) + sum(bend for _, bend in chosen))
        end = places[spot]
        assert isinstance(end, Point)
        found: Floats = least + np.min([more + self._turned(at, end, way) for way, more in ways], axis=0)
        return found

    def _plane(self, at: Floats, place: Goal) -> Floats:
        """Return prices of the distance from a place, at the corners of triangles (n, 3, 2), linear and never too high."""
        middle = at.mean(axis=1)
        nearest = shapely.shortest_line(shapely.convex_hull(place), shapely.points(middle))
        foot = shapely.get_coordinates(nearest).reshape(-1, 2, 2)[:, 0]
        away = middle - foot
        away_m = np.hypot(*away.T)
        slope = away / np.maximum(away_m, _HERE_M)[:, None]
        aside_m = ((at - middle[:, None]) * slope[:, None]).sum(axis=2)
        told: Floats = self._metre * (away_m[:, None] + aside_m)
        return told

    def _straight(self, cells: _Cells, place: Point, plane: Floats) -> Floats:
        """Return prices of straight ways to a point, infinite where one convex blocker stops all from a cell.

        Cells that are large are left at the least price.
        """
        found = plane.copy()
        small = np.flatnonzero(cells.size_m <= _SMALL_M)
        if not len(small):
            return found
        at, goal = cells.at[small], np.array([place.x, place.y])
        corners, spots = np.unique(at.reshape(-1, 2), axis=0, return_inverse=True)
        lines = shapely.linestrings(np.stack([corners, np.broadcast_to(goal, corners.shape)], axis=1))
        stopped = np.zeros((len(corners), len(self._blockers)), bool)
        stopped[tuple(self._blockers.query(lines, predicate="intersects"))] = True
        barred = np.asarray(stopped[spots.reshape(-1, 3)].all(axis=1)).any(axis=1)
        more, _ = self._dear.more(
            np.concatenate([at, np.broadcast_to(goal, (1, 3, 2))]),
            np.arange(len(at)),
            np.full(len(at), len(at)),
        )
        found[small] *= (1.0 + more / self._metre)[:, None]
        found[small[barred]] = np.inf
        return found


@dataclass(frozen=True, slots=True)
class _Cells:
    """Triangles within those of a mesh: which of these each is in, and its corners, (n, 3, 3), by shares of those of that."""

    mesh: Mesh
    within: Ints
    shares: Floats

    @classmethod
    def all_of(cls, mesh: Mesh) -> _Cells:
        """Return the triangles of a mesh themselves."""
        count = len(mesh.at)
        return cls(mesh, np.arange(count), np.broadcast_to(np.eye(3), (count, 3, 3)))

    @property
    def at(self) -> Floats:
        """Corners, (n, 3, 2)."""
        corners: Floats = self.shares @ self.mesh.at[self.within]
        return corners

    @property
    def size_m(self) -> Floats:
        """Lengths of the longest sides."""
        corners = self.at
        longest: Floats = np.hypot(*(np.roll(corners, -1, axis=1) - corners).transpose(2, 0, 1)).max(axis=1)
        return longest

    def of(self, values: Floats) -> Floats:
        """Return at the corners what is told at the nodes of the mesh."""
        told: Floats = (self.shares @ values[self.mesh.node[self.within]][..., None])[..., 0]
        return told

    def take(self, kept: NDArray[np.bool_]) -> _Cells:
        """Return some of them."""
        return _Cells(self.mesh, self.within[kept], self.shares[kept])

    def joined(self, other: _Cells) -> _Cells:
        """Return these and others."""
        return _Cells(
            self.mesh,
            np.concatenate([self.within, other.within]),
            np.concatenate([self.shares, other.shares]),
        )

    def quarters(self) -> _Cells:
        """Cut each across its longest side, and the halves again."""
        return self._halves()._halves()

    def _halves(self) -> _Cells:
        corners = self.at
        length_m = np.hypot(*(np.roll(corners, -1, axis=1) - corners).transpose(2, 0, 1))
        turn = (length_m.argmax(axis=1)[:, None] + np.arange(3)) % 3
        a, b, c = np.take_along_axis(self.shares, turn[:, :, None], axis=1).transpose(1, 0, 2)
        halves = [np.stack([a, (a + b) / 2, c], axis=1), np.stack([(a + b) / 2, b, c], axis=1)]
        return _Cells(self.mesh, np.tile(self.within, 2), np.concatenate(halves))


def _filled(area: BaseGeometry, free: BaseGeometry) -> BaseGeometry:
    """Fill the holes of dear ground in which no ground is free: a straight way does not go through them."""
    parts = []
    for part in shapely.get_parts(area):
        whole = shapely.Polygon(part.exterior)
        parts.append(part if whole.difference(part).intersects(free.buffer(-_ROUNDING_M)) else whole)
    return shapely.union_all(parts)


def _largest(found: Sequence[Floats]) -> Floats:
    """Choose for each triangle what is largest on the whole."""
    values = np.array(found)
    largest: Floats = values[values.mean(axis=2).argmax(axis=0), np.arange(values.shape[1])]
    return largest
