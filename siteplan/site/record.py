"""What was measured in the open trench: the noun that the as-built record is made of."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, time
from typing import Literal

from siteplan.site.evidence import Evidence

Placing = Literal["ties", "offset", "station", "lonlat", "xy"]
"""How a point was placed: by tapes from corners, by station and offset, by station alone, by degrees, in the tape grid."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Measurement:
    """One point of a line, as it was measured once and as the record keeps it for good.

    Attributes
    ----------
    id : str
        Made from the row as written: the same row has the same id.
    line : str
        Id of the line.
    what : str
        "bend B2", "tee", "splice", "sleeve end", "tracer end", "crossing 1", "end"; ``""``: a plain point.
    longitude_deg, latitude_deg : float
        WGS 84, to nine decimals as the record writes them.
    placing : str
        With "station" nobody measured the place, only the cover: it is where the plan has it.
    evidence : Evidence
        Of the position.
    cover_m : float or None
        Taped cover [m], ground to the top of the line.
    cover_error_m : float
        One-sided at 95 % [m].
    day, at : date or None, time or None
        Local, as the crew wrote them.
    crew, ticket, tracer, note : str
        As written; ``tracer`` is where the ends of the tracer wire come up.
    material, size : str
        As confirmed in the trench; ``""``: nobody did.
    photos : tuple of str
        File names.
    row : tuple of (str, str)
        The row as written, by column.
    number : int
        In the order in which the record was told of it, from 1.
    withdrawn : str
        Why it no longer counts, in the words of whoever took it back; ``""``: it counts.
    """

    id: str
    line: str
    what: str
    longitude_deg: float
    latitude_deg: float
    placing: Placing
    evidence: Evidence
    cover_m: float | None
    cover_error_m: float
    day: date | None
    at: time | None
    crew: str = ""
    ticket: str = ""
    material: str = ""
    size: str = ""
    tracer: str = ""
    photos: tuple[str, ...] = ()
    note: str = ""
    row: tuple[tuple[str, str], ...] = ()
    number: int = 1
    withdrawn: str = ""

    @property
    def placed(self) -> bool:
        """Was the place itself measured."""
        return self.placing != "station"

    @property
    def when(self) -> tuple[date, time, int]:
        """Day and time to sort by, what has none first; then the order in which the record was told."""
        return (self.day or date.min, self.at or time.min, self.number)
