"""Each line as it can lie: its bends eased into arcs of the least radius that its product takes."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from shapely import LineString

from siteplan.measure.along import TOUCH_M, turns
from siteplan.measure.model import Pull
from siteplan.route.arcs import EasedLine, eased
from siteplan.route.model import Layout
from siteplan.site.catalogue import products
from siteplan.site.site import Site


def lines_in_arcs(site: Site, layout: Layout, pulls: Iterable[Pull]) -> Iterator[tuple[str, EasedLine]]:
    """Lay each line along the centreline of its trench, with arcs for bends; at a pull point it stays a corner.

    Yields
    ------
    (str, EasedLine)
        Id of the line, and its way with arcs. A line that ends where it tees off has none.
    """
    points = [(pull.line, pull.from_m) for pull in pulls if pull.from_m > 0.0]
    for path in layout.paths:
        way = layout.way(path.line)
        if not isinstance(way, LineString):
            continue
        least_m = products()[site.line(path.line).product].least_radius_m
        turned = turns(way)
        radii_m = [
            0.0
            if any(line == path.line and abs(at_m - turn.distance_m) < TOUCH_M for line, at_m in points)
            else least_m
            for turn in turned
        ]
        corners = LineString([way.coords[0], *((turn.x, turn.y) for turn in turned), way.coords[-1]])
        yield path.line, eased(corners, radii_m, site.digging.bucket_m / 2, layout.corridor)
