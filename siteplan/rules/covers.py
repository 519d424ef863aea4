"""Cover over the lines to lay: the deepest of all rows that hold, for each line under each surface class."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from siteplan.rules.citation import FORCES, STANDINGS, Citation
from siteplan.rules.conditions import Facts, asked, missing, truth
from siteplan.rules.frost import CITATION, frost_under, frost_used
from siteplan.rules.model import Cover
from siteplan.rules.rows import SURFACE_CLASSES, ConduitRow, CoverRow, FrostRow, SurfaceClass
from siteplan.rules.stack import Placed, Stack
from siteplan.site.catalogue import products
from siteplan.site.features import Line
from siteplan.site.site import Site
from siteplan.units import Length


@dataclass(frozen=True, slots=True, kw_only=True)
class _Depth:
    """What one row asks: a depth, or words only; ``asks`` if a depth exists that nobody stated."""

    least: Length | None
    most: Length | None = None
    form: str
    citation: Citation
    also: tuple[Citation, ...] = ()
    asks: bool = False


def covers(stack: Stack, site: Site, line_facts: dict[str, Facts]) -> Iterator[Cover]:
    """Yield the cover of each line to lay under each surface class, in the order of the site."""
    frost = _frost(stack)
    of_rows = {
        (carries, surface): tuple(_cover_rows(stack, frost, site, carries, surface))
        for carries in {line.carries for line in site.lines}
        for surface in SURFACE_CLASSES
    }
    for line in site.lines:
        for surface in SURFACE_CLASSES:
            depths = list(of_rows[line.carries, surface])
            if line.carries == "electric":
                depths += _conduit_rows(stack, line, surface, line_facts[line.id])
            yield _deepest(stack, line, surface, depths)


def _deepest(stack: Stack, line: Line, surface: SurfaceClass, depths: list[_Depth]) -> Cover:
    """The deepest row governs; of equal ones what is required, then the more surely read.

    A depth that hangs on a frost depth that nobody stated may be deeper than any number, and leaves the whole answer open;
    but what is only advised does not do so beside a number that binds.
    """
    if not depths:
        return Cover(
            line=line.id,
            surface=surface,
            least_m=None,
            form=f"no row for {_method(line) or line.carries} under {surface}: ask",
            citation=Citation(
                row="",
                layer=stack.name,
                text=f"not in the rules {stack.name}",
                standing="memory",
                force="advised",
            ),
        )
    binds = any(depth.least and _binds(depth.citation) for depth in depths)
    unanswered = [depth for depth in depths if binds and depth.asks and not _binds(depth.citation)]
    answered = [depth for depth in depths if depth not in unanswered]
    governs = min(
        answered,
        key=lambda depth: (
            not depth.asks,
            -round(depth.least.metres, 6) if depth.least else 1.0,
            FORCES.index(depth.citation.force),
            STANDINGS.index(depth.citation.standing),
        ),
    )
    ceilings = [depth.most.metres for depth in depths if depth.most is not None]
    others = [
        _noted(depth.citation, "frost depth not stated: no number") if depth in unanswered else depth.citation
        for depth in depths
        if depth is not governs
    ]
    sources = [
        source for depth in (governs, *(d for d in depths if d is not governs)) for source in depth.also
    ]
    return Cover(
        line=line.id,
        surface=surface,
        least_m=governs.least.metres if governs.least else None,
        most_m=min(ceilings, default=None),
        form="; advised beside it, ".join([governs.form, *(depth.form for depth in unanswered)]),
        citation=governs.citation,
        also=tuple(dict.fromkeys([*others, *sources])),
    )


def _binds(citation: Citation) -> bool:
    """Whether a number must be kept: more than advice, or stated for this very site."""
    return citation.force != "advised" or citation.standing == "site"


def _noted(citation: Citation, words: str) -> Citation:
    return replace(citation, note="; ".join(part for part in (citation.note, words) if part))


def _cover_rows(
    stack: Stack, frost: Placed[FrostRow] | None, site: Site, carries: str, surface: SurfaceClass
) -> Iterator[_Depth]:
    for placed in stack.of(CoverRow):
        form = placed.row.form
        if placed.row.line != carries or surface not in placed.row.surfaces:
            continue
        citation = placed.cite()
        if form.frost_plus is not None:
            yield _frost_form(frost, site, surface, form.frost_plus, form.floor, citation)
        elif form.performance is not None:
            yield _Depth(least=None, form=f"performance only ({form.performance}): ask", citation=citation)
        elif form.least is not None:
            words = f"at least {form.least}" + (f", at most {form.most}" if form.most else "")
            yield _Depth(least=form.least, most=form.most, form=words, citation=citation)
        elif form.fixed is not None:
            yield _Depth(least=form.fixed, form=f"fixed {form.fixed}", citation=citation)


def _frost_form(
    frost: Placed[FrostRow] | None,
    site: Site,
    surface: SurfaceClass,
    plus: Length,
    floor: Length | None,
    citation: Citation,
) -> _Depth:
    adopted = frost.row.depth if frost else None
    computed = frost_under(site.frost, surface) if site.frost else None
    depth, depth_words = frost_used(adopted, computed, plus.unit)
    sources = (*((frost.cite(),) if frost else ()), *((CITATION,) if computed else ()))
    floor_words = f", {floor}" if floor else ""
    if depth is None:
        row = f" (row {frost.row.id})" if frost else ""
        return _Depth(
            least=None,
            form=f"max(frost + {plus}{floor_words}): no frost depth is stated{row}: ask",
            citation=citation,
            also=sources,
            asks=True,
        )
    below = Length(depth.value + plus.metres / Length(1.0, depth.unit).metres, depth.unit)
    least = max((below, floor or below), key=lambda length: length.metres)
    words = (
        f"max({depth_words} + {plus}{floor_words}) = {least}"
        if floor
        else f"{depth_words} + {plus} = {least}"
    )
    return _Depth(least=least, form=words, citation=citation, also=sources)


def _frost(stack: Stack) -> Placed[FrostRow] | None:
    """The frost row that holds: the most local one; two of one layer, the deeper."""
    rows = stack.of(FrostRow)
    order = {layer.name: place for place, layer in enumerate(stack.layers)} | {"site": len(stack.layers)}
    return max(
        rows,
        key=lambda placed: (order[placed.layer], placed.row.depth.metres if placed.row.depth else -1.0),
        default=None,
    )


def _method(line: Line) -> str | None:
    return line.method or products()[line.product].method


def _conduit_rows(stack: Stack, line: Line, surface: SurfaceClass, facts: Facts) -> Iterator[_Depth]:
    rows = [placed for placed in stack.of(ConduitRow) if placed.row.surface == surface]
    for placed in rows:
        depth = next((depth for name, depth in placed.row.cover.items() if name == _method(line)), None)
        if depth is None or placed.row.instead_of:
            continue
        reliefs = [other for other in rows if other.row.instead_of == placed.row.id]
        yield _relieved(placed, depth, reliefs, line, facts)


def _relieved(
    placed: Placed[ConduitRow], depth: Length, reliefs: list[Placed[ConduitRow]], line: Line, facts: Facts
) -> _Depth:
    """The depth of a row, or the lesser depth of a row that relieves it and whose conditions are known to hold."""
    method = _method(line)
    surface = placed.row.surface.replace("_", " ")
    words = f"{str(method).replace('_', ' ')} under {surface}: {depth}"
    for relief in reliefs:
        lesser = next((length for name, length in relief.row.cover.items() if name == method), depth)
        if lesser.metres >= depth.metres:
            continue
        met = truth(relief.when, facts)
        said = relief.row.words or asked(relief.when)
        if met:
            form = f"{said}, under {surface}: {lesser}"
            return _Depth(least=lesser, form=form, citation=relief.cite(), also=(placed.cite(),))
        if met is None:
            names = " and ".join(missing((relief.when,), facts))
            words += f" ({lesser} if {said}; not stated: {names})"
    return _Depth(least=depth, form=words, citation=placed.cite())
