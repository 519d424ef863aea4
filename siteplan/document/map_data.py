"""What the scripts of the map page read: cards, labels, the trench with its heights, names to find, pictures to lay below."""

from __future__ import annotations

import base64
from typing import Any, get_args

from shapely import LineString, Point

from siteplan.document.map_cards import cards
from siteplan.document.map_lettering import labels
from siteplan.document.map_shapes import View, bounds, places
from siteplan.document.map_tools import PHONE_GOOD_TO_M
from siteplan.document.model import Plan
from siteplan.document.symbols import is_on_the_ground
from siteplan.document.words import feature_name, named
from siteplan.route.model import Reach
from siteplan.site.underlay import Underlay
from siteplan.units import FOOT_M, Printer


def page_data(plan: Plan) -> dict[str, Any]:
    """All of it, as JSON values; lengths in metres unless they are texts, places in longitude and latitude."""
    system, metric = plan.site.units, plan.site.units == "m"
    return {
        "cards": cards(plan),
        "labels": labels(plan),
        "reaches": [reach_data(plan, reach) for reach in plan.layout.reaches],
        "names": _names(plan),
        "units": {
            "system": system,
            "unit_m": 1.0 if metric else FOOT_M,
            "full": 1000 if metric else 100,
            "interval": 10 if metric else 25,
        },
        "height_m": plan.site.elevation_m,
        "views": {view: bounds(plan, view) for view in get_args(View)},
        "underlays": [_underlay(plan, each) for each in plan.site.underlays],
        "phone_good_to": Printer(system).length(PHONE_GOOD_TO_M),
    }


def reach_data(plan: Plan, reach: Reach) -> dict[str, Any]:
    """One trench: its bends with their distances, and what lies in it and above it, stretch by stretch."""
    printer = Printer(plan.site.units)
    return {
        "name": reach.name,
        "length_m": reach.length_m,
        "places": [
            [reach.path.project(Point(place)), *at]
            for place, at in zip(reach.path.coords, places(plan, reach.path), strict=True)
        ],
        "heights": [
            [station.distance_m, station.grade_m]
            for station in plan.works.stations
            if station.reach == reach.name
        ],
        "bored": [[each.from_m, each.to_m] for each in reach.bored],
        "stretches": [
            {
                "to_m": to_m,
                "ref": f"stretch-{number}",
                "cut": printer.length(section.cut_m),
                "covers": [[named(plan, laid.line), printer.short(laid.cover_m)] for laid in section.lines],
            }
            for number, (name, _, to_m, section) in enumerate(plan.works.stretches(plan.layout.reaches), 1)
            if name == reach.name
        ],
    }


def _names(plan: Plan) -> list[tuple[str, str]]:
    """Names that can be looked for, with the card of each: things, bends, crossings."""
    stations = {
        (each.reach, each.distance_m): f"station-{number}"
        for number, each in enumerate(plan.works.stations, 1)
        if each.kind == "bend"
    }
    bends = [
        (bend.name, stations[bend.reach, bend.distance_m])
        for bend in plan.works.bends
        if (bend.reach, bend.distance_m) in stations
    ]
    crossings = [
        (f"crossing {each.number}", f"crossing-{each.number}")
        for each in plan.works.crossings
        if each.hand_to_m > each.hand_from_m
    ]
    things = [
        (feature_name(thing), f"thing-{number}")
        for number, thing in enumerate(plan.site.features, 1)
        if is_on_the_ground(thing)
    ]
    return [*things, *bends, *crossings]


def _underlay(plan: Plan, picture: Underlay) -> dict[str, Any]:
    """A picture with three of its corners: upper left, upper right, lower left."""
    assert picture.lie is not None
    width, height = picture.width_px, picture.height_px
    corners = [picture.lie.ground(*dots) for dots in ((0, 0), (width, 0), (0, height))]
    return {
        "name": picture.name,
        "source": f"data:{picture.sort};base64,{base64.b64encode(picture.content).decode('ascii')}",
        "width": width,
        "height": height,
        "corners": places(plan, LineString(corners)),
    }
