"""The trench in numbers: stations, sections, crossings, bends, volumes and the take-off. All in SI."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from siteplan.measure.amounts import PriceRow, Quantity
from siteplan.measure.crossing import Crossing
from siteplan.route.arcs import EasedLine, tangent_m
from siteplan.route.model import Reach
from siteplan.route.strip import Fit
from siteplan.rules.model import Cover, Numbered


@dataclass(frozen=True, slots=True, kw_only=True)
class LaidLine:
    """One line as it lies in a section.

    Attributes
    ----------
    line : str
    outside_m : float
        Outside diameter [m].
    offset_m : float
        Of its axis from the centreline, left positive looking up-station [m].
    cover_m : float
        Planned cover [m], finished grade to its top.
    required : Cover
        What the rules ask, and which row.
    """

    line: str
    outside_m: float
    offset_m: float
    cover_m: float
    required: Cover


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """A cross-section of the trench, the same over one or more intervals.

    Attributes
    ----------
    name : str
        Printed name: 1, 2, 3 ...
    width_m : float
        Width of the bottom [m].
    cut_m : float
        Depth of the trench bottom below finished grade [m]: cover + outside diameter + bedding of the deepest line.
    side_slope : float
        Horizontal run per metre of depth; 0 for vertical walls.
    top_width_m : float
        Width at the ground [m].
    bedding_m : float
    lines : tuple of LaidLine
    governed_by : Cover
        The cover that sets the cut.
    """

    name: str
    surface: str
    width_m: float
    cut_m: float
    side_slope: float
    top_width_m: float
    bedding_m: float
    lines: tuple[LaidLine, ...]
    governed_by: Cover


@dataclass(frozen=True, slots=True, kw_only=True)
class Station:
    """One row of the route sheet.

    Attributes
    ----------
    reach : str
    distance_m : float
        Along the reach, on the map [m].
    x, y : float
        Ground metres.
    what : str
        Trade words ("casing", "bend B1 22 deg left", "drive begins", "tee A", "crossing 2", "straight").
    kind : str
        start, end, bend, tee, surface, crossing, hand_dig, grade or interval (every 25 ft / 10 m).
    grade_m : float or None
        Ground elevation [m]; ``None``: no levels here, cut from ground surface only.
    cut_m : float
        Trench bottom below ground [m].
    bottom_m : float or None
        Elevation of the trench bottom [m].
    section : str
        Name of the section that holds from here; ``""`` where none begins.
    hand_dig : bool
        Does a hand-dig interval hold this station.
    ties : tuple of (str, float)
        Up to two ties: name of the corner, tape distance [m]; best crossing angle first.
    """

    reach: str
    distance_m: float
    x: float
    y: float
    what: str
    kind: Literal["start", "end", "bend", "tee", "surface", "crossing", "hand_dig", "grade", "interval"]
    grade_m: float | None
    cut_m: float
    bottom_m: float | None
    width_m: float
    section: str
    hand_dig: bool
    ties: tuple[tuple[str, float], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchMark:
    """What the laser is set up from.

    Attributes
    ----------
    at : str
        What it is, as stated; ``""``: nobody stated one, it is the ground at ``reach`` and ``distance_m``.
    elevation_m : float
        In the datum of the levels [m].
    rod_m : float or None
        Rod reading on it with the laser set up [m]; ``None``: read on the day.
    """

    at: str = ""
    reach: str = ""
    distance_m: float = 0.0
    elevation_m: float
    rod_m: float | None = None

    def below_m(self, level_m: float) -> float:
        """How far a level lies below the bench mark [m]: what is added to the rod reading on it.

        A mark at 520.50 ft and a point at 517.95 ft: 2.55 ft, so that a rod of 4.25 ft on the mark is 6.80 ft on the point.

        >>> round(BenchMark(elevation_m=520.50).below_m(517.95), 2)
        2.55
        """
        return self.elevation_m - level_m


@dataclass(frozen=True, slots=True, kw_only=True)
class HeldReading:
    """A stretch over which one rod reading holds: ``level_m`` [m] is in the middle of its bottom."""

    reach: str
    from_m: float
    to_m: float
    level_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Corner:
    """A building corner or other fixed point to tape from, as named on the key plan ("house NE")."""

    name: str
    x: float
    y: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Bend:
    """A bend of the trench: deflection in degrees, positive to the left looking up-station."""

    name: str
    reach: str
    distance_m: float
    x: float
    y: float
    deflection_deg: float
    least_radius_m: float

    @property
    def tangent_m(self) -> float:
        """How far before the corner [m] a sweep of the least radius begins, and how far behind it ends."""
        return tangent_m(self.least_radius_m, self.deflection_deg)


@dataclass(frozen=True, slots=True, kw_only=True)
class Interval:
    """A stretch of a reach on which something holds; ``of``: what a hand dig is for ("crossing 1, beside Gas line")."""

    reach: str
    from_m: float
    to_m: float
    what: str
    of: str = ""
    rule: Numbered | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Pull:
    """Bends of one conduit between pull points: those in plan between the two, and the riser at an end of the conduit.

    Attributes
    ----------
    start, end : str
        Where it is pulled from and to, as it prints ("Well", "pull point P1").
    from_m, to_m : float
        Distances [m] along the way of the line, on the map.
    plan_deg, risers_deg, sum_deg : float
    limit : Numbered
    length_m : float
        Length of the pull [m].
    """

    line: str
    start: str = ""
    end: str = ""
    from_m: float = 0.0
    to_m: float = 0.0
    plan_deg: float
    risers_deg: float
    sum_deg: float
    limit: Numbered
    length_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Volumes:
    """Volumes [m3] of the whole dig. Loose and compacted are of the bank volume, by the soil's swell and shrink.

    ``displaced_m3`` is what lines and bedding take of the hole; ``haul_off_m3`` (loose) is what does not go back.
    """

    bank_m3: float
    loose_m3: float
    bedding_m3: float
    displaced_m3: float
    backfill_bank_m3: float
    haul_off_m3: float
    extras: tuple[tuple[str, float], ...] = ()
    by_reach: tuple[tuple[str, float], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class SpoilPile:
    """The pile along one reach at its fullest.

    Attributes
    ----------
    side : {"left", "right"}
        Where most of it lies, looking up-station.
    strip_m : float
        From the centreline to its far foot [m].
    why : str
        In words that print.
    fits : tuple of Fit
        The side for each stretch that is opened, in order.
    """

    reach: str
    side: Literal["left", "right"]
    height_m: float
    width_m: float
    strip_m: float
    why: str
    fits: tuple[Fit, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Works:
    """Everything measured of the trenches of one layout.

    Attributes
    ----------
    bench_mark : BenchMark or None
        ``None``: no levels.
    held : tuple of HeldReading
        In order along each reach.
    eased : tuple of (str, EasedLine)
        Lines by id with their bends laid as arcs, but for a line that ends where it tees off.
    """

    stations: tuple[Station, ...]
    sections: tuple[Section, ...]
    intervals: tuple[Interval, ...]
    crossings: tuple[Crossing, ...]
    bends: tuple[Bend, ...]
    corners: tuple[Corner, ...]
    pulls: tuple[Pull, ...]
    volumes: Volumes
    spoil: tuple[SpoilPile, ...]
    quantities: tuple[Quantity, ...]
    developed_m: tuple[tuple[str, float], ...]
    levelled: bool
    bench_mark: BenchMark | None = None
    held: tuple[HeldReading, ...] = ()
    prices: tuple[PriceRow, ...] = ()
    eased: tuple[tuple[str, EasedLine], ...] = ()

    def section(self, name: str) -> Section:
        """Return the section of this name; KeyError if there is none."""
        for section in self.sections:
            if section.name == name:
                return section
        raise KeyError(name)

    def stretches(self, reaches: Iterable[Reach]) -> Iterator[tuple[str, float, float, Section]]:
        """Stretches of each reach over which one section holds: reach, from [m], to [m], section."""
        for reach in reaches:
            here = [station for station in self.stations if station.reach == reach.name and station.section]
            changes = [here[0], *(b for a, b in pairwise(here) if a.section != b.section)]
            ends = [*(station.distance_m for station in changes[1:]), reach.length_m]
            for station, end in zip(changes, ends, strict=True):
                yield reach.name, station.distance_m, end, self.section(station.section)
