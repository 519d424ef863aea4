"""What lies on the map: shapes in drawing order, each with its look.

A look is a class of ``web_map.css``, where the line types stand. A shape with a ``ref`` opens the card of that name (see
``map_cards``).
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Literal, TypeAlias

import shapely
from shapely import LineString, MultiLineString, Point, get_coordinates
from shapely.geometry.base import BaseGeometry
from shapely.ops import substring

from siteplan.check.finding import Finding
from siteplan.document.geojson import DECIMALS, feature
from siteplan.document.model import Plan
from siteplan.document.symbols import BORED, is_on_the_ground, look
from siteplan.measure.model import Interval
from siteplan.route.keep_off import root_zone_m
from siteplan.route.model import Bored, Reach
from siteplan.site.catalogue import kinds
from siteplan.site.features import Feature

HIDDEN_AT_FIRST = ("kept-off", "along", "other")
"""Groups that are many and settled: they would hide what is not."""

View: TypeAlias = Literal["work", "site", "trench"]

GROUPS: Mapping[str, str] = {
    "ground": "Ground",
    "trench": "Trench and stations",
    "kept-off": "Kept-off areas",
    "setbacks": "Setbacks and verdicts",
    "along": "Clear distances, trench",
    "crossings": "Crossings, hand digging",
    "existing": "Lines already there",
    "other": "Other ways",
}
"""What can be switched on the map, and its name there."""

_CODED = (
    "water-line",
    "power-line-buried",
    "telephone-data",
    "gas-propane",
    "septic-sewer",
    "buried-line-contents-unknown",
)
_ROOM = 0.04
"""Room around what is shown, as a part of its longer side."""
_BEYOND_THE_WORK = ("land", "lines already there", "route")
_CROSS_M = 0.4


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawn:
    """One shape in ground metres, its group, its classes, and the card that it opens (``""``: none)."""

    shape: BaseGeometry
    group: str
    classes: str
    ref: str = ""


def finding_ref(finding: Finding) -> str:
    """Name of the card of a finding."""
    return f"finding-{finding.number}"


def finding_group(plan: Plan, finding: Finding) -> str:
    """Group of a finding: what is clear beside the trench can be switched apart from what is not, and from the well."""
    is_along = finding.verdict == "clear" and any(line.id == finding.subject for line in plan.site.lines)
    return "along" if is_along and is_measured(finding) else "setbacks"


def is_measured(finding: Finding) -> bool:
    """Was a distance measured between two points."""
    return len(finding.points) == 2


def slug(words: str) -> str:
    """Class name made of words.

    >>> slug("power line, buried")
    'power-line-buried'
    """
    return re.sub(r"[^a-z0-9]+", "-", words.lower()).strip("-")


def site_look(thing: Feature) -> str:
    """Class of a thing of the site: the line type that its legend names."""
    return slug(look(thing).legend)


def is_existing_line(thing: Feature) -> bool:
    """Is it a line that is there already, above or below the ground."""
    return thing.shape.geom_type.endswith("LineString") and (
        site_look(thing) in _CODED or thing.kind == "overhead_line"
    )


def hand_digs(plan: Plan) -> tuple[Interval, ...]:
    """Stretches to dig by hand, as measured."""
    return tuple(each for each in plan.works.intervals if each.what.startswith("hand dig"))


def span(plan: Plan, reach: str, from_m: float, to_m: float) -> BaseGeometry:
    """Stretch of a trench, or the point if it has no length, ground metres."""
    return substring(plan.layout.reach(reach).path, from_m, to_m)


def collection(plan: Plan) -> dict[str, Any]:
    """All shapes as a FeatureCollection in degrees, in drawing order."""
    return {
        "type": "FeatureCollection",
        "features": [
            feature(
                plan.frame.to_lonlat(each.shape),
                {"look": f"group-{each.group} {each.classes}", "ref": each.ref},
                str(number),
            )
            for number, each in enumerate(drawn(plan), 1)
        ],
    }


def drawn(plan: Plan) -> Iterator[Drawn]:
    """All shapes, the lowest first."""
    things = [pair for pair in enumerate(plan.site.features, 1) if is_on_the_ground(pair[1])]
    trees = {tree.id: tree for tree in plan.site.of_kind("tree")}
    for number, thing in sorted(things, key=lambda pair: -pair[1].shape.area):
        if thing.shape.area:
            yield Drawn(
                shape=thing.shape, group="ground", classes=_classes(thing, "area"), ref=f"thing-{number}"
            )
    for kept in plan.layout.kept_off:
        if kept.feature in trees:
            radius_m, _ = root_zone_m(trees[kept.feature], plan.requirements)
            shape = trees[kept.feature].shape.buffer(radius_m)
            yield Drawn(shape=shape, group="ground", classes="area root-zone")
    for number, kept in enumerate(plan.layout.kept_off, 1):
        yield Drawn(shape=kept.area, group="kept-off", classes="area kept-off", ref=f"kept-{number}")
    for number, thing in things:
        if thing.shape.geom_type.endswith("LineString"):
            group = "existing" if is_existing_line(thing) else "ground"
            yield from _line(thing.shape, group, _classes(thing, "line"), f"thing-{number}")
    yield from _other_ways(plan)
    yield from _trench(plan)
    yield from _measured(plan)
    for number, thing in things:
        if thing.shape.geom_type.endswith("Point"):
            yield Drawn(
                shape=thing.shape, group="ground", classes=_classes(thing, "point"), ref=f"thing-{number}"
            )
    for number, station in enumerate(plan.works.stations, 1):
        yield Drawn(
            shape=Point(station.x, station.y),
            group="trench",
            classes=f"point station {station.kind}",
            ref=f"station-{number}",
        )


def _cross(place: BaseGeometry) -> MultiLineString:
    """Two short strokes through a point."""
    (west, east), (south, north) = (
        (at - _CROSS_M, at + _CROSS_M) for at in (place.centroid.x, place.centroid.y)
    )
    return MultiLineString([[(west, south), (east, north)], [(west, north), (east, south)]])


def _other_ways(plan: Plan) -> Iterator[Drawn]:
    """Layouts of another kind, routes as they were drawn, and points to pass."""
    for number, other in enumerate(plan.layout.alternatives, 1):
        for path in other.paths:
            yield Drawn(shape=path, group="other", classes="line other-way", ref=f"other-{number}")
    for number, thing in enumerate(plan.site.features, 1):
        if not is_on_the_ground(thing):
            shape = _cross(thing.shape) if thing.shape.geom_type == "Point" else thing.shape
            yield Drawn(shape=shape, group="other", classes=f"line {slug(thing.kind)}", ref=f"thing-{number}")


def _classes(thing: Feature, form: str) -> str:
    return f"{form} {site_look(thing)} {slug(thing.kind)} {thing.status}"


def _line(shape: BaseGeometry, group: str, classes: str, ref: str) -> Iterator[Drawn]:
    """A line over its halo, which keeps it apart from what it crosses and is wide enough for a finger."""
    yield Drawn(shape=shape, group=group, classes="line halo", ref=ref)
    yield Drawn(shape=shape, group=group, classes=classes, ref=ref)


def _trench(plan: Plan) -> Iterator[Drawn]:
    works, layout = plan.works, plan.layout
    for number, each in enumerate(hand_digs(plan), 1):
        yield Drawn(
            shape=span(plan, each.reach, each.from_m, each.to_m),
            group="crossings",
            classes="line hand-dig",
            ref=f"hand-{number}",
        )
    for crossing in works.crossings:
        if crossing.hand_to_m <= crossing.hand_from_m:
            continue
        yield Drawn(
            shape=span(plan, crossing.reach, crossing.hand_from_m, crossing.hand_to_m),
            group="crossings",
            classes="line hand-dig",
            ref=f"crossing-{crossing.number}",
        )
    stretches = list(enumerate(works.stretches(layout.reaches), 1))
    for classes in ("line trench-halo", "line trench"):
        for number, (reach, from_m, to_m, _) in stretches:
            yield Drawn(
                shape=span(plan, reach, from_m, to_m),
                group="trench",
                classes=classes,
                ref=f"stretch-{number}",
            )
    for trench in layout.reaches:
        for bored in trench.bored:
            shape = span(plan, trench.name, bored.from_m, bored.to_m)
            for classes in (f"line {slug(BORED.legend)}", "line bore-inside"):
                yield Drawn(shape=shape, group="trench", classes=classes, ref=bore_ref(trench, bored))


def bore_ref(reach: Reach, bored: Bored) -> str:
    """Name of the card of a bore."""
    return f"bore-{slug(reach.name)}-{reach.bored.index(bored) + 1}"


def _measured(plan: Plan) -> Iterator[Drawn]:
    """The measured lines of the findings, the worst on top, and the stretches that the others speak of."""
    for finding in reversed(plan.findings):
        group = finding_group(plan, finding)
        ref, classes = finding_ref(finding), slug(finding.verdict)
        if is_measured(finding) and finding.verdict == "not applicable":
            yield Drawn(shape=LineString(finding.points), group=group, classes="line unshown", ref=ref)
        elif is_measured(finding):
            yield from _line(LineString(finding.points), group, f"line setback {classes}", ref)
        elif finding.reach and finding.from_m is not None and finding.to_m is not None:
            shape = span(plan, finding.reach, finding.from_m, finding.to_m)
            form = "point" if shape.geom_type == "Point" else "line"
            yield Drawn(shape=shape, group=group, classes=f"{form} unshown", ref=ref)


def bounds(plan: Plan, view: View = "work") -> tuple[float, float, float, float]:
    """West, south, east, north [deg] of what to show, with room at its edge for words.

    Parameters
    ----------
    view : View
        The trenches, what was measured and what stands near, whatever the size of the land; all that is drawn; or the
        trenches only.
    """
    shapes: list[BaseGeometry] = [reach.path for reach in plan.layout.reaches]
    if view != "trench":
        shapes += [LineString(finding.points) for finding in plan.findings if is_measured(finding)]
        shapes += [
            thing.shape
            for thing in plan.site.features
            if view == "site" or kinds()[thing.kind].group not in _BEYOND_THE_WORK
        ]
    west, south, east, north = shapely.total_bounds(shapes).tolist()
    room_m = _ROOM * max(east - west, north - south)
    around = shapely.box(west - room_m, south - room_m, east + room_m, north + room_m)
    west, south, east, north = shapely.total_bounds(plan.frame.to_lonlat(around)).tolist()
    return west, south, east, north


def places(plan: Plan, shape: BaseGeometry) -> list[list[float]]:
    """Longitude and latitude of the points of a shape, nine decimals."""
    return [
        [round(x, DECIMALS), round(y, DECIMALS)]
        for x, y in get_coordinates(plan.frame.to_lonlat(shape)).tolist()
    ]
