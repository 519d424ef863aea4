"""The flow on one page: site and rules in, plan out.

::

    read      files            -> Site in degrees (or a local tape grid)
    plane     degrees          -> ground metres, ground surface
    rules     layers           -> Requirements of this site
    route     kept-off areas   -> Layout: where the trench goes
    measure   layout           -> Works: stations, sections, crossings, volumes, take-off
    check     all of it        -> Findings, worst first
    document  Plan             -> map, sheets, tables, GeoJSON
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime
from pathlib import Path

from shapely import Point

from siteplan.check import check
from siteplan.document.model import Plan
from siteplan.errors import NoRoute
from siteplan.measure import measure
from siteplan.plane.ground import GroundSurface
from siteplan.plane.place import place
from siteplan.read import read_site
from siteplan.route import lay
from siteplan.rules import load_stack, resolve
from siteplan.site.site import Site

__all__ = ["Plan", "plan_folder", "plan_site", "plan_under"]


def plan_folder(folder: Path, *, call: datetime | None = None) -> Plan:
    """Plan the site in a folder; ``call`` is the local time of the call for locates, from which the dig dates follow.

    Raises
    ------
    InputFaults
        All that must be mended in the files.
    NoRoute
        No trench fits; says what blocks it, and where in degrees.
    """
    return plan_site(read_site(folder), call=call)


def plan_under(folder: Path, layers: Iterable[str]) -> dict[str, Plan]:
    """Plan one site under several rules layers, each without the site's overrides: they speak of rows of its own layer."""
    as_read = read_site(folder)
    return {name: plan_site(replace(as_read, rules=name, overrides=())) for name in layers}


def plan_site(as_read: Site, *, call: datetime | None = None) -> Plan:
    """Plan a site as read.

    Parameters
    ----------
    as_read : Site
        With ``coordinates`` "lonlat" or "local".
    call : datetime, optional
        Local time of the call for locates.
    """
    site, frame = place(as_read)
    ground = _ground(site)
    centre = frame.to_lonlat(Point(0.0, 0.0))
    requirements = resolve(load_stack(site.rules), site, (centre.x, centre.y))
    try:
        layout = lay(site, requirements)
    except NoRoute as closed:
        raise NoRoute(str(closed), blockers=closed.blockers, where=frame.to_lonlat(closed.where)) from None
    works = measure(site, requirements, layout, ground)
    findings = check(site, requirements, layout, works)
    return Plan(
        site=site,
        frame=frame,
        ground=ground,
        requirements=requirements,
        layout=layout,
        works=works,
        findings=findings,
        call=call,
    )


def _ground(site: Site) -> GroundSurface | None:
    if not site.levels:
        return None
    return GroundSurface([(level.x, level.y, level.elevation_m) for level in site.levels])
