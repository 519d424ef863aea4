"""What coming to cells from either end costs at least, bends free, and so a trench by way of a cell or of a pair of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from siteplan.route.approach import Approach
from siteplan.route.proof.cells import GOAL, START, Cells
from siteplan.route.proof.ground_fields import GroundFields
from siteplan.route.proof.link_prices import Shapes, shapes_of
from siteplan.route.proof.sightlines import Floats, Ints
from siteplan.route.proof.square import legs_at
from siteplan.route.proof.taut_prices import TautPrices


@dataclass(frozen=True, slots=True, kw_only=True)
class Reached:
    """Where cells are, and the least prices of reaching them.

    Attributes
    ----------
    shapes : Shapes
        Where the cells are.
    straight, over_ground : list of ndarray
        From the start and from the goal, at the corners of the cells, (n, 3) each: by the shortest ways with their tolls, and
        over the priced ground. Each may be interpolated over a cell, and no mixture of the two.
    best : list of ndarray
        The same: cell by cell, whichever of the two is higher on average.
    """

    shapes: Shapes
    straight: list[Floats]
    over_ground: list[Floats]
    best: list[Floats]

    def through_cells(self) -> Floats:
        """Return the least price (n,) of a trench by way of each cell."""
        ways: list[Floats] = [(there + back).min(axis=1) for there, back in (self.straight, self.over_ground)]
        return np.maximum(*ways)

    def through_pairs(self, one: Ints, other: Ints, dear: float) -> Floats:
        """Return the least prices (pairs,) of reaching both cells of pairs, each from its own end.

        ``dear`` is what ground that cannot be avoided costs on top of the shortest ways.
        """
        ways: list[Floats] = []
        for fields in (self.straight, self.over_ground):
            low = [least.min(axis=1) for least in fields]
            ways.append(np.minimum(low[0][one] + low[1][other], low[0][other] + low[1][one]))
        return np.maximum(ways[0] + dear, ways[1])


def reached(
    cells: Cells, taut: TautPrices, fields: GroundFields | None, approaches: Sequence[Approach | None]
) -> Reached:
    """Return what reaching some cells costs.

    Parameters
    ----------
    cells : Cells
        Their corners are places of ``taut``.
    taut, fields : TautPrices, GroundFields or None
        The shortest ways, and the priced ground if it is known.
    approaches : sequence of Approach or None
        How the trench goes on at the start and at the goal.
    """
    onward = np.zeros((len(cells.part), 2))
    for end, approach in zip((START, GOAL), approaches, strict=True):
        if approach:
            mine = cells.role == end
            onward[mine] = legs_at(approach, taut.places.at[cells.corners[mine]])
    shapes = shapes_of(taut.places, cells.corners, onward)
    straight = taut.of(cells, shapes)
    over_ground = fields.of(shapes) if fields else straight
    best = [
        np.where((other.sum(axis=1) > one.sum(axis=1))[:, None], other, one)
        for one, other in zip(straight, over_ground, strict=True)
    ]
    return Reached(shapes=shapes, straight=straight, over_ground=over_ground, best=best)
