"""What a way pays for dear ground and tolled lines, charged where it passes from one contour line to the next.

*Dear ground.* A part of the ground that is dearer than what is round it by some step has a *core*: no point of it is nearer than
d to the *outside*, which is all free ground off the part. A way that has been in the one and comes to the other has gone d
through the *ring* between them at least, and pays d times the step. A way that begins or ends in a ring pays nothing there.

*Least charge.* Of all ways between two places with as few such passages, and crossings of tolled axes, the shortest is
straight but at bends of the ground, corners of cores, ends and bends of axes, and places where a part turns inward:
elsewhere it could be drawn tighter and would pass no more often. At a corner of a core it turns because it keeps out of the
core: if the next straight piece goes in after all, it has come from outside. In a ring it has last been in the one or the
other: such a place stands for two. So the sum over the straight pieces of what each pays is least over a graph of those
places. An axis may be passed at a bend only from one of two places, 1e-5 m to either side of it.
"""

from __future__ import annotations

from copy import copy
from itertools import pairwise

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Point
from shapely.geometry.base import BaseGeometry

from siteplan.route.between import Goal
from siteplan.route.proof.contours import (
    ROUNDING_M,
    contours_of,
    corners_of,
    dear_parts,
    less,
    straight_parts,
)
from siteplan.route.proof.tolls import Tolls
from siteplan.route.scene import Scene

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]
States = NDArray[np.int8]

OUTSIDE, RING, CORE = 1, 0, -1

ASIDE_M = 1e-5
"""So far beside an axis a way turns that keeps to one side of it."""

_STRAIGHT = 1e-9
_FAR_M = 1e4
_SHUT = 1e9
_CUT_M = 1e-7
_MOST_RINGS = 3


class Charges:
    """All that ways pay in a scene more than the cheapest metre.

    Parameters
    ----------
    scene : Scene
        The prices.
    least : float
        A price that no metre falls below.
    best : float
        Price of the best tree known; it says how finely dear ground is cut.
    spare : float
        No bore is made that costs so much more than its metres at the least price.

    Attributes
    ----------
    nodes : ndarray
        (n, 2): where a way may turn on account of the charges.
    node_states : ndarray
        (n, contours): where a way that turns there was last, outside or in the core; RING: either.
    """

    def __init__(self, scene: Scene, *, least: float, best: float, spare: float) -> None:
        self._tolls = Tolls(scene)
        areas = dear_parts(scene, least, spare)
        self.contours = [
            contour
            for area, step in areas
            for contour in contours_of(scene.free, area, step, best, self._tolls.pieces)
        ]
        self._cores = np.array([less(contour.core) for contour in self.contours], dtype=object)
        self._wide = np.array([contour.part.buffer(ROUNDING_M) for contour in self.contours], dtype=object)
        shapely.prepare(self._wide)
        self._price = np.array([contour.price for contour in self.contours], float)
        self._convex = np.array([contour.convex for contour in self.contours], bool)
        convex = [
            (number, piece)
            for number, contour in enumerate(self.contours)
            if contour.convex
            for piece in straight_parts(self._cores[number])
        ]
        self._convex_number = np.array([number for number, _ in convex], np.int64)
        self._convex_cores = [piece for _, piece in convex]
        self._convex_tree = shapely.STRtree(self._convex_cores)
        self._core_tree, self._part_tree = (
            shapely.STRtree(self._cores),
            shapely.STRtree(np.array([contour.part for contour in self.contours], dtype=object)),
        )
        self.nodes, self.node_states = self._nodes(scene.free, [area for area, _ in areas])
        self.axes = shapely.union_all(self._axes())
        fat = [contour for contour in self.contours if contour.core.area > 0.0]
        self._fat = shapely.STRtree([contour.core.boundary for contour in fat])
        self._fat_price = np.array([contour.price for contour in fat], float)

    def at_edge(self, cells: NDArray[np.object_]) -> Floats:
        """Return what passing all edges of cores costs that each of some cells touches."""
        cell, line = self._fat.query(cells, predicate="dwithin", distance=ROUNDING_M)
        found = np.zeros(len(cells))
        np.add.at(found, cell, self._fat_price[line])
        return found

    def states(self, shapes: NDArray[np.object_]) -> States:
        """Tell for each contour where points or cells lie: OUTSIDE the part, in the CORE, or in the RING; (n, contours)."""
        state = np.full((len(shapes), len(self.contours)), OUTSIDE, np.int8)
        state[tuple(self._part_tree.query(shapes, predicate="intersects"))] = RING
        state[tuple(self._core_tree.query(shapes, predicate="covered_by"))] = CORE
        return state

    def in_rings(self, states: States) -> Floats:
        """Return what passing the rings costs that each of some places lies in."""
        found: Floats = (states == RING) @ self._price
        return found

    def of(self, starts: Floats, ends: Floats, before: States, after: States) -> Floats:
        """Return what straight pieces pay, (n, 2), from the states before them to those after, (n, contours)."""
        paid: Floats = self._tolls.on_ways(starts, ends) + (before * after == OUTSIDE * CORE) @ self._price
        if not len(starts):
            return paid
        lines = shapely.linestrings(np.stack([starts, ends], axis=1))
        link, contour = self._core_tree.query(lines, predicate="intersects")
        changed = before[link, contour] * after[link, contour] == OUTSIDE * CORE
        first = (before[link, contour] == OUTSIDE).astype(float)
        last = (after[link, contour] == OUTSIDE).astype(float)
        between = np.zeros(len(link))
        odd = np.flatnonzero(~self._convex[contour])
        if len(odd):
            self._often(lines[link[odd]], contour[odd], odd, first, last, between)
        often = first + last + 2.0 * between - changed
        np.add.at(paid, link, self._price[contour] * often)
        return paid

    def by_obstacle(self, at: Floats, states: States, goal: Floats, there: States) -> Floats:
        """Return what straight ways from places to a goal pay for each straight or convex core and piece of axis, (n, k)."""
        goals = np.repeat(goal[None], len(at), axis=0)
        lines = shapely.linestrings(np.stack([at, goals], axis=1))
        paid = np.zeros((len(at), len(self._convex_cores) + len(self._tolls.pieces)))
        link, core = self._convex_tree.query(lines, predicate="intersects")
        number = self._convex_number[core]
        often = 1.0 * (states[link, number] == OUTSIDE) + (there[number] == OUTSIDE)
        paid[link, core] = self._price[number] * often
        for k, (piece, toll) in enumerate(zip(self._tolls.pieces, self._tolls.toll, strict=True)):
            paid[:, len(self._convex_cores) + k] = toll * _crosses(at, goals, *piece)
        return paid

    def _axes(self) -> list[BaseGeometry]:
        """Return the axes, drawn on beyond their ends so that they cut the ground through."""
        found = []
        for pieces in self._by_axis():
            way_in, way_out = pieces[0, 0] - pieces[0, 1], pieces[-1, 1] - pieces[-1, 0]
            before = pieces[0, 0] + _FAR_M * way_in / np.hypot(*way_in)
            beyond = pieces[-1, 1] + _FAR_M * way_out / np.hypot(*way_out)
            found.append(shapely.LineString([before, *pieces[:, 0], pieces[-1, 1], beyond]))
        return found

    def _often(
        self,
        lines: NDArray[np.object_],
        contour: Ints,
        where: Ints,
        first: Floats,
        last: Floats,
        between: Floats,
    ) -> None:
        """Count how often pieces come from a core that is not convex to its outside."""
        off = shapely.difference(lines, self._cores[contour])
        pieces, number = shapely.get_parts(off, return_index=True)
        outside = ~shapely.covers(self._wide[contour[number]], pieces)
        begins = shapely.distance(pieces, shapely.get_point(lines[number], 0)) < ROUNDING_M / 2
        ends = shapely.distance(pieces, shapely.get_point(lines[number], -1)) < ROUNDING_M / 2
        first[where[number[outside & begins]]] = 1.0
        last[where[number[outside & ends]]] = 1.0
        np.add.at(between, where[number[outside & ~begins & ~ends]], 1.0)

    def _nodes(self, free: BaseGeometry, areas: list[BaseGeometry]) -> tuple[Floats, States]:
        """Return where ways may turn, and where they come from there."""
        at, corner_of = [], []
        for number, contour in enumerate(self.contours):
            for corner, convex in corners_of(contour.core):
                at.append(corner)
                corner_of.append(number if convex else -1)
        inward = [corner for area in areas for corner, convex in corners_of(area) if not convex]
        aside = self._beside_axes()
        at += [*inward, *aside]
        corner_of += [-1] * (len(inward) + len(aside))
        nodes = np.array(at, float).reshape(-1, 2)
        whose = np.array(corner_of, np.int64)
        states = self.states(shapely.points(nodes))
        states[whose >= 0, whose[whose >= 0]] = OUTSIDE
        for number, contour in enumerate(self.contours):
            if contour.core.area == 0.0 and len(nodes):
                states[shapely.dwithin(contour.core, shapely.points(nodes), 3 * ASIDE_M), number] = OUTSIDE
        inside = shapely.dwithin(free, shapely.points(nodes), ROUNDING_M) if len(nodes) else np.zeros(0, bool)
        return nodes[inside], states[inside]

    def _beside_axes(self) -> list[Floats]:
        """Return the places just beyond the ends of axes and just beside their bends."""
        found: list[Floats] = []
        for pieces in self._by_axis():
            ways = pieces[:, 1] - pieces[:, 0]
            ways /= np.hypot(*ways.T)[:, None]
            found += [pieces[0, 0] - ASIDE_M * ways[0], pieces[-1, 1] + ASIDE_M * ways[-1]]
            for place, (one, other) in zip(pieces[1:, 0], pairwise(ways), strict=True):
                aside = np.array([-one[1] - other[1], one[0] + other[0]])
                aside *= ASIDE_M / max(float(np.hypot(*aside)), 1e-9)
                found += [place - aside, place + aside + 0.5 * ASIDE_M * other]
        return found

    def _by_axis(self) -> list[Floats]:
        return [self._tolls.pieces[self._tolls.axis == number] for number in np.unique(self._tolls.axis)]

    def cut(self, goal: Goal) -> Goal:
        """Return walls in pieces along each of which the charges are the same; a point as it is."""
        if isinstance(goal, Point):
            return goal
        lines = [contour.part.boundary for contour in self.contours]
        lines += [
            contour.core.boundary if contour.core.area > 0.0 else contour.core for contour in self.contours
        ]
        near = shapely.union_all([*lines, self.axes]).buffer(_CUT_M)
        return shapely.MultiLineString(
            [part for part in shapely.get_parts(goal.difference(near)) if part.length > 0.0]
        )

    def closed(self) -> Charges:
        """Return the same charges, but that no axis is crossed at any price that counts."""
        closed = copy(self)
        closed._tolls = copy(self._tolls)
        closed._tolls.toll = np.full(len(self._tolls.toll), _SHUT)
        return closed

    def crossing(self, states: States) -> Floats:
        """Return half of what crossing each axis costs a way that begins or ends in these states, (n, axes)."""
        found = []
        for pieces, number in zip(self._by_axis(), np.unique(self._tolls.axis), strict=True):
            half = np.full(len(states), self._tolls.toll[self._tolls.axis == number][0] / 2)
            line = shapely.multilinestrings(list(pieces))
            for k, contour in enumerate(self.contours):
                if (
                    contour.core.area == 0.0
                    and line.difference(contour.core.buffer(ASIDE_M)).length < ROUNDING_M
                ):
                    half += contour.price * (states[:, k] == OUTSIDE)
            found.append(half)
        return np.array(found, float).reshape(-1, len(states)).T

    def either(self, at: Floats, states: States) -> tuple[Floats, States]:
        """Return places in rings once for each of both states; where rings are many, as they are."""
        for number in range(len(self.contours)):
            here = (states[:, number] == RING) & ((states == RING).sum(axis=1) <= _MOST_RINGS)
            more = np.repeat(states[here], 2, axis=0)
            more[:, number] = np.tile([OUTSIDE, CORE], int(here.sum()))
            at = np.vstack([at[~here], np.repeat(at[here], 2, axis=0)])
            states = np.vstack([states[~here], more])
        return at, states


def _crosses(starts: Floats, ends: Floats, tail: Floats, head: Floats) -> Flags:
    """Tell which straight ways cross a piece of axis."""

    def turn(one: Floats, other: Floats) -> Floats:
        turned: Floats = one[..., 0] * other[..., 1] - one[..., 1] * other[..., 0]
        return turned

    of_axis = turn(head - tail, starts - tail) * turn(head - tail, ends - tail)
    of_way = turn(ends - starts, tail - starts) * turn(ends - starts, head - starts)
    crossing: Flags = (of_axis < -_STRAIGHT) & (of_way < -_STRAIGHT)
    return crossing
