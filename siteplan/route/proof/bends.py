"""The least price of a trench between two places when bends have a price.

A trench of k straight pieces has k - 1 bends, anywhere on the ground. Every bend and both ends lie in cells.
For each number a of straight pieces the least price of reaching a cell by exactly a of them, their bends
apart, is kept at the cell's corners, linear between them: from A_a at the corners of one cell to A_(a+1) at
those of another, the least price of a straight piece between the two is added (``straight``), with the dear
ground on its way (``dear``) and the bend onto a last leg (``square``), if no one blocker cuts all nine
segments (``sightlines``). Where the shortest way round everything with its tolls (``taut``) is the better
bound on average over a cell, it takes the place of A_a there. With the dear ground that cannot be avoided
(``forced``) and the floor that the caller has proven

    price >= min over k of max(A_k(goal), shortest + dear, floor) + (k - 1) x price of a bend,

from the start and, just as well, from the goal. Bends count at the price of the slightest. Geometry is held
to the grid of 1e-6 m. Pairs of cells through which that makes every trench cost more than a limit are
dropped, and what is left is cut finer. Later bounds then only hold for trenches at the limit or below, so the
result is never taken above it.
"""

from __future__ import annotations

import math

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString

from siteplan.route.approach import Approach
from siteplan.route.between import Goal
from siteplan.route.proof.bend_route import BendRoutes
from siteplan.route.proof.cells import (
    GOAL,
    GRID_M,
    GROUND,
    START,
    Cells,
    enclosing_circles,
    end_cells,
    ground_cells,
    halved,
    joined,
    onto_corners,
    parts_of,
)
from siteplan.route.proof.convex import blockers_of
from siteplan.route.proof.dear import DearGround
from siteplan.route.proof.forced import dear_ground, least_metre
from siteplan.route.proof.links import Links, layers, through
from siteplan.route.proof.model import Proven
from siteplan.route.proof.places import Places
from siteplan.route.proof.sightlines import Ints, one_cuts_all
from siteplan.route.proof.square import leg_bends, legs_at
from siteplan.route.proof.straight import axes_of, least_lengths, tolls
from siteplan.route.proof.taut import Corners, TautWays, bend_corners, taut_errors_m
from siteplan.route.proof.taut_tolls import BESIDE_M, Tolls, axis_corners
from siteplan.route.scene import Scene

_SIZE_M = 10.0
_WALL_M = 2.0
_LEVELS = 24
_MOST_LINKS = 12
_FIRST_ERROR_M = 4.0
_HIDDEN = 0.25
_OFF_M = 1e-5
_PAIRS_A_CELL = 8
_ROUNDING = 1e-9

Flags = NDArray[np.bool_]


def least_with_bends(
    scene: Scene,
    start: Goal | Approach,
    goal: Goal | Approach,
    *,
    best: float,
    floor: float = 0.0,
    wanted: float = 0.02,
    most_pairs: int = 300_000,
) -> Proven:
    """Prove a price that no trench between two places falls below.

    Parameters
    ----------
    scene : Scene
        The prices.
    start, goal : Point, MultiLineString or Approach
        On the free ground; walls: anywhere along them. The price of a last leg is left out, but an approach has the bend
        onto it counted.
    best : float
        Price of a trench that is known; infinite if none is.
    floor : float
        A price already proven, with bends free.
    wanted : float
        The proof stops when it is this near to the best, as a share of it.
    most_pairs : int
        Pairs of cells to look at, roughly, a cell counting as 8; then it stops with what is proven.

    Returns
    -------
    Proven
        ``line`` only where every metre costs the same, tolls apart, bends have one price, and there is no last leg.

    Examples
    --------
    Round a corner: 10.07 m, and a bend.

    >>> from shapely import Point, box
    >>> from siteplan.route.scene import Charge
    >>> metre, none, bend = (Charge(row="", price=price) for price in (10.0, 0.0, 50.0))
    >>> ground = box(0, 0, 8, 6).difference(box(3, 0, 8, 3))
    >>> scene = Scene(free=ground, dig=metre, restore=none, bends=((180.0, bend),))
    >>> found = least_with_bends(scene, Point(0, 0), Point(8, 6), best=math.inf)
    >>> round(found.best), round(found.bound, 2), len(found.line.coords)
    (151, 147.72, 3)
    """
    limit = 1.0 - wanted
    return _Proof(scene, start, goal, best=best, floor=floor).proven(wanted, most_pairs, limit)


class _Proof:
    """The cells and what is known at them."""

    def __init__(
        self, scene: Scene, start: Goal | Approach, goal: Goal | Approach, *, best: float, floor: float
    ) -> None:
        self.scene = scene
        self.approaches = [end if isinstance(end, Approach) else None for end in (start, goal)]
        start, goal = (end.goal if isinstance(end, Approach) else end for end in (start, goal))
        self.best, self.known, self.floor = best, best, floor
        self.bend = scene.bend_price
        self.metre = least_metre(scene)
        closed = [patch.area for patch in scene.patches if patch.shut and not patch.bore]
        shut = [patch.area for patch in scene.patches if patch.shut]
        ground = shapely.difference(scene.free, shapely.union_all(closed), grid_size=GRID_M)
        opened = shapely.difference(ground, shapely.union_all(shut), grid_size=GRID_M)
        self.axes = axes_of(scene)
        lines = [LineString(axis.at) for axis in self.axes]
        parts = parts_of(opened, lines)
        self.places = Places(blockers_of(ground))
        ends = [
            end_cells(self.places, parts, ground, lines, place, role, _WALL_M)
            for place, role in ((start, START), (goal, GOAL))
        ]
        self.pieces = [cells.corners[:, :2] for cells in ends]
        counted = [
            axis
            for axis in self.axes
            if self.metre > 0.0 and LineString(axis.at).distance(shapely.union_all([start, goal])) > _OFF_M
        ]
        of_axes, beside = axis_corners(counted, ground)
        of_axes = onto_corners(of_axes, ground)
        bends = bend_corners(ground)
        corners = Corners(
            places=self.places.add(np.concatenate([bends, of_axes])), beside=np.concatenate([bends, beside])
        )
        self.bend_at = self.places.at[corners.places]
        alike = not scene.patches and not any(approach and approach.leg_m for approach in self.approaches)
        self.routes = BendRoutes(scene, ground, corners.places[: len(bends)]) if alike else None
        self.cells = joined(*ends, ground_cells(self.places, parts, _SIZE_M))
        seen = np.stack(np.triu_indices(len(corners.places), 1))
        seen = seen[:, self.places.sees(*corners.places[seen])]
        due = Tolls(counted, self.metre)
        self.slack_m = 4 * BESIDE_M * len(of_axes)
        self.ways = [TautWays(self.places, corners, seen, pieces, due) for pieces in self.pieces]
        self.parts, self.sides = len(parts), np.zeros(0, np.int64)
        self.lengths = [np.zeros(0), np.zeros(0)]
        self.in_zone = [
            [axis.crossed.zone.distance(place) < 1e-6 for axis in self.axes] for place in (start, goal)
        ]
        self.dear = dear_ground(scene, start, goal)
        self.dear_ground = DearGround(scene, self.metre)
        self.bound = floor
        self.looked_cells = self.looked_pairs = 0
        self._measure()

    def _measure(self) -> None:
        """Bring what belongs to the cells up to date."""
        cells = self.cells
        self.triangles = self.places.at[cells.corners]
        self.centre, self.radius = enclosing_circles(self.triangles)
        # a place on an axis has a length for every part of the ground that it touches
        sides = cells.corners * (self.parts + 1) + cells.part[:, None] + 1
        keys, first, back = np.unique(sides, return_index=True, return_inverse=True)
        known = np.isin(keys, self.sides)
        new = first[~known]
        inwards = self.triangles.mean(axis=1)[:, None] - self.triangles
        inwards /= np.maximum(np.linalg.norm(inwards, axis=2), 1e-12)[..., None]
        beside = (self.triangles + BESIDE_M * inwards).reshape(-1, 2)[new]
        places = cells.corners.reshape(-1)[new]
        at_known = np.searchsorted(self.sides, keys[known])
        self.from_end = []
        for k, (ways, pieces) in enumerate(zip(self.ways, self.pieces, strict=True)):
            at_keys = np.empty(len(keys))
            at_keys[known], at_keys[~known] = self.lengths[k][at_known], ways.at(places, beside)
            self.lengths[k] = at_keys
            lengths = at_keys[back].reshape(-1, 3)
            errors = taut_errors_m(
                self.triangles, self.centre, self.radius, self.bend_at, self.places.at[pieces]
            )
            self.from_end.append(self.metre * (lengths - errors[:, None] - self.slack_m))
        self.onward = np.zeros((len(cells.part), 2))
        for end, approach in zip((START, GOAL), self.approaches, strict=True):
            if approach:
                self.onward[cells.role == end] = legs_at(approach, self.triangles[cells.role == end])
        self.sides = keys
        self.direct = float(self.from_end[0][cells.role == GOAL].min())
        self.bound = max(self.bound, self.direct + self.dear)

    def proven(self, wanted: float, most_pairs: int, limit: float) -> Proven:
        """Refine until the bound is near enough, nothing is left or the work is done; limit as a share of the best."""
        if self.bend > 0.0 and math.isfinite(self.direct):
            self._refine(wanted, most_pairs, limit)
        bound = self.bound * (1.0 - _ROUNDING) if self.bound > self.floor else self.floor
        line = self.routes.line if self.routes and self.best < self.known else None
        return Proven(
            bound=min(bound, self.best),
            best=self.best,
            line=line,
            cells=self.looked_cells,
            pairs=self.looked_pairs,
        )

    def _refine(self, wanted: float, most_pairs: int, limit: float) -> None:
        ceiling = math.inf
        one, other = _all_pairs(self.cells)
        error_m = _FIRST_ERROR_M
        if self.routes:
            self._known(self.routes.first(self.places, *self.pieces))
        for _ in range(_LEVELS):
            most = limit * self.best
            links = self._looked_at(one, other, most)
            self.looked_cells += len(self.cells.part)
            self.looked_pairs += len(links.one)
            if self.routes:
                self._known(self._better(links))
            most = limit * self.best
            ceiling = min(ceiling, most)
            left = self._bounded(links, most, ceiling)
            if not left.any():
                self.bound = max(self.bound, ceiling)
            enough = self.bound >= (1.0 - wanted) * self.best * (1.0 - _ROUNDING)
            work = self.looked_pairs + _PAIRS_A_CELL * self.looked_cells + left.sum()
            if enough or not left.any() or work > most_pairs:
                return
            one, other = self._finer(links, left, error_m)
            error_m /= 2.0

    def _known(self, price: float) -> None:
        self.best = min(self.best, price)

    def _better(self, links: Links) -> float:
        """Look for a cheaper trench along the corners of the cells that are left."""
        assert self.routes is not None
        corners = self.cells.corners
        a = np.repeat(corners[links.one], 3, axis=1)[links.clear]
        b = np.tile(corners[links.other], (1, 3))[links.clear]
        return self.routes.along(self.places, a, b, *self.pieces)

    def _looked_at(self, one: Ints, other: Ints, most: float) -> Links:
        """Drop pairs that the shortest ways rule out or that do not see each other; price the others."""
        gap = self.radius[one] + self.radius[other]
        apart = self.metre * np.maximum(np.hypot(*(self.centre[one] - self.centre[other]).T) - gap, 0.0)
        low = [least.min(axis=1) for least in self.from_end]
        way = np.minimum(low[0][one] + low[1][other], low[0][other] + low[1][one])
        bends = (self.cells.role[one] == GROUND) * 1.0 + (self.cells.role[other] == GROUND)
        near = apart + way + self.dear + bends * self.bend <= most
        one, other = one[near], other[near]
        corners = self.cells.corners
        bits = [self.places.cut(corners[one, x], corners[other, y]) for x in range(3) for y in range(3)]
        open_ = ~one_cuts_all(bits)
        clear = np.stack([(bit == 0).all(axis=1) for bit in bits], axis=1)[open_]
        one, other = one[open_], other[open_]
        role = self.cells.role
        free = np.zeros((len(self.axes), len(one)), bool)
        for end, zones in zip((START, GOAL), self.in_zone, strict=True):
            touches = (role[one] == end) | (role[other] == end)
            free |= np.array(zones, bool)[:, None] & touches[None]
        due = tolls(self.axes, self.triangles, one, other, free)
        laid = np.isfinite(due)
        one, other, due, clear = one[laid], other[laid], due[laid], clear[laid]
        for near, far in ((one, other), (other, one)):
            at_leg = np.flatnonzero((self.onward[near] != 0.0).any(axis=1))
            at_end, onto = self.triangles[near[at_leg]], self.triangles[far[at_leg]]
            due[at_leg] += leg_bends(self.scene, at_end, onto, self.onward[near[at_leg]])
        laid = np.isfinite(due)
        one, other, due, clear = one[laid], other[laid], due[laid], clear[laid]
        least = least_lengths(self.triangles, self.centre, self.radius, one, other)
        more, lost = self.dear_ground.more(self.triangles, one, other)
        apart_m = np.hypot(*(self.centre[one] - self.centre[other]).T)
        wide = np.stack([self.radius[one], self.radius[other]])
        unsure = _HIDDEN * ~clear.all(axis=1) * wide + lost * apart_m / self.metre * wide / (
            wide.sum(axis=0) + 1e-12
        )
        return Links(
            one=one,
            other=other,
            price=(self.metre + more) * least.at_corners + due,
            error_m=least.lost_m + unsure,
            clear=clear,
        )

    def _bounded(self, links: Links, most: float, ceiling: float) -> Flags:
        """Raise the bound and tell which pairs may carry a trench that costs no more than ``most``."""
        always = max(self.direct + self.dear, self.floor)
        count = _MOST_LINKS
        if math.isfinite(most):
            count = max(1, min(count, math.floor((most - always) / self.bend + _ROUNDING) + 1))
        start, goal = (
            layers(links, self.cells.role == end, known.T, count)
            for end, known in zip((START, GOAL), self.from_end, strict=True)
        )
        more = always + count * self.bend
        for found, end in ((start, GOAL), (goal, START)):
            there = self.cells.role == end
            prices = [
                max(float(layer[:, there].min()), always) + a * self.bend for a, layer in enumerate(found[1:])
            ]
            self.bound = max(self.bound, min(*prices, more, ceiling))
        left: Flags = through(links, start, goal, self.bend) <= most
        return left

    def _finer(self, links: Links, left: Flags, error_m: float) -> tuple[Ints, Ints]:
        """Cut the cells of the pairs that are left where the error is large; return the pairs of their children."""
        one, other = links.one[left], links.other[left]
        error = np.zeros(len(self.cells.part))
        np.maximum.at(error, one, links.error_m[0, left])
        np.maximum.at(error, other, links.error_m[1, left])
        kept = self.cells.role != GROUND
        kept[one] = kept[other] = True
        split = kept & (error > error_m) & (self.radius > 0.0)
        self.cells, children = halved(self.places, self.cells, kept, split)
        self._measure()
        cut = np.flatnonzero(split & (children[:, 1] >= 0))
        pairs = [(children[one, x], children[other, y]) for x in (0, 1) for y in (0, 1)]
        pairs.append((children[cut, 0], children[cut, 1]))
        ones, others = (np.concatenate(ids) for ids in zip(*pairs, strict=True))
        real = (ones >= 0) & (others >= 0)
        return ones[real], others[real]


def _all_pairs(cells: Cells) -> tuple[Ints, Ints]:
    """Return all pairs of cells but those of the same end."""
    one, other = np.triu_indices(len(cells.role), 1)
    useful = (cells.role[one] != cells.role[other]) | (cells.role[one] == GROUND)
    return one[useful], other[useful]
