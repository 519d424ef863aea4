"""Where a machine comes onto the lot: where a drive meets the edge of the land. A guess, unless somebody says so."""

from __future__ import annotations

import shapely
from shapely import Point

from siteplan.site.site import Site

_REACHES_M = 2.0
"""A drive that ends so near to the property line [m] is taken to reach it."""


def way_in(site: Site) -> tuple[str, Point] | None:
    """Return the drive by which a machine can come in and where it meets the property line; ``None`` if none does.

    Of several the one nearest to the well.
    """
    parcels = [parcel.shape for parcel in site.of_kind("parcel")]
    if not parcels:
        return None
    edge = shapely.union_all(parcels).boundary
    found = []
    for drive in site.of_kind("drive"):
        if drive.shape.distance(edge) > _REACHES_M:
            continue
        met = drive.shape.intersection(edge)
        place = (
            met.centroid
            if not met.is_empty
            else shapely.get_point(shapely.shortest_line(drive.shape, edge), 1)
        )
        found.append((float(place.distance(site.well.shape)), drive.id, place))
    if not found:
        return None
    _, drive_id, place = min(found, key=lambda one: one[:2])
    return drive_id, place
