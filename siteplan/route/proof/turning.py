"""What the bends of a trench cost at least by how far it turns, whatever its length.

From the leg at its start to some straight piece of it a trench turns by no less than the angle between the two, in one bend
or in several; and so from there to the leg at its goal. That counts as much as what the bends cost one by one, at least the
price of the slightest for each, from cell to cell.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from siteplan.route.proof.links import Links
from siteplan.route.proof.sightlines import Floats, Ints
from siteplan.route.scene import Scene

_MOST_BENDS = 12
_SLACK = 2e-6
_TOUCHING_M = 1e-6

Flags = NDArray[np.bool_]


class Turning:
    """Prices of turning by so much, in one bend or in several.

    Parameters
    ----------
    scene : Scene
        The prices of bends.

    Examples
    --------
    Half a right angle in one bend, or two; a right angle in one of each.

    >>> from shapely import box
    >>> from siteplan.route.scene import Charge
    >>> dig, slight, sharp = (Charge(row="", price=price) for price in (1.0, 15.0, 35.0))
    >>> scene = Scene(free=box(0, 0, 9, 9), dig=dig, restore=dig, bends=((22.5, slight), (67.5, sharp)))
    >>> Turning(scene).price(np.radians([0.0, 10.0, 45.0, 67.5, 90.0])).tolist()
    [0.0, 15.0, 30.0, 35.0, 50.0]
    """

    def __init__(self, scene: Scene) -> None:
        classes = [(math.radians(limit_deg), charge.price) for limit_deg, charge in scene.bends]
        reached = {0.0: 0.0}
        found = dict(reached)
        for _ in range(_MOST_BENDS):
            onward: dict[float, float] = {}
            for turned, price in reached.items():
                for limit, more in classes:
                    angle = min(turned + limit, math.pi)
                    onward[angle] = min(onward.get(angle, math.inf), price + more)
            reached = {angle: price for angle, price in onward.items() if price < found.get(angle, math.inf)}
            found |= reached
        if not classes:
            found = {math.pi: 0.0}
        self._angles = np.array(sorted(found))
        by_angle = np.array([found[angle] for angle in self._angles])
        least = np.minimum.accumulate(by_angle[::-1])[::-1]
        self._prices = np.append(least, (_MOST_BENDS + 1) * scene.bend_price)
        self._prices = np.minimum(self._prices, self._prices[-1])
        self.slightest = scene.bend_price

    def price(self, angles: Floats) -> Floats:
        """Return the least price of turning by these angles [radians]; never too high."""
        prices: Floats = self._prices[np.searchsorted(self._angles, angles - _SLACK)]
        return prices

    def after(self, directions: Directions, leg: Floats, *, back: bool) -> Floats:
        """Return the least price of turning from a leg (2,) to the segments between pairs, there or back."""
        if not leg.any():
            return np.zeros(len(directions.middle))
        return self.price(directions.least_turns(leg, back=back))


class Directions:
    """The directions of all segments between pairs of cells, as angles [radians].

    Parameters
    ----------
    at : ndarray
        (n, 3, 2): the cells.
    links : Links
        The pairs.
    """

    def __init__(self, at: Floats, links: Links) -> None:
        x, y = at.transpose(2, 1, 0)
        one, other = links.one, links.other
        way_x = (x[None, :, other] - x[:, None, one]).reshape(9, -1)
        way_y = (y[None, :, other] - y[:, None, one]).reshape(9, -1)
        middle_x, middle_y = way_x.mean(axis=0), way_y.mean(axis=0)
        ahead = middle_x * way_x + middle_y * way_y
        aside = middle_x * way_y - middle_y * way_x
        # all ahead of the middle one: their hull does not hold the zero, and the outermost are among them
        self.known: Flags = (ahead > _TOUCHING_M * np.hypot(middle_x, middle_y)).all(axis=0)
        turn = np.arctan2(aside, ahead)
        self.middle: Floats = np.arctan2(middle_y, middle_x)
        self.low, self.high = turn.min(axis=0), turn.max(axis=0)

    def least_turns(self, leg: Floats, *, back: bool) -> Floats:
        """Return the least angles (pairs,) between a direction (2,) and the segments, there or back; 0 where not known."""
        off = self.middle - math.atan2(leg[1], leg[0]) + (math.pi if back else 0.0)
        off = np.remainder(off + math.pi, math.tau) - math.pi
        low, high = off + self.low, off + self.high
        within = (low <= 0.0) & (high >= 0.0)
        nearest = np.minimum(np.abs(low), np.abs(high))
        nearest = np.minimum(nearest, math.tau - np.maximum(np.abs(low), np.abs(high)))
        return np.where(self.known & ~within, nearest, 0.0)


def bends_on_the_way(
    links: Links, at: Floats, onward: Floats, ends: tuple[Flags, Flags], turning: Turning, count: int
) -> list[list[list[Floats]]]:
    """Return the least prices of the bends before and after a straight piece between each pair of cells.

    Parameters
    ----------
    links : Links
        The pairs; every straight piece is between one of them, or stays in a cell.
    at, onward : ndarray
        (n, 3, 2), (n, 2): the cells and the legs on from them.
    ends : tuple of ndarray of bool
        The cells (n,) of the start and of the goal.
    turning : Turning
        The prices of bends.
    count : int
        At least 1.

    Returns
    -------
    list
        [end][way][k]: prices (pairs,) of the bends between this end and a piece with k others between, along the pairs from
        the first cell to the second and the other way; infinite where there is none.
    """
    directions = Directions(at, links)
    met = np.zeros(len(at), bool)
    met[links.one] = met[links.other] = True
    found = []
    for end, sign in zip(ends, (-1.0, 1.0), strict=True):
        ways = [(links.one, links.other, links.legs[0]), (links.other, links.one, links.legs[1])]
        if sign > 0.0:  # from the goal the pieces are gone through the other way
            ways = [
                (into, out_of, leg) for (out_of, into, _), leg in zip(ways, links.legs[::-1], strict=True)
            ]
        none = np.full(len(links.one), np.inf)
        best = [[none] * count, [none] * count]
        for leg in np.unique(onward[end & met], axis=0):
            mine = end & (onward == leg).all(axis=1)
            turned = [turning.after(directions, sign * leg, back=back) for back in (False, True)]
            prices = _layers(end, mine, ways, turned, turning.slightest, count)
            best = [list(map(np.minimum, *both)) for both in zip(best, prices, strict=True)]
        found.append(best)
    return found


def _layers(
    end: Flags,
    mine: Flags,
    ways: list[tuple[Ints, Ints, Floats]],
    turned: list[Floats],
    slightest: float,
    count: int,
) -> list[list[Floats]]:
    """Return the least prices of the bends from an end to the pairs by how many pieces there are between."""
    prices = [[np.where(mine[out_of], leg, np.inf)] for out_of, _, leg in ways]
    reached = np.full(len(end), np.inf)
    for _ in range(count - 1):
        onward = reached + slightest
        for way, (_, into, _) in zip(prices, ways, strict=True):
            np.minimum.at(onward, into, way[-1])
        onward[end] = np.inf
        reached = onward
        for way, (out_of, _, _), price in zip(prices, ways, turned, strict=True):
            way.append(np.maximum(reached[out_of] + slightest, price))
    return prices
