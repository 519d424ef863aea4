"""The ground cut where its price changes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from siteplan.route.mesh import Floats, Ints
from siteplan.route.priced.zones import ASIDE_M, NEAR_M
from siteplan.route.scene import Patch, Scene

SLIVER_M2 = 1e-9

GRID_M = 2e-8
"""Where edges run along each other, corners are put on a grid of this [m], so that all are cut into the same pieces."""


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
    edges, price = _edges(scene, patches, areas)
    ends = np.concatenate([edges[:, :2], edges[:, 2:]])
    _, number = np.unique(ends.view(np.complex128)[:, 0], return_inverse=True)
    here, there = number.reshape(2, -1)
    _, first, pair = np.unique(
        np.minimum(here, there) * len(ends) + np.maximum(here, there), return_index=True, return_inverse=True
    )
    right = np.full(len(first), float(scene.plain))
    second = np.delete(np.arange(len(edges)), first)
    right[pair[second]] = price[second]
    left = price[first]
    kept = (left != right).nonzero()[0]
    kept = kept[first[kept].argsort()]
    start, end = edges[first[kept], :2], edges[first[kept], 2:]
    return Borders(
        start=start, end=end, left=left[kept], right=right[kept], outer=_outer(scene.free, start, end)
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


def _edges(scene: Scene, patches: list[Patch], areas: np.ndarray) -> tuple[Floats, Floats]:
    """Give the edges of all faces, array (n, 4), the face on the left, with its price."""
    if not patches:
        return np.zeros((0, 4)), np.zeros(0)
    lines = np.array([*shapely.boundary(areas), scene.free.boundary], dtype=object)
    noded = shapely.union_all(lines, grid_size=GRID_M if _touch(lines) else None)
    faces = shapely.get_parts(shapely.polygonize(shapely.get_parts(noded)))
    faces = shapely.orient_polygons(faces[shapely.area(faces) > SLIVER_M2])
    tree = shapely.STRtree(areas)
    face, patch = tree.query(shapely.point_on_surface(faces), predicate="within")
    over: list[list[Patch]] = [[] for _ in faces]
    for i, j in zip(face.tolist(), patch.tolist(), strict=True):
        over[i].append(patches[j])
    rings, of = shapely.get_rings(faces, return_index=True)
    places, ring = shapely.get_coordinates(rings, return_index=True)
    same = ring[:-1] == ring[1:]
    price = np.array([rate(scene, tuple(above)) for above in over])[of[ring[:-1][same]]]
    return np.hstack([places[:-1][same], places[1:][same]]), price


def _touch(lines: np.ndarray) -> bool:
    """Tell whether a corner of some lines lies on an edge of another or nearly so, and is no corner of it."""
    places, line = shapely.get_coordinates(shapely.get_parts(lines), return_index=True)
    on = line[:-1] == line[1:]
    start, end = places[:-1][on], places[1:][on]
    edges = shapely.linestrings(np.stack([start, end], axis=1))
    corners = np.unique(places, axis=0)
    corner, edge = shapely.STRtree(edges).query(shapely.points(corners), predicate="dwithin", distance=NEAR_M)
    at = corners[corner]
    return not bool(((at == start[edge]) | (at == end[edge])).all(axis=1).all())
