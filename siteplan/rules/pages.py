"""One layer, and all above it, as a page to read."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import singledispatch
from pathlib import Path

from siteplan.rules.citation import Citation
from siteplan.rules.clock_rows import ClockRow
from siteplan.rules.conditions import asked
from siteplan.rules.layers import load_stack
from siteplan.rules.rows import (
    ROWS,
    STATUSES,
    BendRow,
    ConduitRow,
    CoverRow,
    FrostRow,
    LocateRow,
    MultiplierRow,
    PlotPlanRow,
    RootRow,
    Row,
    SeparationRow,
    SetbackRow,
    TrenchRow,
    WellheadRow,
)
from siteplan.rules.stack import Layer

HEADINGS = {
    "setback": "Setbacks",
    "multiplier": "Multipliers of these setbacks",
    "cover": "Cover",
    "conduit_cover": "Cover over conduit and cable",
    "frost": "Frost depth",
    "separation": "Lines beside and across each other",
    "bend": "Bends",
    "trench": "Trench safety",
    "locate": "Locate",
    "locate_clock": "Locate: how the wait is counted",
    "roots": "Roots",
    "wellhead": "Wellhead",
    "plot_plan": "Plan of an application",
}
_FORCE = {"required": "", "advised": "advised", "by_approval": "by approval"}


def layer_page(name: str, folder: Path | None = None) -> str:
    """Print a layer and all above it as text: every row with its number, its conditions and its source.

    Raises ``InputFaults`` as ``load_stack`` does.
    """
    stack = load_stack(name, folder)
    aside = {note.layer: note.set_aside for note in stack.notes}
    pages = (_layer_lines(layer, aside[layer.name]) for layer in reversed(stack.layers))
    return "\n".join(line for page in pages for line in page).rstrip()


def citation_lines(citation: Citation) -> Iterator[str]:
    """Print a source: citation, edition, force, how surely it was read, row id; below it the note and the address."""
    edition = f", {citation.edition}" if citation.edition else ""
    force = f"; {_FORCE[citation.force]}" if _FORCE[citation.force] else ""
    standing = "" if citation.confirmed else f"; unconfirmed ({citation.standing})"
    read = f"; read {citation.read:%Y-%m}" if citation.read else ""
    yield f"  {citation.text}{edition}{force}{standing}{read} [{citation.row}]"
    if citation.note:
        yield f"    {citation.note}"
    if citation.url:
        yield f"    {citation.url}"


def _layer_lines(layer: Layer, set_aside: tuple[str, ...]) -> Iterator[str]:
    head = layer.head
    yield f"{head.title} ({layer.name})"
    yield f"{head.authority}{f', {head.edition}' if head.edition else ''}"
    yield f"Holds: {head.covers}"
    if head.silent:
        yield f"Read, and no number for: {', '.join(kind.replace('_', ' ') for kind in head.silent)}"
    if head.thin:
        yield "Thin: this layer is not whole. Ask the authority for what is not held."
    yield from (f"Not held: {gap}" for gap in head.gaps)
    if head.preempts:
        yield f"Preempts: rows of layers below count for nothing in {_listed(head.preempts)}"
    yield from (f"Counts for nothing here: {row}" for row in set_aside)
    for row_type in ROWS:
        rows = [placed for placed in layer.rows if isinstance(placed.row, row_type)]
        if rows:
            yield from ("", f"  {HEADINGS[row_type.table]}")
        for placed in rows:
            said = getattr(placed.row, "words", "") or asked(placed.when)
            yield f"  {row_words(placed.row, f', if {said}' if placed.when else '')}"
            yield from (f"  {line}" for line in citation_lines(placed.cite()))
    yield ""


@singledispatch
def row_words(row: Row, condition: str = "") -> str:
    """The number of one row in words, with the condition behind it."""
    raise NotImplementedError(type(row).__name__)


@row_words.register
def _(row: SetbackRow, condition: str) -> str:
    default = "; where no other row of this layer gives a distance" if row.default else ""
    lowest = f"; down to {row.approvable_to} by approval ({row.approval})" if row.approvable_to else ""
    statuses = "" if len(row.statuses) == len(STATUSES) else f"; counts {', '.join(row.statuses)}"
    return f"{_pair(row)}: {row.asks}{condition}{default}{lowest}{statuses}"


@row_words.register
def _(row: MultiplierRow, condition: str) -> str:
    only = f"; rows {', '.join(row.rows)} only" if row.rows else ""
    return f"{_pair(row)}: x {row.factor:g}{condition}{only}"


@row_words.register
def _(row: CoverRow, condition: str) -> str:
    form = row.form
    if form.frost_plus:
        depth = f"frost + {form.frost_plus}{f', at least {form.floor}' if form.floor else ''}"
    elif form.least:
        depth = f"at least {form.least}{f', at most {form.most}' if form.most else ''}"
    else:
        depth = form.performance or str(form.fixed)
    return f"{row.line} under {_listed(row.surfaces)}: {depth}"


@row_words.register
def _(row: ConduitRow, condition: str) -> str:
    cover = _listed(f"{method} {depth}" for method, depth in row.cover.items())
    return f"under {_listed([row.surface])}: {cover}{condition}"


@row_words.register
def _(row: FrostRow, condition: str) -> str:
    return f"{row.depth or 'not given'} ({row.purpose})"


@row_words.register
def _(row: SeparationRow, condition: str) -> str:
    parts = [
        f"{words} {length}"
        for words, length in (("beside", row.beside), ("crossing", row.crossing), ("shelf", row.shelf))
        if length
    ]
    over = [f"{_listed([row.over])} over"] if row.over else []
    share = "one trench allowed" if row.may_share else "no common trench"
    return f"{_listed(row.between)}: {', '.join([*parts, *over, share])}"


@row_words.register
def _(row: BendRow, condition: str) -> str:
    return f"at most {row.limit_deg:g} degrees between pull points"


@row_words.register
def _(row: TrenchRow, condition: str) -> str:
    if row.what == "slope":
        return f"slope, class {row.soil_class}: {row.slope:g} to 1"
    return f"{_listed([row.what])}: {row.distance}"


@row_words.register
def _(row: LocateRow, condition: str) -> str:
    return f"hand-dig zone {row.tolerance}" if row.tolerance else f"{row.call}; {row.notice}; {row.life}"


@row_words.register
def _(row: ClockRow, condition: str) -> str:
    return row.in_words()


@row_words.register
def _(row: RootRow, condition: str) -> str:
    return f"{row.times_trunk:g} times the trunk diameter, at least {row.least}"


@row_words.register
def _(row: WellheadRow, condition: str) -> str:
    flood = f", {row.above_flood} above the flood elevation" if row.above_flood else ""
    return f"casing at least {row.casing_height} above finished grade{flood}"


@row_words.register
def _(row: PlotPlanRow, condition: str) -> str:
    radius = f"hazards within {row.search_radius} of the well" if row.search_radius else ""
    scales = f"scales {', '.join(row.scales)}" if row.scales else ""
    return "; ".join(words for words in (radius, scales) if words)


def _pair(row: SetbackRow | MultiplierRow) -> str:
    return f"{_listed([row.from_])} to {_listed(row.to)}"


def _listed(names: Iterable[str]) -> str:
    return ", ".join(names).replace("_", " ")
