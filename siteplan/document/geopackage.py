"""The lines as built as a GeoPackage (OGC 12-128): the tables lines, stretches, points and corners, in EPSG:4326.

GDAL writes it. The one date in the file is the day of the last visit, so that the same record gives the same bytes with the same
version of GDAL; another version may lay the file out differently.
"""

from __future__ import annotations

import json
import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from siteplan.document.asbuilt import record_geojson
from siteplan.document.record_model import Record
from siteplan.read.gis_file import gdal

TABLES = {"line": "lines", "stretch": "stretches", "point": "points", "corner": "corners"}
_NO_DAY = "2000-01-01"


def built_gpkg(record: Record) -> bytes:
    """Write the features of ``asbuilt.geojson`` as GeoPackage; lists and tables in a property become JSON texts."""
    from shapely.geometry import shape

    geopandas, pyogrio = gdal()
    groups: dict[str, list[dict[str, Any]]] = {}
    for feature in json.loads(record_geojson(record))["features"]:
        properties = feature["properties"]
        row = {"id": feature["id"], **_flat(properties), "geometry": shape(feature["geometry"])}
        groups.setdefault(properties["theme"], []).append(row)
    days = [visit.day for visit in record.built.visits if visit.day]
    pyogrio.set_gdal_config_options({"OGR_CURRENT_DATE": f"{max(days, default=_NO_DAY)}T00:00:00.000Z"})
    try:
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "as-built.gpkg"
            for theme, table in TABLES.items():
                if rows := groups.get(theme):
                    frame = geopandas.GeoDataFrame(rows, geometry="geometry", crs=4326)
                    frame.to_file(path, layer=table, driver="GPKG", engine="pyogrio")
            return path.read_bytes()
    finally:
        pyogrio.set_gdal_config_options({"OGR_CURRENT_DATE": None})


def _flat(properties: Mapping[str, Any]) -> dict[str, Any]:
    """Values that a table can hold; the theme is the table."""
    return {
        name: json.dumps(value, ensure_ascii=False) if isinstance(value, list | dict) else value
        for name, value in properties.items()
        if name != "theme"
    }
