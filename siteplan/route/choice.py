"""A condition on a layout, and the trenches that are found under it."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field

import shapely
from shapely import LineString
from shapely.geometry.base import BaseGeometry

from siteplan.route.model import Beyond, Layout
from siteplan.route.priced.bill import Item


def always(trenches: BaseGeometry) -> bool:
    """Say that trenches are of use wherever they lie."""
    return True


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """A condition on a layout.

    Attributes
    ----------
    name : str
        In a few words that print; ``""`` for the layout without any.
    kind : str
        In which way it differs; a few words that do not print.
    closed : tuple of shapely geometry
        Areas where no trench may go.
    bored : frozenset of str
        Ids of features that are bored under, if they are crossed at all.
    dug : frozenset of str
        Ids of features that are not bored under.
    crossed : str
        Id of a surface that costs less than it does while a way is sought, to see what crossing it would come to.
    share : float
        0 to 1: so much it still costs of what it costs beyond plain ground.
    held : bool
        Are the trenches priced as ``bored`` and ``dug`` say? If not, each is bored or dug as is cheaper on its way.
    worth : callable
        Told about where the trenches come to lie, says whether such a layout is of use; if not, it is not laid to the end.
    """

    name: str = ""
    kind: str = ""
    closed: tuple[BaseGeometry, ...] = ()
    bored: frozenset[str] = field(default_factory=frozenset)
    dug: frozenset[str] = field(default_factory=frozenset)
    crossed: str = ""
    share: float = 0.0
    held: bool = True
    worth: Callable[[BaseGeometry], bool] = always


@dataclass(frozen=True, slots=True, kw_only=True)
class Attempt:
    """Trenches found under one condition.

    Attributes
    ----------
    layout : Layout
        Their reaches and paths, all else bare.
    bill : tuple of Item
        All that they are priced by, with what lies beyond them.
    beyond : Beyond
        What lies beyond them.
    """

    layout: Layout
    bill: tuple[Item, ...]
    beyond: Beyond = field(default_factory=Beyond)

    @property
    def price(self) -> float:
        """Likely price."""
        return math.fsum(item.price for item in self.bill)

    @property
    def paths(self) -> tuple[LineString, ...]:
        """The trenches."""
        return tuple(reach.path for reach in self.layout.reaches)

    @property
    def bored(self) -> frozenset[str]:
        """Ids of what is bored under."""
        return frozenset(bored.feature for reach in self.layout.reaches for bored in reach.bored)

    @property
    def trenches(self) -> BaseGeometry:
        """All trenches as one geometry."""
        return shapely.union_all(list(self.paths))


Found = tuple[Choice, Attempt]

Lay = Callable[[Choice], Attempt | None]
"""Lays the site under a condition; ``None`` if there is no such layout."""
