"""Private lines that nobody drew but that are usually there: from a building to its septic tank, from a tank to its field.

A straight line between the two is a guess at the place, and only that: it tells the owner what to be asked about, and the
digger where to dig by hand. Which things are joined by which lines: trade practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import shapely
from shapely import LineString
from shapely.geometry.base import BaseGeometry

from siteplan.route.keep_off import land_of
from siteplan.route.model import Layout
from siteplan.site.features import Feature, carried_by
from siteplan.site.site import Site
from siteplan.units import FOOT_M

HALF_BAND_M = 10 * FOOT_M
"""How far beside the straight line [m] a suspected line may be: 10 ft. Common practice, no source."""

_TOUCHES_M = 3.0
"""A drawn line that comes so near to a thing [m] is taken to run to it."""

_TANKS = ("septic_tank", "holding_tank", "cesspool")


@dataclass(frozen=True, slots=True, kw_only=True)
class Suspected:
    """A line that may lie in the ground.

    Attributes
    ----------
    what : str
        As it prints.
    start, end : str
        Ids of the things that it may join.
    path : LineString
        Straight from the one to the other, ground metres.
    reach : str
        Trench that it comes near to; ``""``: none within ``HALF_BAND_M``.
    at_m : float
        Distance [m] along that trench where it is nearest.
    """

    what: str
    start: str
    end: str
    path: LineString
    reach: str = ""
    at_m: float = 0.0


def suspected_lines(site: Site, layout: Layout) -> tuple[Suspected, ...]:
    """List the private lines to ask the owner about; none where a line of that sort is drawn that runs to the thing.

    Nothing runs to a building that is only proposed, or that a drawn line of that sort already serves.
    """
    return tuple(_beside(each, layout) for each in _pairs(site))


def _pairs(site: Site) -> Iterator[Suspected]:
    ours = [each for each in site.features if each.shape.intersects(land_of(site))]
    there = [each for each in ours if each.status != "proposed"]
    buildings = _of(ours, "building")
    stands = [each for each in buildings if each.status == "existing"]
    tanks, fields, fuel = _of(there, *_TANKS), _of(there, "absorption_area"), _of(there, "fuel_tank")
    old = [
        *_of(there, "other_well", "cistern"),
        *(one for one in _of(there, "well") if one.status == "abandoned"),
    ]
    yield from _joined("septic line from the house", tanks, buildings, _drawn(site, "building_sewer"))
    yield from _joined("effluent line from the tank", fields, tanks, _drawn(site, "effluent_line"))
    yield from _joined("old water line or pump cable", old, buildings, _drawn(site, "water", "electric"))
    yield from _joined("fuel line", fuel, buildings, _drawn(site, "gas", "fuel", "oil"))
    powered = [*_drawn(site, "electric"), *site.of_kind("overhead_line")]
    for building in stands[1:]:
        yield from _joined("power, water or data line", [building], stands[:1], powered)


def _of(features: Iterable[Feature], *kinds: str) -> list[Feature]:
    return [each for each in features if each.kind in kinds]


def _drawn(site: Site, *carried: str) -> list[Feature]:
    """Lines in the ground of these kinds, or that are stated to carry this."""
    return [
        each
        for each in site.features
        if each.kind in carried or (each.kind == "buried_line" and carried_by(each) in carried)
    ]


def _joined(
    what: str, things: Iterable[Feature], others: Iterable[Feature], drawn: Iterable[Feature]
) -> Iterator[Suspected]:
    """Each thing with the nearest of the others, unless a drawn line runs to it or the other is yet to be built."""
    others, drawn = list(others), list(drawn)
    for thing in things:
        if not others or any(line.shape.distance(thing.shape) <= _TOUCHES_M for line in drawn):
            continue
        other = min(others, key=lambda one: float(one.shape.distance(thing.shape)))
        path = shapely.shortest_line(other.shape, thing.shape)
        if path.length > 0.0 and other.status != "proposed":
            yield Suspected(what=what, start=other.id, end=thing.id, path=path)


def _beside(line: Suspected, layout: Layout) -> Suspected:
    reach = min(layout.reaches, key=lambda one: float(one.path.distance(line.path)))
    if reach.path.distance(line.path) > HALF_BAND_M:
        return line
    here: BaseGeometry = shapely.shortest_line(reach.path, line.path)
    at_m = float(reach.path.project(shapely.get_point(here, 0)))
    return Suspected(
        what=line.what, start=line.start, end=line.end, path=line.path, reach=reach.name, at_m=at_m
    )
