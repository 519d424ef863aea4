"""One row of ``shots.csv`` to a ``Shot``: where it is said to be, and what was measured there."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, time
from typing import TypeVar

from siteplan.read import shot_cells
from siteplan.read.table import Row
from siteplan.read.words import (
    LONGEST_TEXT,
    FaultList,
    Place,
    Unusable,
    clean_text,
    listed,
    shown,
    suggestion,
)
from siteplan.site.catalogue import methods
from siteplan.site.evidence import Evidence
from siteplan.site.features import Source
from siteplan.site.record import Placing
from siteplan.site.site import Site
from siteplan.units import UnitFault, parse_length, parse_station

TIES = (("from_1", "tape_1"), ("from_2", "tape_2"), ("from_3", "tape_3"))
COLUMNS = (
    *("line", "what", "reach", "station", "offset", "longitude", "latitude", "x", "y"),
    *(column for tie in TIES for column in tie),
    *("side", "cover", "cover_error", "method", "error", "date", "time", "crew", "ticket"),
    *("material", "size", "tracer_ends", "photo", "note", "withdrawn"),
)
COVER_ERROR_M = 0.0254
"""Taped to a straight edge laid across the trench [m, one-sided at 95 %]: 1 in. Common practice, no source."""

T = TypeVar("T")


@dataclass(frozen=True, slots=True, kw_only=True)
class Shot:
    """A point measured on a built line, not yet placed.

    Attributes
    ----------
    id : str
        Made from the row: the same row has the same id.
    placing : str
        Which of the places below is given.
    reach : str
        ``""`` if the row names none.
    station_m, offset_m : float or None
        Along the reach, and off its centreline, left positive looking up-station [m]. Without an offset only the cover was
        measured.
    lonlat, xy : tuple of float or None
        Degrees; metres of the site's tape grid.
    ties : tuple of (str, float)
        Corner and tape [m], two or three.
    side : str
        On which side of the line from the first to the second corner it lies, of ``shot_cells.SIDES``; ``""``: not said.
    evidence : Evidence
        Of the position; for ties of one tape, for an offset of the offset alone.
    row : tuple of (str, str)
        As written, by column.
    withdrawn : str
        Why the row no longer counts; ``""``: it counts. It is no part of ``row`` and of the id, so that it marks a row of an
        earlier visit.
    """

    id: str
    line: str
    what: str
    placing: Placing
    reach: str
    station_m: float | None
    offset_m: float | None
    lonlat: tuple[float, float] | None
    xy: tuple[float, float] | None
    ties: tuple[tuple[str, float], ...]
    side: str
    evidence: Evidence
    cover_m: float | None
    cover_error_m: float
    day: date | None
    at: time | None
    crew: str
    ticket: str
    material: str
    size: str
    tracer: str
    photos: tuple[str, ...]
    note: str
    row: tuple[tuple[str, str], ...]
    withdrawn: str
    source: Source


def read_row(row: Row, site: Site, faults: FaultList) -> Shot | None:
    """Read one row; ``None``, with every fault of it noted, if it cannot be used."""
    before = len(faults)
    for name, text in row.cells.items():
        if len(text) > LONGEST_TEXT:
            place = Place(file=row.place.file, line=row.place.line, where=name)
            faults.add(place, found=f"a text of {len(text)} characters", expected=f"at most {LONGEST_TEXT}")
    if len(faults) > before:
        return None
    shot = _Cells(row, site, faults).shot()
    return shot if len(faults) == before else None


def row_id(row: tuple[tuple[str, str], ...]) -> str:
    """Id of a row: the same for the same cells, whatever the order of the columns, blanks and capitals.

    >>> row_id((("line", "water"), ("cover", "56 in"))) == row_id((("cover", "56  IN"), ("line", "water")))
    True
    """
    plain = sorted(f"{name}={' '.join(text.casefold().split())}" for name, text in row)
    return "shot-" + hashlib.sha256("\n".join(plain).encode()).hexdigest()[:12]


class _Cells:
    """The cells of one row; a fault in one leaves a stand-in, so that the others are looked at as well."""

    def __init__(self, row: Row, site: Site, faults: FaultList) -> None:
        self._row, self._site, self._faults = row, site, faults

    def shot(self) -> Shot:
        given = self._row.cells
        row = tuple((name, given[name]) for name in COLUMNS if name in given and name != "withdrawn")
        placing: Placing = self._read("line", self._placing, "station")
        day, crew = self._cell("date", shot_cells.day, None), self._text("crew")
        return Shot(
            id=row_id(row),
            line=self._line(),
            what=self._cell("what", shot_cells.what, ""),
            placing=placing,
            reach=self._text("reach"),
            station_m=self._cell("station", lambda text: parse_station(text, self._site.units), None),
            offset_m=self._cell("offset", shot_cells.offset_m, None),
            lonlat=self._pair("longitude", "latitude", shot_cells.degrees),
            xy=self._pair("x", "y", lambda text, _: parse_length(text, allow_negative=True)),
            ties=self._ties(),
            side=self._cell("side", shot_cells.side, ""),
            evidence=self._evidence(placing, f"shots {day or ''} {crew}".strip()),
            cover_m=self._cell("cover", shot_cells.cover_m, None),
            cover_error_m=self._cell("cover_error", shot_cells.error_m, COVER_ERROR_M),
            day=day,
            at=self._cell("time", shot_cells.time_of_day, None),
            crew=crew,
            ticket=self._text("ticket"),
            material=self._text("material"),
            size=self._text("size"),
            tracer=self._text("tracer_ends"),
            photos=self._cell("photo", shot_cells.photos, ()),
            note=self._cell("note", lambda text: clean_text(text, longest=LONGEST_TEXT), ""),
            row=row,
            withdrawn=self._text("withdrawn"),
            source=Source(file=self._row.place.file, line=self._row.place.line),
        )

    def _read(self, column: str, read: Callable[[], T], stand_in: T) -> T:
        try:
            return read()
        except UnitFault as error:
            misfit = Unusable(found=error.found, expected=error.expected)
        except Unusable as error:
            misfit = error
        place = Place(file=self._row.place.file, line=self._row.place.line, where=column)
        self._faults.take(place, misfit)
        return stand_in

    def _cell(self, column: str, read: Callable[[str], T], stand_in: T) -> T:
        text = self._row.cells.get(column)
        return stand_in if text is None else self._read(column, lambda: read(text), stand_in)

    def _text(self, column: str) -> str:
        return self._cell(column, clean_text, "")

    def _line(self) -> str:
        def read() -> str:
            text, known = self._row.cells.get("line"), [line.id for line in self._site.lines]
            if text not in known:
                found = shown(text) if text else "no line"
                raise Unusable(
                    found=found,
                    expected=f"a line of site.toml: {listed(known)}",
                    mend=suggestion(text or "", known),
                )
            return text

        return self._read("line", read, "")

    def _placing(self) -> Placing:
        cells = self._row.cells.keys()
        given = {
            "station": bool(cells & {"station"}),
            "lonlat": bool(cells & {"longitude", "latitude"}),
            "xy": bool(cells & {"x", "y"}),
            "ties": any(cells & set(tie) for tie in TIES),
        }
        ways = [name for name, there in given.items() if there]
        if len(ways) != 1:
            raise Unusable(
                found=f"{len(ways)} places" if ways else "no place",
                expected="one: a station, two or three tapes, longitude and latitude, or x and y",
            )
        if ways[0] == "xy" and self._site.grid_origin is None:
            raise Unusable(found="x and y", expected="longitude and latitude, as the site has no tape grid")
        if ways[0] != "station" and (other := cells & {"reach", "offset"}):
            raise Unusable(found=f"{listed(other)} without a station", expected="a station beside it")
        way = ways[0]
        if way == "station" and "offset" in cells:
            way = "offset"
        return way  # type: ignore[return-value]

    def _pair(self, first: str, second: str, read: Callable[[str, str], float]) -> tuple[float, float] | None:
        def one(column: str) -> float:
            text = self._row.cells.get(column)
            if text is None:
                raise Unusable(found=f"no {column}", expected=f"both {first} and {second}")
            return read(text, column)

        if not self._row.cells.keys() & {first, second}:
            return None
        return self._read(first, lambda: (one(first), one(second)), None)

    def _ties(self) -> tuple[tuple[str, float], ...]:
        found = []
        for corner_column, tape_column in TIES:
            corner, tape = (self._row.cells.get(name) for name in (corner_column, tape_column))
            if corner is None and tape is None:
                continue
            if corner is None or tape is None:
                missing = corner_column if corner is None else tape_column
                self._read(missing, lambda: _raise("nothing", "a corner and the tape to it"), None)
                continue
            found.append((corner, self._cell(tape_column, parse_length, 1.0)))
        corners = [" ".join(corner.casefold().split()) for corner, _ in found]
        if len(found) == 1:
            self._read(
                "from_2", lambda: _raise("one tape", "tapes from two or three corners, to cross"), None
            )
        if len(set(corners)) < len(corners):
            self._read("from_2", lambda: _raise("two tapes from one corner", "another corner for each"), None)
        return tuple(found)

    def _evidence(self, placing: Placing, outing: str) -> Evidence:
        def read() -> Evidence:
            method = self._row.cells.get("method", "taped")
            if "method" not in self._row.cells and placing == "lonlat":
                raise Unusable(
                    found="no method",
                    expected="how it was placed: a position without a method proves nothing",
                )
            if method not in methods():
                raise Unusable(
                    found=shown(method),
                    expected=f"one of {listed(methods())}",
                    mend=suggestion(method, methods()),
                )
            usual = methods()[method]
            private_m = self._cell("error", shot_cells.error_m, usual.private_m)
            if method == "stated" and "error" not in self._row.cells:
                raise Unusable(found="no error", expected='an error with its unit, such as "0.5 ft"')
            return Evidence(
                method=method,
                shared_m=usual.shared_m,
                private_m=private_m,
                outing=outing if usual.shared_m else None,
            )

        return self._read("method", read, Evidence(method="taped"))


def _raise(found: str, expected: str) -> None:
    raise Unusable(found=found, expected=expected)
