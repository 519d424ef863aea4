"""Degrees (or a local tape grid) to the ground plane of the site."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from shapely import GeometryCollection, Point, get_coordinates, multipoints
from shapely.geometry.base import BaseGeometry

from siteplan.errors import Fault, InputFaults
from siteplan.plane.frame import Frame, frame_for
from siteplan.plane.local import LocalGrid, Plane
from siteplan.plane.marks import with_marks
from siteplan.plane.net import with_net
from siteplan.plane.underlay import with_underlays
from siteplan.site.features import Source
from siteplan.site.field_notes import Measurement
from siteplan.site.site import Site


def place(site: Site) -> tuple[Site, Plane]:
    """Put a site into its ground plane.

    Parameters
    ----------
    site : Site
        With ``coordinates`` "lonlat" or "local".

    Returns
    -------
    Site
        The same site in ground metres, x east, y north, its tapes solved; the lines under the paint of the locate stand
        in for the marks.
    Frame or LocalGrid
        The way back to degrees.

    Raises
    ------
    InputFaults
        Tapes that cannot be solved; bearings in a grid that nobody turned to north; a picture that cannot be laid.
    """
    frame = _frame(site)
    spots = multipoints(np.reshape([(level.x, level.y) for level in site.levels], (-1, 2)))
    *shapes, grounded = frame.to_ground(
        GeometryCollection([*(feature.shape for feature in site.features), spots])
    ).geoms
    placed = replace(
        site,
        coordinates="ground",
        features=tuple(
            old if old.shape.is_empty else replace(old, shape=shape)
            for old, shape in zip(site.features, shapes, strict=True)
        ),
        levels=tuple(
            replace(level, x=x, y=y)
            for level, (x, y) in zip(site.levels, get_coordinates(grounded).tolist(), strict=True)
        ),
    )
    return with_underlays(with_marks(with_net(placed)), frame), frame


def _frame(site: Site) -> Plane:
    drawn: list[BaseGeometry] = [each.shape for each in site.features if not each.shape.is_empty]
    if site.coordinates == "lonlat":
        drawn = drawn or [
            Point(known.at)
            for picture in site.underlays
            for known in picture.points
            if not isinstance(known.at, str)
        ]
        if not drawn:
            raise InputFaults([_NOWHERE])
        return frame_for(drawn, height_m=site.elevation_m)
    north_deg = site.grid_north_deg
    bearing = next((row for row in _measurements(site) if row.bearing_deg is not None), None)
    if north_deg is None and bearing is not None:
        if drawn:
            raise InputFaults([_turned(bearing.source)])
        north_deg = 0.0
    if site.grid_origin is None:
        return LocalGrid(north_deg=north_deg)
    longitude_deg, latitude_deg = site.grid_origin
    origin = Frame(longitude_deg=longitude_deg, latitude_deg=latitude_deg, height_m=site.elevation_m)
    return LocalGrid(north_deg=north_deg, frame=origin)


def _measurements(site: Site) -> tuple[Measurement, ...]:
    return site.field_notes.measurements if site.field_notes else ()


_NOWHERE = Fault(
    file="site.toml",
    found="a site of taped points alone without a [grid]",
    expected="[grid] with its unit",
    mend='add unit = "ft"; with origin and north as well it lies on the map',
)


def _turned(source: Source) -> Fault:
    return Fault(
        file=source.file,
        line=source.line,
        where="bearing",
        found="a bearing, while nobody says how the tape grid lies to north",
        expected="the bearing of its +y axis",
        mend='add north = "12 deg" or whatever it is to [grid] in site.toml',
    )
