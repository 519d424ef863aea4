"""Free ground after one obstacle was moved: only the triangles that it touched, and touches now, are made anew.

That is enough if the obstacle stands alone, before and after: it meets no other and no edge of the land. Else the
whole ground is made anew. Both ways give the same ground, cut into other triangles.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from siteplan.route.mesh import REACH_M, FreeGround, Triangles, cleaned, triangulated


@dataclass(frozen=True, slots=True, kw_only=True)
class Obstructed:
    """Land, the obstacles on it, and the ground that they leave free.

    Attributes
    ----------
    land : Polygon or MultiPolygon
        Metres in a plane.
    obstacles : tuple of Polygon or MultiPolygon
        As far as a trench keeps off them; they may overlap, and reach over the edge of the land.
    ground : FreeGround
        The land without its obstacles.
    """

    land: BaseGeometry
    obstacles: tuple[BaseGeometry, ...]
    ground: FreeGround

    def moved(self, which: int, to: BaseGeometry) -> Obstructed:
        """Return the same land with one obstacle in another place, or of another shape.

        Parameters
        ----------
        which : int
            The index of the obstacle, 0 or more.
        to : Polygon or MultiPolygon
            Where it is now, metres.

        Examples
        --------
        >>> from shapely import box
        >>> yard = obstructed(box(0, 0, 20, 20), [box(2, 2, 6, 6), box(9, 3, 12, 9)])
        >>> yard.moved(1, box(9, 8, 12, 14)).ground.holds(10, 5)
        True
        """
        others = (*self.obstacles[:which], *self.obstacles[which + 1 :])
        obstacles = (*self.obstacles[:which], to, *self.obstacles[which + 1 :])
        old, new = cleaned(self.obstacles[which]), cleaned(to)
        ground = None
        if all(_alone(shape, [self.land.boundary, *others]) for shape in (old, new)):
            ground = _patched(self.ground, old, new)
        if ground is None:
            return obstructed(self.land, obstacles)
        return Obstructed(land=self.land, obstacles=obstacles, ground=ground)


def obstructed(land: BaseGeometry, obstacles: Sequence[BaseGeometry]) -> Obstructed:
    """Find the ground that obstacles leave free; all metres in one plane."""
    free = land.difference(shapely.disjoint_subset_union_all(obstacles))
    return Obstructed(land=land, obstacles=tuple(obstacles), ground=FreeGround(free))


def _alone(shape: BaseGeometry, others: Sequence[BaseGeometry]) -> bool:
    """Tell whether a shape is one piece without holes, more than 1e-6 m from all others."""
    if not isinstance(shape, Polygon) or shape.is_empty or shape.interiors:
        return False
    shapely.prepare(shape)
    return not shapely.dwithin(shape, others, REACH_M).any()


def _patched(ground: FreeGround, old: Polygon, new: Polygon) -> FreeGround | None:
    """Fill the hole that one obstacle leaves, and cut out another; ``None`` if either is off the land."""
    touched = np.unique(ground.tree.query([old, new], predicate="intersects")[1])
    cavity = shapely.get_parts(shapely.coverage_union_all([*ground.triangles[touched], old]))
    home = np.flatnonzero(shapely.contains_properly(cavity, new))
    if len(home) != 1:
        return None
    around = cavity[home[0]]
    cavity[home[0]] = Polygon(around.exterior, [*around.interiors, new.exterior])
    fresh: Triangles = np.concatenate([triangulated(part) for part in cavity])
    patched = FreeGround.of_triangles(np.concatenate([np.delete(ground.triangles, touched), fresh]))
    fewer, more = len(old.exterior.coords), len(new.exterior.coords)
    fits = patched.mesh.twin.count(-1) == ground.mesh.twin.count(-1) - fewer + more
    return patched if fits else None
