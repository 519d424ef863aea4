"""Tables with commas between the values: a first line of names, then one row a line, each with its place in the file."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from io import StringIO

from siteplan.read.words import FaultList, Place, Unusable, listed, suggestion


@dataclass(frozen=True, slots=True)
class Row:
    """One row: its cells by the name of their column, blanks at the ends taken off, empty ones left out."""

    place: Place
    cells: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Table:
    """Names of the columns in order, and all rows that are not blank."""

    header: tuple[str, ...]
    rows: tuple[Row, ...]


def read_table(
    text: str, file: str, faults: FaultList, columns: Mapping[str, str] | None = None
) -> Table | None:
    """Read a table.

    Parameters
    ----------
    columns : mapping, optional
        The file's name of a column for ours.

    Returns
    -------
    Table or None
        None if it is none; what is wrong is noted with its line.
    """
    ours = {theirs: own for own, theirs in (columns or {}).items()}
    reader = csv.reader(StringIO(text, newline=""), strict=True)
    rows: list[Row] = []
    header: list[str] = []
    line, ragged = 0, False
    try:
        for cells in reader:
            line, begun = reader.line_num, line + 1
            place = Place(file=file, line=begun)
            if not any(cell.strip() for cell in cells):
                continue
            if not header:
                header = [ours.get(cell.strip(), cell.strip()) for cell in cells]
                _check_once(header)
            elif len(cells) > len(header):
                ragged = True
                faults.add(
                    place,
                    found=f"{len(cells)} values",
                    expected=f"{len(header)}, as the first line has names",
                    mend="put texts with commas in quotes",
                )
            else:
                named = {
                    name: cell.strip() for name, cell in zip(header, cells, strict=False) if cell.strip()
                }
                rows.append(Row(place, named))
    except csv.Error as error:
        faults.add(
            Place(file=file, line=line + 1),
            found=f"no table ({error})",
            expected="values with commas between them",
        )
        return None
    except Unusable as misfit:
        faults.take(place, misfit)
        return None
    if not header:
        faults.add(
            Place(file=file), found="an empty file", expected="a first line with the names of the columns"
        )
        return None
    return None if ragged else Table(tuple(header), tuple(rows))


def check_columns(table: Table, known: Iterable[str], file: str, faults: FaultList) -> bool:
    """Note every column that is not one of those known; tell whether there was none."""
    known = tuple(known)
    strange = [name for name in table.header if name not in known]
    for name in strange:
        faults.add(
            Place(file=file, line=1),
            found=f'the column "{name}"' if name else "a column without a name",
            expected=f"columns among {listed(known)}",
            mend=suggestion(name, known),
        )
    return not strange


def _check_once(header: list[str]) -> None:
    twice = {name for name in header if name and header.count(name) > 1}
    if twice:
        raise Unusable(found=f"two columns named {listed(twice)}", expected="one of each")
