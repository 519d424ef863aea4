"""What can be seen from one place on the free ground.

A cone of sight is sent through the triangles of the ground and narrowed at every edge it crosses; whatever
corner or piece of the goal is met inside the cone is in sight. Cones are closed. Directions within a relative 1e-11
of each other count as one (``mesh.side``), which is enough between corners; a start or goal is only near to the wall
it was computed to lie on, and is given 5e-10 m. That holds for coordinates below a thousand kilometres.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from siteplan.route.mesh import IN_LINE, REACH_M, Mesh, side
from siteplan.route.walls import Piece

_ROUNDING_M = 5e-10
"""Points computed to lie on a line (a start on a wall, a cut in it) are this near to it, or nearer."""

Cone = tuple[float, float, float, float]
"""Directions (x, y) of the right and the left side, from the apex; closed; at most half a turn."""


class Sight:
    """What can be seen from one place: corners ahead, and the nearest point of the goal."""

    __slots__ = ("_cones", "_mesh", "_pieces", "_seen", "_x", "_y", "nearest", "nearest_m")

    def __init__(self, mesh: Mesh, pieces: dict[int, list[Piece]], x: float, y: float) -> None:
        self._mesh = mesh
        self._pieces = pieces
        self._x = x
        self._y = y
        self._seen: list[int] = []
        self._cones: list[tuple[int, float, float, float, float]] = []
        self.nearest_m = math.inf
        self.nearest = (math.nan, math.nan)

    def look_around(self, triangles: list[int]) -> None:
        """Look in all directions from a place in, or between, the triangles given."""
        mesh, around = self._mesh, set(triangles)
        for triangle in triangles:
            for piece in self._pieces.get(triangle, ()):
                self._meet(piece, None)
            for half_edge in range(3 * triangle, 3 * triangle + 3):
                if math.hypot(*self._towards(mesh.tail[half_edge])) > REACH_M:
                    self._seen.append(mesh.tail[half_edge])
                gate = mesh.twin[half_edge]
                if gate >= 0 and gate // 3 not in around:
                    right, left = self._towards(mesh.tail[half_edge]), self._towards(mesh.head[half_edge])
                    self._cones.append((gate, *right, *left))
        self._follow()

    def look_past(self, corner: int, from_x: float, from_y: float) -> None:
        """Look from a corner in the directions in which a tight line from the place given can go on."""
        mesh = self._mesh
        wedge = self._wedge(corner, self._x - from_x, self._y - from_y)
        for half_edge in mesh.fan(corner):
            first, second = mesh.head[half_edge], mesh.third[half_edge]
            cone = self._shared(wedge, first, second)
            if cone is None:
                continue
            for piece in self._pieces.get(half_edge // 3, ()):
                self._meet(piece, cone)
            gate = mesh.right[half_edge]
            if gate >= 0 and side(*cone) > 0:
                self._cones.append((gate, *cone))
        self._follow()

    def bends(self) -> Iterator[tuple[int, float]]:
        """Give the corners seen round which a tight line from here can bend, and how far they are."""
        mesh, x, y = self._mesh, self._x, self._y
        for corner in self._seen:
            before, after = mesh.before[corner], mesh.after[corner]
            if before < 0:
                continue
            corner_x, corner_y = mesh.x[corner], mesh.y[corner]
            ahead_x, ahead_y = corner_x - x, corner_y - y
            to_before = _wall_side(ahead_x, ahead_y, mesh.x[before] - corner_x, mesh.y[before] - corner_y)
            to_after = _wall_side(ahead_x, ahead_y, mesh.x[after] - corner_x, mesh.y[after] - corner_y)
            leg_m = math.hypot(ahead_x, ahead_y)
            if to_before * to_after >= 0 and leg_m > 0.0:
                yield corner, leg_m

    def _towards(self, corner: int) -> tuple[float, float]:
        return self._mesh.x[corner] - self._x, self._mesh.y[corner] - self._y

    def _wedge(self, corner: int, ahead_x: float, ahead_y: float) -> Cone:
        """Return the directions between straight on and along the obstacle at a corner."""
        before, after = self._towards(self._mesh.before[corner]), self._towards(self._mesh.after[corner])
        to_before, to_after = _wall_side(ahead_x, ahead_y, *before), _wall_side(ahead_x, ahead_y, *after)
        if to_before <= 0 and to_after <= 0:
            return (*after, ahead_x, ahead_y)
        return (ahead_x, ahead_y, *before)

    def _shared(self, wedge: Cone, first: int, second: int) -> Cone | None:
        """Return what a wedge and a triangle at its apex share; see the corners of the triangle in it."""
        right_x, right_y, left_x, left_y = wedge
        first_x, first_y = self._towards(first)
        second_x, second_y = self._towards(second)
        first_in, second_in = _within(wedge, first_x, first_y), _within(wedge, second_x, second_y)
        if first_in:
            self._seen.append(first)
            right_x, right_y = first_x, first_y
        if second_in:
            self._seen.append(second)
            left_x, left_y = second_x, second_y
        triangle = (first_x, first_y, second_x, second_y)
        starts = first_in or _within(triangle, right_x, right_y)
        ends = second_in or _within(triangle, left_x, left_y)
        return (right_x, right_y, left_x, left_y) if starts and ends else None

    def _follow(self) -> None:
        """Send the cones through the triangles until they are used up; ``side`` written out, as most time goes here."""
        mesh, pieces, cones, seen = self._mesh, self._pieces, self._cones, self._seen
        third, right, left, corners_x, corners_y = mesh.third, mesh.right, mesh.left, mesh.x, mesh.y
        x, y = self._x, self._y
        while cones:
            gate, right_x, right_y, left_x, left_y = cones.pop()
            if gate // 3 in pieces:
                for piece in pieces[gate // 3]:
                    self._meet(piece, (right_x, right_y, left_x, left_y))
            corner = third[gate]
            corner_x = corners_x[corner] - x
            corner_y = corners_y[corner] - y
            here, there = right_x * corner_y, right_y * corner_x
            from_right = here - there
            if abs(from_right) <= IN_LINE * (abs(here) + abs(there)):
                from_right = 0.0
            here, there = corner_x * left_y, corner_y * left_x
            to_left = here - there
            if abs(to_left) <= IN_LINE * (abs(here) + abs(there)):
                to_left = 0.0
            if from_right < 0.0:
                if to_left > 0.0 and left[gate] >= 0:
                    cones.append((left[gate], right_x, right_y, left_x, left_y))
            elif to_left < 0.0:
                if from_right > 0.0 and right[gate] >= 0:
                    cones.append((right[gate], right_x, right_y, left_x, left_y))
            else:
                seen.append(corner)
                if from_right > 0.0 and right[gate] >= 0:
                    cones.append((right[gate], right_x, right_y, corner_x, corner_y))
                if to_left > 0.0 and left[gate] >= 0:
                    cones.append((left[gate], corner_x, corner_y, left_x, left_y))

    def _meet(self, piece: Piece, cone: Cone | None) -> None:
        """Keep the point of a piece of the goal that is nearest, among those within the cone."""
        ax, ay = piece[0] - self._x, piece[1] - self._y
        bx, by = piece[2] - self._x, piece[3] - self._y
        low, high = (0.0, 1.0) if cone is None else _span_within(cone, ax, ay, bx, by)
        if low > high:
            return
        along_x, along_y = bx - ax, by - ay
        square = along_x * along_x + along_y * along_y
        foot = -(ax * along_x + ay * along_y) / square if square > 0.0 else 0.0
        share = min(max(foot, low), high)
        distance_m = math.hypot(ax + share * along_x, ay + share * along_y)
        if distance_m < self.nearest_m:
            self.nearest_m = distance_m
            self.nearest = (
                piece[0] + share * (piece[2] - piece[0]),
                piece[1] + share * (piece[3] - piece[1]),
            )


def _wall_side(ahead_x: float, ahead_y: float, wall_x: float, wall_y: float) -> int:
    """Tell on which side of a way to a corner the wall from there runs; 0 if the way began on its line."""
    cross = ahead_x * wall_y - ahead_y * wall_x
    slack = _ROUNDING_M * math.hypot(wall_x, wall_y)
    return 1 if cross > slack else -1 if cross < -slack else 0


def _within(cone: Cone, x: float, y: float) -> bool:
    """Tell whether a direction lies in a cone; against it is outside, even if the cone has no width."""
    right_x, right_y, left_x, left_y = cone
    return (
        side(right_x, right_y, x, y) >= 0
        and side(x, y, left_x, left_y) >= 0
        and (x * right_x + y * right_y > 0.0 or x * left_x + y * left_y > 0.0)
    )


def _span_within(cone: Cone, ax: float, ay: float, bx: float, by: float) -> tuple[float, float]:
    """Return the shares of the way from a to b between which it lies in a cone; low > high if nowhere."""
    right_x, right_y, left_x, left_y = cone
    low, high = 0.0, 1.0
    for at_a, at_b in (
        (_inwards_m(right_x, right_y, ax, ay), _inwards_m(right_x, right_y, bx, by)),
        (-_inwards_m(left_x, left_y, ax, ay), -_inwards_m(left_x, left_y, bx, by)),
    ):
        if at_a < 0.0 and at_b < 0.0:
            return 1.0, 0.0
        if at_a < 0.0:
            low = max(low, at_a / (at_a - at_b))
        elif at_b < 0.0:
            high = min(high, at_a / (at_a - at_b))
    return low, high


def _inwards_m(edge_x: float, edge_y: float, x: float, y: float) -> float:
    """Return how far a point lies to the left of a direction, 0 if on it."""
    aside_m = (edge_x * y - edge_y * x) / math.hypot(edge_x, edge_y)
    return aside_m if abs(aside_m) > _ROUNDING_M else 0.0
