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

from collections.abc import Callable, Iterable
from dataclasses import replace
from datetime import datetime
from functools import partial
from pathlib import Path

from shapely import Point

from siteplan.check import check
from siteplan.document.model import Plan
from siteplan.errors import NoRoute
from siteplan.measure import Excavations, beyond, measure
from siteplan.plane.ground import surface_of
from siteplan.plane.local import Plane
from siteplan.plane.place import place
from siteplan.read import read_site
from siteplan.route.drawing_error import drawing_errors
from siteplan.route.layout import lay
from siteplan.route.model import Layout
from siteplan.route.sources import with_former_sources, with_sources
from siteplan.rules import load_stack, resolve
from siteplan.rules.model import Requirements
from siteplan.site.marks import within_zones
from siteplan.site.site import Site

__all__ = ["Plan", "plan_folder", "plan_site", "plan_under"]


def plan_folder(
    folder: Path, *, call: datetime | None = None, thorough: bool = True, former: Plan | None = None
) -> Plan:
    """Plan the site in a folder; ``call`` is the local time of the call for locates, from which the dig dates follow.

    With a ``former`` plan this is a first look (see ``plan_site``).

    Raises
    ------
    InputFaults
        All that must be mended in the files.
    NoRoute
        No trench fits; says what blocks it, and where in degrees if the site has any.
    """
    return plan_site(read_site(folder), call=call, thorough=thorough, former=former)


def plan_under(folder: Path, layers: Iterable[str]) -> dict[str, Plan]:
    """Plan one site under several rules layers, each without the site's overrides: they speak of rows of its own layer."""
    as_read = read_site(folder)
    return {name: plan_site(replace(as_read, rules=name, overrides=()), thorough=False) for name in layers}


def plan_site(
    as_read: Site,
    *,
    call: datetime | None = None,
    thorough: bool = True,
    former: Plan | None = None,
    between: Callable[[], object] = lambda: None,
) -> Plan:
    """Plan a site as read.

    Parameters
    ----------
    as_read : Site
        With ``coordinates`` "lonlat" or "local".
    call : datetime, optional
        Local time of the call for locates.
    thorough : bool
        Whether to prove how near to the least the price comes, and to look for other ways: some seconds more. One that
        turns out cheaper is taken, so the trenches may differ.
    former : Plan, optional
        Of nearly the same site, for a first look after something was moved: its trenches are followed, led round what lies
        in their way now, and all else is worked out as ever. Quick, but not searched afresh: the layout says so
        (``Layout.followed`` and its certificate), and one that is cheaper may be missed. Nothing is proven then, whatever
        ``thorough`` says. Where nothing was changed this is the former plan itself.
    between : callable
        Called before each step; what it raises ends the planning.
    """
    site, frame = place(as_read)
    ground = former.ground if former and former.site.levels == site.levels else surface_of(site.levels)
    centre = frame.to_lonlat(Point(0.0, 0.0)) if frame.placed else None
    stack = load_stack(site.rules)

    def ask(asked: Site) -> Requirements:
        return resolve(stack, asked, (centre.x, centre.y) if centre else None)

    try:
        site = within_zones(site, lambda: ask(site).locate.tolerance_m.value)
        begun = with_former_sources(site, former.site) if former else None
        site, elsewhere = (begun, ()) if begun else with_sources(site, ask, ground, beyond=beyond)
        requirements = ask(site)
        if former and (site, frame, requirements) == (former.site, former.frame, former.requirements):
            return replace(former, call=call)
        before = _trenches(former, frame) if former else None
        between()
        excavations = Excavations()
        priced = partial(beyond, excavations=excavations)
        layout = lay(site, requirements, ground, thorough=thorough, beyond=priced, former=before).beside(
            elsewhere
        )
    except NoRoute as closed:
        if former and any(len(line.choices) > 1 for line in site.lines):
            return plan_site(as_read, call=call, thorough=False, between=between)
        where = frame.to_lonlat(closed.where) if frame.placed else Point()
        raise NoRoute(str(closed), blockers=closed.blockers, where=where, ways_out=closed.ways_out) from None
    between()
    works = measure(site, requirements, layout, ground, excavations=excavations)
    between()
    findings = check(site, requirements, layout, works)
    return Plan(
        site=site,
        frame=frame,
        ground=ground,
        requirements=requirements,
        layout=layout,
        works=works,
        findings=findings,
        tolerances=drawing_errors(site, requirements, layout),
        call=call,
    )


def _trenches(former: Plan, frame: Plane) -> Layout | None:
    """Return the former layout in another ground plane; ``None`` if nobody knows how the two lie to each other."""
    if former.frame == frame:
        return former.layout
    if not (former.frame.placed and frame.placed):
        return None
    paths = [frame.to_ground(former.frame.to_lonlat(reach.path)) for reach in former.layout.reaches]
    reaches = zip(former.layout.reaches, paths, strict=True)
    return replace(former.layout, reaches=tuple(replace(reach, path=path) for reach, path in reaches))
