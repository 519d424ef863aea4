"""Paint marks to lines in the ground, in the ground plane: the mark is where the line is, not where somebody drew it.

The paint of a line that is drawn as well takes the drawn place over; what is drawn beyond the ends of the paint stays, as it
was known. Where a test hole shows the line beside its paint, it is led through the hole.
"""

from __future__ import annotations

from collections.abc import Container, Iterator, Sequence
from dataclasses import replace
from itertools import pairwise
from typing import NamedTuple

import numpy as np
import shapely
from shapely import LineString, Point
from shapely.geometry.base import BaseGeometry
from shapely.ops import substring

from siteplan.site.catalogue import kinds
from siteplan.site.features import Fact, Feature
from siteplan.site.marks import (
    HOLDS_M,
    MARK,
    MARKED,
    TEST_HOLE,
    Pothole,
    carried_under,
    kind_under,
    potholes,
)
from siteplan.site.net import Net
from siteplan.site.site import Site

BEYOND_M = 0.3
"""A drawn rest beyond the paint shorter than a foot is not kept (own choice)."""

SEEN_WITHIN_M = 0.3
"""A test hole whose own place is known to this [m, 95 %] shows where the line is; else its taped offset does (own choice)."""

_NOT_MARKED = " (not marked)"
_SIDES = {"north": (0.0, 1.0), "east": (1.0, 0.0), "south": (0.0, -1.0), "west": (-1.0, 0.0)}


class _Shift(NamedTuple):
    """How far off its paint a line was seen [m], and how far along it."""

    along_m: float
    x: float
    y: float


def with_marks(site: Site) -> Site:
    """Make lines in the ground of the paint marks.

    Parameters
    ----------
    site : Site
        In ground metres, with features of kind ``mark`` and ``test_hole`` as read.

    Returns
    -------
    Site
        Marks of a drawn line stand in its place, under its id; others are lines of their own, under the id of the mark. Pink and
        white marks, and the test holes, stay what they are.
    """
    marks = [feature for feature in site.of_kind(MARK) if carried_under(feature)]
    of_drawn = {str(mark.facts["of"]): mark for mark in marks if "of" in mark.facts}
    made: list[Feature] = []
    for feature in site.features:
        if feature.id in of_drawn:
            made += _taken_over(feature, of_drawn[feature.id])
        elif feature.kind != MARK or not carried_under(feature):
            made.append(feature)
        elif "of" not in feature.facts:
            made.append(_of_its_own(feature))
    made = [_on_its_part(feature, made) for feature in made]
    seen = [hole for hole in potholes(replace(site, features=tuple(made))) if hole.found]
    return replace(
        site,
        net=_without(site.net, of_drawn),
        features=tuple(
            _through(feature, [hole for hole in seen if hole.of == feature.id])
            if any(hole.of == feature.id for hole in seen)
            else feature
            for feature in made
        ),
    )


def _without(net: Net | None, ids: Container[str]) -> Net | None:
    """Lines that are where their paint is are not where tapes put them."""
    if net is None:
        return None
    return replace(net, chains={own: chain for own, chain in net.chains.items() if own not in ids})


def _on_its_part(feature: Feature, made: Sequence[Feature]) -> Feature:
    """A hole on a line that is marked in part belongs to the nearer part; its name says which hole, and if it was in vain."""
    of, name = feature.facts.get("of"), kinds()[TEST_HOLE].name
    if feature.kind != TEST_HOLE:
        return feature
    if feature.name == name:
        feature = replace(feature, name=f"{name} {feature.id}")
    if not feature.facts["found"]:
        feature = replace(feature, name=f"{feature.name}, nothing found")
    parts = [each for each in made if each.id in (of, f"{of}{_NOT_MARKED}")]
    nearest = min(parts, key=lambda part: part.shape.distance(feature.shape))
    return replace(feature, facts={**feature.facts, "of": nearest.id})


def _taken_over(drawn: Feature, mark: Feature) -> Iterator[Feature]:
    """Yield the line in the place of its paint, then what was drawn beyond the ends of the paint."""
    stated = {name: mark.facts[name] for name in ("diameter", "owner") if name in mark.facts}
    facts = {**_facts(mark, drawn.kind), **drawn.facts, **stated}
    yield _marked(replace(drawn, facts=facts), mark)
    rest = [] if drawn.shape.is_empty else list(_beyond(drawn.shape, mark.shape))
    if rest:
        yield replace(
            drawn,
            id=f"{drawn.id}{_NOT_MARKED}",
            name=f"{drawn.name}, not marked here",
            shape=shapely.union_all(rest),
        )


def _of_its_own(mark: Feature) -> Feature:
    kind = kind_under(mark)
    carries = carried_under(mark).replace("_", " ")
    name = f"{carries}, marked" if mark.name == kinds()[MARK].name else mark.name
    return _marked(replace(mark, kind=kind, name=name, facts=_facts(mark, kind)), mark)


def _facts(mark: Feature, kind: str) -> dict[str, Fact]:
    """What paint says of a line; the width that is painted is taken as its diameter."""
    said = {name: value for name, value in mark.facts.items() if name not in ("of", "width", "carries")}
    if kind == "buried_line":
        said["carries"] = carried_under(mark).replace("_", " ")
    width = mark.facts.get("width")
    return said if width is None else {"diameter": width, **said}


def _marked(feature: Feature, mark: Feature) -> Feature:
    return replace(
        feature, shape=mark.shape, evidence=replace(mark.evidence, method=MARKED), source=mark.source
    )


def _beyond(drawn: BaseGeometry, paint: LineString) -> Iterator[LineString]:
    """Yield what is drawn past the ends of the paint, joined to these ends so that no gap is left between."""
    parts = list(shapely.get_parts(drawn))
    nearest = min(parts, key=lambda part: part.distance(paint))
    yield from (part for part in parts if part is not nearest)
    if paint.is_closed:
        return
    ends = [(nearest.project(Point(at)), at) for at in (paint.coords[0], paint.coords[-1])]
    (first_m, first), (last_m, last) = sorted(ends)
    if first_m > BEYOND_M:
        yield LineString([*substring(nearest, 0.0, first_m).coords, first])
    if nearest.length - last_m > BEYOND_M:
        yield LineString([last, *substring(nearest, last_m, nearest.length).coords])


def _through(feature: Feature, holes: Sequence[Pothole]) -> Feature:
    """Lead a line through the places where it was seen; its size there is its diameter if none is stated."""
    if "diameter" not in feature.facts and (sizes_m := [hole.size_m for hole in holes if hole.size_m]):
        feature = replace(feature, facts={**feature.facts, "diameter": max(sizes_m)})
    parts = list(shapely.get_parts(feature.shape))
    shifts: dict[int, list[_Shift]] = {}
    for hole in holes:
        number = min(range(len(parts)), key=lambda at: parts[at].distance(Point(hole.x, hole.y)))
        if shift := _shift(parts[number], hole):
            shifts.setdefault(number, []).append(shift)
    if not shifts:
        return feature
    led = [_led(part, shifts[number]) if number in shifts else part for number, part in enumerate(parts)]
    return replace(feature, shape=led[0] if len(led) == 1 else shapely.MultiLineString(led))


def _shift(line: LineString, hole: Pothole) -> _Shift | None:
    place = Point(hole.x, hole.y)
    along_m = line.project(place)
    foot = line.interpolate(along_m)
    if hole.offset_m is not None:
        if not hole.offset_m:
            return _Shift(along_m, 0.0, 0.0)
        x, y = square_off(line, along_m, hole.offset_side)
        return _Shift(along_m, x * hole.offset_m, y * hole.offset_m)
    if hole.evidence.radius_m > SEEN_WITHIN_M:
        return None
    return _Shift(along_m, place.x - foot.x, place.y - foot.y)


def square_off(line: LineString, along_m: float, side: str) -> tuple[float, float]:
    """Unit vector square to a line at a distance along it, to a side of the world; (0, 0) if it has no such side there.

    >>> square_off(LineString([(0, 0), (10, 1)]), 5, "north")[1] > 0.99
    True
    """
    back, on = line.interpolate(max(along_m - 0.5, 0.0)), line.interpolate(min(along_m + 0.5, line.length))
    run = np.array([on.x - back.x, on.y - back.y])
    square = np.array([-run[1], run[0]]) / np.hypot(*run)
    leans = float(square @ np.array(_SIDES[side]))
    if abs(leans) < 0.1:
        return 0.0, 0.0
    x, y = (square if leans > 0 else -square).tolist()
    return x, y


def _led(line: LineString, shifts: Sequence[_Shift]) -> LineString:
    """Shift a line as it was seen: fully as far as a hole holds, back on its paint as far again beyond it."""
    shifts = sorted(shifts)
    gaps = [after.along_m - before.along_m for before, after in pairwise(shifts)]
    knots = [_Shift(shifts[0].along_m - 2 * HOLDS_M, 0.0, 0.0)]
    for shift, before_m, after_m in zip(shifts, [np.inf, *gaps], [*gaps, np.inf], strict=True):
        knots.append(shift._replace(along_m=shift.along_m - min(HOLDS_M, before_m / 3)))
        knots.append(shift._replace(along_m=shift.along_m + min(HOLDS_M, after_m / 3)))
    knots.append(_Shift(shifts[-1].along_m + 2 * HOLDS_M, 0.0, 0.0))
    legs_m = np.hypot(*np.diff(shapely.get_coordinates(line), axis=0).T)
    corners = np.cumsum(legs_m)[:-1].tolist()
    inside = [knot.along_m for knot in knots if 0.0 < knot.along_m < line.length]
    at_m = np.unique([0.0, *corners, *inside, line.length])
    known_m = [knot.along_m for knot in knots]
    x = np.interp(at_m, known_m, [knot.x for knot in knots])
    y = np.interp(at_m, known_m, [knot.y for knot in knots])
    places = shapely.get_coordinates([line.interpolate(each) for each in at_m])
    return LineString(places + np.column_stack([x, y]))
