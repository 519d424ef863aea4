"""A trench of its own for each end: what trenches that are shared are held against."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from shapely import LineString, Point

from siteplan.route.approach import NEAR_M, Approach
from siteplan.route.dig import Dug
from siteplan.route.fixed import fixed_ways
from siteplan.route.model import LinePath, Reach, Run
from siteplan.route.priced.bill import Item
from siteplan.route.priced.cheapest import cheapest
from siteplan.route.reach_price import ReachPrice
from siteplan.site.site import Site


@dataclass(frozen=True, slots=True, kw_only=True)
class Alone:
    """A trench from the start to one end, for all lines that end there, and what it is priced by."""

    reach: Reach
    paths: tuple[LinePath, ...]
    bill: tuple[Item, ...]


def each_alone(site: Site, dug: Dug, free_names: Iterator[str]) -> list[Alone] | None:
    """Find a trench of its own for each end of a group; ``None`` if there is none for some end.

    Parameters
    ----------
    site : Site
        In ground metres.
    dug : Dug
        The group, in the trenches that it shares.
    free_names : iterator of str
        Names for the trenches.
    """
    start, ends, scene = dug.reached.start, dug.reached.ends, dug.scene
    fixed = fixed_ways(site, dug.group, scene, start, ends) or {}
    found = []
    for end, free in ends.items():
        if end in fixed:
            line, way = fixed[end].line, fixed[end].way
            first = (
                start if start.goal.distance(Point(line.coords[0])) <= NEAR_M else replace(start, leg_m=0.0)
            )
            path = _whole(line, first, way)
        else:
            alone = cheapest(scene, start, free, ground=dug.reached.ground)
            if alone is None:
                return None
            first, way, path = start, free, alone.line
        lines = [line.id for line in dug.group.ends[end]]
        reach = Reach(
            name=next(free_names),
            path=path,
            runs=tuple(Run(line=line, from_m=0.0, to_m=path.length) for line in lines),
            starts_at=dug.group.root,
            ends_at=end,
        )
        price = ReachPrice(reach, [reach], first, {end: way})
        found.append(
            Alone(
                reach=replace(reach, bored=price.bored(scene)),
                paths=tuple(
                    LinePath(
                        line=line, legs=((reach.name, 0.0, reach.length_m),), entry=Point(path.coords[-1])
                    )
                    for line in lines
                ),
                bill=tuple(price.bill(scene)),
            )
        )
    return found


def _whole(line: LineString, start: Approach, end: Approach) -> LineString:
    """Return a trench on free ground with its last legs."""
    places = list(line.coords)
    if start.leg_m:
        places.insert(0, start.foot(*places[0]))
    if end.leg_m:
        places.append(end.foot(*places[-1]))
    return LineString(places)
