"""What was built, held against the plan: how far each measured point lies off, which measurement holds, the lines as built."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from math import hypot

from shapely import Point

from siteplan.measure.built_lines import along_m, built_lines, planned_in_section
from siteplan.measure.model import Works
from siteplan.measure.record_model import Built, BuiltPoint, visits
from siteplan.measure.shot_places import CLEARLY_OFF_M, off_m
from siteplan.measure.ties import Tapes
from siteplan.plane.local import Plane, frame_of
from siteplan.read.shot_row import Shot
from siteplan.route.model import Layout, Reach
from siteplan.site.record import Measurement
from siteplan.site.site import Site
from siteplan.units import Printer

ONE_POINT_M = 0.3048
"""Points of one name on one line this near [m] to each other are one point: 1 ft (common practice, no source)."""

SAME_PLACE_M, SAME_COVER_M = 0.01, 0.002
"""Two measurements of one point that differ by less [m] say the same."""

WEAK_M = 0.9144
"""A place known no better than this [m] wants another tape: 3 ft (own choice)."""

_TELLS = (
    "line",
    "what",
    "station",
    "offset",
    "from_1",
    "tape_1",
    "longitude",
    "latitude",
    "x",
    "y",
    "cover",
    "date",
)

_ONCE = ("start", "casing", "well", "end")
"""Points that a line has once, beside those with a number ("bend B2", "crossing 1")."""


def together(earlier: Iterable[Measurement], new: Iterable[Measurement]) -> tuple[Measurement, ...]:
    """Everything that was ever measured: what the record holds and what is new, each once, by time. Nothing is ever left out."""
    every = {each.id: each for each in new} | {each.id: each for each in earlier}
    return tuple(sorted(every.values(), key=lambda each: each.when))


def withdrawn(measured: Iterable[Measurement], shots: Iterable[Shot]) -> tuple[Measurement, ...]:
    """Mark the measurements that their row in ``shots.csv`` now takes back."""
    reasons = {shot.id: shot.withdrawn for shot in shots if shot.withdrawn}
    return tuple(
        replace(each, withdrawn=reasons[each.id]) if each.id in reasons else each for each in measured
    )


def missing_rows(earlier: Iterable[Measurement], shots: Iterable[Shot]) -> Iterator[str]:
    """Name what the record holds of a day and crew that ``shots.csv`` tells of, without that row: it may have been mended."""
    shots = tuple(shots)
    ids = {shot.id for shot in shots}
    days = {(shot.day, shot.crew) for shot in shots}
    for each in earlier:
        if (each.day, each.crew) in days and each.id not in ids and not each.withdrawn:
            cells = ", ".join(f"{name} {text}" for name, text in each.row if name in _TELLS)
            yield (
                f"the record holds a row that shots.csv no longer has ({cells}); if it was wrong, put it back as it was "
                "and say why in the column withdrawn"
            )


def as_built(
    site: Site, layout: Layout, works: Works, measured: Iterable[Measurement], plane: Plane
) -> Built:
    """Hold every measurement against the plan, and draw the lines through those that hold.

    Parameters
    ----------
    site : Site
        In ground metres.
    plane : Frame or LocalGrid
        Between degrees and the ground.

    Returns
    -------
    Built
        Points by line as in ``site.toml``, then along it.
    """
    measured = list(measured)
    known = {line.id for line in site.lines}
    kept = [each for each in measured if each.line in known]
    strays = tuple(each for each in measured if each.line not in known)
    superseded, twice = _superseded(kept, plane, Printer(site.units))
    tapes = Tapes(site, works.corners)
    points = [_point(each, each.id in superseded, site, layout, works, plane, tapes) for each in kept]
    order = {line.id: number for number, line in enumerate(site.lines)}

    def along(point: BuiltPoint) -> tuple[int, float, object, str]:
        line = point.measurement.line
        place = Point(point.x, point.y)
        return (
            order[line],
            along_m(layout.way(line), place),
            point.measurement.when,
            point.measurement.id,
        )

    points.sort(key=along)
    return Built(
        points=tuple(points),
        lines=built_lines(site, layout, points),
        visits=visits(measured),
        warnings=(*twice, *_unknown(points), *_weak(points, Printer(site.units)), *_stray_lines(strays)),
        strays=strays,
    )


def _unknown(points: Iterable[BuiltPoint]) -> Iterator[str]:
    """Name what the crew calls a bend or a crossing of the plan and the plan does not have."""
    for point in points:
        taken = point.measurement
        numbered = re.fullmatch(r"(bend b|crossing )\d+", taken.what.casefold())
        if numbered and point.planned is None and not point.superseded:
            yield f"{taken.line}: the plan has no {taken.what} on this line; is it another number, or made in the field?"


def _weak(points: Iterable[BuiltPoint], print_: Printer) -> Iterator[str]:
    """Name what nobody will find again by digging where the record says."""
    for point in points:
        taken = point.measurement
        if taken.placed and not point.superseded and taken.evidence.radius_m > WEAK_M:
            name = taken.what or f"{point.reach} {print_.station(point.station_m)}"
            known = print_.length(taken.evidence.radius_m)
            yield f"{taken.line}: {name} is known within {known} only; tape it from another corner while it is open"


def _stray_lines(strays: Iterable[Measurement]) -> Iterator[str]:
    for line in sorted({each.line for each in strays}):
        yield f"{line}: measured, but no line of site.toml; its points stay in the record, held against nothing"


def _superseded(measured: Sequence[Measurement], plane: Plane, print_: Printer) -> tuple[set[str], list[str]]:
    """Ids of the measurements that were taken back or that a later one replaces, and what to say where they differ."""
    gone = {each.id for each in measured if each.withdrawn}
    said: list[str] = []
    named: dict[tuple[str, str], list[tuple[Measurement, Point]]] = {}
    for later in measured:
        if later.id in gone:
            continue
        alike = named.setdefault((later.line, later.what.casefold()), [])
        place = ground_point(later, plane)
        for before, there in alike:
            apart_m = hypot(place.x - there.x, place.y - there.y)
            if before.id in gone or not _says_as_much(later, before) or not _one_point(later.what, apart_m):
                continue
            gone.add(before.id)
            if differences := ", ".join(_differences(before, later, apart_m, print_)):
                what = later.what or "one point"
                said.append(f"{later.line}: {what} was measured twice, {differences}; the later holds")
        alike.append((later, place))
    return gone, said


def _says_as_much(later: Measurement, before: Measurement) -> bool:
    """Does a measurement replace everything that another says: a cover alone leaves an earlier place standing."""
    return (later.placed or not before.placed) and (later.cover_m is not None or before.cover_m is None)


def _one_point(what: str, apart_m: float) -> bool:
    """Are two places of one name on one line one point."""
    return apart_m <= ONE_POINT_M or what.casefold() in _ONCE or re.search(r"\d", what) is not None


def _differences(a: Measurement, b: Measurement, apart_m: float, print_: Printer) -> Iterator[str]:
    if a.placed and b.placed and apart_m > SAME_PLACE_M:
        yield f"{print_.length(apart_m)} apart"
    if a.cover_m is not None and b.cover_m is not None and abs(a.cover_m - b.cover_m) > SAME_COVER_M:
        yield f"cover {print_.short(a.cover_m)}, then {print_.short(b.cover_m)}"


def ground_point(measurement: Measurement, plane: Plane) -> Point:
    """Place of a measurement in ground metres."""
    return frame_of(plane).to_ground(Point(measurement.longitude_deg, measurement.latitude_deg))


def _point(
    measurement: Measurement,
    superseded: bool,
    site: Site,
    layout: Layout,
    works: Works,
    plane: Plane,
    tapes: Tapes,
) -> BuiltPoint:
    place = ground_point(measurement, plane)
    line = measurement.line
    reaches = [layout.reach(name) for name, _, _ in layout.path(line).legs]
    reach = min(reaches, key=lambda each: each.path.distance(place))
    station_m = float(reach.path.project(place))
    lies_as = (
        line,
        site.line(line).start,
    )  # a line that ends where it tees off lies as the one that it tees off
    laid = next(
        (each for one in lies_as if (each := planned_in_section(works, layout, reach.name, station_m, one))),
        None,
    )
    return BuiltPoint(
        measurement=measurement,
        x=place.x,
        y=place.y,
        reach=reach.name,
        station_m=station_m,
        off_m=off_m(reach.path, place) if measurement.placed else 0.0,
        planned=_planned(measurement, layout, works, reaches, place),
        planned_cover_m=None if laid is None else laid.cover_m,
        required_cover_m=None if laid is None else laid.required.least_m,
        ties=tapes.ties(place.x, place.y),
        superseded=superseded,
    )


def _planned(
    measurement: Measurement, layout: Layout, works: Works, reaches: Sequence[Reach], place: Point
) -> tuple[float, float] | None:
    """Where the plan has the point of that name."""
    what, names = measurement.what.casefold(), {reach.name for reach in reaches}
    way = layout.way(measurement.line)
    if what in ("start", "casing", "well"):
        return _xy(way.coords[0])
    if what == "end":
        return _xy(way.coords[-1])
    if (bend := re.fullmatch(r"bend (b\d+)", what)) is not None:
        return next(
            ((b.x, b.y) for b in works.bends if b.name.casefold() == bend[1] and b.reach in names), None
        )
    if (crossing := re.fullmatch(r"crossing (\d+)", what)) is not None:
        here = (c for c in works.crossings if c.number == int(crossing[1]) and c.reach in names)
        return next(((c.x, c.y) for c in here), None)
    if what.split(" ")[0].rstrip(",") == "tee":
        tees = [(s.x, s.y) for s in works.stations if s.kind == "tee" and s.reach in names]
        tees += [_xy(way.coords[0])]
        nearest = min(tees, key=lambda tee: hypot(tee[0] - place.x, tee[1] - place.y))
        near = hypot(nearest[0] - place.x, nearest[1] - place.y) <= 3 * CLEARLY_OFF_M
        return nearest if near else None
    return None


def _xy(position: Sequence[float]) -> tuple[float, float]:
    return (position[0], position[1])
