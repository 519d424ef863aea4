"""Where a trench may leave the free ground for the thing where it starts or ends."""

from __future__ import annotations

import math

import numpy as np
import shapely
from shapely import LineString, Point

from siteplan.route.approach import Approach
from siteplan.route.mesh import Floats, Ints

_STEP_M = 4.0
_MOST = 4


class Feet:
    """The places of one approach as straight pieces, and points on them.

    Parameters
    ----------
    approach : Approach
        Where a trench starts or ends.

    Attributes
    ----------
    start, end : array (p, 2)
        Straight pieces of the places; a point is a piece without length.
    onward : array (p, 2)
        How the trench goes on from there [m].
    has_leg : bool
        Whether it goes on at all.
    """

    def __init__(self, approach: Approach) -> None:
        starts, ends, onward = [], [], []
        for place, leg in approach.places:
            corners = shapely.get_coordinates(place)
            if isinstance(place, Point):
                corners = np.vstack([corners, corners])
            starts.append(corners[:-1])
            ends.append(corners[1:])
            onward.append(np.tile(leg, (len(corners) - 1, 1)))
        self.start: Floats = np.vstack(starts)
        self.end: Floats = np.vstack(ends)
        self.onward: Floats = np.vstack(onward)
        self.has_leg = bool(np.hypot(*self.onward.T).max() > 0.0)

    def spread(self) -> tuple[Floats, Ints]:
        """Return points spread along the pieces, ends included, and the piece of each."""
        places, pieces = [], []
        for piece, (start, end) in enumerate(zip(self.start, self.end, strict=True)):
            length_m = math.dist(start, end)
            count = 1 if length_m == 0.0 else min(_MOST, 2 + int(length_m / _STEP_M))
            share = np.linspace(0.0, 1.0, count)[:, None] if count > 1 else np.zeros((1, 1))
            places.append(start + share * (end - start))
            pieces.append(np.full(count, piece))
        return np.vstack(places), np.concatenate(pieces)

    def nearest(self, places: Floats) -> tuple[Floats, Ints]:
        """Return the nearest point of every piece to every place, and the piece of each: arrays (places x pieces, ...)."""
        pieces = np.tile(np.arange(len(self.start)), len(places))
        spots = np.repeat(places, len(self.start), axis=0)
        return self.onto(spots, pieces), pieces

    def onto(self, places: Floats, pieces: Ints) -> Floats:
        """Move places onto their pieces, the least way."""
        start, along = self.start[pieces], (self.end - self.start)[pieces]
        square = np.maximum(np.einsum("ij,ij->i", along, along), 1e-300)
        share = np.clip(np.einsum("ij,ij->i", places - start, along) / square, 0.0, 1.0)
        onto: Floats = start + share[:, None] * along
        return onto

    def piece_of(self, place: Floats) -> int:
        """Return the piece nearest to a place."""
        near, _ = self.nearest(place[None, :])
        return int(np.argmin(np.hypot(*(near - place).T)))

    def leg(self, place: Floats, piece: int) -> LineString:
        """Return the last leg from a place on a piece."""
        return LineString([place, place + self.onward[piece]])
