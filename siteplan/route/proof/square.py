"""The bend onto the last leg, which stands square to the wall.

From a start or an end at walls a trench goes on square to the wall outside of the free ground. The directions of all segments
between two convex cells that do not touch span less than half a turn, and those of the corner segments are the outermost of
them. So if the leg is not among these directions, every straight piece makes a bend with it, no slighter than the outermost
direction next to it does.
"""

from __future__ import annotations

import math

import numpy as np
import shapely
from numpy.typing import NDArray

from siteplan.route.approach import Approach
from siteplan.route.proof.sightlines import Floats
from siteplan.route.scene import Scene

_ON_M = 1e-5
_SLACK_DEG = 1e-4
_TOUCHING_M = 1e-6


def legs_at(approach: Approach, triangles: Floats) -> Floats:
    """Return how the trench goes on from some cells of a start or an end, (n, 2), metres; zero where it has no leg."""
    middles = shapely.points(triangles.mean(axis=1))
    onward = np.zeros((len(triangles), 2))
    nearest = np.full(len(triangles), math.inf)
    for place, leg in approach.places:
        away_m = shapely.distance(place, middles)
        here = away_m < np.minimum(nearest, _ON_M)
        onward[here], nearest[here] = leg, away_m[here]
    return onward


def leg_bends(scene: Scene, ends: Floats, others: Floats, onward: Floats) -> tuple[Floats, Floats]:
    """Return what the bend between the leg and any straight piece costs at least, infinite where none is made so sharp.

    And by how much it is more between the corners, on average.

    Parameters
    ----------
    ends, others : ndarray
        (n, 3, 2): cells of a start or an end, and the cells that the piece comes from.
    onward : ndarray
        (n, 2): the leg on from each end; zero: none.

    Examples
    --------
    >>> from siteplan.route.scene import Charge
    >>> dig, slight, sharp = (Charge(row="", price=price) for price in (1.0, 15.0, 40.0))
    >>> scene = Scene(free=shapely.box(-9, -9, 9, 9), dig=dig, restore=dig, bends=((22.5, slight), (90.0, sharp)))
    >>> wall = np.array([[[-1.0, 0.0], [1.0, 0.0], [1.0, 0.0]]] * 3)
    >>> below = np.array([[[0.0, -5.0]] * 3, [[4.0, -9.0]] * 3, [[6.0, -4.0]] * 3])
    >>> leg_bends(scene, wall, below, np.array([[0.0, 1.0]] * 3))[0].tolist()
    [0.0, 15.0, 40.0]
    """
    if not scene.bends:
        return np.zeros(len(ends)), np.zeros(len(ends))
    along = (ends[:, None] - others[:, :, None]).reshape(-1, 9, 2)
    forth = np.einsum("nij,nj->ni", along, onward)
    aside = onward[:, None, 0] * along[..., 1] - onward[:, None, 1] * along[..., 0]
    turn = np.degrees(np.arctan2(aside, forth))
    low, high = turn.min(axis=1), turn.max(axis=1)
    apart = np.hypot(along[..., 0], along[..., 1]).min(axis=1) > _TOUCHING_M
    known = (onward != 0.0).any(axis=1) & apart & _spans_less_than_half_a_turn(along)
    around = high - low > 180.0
    least = np.where((low <= 0.0) & (high >= 0.0) & ~around, 0.0, np.abs(turn).min(axis=1)) - _SLACK_DEG
    due = np.where(known, _charged(scene, least), 0.0)
    own = _charged(scene, np.abs(turn) - _SLACK_DEG)
    highest = np.where(np.isfinite(own), own, scene.bends[-1][1].price).mean(axis=1)
    return due, np.where((onward != 0.0).any(axis=1) & np.isfinite(due), np.maximum(highest - due, 0.0), 0.0)


def _charged(scene: Scene, turn: Floats) -> Floats:
    """Return the price of bends so sharp [degrees]."""
    due, limit = np.zeros(turn.shape), _SLACK_DEG
    for largest, price in [
        *((largest, charge.price) for largest, charge in scene.bends),
        (math.inf, math.inf),
    ]:
        due = np.where(turn > limit, price, due)
        limit = largest
    return due


def _spans_less_than_half_a_turn(along: Floats) -> NDArray[np.bool_]:
    """Tell whether directions (n, m, 2) all lie within half a turn: their hull then holds no zero."""
    angles = np.sort(np.arctan2(along[..., 1], along[..., 0]), axis=1)
    around = np.concatenate([angles, angles[:, :1] + math.tau], axis=1)
    within: NDArray[np.bool_] = np.diff(around, axis=1).max(axis=1) > math.pi + 1e-6
    return within
