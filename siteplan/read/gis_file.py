"""GeoPackage, FlatGeobuf and Shapefile, and survey coordinates to longitude and latitude: the only file that knows GDAL.

GDAL chooses a driver by looking into a file, and some drivers open other files or the network. So the first bytes are
checked here, and every driver but three is switched off before GDAL is first loaded.
"""

from __future__ import annotations

import os
import warnings
from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

from shapely.geometry.base import BaseGeometry

from siteplan.read import shapes
from siteplan.read.folder import MOST_FEATURES, may_be_read
from siteplan.read.record import Contents, Record, identified, stated
from siteplan.read.words import FaultList, Place, Unusable
from siteplan.units import coordinate_unit_m

_SQLITE = b"SQLite format 3\0"
_GEOPACKAGE_IDS = (b"GPKG", b"GP10", b"GP11")  # OGC 12-128, requirement 2, and the two older ids
_FLATGEOBUF = b"fgb\x03fgb"
_SHAPEFILE = b"\x00\x00\x27\x0a"
_SHAPEFILE_PARTS = (".shx", ".dbf", ".prj", ".cpg")

_DRIVERS_OFF = (
    "PCIDSK,PDS4,VICAR,PDF,MBTiles,EEDA,OGCAPI,GDALG,MapInfo File,LVBAG,S57,DGN,OGR_VRT,CSV,GML,GPX,LIBKML,KML,GeoJSON,"
    "GeoJSONSeq,ESRIJSON,TopoJSON,OGR_GMT,SQLite,WAsP,OpenFileGDB,DXF,GeoRSS,VFK,PGDUMP,OSM,GPSBabel,OGR_PDS,WFS,OAPIF,EDIGEO,"
    "Idrisi,ODS,XLSX,Elasticsearch,Carto,AmigoCloud,SXF,Selafin,JML,PLSCENES,CSW,VDV,MVT,NGW,MapML,GTFS,PMTiles,JSONFG,"
    "MiraMonVector,ADBC,AVCBin,AVCE00,AIVector,HTTP"
)
_AREA_MARGIN_DEG = 1.0


def read_gis_file(path: Path, faults: FaultList, epsg: int | None) -> Contents | None:
    """Read every table of a GIS file that has shapes.

    Parameters
    ----------
    path : Path
        ``.gpkg``, ``.fgb`` or ``.shp`` (with its ``.shx``, ``.dbf`` and ``.prj`` beside it).
    epsg : int or None
        The code that ``site.toml`` states for the file: used where the file names none, else it must agree.

    Returns
    -------
    Contents or None
        In longitude and latitude if the coordinate system is known, else as it stands. None, with the fault noted, if it
        cannot be read.
    """
    place = Place(file=path.name)
    beside = [path.with_suffix(end) for end in _SHAPEFILE_PARTS] if path.suffix.lower() == ".shp" else []
    refused = [each for each in (path, *beside) if each.exists() and not may_be_read(each, faults)]
    if refused:
        return None
    try:
        _check_first_bytes(path)
        records, system = _read(path, faults)
        system = _agreed(system, epsg)
        if system is None:
            return Contents(axes="xy", records=tuple(records))
        moved = _to_lonlat([record.shape for record in records], system)
    except Unusable as misfit:
        faults.take(place, misfit)
        return None
    except (OSError, ValueError, RuntimeError) as error:
        faults.add(
            place,
            found=f"a file that cannot be read ({str(error)[:120]})",
            expected="a GeoPackage, FlatGeobuf or Shapefile",
        )
        return None
    return Contents(
        axes="lonlat",
        records=tuple(replace(record, shape=shape) for record, shape in zip(records, moved, strict=True)),
    )


def reproject(shapes_: Sequence[BaseGeometry | None], epsg: int) -> list[BaseGeometry | None]:
    """Survey coordinates to longitude and latitude (WGS 84).

    Parameters
    ----------
    shapes_ : sequence of shapely geometry or None
        Easting first, northing second, in the unit of the code itself; for a code in degrees longitude first.
    epsg : int
        Such as 2256 (Montana, international feet).

    Raises
    ------
    Unusable
        Unknown code, a code without plan coordinates, or a place more than a degree outside the area of the code, which is
        what swapped columns and a wrong zone look like.

    Examples
    --------
    IOGP GIGS test 5103 part 2, Utah North in international feet; the change of datum moves it by less than 2 m.

    >>> import shapely
    >>> [moved] = reproject([shapely.Point(2054436.57, 3527302.73)], 2921)
    >>> round(moved.x, 4), round(moved.y, 4)
    (-110.0, 41.0)
    """
    return _to_lonlat(shapes_, _system(epsg))


def check_unit(epsg: int, unit: str) -> None:
    """Raise ``Unusable`` if a code's coordinates are not in the unit "m", "ft" or "us-ft"."""
    axis = _system(epsg).axis_info[0]
    if abs(axis.unit_conversion_factor / coordinate_unit_m(unit) - 1) > 1e-9:
        raise Unusable(
            found=f'unit "{unit}"',
            expected=f"{axis.unit_name}, which EPSG:{epsg} is in",
            mend="take the unit out, or give the code of the same system in that unit",
        )


def is_geographic(epsg: int) -> bool:
    """Whether the coordinates of a code are longitude and latitude."""
    return bool(_system(epsg).is_geographic)


@cache
def gdal() -> tuple[Any, Any]:
    """Load GDAL with all but three of its drivers off, and without network."""
    os.environ["OGR_SKIP"] = _DRIVERS_OFF
    os.environ["PROJ_NETWORK"] = "OFF"
    import geopandas
    import pyogrio

    return geopandas, pyogrio


def _check_first_bytes(path: Path) -> None:
    with path.open("rb") as file:
        head = file.read(72)
    suffix = path.suffix.lower()
    names = {".gpkg": "a GeoPackage", ".fgb": "a FlatGeobuf", ".shp": "a Shapefile"}
    fits = {
        ".gpkg": head.startswith(_SQLITE) and head[68:72] in _GEOPACKAGE_IDS,
        ".fgb": head.startswith(_FLATGEOBUF),
        ".shp": head.startswith(_SHAPEFILE),
    }
    if not fits[suffix]:
        raise Unusable(
            found="something else under that name",
            expected=names[suffix],
            mend="save it again in that format",
        )


def _read(path: Path, faults: FaultList) -> tuple[list[Record], Any]:
    """Records of all tables, and their coordinate system, None if none is named."""
    _, pyogrio = gdal()
    records: list[Record] = []
    systems = []
    for name, geometry in pyogrio.list_layers(path):
        if geometry is None:
            continue
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # every shape is checked below
            table = pyogrio.read_dataframe(path, layer=name, max_features=MOST_FEATURES + 1)
        known = table.crs is not None and (table.crs.is_projected or table.crs.is_geographic)
        systems.append(table.crs if known else None)
        for row, shape in zip(table.drop(columns="geometry").to_dict("records"), table.geometry, strict=True):
            records.append(_record(row, shape, path, len(records) + 1, faults))
    if any(system != systems[0] for system in systems):
        raise Unusable(
            found="tables in several coordinate systems", expected="one", mend="save them in one system"
        )
    return records, systems[0] if systems else None


def _record(
    row: Mapping[str, Any], shape: BaseGeometry | None, path: Path, number: int, faults: FaultList
) -> Record:
    values = {name: value.item() if hasattr(value, "item") else value for name, value in row.items()}
    properties = stated({name: value for name, value in values.items() if not _is_blank(value)})
    place, own = identified(Place(file=path.name), path.stem, number, properties, None)
    flat = None
    try:
        flat = shapes.check_shape(shape)
    except Unusable as misfit:
        faults.take(place, misfit)
    return Record(place=place, id=own, properties=properties, shape=flat)


def _is_blank(value: Any) -> bool:
    """Whether a value is the not-a-number that stands for an empty cell."""
    return bool(value != value)  # noqa: PLR0124


def _agreed(system: Any, epsg: int | None) -> Any:
    if epsg is None:
        return system
    stated_system = _system(epsg)
    if system is not None and not system.equals(stated_system, ignore_axis_order=True):
        raise Unusable(
            found=f"the coordinate system {system.name}",
            expected=f"{stated_system.name} (EPSG:{epsg}), as site.toml says",
            mend="take epsg out of its [[file]] table if the file is right",
        )
    return stated_system


@cache
def _system(epsg: int) -> Any:
    geopandas, _ = gdal()
    try:
        system = geopandas.GeoSeries([], crs=epsg).crs
    except RuntimeError:
        raise Unusable(found=f"EPSG:{epsg}", expected="a code that is known") from None
    if not (system.is_projected or system.is_geographic):
        raise Unusable(found=f"EPSG:{epsg} ({system.name})", expected="a system of plan coordinates")
    return system


def _to_lonlat(shapes_: Sequence[BaseGeometry | None], system: Any) -> list[BaseGeometry | None]:
    geopandas, _ = gdal()
    moved = list(geopandas.GeoSeries(list(shapes_), crs=system).to_crs(4326))
    area = system.area_of_use if system.is_projected else None
    if area is not None and not all(_is_within(shape, area) for shape in moved if shape is not None):
        raise Unusable(
            found=f"coordinates outside of the area of {system.name}",
            expected=f"places in {area.name}",
            mend="are easting and northing swapped, or is it another unit or another code?",
        )
    return moved


def _is_within(shape: BaseGeometry, area: Any) -> bool:
    """Whether a shape in degrees lies in the area that a coordinate system is for, or within a degree of it."""
    west, south, east, north = shape.bounds
    if not (area.south - _AREA_MARGIN_DEG <= south and north <= area.north + _AREA_MARGIN_DEG):
        return False
    across_180 = area.west > area.east
    return across_180 or bool(area.west - _AREA_MARGIN_DEG <= west and east <= area.east + _AREA_MARGIN_DEG)
