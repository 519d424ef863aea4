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
    standing = _standing(above or ())
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
        if row.replaces and (unfit := _misplaced(row, own, standing, higher, is_alone=above is None)):
            yield row.id, ("replaces",), unfit
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


def _standing(above: tuple[Layer, ...]) -> dict[str, Row]:
    """Rows of the layers above that none of these layers replaces."""
    rows: dict[str, Row] = {}
    for layer in above:
        for placed in layer.rows:
            rows.pop(placed.row.replaces, None)
        rows |= {placed.row.id: placed.row for placed in layer.rows}
    return rows


def _misplaced(
    row: Row, own: dict[str, Row], standing: dict[str, Row], higher: dict[str, Row], *, is_alone: bool
) -> Unfit | None:
    """What is wrong with the id that a row replaces; of a file read by itself only what the file shows."""
    target = standing.get(row.replaces)
    expected = f"the id of a {row.table} row of a layer above"
    if target is not None and target.table == row.table:
        return None
    if row.replaces in own and row.replaces != row.id:
        found = f"{shown(row.replaces)}, a row of this same file"
        return Unfit(found=found, expected=expected, mend="take that row out instead")
    if is_alone:
        return None
    if row.replaces in higher and target is None:
        by = next(one.id for one in higher.values() if one.replaces == row.replaces)
        found = f"{shown(row.replaces)}, which {by} of a layer above replaces already"
        return Unfit(found=found, expected=expected, mend=f'did you mean "{by}"?')
    same = [one.id for one in standing.values() if one.table == row.table]
    return Unfit(found=shown(row.replaces), expected=expected, mend=nearest(row.replaces, same))


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
