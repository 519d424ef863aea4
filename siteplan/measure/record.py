"""What was built, held against the plan: how far each measured point lies off, and whether the cover holds there."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from math import hypot

from shapely import LineString, Point
from shapely.geometry.base import BaseGeometry

from siteplan.errors import Fault, InputFaults
from siteplan.measure.model import Works
from siteplan.read.shots import Shot
from siteplan.route.model import Layout, Reach
from siteplan.site.site import Site

FAR_M = 30.0
"""A shot farther than this [m] off the plan is a slip of the pen, not a deviation (100 ft; common practice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Built:
    """One measured point of a built line, in ground metres.

    Attributes
    ----------
    reach, station_m : str, float
        Where it falls on the plan.
    off_m : float
        Off the planned centreline [m], left positive looking up-station.
    required_m : float or None
        Cover that the rules ask there [m].
    short : bool
        Is the taped cover less than that.
    """

    shot: Shot
    x: float
    y: float
    reach: str
    station_m: float
    off_m: float
    required_m: float | None
    short: bool


def hold_against_plan(
    site: Site,
    layout: Layout,
    works: Works,
    shots: Iterable[Shot],
    to_ground: Callable[[BaseGeometry], BaseGeometry],
) -> tuple[Built, ...]:
    """Place every shot on the plan.

    Parameters
    ----------
    to_ground : callable
        Degrees to ground metres, as the plan's frame does.

    Returns
    -------
    tuple of Built
        By line as in ``site.toml``, then by reach and station.

    Raises
    ------
    InputFaults
        A shot on a reach where its line does not lie, past its end, or more than 100 ft off the plan.
    """
    built: list[Built] = []
    faults: list[Fault] = []
    for shot in shots:
        try:
            built.append(_place(shot, layout, works, to_ground))
        except InputFaults as fault:
            faults.extend(fault.faults)
    if faults:
        raise InputFaults(faults)
    order = {line.id: number for number, line in enumerate(site.lines)}
    names = [reach.name for reach in layout.reaches]
    return tuple(sorted(built, key=lambda b: (order[b.shot.line], names.index(b.reach), b.station_m)))


def _place(
    shot: Shot, layout: Layout, works: Works, to_ground: Callable[[BaseGeometry], BaseGeometry]
) -> Built:
    reaches = [reach for reach in layout.reaches if any(run.line == shot.line for run in reach.runs)]
    if shot.lonlat is not None:
        point = to_ground(Point(shot.lonlat))
        reach = min(reaches, key=lambda each: each.path.distance(point))
        station = float(reach.path.project(point))
    else:
        named = [reach for reach in reaches if reach.name == shot.reach]
        if not named or shot.station_m is None or shot.station_m > named[0].length_m + 0.05:
            raise _fault(shot, f"a station on reach {shot.reach}", "a station where this line was planned")
        reach, station = named[0], min(shot.station_m, named[0].length_m)
        point = _offset_point(reach, station, shot.offset_m)
    off = _side(reach, station, point) * float(reach.path.distance(point))
    if abs(off) > FAR_M:
        raise _fault(shot, f"a place {abs(off):.0f} m off the plan", "a place near the planned line")
    required = _required_m(works, layout, reach, station, shot.line)
    short = shot.cover_m is not None and required is not None and shot.cover_m < required - 1e-6
    return Built(
        shot=shot,
        x=point.x,
        y=point.y,
        reach=reach.name,
        station_m=station,
        off_m=off,
        required_m=required,
        short=short,
    )


def _fault(shot: Shot, found: str, expected: str) -> InputFaults:
    return InputFaults([Fault(file=shot.source.file, line=shot.source.line, found=found, expected=expected)])


def _direction(path: LineString, station: float) -> tuple[float, float]:
    step = min(0.05, path.length / 2)
    a = path.interpolate(max(station - step, 0.0))
    b = path.interpolate(min(station + step, path.length))
    length = hypot(b.x - a.x, b.y - a.y)
    return (b.x - a.x) / length, (b.y - a.y) / length


def _offset_point(reach: Reach, station: float, offset: float) -> Point:
    here = reach.path.interpolate(station)
    dx, dy = _direction(reach.path, station)
    return Point(here.x - dy * offset, here.y + dx * offset)


def _side(reach: Reach, station: float, point: Point) -> int:
    here = reach.path.interpolate(station)
    dx, dy = _direction(reach.path, station)
    return 1 if dx * (point.y - here.y) - dy * (point.x - here.x) >= 0 else -1


def _required_m(works: Works, layout: Layout, reach: Reach, station: float, line: str) -> float | None:
    for name, begin, end, section in works.stretches(layout.reaches):
        if name == reach.name and begin - 1e-6 <= station <= end + 1e-6:
            for laid in section.lines:
                if laid.line == line:
                    return laid.required.least_m
    return None
