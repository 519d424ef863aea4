"""Where the dirt goes while the trench is open: the side and the strip of the spoil pile."""

from __future__ import annotations

from shapely.geometry.base import BaseGeometry

from siteplan.measure.earthwork import loose_m3, pile, trench_area_m2
from siteplan.measure.model import SpoilPile
from siteplan.measure.profile import Trench
from siteplan.rules.model import Requirements
from siteplan.site.catalogue import soils
from siteplan.site.site import Site


def spoil_pile(site: Site, requirements: Requirements, trench: Trench, corridor: BaseGeometry) -> SpoilPile:
    """Pile along one reach at its fullest, on the side with more open ground.

    Parameters
    ----------
    corridor : shapely geometry
        Open ground: where a trench might have gone, a pile may lie. If both sides are alike: left.
    """
    soil = soils()[site.digging.soil]
    fullest_m2 = max(
        trench_area_m2(section.cut_m, section.width_m, section.side_slope) for _, section in trench.parts
    )
    height_m, width_m = pile(loose_m3(fullest_m2, soil), soil)
    strip_m = trench.half_top_m + requirements.trench.spoil_back_m.value + width_m
    left, right = (_open_share(trench, side * strip_m, corridor) for side in (1, -1))
    return SpoilPile(
        reach=trench.name,
        side="right" if right > left + 0.005 else "left",
        height_m=height_m,
        width_m=width_m,
        strip_m=strip_m,
        why=f"open ground in the strip: left {left:.0%}, right {right:.0%}",
    )


def _open_share(trench: Trench, strip_m: float, corridor: BaseGeometry) -> float:
    strip = trench.reach.path.buffer(strip_m, single_sided=True)
    return float(strip.intersection(corridor).area / strip.area)
