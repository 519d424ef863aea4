"""Ground that the work tears up: the trench, the strip under the spoil pile, the strip of the machine."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import shapely
from shapely import LineString
from shapely.geometry.base import BaseGeometry
from shapely.ops import substring

from siteplan.measure.along import opened
from siteplan.measure.model import SpoilPile, Works
from siteplan.measure.surfaces import YARD
from siteplan.route.keep_off import land_of
from siteplan.route.model import Layout, Reach
from siteplan.route.strip import strip_ground
from siteplan.rules.model import Requirements
from siteplan.site.catalogue import surfaces
from siteplan.site.site import Site

_GRID_M, _SLIVER_M2 = 0.001, 0.05


@dataclass(frozen=True, slots=True, kw_only=True)
class TornUp:
    """What is torn up, in ground metres; the three do not overlap.

    Attributes
    ----------
    trench, pile, machine : shapely geometry
        The open trench at the ground, under the spoil pile, and what the machine needs beside them.
    """

    trench: BaseGeometry
    pile: BaseGeometry
    machine: BaseGeometry

    @property
    def ground(self) -> BaseGeometry:
        """All of it."""
        return shapely.union_all([self.trench, self.pile, self.machine])


def torn_up(site: Site, requirements: Requirements, layout: Layout, works: Works) -> TornUp:
    """Draw the strips of the work beside each trench, as far as a pile may lie and a machine stand there.

    The pile has the width of its fullest place all along, so the strip is on the wide side.
    """
    back_m = requirements.trench.spoil_back_m.value
    buildings = shapely.union_all([each.shape for each in site.of_kind("building")])
    free = land_of(site).difference(buildings)
    half_tops_m = {pile.reach: pile.strip_m - pile.width_m - back_m for pile in works.spoil}
    trenches = [
        opened(reach.path, ((bored.from_m, bored.to_m) for bored in reach.bored)).buffer(
            half_tops_m.get(reach.name, site.digging.bucket_m / 2), cap_style="flat", join_style="mitre"
        )
        for reach in layout.reaches
    ]
    trench = shapely.union_all(trenches)
    piles, machines = [], []
    for pile in works.spoil:
        reach = layout.reach(pile.reach)
        half_top_m = half_tops_m[pile.reach]
        piles += list(_piles(reach, pile, half_top_m + back_m))
        machines += list(_machines(reach, pile, half_top_m, back_m, site.digging.machine_width_m))
    open_ground = strip_ground(site)
    under = _tidy(shapely.union_all(piles).intersection(open_ground).difference(trench))
    beside = _tidy(shapely.union_all(machines).intersection(open_ground).difference(trench).difference(under))
    return TornUp(trench=trench.intersection(free), pile=under, machine=beside)


def _tidy(area: BaseGeometry) -> BaseGeometry:
    """The area without slivers, which the outlines of strips that lie side by side leave."""
    grid = shapely.set_precision(area, _GRID_M)
    parts = [part for part in shapely.get_parts(grid) if part.area > _SLIVER_M2]
    return shapely.union_all(parts)


def by_surface(site: Site, ground: BaseGeometry) -> dict[str, float]:
    """Areas [m2] of a piece of ground by the surfaces that it covers, in the order of the table; what is nothing else is yard."""
    areas: dict[str, float] = {}
    left = ground
    for surface in sorted(surfaces().values(), key=lambda one: one.soft):
        drawn = [each.shape for each in site.of_kind(surface.id) if each.shape.area]
        drawn += [
            each.shape.buffer(float(width) / 2, cap_style="flat")
            for each in site.of_kind(surface.id)
            if not each.shape.area and isinstance(width := each.facts.get("width"), float)
        ]
        if not drawn:
            continue
        under = left.intersection(shapely.union_all(drawn))
        left = left.difference(under)
        areas[surface.id] = float(under.area)
    areas[YARD] = areas.get(YARD, 0.0) + float(left.area)
    return {surface: areas[surface] for surface in surfaces() if areas.get(surface, 0.0) > 0.05}


def _piles(reach: Reach, pile: SpoilPile, toe_m: float) -> Iterator[BaseGeometry]:
    for from_m, to_m, side in pile.fits:
        if side != "neither":
            line = substring(reach.path, from_m, to_m)
            far, near = (_beside(line, width_m, side) for width_m in (toe_m + pile.width_m, toe_m))
            yield far.difference(near)


def _machines(
    reach: Reach, pile: SpoilPile, half_top_m: float, back_m: float, machine_m: float
) -> Iterator[BaseGeometry]:
    """The strip on the side away from the pile; on both sides where there is none."""
    for from_m, to_m, side in pile.fits:
        line = substring(reach.path, from_m, to_m)
        if side == "neither":
            yield line.buffer(max(half_top_m, machine_m / 2), cap_style="flat", join_style="mitre")
            continue
        toe_m = half_top_m + back_m
        other = "left" if side == "right" else "right"
        yield _beside(line, max(half_top_m, machine_m / 2, machine_m - toe_m), other)
        yield _beside(line, toe_m, side)


def _beside(line: LineString, width_m: float, side: str) -> BaseGeometry:
    return line.buffer(
        width_m if side == "left" else -width_m, single_sided=True, join_style="mitre", mitre_limit=2.0
    )
