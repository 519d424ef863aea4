"""After the locate: paint in the uniform colour code, and test holes (potholes) in which a line was seen.

Both are features as read. A mark is a line of paint; ``plane.marks`` makes a line in the ground of it. A test hole stays a
feature, and ``potholes`` says what was seen in it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace

from siteplan.site.evidence import Evidence
from siteplan.site.features import Feature, carried_by
from siteplan.site.site import Site
from siteplan.units import FOOT_M

MARK, TEST_HOLE, MARKED = "mark", "test_hole", "marked"
"""Kinds of paint and hole, and the method of a line whose place is its paint."""

COLOURS: Mapping[str, tuple[str, ...]] = {
    "red": ("electric", "lighting"),
    "yellow": ("gas", "fuel", "oil", "petroleum", "steam"),
    "orange": ("communications", "alarm", "cable_tv"),
    "blue": ("water",),
    "purple": ("reclaimed_water", "irrigation", "slurry"),
    "green": ("building_sewer", "effluent_line", "sewer_main", "drain", "storm_drain"),
    "pink": (),
    "white": (),
}
"""What the lines marked in a colour carry, the first if nothing else is stated; pink (survey) and white (proposed excavation)
mark no line. APWA uniform colour code on ANSI Z535.1 safety colours."""

HOLDS_M = 10 * FOOT_M
"""How far along a line [m] the depth seen in a test hole holds. Common practice, no source."""

DEPTH_ERROR_M = 0.1 * FOOT_M
"""Error [m] of a depth taped to the top of a line that is seen. Common practice, no source."""

FALL = 1 / 48
"""Fall of a line [m per m] that may be between the hole and where its depth is wanted: 1/4 in per foot, the least slope of
drains of 2 1/2 in and less (IPC table 704.1; from memory), taken for every line."""

_KINDS = {
    "building_sewer": "building_sewer",
    "effluent_line": "effluent_line",
    "sewer_main": "sewer_main",
    "drain": "drain",
    "storm_drain": "drain",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Pothole:
    """What one test hole showed.

    Attributes
    ----------
    of : str
        Id of the line that it was dug for.
    x, y : float
        In the coordinates of the site.
    found : bool
        Was the line seen; if not, it was dug ``dug_m`` deep for nothing.
    depth_m : float or None
        Ground to the top of the line [m], if it was found.
    offset_m, offset_side : float or None, str
        How far from its paint the line was seen, and to which side (north, east, south, west).
    """

    id: str
    of: str
    x: float
    y: float
    found: bool
    depth_m: float | None
    depth_error_m: float
    dug_m: float | None
    size_m: float | None
    offset_m: float | None
    offset_side: str
    date: str
    evidence: Evidence


def potholes(site: Site) -> Iterator[Pothole]:
    """Test holes of the site, in the order of the files."""
    for feature in site.of_kind(TEST_HOLE):

        def length_m(name: str, facts: Mapping[str, object] = feature.facts) -> float | None:
            value = facts.get(name)
            return value if isinstance(value, float) else None

        error_m = length_m("depth_error")
        yield Pothole(
            id=feature.id,
            of=str(feature.facts["of"]),
            x=feature.shape.x,
            y=feature.shape.y,
            found=bool(feature.facts["found"]),
            depth_m=length_m("depth"),
            depth_error_m=DEPTH_ERROR_M if error_m is None else error_m,
            dug_m=length_m("dug"),
            size_m=length_m("size"),
            offset_m=length_m("offset"),
            offset_side=str(feature.facts.get("offset_side", "")),
            date=str(feature.facts.get("date", "")),
            evidence=feature.evidence,
        )


def within_zones(site: Site, tolerance_m: Callable[[], float]) -> Site:
    """Let every line that is known by its paint lie anywhere in the tolerance zone [m], which is asked for only if one is."""
    if all(feature.evidence.method != MARKED for feature in site.features):
        return site
    zone_m = tolerance_m()
    return replace(
        site,
        features=tuple(
            replace(feature, evidence=replace(feature.evidence, zone_m=zone_m))
            if feature.evidence.method == MARKED
            else feature
            for feature in site.features
        ),
    )


def colour_of(mark: Feature) -> str:
    """Colour of a mark as ``COLOURS`` spells it, if it is one of them."""
    return str(mark.facts.get("colour", "")).casefold().strip()


def carried_under(mark: Feature) -> str:
    """What the line under a mark carries: as stated, else by the colour; ``""`` for paint that marks no line."""
    of_colour = COLOURS[colour_of(mark)]
    return (carried_by(mark) or of_colour[0]) if of_colour else ""


def kind_under(mark: Feature) -> str:
    """Kind of the line under a mark: a sewer is one to the setbacks too, all others are buried lines."""
    return _KINDS.get(carried_under(mark), "buried_line")
