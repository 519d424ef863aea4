"""How things look on the sheets: black line types and letters, so that a photocopy still tells them apart."""

from __future__ import annotations

from dataclasses import dataclass

from siteplan.document.pdf import Stroke
from siteplan.site.catalogue import kinds
from siteplan.site.features import Feature


@dataclass(frozen=True, slots=True)
class Look:
    """Line type, the letter set into the line or beside the point, the words of the legend; ``double``: two such lines."""

    stroke: Stroke
    letter: str = ""
    legend: str = ""
    double: bool = False


PROPERTY = Look(Stroke(1.2, (22, 4, 5, 4, 5, 4)), "", "property line")
EASEMENT = Look(Stroke(0.9, (8, 5)), "", "easement")
BUILDING = Look(Stroke(1.8), "", "building")
WATER = Look(Stroke(1.4), "W", "water line")
POWER = Look(Stroke(1.4, (11, 4, 2, 4)), "E", "power line, buried")
COMMUNICATIONS = Look(Stroke(1.4, (11, 3, 2, 3, 2, 3)), "C", "telephone, data")
GAS = Look(Stroke(1.4, (7, 5)), "G", "gas, propane")
SEPTIC = Look(Stroke(2.2, (0.01, 4.4), round_dots=True), "S", "septic, sewer")
UNKNOWN = Look(Stroke(1.2, (4, 4)), "?", "buried line, contents unknown")
OVERHEAD = Look(Stroke(1.3, (18, 5)), "OH", "overhead line")
FUEL = Look(Stroke(1.2), "F", "fuel tank")
SURFACE = Look(Stroke(0.9), "", "drive, walk, road")
WATERS = Look(Stroke(1.0, (5, 2)), "", "pond, stream")
COVER = Look(Stroke(0.5, (1, 3)), "", "lawn, field, woods")
OTHER = Look(Stroke(0.7, (3, 3)), "", "other")

LETTERS = {"water": "W", "electric": "E", "communications": "C"}
"""Letter of what a line carries, in the order in which they are set into a trench."""

TRENCH_WATER = Look(Stroke(3.2), "W", "trench with water line")
TRENCH_POWER = Look(Stroke(3.2, (16, 6, 3.5, 6)), "E", "trench without water line")
BORED = Look(Stroke(1.0, (5, 2.5)), "", "bored, not opened", double=True)
AS_BUILT = Look(Stroke(3.2), "", "measured as built")
ONLY_PLANNED = Look(Stroke(1.8, (7, 4.5)), "", "as planned, not measured")

ALL_LOOKS = (
    TRENCH_WATER,
    TRENCH_POWER,
    BORED,
    AS_BUILT,
    ONLY_PLANNED,
    PROPERTY,
    EASEMENT,
    BUILDING,
    SURFACE,
    WATER,
    POWER,
    COMMUNICATIONS,
    GAS,
    SEPTIC,
    UNKNOWN,
    OVERHEAD,
    FUEL,
    WATERS,
    COVER,
    OTHER,
)
"""In the order of the legend."""

_BY_KIND = {
    "parcel": PROPERTY,
    "property_line": PROPERTY,
    "easement": EASEMENT,
    "building": BUILDING,
    "overhead_line": OVERHEAD,
    "fuel_tank": FUEL,
    "lawn": COVER,
    "field": COVER,
    "woods": COVER,
}
_BY_GROUP = {"sewage": SEPTIC, "surfaces": SURFACE, "plants and surface water": WATERS}
_BY_WORD = (
    (WATER, ("water", "irrigation")),
    (POWER, ("electric", "power", "pump cable")),
    (COMMUNICATIONS, ("communication", "phone", "data", "fibre", "fiber", "cable tv")),
    (GAS, ("gas", "propane", "oil", "fuel")),
    (SEPTIC, ("sewer", "septic", "effluent", "drain")),
)


def is_on_the_ground(feature: Feature) -> bool:
    """Is it a thing that is there or is to be; a drawn route and a point to pass only say where a line is wanted."""
    return kinds()[feature.kind].group != "route"


def look(feature: Feature) -> Look:
    """Return how a thing is drawn; a buried line goes by what it is stated to carry."""
    if feature.kind == "buried_line":
        carries = str(feature.facts.get("carries", "")).lower()
        return next((found for found, words in _BY_WORD if any(word in carries for word in words)), UNKNOWN)
    return _BY_KIND.get(feature.kind) or _BY_GROUP.get(kinds()[feature.kind].group, OTHER)


def letter(feature: Feature) -> str:
    """Letter for a thing: of its line type, else the mark of its kind."""
    return look(feature).letter or kinds()[feature.kind].mark
