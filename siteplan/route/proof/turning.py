"""What the bends of a trench cost at least by how far it turns, whatever its length.

From the leg at its start to some straight piece of it a trench turns by no less than the angle between the two, in one bend
or in several; and so from there to the leg at its goal. With k other pieces between the leg and the piece these are k bends
at least, and one more if there is one onto the leg. From leg to leg it turns by no less than the angle between these,
whichever way the pieces lie, with a bend at least between any two of them. The bend between the last piece and the one
before is the only one there, and no slighter than the directions from cell to cell of these two are apart. That counts as
much as what the bends cost one by one, at least the price of the slightest for each, from cell to cell.
"""

from __future__ import annotations

import math
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from siteplan.route.proof.links import Links
from siteplan.route.proof.sightlines import Floats, Ints
from siteplan.route.scene import Scene

_MOST_BENDS = 12
_SLACK = 2e-6
_TOUCHING_M = 1e-6

Flags = NDArray[np.bool_]
Way: TypeAlias = tuple[Ints, Ints, Floats]


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
        self.slightest = scene.bend_price
        self._one_bend = np.array([*(limit for limit, _ in classes), math.inf])
        self._one_price = np.array([*(price for _, price in classes), math.inf if classes else 0.0])
        classes = classes or [(math.pi, 0.0)]
        by_count = [[(0.0, 0.0)]]
        for _ in range(_MOST_BENDS):
            onward = [
                (min(turned + limit, math.pi), price + more)
                for turned, price in by_count[-1]
                for limit, more in classes
            ]
            by_count.append(_undominated(onward))
        # more bends than these cost no less than that many of the slightest
        any_more = [(math.pi, (_MOST_BENDS + 1) * self.slightest)]
        self._tables = []
        for fewest in range(_MOST_BENDS + 1):
            table = _undominated([each for found in by_count[fewest:] for each in found] + any_more)
            angles, prices = np.array(table).T
            self._tables.append((angles, prices))

    def price(self, angles: Floats, fewest: int = 0) -> Floats:
        """Return the least price of turning by these angles [radians] in so many bends or more; never too high."""
        limits, by_limit = self._tables[min(fewest, _MOST_BENDS)]
        reached = np.minimum(np.searchsorted(limits, angles - _SLACK), len(limits) - 1)
        prices: Floats = by_limit[reached]
        return prices

    def one_bend(self, angles: Floats) -> Floats:
        """Return the least price of a bend that turns by these angles or more; infinite if none is made so sharp."""
        prices: Floats = self._one_price[np.searchsorted(self._one_bend, angles - _SLACK)]
        return prices


def _undominated(found: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """Leave out angles that can be turned by, or by more, for no higher price; ascending."""
    kept: list[tuple[float, float]] = []
    for angle, price in sorted(found, key=lambda each: (-each[0], each[1])):
        if not kept or price < kept[-1][1]:
            kept.append((angle, price))
    return kept[::-1]


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

    def least_between(self, one: Ints, one_way: int, other: Ints, other_way: int) -> Floats:
        """Return the least angles between segments of some pairs and of others (k,), each gone along there (0) or back (1)."""
        off = self.middle[other] - self.middle[one] + math.pi * (other_way - one_way)
        off = np.remainder(off + math.pi, math.tau) - math.pi
        low, high = off + self.low[other] - self.high[one], off + self.high[other] - self.low[one]
        within = (low <= 0.0) & (high >= 0.0)
        nearest = np.minimum(np.abs(low), np.abs(high))
        nearest = np.minimum(nearest, math.tau - np.maximum(np.abs(low), np.abs(high)))
        return np.where(self.known[one] & self.known[other] & ~within, nearest, 0.0)


class BendsOnTheWay:
    """The least prices of the bends before and after a straight piece between each pair of cells.

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
        The most straight pieces there are in all, at least 1.
    """

    def __init__(
        self,
        links: Links,
        at: Floats,
        onward: Floats,
        ends: tuple[Flags, Flags],
        turning: Turning,
        count: int,
    ) -> None:
        self._turning = turning
        directions = Directions(at, links)
        met = np.zeros(len(at), bool)
        met[links.one] = met[links.other] = True
        self._by_leg: list[list[tuple[Floats, list[list[Floats]]]]] = []
        for end, sign in zip(ends, (-1.0, 1.0), strict=True):
            ways = [(links.one, links.other, links.legs[0]), (links.other, links.one, links.legs[1])]
            if sign > 0.0:  # from the goal the pieces are gone through the other way
                ways = [
                    (into, out_of, leg) for (out_of, into, _), leg in zip(ways, links.legs[::-1], strict=True)
                ]
            found = []
            joints = [_Joints(directions, end, ways, way, turning) for way in (0, 1)] if count > 1 else []
            for leg in np.unique(onward[end & met], axis=0):
                mine = end & (onward == leg).all(axis=1)
                turns = [_turns(directions, sign * leg, back=back) for back in (False, True)]
                found.append((sign * leg, _layers(end, mine, ways, turns, joints, turning, count)))
            self._by_leg.append(found)

    def least(self, way: int, before: int, after: int, pairs: Ints) -> Floats:
        """Return the least price of all bends of a trench, infinite where there is none.

        Parameters
        ----------
        way : int
            0: along the pairs from the first cell to the second, 1: the other way.
        before, after : int
            How many other straight pieces there are between the start and the piece, and from there to the goal.
        pairs : ndarray of int
            Which pairs.
        """
        least = np.full(len(pairs), np.inf)
        for leg, come in self._by_leg[0]:
            for last, go in self._by_leg[1]:
                bends = come[way][before][pairs] + go[way][after][pairs]
                np.minimum(least, np.maximum(bends, self._between(leg, last, before + after)), out=least)
        return least

    def _between(self, leg: Floats, last: Floats, fewest: int) -> float:
        """Return the least price of turning from one heading to another."""
        if not leg.any() or not last.any():
            return 0.0
        angle = math.atan2(abs(leg[0] * last[1] - leg[1] * last[0]), float(leg @ last))
        return float(self._turning.price(np.array([angle]), fewest)[0])


def _turns(directions: Directions, heading: Floats, *, back: bool) -> Floats:
    """Return the least angles (pairs,) between a heading and the segments between pairs, there or back; 0 for no heading."""
    if not heading.any():
        return np.zeros(len(directions.middle))
    return directions.least_turns(heading, back=back)


class _Joints:
    """The bends between the pieces at an end and those next to them, these gone along one way.

    Parameters
    ----------
    directions : Directions
        Of the pairs.
    end : ndarray of bool
        The cells of the end.
    ways : list
        By way: the cell nearer to the end, the other one, and the price of the bend onto the leg.
    way : int
        The way along the pieces that are not at the end.
    turning : Turning
        The prices of bends.
    """

    def __init__(
        self, directions: Directions, end: Flags, ways: list[Way], way: int, turning: Turning
    ) -> None:
        self._count = len(directions.middle)
        self._joints = []
        near = ways[way][0]
        for last_way, (out_of, into, _) in enumerate(ways):
            at_end = np.flatnonzero(end[out_of])
            at_end = at_end[np.argsort(into[at_end], kind="stable")]
            first, beyond = (np.searchsorted(into[at_end], near, side=side) for side in ("left", "right"))
            number = beyond - first
            pieces = np.repeat(np.arange(self._count), number)
            starts = np.cumsum(number) - number
            last = at_end[np.repeat(first - starts, number) + np.arange(len(pieces))]
            bends = turning.one_bend(directions.least_between(pieces, way, last, last_way))
            used = np.flatnonzero(number)
            self._joints.append((last, np.maximum(bends, turning.slightest), used, starts[used]))

    def least(self, at_end: list[Floats]) -> Floats:
        """Return the least prices of a bend and the one onto the leg, given these by way and pair."""
        least = np.full(self._count, np.inf)
        for price, (last, bends, used, starts) in zip(at_end, self._joints, strict=True):
            if len(used):
                onto = np.minimum.reduceat(bends + price[last], starts)
                least[used] = np.minimum(least[used], onto)
        return least


def _layers(
    end: Flags,
    mine: Flags,
    ways: list[Way],
    turns: list[Floats],
    joints: list[_Joints],
    turning: Turning,
    count: int,
) -> list[list[Floats]]:
    """Return the least prices of the bends from an end to the pairs by way and by how many pieces there are between."""
    prices = [[np.where(mine[out_of], leg, np.inf)] for out_of, _, leg in ways]
    reached = np.full(len(end), np.inf)
    for between in range(1, count):
        onward = reached + turning.slightest
        for way, (_, into, _) in zip(prices, ways, strict=True):
            np.minimum.at(onward, into, way[-1])
        onward[end] = np.inf
        reached = onward
        bends = [
            np.maximum(reached[out_of] + turning.slightest, turning.price(turn, between))
            for (out_of, _, _), turn in zip(ways, turns, strict=True)
        ]
        if between == 1:
            at_end = [way[0] for way in prices]
            bends = [
                np.maximum(price, joint.least(at_end)) for price, joint in zip(bends, joints, strict=True)
            ]
        for way, price in zip(prices, bends, strict=True):
            way.append(price)
    return prices
