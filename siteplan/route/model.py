"""Where the trench goes: the layout that the router returns, in ground metres."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace

import numpy as np
from shapely import LineString, Point, get_coordinates
from shapely.geometry.base import BaseGeometry
from shapely.ops import substring

from siteplan.plane.ground import GroundSurface
from siteplan.route.priced.bill import Item
from siteplan.rules.model import Requirements
from siteplan.site.site import Site

MOST_ALTERNATIVES = 4
"""So many alternatives are named at most."""


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptOff:
    """An area that the trench stays out of, and why.

    Attributes
    ----------
    feature : str
        Id of the feature; the parcel for the strip along the property line.
    area : shapely geometry
        The feature grown by ``distance_m``, ground metres.
    distance_m : float
        Distance [m] that the centreline keeps: ``required_m + error_m + half_width_m``.
    required_m, error_m, half_width_m : float
        Its parts: what the rule (or common practice) asks, the error band of the two positions, half the trench.
    row : str
        Id of the rules row that asks for it, or ``""`` for common practice.
    lines : tuple of str
        Ids of the lines to lay that it holds for.
    """

    feature: str
    area: BaseGeometry
    distance_m: float
    required_m: float
    error_m: float
    half_width_m: float
    row: str
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """One line to lay, on a stretch of a reach: from and to are distances [m] along the reach."""

    line: str
    from_m: float
    to_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Bored:
    """A stretch of a reach that is bored under a feature, not opened: from edge to edge, distances [m] along the reach."""

    feature: str
    from_m: float
    to_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Reach:
    """One continuous trench with its own stations.

    Attributes
    ----------
    name : str
        ``Main`` for the first, then A, B, C ...
    path : LineString
        Centreline in ground metres, from station 0+00 (the casing, a tee or a building) up-station to its end.
    runs : tuple of Run
        The lines that lie in it, each over its stretch. A line tees off where a reach branches.
    parent : str or None
        Reach that it branches from.
    parent_m : float or None
        Distance [m] along the parent at the tee.
    starts_at, ends_at : str
        Id of the feature (or of the parent reach) at either end.
    bored : tuple of Bored
        Where it is bored, in order.
    price : float
        Its part of the bill, in the currency of the rates of the site.
    """

    name: str
    path: LineString
    runs: tuple[Run, ...]
    parent: str | None = None
    parent_m: float | None = None
    starts_at: str
    ends_at: str
    bored: tuple[Bored, ...] = ()
    price: float = 0.0

    @property
    def length_m(self) -> float:
        """Map length [m]."""
        return float(self.path.length)

    def lines_at(self, distance_m: float) -> tuple[str, ...]:
        """Ids of the lines that lie in the trench at this distance [m] along it."""
        eps = 1e-6
        return tuple(run.line for run in self.runs if run.from_m - eps <= distance_m <= run.to_m + eps)


@dataclass(frozen=True, slots=True, kw_only=True)
class LinePath:
    """The whole way of one line to lay, over one or more reaches: (reach name, from_m, to_m) in order from its start."""

    line: str
    legs: tuple[tuple[str, float, float], ...]
    entry: Point


@dataclass(frozen=True, slots=True, kw_only=True)
class Alternative:
    """Another layout that differs in kind.

    Attributes
    ----------
    name : str
        What is different, in a few words that print.
    paths : tuple of LineString
        Its trenches, ground metres.
    price : float
        Likely price of its trenches.
    bored : tuple of str
        Ids of what it is bored under.
    why : str
        One sentence: how much dearer or cheaper, by what, and where that turns over.
    """

    name: str
    paths: tuple[LineString, ...]
    price: float
    bored: tuple[str, ...] = ()
    why: str

    @property
    def length_m(self) -> float:
        """Trench length [m], on the map."""
        return float(sum(path.length for path in self.paths))


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """The trenches of one plan.

    Attributes
    ----------
    kept_off : tuple of KeptOff
        All areas that were kept off, for the sheets and for "what sets this bend".
    corridor : shapely geometry
        Ground where the centreline of the widest line group might have lain.
    shared : tuple of (str, str, str)
        Pairs of lines to lay with the reason why they share a trench or lie apart, in words that print.
    bill : tuple of Item
        All that the trenches are priced by, at the likely rates of the site, with what lies ``Beyond`` them.
    least_price : float or None
        Proven least price of any such layout, what lies ``Beyond`` its trenches counted as nothing; ``None`` if none was proven.
    certificate : str
        One sentence about ``least_price`` for the sheet.
    apart_price : float or None
        Likely price if every end had a trench of its own; ``None`` if no trench is shared.
    alternatives : tuple of Alternative
        Up to four layouts of another kind, cheapest first.
    followed : bool
        A first look: trenches follow those of a layout before, without a search.
    """

    reaches: tuple[Reach, ...]
    paths: tuple[LinePath, ...]
    kept_off: tuple[KeptOff, ...]
    corridor: BaseGeometry
    shared: tuple[tuple[str, str, str], ...] = ()
    certificate: str
    bill: tuple[Item, ...] = ()
    least_price: float | None = None
    apart_price: float | None = None
    alternatives: tuple[Alternative, ...] = ()
    followed: bool = False
    _ways: dict[str, LineString | Point] = field(default_factory=dict, init=False, repr=False, compare=False)

    @property
    def price(self) -> float:
        """Likely price of all trenches, in the currency of the rates of the site."""
        return sum(item.price for item in self.bill)

    @property
    def length_m(self) -> float:
        """Trench length [m] of all reaches, on the map."""
        return sum(reach.length_m for reach in self.reaches)

    def beside(self, others: Iterable[Alternative]) -> Layout:
        """Return the same layout with more alternatives; the cheapest four are kept."""
        every = sorted((*self.alternatives, *others), key=lambda other: other.price)
        return replace(self, alternatives=tuple(every[:MOST_ALTERNATIVES]))

    def reach(self, name: str) -> Reach:
        """Return the reach of this name; KeyError if there is none."""
        for reach in self.reaches:
            if reach.name == name:
                return reach
        raise KeyError(name)

    def way(self, line: str) -> LineString | Point:
        """Centreline of the trench along the whole way of a line, from its start; a point if it ends where it tees off."""
        if line not in self._ways:
            self._ways[line] = self._way(line)
        return self._ways[line]

    def _way(self, line: str) -> LineString | Point:
        parts = [
            substring(self.reach(name).path, from_m, to_m) for name, from_m, to_m in self.path(line).legs
        ]
        places = get_coordinates(parts)
        apart = np.append(True, np.hypot(*np.diff(places, axis=0).T) > 1e-9)
        kept = places[apart]
        return LineString(kept) if len(kept) > 1 else Point(kept[0])

    def path(self, line: str) -> LinePath:
        """Return the way of a line to lay; KeyError if there is none."""
        for path in self.paths:
            if path.line == line:
                return path
        raise KeyError(line)


@dataclass(frozen=True, slots=True, kw_only=True)
class Beyond:
    """What a layout costs beyond its trenches: known only when they are measured, so that no search can add it up.

    Attributes
    ----------
    items : tuple of Item
        Spoil that is hauled away, pull points; none below 0.
    cramped : tuple of LineString
        Stretches of trench where neither side has room for the spoil.
    machine_side_m : float
        Room [m] that the machine takes from the centreline on the side without the spoil.
    """

    items: tuple[Item, ...] = ()
    cramped: tuple[LineString, ...] = ()
    machine_side_m: float = 0.0


Measure = Callable[[Site, Requirements, GroundSurface | None, Layout], Beyond]
"""Finds what lies beyond the trenches of a layout, of which it looks at reaches and paths alone."""


def nothing_beyond(
    site: Site, requirements: Requirements, ground: GroundSurface | None, layout: Layout
) -> Beyond:
    """Count nothing beyond the trenches."""
    return Beyond()
