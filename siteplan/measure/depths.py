"""Stretches deep enough for the trench rules to ask for something: a way out, a protective system, an engineer."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from siteplan.measure.along import Interval as Span
from siteplan.measure.along import joined
from siteplan.measure.earthwork import END_PIT_LONG_M, HALF_BELL_HOLE_M, bell_hole_depth_m
from siteplan.measure.model import Interval
from siteplan.measure.profile import Trench
from siteplan.measure.sections import is_as_deep
from siteplan.rules.model import Numbered, Requirements, TrenchRules
from siteplan.site.site import Site


def deep_stretches(
    site: Site, requirements: Requirements, trenches: Iterable[Trench]
) -> tuple[Interval, ...]:
    """Stretches at least as deep as each depth of the trench rules, the bell-hole at a casing with its own depth.

    The pits at the ends of a bore are as deep as the bore, whatever the trench is beside it.
    """
    return tuple(
        interval
        for trench in trenches
        for what, limit in _limits(requirements.trench)
        for interval in _deeper(site, trench, what, limit)
    )


def _limits(rules: TrenchRules) -> tuple[tuple[str, Numbered], ...]:
    return (
        ("egress", rules.egress_depth_m),
        ("protection", rules.protection_depth_m),
        ("engineer", rules.engineer_depth_m),
    )


def _deeper(site: Site, trench: Trench, what: str, limit: Numbered) -> Iterator[Interval]:
    reach = trench.reach
    deep = joined(
        (stretch.from_m, stretch.to_m)
        for stretch, section in trench.opened
        if is_as_deep(section.cut_m, limit)
    )
    for from_m, to_m in deep:
        yield Interval(reach=reach.name, from_m=from_m, to_m=to_m, what=what, rule=limit)
    yield from _bore_pits(trench, what, limit, deep)
    half_m = min(HALF_BELL_HOLE_M, reach.length_m)
    for at, from_m, to_m in (
        (reach.starts_at, 0.0, half_m),
        (reach.ends_at, reach.length_m - half_m, reach.length_m),
    ):
        _, section = trench.at(0.0 if at == reach.starts_at else reach.length_m)
        is_well = any(well.id == at for well in site.of_kind("well"))
        if is_well and is_as_deep(bell_hole_depth_m(section), limit) and not is_as_deep(section.cut_m, limit):
            yield Interval(reach=reach.name, from_m=from_m, to_m=to_m, what=f"{what} (bell-hole)", rule=limit)


def _bore_pits(trench: Trench, what: str, limit: Numbered, deep: Iterable[Span]) -> Iterator[Interval]:
    """Pits as deep as that where the trench beside them is not."""
    reach = trench.reach
    for bored in reach.bored:
        parts = trench.between(bored.from_m, bored.to_m)
        for from_m, to_m, (_, section) in (
            (max(bored.from_m - END_PIT_LONG_M, 0.0), bored.from_m, parts[0]),
            (bored.to_m, min(bored.to_m + END_PIT_LONG_M, reach.length_m), parts[-1]),
        ):
            is_said = any(low <= from_m and to_m <= high for low, high in deep)
            if is_as_deep(section.cut_m, limit) and not is_said:
                yield Interval(
                    reach=reach.name, from_m=from_m, to_m=to_m, what=f"{what} (bore pit)", rule=limit
                )
