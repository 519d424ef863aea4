"""The ground plane of one site: degrees to metres that a level tape would read, and back.

The plane is azimuthal equidistant about the site's centre (WGS 84): distances and bearings from the centre
are exact, and over a site all others are right to well below a millimetre. It is then scaled from the
ellipsoid up to the site's own height. A zoned grid (UTM, state plane) is not used for measuring: in the
middle of a UTM zone 100 m of tape is 99.96 m of grid. Only this file knows pyproj, whose network stays off.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import cache
from math import radians, sin, sqrt
from typing import TYPE_CHECKING, ClassVar, TypeVar

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

if TYPE_CHECKING:
    from pyproj import Transformer

Coordinates = NDArray[np.float64]
Shape = TypeVar("Shape", bound=BaseGeometry)

_SEMI_MAJOR_M = 6378137.0  # WGS 84, NGA.STND.0036 (from memory)
_FLATTENING = 1 / 298.257223563


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """The ground plane about one point: x east, y north, in metres on the ground.

    Attributes
    ----------
    longitude_deg, latitude_deg : float
        Centre, WGS 84; the ground's (0, 0), where y points true north. Latitude within 85 degrees.
    height_m : float
        Height of the site above the ellipsoid, -500 to 9000 m. An elevation above the sea serves as well:
        30 m of difference is 0.5 mm in 100 m.

    Examples
    --------
    >>> frame = Frame(longitude_deg=-112.0, latitude_deg=46.6, height_m=1200.0)
    >>> spot = shapely.Point(-112.0, 46.601)
    >>> round(frame.to_ground(spot).y, 2)
    111.18
    >>> round(frame.to_lonlat(frame.to_ground(spot)).y, 9)
    46.601
    """

    longitude_deg: float
    latitude_deg: float
    height_m: float = 0.0

    placed: ClassVar[bool] = True
    north_known: ClassVar[bool] = True

    def __post_init__(self) -> None:
        if not (abs(self.longitude_deg) <= 180 and abs(self.latitude_deg) <= 85):
            raise ValueError(
                f"longitude {self.longitude_deg}, latitude {self.latitude_deg} is no place for a site"
                " (longitude comes first)"
            )
        if not -500 <= self.height_m <= 9000:
            raise ValueError(f"a height of {self.height_m} m is not on the earth's surface")

    @property
    def scale(self) -> float:
        """Ground distance over ellipsoid distance, ``(R + h) / R``: 1.00016 at 1000 m.

        R is the mean radius of curvature at the centre, as in the surveyors' elevation factor ``R / (R + h)``
        (check values in ``tests/published/test_geodesy.py``).
        """
        eccentricity_2 = _FLATTENING * (2 - _FLATTENING)
        shrunk = 1 - eccentricity_2 * sin(radians(self.latitude_deg)) ** 2
        radius_m = _SEMI_MAJOR_M * sqrt(1 - eccentricity_2) / shrunk
        return (radius_m + self.height_m) / radius_m

    def to_ground(self, shape: Shape) -> Shape:
        """Longitude and latitude [deg] to ground metres; heights pass through."""
        equidistant, scale = _equidistant(self.longitude_deg, self.latitude_deg), self.scale
        return _moved(shape, lambda x, y: tuple(scale * axis for axis in equidistant.transform(x, y)))

    def to_lonlat(self, shape: Shape) -> Shape:
        """Ground metres to longitude and latitude [deg]; heights pass through."""
        equidistant, scale = _equidistant(self.longitude_deg, self.latitude_deg), self.scale
        return _moved(
            shape,
            lambda x, y: equidistant.transform(x / scale, y / scale, direction="INVERSE"),
        )


def frame_for(shapes: Iterable[BaseGeometry], height_m: float = 0.0) -> Frame:
    """Frame about the middle of some shapes, rounded to a millionth of a degree so that it can be told again.

    Parameters
    ----------
    shapes : iterable of shapely geometry
        In longitude and latitude [deg]; may lie on both sides of the 180th meridian.
    height_m : float
        Height of the site [m].

    Raises
    ------
    ValueError
        No coordinates, or none that are a place for a site.

    Examples
    --------
    >>> frame_for([shapely.Point(-112.0, 46.6), shapely.Point(-111.9, 46.7)])
    Frame(longitude_deg=-111.95, latitude_deg=46.65, height_m=0.0)
    """
    lonlat = shapely.get_coordinates(list(shapes))
    if not len(lonlat) or not np.isfinite(lonlat).all():
        raise ValueError("there are no coordinates to place the site by")
    lonlat = _across_the_180th(lonlat)
    return _frame_at((lonlat.min(axis=0) + lonlat.max(axis=0)) / 2, height_m)


def _across_the_180th(lonlat: Coordinates) -> Coordinates:
    """Longitudes without the jump at the 180th meridian, if they lie on both sides of it; shape (n, 2)."""
    if np.ptp(lonlat[:, 0]) <= 180:
        return lonlat
    return np.column_stack((lonlat[:, 0] % 360, lonlat[:, 1]))


def _frame_at(lonlat: Coordinates, height_m: float) -> Frame:
    longitude, latitude = (float(part) for part in lonlat)
    return Frame(
        longitude_deg=round(longitude - 360 if longitude > 180 else longitude, 6),
        latitude_deg=round(latitude, 6),
        height_m=height_m,
    )


def _moved(shape: Shape, move: Callable[[Coordinates, Coordinates], tuple[Coordinates, ...]]) -> Shape:
    def move_rows(rows: Coordinates) -> Coordinates:
        return np.column_stack((*move(rows[:, 0], rows[:, 1]), rows[:, 2:]))

    moved: Shape = shapely.transform(shape, move_rows, include_z=shape.has_z)
    if not np.isfinite(shapely.get_coordinates(moved)).all():
        raise ValueError("a coordinate is not a place on the earth (longitude comes first)")
    return moved


@cache
def _equidistant(longitude_deg: float, latitude_deg: float) -> Transformer:
    from pyproj import Transformer

    return Transformer.from_pipeline(
        "+proj=pipeline +step +proj=unitconvert +xy_in=deg +xy_out=rad"
        f" +step +proj=aeqd +lon_0={longitude_deg!r} +lat_0={latitude_deg!r} +ellps=WGS84"
    )
