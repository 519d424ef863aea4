"""The places of the tie list as they were built: where they are now, how to tape to them, and which of them nobody measured."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from math import hypot

from siteplan.measure.along import SHORT_M
from siteplan.measure.built_lines import STANDS_FOR_M
from siteplan.measure.model import Works
from siteplan.measure.record_model import Built, BuiltPoint
from siteplan.measure.tie_list import TiePoint, tie_points
from siteplan.measure.ties import Tapes, Tie, side_of
from siteplan.route.model import Layout
from siteplan.site.site import Site


@dataclass(frozen=True, slots=True, kw_only=True)
class BuiltPlace:
    """One place of the record.

    Attributes
    ----------
    number : int
        As on the key plan, from 1.
    reach, station_m : str, float
        Where it falls on the plan.
    x, y : float
        Ground metres, as measured; as planned where nobody measured.
    what : str
        As the crew or else the plan calls it.
    listed : TiePoint or None
        The place of the tie list that it is; ``None`` for a measured point that the list has not.
    point : BuiltPoint or None
        The measurement that holds; ``None``: nothing was measured here.
    ties : tuple of Tie
        Up to three, from where it is now.
    """

    number: int
    reach: str
    station_m: float
    x: float
    y: float
    what: str
    listed: TiePoint | None
    point: BuiltPoint | None
    ties: tuple[Tie, ...]

    @property
    def side(self) -> str:
        """Side of the line from the first corner to the second, "left" or "right"; ``""`` if a third tape tells."""
        return side_of(self.x, self.y, self.ties)

    @property
    def placed(self) -> bool:
        """Was the place itself measured, not only the cover."""
        return self.point is not None and self.point.measurement.placed


def built_places(site: Site, layout: Layout, works: Works, built: Built) -> tuple[BuiltPlace, ...]:
    """Every measurement that holds, and every place of the tie list that none of them stands for, reach by reach up-station."""
    planned = tie_points(site, layout, works)
    tapes = Tapes(site, works.corners)
    found = [*_measured(built, planned, tapes), *_left(built, planned)]
    reaches = [reach.name for reach in layout.reaches]
    found.sort(key=lambda place: (reaches.index(place.reach), place.station_m))
    return tuple(replace(place, number=number) for number, place in enumerate(found, 1))


def _measured(built: Built, planned: tuple[TiePoint, ...], tapes: Tapes) -> Iterator[BuiltPlace]:
    for point in built.points:
        if point.superseded:
            continue
        stands_for = [listed for listed in planned if _is(point, listed)]
        listed = min(stands_for, key=lambda each: hypot(each.x - point.x, each.y - point.y), default=None)
        yield BuiltPlace(
            number=0,
            reach=point.reach,
            station_m=point.station_m,
            x=point.x,
            y=point.y,
            what=point.measurement.what or (listed.what if listed else "point on the line"),
            listed=listed,
            point=point,
            ties=tapes.with_check(point.x, point.y),
        )


def _left(built: Built, planned: tuple[TiePoint, ...]) -> Iterator[BuiltPlace]:
    holding = [point for point in built.points if not point.superseded]
    for listed in planned:
        if any(_is(point, listed) for point in holding):
            continue
        reach, station_m = listed.places[0]
        yield BuiltPlace(
            number=0,
            reach=reach,
            station_m=station_m,
            x=listed.x,
            y=listed.y,
            what=listed.what,
            listed=listed,
            point=None,
            ties=tuple(tie for tie in listed.ties if not tie.name.startswith("point ")),
        )


def _is(point: BuiltPoint, listed: TiePoint) -> bool:
    return stands_for(point, listed.what, (listed.x, listed.y), listed.places)


def stands_for(
    point: BuiltPoint, what: str, planned: tuple[float, float], places: Iterable[tuple[str, float]]
) -> bool:
    """Tell whether a measurement stands for a planned place: by its name, or beside it along the trench under a word of it.

    Parameters
    ----------
    what : str
        What the plan calls the place; a measurement without a name may be any.
    planned : (x, y)
        Ground metres.
    places : iterable of (str, float)
        Reach and station [m], for every reach that it lies on.
    """
    if point.planned is not None:
        return hypot(point.planned[0] - planned[0], point.planned[1] - planned[1]) < SHORT_M
    return point.measurement.what.casefold() in what.casefold() and any(
        reach == point.reach and abs(station_m - point.station_m) <= STANDS_FOR_M
        for reach, station_m in places
    )
