"""Rows written into ``shots.csv`` from the page: what stands there stays, what is typed again takes the place of its row."""

from __future__ import annotations

import csv
import tempfile
from collections.abc import Mapping, Sequence
from io import StringIO
from pathlib import Path

from siteplan.errors import Fault, InputFaults
from siteplan.read.shot_row import COLUMNS
from siteplan.read.shots import FILE, read_shots
from siteplan.site.site import Site

Row = Mapping[str, str]


def rows_of(text: str) -> list[dict[str, str]]:
    r"""Return the rows as they stand, by column.

    >>> rows_of("line,cover\nwater,56 in\n")
    [{'line': 'water', 'cover': '56 in'}]
    """
    table = csv.DictReader(StringIO(text.removeprefix("\ufeff"), newline=""))
    return [{key: value or "" for key, value in row.items() if key} for row in table]


def with_rows(text: str, rows: Sequence[tuple[int | None, Row]]) -> str:
    r"""Put rows into the file: each over the cells of the row with its number, counted from 0, or at the end.

    >>> print(with_rows("line,cover\nwater,56 in\n", [(0, {"cover": "57 in"}), (None, {"line": "power"})]))
    line,cover
    water,57 in
    power,
    <BLANKLINE>
    """
    stood = rows_of(text)
    for number, row in rows:
        if number is not None and 0 <= number < len(stood):
            stood[number] = {**stood[number], **row}
        else:
            stood.append(dict(row))
    header = next(csv.reader(StringIO(text.removeprefix("\ufeff"), newline="")), [])
    used = {name for row in stood for name, value in row.items() if value}
    columns = [*header, *(name for name in COLUMNS if name in used and name not in header)]
    written = StringIO(newline="")
    table = csv.DictWriter(written, columns, restval="", extrasaction="ignore", lineterminator="\n")
    table.writeheader()
    table.writerows(stood)
    return written.getvalue()


def checked_row(row: object) -> dict[str, str]:
    """Return a row that the page sent: known columns, plain text of one line.

    Raises
    ------
    InputFaults
        It is no such row.
    """
    if isinstance(row, dict) and row.keys() <= set(COLUMNS):
        texts = {key: value.strip() for key, value in row.items() if isinstance(value, str)}
        if len(texts) == len(row) and all(value.isprintable() for value in texts.values()):
            return texts
    expected = f"columns of shots.csv as text of one line: {', '.join(COLUMNS)}"
    raise InputFaults([Fault(file=FILE, found="another row", expected=expected)])


def check_shots(text: str, site: Site) -> None:
    """Read the file as ``record`` will; raise ``InputFaults`` with all that cannot be used."""
    with tempfile.TemporaryDirectory(prefix="siteplan-") as name:
        folder = Path(name)
        (folder / FILE).write_text(text, encoding="utf-8")
        read_shots(folder, site)
