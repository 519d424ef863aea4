"""What single cells of ``shots.csv`` may hold: each text to a value, or ``Unusable`` (``UnitFault`` for a length)."""

from __future__ import annotations

import re
from datetime import date, datetime, time

from siteplan.read.facts import parse_number
from siteplan.read.words import Unusable, clean_text, shown
from siteplan.units import parse_length

SIDES = ("left", "right", "north", "east", "south", "west")

DEEPEST_M = 6.096
"""More cover than this [m] is a slip in the unit: 20 ft, where a trench wants an engineer (29 CFR 1926.652; from memory)."""

WORST_ERROR_M = 91.44
"""A place that is known no better than 300 ft [m] is no place on a site (own choice)."""

MOST_PHOTOS = 20


def degrees(text: str, column: str) -> float:
    """Longitude or latitude [deg]."""
    value = parse_number(text)
    if abs(value) > (180 if column == "longitude" else 90):
        raise Unusable(found=f"{column} {text}", expected="longitude and latitude in degrees")
    return value


def what(text: str) -> str:
    """``B2`` is bend B2, in whatever letters."""
    match = re.fullmatch(r"(?i)(?:bend\s*)?b(\d+)", text)
    return f"bend B{int(match[1])}" if match else clean_text(text)


def cover_m(text: str) -> float:
    """Taped cover [m]."""
    metres = parse_length(text)
    if metres > DEEPEST_M:
        raise Unusable(
            found=f"a cover of {text}", expected="at most 20 ft (6 m)", mend="is it inches or millimetres?"
        )
    return metres


def error_m(text: str) -> float:
    """Error [m]."""
    metres = parse_length(text)
    if metres > WORST_ERROR_M:
        raise Unusable(found=f"an error of {text}", expected="at most 300 ft (91 m)")
    return metres


def offset_m(text: str) -> float:
    """``2.1 ft left`` is positive, ``right`` negative; ``0`` is on the centreline."""
    if text == "0":
        return 0.0
    match = re.fullmatch(r"(.+?)\s+(left|right)", text)
    if match is not None:
        return parse_length(match[1]) * (1 if match[2] == "left" else -1)
    if parse_length(text) == 0:
        return 0.0
    raise Unusable(
        found=shown(text), expected='an offset with its side looking up-station, such as "2.1 ft left"'
    )


def side(text: str) -> str:
    """One of ``SIDES``."""
    if text not in SIDES:
        raise Unusable(
            found=shown(text),
            expected=f"one of {', '.join(SIDES)}: where the point lies off the line from the first corner to the second",
        )
    return text


def day(text: str) -> date:
    """A date of ISO 8601."""
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise Unusable(found=shown(text), expected="a date such as 2026-12-01") from None


def time_of_day(text: str) -> time:
    """Hours and minutes."""
    try:
        return datetime.strptime(text, "%H:%M").time()
    except ValueError:
        raise Unusable(found=shown(text), expected="a time of the day such as 14:30") from None


def photos(text: str) -> tuple[str, ...]:
    """File names, with a semicolon between them."""
    names = tuple(clean_text(name) for name in text.split(";") if name.strip())
    if len(names) > MOST_PHOTOS:
        raise Unusable(found=f"{len(names)} photos", expected=f"at most {MOST_PHOTOS} a row")
    return names
