"""Which links run along a line in its zone, and what they owe for the lines that they cross."""

from __future__ import annotations

import math

import numpy as np
import shapely
from numpy.typing import NDArray

from siteplan.route.mesh import Floats
from siteplan.route.priced.outlines import Crossings, Edges, Lines
from siteplan.route.priced.steps import Steps
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
        strip, unit = self.strips.owner[strips.edge], lines.unit[strips.link]
        across = np.abs(unit[:, 1] * self._along[strip, 0] - unit[:, 0] * self._along[strip, 1])
        flat = across < self._least_sine[strip]
        if not flat.any():
            return
        key = (strips.link * len(self._zones) + strip)[flat]
        pairs, of_pair = np.unique(key, return_inverse=True)
        link, strip = np.divmod(pairs, len(self._zones))
        within_m = Steps(of_pair, strips.at_m[flat], strips.sign[flat], 0.0).whole(lines.length_m[link])
        bad = within_m > NEAR_M
        for flag, places in ((first, lines.starts), (last, lines.ends)):
            asked = np.flatnonzero(bad & flag[link])
            held = shapely.dwithin(self._zones[strip[asked]], shapely.points(places[link[asked]]), NEAR_M)
            bad[asked[held]] = False
        prices[link[bad]] = math.inf

    def add_tolls(self, prices: Floats, lines: Lines, axes: Crossings, first: Bools, last: Bools) -> None:
        """Add what links owe for the lines that they cross, half for a bend on a line."""
        if not len(axes.link):
            return
        unit, piece = lines.unit[axes.link], self._piece[axes.edge]
        across = np.abs(unit[:, 0] * piece[:, 1] - unit[:, 1] * piece[:, 0])
        left_m = lines.length_m[axes.link] - axes.at_m
        at_start, at_end = np.abs(axes.at_m) * across <= NEAR_M, np.abs(left_m) * across <= NEAR_M
        through = (axes.at_m > 0.0) & (left_m > 0.0) & ~at_start & ~at_end
        times = through + 0.5 * (at_start & ~first[axes.link]) + 0.5 * (at_end & ~last[axes.link])
        prices += np.bincount(axes.link, weights=times * self._toll[axes.edge], minlength=len(lines))
