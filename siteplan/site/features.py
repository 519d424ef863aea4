"""What is on the ground, and what is to be laid in it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from shapely.geometry.base import BaseGeometry

from siteplan.site.evidence import Evidence

Status = Literal["existing", "proposed", "reserve", "abandoned"]
Fact = str | float | bool
"""A stated fact: text, a number in SI units (lengths in metres, volumes in cubic metres, volts), or yes/no."""

Side = Literal["north", "east", "south", "west"]
"""A side of a building, by the way its walls face."""

_CARRIES = {
    "power": "electric",
    "electricity": "electric",
    "telephone": "communications",
    "phone": "communications",
    "fiber": "communications",
    "fibre": "communications",
    "propane": "gas",
    "natural gas": "gas",
    "sewer": "building_sewer",
    "septic": "effluent_line",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """Where in the files something came from."""

    file: str
    line: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Feature:
    """One thing on the ground.

    Attributes
    ----------
    id : str
        Unique in the site.
    kind : str
        A kind of ``layers/kinds.toml`` (well, building, septic_tank, absorption_area, property_line ...).
    shape : shapely geometry
        Point, LineString, Polygon or a Multi- of these, 2-D, in the coordinates named by ``Site.coordinates``.
    facts : mapping
        Stated facts by name, SI (``casing_depth`` in metres). Absent means unknown: nothing is assumed.
    """

    id: str
    kind: str
    name: str
    status: Status = "existing"
    shape: BaseGeometry
    evidence: Evidence
    facts: Mapping[str, Fact] = field(default_factory=dict)
    source: Source


def carried_by(feature: Feature) -> str:
    """Return what a buried line is stated to carry, in one spelling (``electric`` for power); empty if nobody says."""
    stated = str(feature.facts.get("carries", "")).casefold().strip()
    return _CARRIES.get(stated, stated).replace(" ", "_")


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One line to lay.

    Attributes
    ----------
    id, name : str
        ``name`` is what prints ("water to house").
    carries : str
        water, electric or communications.
    start : str
        Id of the feature where it begins (a buried line: anywhere along it), or of another line from which it tees off.
    end : str
        Id of the feature where it ends: a building (entry anywhere along its walls), an entry or a hydrant (at that point).
    product : str
        A product of ``layers/pipes.toml`` or ``layers/conduits.toml``; gives the outside diameter.
    method : str or None
        Electric lines: the wiring method as ``layers/conduits.toml`` names it.
    facts : mapping
        volts, amps, gfci, ... as the rules need them (SI).
    cover_m : float or None
        The contractor's own design cover [m] to the top of the line; the rules still hold, the deeper governs.
    through : tuple of str
        Ids of the points that it passes, in this order.
    drawn : str or None
        Id of the drawn route that its trench lies in exactly, from start to end; ``None``: it is routed.
    closed_sides : tuple of {"north", "east", "south", "west"}
        Sides of the building at its end where it may not enter.
    choices : tuple of str
        Where it may begin instead, the cheapest being wanted: ids like ``start``, which is the first of them. Empty: only
        at ``start``. No choice of these, whatever the other lines choose, makes a ring.
    """

    id: str
    name: str
    carries: Literal["water", "electric", "communications"]
    start: str
    end: str
    product: str
    method: str | None = None
    facts: Mapping[str, Fact] = field(default_factory=dict)
    cover_m: float | None = None
    through: tuple[str, ...] = ()
    drawn: str | None = None
    closed_sides: tuple[Side, ...] = ()
    choices: tuple[str, ...] = ()
    source: Source
