"""Where the dirt goes while the trench is open: the side and the strip of the spoil pile, and where there is no room for it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from shapely.geometry.base import BaseGeometry

from siteplan.measure.along import without
from siteplan.measure.earthwork import loose_m3, pile, trench_area_m2
from siteplan.measure.model import Interval, SpoilPile
from siteplan.measure.profile import Trench
from siteplan.route.strip import Fit, strip_fits
from siteplan.rules.model import Requirements
from siteplan.site.catalogue import soils
from siteplan.site.site import Site
from siteplan.units import Printer

NO_ROOM = "no room for the pile on either side"


def spoil_pile(
    site: Site, requirements: Requirements, trench: Trench, open_ground: BaseGeometry
) -> SpoilPile:
    """Pile along one reach at its fullest, on the side where it fits along more of the trench; left if both are alike.

    Parameters
    ----------
    open_ground : shapely geometry
        Where a pile may lie and a machine stand. A machine whose width nobody states asks for no room.
    """
    soil = soils()[site.digging.soil]
    fullest_m2 = max(
        (trench_area_m2(section.cut_m, section.width_m, section.side_slope) for _, section in trench.opened),
        default=0.0,
    )
    height_m, width_m = pile(loose_m3(fullest_m2, soil), soil)
    back_m = requirements.trench.spoil_back_m.value
    every = strip_fits(
        trench.reach.path,
        open_ground,
        width_m,
        site.digging.machine_width_m,
        half_top_m=trench.half_top_m,
        back_m=back_m,
    )
    fits = tuple(_opened(trench, every))
    left_m, right_m, neither_m = (
        sum(fit.to_m - fit.from_m for fit in fits if fit.side == side)
        for side in ("left", "right", "neither")
    )
    length = Printer(site.units).length
    return SpoilPile(
        reach=trench.name,
        side="right" if right_m > left_m else "left",
        height_m=height_m,
        width_m=width_m,
        strip_m=trench.half_top_m + back_m + width_m,
        why=f"it lies left along {length(left_m)}, right along {length(right_m)}, no room along {length(neither_m)}",
        fits=fits,
    )


def no_room(piles: Iterable[SpoilPile]) -> Iterator[Interval]:
    """Stretches where the dirt must be hauled: neither side has room for it."""
    for each in piles:
        for from_m, to_m, side in each.fits:
            if side == "neither":
                yield Interval(reach=each.reach, from_m=from_m, to_m=to_m, what=NO_ROOM)


def _opened(trench: Trench, fits: Iterable[Fit]) -> Iterator[Fit]:
    """The same without what is bored: nothing is dug there that would lie beside it."""
    bored = [(each.from_m, each.to_m) for each in trench.reach.bored]
    for from_m, to_m, side in fits:
        for begin, end in without([(from_m, to_m)], bored):
            yield Fit(begin, end, side)
