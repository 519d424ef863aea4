"""How wrong the drawing may be: how far each thing may lie from where it is drawn before the plan no longer holds.

Everything near the trench may be off. The nearest of it, moved straight at the trench, first makes a distance short, and
then lies in the way of the digging. Both are exact: a shift of a thing changes its distance by no more than the shift,
and by all of it along the shortest line between the two.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Literal

import shapely
from shapely import LineString, Point
from shapely.geometry.base import BaseGeometry
from shapely.ops import nearest_points, substring

from siteplan.route.grown import grown
from siteplan.route.keep_off import edge_of_land, half_trench_m, land_of, root_zone_m
from siteplan.route.model import KeptOff, Layout
from siteplan.rules.conditions import label
from siteplan.rules.model import Requirements, Setback
from siteplan.site.catalogue import kinds
from siteplan.site.features import Feature
from siteplan.site.site import Site
from siteplan.units import FOOT_M, INCH_M, Printer

FAR_M = 30.0
"""A thing that may be off by this much [m] is not named: no drawing is that wrong (own choice)."""

_STEP_M = {"ft": FOOT_M / 10, "ft-in": INCH_M / 2, "m": 0.01}
_HALF = 0.5 - 1e-6
_NEAR_M = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Tolerance:
    """How far one thing may lie from where it is drawn.

    Attributes
    ----------
    feature : str
        Id of the thing.
    name : str
        Its name, as it prints.
    shift_m : float
        Least shift [m], towards ``where``, at which it fails; 0 if it does as drawn.
    fails : {"route", "distance"}
        Whether the trench would run into the thing itself, or a distance that is asked would be short.
    row : str
        Id of the rules row that asks for the distance; ``""`` for common practice, and where the trench runs into it.
    where : Point
        The place on the trench, or the well, that comes into it first; ground metres.
    way : str
        Id of the line to lay whose way comes nearest, or of the well.
    missing : tuple of str
        Facts that nobody states and on which the row depends: the larger of the distances that it may ask is counted.
    """

    feature: str
    name: str
    shift_m: float
    fails: Literal["route", "distance"]
    row: str
    where: Point
    way: str
    missing: tuple[str, ...] = ()


def drawing_errors(
    site: Site, requirements: Requirements, layout: Layout, *, half_width_m: float | None = None
) -> tuple[Tolerance, ...]:
    """Find how far each thing may lie from where it is drawn.

    Parameters
    ----------
    site : Site
        In ground metres.
    requirements : Requirements
        What is asked; no error bands are counted, they are what is asked about here.
    layout : Layout
        As it was laid on this site.
    half_width_m : float, optional
        Half the trench [m] where it is widest; half the bucket unless given. The lines lie within it, so that no
        distance of a line's own edge is less.

    Returns
    -------
    tuple of Tolerance
        The least first. For each thing at most one for its distance and one for the trench itself, for each well and
        thing one for each row; shifts of ``FAR_M`` and more are left out. A building where a trench ends is measured from where
        the trench comes to its wall. A line that is crossed may lie where it likes: it is crossed then in another place.
    """
    half_m = half_trench_m(site) if half_width_m is None else half_width_m
    found = [*_kept(site, requirements, layout, half_m), *_beside(site, requirements, layout, half_m)]
    found += [
        _from_well(site, setback)
        for setback in requirements.setbacks
        if setback.subject == "well" and setback.applies
    ]
    near = (one for one in found if one.shift_m < FAR_M)
    return tuple(
        sorted(near, key=lambda one: (round(one.shift_m, 9), one.feature, one.fails, one.row, one.way))
    )


def words(site: Site, tolerance: Tolerance) -> str:
    """Say it in a sentence; the shift is printed no larger than it is.

    Parameters
    ----------
    site : Site
        The site of the tolerance.
    """
    thing = _words_of(site, tolerance)
    is_well = tolerance.way in {feature.id for feature in site.features}
    way = site.feature(tolerance.way).name if is_well else site.line(tolerance.way).name
    what = (
        f"The distance from {way} to {thing}"
        if tolerance.fails == "distance"
        else f"The trench of {way} past {thing}"
    )
    facts = ", ".join(f"{label(fact)} of the {fact.partition('.')[0]}" for fact in tolerance.missing)
    unstated = f" (the larger distance counts while nobody states: {facts})" if facts else ""
    if tolerance.shift_m == 0.0:
        return f"{what} is short as drawn{unstated}."
    if tolerance.shift_m < _STEP_M[site.units]:
        return f"{what} has nothing to spare as drawn{unstated}."
    return (
        f"{what} holds while it is within {at_most(site, tolerance.shift_m)} of where it is drawn{unstated}."
    )


def at_most(site: Site, length_m: float) -> str:
    """Print a length [m] no larger than it is."""
    return Printer(site.units).length(length_m - _STEP_M[site.units] * _HALF)


def at_least(site: Site, length_m: float) -> str:
    """Print a length [m] no smaller than it is."""
    return Printer(site.units).length(length_m + _STEP_M[site.units] * _HALF)


def _words_of(site: Site, tolerance: Tolerance) -> str:
    feature = site.feature(tolerance.feature)
    if feature.kind == "parcel":
        return "the property line"
    return f"the edge of {feature.name}" if feature.shape.area > 0.0 else tolerance.name


def _kept(site: Site, requirements: Requirements, layout: Layout, half_m: float) -> Iterator[Tolerance]:
    """For each thing kept off: the distance that is nearest to short, and the trench itself.

    Of a tree that is not bored under all roots count, as the review asks of an open trench.
    """
    drawn = {feature.id: feature for feature in site.features}
    bored = {bored.feature for reach in layout.reaches for bored in reach.bored}
    by_feature: dict[str, list[KeptOff]] = {}
    for kept in layout.kept_off:
        if kept.feature in drawn:
            by_feature.setdefault(kept.feature, []).append(kept)
    for feature_id, asks in by_feature.items():
        feature = drawn[feature_id]
        shape = land_of(site).boundary if feature_id == edge_of_land(site) else feature.shape
        opened = feature.kind == "tree" and feature_id not in bored
        roots_m = root_zone_m(feature, requirements)[0] if opened else 0.0
        full = [replace(kept, required_m=max(kept.required_m, roots_m)) for kept in asks]
        asked = [
            _nearest(feature, shape, _ways(layout, kept.lines, feature, shape, kept), half_m, kept)
            for kept in full
            if kept.required_m > 0.0
        ]
        if asked:
            least = min(asked, key=lambda one: one.shift_m)
            yield replace(least, missing=_missing(requirements, least))
        widest = max(asks, key=lambda kept: kept.distance_m)
        every = [path.line for path in layout.paths]
        yield _nearest(feature, shape, _ways(layout, every, feature, shape, widest), half_m, None)


def _missing(requirements: Requirements, tolerance: Tolerance) -> tuple[str, ...]:
    """Facts that the row of a line setback lacks."""
    asked = (tolerance.way, tolerance.feature, tolerance.row)
    facts = (
        fact
        for setback in requirements.setbacks
        if setback.subject == "line" and (setback.of, setback.to, setback.citation.row) == asked
        for fact in setback.missing
    )
    return tuple(dict.fromkeys(facts))


def _ways(
    layout: Layout, lines: Iterable[str], feature: Feature, shape: BaseGeometry, kept: KeptOff
) -> dict[str, BaseGeometry]:
    """Ways of lines by id; without the last leg to the wall of a thing that they are led to."""
    ways: dict[str, BaseGeometry] = {}
    for line in lines:
        way = layout.way(line)
        is_led_to = feature.kind == "building" or way.distance(shape) <= _NEAR_M
        if is_led_to and isinstance(way, LineString):
            zone = grown(shape, kept.distance_m, corners="inside")
            starts, ends = shapely.dwithin(zone, shapely.points([way.coords[0], way.coords[-1]]), _NEAR_M)
            start_m = _leg_m(way, zone) if starts else 0.0
            end_m = _leg_m(shapely.reverse(way), zone) if ends else 0.0
            if starts or ends:
                way = substring(way, start_m, max(way.length - end_m, start_m))
        ways[line] = way
    return ways


def _leg_m(way: LineString, zone: BaseGeometry) -> float:
    """Distance [m] from the start of a way, which is in a zone, to where it leaves that."""
    outside = way.difference(zone.buffer(-_NEAR_M))
    places = shapely.points(shapely.get_coordinates(outside))
    along_m = shapely.line_locate_point(way, places)
    left = along_m[along_m > _NEAR_M]
    return float(left.min()) if len(left) else float(way.length)


def _nearest(
    feature: Feature, shape: BaseGeometry, ways: dict[str, BaseGeometry], half_m: float, kept: KeptOff | None
) -> Tolerance:
    """Measure one thing from the way that is nearest: against what is asked, or against the trench itself."""
    line = min(ways, key=lambda one: (ways[one].distance(shape), one))
    where, _ = nearest_points(ways[line], shape)
    spare_m = where.distance(shape) - half_m - (kept.required_m if kept else 0.0)
    return Tolerance(
        feature=feature.id,
        name=feature.name,
        shift_m=max(spare_m, 0.0),
        fails="distance" if kept else "route",
        row=kept.row if kept else "",
        where=where,
        way=line,
    )


def _beside(site: Site, requirements: Requirements, layout: Layout, half_m: float) -> Iterator[Tolerance]:
    """For each buried line that no trench meets: the distance asked alongside, and the trench itself.

    What is asked alongside is measured to all of the line, also where it leads away: that is on the careful side.
    """
    ways = {path.line: layout.way(path.line) for path in layout.paths}
    for feature in site.features:
        if kinds()[feature.kind].dig != "cross":
            continue
        if any(way.distance(feature.shape) <= _NEAR_M for way in ways.values()):
            continue
        outside_m = half_m + float(feature.facts.get("diameter", 0.0)) / 2
        bare = _nearest(feature, feature.shape, ways, outside_m, None)
        yield bare
        asked = [
            (way.distance(feature.shape) - outside_m - (separation.beside_m or 0.0), line, separation)
            for line, way in ways.items()
            if (separation := requirements.separation(line, feature.id)) and separation.beside_m
        ]
        if asked:
            spare_m, line, separation = min(asked, key=lambda one: one[:2])
            yield Tolerance(
                feature=feature.id,
                name=feature.name,
                shift_m=max(spare_m, 0.0),
                fails="distance",
                row=separation.citation.row,
                where=nearest_points(ways[line], feature.shape)[0],
                way=line,
            )


def _from_well(site: Site, setback: Setback) -> Tolerance:
    """Measure one distance from a well: no route changes it."""
    well, feature = site.feature(setback.of), site.feature(setback.to)
    shape = feature.shape.boundary if feature.kind == "parcel" else feature.shape
    radius_m = float(well.facts.get("casing_diameter", 0.0)) / 2
    off_m = 0.0 if setback.from_point == "casing centre" else radius_m
    spare_m = well.shape.distance(shape) - off_m - setback.least.metres
    return Tolerance(
        feature=feature.id,
        name=feature.name,
        shift_m=max(spare_m, 0.0),
        fails="distance",
        row=setback.citation.row,
        where=nearest_points(well.shape, shape)[0],
        way=well.id,
        missing=setback.missing,
    )
