"""What a deeper trench adds: the dig again with every cut so much deeper."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from siteplan.measure import earthwork
from siteplan.measure.along import without
from siteplan.measure.model import Section, Works
from siteplan.route.model import Layout
from siteplan.rules.model import Requirements
from siteplan.site.catalogue import soils
from siteplan.site.site import Site
from siteplan.units import INCH_M

SIX_INCHES_M = 6 * INCH_M


@dataclass(frozen=True, slots=True, kw_only=True)
class Dig:
    """Volumes of the dig [m3] and the length of trench [m] that is at the protection depth or deeper."""

    bank_m3: float
    loose_m3: float
    protected_m: float


def dig(
    site: Site, requirements: Requirements, layout: Layout, works: Works, *, deeper_m: float = 0.0
) -> Dig:
    """Measure the dig with every cut ``deeper_m`` [m] deeper; at 0 it is the dig of the plan.

    Trenches and the pits at their ends get deeper; the pits of bores as well. Walls keep their slope.

    Parameters
    ----------
    deeper_m : float
        0 or more.
    """
    parts = [
        (to_m - from_m, _deepened(section, deeper_m)) for from_m, to_m, section in _opened(layout, works)
    ]
    trench_m3 = sum(
        earthwork.trench_m3(length_m, each.width_m, each.side_slope, each.cut_m, each.cut_m)
        for length_m, each in parts
    )
    bank_m3 = trench_m3 + sum(_pits_m3(site, layout, works, deeper_m))
    protection_m = requirements.trench.protection_depth_m.value
    return Dig(
        bank_m3=bank_m3,
        loose_m3=earthwork.loose_m3(bank_m3, soils()[site.digging.soil]),
        protected_m=sum(length_m for length_m, each in parts if each.cut_m >= protection_m - 1e-9),
    )


def _deepened(section: Section, by_m: float) -> Section:
    return replace(
        section,
        cut_m=section.cut_m + by_m,
        top_width_m=section.top_width_m + 2 * section.side_slope * by_m,
    )


def _opened(layout: Layout, works: Works) -> Iterator[tuple[float, float, Section]]:
    bored = {reach.name: [(each.from_m, each.to_m) for each in reach.bored] for reach in layout.reaches}
    for name, from_m, to_m, section in works.stretches(layout.reaches):
        for begin, end in without([(from_m, to_m)], bored[name]):
            yield begin, end, section


def _pits_m3(site: Site, layout: Layout, works: Works, by_m: float) -> Iterator[float]:
    meeting: dict[str, list[Section]] = {}
    for reach in layout.reaches:
        here = [_deepened(section, by_m) for *_, section in works.stretches([reach])]
        for at, section in ((reach.starts_at, here[0]), (reach.ends_at, here[-1])):
            meeting.setdefault(at, []).append(section)
    for feature in site.features:
        if feature.id in meeting:
            deepest = max(meeting[feature.id], key=lambda section: section.cut_m)
            is_well = feature.kind == "well"
            yield earthwork.bell_hole_m3(deepest) if is_well else earthwork.end_pit_m3(deepest)
    for reach in layout.reaches:
        for bored in reach.bored:
            under = [
                _deepened(section, by_m)
                for _, from_m, to_m, section in works.stretches([reach])
                if from_m < bored.to_m - 1e-6 and to_m > bored.from_m + 1e-6
            ]
            yield earthwork.end_pit_m3(under[0]) + earthwork.end_pit_m3(under[-1])
