"""Least prices of trees over priced ground, tolled lines with it, told by potentials.

*Proof.* A tree joins a start to some ends. Let there be a potential for each end over the free ground, and for every set of
ends let their sum rise nowhere by more than the price of a metre, nor jump at a line by more than its toll. Every piece of trench
has some ends beyond it. It costs no less than the sum of their potentials rises along it, and all pieces together no less than
each potential rises along the whole way from the start to its end. So a tree costs no less than the sum of the rises from start
to ends, whatever the potentials are (a paired calibration: Lawlor and Morgan 1994; from memory). A piece along an edge between
two prices pays the lesser, and the sum rises no more along it, as it is the same on both sides; along an edge of the ground
beyond which a metre costs less, that is a condition of its own. What is bored costs no less than its metres at the price that no
metre there falls below (``dear``). A place where trenches branch on a line is taken to be on the side of most of them: the
others pay the toll.

Potentials are linear over triangles (``calibration_mesh``), so that the conditions are a few for each triangle. Good ones are
sought by alternating projections (the alternating direction method of multipliers: Boyd and others 2011). Then all are divided by
the largest share by which a condition is missed, and so all hold, however near the search came. Along a wall the least of
a potential is taken over places 0.01 m apart, and what it may fall between these is taken off.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.sparse import block_array, csr_array, diags_array, eye_array, kron, vstack
from scipy.sparse.linalg import splu
from shapely import Point

from siteplan.route.between import Goal
from siteplan.route.proof.calibration_mesh import Mesh

Floats = NDArray[np.float64]

_ROUNDS = 600
_EVERY = 20
_PATIENCE = 8
_SMALL = 0.9
_ENOUGH = 2e-4
_STEP = 2.0
_OVER = 1.6
_STIFFER, _STIFFER_AT = 2.0, (100, 200, 300)
_TIED = 3.0
_SOUGHT_M = 1.0
_NEAR_M = 0.01
_AT_M = 2e-5
_SOFT = 1e-9
_ROUNDING = 1e-9


@dataclass(frozen=True, slots=True)
class Calibration:
    """Potentials and what they prove.

    Attributes
    ----------
    price : float
        No tree costs less.
    rises : ndarray
        (ends,): of each potential from the start to its end, at least.
    potentials : ndarray
        (ends, nodes), 0 at the start.
    """

    price: float
    rises: Floats
    potentials: Floats


def calibrated(mesh: Mesh, start: Point, ends: Sequence[Goal]) -> Calibration:
    """Find a price that no tree from a start to some ends falls below, bends and tees free.

    Parameters
    ----------
    mesh : Mesh
        The ground.
    start : Point
        On it.
    ends : sequence of Point or MultiLineString
        On it.

    Examples
    --------
    Three corners of an even-sided triangle of 20 m on open ground at 3 a metre: 3 times 20 sqrt(3).

    >>> from siteplan.route.proof.calibration_mesh import mesh_of
    >>> corners = [Point(0, 0), Point(20, 0), Point(10, 10 * 3**0.5)]
    >>> mesh = mesh_of(shapely.box(-50, -50, 50, 50), (), (), 3.0, corners)
    >>> round(calibrated(mesh, corners[0], corners[1:]).price, 1)
    103.9
    """
    return _Search(mesh, start, ends).found()


class _Search:
    """The search for potentials, in units of a metre of ground at the least price."""

    def __init__(self, mesh: Mesh, start: Point, ends: Sequence[Goal]) -> None:
        self._mesh, self._ends = mesh, ends
        self._metre = float(mesh.rate.min())
        count = len(ends)
        sets = np.array([[(number >> end) & 1 for end in range(count)] for number in range(1, 1 << count)])
        of_sets = csr_array(sets.astype(np.float64))
        weight = np.sqrt(mesh.area_m2)
        slopes = [diags_array(weight) @ slope for slope in mesh.slopes()]
        ties = np.arange(len(mesh.ties))
        between = csr_array(
            (np.repeat([1.0, -1.0], len(ties)), (np.tile(ties, 2), mesh.ties.T.ravel())),
            shape=(len(ties), mesh.count),
        )
        self._most = np.tile(weight * mesh.rate / self._metre, len(sets))
        self._most_tied = np.tile(_TIED * mesh.tied / self._metre, len(sets))
        at_start, _ = mesh.at_places(np.array([[start.x, start.y]]))
        self._gauge = kron(eye_array(count), at_start[[0]]).tocsr()
        self._at_ends = [mesh.at_places(_along(end, _SOUGHT_M))[0] for end in ends]
        rows = [kron(of_sets, slopes[0]), kron(of_sets, slopes[1]), kron(of_sets, _TIED * between)]
        unit = np.eye(count)
        rows += [kron(csr_array(unit[[end]]), table) for end, table in enumerate(self._at_ends)]
        self._all = kron(eye_array(count), mesh.bound()).tocsr()
        self._rows = (vstack(rows) @ self._all).tocsr()
        slope, tied = len(self._most), len(self._most_tied)
        cuts = np.cumsum([0, slope, slope, tied, *(table.shape[0] for table in self._at_ends)]).tolist()
        pieces = [slice(first, last) for first, last in pairwise(cuts)]
        self._along_x, self._along_y, self._ties, *self._of_ends = pieces
        places = np.vstack([np.vstack([_corner(end) for end in ends]), _corner(start)])
        self._weight = _STEP / max(float(np.ptp(places, axis=0).max()), 1e-6)

    def found(self) -> Calibration:
        rows, count = self._rows, len(self._ends)
        columns = rows.T.tocsr()
        square = columns @ rows + _SOFT * eye_array(rows.shape[1])
        # the potentials are 0 at the start
        gauge = self._gauge @ self._all
        whole = block_array([[square, gauge.T], [gauge, None]]).tocsc()
        solve = splu(whole).solve
        none = np.zeros(count)
        kept, multiplier = np.zeros(rows.shape[0]), np.zeros(rows.shape[0])
        potentials, best = np.zeros(rows.shape[1]), [0.0]
        for number in range(1, _ROUNDS + 1):
            tried = solve(np.concatenate([columns @ (kept - multiplier), none]))[: rows.shape[1]]
            told = rows @ tried
            if number % _EVERY == 0:
                missed = self._missed(told)
                reached = self._rises(told) / max(missed, 1e-12)
                if reached > best[-1]:
                    potentials = tried / max(missed, 1e-12)
                best.append(max(best[-1], reached))
                if missed < _SMALL:  # still growing
                    best = best[-1:]
                elif len(best) > _PATIENCE and best[-1] - best[-_PATIENCE] <= _ENOUGH * best[-1]:
                    break
            wanted = _OVER * told + (1.0 - _OVER) * kept + multiplier
            kept = self._projected(wanted)
            multiplier = wanted - kept
            if number in _STIFFER_AT:
                self._weight *= _STIFFER
                multiplier /= _STIFFER
        return self._proven((self._all @ potentials).reshape(count, -1))

    def _missed(self, told: Floats) -> float:
        """Return the largest share of what is allowed."""
        slopes = np.hypot(told[self._along_x], told[self._along_y]) / self._most
        return max(float(slopes.max()), float((np.abs(told[self._ties]) / self._most_tied).max(initial=0.0)))

    def _rises(self, told: Floats) -> float:
        return float(sum(told[end].min() for end in self._of_ends))

    def _projected(self, wanted: Floats) -> Floats:
        """Return what is nearest and allowed, and for the ends what is best for the rises, too."""
        found = wanted.copy()
        length = np.hypot(wanted[self._along_x], wanted[self._along_y])
        share = self._most / np.maximum(length, self._most)
        found[self._along_x] *= share
        found[self._along_y] *= share
        np.clip(wanted[self._ties], -self._most_tied, self._most_tied, out=found[self._ties])
        for end in self._of_ends:
            found[end] = _raised(wanted[end], 1.0 / self._weight)
        return found

    def _proven(self, potentials: Floats) -> Calibration:
        """Measure afresh by how much the conditions are missed, and what the potentials prove."""
        mesh = self._mesh
        along_x, along_y = mesh.slopes()
        missed = 1.0
        for number in range(1, 1 << len(potentials)):
            total = potentials[[end for end in range(len(potentials)) if number >> end & 1]].sum(axis=0)
            slopes = np.hypot(along_x @ total, along_y @ total) / (mesh.rate / self._metre)
            jumps = np.abs(total[mesh.ties[:, 0]] - total[mesh.ties[:, 1]]) / (mesh.tied / self._metre)
            missed = max(missed, float(slopes.max()), float(jumps.max(initial=0.0)))
        potentials = potentials * (self._metre / (missed * (1.0 + _ROUNDING)))
        potentials = potentials - (self._gauge @ potentials.ravel())[:, None]
        rises = np.array(
            [_least_at(mesh, values, end) for values, end in zip(potentials, self._ends, strict=True)]
        )
        return Calibration(max(float(rises.sum()), 0.0), rises, potentials)


def _raised(values: Floats, amount: float) -> Floats:
    """Raise the least of some values to one level, by an amount in all."""
    if len(values) == 1:
        return values + amount
    ascending = np.sort(values)
    levels = (np.cumsum(ascending) + amount) / np.arange(1, len(values) + 1)
    # the level over so many falls as long as the next value lies below it
    raised: Floats = np.maximum(values, levels.min())
    return raised


def _least_at(mesh: Mesh, values: Floats, end: Goal) -> float:
    """Return the least of a potential at an end, or a little less."""
    table, _ = mesh.at_places(_along(end, _NEAR_M))
    beside = shapely.STRtree(shapely.polygons(mesh.at)).query(end, predicate="dwithin", distance=_NEAR_M)
    slack_m = _AT_M if isinstance(end, Point) else _NEAR_M + _AT_M
    return float((table @ values).min()) - float(mesh.rate[beside].max()) * slack_m


def _along(place: Goal, apart_m: float) -> Floats:
    """Return places along walls, ends and corners among them, no farther apart than said; or the point itself."""
    if isinstance(place, Point):
        return np.array([[place.x, place.y]])
    places: Floats = np.unique(shapely.get_coordinates(shapely.segmentize(place, apart_m)), axis=0)
    return places


def _corner(place: Goal) -> Floats:
    first: Floats = shapely.get_coordinates(place)[:1]
    return first
