"""The ground surface that spot levels span: flat triangles between neighbouring levels (Delaunay).

Nothing is guessed outside the levelled area: there the elevation is NaN. A line drawn over the surface
changes grade only where ``breaks_along`` says, so a profile taken at those distances is the surface itself,
not a sample of it.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil, floor

import numpy as np
import shapely
from numpy.typing import ArrayLike, NDArray
from shapely import LineString
from shapely.geometry.base import BaseGeometry

from siteplan.site.site import Level

Numbers = NDArray[np.float64]

_SAME_PLACE_M = 0.001


class GroundSurface:
    """Ground elevation between spot levels.

    Parameters
    ----------
    points : array, shape (n, 3)
        x, y and elevation [m] in the ground plane. At least three, not on one line. A level given twice with
        the same elevation counts once.

    Raises
    ------
    ValueError
        Too few levels, levels on one line, numbers that are not finite, or two elevations at one place.

    Examples
    --------
    >>> hillside = GroundSurface([[0, 0, 10], [30, 0, 10], [0, 30, 13]])
    >>> hillside.elevation(10, 10)
    11.0
    >>> hillside.elevation(40, 40) is None
    True
    >>> float(hillside.slopes()[1][0])
    0.1
    """

    def __init__(self, points: ArrayLike) -> None:
        levels = np.asarray(points, dtype=np.float64)
        if levels.ndim != 2 or levels.shape[1] != 3 or len(levels) < 3:
            raise ValueError("a ground surface needs at least three levels, each with x, y and elevation")
        if not np.isfinite(levels).all():
            raise ValueError("a level has a coordinate or an elevation that is not a number")
        self._corners = _triangles(_without_doubles(levels))
        self._triangles = shapely.STRtree(shapely.polygons(self._corners[:, :, :2]))
        self._sides = shapely.STRtree(_sides(self._corners))

    def elevation(self, x: float, y: float) -> float | None:
        """Elevation at one place [m], None outside the levelled area."""
        height = float(self.elevations([[x, y]])[0])
        return None if np.isnan(height) else height

    def elevations(self, xy: ArrayLike) -> Numbers:
        """Elevations at many places.

        Parameters
        ----------
        xy : array, shape (n, 2)
            Ground metres.

        Returns
        -------
        array, shape (n,)
            Metres; NaN outside the levelled area (a millimetre outside still counts as on its edge).
        """
        places = np.asarray(xy, dtype=np.float64).reshape(-1, 2)
        points = shapely.points(places)
        place, triangle = self._triangles.query(points, predicate="intersects")
        outside = np.flatnonzero(np.bincount(place, minlength=len(places)) == 0)
        if len(outside):
            near, beside = self._triangles.query(points[outside], predicate="dwithin", distance=_SAME_PLACE_M)
            place, triangle = np.append(place, outside[near]), np.append(triangle, beside)
        corners = self._corners[triangle]
        weights = _weights(corners, places[place])
        order = np.lexsort((-triangle, weights.min(axis=1), place))
        deepest = order[np.flatnonzero(np.diff(place[order], append=-1))]
        heights = np.full(len(places), np.nan)
        heights[place[deepest]] = np.sum(weights[deepest] * corners[deepest, :, 2], axis=1)
        return heights

    def slopes(self) -> tuple[NDArray[np.object_], Numbers]:
        """Slope of every triangle of the surface.

        Returns
        -------
        array of Polygon, shape (n,)
            The triangles on the map; together they are the levelled area.
        array, shape (n,)
            Rise over run of each, not negative.
        """
        first, second, third = (self._corners[:, corner] for corner in range(3))
        upright = np.cross(second - first, third - first)
        rise_over_run: Numbers = np.hypot(upright[:, 0], upright[:, 1]) / np.abs(upright[:, 2])
        return self._triangles.geometries, rise_over_run

    def contours(self, step_m: float) -> list[tuple[float, BaseGeometry]]:
        """Lines of equal elevation.

        Parameters
        ----------
        step_m : float
            Between one elevation and the next [m], above 0; all are multiples of it.

        Returns
        -------
        list of (float, LineString or MultiLineString)
            Elevation [m] and the line, the lowest first. Where it passes through a level, that counts as under it.

        >>> [(elevation, line.length) for elevation, line in GroundSurface([[0, 0, 9], [30, 0, 9], [0, 30, 12]]).contours(2)]
        [(10, 20.0)]
        """
        heights = self._corners[:, :, 2]
        found = []
        for number in range(ceil(heights.min() / step_m), floor(heights.max() / step_m) + 1):
            elevation = number * step_m
            over = heights > elevation
            cut = over.any(axis=1) & ~over.all(axis=1)
            if not cut.any():
                continue
            corners, over = self._corners[cut], over[cut]
            ends = []
            for first, second in ((0, 1), (1, 2), (2, 0)):
                up = over[
                    :, second, None
                ]  # from the lower end to the upper one, so that neighbours meet to the last bit
                low = np.where(up, corners[:, first], corners[:, second])
                high = np.where(up, corners[:, second], corners[:, first])
                crossed = over[:, first] != over[:, second]
                rise = np.where(crossed, high[:, 2] - low[:, 2], 1.0)
                part = ((elevation - low[:, 2]) / rise)[:, None]
                ends.append(np.where(crossed[:, None], low[:, :2] + part * (high - low)[:, :2], np.nan))
            places = np.stack(ends, axis=1)
            pairs = places[~np.isnan(places[:, :, 0])].reshape(-1, 2, 2)
            lines = shapely.multilinestrings(shapely.linestrings(pairs))
            found.append((elevation, shapely.line_merge(lines)))
        return found

    def breaks_along(self, line: LineString) -> Numbers:
        """Distances along a line at which the grade under it may change.

        Parameters
        ----------
        line : LineString
            In ground metres.

        Returns
        -------
        array, shape (k,)
            Metres, increasing: both ends, every bend, and every crossing of a triangle's side. Between two of
            them the ground is straight, or outside the levelled area.
        """
        bends = shapely.get_coordinates(line)
        start_m = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(bends, axis=0).T))))
        legs = shapely.linestrings(np.stack((bends[:-1], bends[1:]), axis=1))
        leg, side = self._sides.query(legs, predicate="intersects")
        meetings, pair = shapely.get_coordinates(
            shapely.intersection(legs[leg], self._sides.geometries[side]), return_index=True
        )
        crossing_m = start_m[leg[pair]] + np.hypot(*(meetings - bends[leg[pair]]).T)
        found_m = np.sort(np.concatenate((start_m, crossing_m)))
        kept_m = found_m[np.append(True, np.diff(found_m) > _SAME_PLACE_M)]
        return np.append(kept_m[kept_m < line.length - _SAME_PLACE_M], line.length)


def surface_of(levels: Sequence[Level]) -> GroundSurface | None:
    """Surface between the levels of a placed site; None if it has none."""
    return GroundSurface([(level.x, level.y, level.elevation_m) for level in levels]) if levels else None


def _without_doubles(levels: Numbers) -> Numbers:
    """Each place once; ``levels`` has shape (n, 3)."""
    places = shapely.points(levels[:, :2])
    one, other = shapely.STRtree(places).query(places, predicate="dwithin", distance=_SAME_PLACE_M)
    one, other = one[one < other], other[one < other]
    differ = np.abs(levels[one, 2] - levels[other, 2]) > _SAME_PLACE_M
    if differ.any():
        named = "; ".join(
            f"levels {a + 1} and {b + 1} at x {levels[a, 0]:.3f}, y {levels[a, 1]:.3f}:"
            f" {levels[a, 2]:.3f} m and {levels[b, 2]:.3f} m"
            for a, b in sorted(zip(one[differ].tolist(), other[differ].tolist(), strict=True))
        )
        raise ValueError(f"two elevations at one place ({named})")
    return np.delete(levels, np.unique(other), axis=0)


def _triangles(levels: Numbers) -> Numbers:
    """Corners of the Delaunay triangles, shape (n, 3, 3); slivers thinner than a millimetre are left out."""
    found = shapely.get_parts(shapely.delaunay_triangles(shapely.multipoints(levels)))
    corners: Numbers = shapely.get_coordinates(found, include_z=True).reshape(-1, 4, 3)[:, :3]
    legs = np.diff(corners[:, [0, 1, 2, 0], :2], axis=1)
    thickness = 2 * shapely.area(found) / np.hypot(legs[:, :, 0], legs[:, :, 1]).max(axis=1, initial=1e-9)
    corners = corners[thickness > _SAME_PLACE_M]
    if not len(corners):
        raise ValueError("all levels lie on one line; take some to either side of it")
    return corners


def _sides(corners: Numbers) -> NDArray[np.object_]:
    """Every side of the triangles once, as lines."""
    ends = corners[:, [[0, 1], [1, 2], [2, 0]], :2].reshape(-1, 2, 2)
    swapped = (ends[:, 0, 0] > ends[:, 1, 0]) | (
        (ends[:, 0, 0] == ends[:, 1, 0]) & (ends[:, 0, 1] > ends[:, 1, 1])
    )
    ends[swapped] = ends[swapped][:, ::-1]
    flat = ends.reshape(-1, 4)
    flat = flat[np.lexsort(flat.T[::-1])]
    first = np.append(True, (np.diff(flat, axis=0) != 0.0).any(axis=1))
    return np.asarray(shapely.linestrings(flat[first].reshape(-1, 2, 2)))


def _weights(corners: Numbers, places: Numbers) -> Numbers:
    """Barycentric weights, shape (n, 3), of places (n, 2) in triangles (n, 3, 3)."""
    first, second, third = (corners[:, corner, :2] for corner in range(3))
    twice_area = _cross(second - first, third - first)
    at_second = _cross(places - first, third - first) / twice_area
    at_third = _cross(second - first, places - first) / twice_area
    return np.stack((1 - at_second - at_third, at_second, at_third), axis=1)


def _cross(one: Numbers, other: Numbers) -> Numbers:
    return one[:, 0] * other[:, 1] - one[:, 1] * other[:, 0]
