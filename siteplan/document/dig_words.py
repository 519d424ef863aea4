"""Where the dig is, in words made from geometry, as they are read to somebody who has no map."""

from __future__ import annotations

import shapely

from siteplan.document.dig_area import STRIP_M, dig_area
from siteplan.document.model import Plan
from siteplan.document.words import compass, feature_name, named, reach_in_words
from siteplan.measure.along import met
from siteplan.measure.whereabouts import FromCorner, Straight, from_corner, sides_of, straights
from siteplan.route.keep_off import land_of
from siteplan.route.model import Reach
from siteplan.units import Printer

_SIDES = {"N": "north", "E": "east", "S": "south", "W": "west"}
_ALONG_AN_AXIS_M = 0.05


def trench_in_words(plan: Plan, reach: Reach) -> str:
    """Say where one trench runs, from where to where, straight by straight.

    Without north it says the tapes to its start and end instead of directions.
    """
    said = [reach_in_words(plan, reach, Printer(plan.site.units).length(STRIP_M))]
    said += _place(plan, reach, 0, "It starts")
    if plan.frame.north_known:
        parts = straights(reach, plan.works.bends)
        if len(parts) > 1:
            said.append(f"Straight by straight: {'; '.join(_straight(plan, part) for part in parts)}.")
    said += _place(plan, reach, -1, "It ends")
    return " ".join(said)


def corner_in_words(plan: Plan, found: FromCorner) -> str:
    """Say where a place lies from a corner: "230.0 ft west and 25.0 ft south of the southwest corner of the Barn"."""
    printer = Printer(plan.site.units)
    ways = [
        f"{printer.length(abs(length_m))} {after if length_m > 0 else before}"
        for length_m, before, after in (
            (found.east_m, "west", "east"),
            (found.north_m, "south", "north"),
        )
        if abs(length_m) > _ALONG_AN_AXIS_M
    ]
    side, *number = found.side.split(" ")
    corner = " ".join(["".join(_SIDES[letter] for letter in side), "corner", *number])
    where = f"{' and '.join(ways)} of" if ways else "at"
    return f"{where} the {corner} of the {named(plan, found.building)}"


def _place(plan: Plan, reach: Reach, end: int, head: str) -> list[str]:
    """Where a trench starts (0) or ends (-1)."""
    if plan.frame.north_known:
        x, y = reach.path.coords[end]
        found = from_corner(plan.site, x, y)
        return [f"{head} {corner_in_words(plan, found)}."] if found else []
    printer = Printer(plan.site.units)
    ties = [station.ties for station in plan.works.stations if station.reach == reach.name][end]
    tapes = " and ".join(f"{printer.length(tape_m)} from {name}" for name, tape_m in ties)
    return [f"{head} {tapes}."] if tapes else []


def _straight(plan: Plan, part: Straight) -> str:
    way = f"{Printer(plan.site.units).length(part.length_m)} {compass(part.bearing_deg)}"
    bearing = round(part.bearing_deg) % 360
    return f"{way} ({bearing} deg) to {f'bend {part.to}' if part.to else 'the end'}"


def sides_in_words(plan: Plan) -> str:
    """Say on which sides of the building that is served the dig lies, and how far it reaches; ``""`` without north."""
    if not plan.frame.north_known:
        return ""
    site, printer = plan.site, Printer(plan.site.units)
    west, south, east, north = dig_area(plan).bounds
    spread = f"{printer.length(east - west)} from west to east, {printer.length(north - south)} from south to north"
    ends = {line.end for line in site.lines}
    served = next((each for each in site.of_kind("building") if each.id in ends), None)
    sides = sides_of(served.shape, [reach.path for reach in plan.layout.reaches]) if served else ()
    if served is None or not sides:
        return f"the dig area is {spread}"
    return f"{_and(sides)} of the {feature_name(served)}; the dig area is {spread}"


def land_in_words(plan: Plan) -> str:
    """Say whether the dig lies on private land, as drawn; ``""`` if no property line is drawn."""
    site, paths = plan.site, [reach.path for reach in plan.layout.reaches]
    if not any(site.of_kind("parcel")):
        return ""
    parcels = shapely.union_all([parcel.shape for parcel in site.of_kind("parcel")])
    strip = shapely.union_all([path.buffer(STRIP_M) for path in paths])
    others = [
        feature_name(each)
        for each in site.of_kind("right_of_way", "road", "easement")
        if any(met(path, each.shape) for path in paths)
    ]
    said = "private land: all of the trench lies inside the property line as drawn"
    if not all(parcels.covers(path) for path in paths):
        said = "NOT ALL ON THE LOT: the trench leaves the property line as drawn"
    elif not parcels.covers(strip) and land_of(site).area:
        said += f"; the {Printer(site.units).length(STRIP_M)} to be marked reach over it"
    return f"{said}; it crosses {', '.join(others)}" if others else said


def _and(words: tuple[str, ...]) -> str:
    return " and ".join(part for part in (", ".join(words[:-1]), words[-1]) if part)
