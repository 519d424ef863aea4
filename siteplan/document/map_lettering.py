"""The words lettered on the map: names, numbers, stations, and the letters set into lines; the page finds room for them.

Texts stay as they were given; whoever writes them into the page escapes them.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import shapely
from shapely import LineString, Point
from shapely.geometry.base import BaseGeometry

from siteplan.document.map_shapes import (
    finding_group,
    finding_ref,
    hand_digs,
    is_existing_line,
    is_measured,
    places,
    site_look,
    slug,
)
from siteplan.document.model import Plan
from siteplan.document.symbols import COVER, is_on_the_ground, letter, look
from siteplan.document.words import feature_name, lines_in
from siteplan.site.catalogue import kinds
from siteplan.site.features import Feature
from siteplan.units import Printer


def labels(plan: Plan) -> list[dict[str, Any]]:
    """Words to letter beside the shapes, what matters most first.

    Each has ``group``, ``look`` (classes), ``text`` and ``ref``, and a place: ``at`` (longitude, latitude), or ``along`` (a
    line: the words stand beside it, in its direction). ``must``: shown even where there is no room; ``on``: stands on the
    line; ``leader``: a thin line joins it to its place; ``near``: right beside its place or not at all; ``inside``: corners
    of the area in which the words stand if they are not larger. ``mark``: the number set in a circle or a square. ``short``:
    the words on a small map.
    """
    return [
        *_finding_labels(plan, clear=False),
        *_crossing_labels(plan),
        *_reach_labels(plan),
        *_bend_labels(plan),
        *_name_labels(plan),
        *_line_labels(plan),
        *_station_labels(plan),
        *_finding_labels(plan, clear=True),
        *_other_labels(plan),
    ]


def _finding_labels(plan: Plan, *, clear: bool) -> Iterator[dict[str, Any]]:
    for finding in plan.findings:
        if (
            is_measured(finding)
            and finding.verdict != "not applicable"
            and (finding.verdict == "clear") == clear
        ):
            yield {
                "group": finding_group(plan, finding),
                "look": f"finding {slug(finding.verdict)}",
                "mark": str(finding.number),
                "text": finding.verdict,
                "short": "",
                "along": places(plan, LineString(finding.points)),
                "on": True,
                "must": not clear,
                "ref": finding_ref(finding),
            }


def _crossing_labels(plan: Plan) -> Iterator[dict[str, Any]]:
    crossed: dict[str, list[float]] = {}
    for crossing in plan.works.crossings:
        crossed.setdefault(crossing.reach, []).append(crossing.distance_m)
        yield {
            "group": "crossings",
            "look": "crossing",
            "mark": str(crossing.number),
            "text": "hand dig" if crossing.hand_to_m > crossing.hand_from_m else "",
            "at": places(plan, Point(crossing.x, crossing.y))[0],
            "must": True,
            "leader": True,
            "ref": f"crossing-{crossing.number}",
        }
    for number, each in enumerate(hand_digs(plan), 1):
        if not any(each.from_m <= distance <= each.to_m for distance in crossed.get(each.reach, [])):
            middle = plan.layout.reach(each.reach).path.interpolate((each.from_m + each.to_m) / 2)
            yield {
                "group": "crossings",
                "look": "crossing",
                "text": "hand dig",
                "at": places(plan, middle)[0],
                "must": True,
                "leader": True,
                "ref": f"hand-{number}",
            }


def _other_labels(plan: Plan) -> Iterator[dict[str, Any]]:
    """Names of the layouts of another kind, beside the longest trench of each, and of routes as they were drawn."""
    for number, other in enumerate(plan.layout.alternatives, 1):
        longest = max(other.paths, key=lambda path: path.length)
        yield {
            "group": "other",
            "look": "line-name other",
            "text": other.name,
            "along": places(plan, longest),
            "leader": True,
            "ref": f"other-{number}",
        }
    for number, thing in enumerate(plan.site.features, 1):
        if not is_on_the_ground(thing):
            yield {
                "group": "other",
                "look": "line-name other",
                "text": feature_name(thing),
                "at": places(
                    plan, thing.shape.interpolate(0.5, normalized=True) if thing.shape.length else thing.shape
                )[0],
                "ref": f"thing-{number}",
            }


def _bend_labels(plan: Plan) -> Iterator[dict[str, Any]]:
    refs = {
        (station.reach, station.distance_m): f"station-{number}"
        for number, station in enumerate(plan.works.stations, 1)
        if station.kind == "bend"
    }
    for bend in plan.works.bends:
        yield {
            "group": "trench",
            "look": "bend",
            "text": bend.name,
            "at": places(plan, Point(bend.x, bend.y))[0],
            "ref": refs.get((bend.reach, bend.distance_m), ""),
        }


def _name_labels(plan: Plan) -> Iterator[dict[str, Any]]:
    """Names of areas and points, the well and the buildings first; lines to lay end at them."""
    ends = {end for line in plan.site.lines for end in (line.start, line.end)}
    things = [
        pair
        for pair in enumerate(plan.site.features, 1)
        if not pair[1].shape.geom_type.endswith("LineString")
        and is_on_the_ground(pair[1])
        and not _is_named_along_its_edge(pair[1])
    ]
    for number, thing in sorted(things, key=lambda pair: pair[1].id not in ends):
        mark = letter(thing)
        yield {
            "group": "ground",
            "look": f"name {slug(thing.kind)}",
            "text": f"{feature_name(thing)} ({mark})" if mark else feature_name(thing),
            "at": places(plan, thing.shape.representative_point())[0],
            "inside": _corners(plan, thing.shape),
            "ref": f"thing-{number}",
        }


def _is_named_along_its_edge(thing: Feature) -> bool:
    """Is it land with an edge that counts; a lawn, a field and woods are named inside."""
    return kinds()[thing.kind].group == "land" and look(thing) is not COVER


def _corners(plan: Plan, shape: BaseGeometry) -> list[list[float]]:
    """Opposite corners of what an area covers; none for a point."""
    west, south, east, north = shape.bounds
    return places(plan, LineString([(west, south), (east, north)])) if shape.area else []


def _reach_labels(plan: Plan) -> Iterator[dict[str, Any]]:
    for reach in plan.layout.reaches:
        yield {
            "group": "trench",
            "look": "reach",
            "text": f"{reach.name}: {lines_in(plan, reach)}",
            "short": reach.name,
            "along": places(plan, reach.path),
            "leader": True,
            "ref": "",
        }


def _line_labels(plan: Plan) -> Iterator[dict[str, Any]]:
    """Names beside lines that are there already and beside edges of land, and the letters set into the lines."""
    for number, thing in enumerate(plan.site.features, 1):
        is_line = thing.shape.geom_type.endswith("LineString")
        if not is_on_the_ground(thing) or not (is_line or _is_named_along_its_edge(thing)):
            continue
        group = "existing" if is_existing_line(thing) else "ground"
        edge = thing.shape if is_line else thing.shape.boundary
        for part in shapely.get_parts(edge):
            common = {"group": group, "along": places(plan, part), "ref": f"thing-{number}"}
            name = feature_name(thing)
            kind = kinds()[thing.kind].name
            text = name if kind.lower() in name.lower() or is_line else f"{kind}, {name}"
            yield {**common, "look": f"line-name {site_look(thing)}", "text": text}
            if is_line and look(thing).letter:
                yield {
                    **common,
                    "look": f"letter {site_look(thing)}",
                    "text": look(thing).letter,
                    "on": True,
                    "every": 120,
                }


def _station_labels(plan: Plan) -> Iterator[dict[str, Any]]:
    printer = Printer(plan.site.units)
    for number, station in enumerate(plan.works.stations, 1):
        if station.kind in ("start", "end", "interval", "tee"):
            text = printer.station(station.distance_m).removesuffix(".0")
            yield {
                "group": "trench",
                "look": "station-label",
                "text": text if station.kind == "interval" else f"{station.reach} {text}",
                "at": places(plan, Point(station.x, station.y))[0],
                "near": True,
                "ref": f"station-{number}",
            }
