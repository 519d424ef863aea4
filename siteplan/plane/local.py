"""A site measured by tape in its own grid, with or without a place on the earth.

``LocalGrid`` answers to ``Frame``'s names: ``to_ground``, ``to_lonlat``, ``placed``, ``north_known``.
A grid without an origin can be planned and printed, but has no coordinates for a map: ``placed`` says so, and
nothing is made up.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, isfinite, radians, sin
from typing import TypeAlias

import numpy as np
import shapely

from siteplan.errors import SiteplanError
from siteplan.plane.frame import Frame, Shape


@dataclass(frozen=True, slots=True, kw_only=True)
class LocalGrid:
    """A local tape grid: x to the right of the +y axis.

    Attributes
    ----------
    unit_m : float
        Metres in one unit of the grid, from ``siteplan.units.coordinate_unit_m``.
    north_deg : float or None
        Bearing of the grid's +y axis, clockwise from true north; None if nobody took it. Then the ground lies
        along the grid's own axes and no north arrow can be given.
    frame : Frame or None
        Frame centred on the grid's (0, 0), if its longitude and latitude are known; needs ``north_deg``.

    Examples
    --------
    A +y axis that points due east (bearing 90): ten units along it are ten metres east.

    >>> LocalGrid(north_deg=90.0).to_ground(shapely.Point(0, 10)).x
    10.0
    """

    unit_m: float = 1.0
    north_deg: float | None = None
    frame: Frame | None = None

    def __post_init__(self) -> None:
        if not (self.unit_m > 0 and isfinite(self.unit_m) and isfinite(self.north_deg or 0)):
            raise ValueError(f"a local grid in units of {self.unit_m} m, turned {self.north_deg} degrees")
        if self.frame is not None and self.north_deg is None:
            raise ValueError("a local grid with an origin also needs the bearing of its +y axis")

    @property
    def placed(self) -> bool:
        """Whether the site has longitudes and latitudes."""
        return self.frame is not None

    @property
    def north_known(self) -> bool:
        """Whether y on the ground is true north."""
        return self.north_deg is not None

    def to_ground(self, shape: Shape) -> Shape:
        """Grid units to ground metres, y true north where known; heights pass through."""
        turn = radians(self.north_deg or 0.0)
        east, north = self.unit_m * sin(turn), self.unit_m * cos(turn)
        moved: Shape = shapely.transform(
            shape,
            lambda rows: np.column_stack(
                (
                    rows[:, 0] * north + rows[:, 1] * east,
                    rows[:, 1] * north - rows[:, 0] * east,
                    rows[:, 2:],
                )
            ),
            include_z=shape.has_z,
        )
        return moved

    def to_lonlat(self, shape: Shape) -> Shape:
        """Ground metres to longitude and latitude [deg]; ``SiteplanError`` if the site is not placed."""
        return frame_of(self).to_lonlat(shape)


Plane: TypeAlias = Frame | LocalGrid


def frame_of(plane: Plane) -> Frame:
    """Frame between degrees and the ground of a site; ``SiteplanError`` if the site is not placed."""
    frame = plane if isinstance(plane, Frame) else plane.frame
    if frame is None:
        raise SiteplanError("the site is drawn in a local grid without an origin, so it has no longitudes")
    return frame
