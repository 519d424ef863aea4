"""Checks that need the whole site: is everything there that a plan needs, and does it lie where it can be meant to lie."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import hypot

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from siteplan.read.ground import Ground
from siteplan.read.record import Spot
from siteplan.read.shapes import rough_metres
from siteplan.read.site_file import SITE_TOML
from siteplan.read.words import FaultList, Place, listed
from siteplan.site.features import Feature

MOST_ACROSS_M = 5000.0
"""Largest site across [m]; beyond it coordinates are swapped or in another system more often than not (own choice)."""

_ON_WALL_M = 1.0
_SAME_PLACE_M = 0.001
_MOST_RELIEF_M = 1000.0


def check_ground(
    ground: Ground, spots: Sequence[Spot], *, lonlat: bool, faults: FaultList, finished: bool = True
) -> None:
    """Note what is missing, what lies too far off, and entries, wells and levels that are not where they can be.

    Of a site that is not ``finished`` nothing is missing, and an entry may come before its building.
    """
    for kind, what in (("parcel", "the land that may be dug, as an area"), ("well", "the well, as a point")):
        if finished and not ground.may_have(kind):
            faults.add(
                Place(file=SITE_TOML),
                found=f"nothing of kind {kind} in the files of the folder",
                expected=what,
                mend=f'draw it, with "kind": "{kind}"',
            )
    features = [each for each in ground.features.values() if not each.shape.is_empty]
    shapes = rough_metres(
        [*(each.shape for each in features), *(spot.point for spot in spots)], lonlat=lonlat
    )
    places = [*(_place(each) for each in features), *(spot.place for spot in spots)]
    if shapes and _is_spread(shapes, places, faults):
        return
    by_id = {each.id: shape for each, shape in zip(features, shapes, strict=False)}
    if finished:
        _check_entries(ground, by_id, faults)
    _check_wells(ground, by_id, faults)
    _check_levels(spots, shapes[len(features) :], faults)


def check_elevation(elevation_m: float, spots: Sequence[Spot], place: Place, faults: FaultList) -> None:
    """Note a stated height of the site that its levels cannot be levels of: mostly another unit."""
    if spots and abs(elevation_m - mean_elevation_m(spots)) > _MOST_RELIEF_M:
        faults.add(
            place,
            found=f"{elevation_m:.0f} m, while the levels lie about {mean_elevation_m(spots):.0f} m",
            expected="the height of the levels",
            mend="is one of them in another unit?",
        )


def mean_elevation_m(spots: Sequence[Spot]) -> float:
    """Mean of the levels [m]."""
    return float(np.mean([spot.elevation_m for spot in spots]))


def _is_spread(shapes: Sequence[BaseGeometry], places: Sequence[Place], faults: FaultList) -> bool:
    """Whether the site is too large, noting each thing far from the middle of the others."""
    west, south, east, north = shapely.total_bounds(list(shapes))
    across_m = hypot(east - west, north - south)
    if across_m <= MOST_ACROSS_M:
        return False
    ends = shapely.bounds(list(shapes))
    middle = np.median((ends[:, :2] + ends[:, 2:]) / 2, axis=0)
    away_m = np.hypot(*np.maximum(np.abs(ends[:, :2] - middle), np.abs(ends[:, 2:] - middle)).T)
    far = np.flatnonzero(away_m > MOST_ACROSS_M).tolist()
    for index in far or [int(np.argmax(away_m))]:
        faults.add(
            places[index],
            found=f"a place {away_m[index] / 1000:.1f} km from the middle of the site",
            expected=f"a site of at most {MOST_ACROSS_M / 1000:.0f} km across",
            mend="are longitude and latitude (or x and y) swapped?",
        )
    return True


def _check_entries(ground: Ground, shapes: Mapping[str, BaseGeometry], faults: FaultList) -> None:
    buildings = [shapes[each.id] for each in ground.of_kind("building") if each.id in shapes]
    by_tape = len(buildings) < len(ground.of_kind("building"))
    if not ground.whole or by_tape or {"building", None} & set(ground.spoilt.values()):
        return
    for entry in (each for each in ground.of_kind("entry") if each.id in shapes):
        off_m = min((shapes[entry.id].distance(each) for each in buildings), default=None)
        if off_m is None or off_m > _ON_WALL_M:
            faults.add(
                _place(entry),
                found="an entry without a building"
                if off_m is None
                else f"an entry {off_m:.1f} m off the nearest building",
                expected=f"an entry on a wall, or within {_ON_WALL_M:g} m of it",
                mend="move it onto the wall",
            )


def _check_wells(ground: Ground, shapes: Mapping[str, BaseGeometry], faults: FaultList) -> None:
    buildings = [each.id for each in ground.of_kind("building") if each.id in shapes]
    for well in (each for each in ground.of_kind("well") if each.id in shapes):
        around = [each for each in buildings if shapes[each].contains(shapes[well.id])]
        if around:
            faults.add(
                _place(well),
                found=f"a well inside of {listed(around)}",
                expected="a well outside of every building",
                mend="move the well or redraw the building",
            )


def _check_levels(spots: Sequence[Spot], points: Sequence[BaseGeometry], faults: FaultList) -> None:
    if not spots:
        return
    seen: dict[tuple[int, int], Spot] = {}
    for spot, at in zip(spots, shapely.get_coordinates(points).tolist(), strict=True):
        first = seen.setdefault((round(at[0] / _SAME_PLACE_M), round(at[1] / _SAME_PLACE_M)), spot)
        if abs(first.elevation_m - spot.elevation_m) > _SAME_PLACE_M:
            faults.add(
                spot.place,
                found=f"a height of {spot.elevation_m:.3f} m",
                expected=f"{first.elevation_m:.3f} m, as line {first.place.line} of {first.place.file} has for the same place",
            )
    hull = shapely.multipoints(points).convex_hull
    if hull.area <= _SAME_PLACE_M * hull.length:
        faults.add(
            Place(file=spots[0].place.file),
            found=f"{len(seen)} ground heights" if len(seen) < 3 else "ground heights on one line",
            expected="at least three that do not lie on one line, or none",
            mend="level more places to either side",
        )


def _place(feature: Feature) -> Place:
    return Place(file=feature.source.file, line=feature.source.line, where=feature.id)
