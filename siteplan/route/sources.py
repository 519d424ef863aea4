"""Where a line begins, if that is left open: at the well, at a building, or at a tee on a line. The cheapest trenches decide."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from siteplan.errors import InputFaults, NoRoute
from siteplan.plane.ground import GroundSurface
from siteplan.route.layout import lay
from siteplan.route.model import Alternative, Layout, Measure, nothing_beyond
from siteplan.route.price_words import why
from siteplan.rules.model import Requirements
from siteplan.site.features import Line
from siteplan.site.site import Site

Resolve = Callable[[Site], Requirements]


def with_sources(
    site: Site,
    resolve: Resolve,
    ground: GroundSurface | None = None,
    *,
    beyond: Measure = nothing_beyond,
) -> tuple[Site, tuple[Alternative, ...]]:
    """Choose where each line begins that leaves it open, one line after another in the order of the site.

    Parameters
    ----------
    site : Site
        In ground metres.
    resolve : callable
        What the rules ask of a site.
    ground : GroundSurface, optional
        Spot levels.
    beyond : callable
        What a layout costs beyond its trenches.

    Returns
    -------
    tuple
        The site with every start settled, and the layouts from the other starts, cheapest first.

    Raises
    ------
    NoRoute
        There is no way from any of the starts of a line.
    """
    others: list[Alternative] = []
    for line in site.lines:
        if len(line.choices) < 2:
            continue
        site, more = _settled(site, line, resolve, ground, beyond)
        others += more
    return site, tuple(sorted(others, key=lambda other: other.price))


def with_former_sources(site: Site, former: Site) -> Site | None:
    """Let each line that leaves open where it begins begin where it did before; ``None`` if one may not or did not."""
    before = {line.id: line.start for line in former.lines}
    for line in site.lines:
        if len(line.choices) > 1:
            if before.get(line.id) not in line.choices:
                return None
            site = _beginning_at(site, line, before[line.id])
    return site


def _settled(
    site: Site, line: Line, resolve: Resolve, ground: GroundSurface | None, beyond: Measure
) -> tuple[Site, list[Alternative]]:
    found: list[tuple[Layout, str, Site]] = []
    closed: NoRoute | InputFaults | None = None
    for start in line.choices:
        tried = _beginning_at(site, line, start)
        try:
            found.append((lay(tried, resolve(tried), ground, thorough=False, beyond=beyond), start, tried))
        except (NoRoute, InputFaults) as no_way:
            closed = closed or no_way
    if not found:
        assert closed is not None
        raise closed
    found.sort(key=lambda each: each[0].price)
    best, _, settled = found[0]
    return settled, [
        Alternative(
            name=f"{line.name} from {_name(site, start)}",
            paths=tuple(reach.path for reach in layout.reaches),
            price=layout.price,
            why=why(site, best.bill, layout.bill),
        )
        for layout, start, _ in found[1:]
    ]


def _beginning_at(site: Site, line: Line, start: str) -> Site:
    lines = (replace(each, start=start) if each.id == line.id else each for each in site.lines)
    return replace(site, lines=tuple(lines))


def _name(site: Site, start: str) -> str:
    lines = {each.id: each.name for each in site.lines}
    return f"a tee on {lines[start]}" if start in lines else site.feature(start).name
