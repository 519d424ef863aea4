"""Where two scenes differ, and what stays clear of that."""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from siteplan.route.mesh import Floats
from siteplan.route.scene import Scene

_BESIDE_M = 1e-3
"""Boxes reach so far beyond what changed."""


def changed_boxes(scene: Scene, former: Scene) -> Floats | None:
    """Return boxes that hold all ground where two scenes differ.

    Returns
    -------
    array (k, 4) or None
        Least x and y, greatest x and y of each; None if a price that holds everywhere is not the same.

    Examples
    --------
    >>> from shapely import box
    >>> from siteplan.route.scene import Charge
    >>> dig = Charge(row="", price=1.0)
    >>> field, yard = (Scene(free=free, dig=dig, restore=dig) for free in (box(0, 0, 9, 9), box(0, 0, 9, 7)))
    >>> changed_boxes(field, yard).round(2).tolist()
    [[-0.0, 7.0, 9.0, 9.0]]
    """
    if (scene.dig, scene.restore, scene.bends) != (former.dig, former.restore, former.bends):
        return None
    areas: list[BaseGeometry] = [scene.free.symmetric_difference(former.free)]
    for here, there in ((scene, former), (former, scene)):
        areas += [patch.area for patch in here.patches if patch not in there.patches]
        for line in here.crossed:
            if line not in there.crossed:
                areas += [line.axis, line.zone]
    parts = shapely.get_parts(shapely.get_parts(np.array(areas, dtype=object)))
    return grown(shapely.bounds(parts[~shapely.is_empty(parts)]).reshape(-1, 4), _BESIDE_M)


def grown(boxes: Floats, by_m: float) -> Floats:
    """Return boxes larger on every side."""
    larger: Floats = boxes + by_m * np.array([-1.0, -1.0, 1.0, 1.0])
    return larger


def clear(starts: Floats, ends: Floats, boxes: Floats) -> NDArray[np.bool_]:
    """Tell which links meet no box.

    Examples
    --------
    >>> starts, ends = np.array([[0.0, 0.0], [0.0, 0.0]]), np.array([[9.0, 9.0], [9.0, 1.0]])
    >>> clear(starts, ends, np.array([[4.0, 3.0, 6.0, 5.0]])).tolist()
    [False, True]
    """
    free = np.ones(len(starts), dtype=bool)
    along = ends - starts
    low, high = np.minimum(starts, ends), np.maximum(starts, ends)
    for box in boxes:
        apart = (high < box[:2]).any(axis=1) | (low > box[2:]).any(axis=1)
        aside = np.stack(
            [
                along[:, 0] * (y - starts[:, 1]) - along[:, 1] * (x - starts[:, 0])
                for x, y in box[[[0, 1], [2, 1], [2, 3], [0, 3]]]
            ]
        )
        free &= apart | (aside > 0.0).all(axis=0) | (aside < 0.0).all(axis=0)
    return free
