"""Site overrides: numbers of a row replaced for one site, checked like the row itself, with the reason that prints."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any

from pydantic import ValidationError

from siteplan.errors import Fault, InputFaults
from siteplan.rules.faults import Unfit, misfit, nearest, shown
from siteplan.rules.rows import ConduitRow, CoverRow, Form, Row, SetbackRow
from siteplan.rules.stack import Placed, Stack
from siteplan.site.site import Override

_SOURCE = (
    "id",
    "citation",
    "edition",
    "url",
    "read",
    "status",
    "note",
    "replaces",
    "reason",
    "when",
    "group",
    "from",
    "to",
    "interpolate",
    "scale",
    "defers_to",
    "measured",
    "sum_of",
    "default",
    "rows",
)
"""Keys that say which row it is, where it comes from and what it speaks of: no site can change those."""
_OTHER_NUMBERS = ("interpolate", "scale", "defers_to", "prohibit", "approvable_to", "approval")
"""Keys that give way to the distance that a site states."""


def overridden(stack: Stack, overrides: tuple[Override, ...]) -> Stack:
    """Return the stack with the overrides of one site in force.

    Parameters
    ----------
    stack : Stack
        Layers as read.
    overrides : tuple of Override
        Of one site; the values are those of the row's own keys. A cover row takes ``fixed``, ``frost_plus``, ``floor``,
        ``least`` and ``most``, a conduit row the names of wiring methods.

    Raises
    ------
    InputFaults
        No such row (the nearest id is offered), no such key, a value that does not fit, or no reason.
    """
    if not overrides:
        return stack
    rows = {placed.row.id: placed for placed in stack.rows}
    faults: list[Fault] = []
    for override in overrides:
        faults += [_fault(override, unfit) for unfit in _problems(override, rows)]
        if override.row in rows:
            try:
                rows[override.row] = _changed(rows[override.row], override)
            except ValidationError as error:
                row_type = type(rows[override.row].row)
                faults += [
                    _fault(override, misfit(detail, row_type)) for detail in error.errors(include_url=False)
                ]
    if faults:
        raise InputFaults(faults)
    return replace(stack, rows=tuple(rows.values()))


def _problems(override: Override, rows: Mapping[str, Placed[Row]]) -> Iterator[Unfit]:
    if not override.reason.strip():
        yield Unfit(found="no reason", expected="why the number differs on this site, in words")
    if override.row not in rows:
        expected = "the id of a row of the rules of this site"
        yield Unfit(found=shown(override.row), expected=expected, mend=nearest(override.row, rows))
        return
    if not override.values:
        yield Unfit(found="no number", expected="a key of the row with its new value")
    known = changeable_keys(rows[override.row].row)
    for key in override.values:
        if key not in known:
            yield Unfit(
                found=f'the unknown key "{key}"',
                expected=f"one of {', '.join(known)}",
                mend=nearest(key, known),
            )


def _fault(override: Override, unfit: Unfit) -> Fault:
    return Fault(
        file=override.source.file,
        line=override.source.line,
        where=f"override of {override.row}",
        found=unfit.found,
        expected=unfit.expected,
        mend=unfit.mend,
    )


def changeable_keys(row: Row) -> list[str]:
    """Keys of a row that a site may change."""
    if isinstance(row, CoverRow):
        return list(Form.model_fields)
    if isinstance(row, ConduitRow):
        return list(row.cover)
    return [field.alias or name for name, field in type(row).model_fields.items() if name not in _SOURCE]


def _changed(placed: Placed[Row], override: Override) -> Placed[Row]:
    values: dict[str, Any] = {
        key: value for key, value in override.values.items() if key in changeable_keys(placed.row)
    }
    if isinstance(placed.row, CoverRow):
        values = {"form": values or placed.raw["form"]}
    elif isinstance(placed.row, ConduitRow):
        values = {"cover": {**placed.raw["cover"], **values}}
    raw = {**placed.raw, **values}
    if "distance" in values and isinstance(placed.row, SetbackRow):
        raw = {key: value for key, value in raw.items() if key in values or key not in _OTHER_NUMBERS}
    row = type(placed.row).model_validate(raw)
    formula = placed.formula if "distance" not in values else None
    return replace(placed, row=row, formula=formula, raw=raw, layer="site", override=override.reason)
