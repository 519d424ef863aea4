"""``shots.csv``: what was measured in the open trench, before backfill. One row a point, in any order.

The place is given in one of four ways: ``station`` (and ``offset``, ``reach``); two or three tapes ``from_1``, ``tape_1`` ...
from the corners that the route sheet names (and ``side``); ``longitude`` and ``latitude``; ``x`` and ``y`` of the site's tape
grid. All columns: ``siteplan.read.shot_row.COLUMNS``. Every length has its unit.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, time
from pathlib import Path

from siteplan.errors import Fault, InputFaults
from siteplan.read.folder import MOST_FEATURES, read_text
from siteplan.read.shot_row import COLUMNS, Shot, read_row
from siteplan.read.table import check_columns, read_table
from siteplan.read.words import FaultList, Place
from siteplan.site.site import Site

FILE = "shots.csv"


@dataclass(frozen=True, slots=True)
class Shots:
    """Rows of ``shots.csv`` in order, each once, and what to look at again."""

    shots: tuple[Shot, ...]
    warnings: tuple[str, ...] = ()


def read_shots(folder: Path, site: Site) -> Shots:
    """Read ``shots.csv`` of a site folder.

    Parameters
    ----------
    site : Site
        As read or in ground metres: its lines, its units and whether it has a tape grid are asked.

    Raises
    ------
    InputFaults
        Everything in every row that cannot be used.
    """
    faults = FaultList()
    if not (folder / FILE).exists():
        raise InputFaults(
            [
                Fault(
                    file=FILE,
                    found="no such file",
                    expected="one row a measured point: line, what, station, offset, cover",
                    mend="measure in the open trench and write it there",
                )
            ]
        )
    text = read_text(folder / FILE, faults)
    table = None if text is None else read_table(text, FILE, faults)
    if table is None or not check_columns(table, COLUMNS, FILE, faults):
        raise faults.error()
    if not 0 < len(table.rows) <= MOST_FEATURES:
        faults.add(
            Place(file=FILE),
            found=f"{len(table.rows) or 'no'} rows",
            expected=f"one row a measured point, at most {MOST_FEATURES}",
        )
        raise faults.error()
    shots = [shot for row in table.rows if (shot := read_row(row, site, faults)) is not None]
    if len(faults):
        raise faults.error()
    first: dict[str, Shot] = {}
    for shot in shots:
        first.setdefault(shot.id, shot)
    once = tuple(first.values())
    return Shots(once, (*_photos_missing(once, folder), *_out_of_order(once)))


def _photos_missing(shots: Iterable[Shot], folder: Path) -> Iterator[str]:
    for shot in shots:
        for name in shot.photos:
            path = folder / name
            if not path.resolve().is_relative_to(folder.resolve()) or not path.is_file():
                yield f"{FILE}:{shot.source.line}: the photo {name} is not in the folder of the site"


def _out_of_order(shots: Iterable[Shot]) -> Iterator[str]:
    last: dict[tuple[date, str], tuple[time, int | None]] = {}
    for shot in shots:
        if shot.day is None or shot.at is None:
            continue
        before = last.get((shot.day, shot.crew))
        if before is not None and shot.at < before[0]:
            later = f"{before[0]:%H:%M} of line {before[1]}"
            yield f"{FILE}:{shot.source.line}: {shot.at:%H:%M} stands after {later}, same day and crew"
        last[shot.day, shot.crew] = (shot.at, shot.source.line)
