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
        Id of the feature where it begins, or of another line from which it tees off.
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
    source: Source
