"""Tables of survey points: CSV with one row a position.

Columns: id, kind, ``x`` and ``y`` or ``longitude`` and ``latitude``; where wanted name, status, shape (point, line or
area: rows of one id follow each other), method, error, edge, outing, elevation, and facts of the kind. A table of ground
heights alone (``levels.csv``) needs the two coordinates and an elevation.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from functools import lru_cache
from typing import Literal

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from siteplan.read import shapes
from siteplan.read.facts import parse_number
from siteplan.read.record import Contents, Record, Spot, identified, stated
from siteplan.read.table import Row, read_table
from siteplan.read.words import FaultList, Place, Unusable, shown, suggestion
from siteplan.site.catalogue import kinds
from siteplan.units import UnitFault, coordinate_unit_m, parse_length

_AXES: dict[Literal["lonlat", "xy"], tuple[str, str]] = {
    "lonlat": ("longitude", "latitude"),
    "xy": ("x", "y"),
}
_ELEVATIONS = {"elevation": None, "elevation_m": "m", "elevation_ft": "ft"}
_LOWEST_M, _HIGHEST_M = -500.0, 9000.0


def read_points_csv(
    text: str, file: str, stem: str, faults: FaultList, columns: Mapping[str, str], kind: str | None
) -> Contents | None:
    """Read a table of points; ``columns`` gives the file's name for ours, ``kind`` what a row without one is."""
    table = _table(text, file, columns, faults)
    if table is None:
        return None
    axes, rows = table
    records = [
        _record(group, axes, stem, number, kind, faults)
        for number, group in enumerate(_grouped(rows), start=1)
    ]
    return Contents(axes=axes, records=tuple(records), spots=tuple(_spots(rows, axes, faults)))


def read_levels_csv(text: str, file: str, faults: FaultList, columns: Mapping[str, str]) -> Contents | None:
    """Read a table of ground heights."""
    contents, found = _levels(text, file, tuple(columns.items()))
    faults.join(found)
    return contents


@lru_cache(maxsize=8)
def _levels(text: str, file: str, named: tuple[tuple[str, str], ...]) -> tuple[Contents | None, FaultList]:
    """A table of ground heights, and what is wrong with it; the same text is read once."""
    faults = FaultList()
    table = _table(text, file, dict(named), faults)
    if table is None:
        return None, faults
    axes, rows = table
    for row in rows:
        if not row.cells.keys() & _ELEVATIONS.keys():
            faults.add(
                row.place,
                found="no elevation",
                expected="a ground height",
                mend="fill it in or take the row out",
            )
    return Contents(axes=axes, spots=tuple(_spots(rows, axes, faults))), faults


def _table(
    text: str, file: str, columns: Mapping[str, str], faults: FaultList
) -> tuple[Literal["lonlat", "xy"], tuple[Row, ...]] | None:
    table = read_table(text, file, faults, columns)
    if table is None:
        return None
    try:
        return _axes(table.header), table.rows
    except Unusable as misfit:
        faults.take(Place(file=file, line=1), misfit)
        return None


def _axes(header: Sequence[str]) -> Literal["lonlat", "xy"]:
    for axes, (first, second) in _AXES.items():
        if first in header and second in header:
            return axes
    near = suggestion("longitude", header) or suggestion("latitude", header)
    raise Unusable(
        found=f"the columns {shown(', '.join(header))}",
        expected="columns x and y, or longitude and latitude, with commas between them",
        mend=near or "rename them, or name them in a [[file]] table: columns = { x = ... }",
    )


def _grouped(rows: Sequence[Row]) -> Iterator[list[Row]]:
    """Rows of one thing: those that follow each other with one id."""
    group: list[Row] = []
    for row in rows:
        if group and not (row.cells.get("id") and row.cells.get("id") == group[0].cells.get("id")):
            yield group
            group = []
        group.append(row)
    if group:
        yield group


def _record(
    rows: Sequence[Row],
    axes: Literal["lonlat", "xy"],
    stem: str,
    number: int,
    kind: str | None,
    faults: FaultList,
) -> Record:
    first = rows[0]
    properties: dict[str, object] = stated(first.cells)
    place, own = identified(first.place, stem, number, properties, None)
    for name in (*_AXES[axes], *_ELEVATIONS, "shape"):
        properties.pop(name, None)
    shape = None
    try:
        _check_same(rows, axes)
        positions = [_position(row, axes) for row in rows]
        form = _form(first.cells.get("shape"), len(rows), first.cells.get("kind", kind))
        shape = shapes.check_shape(_shape(form, positions))
    except Unusable as misfit:
        faults.take(place, misfit)
    return Record(place=place, id=own, properties=properties, shape=shape)


def _check_same(rows: Sequence[Row], axes: Literal["lonlat", "xy"]) -> None:
    for row in rows[1:]:
        for name, value in row.cells.items():
            if name not in (*_AXES[axes], *_ELEVATIONS) and value != rows[0].cells.get(name):
                raise Unusable(
                    found=f"{name} {shown(value)} on line {row.place.line}",
                    expected=f"what line {rows[0].place.line} says, as both have one id",
                    mend="leave it blank after the first row, or give the row its own id",
                )


def _form(stated_form: str | None, rows: int, kind: str | None) -> str:
    if stated_form is not None:
        return stated_form
    known = kinds().get(kind or "")
    if known is not None and len(known.shapes) == 1:
        return known.shapes[0]
    if rows == 1:
        return "point"
    raise Unusable(
        found=f"{rows} rows with one id and no shape",
        expected="shape line or area",
        mend="add a column shape",
    )


def _shape(form: str, positions: list[tuple[float, float]]) -> BaseGeometry:
    if form == "point" and len(positions) == 1:
        return shapes.point(positions[0])
    if form == "line":
        return shapes.line(positions)
    if form == "area":
        return shapes.area([positions], close=True)
    if form == "point":
        raise Unusable(
            found=f"{len(positions)} rows for one point", expected="each id once", mend="give each its own id"
        )
    raise Unusable(found=f"shape {shown(form)}", expected="point, line or area")


def _position(row: Row, axes: Literal["lonlat", "xy"]) -> tuple[float, float]:
    first, second = (_coordinate(row, name) for name in _AXES[axes])
    return first, second


def _coordinate(row: Row, name: str) -> float:
    value = row.cells.get(name)
    if value is None:
        raise Unusable(found=f"no {name} on line {row.place.line}", expected="a number")
    if "," in value and re.search(r"\d,\d", value):
        raise Unusable(found=f"{name} {shown(value)}", expected="a number with a decimal point and no commas")
    try:
        return parse_number(value)
    except Unusable as misfit:
        raise Unusable(found=f"{name} {misfit.found}", expected=misfit.expected) from misfit


def _spots(rows: Sequence[Row], axes: Literal["lonlat", "xy"], faults: FaultList) -> Iterator[Spot]:
    found: list[tuple[Place, tuple[float, float], float]] = []
    for row in rows:
        for name in _ELEVATIONS.keys() & row.cells.keys():
            place = Place(file=row.place.file, line=row.place.line, where=row.cells.get("id", ""))
            try:
                found.append((place, _position(row, axes), _elevation(name, row.cells[name])))
            except Unusable as misfit:
                faults.take(place, misfit)
    points = shapely.points(np.reshape([position for _, position, _ in found], (-1, 2)))
    for (place, _, elevation_m), point in zip(found, points, strict=True):
        yield Spot(place=place, point=point, elevation_m=elevation_m)


def _elevation(column: str, value: str) -> float:
    unit = _ELEVATIONS[column]
    try:
        metres = (
            parse_number(value) * coordinate_unit_m(unit)
            if unit
            else parse_length(value, allow_negative=True)
        )
    except UnitFault as error:
        raise Unusable(
            found=f"elevation {error.found}",
            expected=error.expected,
            mend="or name the column elevation_ft or elevation_m",
        ) from error
    if not _LOWEST_M <= metres <= _HIGHEST_M:
        raise Unusable(found=f"elevation {shown(value)}", expected="a height on the earth's surface")
    return metres
