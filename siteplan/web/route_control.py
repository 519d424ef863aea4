"""What fixes a route in ``site.toml``, and how another way is fixed so that it is planned again as it was shown."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from shapely import LineString, Point

from siteplan.document.geojson import feature
from siteplan.document.model import Plan
from siteplan.read.route_control import NEAR_M
from siteplan.route.model import Alternative
from siteplan.site.features import Line

Control = list[tuple[list[str], Any]]
"""Key paths of ``site.toml`` with their values; ``None`` where nothing is stated."""

LINE_KEYS = ("from", "drawn", "through", "closed_sides")
_BORES = ("bore", "bored_under")
_AT_M = 0.05
"""A trench that begins this near [m] to where other lines start begins there too."""
_DRAWN = "drawn_route"


@dataclass(frozen=True, slots=True, kw_only=True)
class Pins:
    """Drawn routes as GeoJSON features, and what names them in ``site.toml``."""

    features: list[dict[str, Any]]
    control: Control


def route_control(text: str) -> Control:
    r"""Return all that ``site.toml`` states, or might, of where the trenches go; nothing of a text that is no TOML.

    >>> route_control('[[line]]\nid = "w"\ndrawn = "d"\n')[1]
    (['line', 'w', 'drawn'], 'd')
    """
    try:
        values = tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return []
    lines = [line for line in values.get("line", []) if isinstance(line, dict) and "id" in line]
    digging = values.get("digging", {})
    return [
        *((["line", str(line["id"]), key], line.get(key)) for line in lines for key in LINE_KEYS),
        *((["digging", key], digging.get(key) if isinstance(digging, dict) else None) for key in _BORES),
    ]


def as_edits(control: Control) -> list[dict[str, Any]]:
    """Return edits that state this, as ``site_edits.edited`` takes them."""
    return [{"do": "set", "at": path, "to": "" if value is None else value} for path, value in control]


def pinned(plan: Plan, other: Alternative) -> Iterator[Pins]:
    """Yield ways to fix another layout, the one that says least first.

    Each of its trenches becomes the drawn route of a line that ends where it ends. First what is bored and what is dug is chosen
    by price again; then what it bores under is never opened, or nothing is bored.
    """
    taken = {each.id for each in plan.site.features}
    names = (name for number in range(1, 10_000) if (name := f"{_DRAWN}-{number}") not in taken)
    features: list[dict[str, Any]] = []
    control: Control = []
    starts = [plan.site.feature(each.start) for each in plan.site.lines if each.start in taken]
    for line, way in lines_of(plan, other.paths):
        properties = {"kind": _DRAWN, "name": f"{line.name}: {other.name}", "method": "drawn"}
        drawn = feature(plan.frame.to_lonlat(way), properties, next(names))
        features.append(drawn)
        first = Point(way.coords[0])
        begins = next((each.id for each in starts if each.shape.distance(first) <= _AT_M), line.start)
        fixed = {"from": begins, "drawn": drawn["id"], "through": None, "closed_sides": None}
        control += [(["line", line.id, key], fixed[key]) for key in LINE_KEYS]
    yield Pins(features=features, control=control)
    if other.bored:
        yield Pins(features=features, control=[*control, (["digging", "bored_under"], list(other.bored))])
    elif plan.site.digging.bore:
        yield Pins(
            features=features,
            control=[*control, (["digging", "bored_under"], None), (["digging", "bore"], False)],
        )


def lines_of(plan: Plan, trenches: Sequence[LineString]) -> Iterator[tuple[Line, LineString]]:
    """Find the line whose drawn route each trench may be: it ends there, and begins there unless it tees off."""
    site, used = plan.site, set[str]()
    for trench in trenches:
        first, last = Point(trench.coords[0]), Point(trench.coords[-1])
        for line in site.lines:
            if line.id in used:
                continue
            end = site.feature(line.end).shape
            tees = line.start in {each.id for each in site.lines}
            start = None if tees else site.feature(line.start).shape
            for way, here, there in ((trench, first, last), (trench.reverse(), last, first)):
                if end.distance(there) <= NEAR_M and (start is None or start.distance(here) <= NEAR_M):
                    used.add(line.id)
                    yield line, way
                    break
            else:
                continue
            break
