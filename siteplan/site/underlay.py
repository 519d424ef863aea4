"""A scan or photo that lies under the map: a picture, and points of it whose place on the site is known."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

from siteplan.site.features import Source

Where: TypeAlias = str | tuple[float, float]
"""A corner or a thing by name ("House NE", "Well"), or longitude and latitude [deg]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class KnownPoint:
    """One point of a picture, in its dots from the upper left corner, and what is there on the site."""

    right_px: float
    down_px: float
    at: Where


@dataclass(frozen=True, slots=True, kw_only=True)
class Lie:
    """How a picture lies on the ground.

    Attributes
    ----------
    matrix : (float, float, float, float, float, float)
        a, b, c, d, e, f of ``x = a right + b down + c``, ``y = d right + e down + f``, ground metres.
    misfit_m : float or None
        How far the third point lies from where the first two put it by a turn and one scale [m]; ``None``: two points, so
        nothing shows whether they are right.
    """

    matrix: tuple[float, float, float, float, float, float]
    misfit_m: float | None

    def ground(self, right_px: float, down_px: float) -> tuple[float, float]:
        """Place of a dot, ground metres.

        >>> Lie(matrix=(0.5, 0.0, 10.0, 0.0, -0.5, 20.0), misfit_m=None).ground(4, 6)
        (12.0, 17.0)
        """
        a, b, c, d, e, f = self.matrix
        return a * right_px + b * down_px + c, d * right_px + e * down_px + f


@dataclass(frozen=True, slots=True, kw_only=True)
class Underlay:
    """A picture to lie under the map.

    Attributes
    ----------
    name : str
        Name of the file.
    sort : str
        MIME type, by the first bytes of the file.
    content : bytes
        The file as it is.
    width_px, height_px : int
        As the picture is seen, turned as its camera says.
    points : tuple of KnownPoint
        Two or three.
    source : Source
        Where ``site.toml`` names it.
    lie : Lie or None
        ``None`` before ``plane.place``.
    """

    name: str
    sort: Literal["image/png", "image/jpeg"]
    content: bytes
    width_px: int
    height_px: int
    points: tuple[KnownPoint, ...]
    source: Source
    lie: Lie | None = None
