"""What was built, in ground metres: measured points, and the lines drawn through them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import hypot
from typing import Literal

from shapely import LineString, Point

from siteplan.measure.ties import Ties
from siteplan.site.evidence import Evidence
from siteplan.site.record import Measurement

Standing = Literal["planned", "measured"]
Whole = Literal["planned", "measured", "measured in part"]


@dataclass(frozen=True, slots=True, kw_only=True)
class BuiltPoint:
    """One measurement, held against the plan.

    Attributes
    ----------
    x, y : float
        Ground metres.
    reach, station_m : str, float
        Where it falls on the plan, as the route sheet counts.
    off_m : float
        Off the planned centreline of the trench [m], left positive looking up-station; 0 where only the cover was measured.
    planned : tuple of two floats or None
        Where the plan has the bend, tee, crossing or end of that name [ground metres]; ``None`` for other points.
    planned_cover_m, required_cover_m : float or None
        What was planned there, and what the rules ask [m]; ``None``: the rules state no number.
    ties : tuple of (str, float)
        The two best tapes to it as built: name of the corner, distance [m].
    superseded : bool
        A later measurement of the same point holds instead.
    """

    measurement: Measurement
    x: float
    y: float
    reach: str
    station_m: float
    off_m: float
    planned: tuple[float, float] | None
    planned_cover_m: float | None
    required_cover_m: float | None
    ties: Ties
    superseded: bool

    @property
    def moved_m(self) -> float | None:
        """Distance [m] from where the plan has the point of that name; ``None`` for other points."""
        return None if self.planned is None else hypot(self.x - self.planned[0], self.y - self.planned[1])


@dataclass(frozen=True, slots=True, kw_only=True)
class BuiltStretch:
    """A stretch of a built line on one reach of the plan, all of it measured alike or all of it as planned.

    Attributes
    ----------
    reach, from_m, to_m : str, float, float
        Of the plan, in the order of the line: ``from_m`` may be more than ``to_m``.
    path : LineString
        As built, in the order of the line [ground metres].
    position : {"planned", "measured"}
    evidence : Evidence
        Of the weaker end where measured, else as the trench is laid.
    """

    line: str
    reach: str
    from_m: float
    to_m: float
    path: LineString
    position: Standing
    evidence: Evidence


@dataclass(frozen=True, slots=True, kw_only=True)
class BuiltCover:
    """Cover of a stretch of a built line on one reach of the plan: between two taped covers, or as planned.

    Attributes
    ----------
    reach, from_m, to_m, path
        As in ``BuiltStretch``.
    covers_m : tuple of two floats or None
        Cover [m] at either end, between them it goes straight; ``None`` where planned: as the sections of the plan.
    error_m : float
        One-sided at 95 % [m].
    standing : {"planned", "measured"}
    """

    line: str
    reach: str
    from_m: float
    to_m: float
    path: LineString
    covers_m: tuple[float, float] | None
    error_m: float
    standing: Standing


@dataclass(frozen=True, slots=True, kw_only=True)
class BuiltLine:
    """One line as built.

    Attributes
    ----------
    path : LineString or Point
        Straight between its measured points, else as planned; a point if it ends where it tees off.
    stretches, covers : tuple of BuiltStretch, tuple of BuiltCover
        In order; together they are the whole of it, each in its own way. Empty for a line that is a point.
    points : tuple of BuiltPoint
        Its points that hold, in order along it.
    """

    line: str
    path: LineString | Point
    stretches: tuple[BuiltStretch, ...]
    covers: tuple[BuiltCover, ...]
    points: tuple[BuiltPoint, ...]

    @property
    def measured_m(self) -> float:
        """Length [m] that was measured."""
        return sum(float(each.path.length) for each in self.stretches if each.position == "measured")

    @property
    def position(self) -> Whole:
        """Standing of its position as a whole."""
        placed: set[Standing] = (
            {"measured"} if any(each.measurement.placed for each in self.points) else set()
        )
        return _whole({each.position for each in self.stretches} | placed)

    @property
    def cover(self) -> Whole:
        """Standing of its cover as a whole."""
        return _whole({each.standing for each in self.covers})

    def said(self, name: str) -> tuple[str, ...]:
        """Everything that its points say under one name ("crew", "ticket", "material", "size", "tracer"), each once."""
        return tuple(dict.fromkeys(text for each in self.points if (text := getattr(each.measurement, name))))


@dataclass(frozen=True, slots=True, kw_only=True)
class Visit:
    """One day of one crew in the open trench."""

    day: str
    crew: str
    tickets: tuple[str, ...]
    points: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Built:
    """Everything that was built, as far as it was measured.

    Attributes
    ----------
    points : tuple of BuiltPoint
        All that were ever measured, also those superseded, by line, then along it.
    lines : tuple of BuiltLine
        As in ``site.toml``.
    visits : tuple of Visit
        In order of their days.
    warnings : tuple of str
        What to look at again, one line each.
    strays : tuple of Measurement
        Measured on lines that ``site.toml`` no longer has: kept in the record, held against nothing.
    """

    points: tuple[BuiltPoint, ...]
    lines: tuple[BuiltLine, ...]
    visits: tuple[Visit, ...]
    warnings: tuple[str, ...]
    strays: tuple[Measurement, ...] = ()

    def line(self, line_id: str) -> BuiltLine:
        """Return the built line with this id; KeyError if there is none."""
        for line in self.lines:
            if line.line == line_id:
                return line
        raise KeyError(line_id)


def _whole(standings: set[Standing]) -> Whole:
    if len(standings) == 2:
        return "measured in part"
    return standings.pop() if standings else "planned"


def visits(measured: Iterable[Measurement]) -> tuple[Visit, ...]:
    """Visits that the measurements tell of, in order."""
    groups: dict[tuple[str, str], list[Measurement]] = {}
    for each in measured:
        groups.setdefault((each.day.isoformat() if each.day else "", each.crew), []).append(each)
    return tuple(
        Visit(
            day=day,
            crew=crew,
            tickets=tuple(sorted({each.ticket for each in taken if each.ticket})),
            points=len(taken),
        )
        for (day, crew), taken in sorted(groups.items())
    )
