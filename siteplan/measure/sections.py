"""Cross-sections: how deep each line must lie, how the lines of one trench lie beside each other, how wide it is."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from itertools import combinations, pairwise

from siteplan.errors import Fault, InputFaults
from siteplan.measure.along import TOUCH_M
from siteplan.measure.model import LaidLine, Section
from siteplan.measure.surfaces import Stretch
from siteplan.rules.model import Numbered, Requirements
from siteplan.site.catalogue import Product, products, soils, surfaces
from siteplan.site.features import Line
from siteplan.site.site import Site

BESIDE_M = 0.1
"""Clear distance [m] between lines of one trench where the rules are silent. Common practice, no source."""

SIDE_CLEARANCE_M = 0.1
"""Room [m] from the outermost line to the trench wall. Common practice, no source."""

_SIDE_BY_SIDE = ("water", "electric", "communications")

SectionKey = tuple[tuple[str, ...], str]


def section_key(stretch: Stretch) -> SectionKey:
    """What tells one section from another: the lines in it and the cover class of the ground above."""
    return stretch.lines, stretch.cover_class


def sections(
    site: Site, requirements: Requirements, stretches: Iterable[Stretch]
) -> Mapping[SectionKey, Section]:
    """One section for each set of lines under each class of surface, named 1, 2, 3 as they come.

    Raises
    ------
    InputFaults
        One fault for each line whose cover no rule puts a number on, and for which the site states none.
    """
    keys = list(dict.fromkeys(section_key(stretch) for stretch in stretches))
    _require_numbers(site, requirements, keys)
    return {
        key: _section(site, requirements, key, name=str(number)) for number, key in enumerate(keys, start=1)
    }


def _require_numbers(site: Site, requirements: Requirements, keys: Iterable[SectionKey]) -> None:
    silent = {
        line
        for lines, cover_class in keys
        for line in lines
        if site.line(line).cover_m is None and requirements.cover(line, cover_class).least_m is None
    }
    faults = [
        Fault(
            file=line.source.file,
            line=line.source.line,
            where=line.id,
            found=f"no depth for {line.name}: the rules of {site.rules} state a performance and no number",
            expected="the cover that the authority accepts here",
            mend='ask the authority, then write cover = "..." on the line or an [[override]] with its answer as the reason',
        )
        for line in site.lines
        if line.id in silent
    ]
    if faults:
        raise InputFaults(faults)


def _section(site: Site, requirements: Requirements, key: SectionKey, *, name: str) -> Section:
    lines = sorted((site.line(line) for line in key[0]), key=lambda line: _SIDE_BY_SIDE.index(line.carries))
    pipes = [products()[line.product] for line in lines]
    covers = [requirements.cover(line.id, key[1]) for line in lines]
    bedding_m = site.digging.bedding_m
    rises_m = _rises(requirements, lines, pipes)
    cuts_m = [
        _planned_cover(site, line, cover.least_m) + pipe.outside_m + rise_m + bedding_m
        for line, cover, pipe, rise_m in zip(lines, covers, pipes, rises_m, strict=True)
    ]
    cut_m = max(cuts_m)
    axes_m = _axes(requirements, lines, pipes)
    spread_m = axes_m[-1] - axes_m[0] + (pipes[0].outside_m + pipes[-1].outside_m) / 2
    width_m = max(site.digging.bucket_m, spread_m + 2 * SIDE_CLEARANCE_M)
    slope = _side_slope(site, requirements, cut_m)
    return Section(
        name=name,
        surface=next(surface.id for surface in surfaces().values() if surface.cover_class == key[1]),
        width_m=width_m,
        cut_m=cut_m,
        side_slope=slope,
        top_width_m=width_m + 2 * slope * cut_m,
        bedding_m=bedding_m,
        lines=tuple(
            LaidLine(
                line=line.id,
                outside_m=pipe.outside_m,
                offset_m=spread_m / 2 - pipes[0].outside_m / 2 - (axis_m - axes_m[0]),
                cover_m=cut_m - bedding_m - rise_m - pipe.outside_m,
                required=cover,
            )
            for line, pipe, cover, axis_m, rise_m in zip(lines, pipes, covers, axes_m, rises_m, strict=True)
        ),
        governed_by=covers[cuts_m.index(cut_m)],
    )


def _planned_cover(site: Site, line: Line, least_m: float | None) -> float:
    """Deeper of the rules, with the depth error of the dig on top, and the contractor's own design."""
    of_rules = 0.0 if least_m is None else least_m + site.digging.depth_error_m
    return max(of_rules, line.cover_m or 0.0)


def _rises(requirements: Requirements, lines: list[Line], pipes: list[Product]) -> list[float]:
    """Height [m] of the underside of each line over the bedding: 0, or its shelf over another line."""
    place = {line.id: number for number, line in enumerate(lines)}
    rises_m = [0.0] * len(lines)
    for _ in lines:  # a shelf may stand on a shelf
        for a, b in combinations(lines, 2):
            separation = requirements.separation(a.id, b.id)
            if separation is None or separation.shelf_m is None:
                continue
            upper, lower = place[separation.of], place[separation.to]
            shelf_m = rises_m[lower] + pipes[lower].outside_m + separation.shelf_m
            rises_m[upper] = max(rises_m[upper], shelf_m)
    return rises_m


def _axes(requirements: Requirements, lines: list[Line], pipes: list[Product]) -> list[float]:
    """Axis of each line [m] to the right of the first, as near as their separations allow."""
    axes_m: list[float] = []
    for number, (line, pipe) in enumerate(zip(lines, pipes, strict=True)):
        least = [0.0]
        for other, other_pipe, axis_m in zip(lines[:number], pipes, axes_m, strict=False):
            separation = requirements.separation(line.id, other.id)
            beside_m = BESIDE_M if separation is None or separation.beside_m is None else separation.beside_m
            least.append(axis_m + (other_pipe.outside_m + pipe.outside_m) / 2 + beside_m)
        axes_m.append(max(least))
    return axes_m


def _side_slope(site: Site, requirements: Requirements, cut_m: float) -> float:
    soil = soils()[site.digging.soil]
    protected = site.digging.entered and is_as_deep(cut_m, requirements.trench.protection_depth_m)
    if not protected or soil.osha_class == "rock":
        return 0.0
    return requirements.trench.slope_by_class[soil.osha_class].value


def is_as_deep(cut_m: float, limit: Numbered) -> bool:
    """Does a cut reach a depth at which the trench rules ask for something; equal counts."""
    return cut_m >= limit.value - TOUCH_M


def depth_steps_m(line: str, along: Iterable[Section]) -> float:
    """Sum of the steps [m] that a line makes from section to section."""
    covers_m = [laid.cover_m for section in along for laid in section.lines if laid.line == line]
    return sum(abs(after - before) for before, after in pairwise(covers_m))
