"""``ties.csv``: the site as a tape and a compass gave it.

One row a measurement of ``point`` from a corner (``from``). What was measured shows in which columns are filled:

- ``distance``: a tie, or a wall from corner to corner; with ``turn`` left or right the wall leaves the one before it square;
- ``distance`` with ``bearing`` (and ``declination``), or the bearing alone;
- ``to``, ``along`` and ``offset`` ("12 ft left"): along the baseline from ``from`` towards ``to``, and off it.

``side`` (left or right, looking from ``from`` to ``to``) answers which of two places is meant. ``rise`` reduces a slope tape:
what the ground rises between its ends, or percent. ``error``, ``bearing_error``, ``method``, ``outing`` and ``note`` as wanted.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from math import hypot, sqrt
from pathlib import Path
from typing import TypeVar, cast

from siteplan.read.bearings import parse_bearing_deg, parse_declination_deg
from siteplan.read.folder import TIES, read_text
from siteplan.read.site_fields import known
from siteplan.read.table import Row, check_columns, read_table
from siteplan.read.words import LONGEST_TEXT, FaultList, Place, Unusable, clean_text, shown
from siteplan.site.catalogue import methods
from siteplan.site.features import Source
from siteplan.site.field_notes import Hand, Measurement
from siteplan.units import UnitFault, parse_angle_deg, parse_ground, parse_length

COLUMNS = (
    *("point", "from", "to", "distance", "rise", "turn", "along", "offset", "bearing", "declination"),
    *("side", "error", "bearing_error", "method", "outing", "note"),
)
COMPASS_ERROR_DEG = 2.0
"""What a bearing by hand compass may be out by [deg], 95 %. Common practice, no source."""

LONGEST_M = 300.0
"""Longest tape that is believed [m], about 1000 ft: longer is mostly a slip of the pen (own choice)."""

_MOST_PERCENT = 100.0
_NEEDS = {
    "along": ("to", "offset"),
    "offset": ("to", "along"),
    "bearing": ("declination",),
    "bearing_error": ("bearing",),
    "declination": ("bearing",),
    "turn": ("distance",),
    "rise": ("distance",),
    "side": ("to",),
}
"""Columns that must be filled where another one is."""

Value = TypeVar("Value")


def read_ties(folder: Path, faults: FaultList) -> tuple[Measurement, ...]:
    """Read ``ties.csv`` of a site folder; nothing if there is none. Faults go into the list."""
    path = next((path for path in sorted(folder.iterdir()) if path.name.lower() == TIES), None)
    text = None if path is None else read_text(path, faults)
    return () if path is None or text is None else parse_ties(text, path.name, faults)


def parse_ties(text: str, file: str, faults: FaultList) -> tuple[Measurement, ...]:
    """Read the text of such a file. Faults go into the list."""
    table = read_table(text, file, faults)
    if table is None or not check_columns(table, COLUMNS, file, faults):
        return ()
    read = [row for each in table.rows if (row := _Row(each, faults).read()) is not None]
    return tuple(_with_walls_before(read, faults))


class _Row:
    """Reads one row; notes what cannot be understood."""

    def __init__(self, row: Row, faults: FaultList) -> None:
        self._row, self._cells, self._faults = row, row.cells, faults

    def read(self) -> Measurement | None:
        before = len(self._faults)
        self._check_whole()
        method = self._get("method", lambda text: known(text, "a method of layers/methods.toml", methods()))
        error_m = self._get("error", _error)
        offset_m = self._get("offset", _offset)
        made = Measurement(
            point=self._get("point", clean_text) or "",
            start=self._get("from", clean_text) or "",
            towards=self._get("to", clean_text),
            distance_m=self._level_m(),
            reduced="rise" in self._cells,
            along_m=self._get("along", parse_length),
            offset_m=offset_m,
            bearing_deg=self._bearing_deg(),
            turn=self._get("turn", _hand),
            side=self._get("side", _hand),
            error_m=methods()[method or "taped"].private_m if error_m is None else error_m,
            bearing_error_deg=self._get("bearing_error", _angle_error) or COMPASS_ERROR_DEG,
            method=method or "taped",
            outing=self._get("outing", clean_text),
            note=self._get("note", lambda text: clean_text(text, longest=LONGEST_TEXT)) or "",
            source=Source(file=self._row.place.file, line=self._row.place.line),
        )
        if len(self._faults) == before:
            self._check_sense(made)
        return made if len(self._faults) == before else None

    def _get(self, name: str, read: Callable[[str], Value]) -> Value | None:
        if name not in self._cells:
            return None
        try:
            return read(self._cells[name])
        except (Unusable, UnitFault) as misfit:
            self._note(name, misfit.found, misfit.expected, getattr(misfit, "mend", ""))
            return None

    def _note(self, name: str, found: str, expected: str, mend: str = "") -> None:
        self._faults.add(replace(self._row.place, where=name), found=found, expected=expected, mend=mend)

    def _check_whole(self) -> None:
        """Note columns that are wanted and empty, or filled and of no use."""
        cells = self._cells
        for name in ("point", "from"):
            if name not in cells:
                self._note(name, "nothing", "the name of a point or corner")
        if not cells.keys() & {"distance", "bearing", "along", "offset"}:
            self._note("", "no measurement", "a distance, a bearing, or along and offset")
        for name, needed in _NEEDS.items():
            for missing in (each for each in needed if name in cells and each not in cells):
                hint = '"0" if the bearing is from true north' if missing == "declination" else ""
                self._note(missing, "nothing", f"a value, as the row has {name}", hint)
        offset = "along" in cells or "offset" in cells
        if offset and cells.keys() & {"distance", "bearing", "turn", "side"}:
            self._note("offset", "an offset beside another measurement", "a row for each")
        if "turn" in cells and "bearing" in cells:
            self._note("turn", "a turn beside a bearing", "a row for each")
        if "to" in cells and not offset and "side" not in cells:
            self._note("side", "nothing", "left or right, as the row has a to", "or leave to empty")

    def _check_sense(self, made: Measurement) -> None:
        names = [name for name in (made.point, made.start, made.towards) if name]
        if len({name.casefold() for name in names}) < len(names):
            self._note("", f"{shown(names)}", "different points")
        if made.distance_m is not None and made.error_m >= made.distance_m:
            self._note("error", "an error as long as the tape", "a small part of it")

    def _level_m(self) -> float | None:
        taped_m = self._get("distance", _tape)
        if taped_m is None or "rise" not in self._cells:
            return taped_m
        return self._get("rise", lambda text: level_m(taped_m, text))

    def _bearing_deg(self) -> float | None:
        bearing_deg = self._get("bearing", parse_bearing_deg)
        declination_deg = self._get("declination", parse_declination_deg)
        return None if bearing_deg is None else (bearing_deg + (declination_deg or 0.0)) % 360


def level_m(taped_m: float, rise: str) -> float:
    """Reduce a tape laid on a slope to the level.

    Parameters
    ----------
    taped_m : float
        Along the slope [m].
    rise : str
        What one end is higher than the other ("9 ft"), or the slope in percent ("20 %").

    Raises
    ------
    Unusable, UnitFault
        No rise, or more than the tape can reach.

    Examples
    --------
    >>> round(level_m(50.0, "20 %"), 2), level_m(5.0, "3 m")
    (49.03, 4.0)
    """
    if rise.strip().endswith("%"):
        percent = parse_ground(rise, "slope")
        if percent > _MOST_PERCENT:
            raise Unusable(found=f"a slope of {percent:g} %", expected=f"at most {_MOST_PERCENT:g} %")
        return taped_m / hypot(1.0, percent / 100)
    rise_m = parse_length(rise)
    if rise_m >= taped_m / sqrt(2):
        raise Unusable(
            found=f"a rise of {shown(rise)}",
            expected="less than seven tenths of the tape along it",
            mend="is one of them in another unit?",
        )
    return sqrt(taped_m**2 - rise_m**2)


def _with_walls_before(rows: Sequence[Measurement], faults: FaultList) -> Iterator[Measurement]:
    """Tell each square wall from which wall it turns off: the nearest before it that ends where it begins."""
    for number, row in enumerate(rows):
        if row.turn is None:
            yield row
            continue
        earlier = (
            each
            for each in reversed(rows[:number])
            if each.point.casefold() == row.start.casefold() and each.along_m is None
        )
        wall = next(earlier, None)
        if wall is None or wall.start.casefold() == row.point.casefold():
            faults.add(
                _place(row),
                found=f"a turn at {row.start} without a wall before it",
                expected=f"a row above whose point is {row.start}",
                mend="write the walls down in the order in which you walked round",
            )
        else:
            yield replace(row, before=wall.start)


def _place(row: Measurement) -> Place:
    return Place(file=row.source.file, line=row.source.line, where="turn")


def _tape(text: str) -> float:
    length_m = parse_length(text)
    if length_m == 0:
        raise Unusable(found=shown(text), expected="a length above zero")
    if length_m > LONGEST_M:
        raise Unusable(
            found=shown(text),
            expected=f"at most {LONGEST_M:g} m (about 1000 ft)",
            mend="is the unit right?",
        )
    return length_m


def _error(text: str) -> float:
    error_m = parse_length(text)
    if error_m == 0:
        raise Unusable(found=shown(text), expected="an error above zero, as nothing is measured without one")
    return error_m


def _angle_error(text: str) -> float:
    error_deg = parse_angle_deg(text)
    if not 0 < error_deg <= 45:
        raise Unusable(found=shown(text), expected="an error above zero, up to 45 deg")
    return error_deg


def _offset(text: str) -> float:
    """Left is positive, right negative; zero needs no side."""
    *length, last = text.split()
    if last in ("left", "right") and length:
        return parse_length(" ".join(length)) * (1 if last == "left" else -1)
    if parse_length(text) != 0:
        raise Unusable(found=f"{shown(text)} without a side", expected='an offset such as "12 ft left"')
    return 0.0


def _hand(text: str) -> Hand:
    if text not in ("left", "right"):
        raise Unusable(found=shown(text), expected="left or right")
    return cast("Hand", text)
