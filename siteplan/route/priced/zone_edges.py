"""Which links run along a line in its zone, and what they owe for the lines that they cross."""

from __future__ import annotations

import math

import numpy as np
import shapely
from numpy.typing import NDArray

from siteplan.route.mesh import Floats
from siteplan.route.priced.outlines import Crossings, Edges, Lines
from siteplan.route.priced.zones import NEAR_M, beside
from siteplan.route.scene import Scene

Bools = NDArray[np.bool_]

_PARALLEL = 1e-9
"""A sine that is short of the least by no more than this is not too flat."""


class Zones:
    """The lines of a scene that may be crossed.

    Attributes
    ----------
    strips : Edges
        Of the ground beside each straight piece of the lines that have a least angle.
    axes : Edges
        The lines themselves.
    """

    def __init__(self, scene: Scene) -> None:
        parts = beside(scene)
        self.strips = Edges.of([part.area for part in parts])
        self._zones = np.array([part.crossed.zone for part in parts], dtype=object)
        self._along = np.array([part.along for part in parts]).reshape(-1, 2)
        least = [math.sin(math.radians(part.crossed.least_angle_deg)) for part in parts]
        self._least_sine = np.array(least) - _PARALLEL
        pieces = np.zeros((0, 4))
        toll: list[float] = []
        for crossed in scene.crossed:
            for line in shapely.get_parts(crossed.axis):
                places = shapely.get_coordinates(line)
                pieces = np.vstack([pieces, np.hstack([places[:-1], places[1:]])])
                toll += [crossed.toll.price] * (len(places) - 1)
        self.axes = Edges(pieces[:, :2], pieces[:, 2:], np.arange(len(pieces)))
        self._piece = Lines(self.axes.start, self.axes.end).unit
        self._toll = np.array(toll)

    def shut_flat(self, prices: Floats, lines: Lines, strips: Crossings, first: Bools, last: Bools) -> None:
        """Make links infinite that run along a line in its zone, but for first and last ones that start or end in it."""
        if not len(strips.link):
            return
        strip = self.strips.owner.take(strips.edge)
        unit, along = lines.unit.take(strips.link, axis=0), self._along.take(strip, axis=0)
        across = np.abs(unit[:, 1] * along[:, 0] - unit[:, 0] * along[:, 1])
        flat = (across < self._least_sine.take(strip)).nonzero()[0]
        if not len(flat):
            return
        link, count = strips.link.take(flat), len(self._zones)
        left_m = np.maximum(lines.length_m.take(link) - np.maximum(strips.at_m.take(flat), 0.0), 0.0)
        within_m = np.bincount(link * count + strip.take(flat), weights=left_m * strips.sign.take(flat))
        link, strip = np.divmod((within_m > NEAR_M).nonzero()[0], count)
        bad = np.ones(len(link), dtype=bool)
        for flag, places in ((first, lines.starts), (last, lines.ends)):
            asked = (bad & flag[link]).nonzero()[0]
            if len(asked):
                points = shapely.points(places[link[asked]])
                bad[asked] = ~shapely.dwithin(self._zones[strip[asked]], points, NEAR_M)
        prices[link[bad]] = math.inf

    def add_tolls(self, prices: Floats, lines: Lines, axes: Crossings, first: Bools, last: Bools) -> None:
        """Add what links owe for the lines that they cross, half for a bend on a line."""
        link, at_m = axes.link, axes.at_m
        if not len(link):
            return
        unit, piece = lines.unit.take(link, axis=0), self._piece.take(axes.edge, axis=0)
        across = np.abs(unit[:, 0] * piece[:, 1] - unit[:, 1] * piece[:, 0])
        left_m = lines.length_m.take(link) - at_m
        at_start, at_end = np.abs(at_m) * across <= NEAR_M, np.abs(left_m) * across <= NEAR_M
        through = (at_m > 0.0) & (left_m > 0.0) & ~(at_start | at_end)
        times = through + 0.5 * (at_start & ~first[link]) + 0.5 * (at_end & ~last[link])
        prices += np.bincount(link, weights=times * self._toll.take(axes.edge), minlength=len(lines))
