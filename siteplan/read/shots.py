"""``shots.csv``: what was measured in the open trench, before backfill.

Columns: ``line``, then either ``station`` (and ``offset``, ``reach``) or ``longitude`` and ``latitude``; ``cover``, ``method``,
``error``, ``date``, ``crew``, ``photo``, ``note``. One row a point, in any order.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from siteplan.errors import Fault, InputFaults
from siteplan.site.catalogue import methods
from siteplan.site.evidence import Evidence
from siteplan.site.features import Source
from siteplan.site.site import Site
from siteplan.units import UnitFault, parse_length, parse_station

FILE = "shots.csv"
COLUMNS = (
    *("line", "reach", "station", "offset", "longitude", "latitude", "cover"),
    *("method", "error", "date", "crew", "photo", "note"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Shot:
    """One point measured on a built line.

    Attributes
    ----------
    station_m, offset_m : float or None
        Along the planned reach, and to its left looking up-station [m]; ``None`` if the place is given in degrees.
    lonlat : tuple of float or None
    cover_m : float or None
        Taped cover, ground to top of line [m].
    """

    line: str
    reach: str
    station_m: float | None
    offset_m: float
    lonlat: tuple[float, float] | None
    cover_m: float | None
    evidence: Evidence
    date: date | None
    crew: str
    photo: str
    note: str
    source: Source


def read_shots(folder: Path, site: Site) -> tuple[Shot, ...]:
    """Read ``shots.csv`` of a site folder.

    Raises
    ------
    InputFaults
        Every row that cannot be used.
    """
    path = folder / FILE
    try:
        text = path.read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        wanted = "one row a measured point: line, station, offset, cover (or longitude, latitude)"
        raise InputFaults([Fault(file=FILE, found="no such file", expected=wanted)]) from None
    except (OSError, UnicodeDecodeError) as error:
        raise InputFaults([Fault(file=FILE, found=str(error), expected="a UTF-8 text file")]) from None
    reader = csv.DictReader(text.splitlines(), restval="")
    faults: list[Fault] = []
    unknown = [name for name in reader.fieldnames or () if name not in COLUMNS]
    if unknown:
        columns = ", ".join(COLUMNS)
        faults.append(
            Fault(
                file=FILE, line=1, found=f"columns {', '.join(unknown)}", expected=f"columns among {columns}"
            )
        )
    shots = []
    for row in reader:
        try:
            shots.append(_shot(row, reader.line_num, site))
        except UnitFault as fault:
            faults.append(Fault(file=FILE, line=reader.line_num, found=fault.found, expected=fault.expected))
    if not shots and not faults:
        faults.append(Fault(file=FILE, found="no rows", expected="one row a measured point"))
    if faults:
        raise InputFaults(faults)
    return tuple(shots)


def _shot(row: Mapping[str, str], line_number: int, site: Site) -> Shot:
    def cell(name: str) -> str:
        return (row.get(name) or "").strip()

    lines = {line.id for line in site.lines}
    if cell("line") not in lines:
        raise UnitFault(
            found=f'line "{cell("line")}"', expected="a line of site.toml: " + ", ".join(sorted(lines))
        )
    method = cell("method") or "taped"
    if method not in methods():
        raise UnitFault(found=f'method "{method}"', expected="one of " + ", ".join(methods()))
    lonlat = _lonlat(cell("longitude"), cell("latitude"))
    station = parse_station(cell("station"), site.units) if cell("station") else None
    if (station is None) == (lonlat is None):
        raise UnitFault(found="no place, or two", expected="either a station or longitude and latitude")
    usual = methods()[method]
    private = parse_length(cell("error")) if cell("error") else usual.private_m
    return Shot(
        line=cell("line"),
        reach=cell("reach") or "Main",
        station_m=station,
        offset_m=_offset(cell("offset")),
        lonlat=lonlat,
        cover_m=parse_length(cell("cover")) if cell("cover") else None,
        evidence=Evidence(method=method, shared_m=usual.shared_m, private_m=private),
        date=_date(cell("date")),
        crew=cell("crew"),
        photo=cell("photo"),
        note=cell("note"),
        source=Source(file=FILE, line=line_number),
    )


def _lonlat(longitude: str, latitude: str) -> tuple[float, float] | None:
    if not longitude and not latitude:
        return None
    try:
        place = (float(longitude), float(latitude))
    except ValueError:
        place = (float("nan"), float("nan"))
    if not (abs(place[0]) <= 180 and abs(place[1]) <= 90):
        raise UnitFault(found=f'"{longitude}", "{latitude}"', expected="longitude and latitude in degrees")
    return place


def _offset(text: str) -> float:
    """``2.1 ft left`` is positive, ``right`` negative; nothing is 0."""
    if not text:
        return 0.0
    match = re.fullmatch(r"(.+?)\s+(left|right)", text)
    if match is None:
        raise UnitFault(found=f'"{text}"', expected='an offset such as "2.1 ft left"')
    return parse_length(match[1]) * (1 if match[2] == "left" else -1)


def _date(text: str) -> date | None:
    try:
        return date.fromisoformat(text) if text else None
    except ValueError:
        raise UnitFault(found=f'"{text}"', expected="a date such as 2026-11-25") from None
