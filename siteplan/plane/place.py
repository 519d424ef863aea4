"""Degrees (or a local tape grid) to the ground plane of the site."""

from __future__ import annotations

from dataclasses import replace

from shapely import Point

from siteplan.errors import Fault, InputFaults
from siteplan.plane.frame import Frame, frame_for
from siteplan.plane.local import LocalGrid, Plane
from siteplan.plane.marks import with_marks
from siteplan.plane.net import with_net
from siteplan.site.features import Feature
from siteplan.site.site import Level, Site


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
        Tapes that cannot be solved; a local grid that is not placed on the earth: the map and the records need a longitude
        and latitude.
    """
    frame = _frame(site)

    def feature(old: Feature) -> Feature:
        return old if old.shape.is_empty else replace(old, shape=frame.to_ground(old.shape))

    def level(old: Level) -> Level:
        point = frame.to_ground(Point(old.x, old.y))
        return replace(old, x=point.x, y=point.y)

    placed = replace(
        site,
        coordinates="ground",
        features=tuple(feature(old) for old in site.features),
        levels=tuple(level(old) for old in site.levels),
    )
    return with_marks(with_net(placed)), frame


def _frame(site: Site) -> Plane:
    if site.coordinates == "lonlat":
        return frame_for((feature.shape for feature in site.features), height_m=site.elevation_m)
    if site.grid_origin is None:
        raise InputFaults(
            [
                Fault(
                    file="site.toml",
                    where="grid",
                    found="a local grid without an origin",
                    expected="origin = [longitude, latitude] of the grid's 0, 0",
                    mend="read it off a phone or a county map: it places the map, the tape keeps the shape",
                )
            ]
        )
    origin = Frame(
        longitude_deg=site.grid_origin[0], latitude_deg=site.grid_origin[1], height_m=site.elevation_m
    )
    return LocalGrid(north_deg=site.grid_north_deg, frame=origin)
