"""The least price of a trench between two places when bends have a price.

A trench of k straight pieces has k - 1 bends, anywhere on the ground. Every bend and both ends lie in cells.
For each number a of straight pieces the least price A_a of reaching a cell by exactly a of them, their bends
apart, is kept at the cell's corners, linear between them: from A_a at the corners of one cell to A_(a+1) at
those of another, the least price of a straight piece between the two is added (``link_prices``). Where the
shortest way round everything with its tolls (``taut_prices``), or the cheapest over the priced ground (``ground_fields``), is
the better bound on average over a cell, it takes the place of A_a there. What the bends of a trench by way of a piece cost
at least, by how many they are and by how far they turn, is told from cell to cell, too (``turning``). A trench of k pieces
has a piece with a others before it and b after it, for every a + b = k - 1; so

    price >= min over k of max over a + b = k - 1 of min over the pairs of cells of
             max(A_a + piece + A_b, shortest + dear, floor) + bends,

with the dear ground that cannot be avoided (``forced``) and what is proven with bends free, both for any trench. Geometry
is held to the grid of 1e-6 m.

Pairs of cells through which that makes every trench cost more than a limit are dropped, and what is left is cut finer.
Before, ground is left out that no trench below the limit enters (``too_dear``), and cells that it has no bend in. So the
bounds only hold for trenches at the limit or below, and the result is never taken above it.
"""

from __future__ import annotations

import math

import numpy as np
import shapely
from numpy.typing import NDArray

from siteplan.route.approach import Approach
from siteplan.route.between import Goal
from siteplan.route.proof.bend_route import BendRoutes
from siteplan.route.proof.cells import (
    GOAL,
    GRID_M,
    GROUND,
    START,
    Cells,
    all_pairs,
    ground_cells,
    halved,
    joined,
    longest_m,
    taken,
)
from siteplan.route.proof.forced import dear_ground, least_metre
from siteplan.route.proof.ground import Search
from siteplan.route.proof.ground_fields import GroundFields
from siteplan.route.proof.link_prices import LinkPrices
from siteplan.route.proof.links import Links, layers, through
from siteplan.route.proof.model import Proven
from siteplan.route.proof.reached import reached
from siteplan.route.proof.sightlines import Ints
from siteplan.route.proof.straight import axes_of
from siteplan.route.proof.taut_prices import TautPrices
from siteplan.route.proof.too_dear import too_dear
from siteplan.route.proof.turning import BendsOnTheWay, Turning
from siteplan.route.scene import Scene

_SIZE_M = 10.0
_LARGE_M = 40.0
_MANY = 8  # times the pairs asked for: no level begins with more
_FAR_TOO_MANY = 100  # times the pairs asked for: with more among all cells none are looked at
_LEVELS = 24
_FINER = 2.0
_FEW_GO = 0.9
_ROUNDS = 2
_MOST_LINKS = 8
_FIRST_ERROR_M = 4.0
_PAIRS_A_CELL = 8
_GROUND_PAIRS = 20_000
_QUICKER = 10  # pairs over the ground are looked at in the time of one of these
_ROUNDING = 1e-9

Flags = NDArray[np.bool_]


def least_with_bends(
    scene: Scene,
    start: Goal | Approach,
    goal: Goal | Approach,
    *,
    best: float,
    wanted: float = 0.02,
    most_pairs: int = 60_000,
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
    wanted : float
        The proof stops when it is this near to the best, as a share of it.
    most_pairs : int
        Pairs of cells to look at, roughly, a cell counting as 8, and ten on the edges of surfaces as one; then it stops with
        what is proven.

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
    proof = _Proof(scene, start, goal, best=best, limit=1.0 - wanted)
    return proof.proven(wanted, most_pairs)


class _Proof:
    """The cells and what is known at them.

    All is said of trenches that cost no more than a share, the limit, of the best that is known.
    """

    def __init__(
        self,
        scene: Scene,
        start: Goal | Approach,
        goal: Goal | Approach,
        *,
        best: float,
        limit: float = 1.0,
    ) -> None:
        self.approaches = [end if isinstance(end, Approach) else None for end in (start, goal)]
        start, goal = (end.goal if isinstance(end, Approach) else end for end in (start, goal))
        self.best, self.given, self.limit = best, best, limit
        self.floor = self.bound = 0.0
        self.done = 0
        self.scene, self.turning = scene, Turning(scene)
        self.bend = scene.bend_price
        self.metre = least_metre(scene)
        self.ceiling = limit * best
        self.dear = dear_ground(scene, start, goal)
        self.taut, self.spare = self._ground(scene, start, goal)
        self.places = self.taut.places
        self.pieces = [cells.corners[:, :2] for cells in self.taut.ends]
        alike = not scene.patches and not any(approach and approach.leg_m for approach in self.approaches)
        self.routes = BendRoutes(scene, scene.free, self.taut.bends) if alike and self.bend > 0.0 else None
        if self.routes:
            self._known(self.routes.first(self.places, *self.pieces))
        self.fields = self._fields(scene, start, goal)
        self.ends = start, goal
        self.looked_cells = self.looked_pairs = 0

    def _ground(self, scene: Scene, start: Goal, goal: Goal) -> tuple[TautPrices, float]:
        """Leave out the ground that no trench enters; return the shortest ways on the rest, and what was to spare."""
        axes = axes_of(scene)
        shut = shapely.union_all([patch.area for patch in scene.patches if patch.shut])
        self.direct = self.metre * start.distance(goal)
        self.bound = max(self.bound, self.direct + self.dear)
        spare = self.ceiling - self.direct if scene.patches else math.inf
        for _ in range(_ROUNDS if 0.0 < spare < math.inf else 1):
            closed = too_dear(
                scene, shapely.union_all([start, goal]), self.metre, spare if spare > 0.0 else math.inf
            )
            ground = shapely.difference(scene.free, closed, grid_size=GRID_M)
            opened = shapely.difference(ground, shut, grid_size=GRID_M)
            taut = TautPrices(ground, opened, axes, start, goal, self.metre)
            self.direct = taut.between()
            self.bound = max(
                self.bound, min(self.direct + self.dear, math.inf if spare == math.inf else self.ceiling)
            )
            spare = self.ceiling - self.direct
            if spare <= 0.0:
                break
        return taut, spare

    def _fields(self, scene: Scene, start: Goal, goal: Goal) -> GroundFields | None:
        """Return what the priced ground costs from either end to everywhere, if it is not alike everywhere."""
        if not (scene.patches or scene.crossed) or not math.isfinite(self.ceiling):
            return None
        potentials = Search(scene, start, goal, best=self.ceiling, margin=0.0).potentials(_GROUND_PAIRS)
        self.floor = max(self.floor, potentials.bound)
        self.bound = max(self.bound, self.floor)
        self.done = potentials.pairs // _QUICKER
        return GroundFields(potentials)

    def _start(self, most_pairs: int) -> bool:
        """Cut the ground into cells, as fine as the number of their pairs allows; tell whether that can be done.

        Those that no trench has a bend in are left out.
        """
        ground = self._straight(ground_cells(self.places, self.taut.parts, _SIZE_M))
        if len(ground.part) ** 2 > 2 * most_pairs:
            ground = self._straight(ground_cells(self.places, self.taut.parts, _LARGE_M))
        while True:
            self.cells = joined(*self.taut.ends, ground)
            if len(self.cells.part) ** 2 > _FAR_TOO_MANY * most_pairs:
                return False
            self._measure()
            met = (self.cells.role == GROUND) & (self.reached.through_cells() + self.bend <= self.ceiling)
            count = int((self.cells.role != GROUND).sum())
            ground = taken(self.cells, met)
            large = longest_m(self.places, ground) > _SIZE_M
            finer = (count + met.sum() + large.sum()) / len(met)
            if not large.any() or finer**2 * len(self._near(*all_pairs(self.cells))[0]) > most_pairs / 4:
                break
            ground = self._straight(halved(self.places, ground, np.ones(len(large), bool), large)[0])
        self.cells = joined(*self.taut.ends, ground)
        self._measure()
        hull = shapely.convex_hull(shapely.multipoints(self.places.at[self.cells.corners].reshape(-1, 2)))
        self.prices = LinkPrices(self.scene, self.metre, self.spare, hull)
        self.in_zone = [
            [axis.crossed.zone.distance(place) < 1e-6 for axis in self.prices.axes] for place in self.ends
        ]
        return True

    def _straight(self, cells: Cells) -> Cells:
        """Leave out the cells that even a straight line from end to end makes too dear."""
        triangles = shapely.polygons(self.places.at[cells.corners])
        straight_m = sum(shapely.distance(triangles, end) for end in self.ends)
        return taken(cells, self.metre * straight_m + self.bend <= self.ceiling)

    def _measure(self) -> None:
        """Bring what belongs to the cells up to date."""
        self.reached = reached(self.cells, self.taut, self.fields, self.approaches)
        self.shapes = self.reached.shapes
        self.direct = max(self.direct, float(self.reached.straight[0][self.cells.role == GOAL].min()))

    def proven(self, wanted: float, most_pairs: int) -> Proven:
        """Refine until the bound is near enough, nothing is left or the work is done."""
        if self.bend > 0.0 and self.direct < self.ceiling and not self._enough(wanted):
            self._refine(wanted, most_pairs)
        bound = self.bound * (1.0 - _ROUNDING) if self.bound > self.floor else self.floor
        line = self.routes.line if self.routes and self.best < self.given else None
        return Proven(
            bound=min(bound, self.best),
            best=self.best,
            line=line,
            cells=self.looked_cells,
            pairs=self.looked_pairs,
        )

    def _enough(self, wanted: float) -> bool:
        return self.bound >= (1.0 - wanted) * self.best * (1.0 - _ROUNDING)

    def _refine(self, wanted: float, most_pairs: int) -> None:
        if not self._start(most_pairs):
            return
        one, other = all_pairs(self.cells)
        error_m = _FIRST_ERROR_M
        for _ in range(_LEVELS):
            one, other = self._near(one, other)
            if len(one) + self.looked_pairs > _MANY * most_pairs:
                return
            links = self._looked_at(one, other)
            self.looked_cells += len(self.cells.part)
            self.looked_pairs += len(links.one)
            if self.routes:
                self._known(self._better(links))
            left = self._bounded(links, self.limit * self.best)
            if not left.any():
                self.bound = max(self.bound, self.ceiling)
            work = self.looked_pairs + _PAIRS_A_CELL * self.looked_cells + left.sum() + self.done
            if self._enough(wanted) or not left.any() or work > most_pairs:
                return
            one, other = self._finer(links, left, error_m)
            error_m /= _FINER

    def _known(self, price: float) -> None:
        self.best = min(self.best, price)
        self.ceiling = min(self.ceiling, self.limit * self.best)

    def _better(self, links: Links) -> float:
        """Look for a cheaper trench along the corners of the cells that are left."""
        assert self.routes is not None
        corners = self.cells.corners
        a = np.repeat(corners[links.one], 3, axis=1)[links.clear]
        b = np.tile(corners[links.other], (1, 3))[links.clear]
        return self.routes.along(self.places, a, b, *self.pieces)

    def _near(self, one: Ints, other: Ints) -> tuple[Ints, Ints]:
        """Drop pairs that the shortest ways rule out."""
        radius, centre, role = self.shapes.radius, self.shapes.centre, self.cells.role
        gap = radius[one] + radius[other]
        apart = self.metre * np.maximum(np.hypot(*(centre[one] - centre[other]).T) - gap, 0.0)
        bends = (role[one] == GROUND) * 1.0 + (role[other] == GROUND)
        near = apart + self.reached.through_pairs(one, other, self.dear) + bends * self.bend <= self.ceiling
        return one[near], other[near]

    def _looked_at(self, one: Ints, other: Ints) -> Links:
        """Drop pairs that do not see each other; price the others."""
        role = self.cells.role
        exempt = np.zeros((len(self.prices.axes), len(one)), bool)
        for end, zones in zip((START, GOAL), self.in_zone, strict=True):
            touches = (role[one] == end) | (role[other] == end)
            exempt |= np.array(zones, bool)[:, None] & touches[None]
        return self.prices.between(self.places, self.shapes, one, other, exempt)

    def _bounded(self, links: Links, most: float) -> Flags:
        """Raise the bound and tell which pairs may carry a trench that costs no more than ``most``."""
        always = max(self.direct + self.dear, self.floor)
        count = _MOST_LINKS
        if math.isfinite(most):
            count = max(1, min(count, math.floor((most - always) / self.bend + _ROUNDING) + 1))
        ends = (self.cells.role == START, self.cells.role == GOAL)
        left = np.ones(len(links.one), bool)
        while left.any():
            pairs = links.take(left)
            fields = [
                layers(pairs, self.shapes.at, self.metre, end, known.T, count)
                for end, known in zip(ends, self.reached.best, strict=True)
            ]
            bends = BendsOnTheWay(pairs, self.shapes.at, self.shapes.onward, ends, self.turning, count)
            whole, least = through(pairs, self.shapes.at, self.metre, fields, bends.least, always)
            self.bound = max(self.bound, min(least, always + count * self.bend, self.ceiling))
            kept = whole <= most
            left[left] = kept
            if kept.mean() > _FEW_GO:
                break
        return left

    def _finer(self, links: Links, left: Flags, error_m: float) -> tuple[Ints, Ints]:
        """Cut the cells of the pairs that are left where the error is large; return the pairs of their children."""
        one, other = links.one[left], links.other[left]
        error = np.zeros(len(self.cells.part))
        np.maximum.at(error, one, links.error_m[0, left])
        np.maximum.at(error, other, links.error_m[1, left])
        kept = self.cells.role != GROUND
        kept[one] = kept[other] = True
        split = kept & (error > error_m) & (self.shapes.radius > 0.0)
        self.cells, children = halved(self.places, self.cells, kept, split)
        self._measure()
        cut = np.flatnonzero(split & (children[:, 1] >= 0))
        pairs = [(children[one, x], children[other, y]) for x in (0, 1) for y in (0, 1)]
        pairs.append((children[cut, 0], children[cut, 1]))
        ones, others = (np.concatenate(ids) for ids in zip(*pairs, strict=True))
        real = (ones >= 0) & (others >= 0)
        return ones[real], others[real]
