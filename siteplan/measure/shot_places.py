"""Where each shot is: from tapes, stations, degrees or the tape grid to one place, with the error that it has there.

Each place is rounded as the record writes it before anything is computed from it, so that a record read back gives the same.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from math import hypot

from shapely import LineString, Point

from siteplan.errors import Fault, InputFaults
from siteplan.measure.along import TOUCH_M
from siteplan.measure.model import Corner, Works
from siteplan.measure.tape_fix import TapeFix, spread_m, tape_fixes
from siteplan.plane.local import Plane, frame_of
from siteplan.read.shot_row import Shot
from siteplan.read.words import suggestion
from siteplan.route.model import Layout, Reach
from siteplan.site.evidence import Evidence
from siteplan.site.record import Measurement
from siteplan.site.site import Site
from siteplan.units import Printer

FAR_M = 30.48
"""Farther than this [m] off the plan is a slip of the pen, not a deviation (100 ft; common practice, no source)."""

CLEARLY_OFF_M = 3.048
"""The mirror place of two tapes is set aside only if it is 10 ft [m] farther off the plan (common practice, no source)."""

PAST_END_M = 0.05
"""A station past the end of a reach by less than this [m] is its end: the sheet rounds."""

FLATTEST = 8.2
"""Tapes that cross flatter than 10 degrees are worse than 8 times one tape, 1 / sqrt(1 - cos 10): their spread is tried out."""

DEGREE_DECIMALS, METRE_DECIMALS = 9, 4
"""As the record writes degrees and metres: both are 0.1 mm."""


class _Misplaced(Exception):
    """A shot that cannot be placed: what was found, what was expected, what to do."""

    def __init__(self, found: str, expected: str, mend: str = "") -> None:
        self.found, self.expected, self.mend = found, expected, mend
        super().__init__(found)


def measurements(
    site: Site, layout: Layout, works: Works, shots: Iterable[Shot], plane: Plane, *, first: int = 1
) -> tuple[Measurement, ...]:
    """Place every shot.

    Parameters
    ----------
    site : Site
        In ground metres.
    plane : Frame or LocalGrid
        Between degrees or the tape grid and the ground.
    first : int
        Number of the first of them in the record.

    Raises
    ------
    InputFaults
        A reach where the line does not lie, a station past its end, a corner that does not exist, tapes that cannot meet or
        leave two places near the plan, and any place more than 100 ft off the plan.
    """
    places = _Places(site, layout, works, plane)
    made: list[Measurement] = []
    faults: list[Fault] = []
    for number, shot in enumerate(shots, start=first):
        try:
            made.append(places.measurement(shot, number))
        except _Misplaced as misfit:
            faults.append(
                Fault(
                    file=shot.source.file,
                    line=shot.source.line,
                    found=misfit.found,
                    expected=misfit.expected,
                    mend=misfit.mend,
                )
            )
    if faults:
        raise InputFaults(faults)
    return tuple(made)


class _Places:
    def __init__(self, site: Site, layout: Layout, works: Works, plane: Plane) -> None:
        self._site, self._layout, self._plane = site, layout, plane
        self._print = Printer(site.units)
        self._corners = {_plain(corner.name): corner for corner in works.corners}

    def measurement(self, shot: Shot, number: int) -> Measurement:
        place, evidence = self._placed(shot)
        off_m = float(self._layout.way(shot.line).distance(place))
        if off_m > FAR_M:
            raise _Misplaced(
                f"a place {self._print.length(off_m)} off the planned line",
                f"a place within {self._print.length(FAR_M)} of it",
                "measure it again, or mend the row",
            )
        lonlat = self._plane.to_lonlat(place)
        return Measurement(
            id=shot.id,
            line=shot.line,
            what=shot.what,
            longitude_deg=round(lonlat.x, DEGREE_DECIMALS),
            latitude_deg=round(lonlat.y, DEGREE_DECIMALS),
            placing=shot.placing,
            evidence=replace(
                evidence,
                shared_m=round(evidence.shared_m, METRE_DECIMALS),
                private_m=round(evidence.private_m, METRE_DECIMALS),
                edge_m=round(evidence.edge_m, METRE_DECIMALS),
            ),
            cover_m=None if shot.cover_m is None else round(shot.cover_m, METRE_DECIMALS),
            cover_error_m=round(shot.cover_error_m, METRE_DECIMALS),
            day=shot.day,
            at=shot.at,
            crew=shot.crew,
            ticket=shot.ticket,
            material=shot.material,
            size=shot.size,
            tracer=shot.tracer,
            photos=shot.photos,
            note=shot.note,
            row=shot.row,
            number=number,
            withdrawn=shot.withdrawn,
        )

    def _placed(self, shot: Shot) -> tuple[Point, Evidence]:
        if shot.lonlat is not None:
            return frame_of(self._plane).to_ground(Point(shot.lonlat)), shot.evidence
        if shot.xy is not None:
            return self._plane.to_ground(Point(shot.xy)), shot.evidence
        if shot.ties:
            return self._taped(shot)
        reach = self._reach(shot)
        assert shot.station_m is not None
        if shot.station_m > reach.length_m + PAST_END_M:
            raise _Misplaced(
                f"station {self._print.station(shot.station_m)} of {reach.name}",
                f"at most {self._print.station(reach.length_m)}, where it ends",
            )
        laying = self._site.digging.laying
        along_m = min(shot.station_m, reach.length_m)
        if shot.offset_m is None:
            return reach.path.interpolate(along_m), laying
        own_m = hypot(laying.private_m, shot.evidence.private_m)  # the stakes are as true as the laying
        place = beside(reach.path, along_m, shot.offset_m)
        return place, replace(laying, method=shot.evidence.method, private_m=own_m)

    def _reach(self, shot: Shot) -> Reach:
        names = [name for name, _, _ in self._layout.path(shot.line).legs]
        named = {_plain(name): name for name in names}
        if not shot.reach and len(named) == 1:
            return self._layout.reach(names[0])
        if _plain(shot.reach) not in named:
            found = f"reach {shot.reach}" if shot.reach else "no reach"
            raise _Misplaced(
                found,
                f"a reach where {shot.line} was planned: {', '.join(named.values())}",
                suggestion(shot.reach, names),
            )
        return self._layout.reach(named[_plain(shot.reach)])

    def _taped(self, shot: Shot) -> tuple[Point, Evidence]:
        corners = [self._corner(name) for name, _ in shot.ties]
        tapes_m = [tape_m for _, tape_m in shot.ties]
        fixes = tape_fixes([(corner.x, corner.y) for corner in corners], tapes_m)
        slack_m = 2 * shot.evidence.private_m
        good = [fix for fix in fixes if fix.misfit_m <= slack_m]
        if not good:
            worst_m = min(fix.misfit_m for fix in fixes)
            raise _Misplaced(
                f"{len(tapes_m)} tapes that miss each other by {self._print.length(worst_m)}",
                f"tapes that meet within {self._print.length(slack_m)}",
                f"tape {' and '.join(corner.name for corner in corners)} again",
            )
        places = [(corner.x, corner.y) for corner in corners]
        error_m = shot.evidence.private_m
        fix = self._one_of(shot, good, corners, spread_m(places, tapes_m, good[0], error_m))
        taped_m = (
            error_m * fix.weakness if fix.weakness <= FLATTEST else spread_m(places, tapes_m, fix, error_m)
        )
        return Point(fix.x, fix.y), self._tape_evidence(shot, max(taped_m, fix.misfit_m), corners)

    def _corner(self, name: str) -> Corner:
        corner = self._corners.get(_plain(name))
        if corner is None:
            names = [each.name for each in self._corners.values()]
            raise _Misplaced(
                f'the corner "{name}"',
                f"one of {', '.join(names)}",
                suggestion(name, names) or "the route sheet names them",
            )
        return corner

    def _one_of(
        self, shot: Shot, fixes: Sequence[TapeFix], corners: Sequence[Corner], spread: float
    ) -> TapeFix:
        if len(fixes) == 1:
            return fixes[0]
        if shot.side:
            return max(fixes, key=lambda fix: _to_side(fix, shot.side, corners))
        way = self._layout.way(shot.line)
        near, mirror = sorted(fixes, key=lambda fix: way.distance(Point(fix.x, fix.y)))
        offs_m = [float(way.distance(Point(fix.x, fix.y))) for fix in (near, mirror)]
        as_one = hypot(near.x - mirror.x, near.y - mirror.y) <= spread
        if offs_m[1] - offs_m[0] <= CLEARLY_OFF_M and not as_one:
            offs = " and ".join(self._print.length(off) for off in offs_m)
            raise _Misplaced(
                f"two places where the tapes meet, {offs} off the plan",
                "one",
                f"say in the column side which: left or right of the line from {corners[0].name} to {corners[1].name}"
                " (or north, east, south, west of it), or tape a third corner",
            )
        return near

    def _tape_evidence(self, shot: Shot, taped_m: float, corners: Sequence[Corner]) -> Evidence:
        """Tapes, as they cross and fit, and how the corners themselves are known."""
        known = [self._evidence_of(corner) for corner in corners]
        worst = max(known, key=lambda evidence: evidence.radius_m)
        together = {evidence.outing for evidence in known} == {worst.outing} and worst.outing is not None
        return Evidence(
            method=shot.evidence.method,
            shared_m=worst.shared_m,
            private_m=hypot(taped_m, worst.private_m),
            edge_m=worst.edge_m,
            outing=worst.outing if together else None,
        )

    def _evidence_of(self, corner: Corner) -> Evidence:
        place = Point(corner.x, corner.y)
        fixed = self._site.of_kind("well", "building")
        return min(fixed, key=lambda feature: feature.shape.distance(place)).evidence


def _to_side(fix: TapeFix, side: str, corners: Sequence[Corner]) -> float:
    first, second = corners[0], corners[1]
    across = (second.x - first.x) * (fix.y - first.y) - (second.y - first.y) * (fix.x - first.x)
    return {"left": across, "right": -across, "north": fix.y, "south": -fix.y, "east": fix.x, "west": -fix.x}[
        side
    ]


def _plain(name: str) -> str:
    return " ".join(name.casefold().split())


def direction(path: LineString, along_m: float) -> tuple[float, float]:
    """Unit vector up-station at a distance [m] along a path: at a bend of the mean of both legs."""
    step = min(0.05, path.length / 2)
    a = path.interpolate(max(along_m - step, 0.0))
    b = path.interpolate(min(along_m + step, path.length))
    length = hypot(b.x - a.x, b.y - a.y)
    return (b.x - a.x) / length, (b.y - a.y) / length


def beside(path: LineString, along_m: float, offset_m: float) -> Point:
    """Place at an offset [m] from a path, left positive looking up-station."""
    here = path.interpolate(along_m)
    dx, dy = direction(path, along_m)
    return Point(here.x - dy * offset_m, here.y + dx * offset_m)


def off_m(path: LineString, place: Point) -> float:
    """Distance [m] of a place off a path, left positive looking up-station."""
    along_m = float(path.project(place))
    here = path.interpolate(along_m)
    dx, dy = direction(path, along_m)
    across = dx * (place.y - here.y) - dy * (place.x - here.x)
    distance_m = float(path.distance(place))
    return 0.0 if distance_m < TOUCH_M else distance_m if across >= 0 else -distance_m
