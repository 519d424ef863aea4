"""What all the ways between the cells of a net cost, at least and in truth."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from siteplan.route.between import Goal
from siteplan.route.proof.cell_pairs import touching
from siteplan.route.proof.convex import Floats
from siteplan.route.proof.intervals import Ways, bored, bored_rate, dug, steep, touching_share, ways_between
from siteplan.route.proof.net import Net
from siteplan.route.proof.regions import NEAR_M, Regions, beside
from siteplan.route.proof.tolls import Tolls
from siteplan.route.scene import Scene

Flags = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class WayPrices:
    """Prices by pair of cells and combination of their ends, (n, 4), and by cell.

    Attributes
    ----------
    least : ndarray
        A potential must not rise by more.
    price : ndarray
        Price of the straight way itself; infinite where it may not be gone.
    metre : ndarray
        By how much that grows with each metre.
    along : ndarray
        (cells,): a potential must not rise by more from end to end of a cell; infinite where one may not go along it.
    along_price : ndarray
        (cells,): price of going along the cell.
    """

    least: Floats
    price: Floats
    metre: Floats
    along: Floats
    along_price: Floats


class Pricing:
    """Prices the ways between two places over a scene."""

    def __init__(self, scene: Scene, regions: Regions, tolls: Tolls, start: Goal, goal: Goal) -> None:
        self._regions = regions
        self._tolls = tolls
        self._rates: Floats = np.array([region.rate for region in regions.regions], float)
        self._slabs = list(_slabs(scene, regions, start, goal))
        self._beds = [(number, region.bore) for number, region in enumerate(regions.regions) if region.bore]
        self._edge_rates: Floats = np.array([edge.rate for edge in regions.edges], float)
        self._ending = {
            number: np.array([number in edge.homes for edge in regions.edges], bool)
            for number, _ in self._beds
        }

    def of(self, net: Net) -> WayPrices:
        """Price all ways of a net."""
        pairs = net.pairs
        ends = net.cells.ends[pairs.cells].reshape(-1, 4)
        ways = ways_between(net.at[ends])
        rate = self._rates[pairs.region]
        least, price = dug(ways, rate)
        metre = np.repeat(rate[:, None], 4, axis=1)
        for members, along, cosine, _ in self._slabs:
            mine = np.flatnonzero(members[pairs.region])
            if len(mine):
                here = ways.take(mine)
                least[mine] = steep(here, least[mine], rate[mine], along, cosine)
                price[mine] = np.where(_too_flat(here, along, cosine), np.inf, price[mine])
        for number, bore in self._beds:
            mine = np.flatnonzero(pairs.region == number)
            here = ways.take(mine)
            least[mine], price[mine] = bored(here, bore)
            price[mine] = np.where(self._flat_in_slab(here), np.inf, price[mine])
            metre[mine] = bore.per_m.price
        if len(self._tolls.toll):
            aside = net.aside[ends]
            least += self._tolls.between(aside)[:, None]
            one, other = (nodes.reshape(-1) for nodes in net.corners())
            price += self._tolls.on_ways(net.aside[one], net.aside[other]).reshape(-1, 4)
        rates_along = self._rates_along(net)
        along_price = np.full(len(net.cells), np.inf)
        on_edge = net.on_edge
        along_price[on_edge] = rates_along[on_edge] * net.length_m[on_edge]
        return WayPrices(least, price, metre, self._shares(net, rates_along) * along_price, along_price)

    def _flat_in_slab(self, ways: Ways) -> Flags:
        """Tell which straight ways between ends lie too flat beside some axis."""
        flat = np.zeros(ways.apart_m.shape, bool)
        for _, along, cosine, slab in self._slabs:
            pair, corner = np.nonzero(_too_flat(ways, along, cosine) & ~flat)
            tails, heads = ways.ends[pair, corner // 2], ways.ends[pair, 2 + corner % 2]
            lines = shapely.linestrings(np.stack([tails, heads], axis=1))
            flat[pair, corner] = shapely.intersects(slab, lines)
        return flat

    def _rates_along(self, net: Net) -> Floats:
        """Least price of a metre along each cell of an edge, dug on the cheaper side or bored."""
        line = np.where(net.on_edge, net.cells.line, 0)
        rates = (
            np.where(net.on_edge, self._edge_rates[line], np.inf)
            if len(self._edge_rates)
            else np.full(len(line), np.inf)
        )
        for number, bore in self._beds:
            mine = np.flatnonzero(net.on_edge)
            mine = mine[self._ending[number][line[mine]]]
            rates[mine] = np.minimum(rates[mine], bored_rate(bore, net.length_m[mine]))
        return rates

    def _shares(self, net: Net, rates_along: Floats) -> Floats:
        """By what share the slope along each cell must be cut for the cells that it touches."""
        shares = np.ones(len(net.cells))
        pairs = net.pairs.take(net.pairs.shared & ~net.pairs.far_cut)
        if not len(pairs):
            return shares
        places = net.at[touching(net.cells.ends[pairs.cells])]
        rate = self._rates[pairs.region]
        longest_m = np.max(
            [np.hypot(*(places[:, i] - places[:, j]).T) for i, j in ((0, 1), (0, 2), (1, 2))], axis=0
        )
        for number, bore in self._beds:
            mine = pairs.region == number
            rate[mine] = bored_rate(bore, longest_m[mine])
        needed = touching_share(places, rates_along[pairs.cells], rate)
        for side in range(2):
            np.minimum.at(shares, pairs.cells[:, side], needed)
        return shares


def _slabs(
    scene: Scene, regions: Regions, start: Goal, goal: Goal
) -> Iterator[tuple[Flags, Floats, float, BaseGeometry]]:
    """Give the ground beside each straight piece of axis with a least angle: its regions, direction, cosine, area.

    A line in whose zone the trench starts or ends is left out: its first and last straight may lie at any angle.
    """
    number = len(scene.crossed)
    for crossed in scene.crossed:
        spared = any(crossed.zone.distance(place) < NEAR_M for place in (start, goal))
        for along, slab in beside(crossed):
            members = np.array([number in region.beside for region in regions.regions], bool)
            if not spared and members.any():
                yield (
                    members,
                    np.array(along),
                    float(np.cos(np.radians(crossed.least_angle_deg))),
                    _inner(slab),
                )
            number += 1


def _inner(slab: BaseGeometry) -> BaseGeometry:
    """Leave out the edge of an area."""
    inner = slab.buffer(-NEAR_M, join_style="mitre")
    shapely.prepare(inner)
    return inner


def _too_flat(ways: Ways, along: Floats, cosine: float) -> Flags:
    """Tell which straight ways between ends lie flatter than the least angle."""
    a, b, c, d = (ways.ends[:, k] @ along for k in range(4))
    rise = np.abs(np.stack([y - x for x in (a, b) for y in (c, d)], axis=1))
    flat: Flags = rise > ways.apart_m * cosine * (1 + 1e-9)
    return flat
