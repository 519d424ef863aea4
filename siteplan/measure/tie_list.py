"""The places to tape before backfill, numbered: starts, ends, bends, tees, crossings, the ends of sleeves and bores."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from itertools import combinations
from math import asin, degrees, hypot

from siteplan.measure.along import SHORT_M
from siteplan.measure.model import Corner, Works
from siteplan.measure.sleeves import sleeves
from siteplan.measure.surfaces import stretches
from siteplan.measure.ties import Tapes, Tie, side_of
from siteplan.route.model import Layout, Reach
from siteplan.site.site import Site

KINDS = ("start", "end", "bend", "tee", "crossing")
_NOT_A_PLACE = ("hand dig ", "pile ", "no room ")


@dataclass(frozen=True, slots=True, kw_only=True)
class TiePoint:
    """One place to tape.

    Attributes
    ----------
    number : int
        As on the key plan, from 1.
    places : tuple of (str, float)
        Reach, and distance [m] along it; a tee lies on more than one.
    x, y : float
        Ground metres, on the centreline.
    what : str
        Trade words, as on the route sheet.
    kind : str
        start, end, bend, tee, crossing, or pipe for the end of a sleeve or bore.
    covers : tuple of (str, float)
        Lines by id and the cover [m] that the rules ask there; the larger where two sections meet.
    ties : tuple of Tie
        Up to three. Where fewer than two corners are seen, tapes to the points of the list beside it make up the two.
    corner : str
        Name of the corner that it is itself, as a casing is; ``""`` otherwise.
    """

    number: int
    places: tuple[tuple[str, float], ...]
    x: float
    y: float
    what: str
    kind: str
    covers: tuple[tuple[str, float], ...] = ()
    ties: tuple[Tie, ...] = ()
    corner: str = ""

    @property
    def side(self) -> str:
        """Side of the line from the first corner to the second, "left" or "right"; ``""`` if a third tape tells."""
        return side_of(self.x, self.y, self.ties)

    @property
    def crossing_deg(self) -> float:
        """How squarely two of the tapes cross at best [deg, 0 to 90]; 0 with fewer than two."""
        ways = [((tie.x - self.x) / tie.tape_m, (tie.y - self.y) / tie.tape_m) for tie in self.ties]
        sines = [abs(ax * by - ay * bx) for (ax, ay), (bx, by) in combinations(ways, 2)]
        return degrees(asin(min(max(sines, default=0.0), 1.0)))


def tie_points(site: Site, layout: Layout, works: Works) -> tuple[TiePoint, ...]:
    """List the places to tape, reach by reach and up-station; what lies within a centimetre is one place."""
    found: list[TiePoint] = []
    for point in _places(site, layout, works):
        same = [n for n, other in enumerate(found) if _near(other, point)]
        if same:
            first = found[same[0]]
            found[same[0]] = replace(first, places=(*first.places, *point.places))
        else:
            found.append(replace(point, number=len(found) + 1))
    tapes = Tapes(site, works.corners)
    tied = [
        replace(
            point,
            covers=tuple(_covers(layout, works, point.places)),
            ties=tapes.with_check(point.x, point.y),
            corner=next((corner.name for corner in works.corners if _near(corner, point)), ""),
        )
        for point in found
    ]
    return tuple(replace(point, ties=_made_up(tapes, point, tied)) for point in tied)


def _near(one: TiePoint | Corner, other: TiePoint) -> bool:
    return hypot(one.x - other.x, one.y - other.y) < SHORT_M


def _places(site: Site, layout: Layout, works: Works) -> Iterator[TiePoint]:
    for reach in layout.reaches:
        marks: list[tuple[float, str, str]] = [
            (station.distance_m, _plain(station.what), station.kind)
            for station in works.stations
            if station.reach == reach.name and station.kind in KINDS
        ]
        marks += [(distance_m, what, "pipe") for distance_m, what in _pipe_ends(site, reach)]
        for distance_m, what, kind in sorted(marks):
            place = reach.path.interpolate(distance_m)
            yield TiePoint(
                number=0, places=((reach.name, distance_m),), x=place.x, y=place.y, what=what, kind=kind
            )


def _pipe_ends(site: Site, reach: Reach) -> Iterator[tuple[float, str]]:
    """Ends of sleeves; of bores where no sleeve is drawn in."""
    laid = list(sleeves(site, reach, stretches(site, reach)))
    pipes = [("sleeve", each.feature, each.from_m, each.to_m) for each in laid]
    sleeved = {each.feature for each in laid if each.bored}
    pipes += [
        ("bore", each.feature, each.from_m, each.to_m) for each in reach.bored if each.feature not in sleeved
    ]
    for name, feature, *ends in dict.fromkeys(pipes):
        for distance_m in ends:
            if SHORT_M < distance_m < reach.length_m - SHORT_M:
                yield distance_m, f"{name} end, {site.feature(feature).name}"


def _plain(what: str) -> str:
    """Words of a station without those that tell how to dig there."""
    return "; ".join(part for part in what.split("; ") if not part.startswith(_NOT_A_PLACE))


def _covers(layout: Layout, works: Works, places: Iterable[tuple[str, float]]) -> Iterator[tuple[str, float]]:
    asked: dict[str, float] = {}
    for name, distance_m in places:
        for _, begin_m, end_m, section in works.stretches([layout.reach(name)]):
            if begin_m - SHORT_M <= distance_m <= end_m + SHORT_M:
                for laid in section.lines:
                    if laid.required.least_m is not None:
                        asked[laid.line] = max(laid.required.least_m, asked.get(laid.line, 0.0))
    yield from asked.items()


def _made_up(tapes: Tapes, point: TiePoint, points: list[TiePoint]) -> tuple[Tie, ...]:
    """Ties of a point, with tapes to the points beside it where fewer than two corners are seen."""
    ties = list(point.ties)
    held = {tie.name for tie in ties}
    reaches = {name for name, _ in point.places}
    for other in points:
        beside = abs(other.number - point.number) == 1 and reaches & {name for name, _ in other.places}
        if not beside or other.corner in held or point.corner or len(ties) >= 2:
            continue
        tape_m = tapes.between((point.x, point.y), (other.x, other.y))
        if tape_m is not None:
            ties.append(Tie(name=f"point {other.number}", x=other.x, y=other.y, tape_m=tape_m))
    return tuple(ties)
