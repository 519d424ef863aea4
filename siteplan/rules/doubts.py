"""What a rules file may say but can hardly mean: rows that contradict each other, an edition later than the day of reading."""

from __future__ import annotations

import re
import tomllib
from collections import Counter
from collections.abc import Iterable, Iterator

from siteplan.errors import Fault
from siteplan.rules.faults import Places, Unfit
from siteplan.rules.rows import Row, SetbackRow
from siteplan.rules.setback_rows import kinds_named
from siteplan.rules.stack import Layer, Placed

_YEAR = re.compile(r"\b(?:19|20)\d{2}\b")


def doubts(layer: Layer, text: str) -> list[Fault]:
    """Name what is doubtful in a layer that loads, with the lines of its file.

    Parameters
    ----------
    layer : Layer
        As read.
    text : str
        The file that it was read from.
    """
    places = Places(layer.file, text, tomllib.loads(text))
    where: dict[str, tuple[str, int]] = {}
    count: Counter[str] = Counter()
    for placed in layer.rows:
        where[placed.row.id] = (placed.row.table, count[placed.row.table])
        count[placed.row.table] += 1
    found = [*_read_too_early(layer.rows), *_contradictions(layer.rows)]
    return [places.fault((*where[row.id], key), unfit) for row, key, unfit in found]


def _read_too_early(rows: Iterable[Placed[Row]]) -> Iterator[tuple[Row, str, Unfit]]:
    for placed in rows:
        row = placed.row
        years = [int(year) for year in _YEAR.findall(row.edition)]
        if row.read is not None and years and row.read.year < min(years):
            found = f"read in {row.read.year}, before its edition ({row.edition})"
            yield row, "read", Unfit(found=found, expected="an edition that was there to be read")


def _contradictions(rows: Iterable[Placed[Row]]) -> Iterator[tuple[Row, str, Unfit]]:
    """Rows of one citation, pair, force and conditions that give two numbers, and are no alternatives of one group.

    Two sections of law may well ask two distances of one pair: both hold then, and the larger governs.
    """
    first: dict[tuple[object, ...], tuple[SetbackRow, float]] = {}
    for placed in rows:
        row = placed.row
        if not isinstance(row, SetbackRow) or row.distance is None:
            continue
        metres = round(row.distance.metres, 6)
        same = (
            *(row.citation, row.from_, frozenset(placed.when), row.force, row.default, row.measured),
            *(row.from_point, row.to_edge, frozenset(row.statuses), repr(row.sum_of)),
        )
        for kind in kinds_named(row.to):
            other, said = first.setdefault((kind, *same), (row, metres))
            if said != metres and not (row.group and row.group == other.group):
                found = f"{row.distance} to {kind}, where {other.id} says {other.distance} for the same"
                expected = "one number, or conditions that tell the rows apart"
                yield row, "distance", Unfit(found=found, expected=expected)
                break
