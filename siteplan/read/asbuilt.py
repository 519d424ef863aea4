"""``asbuilt.geojson`` read back: what earlier visits measured, and what finds a point again from this file alone."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, time
from pathlib import Path
from typing import Annotated, Any, TypeVar

from pydantic import BaseModel, ConfigDict, Field, ValidationError
from shapely import Point

from siteplan.errors import Fault, InputFaults
from siteplan.read.folder import read_text
from siteplan.read.geojson import read_geojson
from siteplan.read.record import Record
from siteplan.read.words import LONGEST_TEXT, FaultList, Place, shown
from siteplan.site.evidence import Evidence
from siteplan.site.record import Measurement, Placing
from siteplan.units import System

Metres = Annotated[float, Field(ge=0, le=1e4)]
Text = Annotated[str, Field(max_length=LONGEST_TEXT)]


class _Loose(BaseModel):
    model_config = ConfigDict(extra="ignore", frozen=True, allow_inf_nan=False)


class _Tie(_Loose):
    corner: Text = Field(alias="from")
    tape_m: Metres


class _Point(_Loose):
    """A named or measured point; what only a measured one has is optional."""

    what: Text = ""
    planned_as: Text = ""
    line: Text = ""
    reach: Text = ""
    station: Text = ""
    cover_m: Metres | None = None
    cut_m: Metres | None = None
    ties: tuple[_Tie, ...] = ()
    error_95_m: Metres | None = None
    standing: dict[str, Text] = {}
    superseded: bool = False
    placed_by: Placing | None = None
    method: Text = ""
    shared_error_95_m: Metres = 0.0
    own_error_95_m: Metres = 0.0
    edge_95_m: Metres = 0.0
    outing: Text | None = None
    cover_error_95_m: Metres = 0.0
    day: date | None = Field(default=None, alias="date")
    at: time | None = Field(default=None, alias="time")
    crew: Text = ""
    ticket: Text = Field(default="", alias="ticket_number")
    material: Text = ""
    size: Text = ""
    tracer: Text = Field(default="", alias="tracer_ends")
    photos: tuple[Text, ...] = ()
    note: Text = ""
    row: dict[str, Text] = {}
    number: Annotated[int, Field(ge=1, le=10**9)] = 1
    withdrawn: Text = ""


class _Corner(_Loose):
    name: Annotated[str, Field(min_length=1, max_length=LONGEST_TEXT)]
    status: Text = "existing"


class _Members(_Loose):
    name: Text = ""
    units: System = "ft"
    elevation_m: Annotated[float, Field(ge=-500, le=9000)] = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordedPoint:
    """A point of the record, measured or still as planned.

    Attributes
    ----------
    what, planned_as, line : str
        ``planned_as`` is what the plan called it, ``""`` if no more; ``line`` is ``""`` for a planned point of the trench.
    longitude_deg, latitude_deg : float
    cover_m, cut_m : float or None
        Taped cover, or planned cut [m].
    ties : tuple of (str, float)
        Corner and tape [m].
    error_m : float or None
        Radius that holds 95 % of the position error [m].
    position : str
        measured, planned or superseded.
    """

    what: str
    planned_as: str
    line: str
    reach: str
    station: str
    longitude_deg: float
    latitude_deg: float
    cover_m: float | None
    cut_m: float | None
    ties: tuple[tuple[str, float], ...]
    error_m: float | None
    position: str
    day: date | None
    crew: str
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordFile:
    """An ``asbuilt.geojson``.

    Attributes
    ----------
    elevation_m : float
        Height of the site [m]: distances are what a level tape reads there.
    corners : tuple of (str, float, float)
        Name, longitude and latitude [deg] of what to tape from.
    stakes : frozenset of str
        Those that did not stand yet when the file was written.
    """

    name: str
    units: System
    elevation_m: float
    points: tuple[RecordedPoint, ...]
    corners: tuple[tuple[str, float, float], ...]
    stakes: frozenset[str]
    measurements: tuple[Measurement, ...]


def read_measurements(path: Path) -> tuple[Measurement, ...]:
    """Everything that the record of the visits before holds; nothing if there is none yet.

    Raises
    ------
    InputFaults
        The file is there and is no such record: nothing may be lost by writing over it.
    """
    return read_asbuilt(path).measurements if path.exists() else ()


def read_asbuilt(path: Path) -> RecordFile:
    """Read an ``asbuilt.geojson``.

    Raises
    ------
    InputFaults
        One line that says why it cannot be read as such a record.
    """
    if not path.exists():
        expected = "the asbuilt.geojson that plan or record wrote"
        raise InputFaults([Fault(file=str(path), found="no such file", expected=expected)])
    faults = FaultList()
    text = read_text(path, faults)
    contents = None if text is None else read_geojson(text, path.name, path.stem, faults)
    if text is None or contents is None or len(faults):
        raise InputFaults(faults.error().faults[:1])
    points: list[tuple[Record, _Point]] = []
    corners: list[tuple[str, float, float]] = []
    stakes: set[str] = set()
    for record in contents.records:
        theme = record.properties.get("theme")
        if theme == "point" and isinstance(record.shape, Point):
            points.append((record, _checked(_Point, record.properties, record.place)))
        elif theme == "corner" and isinstance(record.shape, Point):
            corner = _checked(_Corner, record.properties, record.place)
            corners.append((corner.name, record.shape.x, record.shape.y))
            if corner.status != "existing":
                stakes.add(corner.name)
    if not points or not corners:
        raise InputFaults(
            [
                Fault(
                    file=path.name,
                    found=f"{len(points)} points and {len(corners)} corners",
                    expected="an as-built record: points, and the corners to tape them from",
                    mend="take the asbuilt.geojson that plan or record wrote",
                )
            ]
        )
    members = _checked(_Members, _members(text), Place(file=path.name))
    return RecordFile(
        name=members.name,
        units=members.units,
        elevation_m=members.elevation_m,
        points=tuple(_recorded(record, point) for record, point in points),
        corners=tuple(corners),
        stakes=frozenset(stakes),
        measurements=tuple(
            _measurement(record, point) for record, point in points if point.placed_by is not None
        ),
    )


def _members(text: str) -> Mapping[str, Any]:
    import json

    found = json.loads(text)
    return {name: value for name, value in found.items() if name != "features"}


_Model = TypeVar("_Model", bound=BaseModel)


def _checked(model: type[_Model], properties: Mapping[str, Any], place: Place) -> _Model:
    try:
        return model.model_validate(properties)
    except ValidationError as error:
        first = error.errors()[0]
        name = ".".join(str(part) for part in first["loc"])
        raise InputFaults(
            [
                Fault(
                    file=place.file,
                    line=place.line,
                    where=place.where,
                    found=f"{name} {shown(first['input'])}",
                    expected=f"what siteplan wrote there ({first['msg'][:1].lower()}{first['msg'][1:]})",
                    mend="take the file as it was written",
                )
            ]
        ) from None


def _recorded(record: Record, point: _Point) -> RecordedPoint:
    assert isinstance(record.shape, Point)
    return RecordedPoint(
        what=point.what,
        planned_as=point.planned_as,
        line=point.line,
        reach=point.reach,
        station=point.station,
        longitude_deg=record.shape.x,
        latitude_deg=record.shape.y,
        cover_m=point.cover_m,
        cut_m=point.cut_m,
        ties=tuple((tie.corner, tie.tape_m) for tie in point.ties),
        error_m=point.error_95_m,
        position="superseded" if point.superseded else point.standing.get("position", "planned"),
        day=point.day,
        crew=point.crew,
        note=point.note,
    )


def _measurement(record: Record, point: _Point) -> Measurement:
    assert isinstance(record.shape, Point)
    assert point.placed_by is not None
    return Measurement(
        id=record.id,
        line=point.line,
        what=point.what,
        longitude_deg=record.shape.x,
        latitude_deg=record.shape.y,
        placing=point.placed_by,
        evidence=Evidence(
            method=point.method,
            shared_m=point.shared_error_95_m,
            private_m=point.own_error_95_m,
            edge_m=point.edge_95_m,
            outing=point.outing,
        ),
        cover_m=point.cover_m,
        cover_error_m=point.cover_error_95_m,
        day=point.day,
        at=point.at,
        crew=point.crew,
        ticket=point.ticket,
        material=point.material,
        size=point.size,
        tracer=point.tracer,
        photos=point.photos,
        note=point.note,
        row=tuple(point.row.items()),
        number=point.number,
        withdrawn=point.withdrawn,
    )
