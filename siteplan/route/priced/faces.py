"""The ground cut where its price changes."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from siteplan.route.mesh import Floats, Ints
from siteplan.route.priced.zones import ASIDE_M, NEAR_M
from siteplan.route.scene import Patch, Scene

SLIVER_M2 = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class Borders:
    """Straight edges between ground of different prices.

    Attributes
    ----------
    start, end : array (n, 2)
        Metres.
    left, right : array (n,)
        Price of a metre of trench on either side of the edge, seen from its start.
    outer : array of int (n,)
        1 if the free ground ends at the edge and lies to the right of it, -1 if to the left, else 0.
    """

    start: Floats
    end: Floats
    left: Floats
    right: Floats
    outer: Ints


def rate(scene: Scene, patches: tuple[Patch, ...]) -> float:
    """Return the price of a metre of trench, dug where these patches lie over each other.

    Examples
    --------
    >>> from shapely import box
    >>> from siteplan.route.scene import Charge
    >>> price = {p: Charge(row="", price=p) for p in (4.0, 6.0, 9.0)}
    >>> field = Scene(free=box(0, 0, 9, 9), dig=price[6.0], restore=price[4.0])
    >>> rate(field, (Patch(feature="walk", area=field.free, dig=price[4.0], restore=price[9.0]),))
    13.0
    """
    digs = [patch.dig.price for patch in patches if patch.dig]
    restores = [patch.restore.price for patch in patches if patch.restore]
    return max(digs, default=scene.dig.price) + max(restores, default=scene.restore.price)


def least_rate(scene: Scene) -> float:
    """Return a price below which no metre of trench costs, dug or bored."""
    digs = [patch.dig.price for patch in scene.patches if patch.dig]
    restores = [patch.restore.price for patch in scene.patches if patch.restore]
    bored = [patch.bore.per_m.price for patch in scene.patches if patch.bore]
    dug = min([scene.dig.price, *digs]) + min([scene.restore.price, *restores])
    return min([dug, *bored])


def borders(scene: Scene) -> Borders:
    """Return the edges at which the price of digging changes, bores and shut ground left out of account."""
    patches = [patch for patch in scene.patches if patch.dig or patch.restore]
    areas = np.array([patch.area for patch in patches], dtype=object)
    sides: dict[tuple[float, ...], list[float]] = {}
    for ring, price in _rings(scene, patches, areas):
        for here, there in pairwise(ring):
            edge, back = (*here, *there), (*there, *here)
            if back in sides:
                sides[back][1] = price
            else:
                sides[edge] = [price, scene.plain]
    kept = [(edge, side) for edge, side in sides.items() if side[0] != side[1]]
    ends = np.array([edge for edge, _ in kept], dtype=float).reshape(-1, 4)
    prices = np.array([side for _, side in kept], dtype=float).reshape(-1, 2)
    return Borders(
        start=ends[:, :2],
        end=ends[:, 2:],
        left=prices[:, 0],
        right=prices[:, 1],
        outer=_outer(scene.free, ends[:, :2], ends[:, 2:]),
    )


def _outer(free: BaseGeometry, start: Floats, end: Floats) -> Ints:
    """Tell on which side of edges the free ground ends."""
    middle, along = (start + end) / 2, end - start
    outer = np.zeros(len(start), dtype=np.int64)
    at = np.flatnonzero(shapely.dwithin(free.boundary, shapely.points(middle), NEAR_M))
    across = ASIDE_M * along[at][:, ::-1] * (-1.0, 1.0) / np.hypot(along[at, 0], along[at, 1])[:, None]
    on_left = shapely.intersects_xy(free, *(middle[at] + across).T)
    on_right = shapely.intersects_xy(free, *(middle[at] - across).T)
    outer[at] = on_right.astype(np.int64) - on_left.astype(np.int64)
    return outer


def _rings(
    scene: Scene, patches: list[Patch], areas: np.ndarray
) -> list[tuple[list[tuple[float, float]], float]]:
    """Give the rings of all faces, the face on the left, with its price."""
    if not patches:
        return []
    noded = shapely.union_all([*shapely.boundary(areas), scene.free.boundary])
    faces = shapely.get_parts(shapely.polygonize(shapely.get_parts(noded)))
    faces = shapely.orient_polygons(faces[shapely.area(faces) > SLIVER_M2])
    tree = shapely.STRtree(areas)
    face, patch = tree.query(shapely.point_on_surface(faces), predicate="within")
    over: list[list[Patch]] = [[] for _ in faces]
    for i, j in zip(face.tolist(), patch.tolist(), strict=True):
        over[i].append(patches[j])
    return [
        (list(ring.coords), rate(scene, tuple(above)))
        for area, above in zip(faces, over, strict=True)
        for ring in (area.exterior, *area.interiors)
    ]
