"""What every reader of geometry returns: things and levels as their file gives them, not yet understood."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Literal

from shapely import Point
from shapely.geometry.base import BaseGeometry

from siteplan.read.words import Place


@dataclass(frozen=True, slots=True, kw_only=True)
class Record:
    """One thing of a file.

    Attributes
    ----------
    id : str
        As the file states it, or made from the name of the file and the number of the thing in it.
    properties : mapping
        All else that the file says about it, by name; values that say nothing are left out.
    shape : shapely geometry or None
        2-D, in the coordinates of the file; None if it was faulty (and the fault is noted).
    """

    place: Place
    id: str
    properties: Mapping[str, object]
    shape: BaseGeometry | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Spot:
    """One ground height of a file [m], in the coordinates of the file."""

    place: Place
    point: Point
    elevation_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Contents:
    """All of one file; ``axes`` says what its first two coordinates are."""

    axes: Literal["lonlat", "xy"]
    records: tuple[Record, ...] = ()
    spots: tuple[Spot, ...] = ()


def stated(properties: Mapping[str, object]) -> dict[str, object]:
    """Leave out the properties that say nothing: null and blank ones."""
    return {
        name: value
        for name, value in properties.items()
        if not (value is None or (isinstance(value, str) and not value.strip()))
    }


def identified(
    place: Place, stem: str, number: int, properties: dict[str, object], own: object
) -> tuple[Place, str]:
    """Take the id out of the properties, else the file's own, else make one; and name the place by it."""
    chosen = properties.pop("id", own)
    known = isinstance(chosen, str | int) and not isinstance(chosen, bool) and str(chosen).strip()
    made = str(chosen).strip() if known else f"{stem}-{number}"
    return replace(place, where=made if known else f"feature {number}"), made
