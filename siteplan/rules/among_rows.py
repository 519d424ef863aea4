"""What does not fit between the rows of a rules file and of the layers above it: ids that point at nothing."""

from __future__ import annotations

from collections.abc import Iterator

from siteplan.rules.faults import Unfit, nearest, shown
from siteplan.rules.rows import ConduitRow, MultiplierRow, Row, SetbackRow
from siteplan.rules.setback_rows import kinds_named
from siteplan.rules.stack import Layer, Placed


def among_rows(
    rows: list[Placed[Row]], above: tuple[Layer, ...] | None
) -> Iterator[tuple[str, tuple[str, ...], Unfit]]:
    """What does not fit between rows: ids of layers above, replaced rows, relieved rows."""
    higher = {placed.row.id: placed.row for layer in above or () for placed in layer.rows}
    own = {placed.row.id: placed.row for placed in rows}
    for row in own.values():
        if row.id in higher and row.replaces != row.id:
            yield (
                row.id,
                ("id",),
                Unfit(
                    found=f'"{row.id}", which a layer above has too',
                    expected="an id of its own",
                    mend=f'to replace that row, add replaces = "{row.id}" and a reason',
                ),
            )
        if row.replaces and above is not None:
            target = higher.get(row.replaces)
            if target is None or target.table != row.table:
                same = [one.id for one in higher.values() if one.table == row.table]
                yield (
                    row.id,
                    ("replaces",),
                    Unfit(
                        found=shown(row.replaces),
                        expected=f"the id of a {row.table} row of a layer above",
                        mend=nearest(row.replaces, same),
                    ),
                )
        if isinstance(row, ConduitRow) and row.instead_of:
            relieved = own.get(row.instead_of)
            if not isinstance(relieved, ConduitRow) or relieved.surface != row.surface or relieved.instead_of:
                yield (
                    row.id,
                    ("instead_of",),
                    Unfit(
                        found=shown(row.instead_of),
                        expected="a conduit_cover row of this file for the same surface, without conditions",
                        mend=nearest(row.instead_of, own),
                    ),
                )
        if isinstance(row, MultiplierRow):
            yield from _multiplied(row, own)


def _multiplied(row: MultiplierRow, own: dict[str, Row]) -> Iterator[tuple[str, tuple[str, ...], Unfit]]:
    setbacks = {one.id: one for one in own.values() if isinstance(one, SetbackRow)}
    for name in row.rows:
        target = setbacks.get(name)
        if target is None:
            unfit = Unfit(
                found=shown(name),
                expected="ids of setback rows of this file",
                mend=nearest(name, setbacks),
            )
            yield row.id, ("rows",), unfit
        elif target.from_ != row.from_ or not set(kinds_named(target.to)) & set(kinds_named(row.to)):
            unfit = Unfit(
                found=f"{shown(name)}, which speaks of other pairs",
                expected="rows with the same from, and a kind in common",
            )
            yield row.id, ("rows",), unfit
    if not row.rows and not any(
        one.from_ == row.from_ and set(kinds_named(one.to)) & set(kinds_named(row.to))
        for one in setbacks.values()
    ):
        unfit = Unfit(
            found="a multiplier of no row",
            expected="a setback row of this file with the same from and a kind of to",
        )
        yield row.id, ("to",), unfit
