"""From the coordinates of each file to those of the site: degrees, or metres in the site's own tape grid."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely
from shapely import Point
from shapely.geometry.base import BaseGeometry

from siteplan.read import shapes
from siteplan.read.record import Contents
from siteplan.read.site_model import FileTable, GridTable
from siteplan.read.words import FaultList, Place, Unusable
from siteplan.units import coordinate_unit_m

_MOST_DEG = (180.0, 90.0, 180.0, 90.0)
"""The bounds of what has longitudes and latitudes: west, south, east, north."""


def placed(
    contents: Contents, path: str, entry: FileTable | None, grid: GridTable | None, faults: FaultList
) -> Contents:
    """Move everything of one file into the coordinates of the site.

    Parameters
    ----------
    contents : Contents
        As the reader of the file gave it.
    entry : FileTable or None
        What ``site.toml`` says about the file.
    grid : GridTable or None
        The site's tape grid; without one the site is in longitude and latitude.

    Returns
    -------
    Contents
        What could not be moved has no shape any more, and the fault is noted.
    """
    drawn = [record.shape for record in contents.records] + [spot.point for spot in contents.spots]
    try:
        moved = (
            _in_grid(drawn, contents, path, entry, grid)
            if grid
            else _in_degrees(drawn, contents, path, entry)
        )
    except Unusable as misfit:
        faults.take(Place(file=path), misfit)
        moved = [None] * len(drawn)
    places = [record.place for record in contents.records] + [spot.place for spot in contents.spots]
    if not grid:
        off = (np.abs(shapely.bounds(np.array(moved, dtype=object))) > _MOST_DEG).any(axis=1)
        moved = [
            _if_on_earth(shape, place, faults) if is_off else shape
            for shape, place, is_off in zip(moved, places, off, strict=True)
        ]
    split = len(contents.records)
    return replace(
        contents,
        records=tuple(
            record if shape is record.shape else replace(record, shape=shape)
            for record, shape in zip(contents.records, moved[:split], strict=True)
        ),
        spots=tuple(
            spot if point is spot.point else replace(spot, point=point)
            for spot, point in zip(contents.spots, moved[split:], strict=True)
            if isinstance(point, Point)
        ),
    )


def _in_grid(
    drawn: Sequence[BaseGeometry | None],
    contents: Contents,
    path: str,
    entry: FileTable | None,
    grid: GridTable,
) -> list[BaseGeometry | None]:
    """Scale to metres. GeoJSON is in degrees by its standard, so a file in the grid must be said to be so."""
    said = entry.unit if entry else None
    if entry and entry.epsg:
        raise Unusable(
            found=f"EPSG:{entry.epsg}", expected="x and y in the tape grid, as site.toml has a [grid]"
        )
    if contents.axes == "lonlat" and not (said and path.lower().endswith(".geojson")):
        raise Unusable(
            found="longitude and latitude",
            expected="x and y in the tape grid, as site.toml has a [grid]",
            mend="if they are x and y, add a [[file]] table with path and unit"
            if path.lower().endswith(".geojson")
            else "",
        )
    unit_m = coordinate_unit_m(said or grid.unit)
    return list(shapely.transform(np.array(drawn, dtype=object), lambda rows: rows * unit_m))


def _in_degrees(
    drawn: Sequence[BaseGeometry | None], contents: Contents, path: str, entry: FileTable | None
) -> list[BaseGeometry | None]:
    """Survey coordinates are moved by their code; degrees stay as they are."""
    epsg, unit = (entry.epsg, entry.unit) if entry else (None, None)
    table = path.lower().endswith(".csv")
    if contents.axes == "lonlat" and unit:
        raise Unusable(found=f'unit "{unit}"', expected="no unit, as the file is in degrees")
    if epsg is None or (contents.axes == "lonlat" and not table):
        if contents.axes == "xy":
            raise Unusable(
                found="x and y in an unnamed coordinate system",
                expected="a [[file]] table with path and epsg in site.toml, or columns longitude and latitude",
            )
        if epsg not in (None, 4326) and not path.lower().endswith((".gpkg", ".fgb", ".shp")):
            raise Unusable(
                found=f"EPSG:{epsg}", expected="no code, as this format holds longitude and latitude only"
            )
        return list(drawn)
    from siteplan.read import gis_file

    if gis_file.is_geographic(epsg) != (contents.axes == "lonlat"):
        columns = "longitude and latitude" if contents.axes == "xy" else "x and y"
        raise Unusable(found=f"EPSG:{epsg} in site.toml", expected=f"columns {columns} for this code")
    if unit:
        gis_file.check_unit(epsg, unit)
    return gis_file.reproject(drawn, epsg)


def _if_on_earth(shape: BaseGeometry | None, place: Place, faults: FaultList) -> BaseGeometry | None:
    if shape is not None:
        try:
            shapes.check_lonlat(shape)
        except Unusable as misfit:
            faults.take(place, misfit)
            return None
    return shape
