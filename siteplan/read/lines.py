"""The lines to lay: from the tables of ``site.toml`` to ``Line``, each tied to the features it starts from and ends at."""

from __future__ import annotations

from collections.abc import Sequence
from typing import cast

from siteplan.read.facts import LINE_FACTS, free_fact, parse_fact
from siteplan.read.ground import Ground, id_named
from siteplan.read.route_control import CHEAPEST, check_control, may_be_tapped, with_choices
from siteplan.read.site_file import Row
from siteplan.read.site_model import LineTable
from siteplan.read.words import FaultList, Place, Unusable, listed, near, shown, suggestion
from siteplan.site.catalogue import products
from siteplan.site.features import Fact, Line, Side, Source, carried_by

STARTS = ("well", "building", "entry", "hydrant", "cistern", "buried_line")
ENDS = ("building", "entry", "hydrant", "cistern", "well")


def lines_of(
    rows: Sequence[Row[LineTable]], ground: Ground, faults: FaultList, *, all_read: bool, lonlat: bool
) -> list[Line]:
    """Make the lines to lay; faults go into the list.

    Parameters
    ----------
    all_read : bool
        ``rows`` lacks no spoilt table.
    lonlat : bool
        The shapes are in degrees, not in metres.
    """
    _check_ids(rows, ground, faults)
    tables = {row.table.id: row.table for row in rows}
    lines = [_line(row, tables, ground, faults, all_read=all_read) for row in rows]
    for row, line in zip(rows, lines, strict=True):
        check_control(row, line, ground, faults, lonlat=lonlat)
    lines = with_choices(rows, lines, ground, faults, all_read=all_read)
    _check_tees(rows, tables, faults)
    _check_one_well(lines, ground, faults, all_read=all_read)
    return lines


def _line(
    row: Row[LineTable], tables: dict[str, LineTable], ground: Ground, faults: FaultList, *, all_read: bool
) -> Line:
    table = row.table
    product = products()[table.product]
    if table.carries not in product.carries:
        fit = (each.id for each in products().values() if table.carries in each.carries)
        faults.add(
            row.at("product"),
            found=f"{shown(table.product)}, which does not carry {table.carries}",
            expected=f"one of {listed(fit)}",
        )
    wiring = {each.method for each in products().values() if each.method and table.carries in each.carries}
    if table.method is not None and table.method not in wiring:
        faults.add(
            row.at("method"),
            found=shown(table.method),
            expected=f"one of {listed(wiring)}" if wiring else f"no method, as it carries {table.carries}",
            mend=suggestion(table.method, wiring),
        )
    start = table.start
    if table.start not in (*tables, CHEAPEST):
        others = [each for each in tables if each != table.id] if all_read else None
        start = id_named(row.at("from"), table.start, STARTS, ground, faults, lines=others)
        _check_tapped(row, ground, start, faults)
    end = id_named(row.at("to"), table.end, ENDS, ground, faults, lines=[])
    if start == end:
        faults.add(row.at("to"), found=f"{shown(table.end)}, where the line starts", expected="another thing")
    return Line(
        id=table.id,
        name=table.name or table.id,
        carries=table.carries,
        start=start,
        end=end,
        product=table.product,
        method=table.method or product.method,
        facts=_facts(row, faults),
        cover_m=table.cover,
        through=tuple(
            id_named(row.at("through"), each, ("pass_point",), ground, faults, lines=[])
            for each in table.through
        ),
        drawn=table.drawn
        and id_named(row.at("drawn"), table.drawn, ("drawn_route",), ground, faults, lines=[]),
        closed_sides=cast("tuple[Side, ...]", tuple(dict.fromkeys(table.closed_sides))),
        source=Source(file=row.place.file, line=row.place.line),
    )


def _check_tapped(row: Row[LineTable], ground: Ground, start: str, faults: FaultList) -> None:
    """A line that is there already is tapped by one that carries the same."""
    tapped = ground.features.get(start)
    if tapped is None or tapped.kind != "buried_line" or may_be_tapped(tapped, row.table.carries):
        return
    carries = carried_by(tapped)
    what = f"carries {carries}" if carries else "does not say what it carries"
    faults.add(
        row.at("from"),
        found=f"{shown(start)}, which {'is abandoned' if tapped.status == 'abandoned' else what}",
        expected=f"a line in use that carries {row.table.carries}",
        mend="" if carries else f'add "carries": "{row.table.carries}" to it if it does',
    )


def _facts(row: Row[LineTable], faults: FaultList) -> dict[str, Fact]:
    facts: dict[str, Fact] = {}
    named = [info.alias or name for name, info in LineTable.model_fields.items()]
    for key, value in (row.table.model_extra or {}).items():
        slip = None if key in LINE_FACTS else near(key, (*named, *LINE_FACTS), likeness=0.8)
        if slip:
            faults.add(
                row.at(key),
                found=f"the unknown key {shown(key)}",
                expected=f"{slip}, or a fact of another name",
            )
            continue
        try:
            facts[key] = parse_fact(value, LINE_FACTS[key]) if key in LINE_FACTS else free_fact(value)
        except Unusable as misfit:
            faults.take(row.at(key), misfit)
    return facts


def _check_ids(rows: Sequence[Row[LineTable]], ground: Ground, faults: FaultList) -> None:
    seen: dict[str, Place] = {
        feature.id: Place(file=feature.source.file, line=feature.source.line)
        for feature in ground.features.values()
    }
    for row in rows:
        first = seen.setdefault(row.table.id, row.place)
        if first is not row.place:
            faults.add(
                row.at("id"),
                found=f"the id {shown(row.table.id)} a second time",
                expected="an id of its own",
                mend=f"the first is at {first.file}:{first.line}",
            )


def _check_tees(rows: Sequence[Row[LineTable]], tables: dict[str, LineTable], faults: FaultList) -> None:
    """A line tees off one that carries the same, and going back from tee to tee one comes to a well."""
    for row in rows:
        parent = tables.get(row.table.start)
        if parent is None:
            continue
        if parent.carries != row.table.carries:
            faults.add(
                row.at("from"),
                found=f"{shown(parent.id)}, which carries {parent.carries}",
                expected=f"a line that carries {row.table.carries}, or a well",
            )
        trail = [row.table.id]
        while trail[-1] in tables and tables[trail[-1]].start not in trail:
            trail.append(tables[trail[-1]].start)
        if trail[-1] in tables and tables[trail[-1]].start == row.table.id:
            faults.add(
                row.at("from"),
                found=f"a ring of lines ({' from '.join((*trail, row.table.id))})",
                expected="a line that starts from a well",
            )


def _check_one_well(lines: Sequence[Line], ground: Ground, faults: FaultList, *, all_read: bool) -> None:
    wells = {line.start: line for line in lines if line.start in {well.id for well in ground.of_kind("well")}}
    if len(wells) > 1:
        last = list(wells.values())[-1]
        faults.add(
            Place(file=last.source.file, line=last.source.line, where=f"[[line]] {last.id}"),
            found=f"lines from {len(wells)} wells ({listed(wells)})",
            expected="one well that all lines start from",
            mend="plan the other well in a folder of its own",
        )
    unresolved = any(
        line.start not in ground.features and line.start not in {each.id for each in lines} for line in lines
    )
    taps = {tapped.id for tapped in ground.of_kind("buried_line")} & {line.start for line in lines}
    if (
        lines
        and not wells
        and not taps
        and not unresolved
        and all_read
        and ground.whole
        and ground.of_kind("well")
    ):
        first = lines[0]
        faults.add(
            Place(file=first.source.file, line=first.source.line, where=f"[[line]] {first.id}"),
            found="no line that starts from a well",
            expected=f"one line from {listed(well.id for well in ground.of_kind('well'))}",
        )
