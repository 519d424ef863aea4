"""What straight pieces of trench between cells cost at least: their length, surfaces, tolls and the bend onto a last leg.

A cell is a triangle, a piece of wall or a point. For every pair of cells the price is given at the nine pairs of corners, and
what is interpolated between them is below the price of every straight piece between the cells. It is the length
(``straight``) at the least price of a metre and what all these pieces pay more in dear ground (``dear``), with the tolls
that all of them pay (``straight``) and the bend that all of them make with the leg at an end (``square``). Pairs with a
blocker that cuts all nine segments (``sightlines``), and such as no piece may be laid between, are left out. The bends
onto legs are kept apart from the price.

So for any cells: ``shapes_of`` tells where they are, ``LinkPrices.between`` which pairs are left and what the pieces cost,
``links.layers`` the least prices of reaching the cells by one piece, by two, and so on, ``turning.BendsOnTheWay`` what
the bends cost, and ``links.through`` the price of whole trenches by way of each pair.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from siteplan.route.proof.cells import enclosing_circles
from siteplan.route.proof.dear import DearGround
from siteplan.route.proof.links import Links
from siteplan.route.proof.places import Places
from siteplan.route.proof.sightlines import Floats, Ints, one_cuts_all
from siteplan.route.proof.square import leg_bends
from siteplan.route.proof.straight import axes_of, least_lengths, tolls
from siteplan.route.scene import Scene

_HIDDEN = 0.25


@dataclass(frozen=True, slots=True, kw_only=True)
class Shapes:
    """Where cells are.

    Attributes
    ----------
    corners : ndarray of int
        (n, 3): places.
    at : ndarray
        (n, 3, 2), metres.
    centre, radius : ndarray
        (n, 2), (n,): the circles round them.
    onward : ndarray
        (n, 2): how a trench that ends in the cell goes on, straight; zero: it does not, or anyhow.
    """

    corners: Ints
    at: Floats
    centre: Floats
    radius: Floats
    onward: Floats


def shapes_of(places: Places, corners: Ints, onward: Floats | None = None) -> Shapes:
    """Return where cells are, given by their corners (n, 3), with the legs (n, 2) there may be on from them."""
    at = places.at[corners]
    centre, radius = enclosing_circles(at)
    legs = np.zeros((len(at), 2)) if onward is None else onward
    return Shapes(corners=corners, at=at, centre=centre, radius=radius, onward=legs)


class LinkPrices:
    """Prices straight pieces from below.

    Parameters
    ----------
    scene : Scene
        The prices.
    metre : float
        A price that no metre falls below.
    spare : float
        No bore is made that costs so much more than its metres at the least price.
    within : shapely geometry, optional
        Convex, with all cells in it; by default the free ground.

    Examples
    --------
    Two points 5 m from each other at 2 a metre.

    >>> from shapely import box
    >>> from siteplan.route.scene import Charge
    >>> dig, none = (Charge(row="", price=price) for price in (2.0, 0.0))
    >>> places = Places([])
    >>> shapes = shapes_of(places, places.add(np.array([[1.0, 1.0], [4.0, 5.0]]))[:, None].repeat(3, axis=1))
    >>> prices = LinkPrices(Scene(free=box(0, 0, 9, 9), dig=dig, restore=none), 2.0)
    >>> links = prices.between(places, shapes, np.array([0]), np.array([1]), np.zeros((0, 1), bool))
    >>> float(links.price.min()), float(links.price.max())
    (10.0, 10.0)
    """

    def __init__(
        self, scene: Scene, metre: float, spare: float = math.inf, within: BaseGeometry | None = None
    ) -> None:
        self.axes = axes_of(scene)
        self._scene, self._metre = scene, metre
        self._dear = DearGround(scene, metre, spare, within)

    def between(
        self, places: Places, shapes: Shapes, one: Ints, other: Ints, exempt: NDArray[np.bool_]
    ) -> Links:
        """Return the pairs of cells that a straight piece may join, and its least prices.

        Parameters
        ----------
        places : Places
            With the corners of the cells.
        shapes : Shapes
            The cells.
        one, other : ndarray of int
            (pairs,): the pairs.
        exempt : ndarray of bool
            (axes, pairs): whether the least angle to an axis does not matter for the pair.
        """
        bits = [
            places.cut(shapes.corners[one, x], shapes.corners[other, y]) for x in range(3) for y in range(3)
        ]
        seen = np.flatnonzero(~one_cuts_all(bits))
        due = tolls(self.axes, shapes.at, one[seen], other[seen], exempt[:, seen])
        lost, legs = np.zeros(len(seen)), np.zeros((2, len(seen)))
        for end, (near, far) in enumerate(((one[seen], other[seen]), (other[seen], one[seen]))):
            at_leg = np.flatnonzero((shapes.onward[near] != 0.0).any(axis=1))
            ends, others = shapes.at[near[at_leg]], shapes.at[far[at_leg]]
            bends, unsure = leg_bends(self._scene, ends, others, shapes.onward[near[at_leg]])
            legs[end, at_leg] = bends
            lost[at_leg] += unsure
        laid = np.isfinite(due) & np.isfinite(legs).all(axis=0)
        seen, due, legs, lost = seen[laid], due[laid], legs[:, laid], lost[laid]
        one, other = one[seen], other[seen]
        clear = np.stack([(bit[seen] == 0).all(axis=1) for bit in bits], axis=1)
        least = least_lengths(shapes.at, shapes.centre, shapes.radius, one, other)
        more, dear_lost = self._dear.more(shapes.at, one, other)
        apart_m = np.hypot(*(shapes.centre[one] - shapes.centre[other]).T)
        lost += dear_lost * apart_m
        wide = np.stack([shapes.radius[one], shapes.radius[other]])
        unsure_m = _HIDDEN * ~clear.all(axis=1) * wide + lost / max(self._metre, 1e-12) * wide / (
            wide.sum(axis=0) + 1e-12
        )
        return Links(
            one=one,
            other=other,
            price=(self._metre + more) * least.at_corners + due,
            due=due,
            legs=legs,
            least=(self._metre + more) * np.maximum(apart_m - wide.sum(axis=0), 0.0) + due,
            error_m=least.lost_m + unsure_m,
            clear=clear,
        )
