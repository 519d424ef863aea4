"""The ground as prices: what a metre of trench costs where, and what it costs to cross, to bend, to bore and to branch.

Pure geometry in ground metres: no site and no rules. All prices are in the currency of the rates table, likely values;
each carries the row of the table that it comes from, so that a finished trench can be priced low, likely and high.

Where patches overlap the dearest digging holds, and the dearest restoring: ground that nothing covers is dug and restored
at the price of plain ground. A patch may be bored under instead, from edge to edge in one straight.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from shapely import LineString, MultiLineString
from shapely.geometry.base import BaseGeometry


@dataclass(frozen=True, slots=True, kw_only=True)
class Charge:
    """A price, per metre or for each, and the row of the rates table that it comes from."""

    row: str
    price: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Bore:
    """Boring or sleeving under a patch without opening it, straight from edge to edge.

    Attributes
    ----------
    pits : Charge
        The two pits and setting up, for each bore.
    per_m : Charge
        For each metre between the edges.
    least : Charge
        Least charge for the metres of one bore.
    longest_m : float
        A longer bore [m] is not made.
    """

    pits: Charge
    per_m: Charge
    least: Charge
    longest_m: float

    def price(self, length_m: float) -> float:
        """Price of one bore of this length [m] between the edges; infinite if that is too long.

        Examples
        --------
        >>> pits, metre, least = (Charge(row=row, price=price) for row, price in (("a", 400), ("b", 50), ("c", 300)))
        >>> bore = Bore(pits=pits, per_m=metre, least=least, longest_m=20)
        >>> bore.price(4), bore.price(10), bore.price(21)
        (700, 900, inf)
        """
        if length_m > self.longest_m:
            return math.inf
        return self.pits.price + max(self.least.price, self.per_m.price * length_m)


@dataclass(frozen=True, slots=True, kw_only=True)
class Patch:
    """Ground that is not plain: a drive, a wood, ledge, the zone round a buried line, the roots of a tree.

    Attributes
    ----------
    feature : str
        Id of the feature.
    area : shapely geometry
        Polygon or MultiPolygon.
    dig, restore : Charge or None
        Price of a metre of digging, and of restoring; ``None``: as the ground would be without this patch.
    bore : Bore or None
        How it may be gone under; ``None``: it may not.
    shut : bool
        It may not be dug at all, only bored under.
    """

    feature: str
    area: BaseGeometry
    dig: Charge | None = None
    restore: Charge | None = None
    bore: Bore | None = None
    shut: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Crossed:
    """A line in the ground that may be crossed, not run along.

    Attributes
    ----------
    feature : str
        Id of the feature.
    axis : LineString or MultiLineString
        The line. Each time the trench crosses it the toll is due, whether the trench is dug or bored there.
    zone : shapely geometry
        Its tolerance zone. No straight piece of a trench lies in it at less than the least angle to the axis beside it,
        but for the first and the last piece of a trench that starts or ends in it. Digging there by hand is a ``Patch``.
    toll : Charge
        For each crossing.
    least_angle_deg : float
        0 to 90; 0: any angle, and it may be run along.
    """

    feature: str
    axis: LineString | MultiLineString
    zone: BaseGeometry
    toll: Charge
    least_angle_deg: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Scene:
    """Everything that prices a trench.

    Attributes
    ----------
    free : shapely geometry
        Polygon or MultiPolygon where the centreline may lie, its boundary included.
    dig, restore : Charge
        Of a metre of plain ground.
    patches : tuple of Patch
        May overlap each other and reach out of the free ground.
    crossed : tuple of Crossed
        Lines that are there already.
    bends : tuple of (float, Charge)
        Largest deflection in degrees and the price of such a bend, ascending, the price never falling. A sharper bend than
        the last is not made. Empty: every bend is free.
    tee : Charge
        For each place where trenches branch.
    """

    free: BaseGeometry
    dig: Charge
    restore: Charge
    patches: tuple[Patch, ...] = ()
    crossed: tuple[Crossed, ...] = ()
    bends: tuple[tuple[float, Charge], ...] = ()
    tee: Charge = Charge(row="tee", price=0.0)

    @property
    def plain(self) -> float:
        """Price of a metre of plain ground."""
        return self.dig.price + self.restore.price

    @property
    def bend_price(self) -> float:
        """Price of the slightest bend, the least that any bend costs."""
        return self.bends[0][1].price if self.bends else 0.0

    def bend_charge(self, deflection_deg: float) -> Charge | None:
        """Return the charge for a bend; ``None`` if so sharp a bend is not made.

        Examples
        --------
        >>> from shapely import box
        >>> free, price = Charge(row="", price=0.0), Charge(row="bend-45", price=30.0)
        >>> scene = Scene(free=box(0, 0, 9, 9), dig=free, restore=free, bends=((45.0, price),))
        >>> scene.bend_charge(-30.0).price, scene.bend_charge(60.0)
        (30.0, None)
        """
        if not self.bends:
            return Charge(row="", price=0.0)
        turn = abs(deflection_deg) - 1e-9
        return next((charge for largest_deg, charge in self.bends if turn <= largest_deg), None)
