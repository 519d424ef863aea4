"""Trenches that are drawn by hand: where one goes through what is never dug, or off the land, that is named."""

from __future__ import annotations

from collections.abc import Iterator

import shapely
from shapely.geometry.base import BaseGeometry

from siteplan.check.finding import Finding
from siteplan.check.verdicts import how_measured
from siteplan.route.keep_off import edge_of_land, land_of
from siteplan.route.model import Layout
from siteplan.site.catalogue import kinds
from siteplan.site.site import Site
from siteplan.units import Printer

_TOUCHING_M = 0.1


def check_drawn(site: Site, layout: Layout) -> Iterator[Finding]:
    """Name each thing that is never dug, and the land of others, that a drawn trench goes through.

    Distances to them are checked as those of any trench; a thing from which nobody asks a distance would go unnamed.

    Yields
    ------
    Finding
        Topic "setback", short; nothing for a trench that is routed, as that keeps off all of it.
    """
    never = [
        feature for feature in site.features if kinds()[feature.kind].dig == "never" and feature.shape.area
    ]
    edge = edge_of_land(site)
    for line in site.lines:
        if not line.drawn:
            continue
        way = layout.way(line.id)
        ways_in = [(feature.id, feature.name, way.intersection(feature.shape)) for feature in never]
        if edge:
            ways_in.append((edge, "the land of others", way.difference(land_of(site))))
        for thing, name, inside in ways_in:
            if inside.length > _TOUCHING_M:
                yield _through(site, layout, line.id, thing, name, inside)


def _through(site: Site, layout: Layout, line: str, thing: str, name: str, inside: BaseGeometry) -> Finding:
    reach = min(
        layout.reaches, key=lambda each: (each.path.distance(inside), -each.path.intersection(inside).length)
    )
    ends_m = shapely.line_locate_point(reach.path, shapely.points(shapely.get_coordinates(inside)))
    place = tuple(shapely.get_coordinates(inside)[0])
    along = Printer(site.units).length(float(inside.length))
    evidence = site.feature(thing).evidence
    return Finding(
        topic="setback",
        what=f"{site.line(line).name} through {name}: as drawn, {along} of trench in it",
        subject=line,
        to=thing,
        verdict="short",
        method=how_measured(site.digging.laying, evidence),
        points=(place, place),
        reach=reach.name,
        from_m=float(ends_m.min()),
        to_m=float(ends_m.max()),
        settle=f"Draw it clear of {name}, or leave it to be routed.",
    )
