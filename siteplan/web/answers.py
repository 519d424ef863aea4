"""What the drawing page is told beside the plan: the site, the kinds that may be drawn, and what must be mended."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from siteplan.document.geojson import blocked_geojson
from siteplan.errors import InputFaults, NoRoute, SiteplanError
from siteplan.read import read_site
from siteplan.site.catalogue import kinds
from siteplan.web.bring import tape_grid


def site_heading(folder: Path) -> dict[str, Any]:
    """Name, printed units and height of a site, and whether it lies in a tape grid; a guess while it cannot be read."""
    grid = tape_grid(folder) is not None
    try:
        site = read_site(folder, finished=False)
    except SiteplanError:
        return {"name": folder.resolve().name, "units": "ft", "elevation_m": 0.0, "grid": grid}
    return {
        "name": site.name,
        "units": site.units,
        "elevation_m": site.elevation_m,
        "grid": grid,
    }


def catalogue() -> dict[str, Any]:
    """Kinds by group in the order of the table."""
    groups: dict[str, list[dict[str, Any]]] = {}
    for kind in kinds().values():
        row = {"id": kind.id, "name": kind.name, "shapes": list(kind.shapes), "mark": kind.mark}
        groups.setdefault(kind.group, []).append({**row, "facts": dict(kind.facts)})
    return {
        "groups": [{"name": name, "kinds": rows} for name, rows in groups.items()],
    }


def fault_lines(error: SiteplanError) -> list[str]:
    """What must be mended, one line each."""
    if isinstance(error, InputFaults):
        return [str(fault) for fault in error.faults]
    line = " ".join(str(error).split())
    return [f"no route: {line}" if isinstance(error, NoRoute) else line]


def blocked(error: SiteplanError) -> dict[str, Any] | None:
    """Ground that closes the way, as GeoJSON."""
    if not isinstance(error, NoRoute) or error.where.is_empty:
        return None
    shapes: dict[str, Any] = json.loads(blocked_geojson(error))
    return shapes
