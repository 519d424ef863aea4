"""The rules of a stack against the facts of one site: everything that the other rooms need to know of them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from datetime import date
from functools import lru_cache
from typing import TypeVar

from siteplan.errors import Fault, InputFaults
from siteplan.rules.citation import Citation
from siteplan.rules.clock_rows import ClockRow
from siteplan.rules.conditions import Facts
from siteplan.rules.covers import covers
from siteplan.rules.faults import nearest, shown
from siteplan.rules.model import (
    LocateRules,
    Numbered,
    PlotPlanRules,
    Requirements,
    RootRules,
    Setback,
    TrenchRules,
    Unmeasured,
    Wellhead,
)
from siteplan.rules.overrides import overridden
from siteplan.rules.rows import BendRow, LocateRow, PlotPlanRow, RootRow, Row, TrenchRow, WellheadRow
from siteplan.rules.separations import separations
from siteplan.rules.setbacks import facts_named, setbacks, unlooked
from siteplan.rules.spellings import strange_texts
from siteplan.rules.stack import Placed, Stack
from siteplan.site.features import Line
from siteplan.site.site import Site

R = TypeVar("R", bound=Row)
_PYTHON_SORT: dict[str, type] = {"yes_no": bool, "text": str}
_SOIL_CLASSES = ("A", "B", "C", "rock")


def resolve(stack: Stack, site: Site, where: tuple[float, float] | None = None) -> Requirements:
    """Say what the rules ask of a site.

    Parameters
    ----------
    stack : Stack
        From ``load_stack``. The overrides of the site are applied on top.
    site : Site
        Facts, kinds, status and lines are looked at; shapes are not.
    where : (float, float), optional
        Longitude and latitude of the site [degrees], to be held against the bounds of the layers.

    Raises
    ------
    InputFaults
        An override that does not fit, a fact of the whole site of the wrong sort, or rules that lack a number which no plan
        can do without (trench safety, locate, roots, bends).
    """
    _check_site_facts(stack, site)
    stack = overridden(stack, site.overrides)
    line_facts = {line.id: _line_facts(site, line) for line in site.lines}
    trench, locate, roots, bend = _fixed_numbers(stack)
    wellhead = _wellhead(stack.of(WellheadRow))
    plot_plan = _plot_plan(stack.of(PlotPlanRow))
    clocks = [placed.row.rule(placed.cite()) for placed in stack.of(ClockRow)]
    spoken = tuple(setbacks(stack, site, line_facts))
    found = tuple(one for one in spoken if isinstance(one, Setback))
    words_only = tuple(one for one in spoken if isinstance(one, Unmeasured))
    cover = tuple(covers(stack, site, line_facts))
    apart = tuple(separations(stack, site))
    unseen = tuple((kind, placed.cite()) for kind, placed in unlooked(stack, site))
    outside = tuple(_outside(stack, where)) if where is not None else ()
    used = [
        *(citation for one in found if one.applies for citation in (one.citation, *one.also)),
        *(one.citation for one in words_only if one.applies),
        *(citation for one in cover for citation in (one.citation, *one.also)),
        *(citation for one in apart for citation in (one.citation, *one.also)),
        *_cited(trench, locate, roots, bend),
        *((wellhead.citation, *wellhead.also) if wellhead else ()),
        *(each for each in (plot_plan.radius_from, plot_plan.scales_from) if each),
        *(citation for _, citation in unseen),
        *(clock.citation for clock in clocks[-1:]),
    ]
    return Requirements(
        setbacks=found,
        covers=cover,
        separations=apart,
        trench=trench,
        locate=locate,
        roots=roots,
        bend_limit_deg=bend,
        stack=stack.notes,
        unlooked=unseen,
        overridden=tuple(placed.cite() for placed in stack.rows if placed.override),
        unconfirmed=tuple({citation.row: citation for citation in used if not citation.confirmed}.values()),
        wellhead=wellhead,
        confidence=stack.confidence,
        clock=clocks[-1] if clocks else None,
        unmeasured=words_only,
        warnings=(*outside, *strange_texts(stack, site)),
        outside=bool(outside),
        plot_plan=plot_plan,
    )


def _outside(stack: Stack, where: tuple[float, float]) -> Iterator[str]:
    """Name the layers in whose bounds a place does not lie."""
    longitude, latitude = where
    for layer in stack.layers:
        if layer.head.bbox:
            west, south, east, north = layer.head.bbox
            if not (west <= longitude <= east and south <= latitude <= north):
                yield (
                    f"the site ({latitude:.3f}, {longitude:.3f}) lies outside the bounds of {layer.head.title}"
                    f" ({layer.name}): are these its rules?"
                )


def _check_site_facts(stack: Stack, site: Site) -> None:
    """A fact of the wrong sort, or one letter off, would silently leave a rule open."""
    sorts = stack.site_facts
    faults: list[Fault] = []
    for name, value in site.facts.items():
        where = f"facts.{name}"
        if name not in sorts:
            near = nearest(name, [known for known in sorts if known not in site.facts])
            if near:
                expected = "a fact that a rule asks for"
                faults.append(Fault(file="site.toml", where=where, found=name, expected=expected, mend=near))
            continue
        if not _is_of(value, sorts[name]):
            expected = "true or false" if sorts[name] == "yes_no" else f"a value of sort {sorts[name]}"
            faults.append(Fault(file="site.toml", where=where, found=shown(value), expected=expected))
    if faults:
        raise InputFaults(faults)


def _is_of(value: object, sort: str) -> bool:
    if sort == "date":
        try:
            return isinstance(value, str) and date.fromisoformat(value).isoformat() == value
        except ValueError:
            return False
    if sort in _PYTHON_SORT:
        return isinstance(value, _PYTHON_SORT[sort])
    return isinstance(value, int | float) and not isinstance(value, bool)


def _line_facts(site: Site, line: Line) -> Facts:
    """Facts of a line as conditions name them.

    What its end building states of ``dwelling`` holds for the line too, and so does all that the well states from which it,
    or what it tees off, comes. A line from a well that has its pump in it is no
    suction line, and one from a well with the pump elsewhere is; so is what tees off such a line.
    """
    starts = {one.id: one.start for one in site.lines}
    begin = line.start
    for _ in starts:
        begin = starts.get(begin, begin)
    facts = {feature.id: feature.facts for feature in site.features if feature.id in (begin, line.end)}
    end, start = facts.get(line.end, {}), facts.get(begin, {})
    inherited = {"line.dwelling": end["dwelling"]} if "dwelling" in end else {}
    if "pump_at_well" in start:
        inherited["line.suction"] = not start["pump_at_well"]
    wells = [feature for feature in site.of_kind("well") if feature.id == begin]
    of_well = {name: fact for well in wells for name, fact in facts_named("well", well).items()}
    return of_well | inherited | {f"line.{name}": fact for name, fact in line.facts.items()}


def _number(placed: Placed[R], value: float) -> Numbered:
    return Numbered(value=value, citation=placed.cite())


@lru_cache(maxsize=64)
def _fixed_numbers(stack: Stack) -> tuple[TrenchRules, LocateRules, RootRules, Numbered]:
    """Numbers that do not hang on the site. Trench and bends: the strictest; locate and roots: the most local."""
    lacking: list[str] = []

    def chosen(rows: Iterable[Placed[R]], what: str, rank: Callable[[R], float]) -> Placed[R] | None:
        best = max(rows, key=lambda placed: rank(placed.row), default=None)
        if best is None:
            lacking.append(what)
        return best

    def trench(what: str, sign: int) -> Numbered | None:
        rows = [placed for placed in stack.of(TrenchRow) if placed.row.what == what]
        best = chosen(rows, f"trench row for {what}", lambda row: sign * _metres(row))
        return _number(best, _metres(best.row)) if best else None

    def slope(soil_class: str) -> Numbered | None:
        rows = [placed for placed in stack.of(TrenchRow) if placed.row.soil_class == soil_class]
        best = chosen(rows, f"slope for class {soil_class}", lambda row: row.slope or 0.0)
        return _number(best, best.row.slope or 0.0) if best else None

    spoil, depth, spacing = trench("spoil_back", 1), trench("egress_depth", -1), trench("egress_spacing", -1)
    protection, engineer = trench("protection_depth", -1), trench("engineer_depth", -1)
    slopes = {soil_class: slope(soil_class) for soil_class in _SOIL_CLASSES}
    zone = _last([placed for placed in stack.of(LocateRow) if placed.row.tolerance], lacking, "locate zone")
    notice = _last([placed for placed in stack.of(LocateRow) if placed.row.call], lacking, "locate notice")
    root = _last(stack.of(RootRow), lacking, "root zone")
    bend = chosen(stack.of(BendRow), "bend limit", lambda row: -row.limit_deg)
    if (
        not (spoil and depth and spacing and protection and engineer and zone and notice and root and bend)
        or lacking
    ):
        raise InputFaults(
            Fault(
                file=f"layers/{stack.name}/rules.toml",
                found=f"no {what}",
                expected="one here or in a layer above",
            )
            for what in lacking
        )
    return (
        TrenchRules(
            spoil_back_m=spoil,
            egress_depth_m=depth,
            egress_spacing_m=spacing,
            protection_depth_m=protection,
            engineer_depth_m=engineer,
            slope_by_class={name: number for name, number in slopes.items() if number is not None},
        ),
        LocateRules(
            tolerance_m=_number(zone, zone.row.tolerance.metres if zone.row.tolerance else 0.0),
            call=notice.row.call,
            notice=notice.row.notice,
            life=notice.row.life,
            citation=notice.cite(),
        ),
        RootRules(
            radius_per_diameter=_number(root, root.row.times_trunk),
            least_m=_number(root, root.row.least.metres),
        ),
        _number(bend, bend.row.limit_deg),
    )


def _metres(row: TrenchRow) -> float:
    return row.distance.metres if row.distance else 0.0


def _last(rows: Iterable[Placed[R]], lacking: list[str], what: str) -> Placed[R] | None:
    found = list(rows)
    if not found:
        lacking.append(what)
        return None
    return found[-1]


def _plot_plan(rows: tuple[Placed[PlotPlanRow], ...]) -> PlotPlanRules:
    """Take the greatest radius, and the scales of the most local row that has some."""
    local_first = rows[::-1]
    wide = max(
        (placed for placed in local_first if placed.row.search_radius),
        key=lambda placed: placed.row.search_radius.metres if placed.row.search_radius else 0.0,
        default=None,
    )
    scaled = next((placed for placed in local_first if placed.row.scales), None)
    return PlotPlanRules(
        search_radius=wide.row.search_radius if wide else None,
        scales=tuple(scaled.row.scales) if scaled else (),
        radius_from=wide.cite() if wide else None,
        scales_from=scaled.cite() if scaled else None,
    )


def _wellhead(rows: tuple[Placed[WellheadRow], ...]) -> Wellhead | None:
    """Take the greatest height above grade and the greatest above a flood; of equal ones the most local."""
    if not rows:
        return None

    def flood_m(placed: Placed[WellheadRow]) -> float:
        return placed.row.above_flood.metres if placed.row.above_flood else 0.0

    local_first = rows[::-1]
    high = max(local_first, key=lambda placed: (placed.row.casing_height.metres, flood_m(placed)))
    flood = max((high, *local_first), key=flood_m)
    return Wellhead(
        casing_height=high.row.casing_height,
        above_flood=flood.row.above_flood,
        citation=high.cite(),
        also=() if flood is high else (flood.cite(),),
    )


def _cited(trench: TrenchRules, locate: LocateRules, roots: RootRules, bend: Numbered) -> Iterator[Citation]:
    numbers: Mapping[str, Numbered] = trench.slope_by_class
    yield from (number.citation for number in numbers.values())
    for number in (
        trench.spoil_back_m,
        trench.egress_depth_m,
        trench.egress_spacing_m,
        trench.protection_depth_m,
        trench.engineer_depth_m,
        locate.tolerance_m,
        roots.radius_per_diameter,
        bend,
    ):
        yield number.citation
    yield locate.citation
