"""Least prices of coming to the cells from either end by shortest ways, their tolls with them, bends and dear ground free."""

from __future__ import annotations

import numpy as np
import shapely
from shapely import LineString
from shapely.geometry.base import BaseGeometry

from siteplan.route.between import Goal
from siteplan.route.proof.cells import (
    GOAL,
    START,
    Cells,
    enclosing_circles,
    end_cells,
    onto_corners,
    parts_of,
)
from siteplan.route.proof.convex import blockers_of
from siteplan.route.proof.link_prices import Shapes
from siteplan.route.proof.places import Places
from siteplan.route.proof.sightlines import Floats
from siteplan.route.proof.straight import Axis
from siteplan.route.proof.taut import Corners, TautWays, bend_corners, taut_errors_m
from siteplan.route.proof.taut_tolls import BESIDE_M, Tolls, axis_corners

_WALL_M = 2.0
_FINE = 8
_OFF_M = 1e-5


class TautPrices:
    """Prices by shortest ways.

    Parameters
    ----------
    ground, opened : shapely geometry
        Where a trench may lie, and where it may be dug, too.
    axes : list of Axis
        What is crossed.
    start, goal : Point or MultiLineString
        Its ends.
    metre : float
        A price that no metre falls below.

    Attributes
    ----------
    places : Places
        With the blockers of the ground.
    parts : list of shapely geometry
        The opened ground, cut along the axes.
    ends : list of Cells
        Start and goal.
    bends : ndarray of int
        The corners of the ground that a tight line can bend round.
    """

    def __init__(
        self,
        ground: BaseGeometry,
        opened: BaseGeometry,
        axes: list[Axis],
        start: Goal,
        goal: Goal,
        metre: float,
    ) -> None:
        self._metre = metre
        lines = [LineString(axis.at) for axis in axes]
        self.parts = parts_of(opened, lines)
        self.places = Places(blockers_of(ground))
        self.ends = [
            end_cells(self.places, self.parts, ground, lines, place, role, _WALL_M)
            for place, role in ((start, START), (goal, GOAL))
        ]
        both = shapely.union_all([start, goal])
        counted = [
            axis
            for axis, line in zip(axes, lines, strict=True)
            if metre > 0.0 and line.distance(both) > _OFF_M
        ]
        of_axes, beside = axis_corners(counted, ground)
        of_axes = onto_corners(of_axes, ground)
        bends = bend_corners(ground)
        corners = Corners(
            places=self.places.add(np.concatenate([bends, of_axes])), beside=np.concatenate([bends, beside])
        )
        self.bends = corners.places[: len(bends)]
        self._bend_at = self.places.at[corners.places]
        seen = np.stack(np.triu_indices(len(corners.places), 1))
        seen = seen[:, self.places.sees(*corners.places[seen])]
        due = Tolls(counted, metre)
        self._slack_m = 4 * BESIDE_M * len(of_axes)
        self._pieces = [cells.corners[:, :2] for cells in self.ends]
        self._ways = [TautWays(self.places, corners, seen, pieces, due) for pieces in self._pieces]
        self._sides = np.zeros(0, np.int64)
        self._lengths = [np.zeros(0), np.zeros(0)]

    def between(self) -> float:
        """Return the least price from start to goal."""
        start, goal = self.places.at[self._pieces[1]].transpose(1, 0, 2)
        share = np.linspace(0.0, 1.0, _FINE + 1)[:, None, None]
        at = start + share * (goal - start)
        lengths = (
            self._ways[0].at(self.places.add(at.reshape(-1, 2)), at.reshape(-1, 2)).reshape(_FINE + 1, -1)
        )
        intervals = np.stack([at[:-1], at[1:], at[1:]], axis=2).reshape(-1, 3, 2)
        errors = self._errors_m(0, intervals, *enclosing_circles(intervals))
        least = np.minimum(lengths[:-1], lengths[1:]).reshape(-1) - errors
        return self._metre * max(float(least.min(initial=np.inf)) - self._slack_m, 0.0)

    def of(self, cells: Cells, shapes: Shapes) -> list[Floats]:
        """Return the least prices from the start and from the goal at the corners of cells, (n, 3) each; may be interpolated."""
        # a place on an axis has a length for every part of the ground that it touches
        sides = cells.corners * (len(self.parts) + 1) + cells.part[:, None] + 1
        keys, first, back = np.unique(sides, return_index=True, return_inverse=True)
        known = np.isin(keys, self._sides)
        new = first[~known]
        inwards = shapes.at.mean(axis=1)[:, None] - shapes.at
        inwards /= np.maximum(np.linalg.norm(inwards, axis=2), 1e-12)[..., None]
        beside = (shapes.at + BESIDE_M * inwards).reshape(-1, 2)[new]
        places = cells.corners.reshape(-1)[new]
        at_known = np.searchsorted(self._sides, keys[known])
        found = []
        for end, ways in enumerate(self._ways):
            at_keys = np.empty(len(keys))
            at_keys[known], at_keys[~known] = self._lengths[end][at_known], ways.at(places, beside)
            self._lengths[end] = at_keys
            lengths = at_keys[back].reshape(-1, 3)
            errors = self._errors_m(end, shapes.at, shapes.centre, shapes.radius)
            found.append(self._metre * (lengths - errors[:, None] - self._slack_m))
        self._sides = keys
        return found

    def _errors_m(self, end: int, at: Floats, centre: Floats, radius: Floats) -> Floats:
        """Return by how much the mean of lengths at the corners of cells can exceed the length in them."""
        return taut_errors_m(at, centre, radius, self._bend_at, self.places.at[self._pieces[end]])
