"""Dear parts of the ground, and the core of each."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from siteplan.route.proof.dear import levels_of
from siteplan.route.proof.wider import wider
from siteplan.route.scene import Scene

Floats = NDArray[np.float64]

ROUNDING_M = 1e-5

_LEAST_SHARE, _MOST_SHARE = 0.01, 0.03
_DEEPEST = 0.98
_ALONG = 0.97
_BULGE_M = 1e-5
_SAME_M2 = 1e-6
_COARSE = 0.2


@dataclass(frozen=True, slots=True, kw_only=True)
class Contour:
    """A core, the part of dear ground it lies in, what passing between core and outside costs, and is the core convex."""

    core: BaseGeometry
    part: BaseGeometry
    price: float
    convex: bool


def dear_parts(scene: Scene, least: float, spare: float) -> list[tuple[BaseGeometry, float]]:
    """Return the dear parts of the ground, each with the step by which it is dearer than what is round it."""
    found: list[tuple[BaseGeometry, float]] = []
    for level in levels_of(scene, least, spare):
        for part in shapely.get_parts(level.area):
            if part.geom_type != "Polygon" or not part.intersects(scene.free):
                continue
            same = [n for n, (area, _) in enumerate(found) if area.symmetric_difference(part).area < _SAME_M2]
            if same:
                found[same[0]] = found[same[0]][0], found[same[0]][1] + level.step
            else:
                found.append((part, level.step))
    return found


def contours_of(
    free: BaseGeometry, area: BaseGeometry, step: float, best: float, axes: Floats
) -> list[Contour]:
    """Cut a dear part into nested cores."""
    deep = _DEEPEST * shapely.maximum_inscribed_circle(area.intersection(free)).length
    if step * deep < _LEAST_SHARE * best:
        return []
    depth_m = min(deep, _MOST_SHARE * best / step)
    outside = shapely.difference(free.intersection(area.buffer(2 * deep)), area)
    core = _along(area, outside, _ALONG * depth_m, axes)
    if core.is_empty:
        kept_off = outside.buffer(depth_m, join_style="mitre")
        core = _plain(
            _filled(shapely.difference(area.intersection(free), kept_off), outside), _COARSE * depth_m
        )
    if core.is_empty or (passed_m := core.distance(outside) - ROUNDING_M) <= 0.0:
        return []
    bulge_m2 = core.convex_hull.area - core.area if core.geom_type == "Polygon" else np.inf
    convex = core.area == 0.0 or bulge_m2 < _BULGE_M * core.length
    return [Contour(core=core, part=area, price=step * passed_m, convex=bool(convex))]


def _along(area: BaseGeometry, outside: BaseGeometry, depth_m: float, axes: Floats) -> BaseGeometry:
    """Return the axes as far as they lie deep in a dear part, if they run through it."""
    if not len(axes):
        return shapely.LineString()
    kept_off = outside.buffer(depth_m, join_style="mitre")
    within = shapely.difference(area.intersection(shapely.multilinestrings(list(axes))), kept_off)
    return within if 4 * within.length > area.length / 2 else shapely.LineString()


def _filled(core: BaseGeometry, outside: BaseGeometry) -> BaseGeometry:
    """Fill the holes of a core in which nothing lies that is outside."""
    filled = [
        shapely.Polygon(
            part.exterior, [hole for hole in part.interiors if outside.intersects(shapely.Polygon(hole))]
        )
        for part in shapely.get_parts(core)
        if part.geom_type == "Polygon"
    ]
    return shapely.union_all(filled)


def _plain(core: BaseGeometry, tolerance_m: float) -> BaseGeometry:
    """Return a little less of a core, with fewer corners."""
    if core.is_empty:
        return core
    frame = shapely.box(*core.bounds).buffer(1.0, join_style="mitre")
    parts = [
        part
        for part in shapely.get_parts(frame.difference(wider(frame.difference(core), tolerance_m)))
        if part.geom_type == "Polygon" and part.area > _SAME_M2
    ]
    return parts[0] if len(parts) == 1 else shapely.MultiPolygon(parts)


def straight_parts(core: BaseGeometry) -> list[BaseGeometry]:
    """Return a core that is an area itself, one of lines in straight pieces."""
    if core.area > 0.0:
        return [core]
    return [
        shapely.LineString(pair)
        for line in shapely.get_parts(core)
        for pair in pairwise(shapely.get_coordinates(line))
    ]


def less(core: BaseGeometry) -> BaseGeometry:
    """Return a core without its edge, so that a way along it does not touch it."""
    return core if core.area == 0.0 else core.buffer(-ROUNDING_M, join_style="mitre")


def corners_of(area: BaseGeometry) -> list[tuple[Floats, bool]]:
    """Return the corners of an area, and whether it is convex there."""
    found: list[tuple[Floats, bool]] = []
    if area.area == 0.0:
        return found
    for part in shapely.get_parts(shapely.orient_polygons(area)):
        for ring in (part.exterior, *part.interiors):
            places = shapely.get_coordinates(ring)[:-1]
            along = np.roll(places, -1, axis=0) - places
            before = np.roll(along, 1, axis=0)
            turn = before[:, 0] * along[:, 1] - before[:, 1] * along[:, 0]
            found += [(place, bool(left > 0.0)) for place, left in zip(places, turn, strict=True)]
    return found
