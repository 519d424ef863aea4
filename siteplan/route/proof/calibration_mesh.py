"""Free ground cut into triangles, each on ground of one price and on one side of every line that costs something to cross.

Potentials are given at the nodes and are linear over the triangles. A place on a line in the ground is a node for each side
of it, where a potential may jump; but for the ends of the line, which one may go round.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.sparse import csr_array
from shapely import Point
from shapely.geometry.base import BaseGeometry

from siteplan.route.between import Goal
from siteplan.route.proof.dear import Level
from siteplan.route.proof.regions import GRID_M, axes_of
from siteplan.route.scene import Crossed

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]

_KEY_M = 1e-5
_ON_M = 1e-5
_BESIDE_M = 1e-5
_OFF_M = 1e-3
_FEWEST = 250
_THIN_M = 0.01


@dataclass(frozen=True, slots=True)
class Mesh:
    """Triangles and nodes.

    Attributes
    ----------
    at : ndarray
        (triangles, 3, 2): corners, metres, counterclockwise.
    node : ndarray of int
        (triangles, 3): nodes there.
    rate : ndarray
        (triangles,): price of a metre.
    count : int
        How many nodes.
    ties : ndarray of int
        (m, 2): nodes between which a potential may only differ by so much: on both sides of a line, or along an edge of the
        ground on which the price of what lies beyond is paid.
    tied : ndarray
        (m,): by how much.
    """

    at: Floats
    node: Ints
    rate: Floats
    count: int
    ties: Ints
    tied: Floats

    @property
    def area_m2(self) -> Floats:
        """Areas of the triangles."""
        one, other = self.at[:, 1] - self.at[:, 0], self.at[:, 2] - self.at[:, 0]
        area: Floats = (one[:, 0] * other[:, 1] - one[:, 1] * other[:, 0]) / 2
        return area

    def slopes(self) -> tuple[csr_array, csr_array]:
        """Return what makes of a potential at the nodes its slopes along x and y, by triangle."""
        facing = np.roll(self.at, -2, axis=1) - np.roll(self.at, -1, axis=1)
        double = 2 * self.area_m2[:, None]
        shape = (len(self.at), self.count)
        spots = np.repeat(np.arange(len(self.at)), 3), self.node.ravel()
        along_x, along_y = -facing[..., 1] / double, facing[..., 0] / double
        return csr_array((along_x.ravel(), spots), shape=shape), csr_array(
            (along_y.ravel(), spots), shape=shape
        )

    def bound(self) -> csr_array:
        """Return what makes of values at some nodes those at all.

        The tip of a thin triangle is on its long side: there no potential is steeper than along it, else that is hard to come by.
        """
        way = np.roll(self.at, -1, axis=1) - self.at
        length_m = np.hypot(*way.transpose(2, 0, 1))
        long = length_m.argmax(axis=1)
        thin_m = 2 * self.area_m2 / length_m.max(axis=1)
        shares: dict[int, dict[int, float]] = {}
        for triangle in np.flatnonzero(thin_m < _THIN_M)[np.argsort(thin_m[thin_m < _THIN_M])]:
            turn = (long[triangle] + np.arange(3)) % 3
            tail, head, tip = self.node[triangle, turn].tolist()
            off = self.at[triangle, turn[2]] - self.at[triangle, turn[0]]
            along = way[triangle, turn[0]]
            share = float(off @ along / (along @ along))
            mixed: dict[int, float] = {}
            for end, part in ((tail, 1.0 - share), (head, share)):
                for node, each in shares.get(end, {end: 1.0}).items():
                    mixed[node] = mixed.get(node, 0.0) + part * each
            if tip in shares or tip in mixed:
                continue
            for known in shares.values():
                part = known.pop(tip, 0.0)
                for node, each in mixed.items() if part else ():
                    known[node] = known.get(node, 0.0) + part * each
            shares[tip] = mixed
        free = np.setdiff1d(np.arange(self.count), list(shares))
        spot = np.full(self.count, -1)
        spot[free] = np.arange(len(free))
        rows = [*free.tolist(), *(tip for tip, mixed in shares.items() for _ in mixed)]
        columns = [*free.tolist(), *(node for mixed in shares.values() for node in mixed)]
        values = [1.0] * len(free) + [part for mixed in shares.values() for part in mixed.values()]
        return csr_array((values, (rows, spot[columns])), shape=(self.count, len(free)))

    def at_places(self, places: Floats) -> tuple[csr_array, Ints]:
        """Return what makes of a potential at the nodes its values at places (n, 2), and which place each row is of.

        There is a row for every triangle that a place is in.
        """
        tree = shapely.STRtree(shapely.polygons(self.at))
        place, triangle = tree.query(shapely.points(places), predicate="dwithin", distance=_ON_M)
        corners = self.at[triangle]
        base, off = corners[:, 0], places[place] - corners[:, 0]
        one, other = corners[:, 1] - base, corners[:, 2] - base
        double = 2 * self.area_m2[triangle]
        second = (off[:, 0] * other[:, 1] - off[:, 1] * other[:, 0]) / double
        third = (one[:, 0] * off[:, 1] - one[:, 1] * off[:, 0]) / double
        shares = np.maximum(np.stack([1.0 - second - third, second, third], axis=1), 0.0)
        shares /= shares.sum(axis=1, keepdims=True)
        rows = np.repeat(np.arange(len(place)), 3)
        table = csr_array(
            (shares.ravel(), (rows, self.node[triangle].ravel())), shape=(len(place), self.count)
        )
        return table, place


def mesh_of(
    free: BaseGeometry,
    levels: Sequence[Level],
    crossed: Sequence[Crossed],
    metre: float,
    places: Sequence[Goal],
) -> Mesh:
    """Cut ground into triangles.

    Parameters
    ----------
    free : shapely geometry
        Free ground, or a little more.
    levels : sequence of Level
        The dear ground, ascending.
    crossed : sequence of Crossed
        What costs something to cross; a line that comes near to a place that is a point is left out.
    metre : float
        A price that no metre falls below.
    places : sequence of Point or MultiLineString
        What trees are to join.

    Examples
    --------
    A square with a line right across, cut fine: nodes on the line are there twice, and each pair may differ by the toll.

    >>> from siteplan.route.scene import Charge
    >>> line = shapely.LineString([(2, -1), (2, 5)])
    >>> crossed = Crossed(feature="", axis=line, zone=line.buffer(0.1), toll=Charge(row="", price=9.0), least_angle_deg=0)
    >>> mesh = mesh_of(shapely.box(0, 0, 4, 4), (), [crossed], 1.0, [Point(1, 1), Point(3, 1)])
    >>> len(mesh.at), len(mesh.ties), set(mesh.tied.tolist())
    (512, 9, {9.0})
    """
    points = shapely.multipoints([place for place in places if isinstance(place, Point)])
    axes = [
        (line, each.toll.price)
        for each in crossed
        for line in axes_of(each)
        if each.toll.price > 0.0 and line.distance(points) > _OFF_M
    ]
    outlines = [shapely.boundary(free), *(shapely.boundary(level.area) for level in levels)]
    lines = np.array([*outlines, *(line for line, _ in axes)], dtype=object)
    joined = shapely.union_all(shapely.set_precision(lines, GRID_M), grid_size=GRID_M)
    faces = shapely.get_parts(shapely.polygonize(shapely.get_parts(joined)))
    wide = free.buffer(0.0)
    shapely.prepare(wide)
    faces = faces[shapely.intersects(wide, shapely.point_on_surface(faces))]
    triangles = shapely.orient_polygons(shapely.get_parts(shapely.constrained_delaunay_triangles(faces)))
    at = _with_corners_at(points, shapely.get_coordinates(triangles).reshape(-1, 4, 2)[:, :3])
    while len(at) < _FEWEST:
        at = _quartered(at)
    rate = _rates(at.mean(axis=1), levels, metre)
    keys = np.round(at.reshape(-1, 2) / _KEY_M).astype(np.int64)
    node = np.unique(keys, axis=0, return_inverse=True)[1].reshape(-1, 3)
    flat = (node == np.roll(node, 1, axis=1)).any(axis=1)
    at, node, rate = at[~flat], node[~flat], rate[~flat]
    edges = _Edges(at, node)
    toll = edges.tolls(axes)
    split = edges.split(toll > 0.0, shapely.union_all([shapely.boundary(line) for line, _ in axes]))
    ties, tied = edges.across(split, toll)
    rims, rimmed = edges.rims(split, rate, levels, metre)
    return Mesh(
        at, split, rate, int(split.max()) + 1, np.concatenate([ties, rims]), np.concatenate([tied, rimmed])
    )


def _with_corners_at(points: BaseGeometry, at: Floats) -> Floats:
    """Cut triangles in three at points that lie well inside them."""
    for point in shapely.get_parts(points):
        rings = shapely.linearrings(at)
        holds = shapely.covers(shapely.polygons(at), point) & (shapely.distance(rings, point) > _OFF_M)
        for corners in at[holds]:
            place = np.array([point.x, point.y])
            parts = [np.stack([corners[k], corners[(k + 1) % 3], place]) for k in range(3)]
            at = np.concatenate([at[~holds], parts])
    return at


def _quartered(at: Floats) -> Floats:
    """Cut triangles in four between the middles of their sides."""
    a, b, c = at.transpose(1, 0, 2)
    ab, bc, ca = (a + b) / 2, (b + c) / 2, (c + a) / 2
    parts = [(a, ab, ca), (ab, b, bc), (ca, bc, c), (ab, bc, ca)]
    return np.concatenate([np.stack(part, axis=1) for part in parts])


def _rates(at: Floats, levels: Sequence[Level], metre: float) -> Floats:
    """Return the prices of a metre at places (n, 2)."""
    rate = np.full(len(at), metre)
    for level in levels:
        shapely.prepare(level.area)
        rate[shapely.intersects_xy(level.area, at)] = metre + level.more
    return rate


class _Edges:
    """The edges of triangles: edge k of a triangle leaves its corner k."""

    def __init__(self, at: Floats, node: Ints) -> None:
        self._node = node
        self._tail, self._head = at.reshape(-1, 2), np.roll(at, -1, axis=1).reshape(-1, 2)
        ends = np.stack([node, np.roll(node, -1, axis=1)], axis=2).reshape(-1, 2)
        self._low = np.sort(ends, axis=1)
        order = np.lexsort(self._low.T)
        same = (self._low[order][1:] == self._low[order][:-1]).all(axis=1)
        self._twin = np.full(len(ends), -1)
        first = np.flatnonzero(same)
        self._twin[order[first]], self._twin[order[first + 1]] = order[first + 1], order[first]

    def tolls(self, axes: Sequence[tuple[BaseGeometry, float]]) -> Floats:
        """Return what crossing each edge costs."""
        toll = np.zeros(len(self._low))
        lines = shapely.linestrings(np.stack([self._tail, self._head], axis=1))
        for axis, price in axes:
            near = np.flatnonzero(shapely.dwithin(lines, axis, _ON_M))
            on = [
                shapely.dwithin(shapely.points(ends[near]), axis, _ON_M) for ends in (self._tail, self._head)
            ]
            middle = shapely.points((self._tail[near] + self._head[near]) / 2)
            along = near[on[0] & on[1] & shapely.dwithin(middle, axis, _ON_M)]
            toll[along] += price
        return toll

    def split(self, cut: Flags, open_at: BaseGeometry) -> Ints:
        """Return nodes (triangles, 3): triangles round a place share one as far as edges that are not cut join them."""
        corner = np.arange(self._node.size)
        onward = corner // 3 * 3 + (corner + 1) % 3
        whole = np.flatnonzero((self._twin >= 0) & ~cut)
        while True:
            least = corner.copy()
            # an edge leaves one corner of its own triangle, and ends at that place as its twin leaves the other
            for mine, its in ((whole, onward[self._twin[whole]]), (onward[whole], self._twin[whole])):
                np.minimum.at(least, mine, corner[its])
                np.minimum.at(least, its, corner[mine])
            if (least == corner).all():
                break
            corner = least
        pairs = np.stack([corner, self._node.ravel()], axis=1)
        # all corners of a place that no cut edge meets are one, also where the ground only touches itself
        met = np.zeros(self._node.max() + 1, bool)
        met[self._low[cut].ravel()] = True
        met[self._node.ravel()[shapely.dwithin(shapely.points(self._tail), open_at, _ON_M)]] = False
        pairs[~met[pairs[:, 1]], 0] = -1
        return np.unique(pairs, axis=0, return_inverse=True)[1].reshape(-1, 3)

    def across(self, split: Ints, toll: Floats) -> tuple[Ints, Floats]:
        """Return the nodes on both sides of the edges that cost something to cross, and what that costs."""
        flat = split.ravel()
        cut = np.flatnonzero((toll > 0.0) & (self._twin > np.arange(len(toll))))
        onward = cut // 3 * 3 + (cut + 1) % 3
        twin = self._twin[cut]
        ahead = twin // 3 * 3 + (twin + 1) % 3
        ties = np.concatenate(
            [np.stack([flat[cut], flat[ahead]], axis=1), np.stack([flat[onward], flat[twin]], axis=1)]
        )
        tied = np.tile(toll[cut], 2)
        apart = ties[:, 0] != ties[:, 1]
        ties, first = np.unique(np.sort(ties[apart], axis=1), axis=0, return_index=True)
        return ties.reshape(-1, 2), tied[apart][first]

    def rims(self, split: Ints, rate: Floats, levels: Sequence[Level], metre: float) -> tuple[Ints, Floats]:
        """Return the nodes along edges of the ground beyond which a metre costs less, and what the edges cost at that price."""
        rim = np.flatnonzero(self._twin < 0)
        way = self._head[rim] - self._tail[rim]
        length_m = np.hypot(*way.T)
        outward = np.stack([way[:, 1], -way[:, 0]], axis=1) / np.maximum(length_m, GRID_M)[:, None]
        middle = (self._tail[rim] + self._head[rim]) / 2
        beyond = _rates(middle + _BESIDE_M * outward, levels, metre)
        less = beyond < rate[rim // 3]
        ends = np.stack([split.ravel()[rim], split.ravel()[rim // 3 * 3 + (rim + 1) % 3]], axis=1)
        return ends[less], (beyond * length_m)[less]
