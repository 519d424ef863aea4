"""What a link owes at least because its ends lie on different sides of something that splits the ground."""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from siteplan.route.mesh import Floats, Ints
from siteplan.route.priced.faces import least_rate
from siteplan.route.priced.zones import NEAR_M
from siteplan.route.scene import Patch, Scene


class Sides:
    """Lower bounds of the prices of links, from their ends alone.

    A patch that splits the land must be dug or bored across, a line must be crossed. Tolls add up; of the patches only the
    dearest counts, because they may lie over each other.

    Parameters
    ----------
    scene : Scene
        Metres.

    Attributes
    ----------
    least_rate : float
        No metre costs less, dug or bored.
    """

    def __init__(self, scene: Scene) -> None:
        self.least_rate = least_rate(scene)
        self._dig = min([scene.dig.price, *(patch.dig.price for patch in scene.patches if patch.dig)])
        self._restore = min(
            [scene.restore.price, *(patch.restore.price for patch in scene.patches if patch.restore)]
        )
        land = scene.free.envelope.buffer(1.0)
        self._split: list[tuple[np.ndarray, float, bool]] = []
        for patch in scene.patches:
            sides = _sides(land, patch.area)
            owed = self._across(patch, sides) if len(sides) > 1 else 0.0
            if owed > 0.0:
                self._split.append((sides, owed, False))
        for crossed in scene.crossed:
            sides = _sides(land, crossed.axis.buffer(NEAR_M))
            if len(sides) > 1 and crossed.toll.price > 0.0:
                self._split.append((sides, crossed.toll.price, True))

    def labels(self, places: Floats) -> Ints:
        """Return on which side of everything that splits the land each place is, -1 for on it: array (splits, n)."""
        labels = np.full((len(self._split), len(places)), -1)
        points = shapely.points(places)
        for row, (sides, _, _) in zip(labels, self._split, strict=True):
            for i, side in enumerate(sides):
                shapely.prepare(side)
                row[shapely.intersects(side, points)] = i
        return labels

    def least(self, here: Floats, labels_here: Ints, there: Floats, labels_there: Ints) -> Floats:
        """Return the least that a link between any of some places and any of others can cost: array (here, there)."""
        across = here[:, None] - there[None, :]
        least: Floats = self.least_rate * np.hypot(across[..., 0], across[..., 1])
        dearest = np.zeros_like(least)
        for one, other, (_, owed, adds) in zip(labels_here, labels_there, self._split, strict=True):
            apart = (one[:, None] != other[None, :]) & (one >= 0)[:, None] & (other >= 0)[None, :]
            if adds:
                least += apart * owed
            else:
                np.maximum(dearest, apart * owed, out=dearest)
        least += dearest
        return least

    def _across(self, patch: Patch, sides: np.ndarray) -> float:
        """Return what it costs at least to go across a patch, more than ground at the least rate."""
        first, second = np.triu_indices(len(sides), 1)
        width_m = float(np.min(shapely.distance(sides[first], sides[second])))
        dig = patch.dig.price if patch.dig else self._dig
        restore = patch.restore.price if patch.restore else self._restore
        prices = [] if patch.shut else [(dig + restore) * width_m]
        if patch.bore:
            prices.append(patch.bore.price(width_m))
        return min(prices, default=0.0) - self.least_rate * width_m


def _sides(land: BaseGeometry, splitter: BaseGeometry) -> np.ndarray:
    """Return the parts of the land that something leaves; the land whole if it does not reach across it."""
    if not splitter.intersects(land.exterior):
        return np.array([land])
    sides: np.ndarray = shapely.get_parts(land.difference(splitter))
    return sides
