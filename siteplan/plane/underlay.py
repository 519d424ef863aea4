"""How a picture lies on the ground, by two or three points of it whose place is known."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from math import hypot

import numpy as np
from numpy.typing import NDArray
from shapely import Point

from siteplan.errors import Fault, InputFaults
from siteplan.plane.corners import named_corners
from siteplan.plane.local import Plane
from siteplan.read.words import listed, shown, suggestion
from siteplan.site.features import Feature
from siteplan.site.site import Site
from siteplan.site.underlay import Lie, Underlay, Where

_LEAST_PX, _LEAST_M = 20.0, 1.0
"""Least distance of two points in the picture and on the ground (common practice, no source)."""
_LEAST_HEIGHT = 0.05
"""Least height of the triangle of three points, as a part of its longest side (common practice, no source)."""

_Points = NDArray[np.float64]


def with_underlays(site: Site, frame: Plane) -> Site:
    """Lay the pictures of a placed site on its ground.

    Raises
    ------
    InputFaults
        A corner or thing that is not there; points that are one, or nearly on a line, or the wrong way round.
    """
    faults: list[Fault] = []
    laid = tuple(_laid(each, site, frame, faults) for each in site.underlays)
    if faults:
        raise InputFaults(faults)
    return replace(site, underlays=laid)


def _laid(picture: Underlay, site: Site, frame: Plane, faults: list[Fault]) -> Underlay:
    named = dict(_names(site.features))
    for each in picture.points:
        if isinstance(each.at, str) and each.at not in named:
            expected = "a corner or thing such as " + listed(list(named)[:8])
            faults.append(_fault(picture, shown(each.at), expected, suggestion(each.at, named)))
            return picture
    ground = np.array([_place(each.at, named, frame) for each in picture.points])
    dots = np.array([(each.right_px, each.down_px) for each in picture.points])
    if wrong := _wrong(dots, ground):
        faults.append(_fault(picture, *wrong))
        return picture
    return replace(picture, lie=lie(dots, ground))


def _place(at: Where, named: dict[str, tuple[float, float]], frame: Plane) -> tuple[float, float]:
    if isinstance(at, str):
        return named[at]
    point = frame.to_ground(Point(at))
    return point.x, point.y


def _names(features: Iterable[Feature]) -> Iterable[tuple[str, tuple[float, float]]]:
    """Points by the name or id of the thing, corners of areas by that and the side; the first of a name counts."""
    found: dict[str, tuple[float, float]] = {}
    for feature in features:
        for name in (feature.name, feature.id):
            if feature.shape.geom_type == "Point":
                found.setdefault(name, (feature.shape.x, feature.shape.y))
            elif feature.shape.geom_type in ("Polygon", "MultiPolygon"):
                for side, x, y in named_corners(feature.shape):
                    found.setdefault(f"{name} {side}", (x, y))
    return found.items()


def _fault(picture: Underlay, found: str, expected: str, mend: str = "") -> Fault:
    return Fault(
        file=picture.source.file,
        line=picture.source.line,
        where=f"[[underlay]] {picture.name}, points",
        found=found,
        expected=expected,
        mend=mend,
    )


def _wrong(dots: _Points, ground: _Points) -> tuple[str, str, str] | None:
    """What keeps these points from laying a picture: found, expected, what to do."""
    for rows, least in ((dots, _LEAST_PX), (ground, _LEAST_M)):
        if _sides(rows).min() < least:
            return (
                "two points that are nearly one",
                f"at least {_LEAST_PX:.0f} dots and {_LEAST_M:.0f} m apart",
                "take points far apart",
            )
    if len(dots) == 3:
        crosses = [_cross(dots * (1, -1)), _cross(ground)]
        for rows, cross in zip((dots, ground), crosses, strict=True):
            if abs(cross) < _LEAST_HEIGHT * _sides(rows).max() ** 2:
                return (
                    "three points nearly on one line",
                    "a wide triangle",
                    "take the third off the line, or leave it out",
                )
        if crosses[0] * crosses[1] < 0:
            return (
                "points that turn the other way round on the ground",
                "a picture that is not mirrored",
                "two points may be swapped",
            )
    return None


def _sides(rows: _Points) -> _Points:
    """Distances of each point from the next, shape (n,)."""
    across, along = (rows - np.roll(rows, 1, axis=0)).T
    return np.asarray(np.hypot(across, along))


def _cross(rows: _Points) -> float:
    (a, b), (c, d) = rows[1] - rows[0], rows[2] - rows[0]
    return float(a * d - b * c)


def lie(dots: _Points, ground: _Points) -> Lie:
    """Lay a picture: a turn and one scale for two points, stretched along its sides as well for three.

    Parameters
    ----------
    dots : array, shape (2 or 3, 2)
        To the right and down.
    ground : array, same shape
        x east, y north [m].

    Examples
    --------
    Half a metre a dot, not turned:

    >>> lie(np.array([[0, 0], [100, 0]]), np.array([[10, 80], [60, 80]])).ground(0, 100)
    (10.0, 30.0)
    """
    turn = complex(*(ground[1] - ground[0])) / complex(*((dots[1] - dots[0]) * (1, -1)))
    start = complex(*ground[0]) - turn * complex(*(dots[0] * (1, -1)))
    similar = (turn.real, turn.imag, start.real, turn.imag, -turn.real, start.imag)
    by_two = Lie(matrix=similar, misfit_m=None)
    if len(dots) == 2:
        return by_two
    x, y = by_two.ground(*dots[2])
    solved = np.linalg.solve(np.column_stack((dots, np.ones(3))), ground)
    (a, d), (b, e), (c, f) = solved.tolist()
    return Lie(matrix=(a, b, c, d, e, f), misfit_m=hypot(ground[2][0] - x, ground[2][1] - y))
