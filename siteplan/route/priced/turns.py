"""The prices of bends, many at a time."""

from __future__ import annotations

import math

import numpy as np

from siteplan.route.mesh import Floats
from siteplan.route.priced.bill import STRAIGHT_DEG
from siteplan.route.scene import Scene


class Turns:
    """Prices bends by their deflection, as ``Scene.bend_charge`` does one at a time."""

    def __init__(self, scene: Scene) -> None:
        limits = [limit_deg + 1e-9 for limit_deg, _ in scene.bends] or [360.0]
        self._limits_deg = np.array([STRAIGHT_DEG, *limits])
        self._prices = np.array([0.0, *([charge.price for _, charge in scene.bends] or [0.0]), math.inf])
        self.least = scene.bend_price

    def prices(self, before: Floats, after: Floats) -> Floats:
        """Price the bends between directions.

        Parameters
        ----------
        before, after : array (..., 2)
            Directions, of any length; one without length makes no bend.

        Returns
        -------
        array (...)
            Price; infinite for a sharper bend than is made.

        Examples
        --------
        >>> from shapely import box
        >>> from siteplan.route.scene import Charge
        >>> dig, bend = Charge(row="", price=1.0), Charge(row="", price=30.0)
        >>> turns = Turns(Scene(free=box(0, 0, 9, 9), dig=dig, restore=dig, bends=((45.0, bend),)))
        >>> turns.prices(np.array([1.0, 0.0]), np.array([[2.0, 0.0], [1.0, 1.0], [0.0, 1.0]])).tolist()
        [0.0, 30.0, inf]
        >>> turns.prices(np.zeros(2), np.array([-1.0, -1.0])).tolist()
        0.0
        """
        cross = before[..., 0] * after[..., 1] - before[..., 1] * after[..., 0]
        dot = before[..., 0] * after[..., 0] + before[..., 1] * after[..., 1]
        turn_deg = np.degrees(np.arctan2(np.abs(cross), dot + 0.0))  # -0.0 would make half a turn of no turn
        found: Floats = self._prices[np.searchsorted(self._limits_deg, turn_deg)]
        return found
