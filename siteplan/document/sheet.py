"""Paper, scale and the way from ground metres to points on the paper. Knows nothing of PDF.

A drawing is made at one of the trade's scales (engineer's scales in feet to the inch, or metric), never "to fit". Page
points are 1/72 inch, from the lower left corner, y up.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from math import cos, radians, sin

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from siteplan.units import FOOT_M, INCH_M, System

INCH_PT = 72.0
POINTS_PER_METRE = INCH_PT / INCH_M


@dataclass(frozen=True, slots=True, kw_only=True)
class Paper:
    """A size of paper [points], as it lies for the sheet."""

    name: str
    width_pt: float
    height_pt: float

    @property
    def turned(self) -> Paper:
        """The same paper on its other side."""
        return replace(self, width_pt=self.height_pt, height_pt=self.width_pt)


LETTER = Paper(name="letter", width_pt=612.0, height_pt=792.0)
TABLOID = Paper(name="tabloid", width_pt=792.0, height_pt=1224.0)
A4 = Paper(name="A4", width_pt=0.210 * POINTS_PER_METRE, height_pt=0.297 * POINTS_PER_METRE)
"""ISO 216: 210 mm by 297 mm."""
A3 = Paper(name="A3", width_pt=0.297 * POINTS_PER_METRE, height_pt=0.420 * POINTS_PER_METRE)
"""ISO 216: 297 mm by 420 mm."""
PAPERS = {paper.name.lower(): paper for paper in (LETTER, TABLOID, A4, A3)}


@dataclass(frozen=True, slots=True)
class Box:
    """An upright rectangle on the page [points]."""

    x: float
    y: float
    width: float
    height: float

    @property
    def right(self) -> float:
        """The x of its right side."""
        return self.x + self.width

    @property
    def top(self) -> float:
        """The y of its top."""
        return self.y + self.height

    def inset(self, by_pt: float) -> Box:
        """Return the box smaller by so much on each side."""
        return Box(self.x + by_pt, self.y + by_pt, self.width - 2 * by_pt, self.height - 2 * by_pt)


@dataclass(frozen=True, slots=True, kw_only=True)
class Scale:
    """A drawing scale.

    Attributes
    ----------
    ratio : float
        Ground over paper: 240 for 1 in = 20 ft.
    text : str
        As it prints.
    """

    ratio: float
    text: str

    def points(self, ground_m: float) -> float:
        """Points on the paper for a length on the ground.

        >>> [round(scale.points(0.3048 * 100), 6) for scale in scales("ft") if scale.text == "1 in = 20 ft"]
        [360.0]
        """
        return ground_m * POINTS_PER_METRE / self.ratio


_FEET_TO_THE_INCH = (10, 20, 30, 40, 50, 60, 80, 100, 200, 300, 400, 500, 600, 1000, 2000, 3000)
_METRIC = (100, 200, 250, 500, 1000, 2000, 2500, 5000, 10000, 20000, 50000)
_DETAIL_FEET = (1, 1.5, 2, 3, 4, 8, 16)
_DETAIL_METRIC = (10, 20, 25, 50, 100, 200)


def scales(system: System) -> tuple[Scale, ...]:
    """Scales for plans, largest drawing first."""
    if system == "m":
        return tuple(Scale(ratio=float(ratio), text=f"1:{ratio}") for ratio in _METRIC)
    return tuple(Scale(ratio=feet * FOOT_M / INCH_M, text=f"1 in = {feet} ft") for feet in _FEET_TO_THE_INCH)


def detail_scales(system: System) -> tuple[Scale, ...]:
    """Scales for sections, largest drawing first."""
    if system == "m":
        return tuple(Scale(ratio=float(ratio), text=f"1:{ratio}") for ratio in _DETAIL_METRIC)
    return tuple(Scale(ratio=feet * FOOT_M / INCH_M, text=f"1 in = {feet:g} ft") for feet in _DETAIL_FEET)


def largest_scale(choices: Iterable[Scale], size_m: tuple[float, float], box: Box) -> Scale:
    """Return the largest scale at which so much ground (width, height) fits the box; the smallest if none does.

    >>> largest_scale(scales("m"), (40.0, 30.0), Box(0, 0, 500, 500)).text
    '1:250'
    """
    slack = 1e-6
    for scale in choices:
        if scale.points(size_m[0]) <= box.width + slack and scale.points(size_m[1]) <= box.height + slack:
            break
    return scale


@dataclass(frozen=True, slots=True, kw_only=True)
class Viewport:
    """A window of paper on the ground.

    Attributes
    ----------
    box : Box
        Where on the page.
    scale : Scale
    centre : tuple of float
        Ground point [m] in the middle of the box.
    turn_deg : float
        By how much the ground is turned anticlockwise on the page; 0: north (the ground's y) is up.
    """

    box: Box
    scale: Scale
    centre: tuple[float, float]
    turn_deg: float = 0.0

    def place(self, x: float, y: float) -> tuple[float, float]:
        """Page point of a ground point [m]."""
        placed = self._place(np.array([[x, y]], dtype=np.float64))[0]
        return float(placed[0]), float(placed[1])

    def on_page(self, shape: BaseGeometry) -> BaseGeometry:
        """Return the shape in page points, what falls outside the box cut off; areas keep their cut sides."""
        return self.clip(shapely.transform(shape, self._place))

    def outline(self, shape: BaseGeometry) -> BaseGeometry:
        """Return the shape's outline in page points: where it leaves the box it is left open."""
        areas = shape.geom_type in ("Polygon", "MultiPolygon")
        return self.on_page(shape.boundary if areas else shape)

    def clip(self, page_shape: BaseGeometry) -> BaseGeometry:
        """Cut a shape in page points to the box."""
        box = self.box
        return shapely.clip_by_rect(page_shape, box.x, box.y, box.right, box.top)

    def shows(self, x: float, y: float) -> bool:
        """Whether a ground point falls in the box."""
        px, py = self.place(x, y)
        return self.box.x <= px <= self.box.right and self.box.y <= py <= self.box.top

    @property
    def _matrix(self) -> NDArray[np.float64]:
        turn, per_metre = radians(self.turn_deg), self.scale.points(1.0)
        return per_metre * np.array([[cos(turn), -sin(turn)], [sin(turn), cos(turn)]])

    def _place(self, rows: NDArray[np.float64]) -> NDArray[np.float64]:
        middle = np.array([self.box.x + self.box.width / 2, self.box.y + self.box.height / 2])
        placed: NDArray[np.float64] = (rows - np.array(self.centre)) @ self._matrix.T + middle
        return placed


def fit(
    shapes: Iterable[BaseGeometry],
    box: Box,
    choices: Iterable[Scale],
    *,
    turn_deg: float = 0.0,
    margin_pt: float = 0.0,
) -> Viewport:
    """Viewport that shows shapes in the middle of a box, at the largest scale that fits.

    Parameters
    ----------
    shapes : iterable of shapely geometry
        Ground metres; at least one with coordinates.
    box : Box
        Where on the page.
    choices : iterable of Scale
        Largest drawing first.
    turn_deg : float
        As in ``Viewport``.
    margin_pt : float
        Kept free inside the box on each side [points].
    """
    turn = radians(turn_deg)
    turned = np.array([[cos(turn), -sin(turn)], [sin(turn), cos(turn)]])
    coordinates = shapely.get_coordinates(list(shapes)) @ turned.T
    low, high = coordinates.min(axis=0), coordinates.max(axis=0)
    size = high - low
    scale = largest_scale(choices, (float(size[0]), float(size[1])), box.inset(margin_pt))
    middle = (low + high) / 2 @ turned
    return Viewport(box=box, scale=scale, centre=(float(middle[0]), float(middle[1])), turn_deg=turn_deg)
