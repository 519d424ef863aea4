"""Cells on the edges of regions, and the pairs of them that may see each other within a region."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import shapely
from shapely import Point
from shapely.geometry.base import BaseGeometry

from siteplan.route.between import Goal
from siteplan.route.proof.cell_pairs import (
    GOAL,
    MIDWAY,
    NO_EDGE,
    START,
    Cells,
    Flags,
    Pairs,
    all_of,
    touching,
)
from siteplan.route.proof.convex import Floats
from siteplan.route.proof.region_sight import RegionSight
from siteplan.route.proof.regions import NEAR_M, Edge, Regions
from siteplan.route.proof.sightlines import Bits, Ints, clear, one_cuts_all
from siteplan.route.proof.tolls import Tolls, side_of

CORNERS = ((0, 0), (0, 1), (1, 0), (1, 1))

_FIRST_M = 4.0
_SAME_M = 1e-7
_ASIDE_M = 5e-6


class Net:
    """Nodes, cells and pairs of cells between two places, halved again and again where it matters.

    Attributes
    ----------
    at : ndarray
        Places of the nodes, (n, 2).
    aside : ndarray
        The same, but nodes at which an edge is cut by an axis stand 5e-6 m on their own side of it.
    lines : ndarray
        (m, 2, 2): ends of all edges, then of all pieces of walls.
    cells : Cells
    pairs : Pairs
    joins : list of (int, int, float)
        Nodes at the same place on both sides of an axis, and the toll.
    looked_at : int
        Pairs looked at so far.
    """

    def __init__(self, regions: Regions, tolls: Tolls, start: Goal, goal: Goal, reach: float) -> None:
        self.regions = regions
        self._places: list[Floats] = list(regions.at)
        self._aside: list[Floats] = list(regions.at)
        self.joins: list[tuple[int, int, float]] = []
        self._rows: list[tuple[int, int, int, int]] = []
        self._homes: list[tuple[int, ...]] = []
        self._ends = (start, goal)
        lines = [regions.at[[edge.tail, edge.head]] for edge in regions.edges]
        self._sides = self._split(tolls)
        for number, edge in enumerate(regions.edges):
            self._lay_edge(number, edge, tolls)
        for node, region in regions.corners:
            self._lay_point(node, MIDWAY, (region,))
        for place in tolls.ends:
            self._lay_point(self._node(place), MIDWAY, tuple(regions.holding(Point(place))))
        for role, place in ((START, start), (GOAL, goal)):
            lines += self._lay_place(role, place, len(lines))
        self.at: Floats = np.array(self._places).reshape(-1, 2)
        self.aside: Floats = np.array(self._aside).reshape(-1, 2)
        self.lines: Floats = np.array(lines).reshape(-1, 2, 2)
        rows = np.array(self._rows, np.int64).reshape(-1, 4)
        near = self._within(rows, reach)
        self.cells = Cells(rows[near, :2], rows[near, 2], rows[near, 3])
        self._sights: dict[int, RegionSight] = {}
        self.looked_at = 0
        self.pairs = self._first_pairs([self._homes[cell] for cell in np.flatnonzero(near)])

    @property
    def on_edge(self) -> Flags:
        """By cell: it is a piece of an edge."""
        return (self.cells.line >= 0) & (self.cells.line < len(self.regions.edges))

    @property
    def length_m(self) -> Floats:
        """Lengths of the cells."""
        length_m: Floats = np.hypot(*(self.at[self.cells.ends[:, 1]] - self.at[self.cells.ends[:, 0]]).T)
        return length_m

    def corners(self) -> tuple[Ints, Ints]:
        """By pair and the four combinations of ends: the nodes, (n, 4) each."""
        one, other = (self.cells.ends[self.pairs.cells[:, side]] for side in range(2))
        return one[:, [i for i, _ in CORNERS]], other[:, [j for _, j in CORNERS]]

    def halve(self, alive: Flags, kept: Flags, split: Flags) -> None:
        """Drop cells and pairs, and halve some of the cells; halves inherit the pairs, as far as they see each other."""
        cells, halves = self.cells, np.flatnonzero(split)
        whole = np.flatnonzero(alive & ~split)
        middle = len(self.at) + np.arange(len(halves))
        places = self.at[cells.ends[halves]].mean(axis=1)
        self.at, self.aside = np.vstack([self.at, places]), np.vstack([self.aside, places])
        ends = cells.ends[halves]
        child = np.full((len(cells), 2), -1)
        child[whole, 0] = np.arange(len(whole))
        child[halves] = len(whole) + np.arange(len(halves))[:, None] + [0, len(halves)]
        order = np.concatenate([whole, halves, halves])
        self.cells = Cells(
            np.vstack(
                [cells.ends[whole], np.stack([ends[:, 0], middle], 1), np.stack([middle, ends[:, 1]], 1)]
            ),
            cells.line[order],
            cells.role[order],
        )
        pairs = self.pairs.take(kept)
        as_before = (child[pairs.cells, 1] < 0).all(axis=1)
        former = pairs.take(as_before)
        former = replace(former, cells=child[former.cells, 0])
        pairs = pairs.take(~as_before)
        found: list[Ints] = []
        region: list[Ints] = []
        for i, j in CORNERS:
            both = np.stack([child[pairs.cells[:, 0], i], child[pairs.cells[:, 1], j]], axis=1)
            born = (both >= 0).all(axis=1)
            found.append(both[born])
            region.append(pairs.region[born])
        self.pairs = all_of([former, self._later_pairs(np.vstack(found), np.concatenate(region))])

    def _node(self, place: Floats, aside: Floats | None = None) -> int:
        self._places.append(place)
        self._aside.append(place if aside is None else aside)
        return len(self._places) - 1

    def _split(self, tolls: Tolls) -> dict[tuple[int, int], int]:
        """Give the edges on both sides of an axis that goes through a node a node each; return it by edge and node."""
        at, edges = self.regions.at, self.regions.edges
        here: dict[int, list[int]] = {}
        for number, edge in enumerate(edges):
            for node in (edge.tail, edge.head):
                here.setdefault(node, []).append(number)
        found: dict[tuple[int, int], int] = {}
        for node, (way_in, way_out, toll) in tolls.passing(at).items():
            sides = {}
            for number in here.get(node, []):
                other = edges[number].head if edges[number].tail == node else edges[number].tail
                sides[number] = side_of(way_in, way_out, at[other] - at[node])
            if set(sides.values()) != {1, -1}:
                continue
            left = np.array([-(way_in + way_out)[1], (way_in + way_out)[0]])
            left *= _ASIDE_M / math.hypot(*left)
            copies = {side: self._node(at[node], at[node] + side * left) for side in (1, -1)}
            found |= {(number, node): copies[side] for number, side in sides.items()}
            self.joins.append((copies[1], copies[-1], toll))
        return found

    def _lay_edge(self, number: int, edge: Edge, tolls: Tolls) -> None:
        """Lay cells along an edge, cut where an axis crosses it."""
        tail, head = self.regions.at[edge.tail], self.regions.at[edge.head]
        way = head - tail
        length_m = math.hypot(*way)
        beside = way / length_m * _ASIDE_M
        cuts = [*tolls.cuts(tail, head), (1.0, 0.0)]
        share, node = 0.0, self._sides.get((number, edge.tail), edge.tail)
        for until, toll in cuts:
            place = tail + until * way
            at_end = until == 1.0
            last = (
                self._sides.get((number, edge.head), edge.head)
                if at_end
                else self._node(place, place - beside)
            )
            self._lay(
                node,
                last,
                max(1, math.ceil((until - share) * length_m / _FIRST_M)),
                number,
                MIDWAY,
                edge.homes,
            )
            if not at_end:
                node = self._node(place, place + beside)
                self.joins.append((last, node, toll))
            share = until

    def _lay(self, tail: int, head: int, count: int, line: int, role: int, homes: tuple[int, ...]) -> None:
        """Lay so many cells from node to node."""
        here, way = self._places[tail], self._places[head] - self._places[tail]
        nodes = [tail, *(self._node(here + way * k / count) for k in range(1, count)), head]
        for one, other in pairwise(nodes):
            self._rows.append((one, other, line, role))
            self._homes.append(homes)

    def _lay_point(self, node: int, role: int, homes: tuple[int, ...]) -> None:
        self._rows.append((node, node, NO_EDGE, role))
        self._homes.append(homes)

    def _lay_place(self, role: int, place: Goal, lines: int) -> list[Floats]:
        """Lay the cells of the start or the goal; return the pieces of walls that they lie on."""
        if isinstance(place, Point):
            homes = self.regions.holding(place)
            if homes:
                at = _onto(self.regions.regions[homes[0]].area, np.array([[place.x, place.y]]))
                self._lay_point(self._node(at[0]), role, tuple(homes))
            return []
        found: list[Floats] = []
        for number, region in enumerate(self.regions.regions):
            for wide in _straight_pieces(place.intersection(region.wide)):
                piece = _onto(region.area, wide)
                if region.edge and region.edge.distance(shapely.LineString(piece)) > NEAR_M:
                    continue
                count = max(1, math.ceil(math.dist(*piece) / _FIRST_M))
                self._lay(
                    self._node(piece[0]), self._node(piece[1]), count, lines + len(found), role, (number,)
                )
                found.append(piece)
        return found

    def _within(self, rows: Ints, reach: float) -> Flags:
        """Tell which cells a straight line from start to goal can visit in a length."""
        if not math.isfinite(reach):
            return np.ones(len(rows), bool)
        pieces = shapely.linestrings(self.at[rows[:, :2]])
        visit: Floats = sum(shapely.distance(pieces, end) for end in self._ends)
        return visit <= reach

    def _first_pairs(self, homes: list[tuple[int, ...]]) -> Pairs:
        members: dict[int, list[int]] = {}
        for cell, regions in enumerate(homes):
            for region in regions:
                members.setdefault(region, []).append(cell)
        found = []
        for region, mine in sorted(members.items()):
            cells = np.array(mine)
            one, other = (cells[side] for side in np.triu_indices(len(cells), 1))
            line, role = self.cells.line, self.cells.role
            apart = (
                (line[one] != line[other]) | (line[one] < 0) | (self.regions.regions[region].bore is not None)
            )
            apart &= (role[one] != role[other]) | (role[one] == MIDWAY)
            both = np.stack([one[apart], other[apart]], axis=1)
            nodes = np.unique(self.cells.ends[cells])
            spot = np.zeros(len(self.at), np.int64)
            spot[nodes] = np.arange(len(nodes))
            cut = self._sight(region).all_cut(self.at, nodes)
            ends = spot[self.cells.ends[both]]
            bits = [cut[ends[:, 0, i], ends[:, 1, j]] for i, j in CORNERS]
            found.append(self._seeing(both, region, bits))
        return all_of(found)

    def _later_pairs(self, both: Ints, region: Ints) -> Pairs:
        found = []
        for number in np.unique(region):
            mine = both[region == number]
            ends = self.cells.ends[mine]
            one = np.concatenate([ends[:, 0, i] for i, _ in CORNERS])
            other = np.concatenate([ends[:, 1, j] for _, j in CORNERS])
            bits = np.split(self._sight(int(number)).cut(self.at, one, other), 4)
            found.append(self._seeing(mine, int(number), bits))
        return all_of(found)

    def _seeing(self, both: Ints, region: int, bits: list[Bits]) -> Pairs:
        """Keep the pairs that may see each other; those that share a node stay."""
        self.looked_at += len(both)
        ends = self.cells.ends[both]
        same = ends[:, 0, :, None] == ends[:, 1, None, :]
        shared = same.any(axis=(1, 2))
        free = np.stack([clear(bit) for bit in bits], axis=1)
        found = Pairs(both, np.full(len(both), region), shared, np.zeros(len(both), bool), free)
        found = found.take(shared | ~one_cuts_all(bits))
        return replace(found, far_cut=self._far_cut(found, region))

    def _far_cut(self, pairs: Pairs, region: int) -> Flags:
        """Tell which touching cells see each other only through their shared node.

        A blocker that has the node on its boundary and cuts the segment between their other ends holds the whole way from
        the node to some point of that segment, and so cuts every segment between the two cells.
        """
        cut = pairs.shared.copy()
        spots = np.flatnonzero(cut)
        if len(spots):
            shared, one, other = touching(self.cells.ends[pairs.cells[spots]]).T
            bits = self._sight(region).cut(self.at, one, other)
            nodes, back = np.unique(shared, return_inverse=True)
            cut[spots] = ((bits & self._sight(region).touched(self.at[nodes])[back]) != 0).any(axis=1)
        return cut

    def _sight(self, region: int) -> RegionSight:
        if region not in self._sights:
            self._sights[region] = RegionSight(self.regions.regions[region])
        return self._sights[region]


def _onto(area: BaseGeometry, places: Floats) -> Floats:
    """Move places, (n, 2), that count as in an area onto it."""
    ways = shapely.shortest_line(area, shapely.points(places))
    moved: Floats = shapely.get_coordinates(ways).reshape(-1, 2, 2)[:, 0]
    return moved


def _straight_pieces(walls: BaseGeometry) -> list[Floats]:
    """Return the straight pieces of walls, (2, 2) each."""
    lines = [part for part in shapely.get_parts(walls) if part.geom_type == "LineString"]
    pieces = [piece for line in lines for piece in np.stack([line.coords[:-1], line.coords[1:]], axis=1)]
    return [piece for piece in pieces if math.dist(*piece) > _SAME_M]
