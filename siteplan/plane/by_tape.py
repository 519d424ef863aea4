"""A further place by tape: the corners that it may be taped from, and where the measurements put it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from math import cos, radians, sin

import numpy as np
import shapely
from shapely import Point, Polygon
from shapely.geometry.base import BaseGeometry

from siteplan.errors import InputFaults
from siteplan.plane.net_names import corner_names
from siteplan.plane.place import place
from siteplan.site.features import Feature
from siteplan.site.field_notes import FieldNotes, Measurement
from siteplan.site.net import Misfit, NetPoint, NetWarning
from siteplan.site.site import Site

_ROUND = 16
"""Points in a quarter of a circle that is drawn."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Corner:
    """A point of the site that can be taped from.

    Attributes
    ----------
    name : str
        As the sheets print it, by id where that is not the only one of its name.
    written : str
        As it goes into ``ties.csv``: by id, so that a thing may be renamed.
    feature : str
        Id of the thing that it is of; ``""`` for a point that the tapes alone know.
    x, y : float
        In the placed site [m].
    at : (float, float)
        Longitude and latitude [deg].
    """

    name: str
    written: str
    feature: str
    x: float
    y: float
    at: tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class TapedPlace:
    """Where measurements put a point, and how well they fit.

    Attributes
    ----------
    point : NetPoint
        With its error ellipse.
    at : (float, float)
        Longitude and latitude [deg].
    ellipse, arcs : shapely geometry
        Its error ellipse (95 %), and a circle for each tape, in longitude and latitude.
    misfits : tuple of Misfit
        Of its own measurements, in their order.
    warnings : tuple of NetWarning
        What the net warns of with these measurements and did not without them.
    """

    point: NetPoint
    at: tuple[float, float]
    ellipse: BaseGeometry
    arcs: tuple[BaseGeometry, ...]
    misfits: tuple[Misfit, ...]
    warnings: tuple[NetWarning, ...]

    @property
    def worst(self) -> Misfit | None:
        """The one of its measurements that fits least; ``None`` if nothing checks them."""
        checked = [each for each in self.misfits if each.without is not None]
        return max(
            checked, key=lambda each: (round(abs(each.standardised), 3), abs(each.misfit)), default=None
        )


class Taping:
    """A site in longitude and latitude that a further point is taped on.

    Parameters
    ----------
    site : Site
        As ``read_site`` returns it.

    Attributes
    ----------
    faults : InputFaults or None
        What keeps the tapes that are there from being solved; then the things lie as they are drawn.
    corners : tuple of Corner
        Every point that can be named in one way only.
    owners : mapping of str to str
        By each name of a corner, in small letters: the id of its thing.

    Raises
    ------
    InputFaults
        The site cannot be placed.
    """

    def __init__(self, site: Site) -> None:
        self.site = replace(site, underlays=())
        self.faults: InputFaults | None = None
        try:
            self.placed, self.plane = place(self.site)
        except InputFaults as faults:
            if self.site.field_notes is None:
                raise
            drawn = tuple(each for each in self.site.features if not each.shape.is_empty)
            self.placed, self.plane = place(replace(self.site, features=drawn, field_notes=None))
            self.faults = faults
        self.owners: dict[str, str] = {}
        self.corners = tuple(self._corners())

    def places(self, thing: Feature, rows: Sequence[Measurement]) -> TapedPlace:
        """Solve the site with further measurements of one point.

        Parameters
        ----------
        thing : Feature
            What is placed; one of the site takes its name and former tapes with it, but not where it is drawn.
        rows : sequence of Measurement
            May be none: then those of the site alone tell. Their ``point`` is the id of the thing; the other names are those
            of corners.

        Raises
        ------
        InputFaults
            As ``plane.place`` does; all with ``where`` "side" if the measurements leave two places.
        """
        notes = self.site.field_notes or FieldNotes()
        own = {" ".join(name.split()).casefold() for name in self._names_of(thing)}

        def renamed(name: str | None) -> str | None:
            return thing.id if name and " ".join(name.split()).casefold() in own else name

        kept = tuple(
            replace(
                row,
                point=renamed(row.point) or "",
                start=renamed(row.start) or "",
                towards=renamed(row.towards),
                before=renamed(row.before),
            )
            for row in notes.measurements
        )
        others = tuple(each for each in self.site.features if each.id != thing.id)
        site = replace(
            self.site,
            features=(*others, replace(thing, shape=Point())),
            field_notes=FieldNotes(
                measurements=(*kept, *rows), by_points={**notes.by_points, thing.id: (thing.id,)}
            ),
        )
        placed, plane = place(site)
        net = placed.net
        assert net is not None
        point = next(each for each in net.points if each.name == thing.id)
        before = {each.text for each in self.placed.net.warnings} if self.placed.net else set()
        at = {each.name: (each.x, each.y) for each in net.points}
        spelled = {name.casefold(): name for name in at}
        arcs = [
            Point(at[spelled[row.start.casefold()]]).buffer(row.distance_m, quad_segs=_ROUND).exterior
            for row in rows
            if row.distance_m is not None and row.bearing_deg is None and row.start.casefold() in spelled
        ]
        centre = plane.to_lonlat(Point(point.x, point.y))
        return TapedPlace(
            point=point,
            at=(centre.x, centre.y),
            ellipse=plane.to_lonlat(_outline(point)),
            arcs=tuple(plane.to_lonlat(arc) for arc in arcs),
            misfits=net.misfits[len(net.misfits) - sum(map(_values, rows)) :],
            warnings=tuple(each for each in net.warnings if each.text not in before),
        )

    def _names_of(self, thing: Feature) -> list[str]:
        old = next((each for each in self.placed.features if each.id == thing.id), None)
        return [] if old is None else [name for name, _ in corner_names(old)]

    def _corners(self) -> Iterator[Corner]:
        notes = self.site.field_notes
        by_points = notes.by_points if notes and not self.faults else {}
        drawn = [each for each in self.placed.features if each.id not in by_points]
        named: dict[tuple[str, float, float], list[str]] = {}
        for feature in drawn:
            coordinates = _coordinates(feature.shape)
            for name, vertex in corner_names(feature):
                named.setdefault((feature.id, *coordinates[vertex]), []).append(name)
        count = Counter(name for names in named.values() for name in {each.casefold() for each in names})
        for (feature_id, x, y), names in named.items():
            unique = [name for name in names if count[name.casefold()] == 1]
            self.owners |= {name.casefold(): feature_id for name in names}
            if unique:
                yield self._corner(unique[0], unique[-1], feature_id, x, y)
        taken = set(self.owners)
        self.owners |= {name.casefold(): feature for feature, names in by_points.items() for name in names}
        for point in self.placed.net.points if self.placed.net else ():
            key = point.name.casefold()
            if point.taped and key not in taken:
                yield self._corner(point.name, point.name, self.owners.get(key, ""), point.x, point.y)

    def _corner(self, name: str, written: str, feature: str, x: float, y: float) -> Corner:
        lonlat = self.plane.to_lonlat(Point(x, y))
        return Corner(name=name, written=written, feature=feature, x=x, y=y, at=(lonlat.x, lonlat.y))


def _coordinates(shape: BaseGeometry) -> list[tuple[float, float]]:
    return [(float(x), float(y)) for x, y in shapely.get_coordinates(shape)]


def _values(row: Measurement) -> int:
    """How many measured numbers a row holds, as the net counts them."""
    return (
        (row.distance_m is not None)
        + (row.bearing_deg is not None)
        + (row.turn is not None)
        + 2 * (row.along_m is not None)
    )


def _outline(point: NetPoint) -> Polygon:
    """Error ellipse of a point as an outline [m]."""
    turn = radians(point.ellipse.bearing_deg)
    round_ = np.linspace(0.0, 2 * np.pi, 4 * _ROUND, endpoint=False)
    ahead, aside = point.ellipse.major_m * np.cos(round_), point.ellipse.minor_m * np.sin(round_)
    x = point.x + ahead * sin(turn) + aside * cos(turn)
    y = point.y + ahead * cos(turn) - aside * sin(turn)
    return Polygon(np.column_stack((x, y)))
