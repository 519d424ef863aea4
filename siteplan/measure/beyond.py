"""What a layout costs beyond its trenches: the rows of the price list that the router cannot know."""

from __future__ import annotations

from shapely import LineString
from shapely.ops import substring

from siteplan.measure.excavation import Excavations
from siteplan.measure.prices import price_list
from siteplan.plane.ground import GroundSurface
from siteplan.route.model import Beyond, Layout
from siteplan.route.priced.bill import Item
from siteplan.route.strip import machine_side_m
from siteplan.rules.model import Requirements
from siteplan.site.site import Site


def beyond(
    site: Site,
    requirements: Requirements,
    ground: GroundSurface | None,
    layout: Layout,
    *,
    excavations: Excavations | None = None,
) -> Beyond:
    """Measure a layout for what its printed price holds beyond the trenches: hauled spoil and pull points.

    Parameters
    ----------
    site : Site
        In ground metres.
    ground : GroundSurface or None
        ``None``: no levels.
    layout : Layout
        Its reaches and paths are looked at; its bill is not.
    excavations : Excavations, optional
        What is dug already.

    Raises
    ------
    InputFaults
        As ``measure``.
    """
    back_m = requirements.trench.spoil_back_m.value
    dug = (excavations or Excavations()).of(site, requirements, layout, ground)
    prices = price_list(site, (), no_room_m=dug.no_room_m, pull_points=dug.pull_points)
    stretches = (substring(layout.reach(each.reach).path, each.from_m, each.to_m) for each in dug.cramped)
    return Beyond(
        items=tuple(Item(row=row.row, of="", amount=row.amount, price=row.likely) for row in prices),
        cramped=tuple(each for each in stretches if isinstance(each, LineString)),
        machine_side_m=max(
            machine_side_m(
                pile.strip_m - pile.width_m - back_m, back_m=back_m, machine_m=site.digging.machine_width_m
            )
            for pile in dug.piles
        ),
    )
