"""From a site and its field notes to the tape net: every point solved together, the things moved to where the tapes put them.

Tapes give the shape. Coordinates that a file states (a phone, a photo, a survey) take part with their own error, and with one
shift for each outing, which all of its coordinates share: so they say where the shape lies, and bend it only as far as they are
better than the tape.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TypeAlias

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry

from siteplan.plane import net_faults
from siteplan.plane.adjust import Adjusted
from siteplan.plane.ground import surface_of
from siteplan.plane.net_names import Names, named
from siteplan.plane.net_report import misfits_of, warnings_of
from siteplan.plane.net_solve import NetSolver, outing_of
from siteplan.read.words import FaultList
from siteplan.site.evidence import Evidence
from siteplan.site.features import Feature
from siteplan.site.net import Net, NetPoint, Shift, error_ellipse
from siteplan.site.site import Site
from siteplan.units import Printer

Floats: TypeAlias = NDArray[np.float64]

OUTING = "tape ties"
_TAPED = 0.75
"""A thing whose coordinates the tapes better to less than this part of their own error counts as taped."""


def with_net(site: Site) -> Site:
    """Solve the tapes of a placed site.

    Parameters
    ----------
    site : Site
        In ground metres; things known by tape have empty shapes.

    Returns
    -------
    Site
        With ``net``, and its things where the net puts them; the same site if nothing was taped.

    Raises
    ------
    InputFaults
        What cannot be solved: names that are not there, points that hang in the air, tapes that cannot meet, a side not told.
    """
    if site.field_notes is None:
        return site
    faults = FaultList()
    names = named(site, site.field_notes, faults)
    if len(faults):
        raise faults.error()
    solver = NetSolver(site, site.field_notes, names, faults)
    adjusted = solver.solved()
    if adjusted is None:
        raise faults.error()
    return _Result(site, names, solver, adjusted, faults).site()


class _Result:
    """The solved net as nouns, and the site with its things moved."""

    def __init__(
        self, site: Site, names: Names, solver: NetSolver, adjusted: Adjusted, faults: FaultList
    ) -> None:
        self._site, self._names, self._solver = site, names, solver
        self._adjusted, self._faults = adjusted, faults
        count = len(names.names)
        self._places = adjusted.places[:count]
        self._covariance = adjusted.covariance[: 2 * count, : 2 * count]
        self._frame = solver.frame()
        self._in_frame = self._against_frame()

    def site(self) -> Site:
        """Return the site with its net; InputFaults if a thing comes out crossed."""
        shifts, print_ = self._shifts(), Printer(self._site.units)
        features = tuple(self._moved(each, shifts) for each in self._site.features)
        net_faults.check_shapes(features, self._names.chains, print_, self._faults)
        if len(self._faults):
            raise self._faults.error()
        solver, names = self._solver, self._names

        def again(left_out: frozenset[int]) -> tuple[Adjusted, Floats] | None:
            return solver.without(left_out, self._adjusted.places)

        misfits = misfits_of(solver.rows, solver.of_row, self._adjusted, again)
        points = tuple(
            NetPoint(
                name=name,
                x=float(self._places[number, 0]),
                y=float(self._places[number, 1]),
                ellipse=error_ellipse(_of_point(self._in_frame, number)),
                taped=number < names.taped,
            )
            for number, name in enumerate(names.names)
        )
        coordinates = [(solver.features[each], rows) for each, rows in solver.of_coordinate.items()]
        warnings = warnings_of(
            points,
            solver.rows,
            misfits,
            coordinates,
            self._adjusted,
            again,
            names.vertices,
            surface_of(self._site.levels),
            print_,
        )
        net = Net(
            points=points,
            covariance=self._covariance,
            chains=names.chains,
            misfits=misfits,
            warnings=warnings,
            shifts=tuple(Shift(outing=outing, east_m=x, north_m=y) for outing, (x, y) in shifts.items()),
        )
        return replace(self._site, features=features, net=net)

    def _shifts(self) -> dict[str, tuple[float, float]]:
        """What is to be added to the coordinates of each outing [m]."""
        found = self._adjusted.places[len(self._names.names) :]
        return {
            outing: (-float(x), -float(y))
            for outing, (x, y) in zip(self._solver.outings, found.tolist(), strict=True)
        }

    def _moved(self, feature: Feature, shifts: Mapping[str, tuple[float, float]]) -> Feature:
        numbers = self._names.vertices.get(feature.id)
        if numbers is not None:
            at = self._places[list(numbers)]
            shape = _made(feature.shape, at)
            return replace(feature, shape=shape, evidence=self._evidence(feature, numbers))
        if feature.evidence.shared_m > 0 and (outing := feature.evidence.outing) in shifts:
            shift: Floats = np.array(shifts[str(outing)])
            return replace(feature, shape=shapely.transform(feature.shape, lambda rows: rows + shift))
        return feature

    def _evidence(self, feature: Feature, numbers: tuple[int, ...]) -> Evidence:
        """How surely it lies against what the net hangs on, and what it is out by with all the rest."""
        private_m = max(error_ellipse(_of_point(self._in_frame, each)).radius_m for each in numbers)
        whole_m = max(error_ellipse(_of_point(self._covariance, each)).radius_m for each in numbers)
        before = feature.evidence
        stated_m = before.private_m if outing_of(feature) == self._frame else before.radius_m
        bettered = feature.shape.is_empty or private_m < _TAPED * stated_m
        named_ = {each.evidence.outing for each in self._solver.features.values()}
        return replace(
            before,
            method="taped" if bettered else before.method,
            private_m=private_m,
            shared_m=max(whole_m**2 - private_m**2, 0.0) ** 0.5,
            outing=self._frame if self._frame and self._frame in named_ else OUTING,
        )

    def _against_frame(self) -> Floats:
        """Covariance of the points against what the net hangs on.

        That is an outing, whose shift is not in it; or where coordinates do not tell the direction the line held: where that lies
        and how it bears moves the whole and changes no distance.
        """
        count = 2 * len(self._names.names)
        taken = np.eye(count, len(self._adjusted.covariance))
        if self._frame is not None:
            shift = count + 2 * self._solver.outings.index(self._frame)
            taken[0::2, shift], taken[1::2, shift + 1] = 1.0, 1.0
        if self._solver.held is not None:
            start, end = self._solver.held
            ahead = self._places[end] - self._places[start]
            turn = np.array((-ahead[1], ahead[0])) / (ahead @ ahead)
            around = self._places - self._places[start]
            taken[0::2, 2 * start] -= 1.0
            taken[1::2, 2 * start + 1] -= 1.0
            swing = np.column_stack((-around[:, 1], around[:, 0])).ravel()
            taken[:, 2 * end : 2 * end + 2] -= np.outer(swing, turn)
            taken[:, 2 * start : 2 * start + 2] += np.outer(swing, turn)
        return np.asarray(taken @ self._adjusted.covariance @ taken.T)


def _of_point(covariance: Floats, number: int) -> Floats:
    two = slice(2 * number, 2 * number + 2)
    return covariance[two, two]


def _made(shape: BaseGeometry, at: Floats) -> BaseGeometry:
    """Return the shape at other coordinates; an empty one is made of them."""
    if not shape.is_empty:
        moved: BaseGeometry = shapely.set_coordinates(shapely.force_2d(shape), at)
        return moved
    return {
        "Point": lambda: Point(at[0]),
        "LineString": lambda: LineString(at),
        "Polygon": lambda: Polygon(at),
    }[shape.geom_type]()
