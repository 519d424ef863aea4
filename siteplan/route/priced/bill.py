"""What one finished trench costs, item by item, worked out apart from the search that found it.

Every straight piece is cut at the edges of the patches and each cut is priced by what lies there. This is slow and plain on
purpose: it shares no arithmetic with the links that the search adds up, and it is the price that is shown.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely
from shapely import LineString, MultiLineString, Point

from siteplan.route.priced.stretches import best_bores
from siteplan.route.priced.zones import NEAR_M, beside, with_edge
from siteplan.route.scene import Charge, Crossed, Scene

STRAIGHT_DEG = 1e-6
"""A smaller deflection than this is no bend."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """One item of a bill.

    Attributes
    ----------
    row : str
        Row of the rates table.
    of : str
        Id of the feature that it is for; empty for plain ground, bends and tees.
    amount : float
        Metres, or how many.
    price : float
        Likely price of all of them.
    """

    row: str
    of: str
    amount: float
    price: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Bill:
    """What a trench costs.

    Attributes
    ----------
    items : tuple of Item
        Each row and feature once.
    why_not : str
        Why the trench is not allowed, one sentence; empty if it is.
    """

    items: tuple[Item, ...]
    why_not: str = ""

    @property
    def price(self) -> float:
        """Sum of the items, infinite if the trench is not allowed."""
        return math.inf if self.why_not else math.fsum(item.price for item in self.items)

    def amount(self, row: str) -> float:
        """Return how much of a row the trench takes, over all features."""
        return math.fsum(item.amount for item in self.items if item.row == row)


def bill(scene: Scene, line: LineString, *, legs: tuple[bool, bool] = (False, False)) -> Bill:
    """Price one trench.

    Parameters
    ----------
    scene : Scene
        Metres.
    line : LineString
        The trench from end to end.
    legs : (bool, bool)
        Whether the first and the last straight piece is a last leg to a wall: it is priced like any ground, and need not lie
        in the free ground.

    Returns
    -------
    Bill
        A bend on a line that is there already counts as crossing it; a start or an end there does not. A bend sharper than
        any that is made is not allowed; its item is that of the sharpest.

    Examples
    --------
    >>> from shapely import box
    >>> from siteplan.route.scene import Charge
    >>> dig, sod, bend = (Charge(row=row, price=price) for row, price in (("dig", 30.0), ("sod", 10.0), ("bend", 25.0)))
    >>> field = Scene(free=box(0, 0, 9, 9), dig=dig, restore=sod, bends=((90.0, bend),))
    >>> priced = bill(field, LineString([(1, 1), (5, 1), (5, 4)]))
    >>> priced.price, priced.amount("dig"), priced.amount("bend")
    (305.0, 7.0, 1.0)
    """
    pieces = _pieces(line)
    faults = list(_faults(scene, pieces, legs))
    owed: list[Item] = []
    for piece in pieces:
        dug, bored = best_bores(scene, piece)
        for stretch in dug:
            if stretch.shut:
                faults.append(f"It digs {stretch.shut}, which may only be bored under.")
            owed += [_item(charge, of, stretch.length_m) for of, charge in (stretch.dig, stretch.restore)]
        for chord in bored:
            metres = chord.bore.per_m.price * chord.length_m
            owed.append(_item(chord.bore.pits, chord.feature))
            if metres < chord.bore.least.price:
                owed.append(_item(chord.bore.least, chord.feature))
            else:
                owed.append(_item(chord.bore.per_m, chord.feature, chord.length_m))
    for crossed in scene.crossed:
        owed += [_item(crossed.toll, crossed.feature)] * _times_crossed(crossed, pieces)
    for bend_deg in _deflections_deg(pieces):
        if scene.bends:
            owed.append(_item(scene.bend_charge(bend_deg) or scene.bends[-1][1], ""))
    return Bill(items=tuple(_added(owed)), why_not=next(iter(faults), ""))


def _item(charge: Charge, of: str, amount: float = 1.0) -> Item:
    return Item(row=charge.row, of=of, amount=amount, price=charge.price * amount)


def _added(owed: list[Item]) -> Iterator[Item]:
    """Add up what is of one row and feature."""
    groups: dict[tuple[str, str], list[Item]] = {}
    for item in owed:
        groups.setdefault((item.row, item.of), []).append(item)
    for (row, of), group in groups.items():
        amount = math.fsum(item.amount for item in group)
        yield Item(row=row, of=of, amount=amount, price=math.fsum(item.price for item in group))


def _pieces(line: LineString) -> list[LineString]:
    places = shapely.get_coordinates(line).tolist()
    return [LineString(ends) for ends in pairwise(places) if math.dist(*ends) > 0.0]


def _deflections_deg(pieces: list[LineString]) -> Iterator[float]:
    """Give how far the trench turns at each bend, 0 to 180 degrees."""
    for before, after in pairwise(_bearing(piece) for piece in pieces):
        turn_deg = abs(math.degrees(math.remainder(after - before, math.tau)))
        if turn_deg >= STRAIGHT_DEG:
            yield turn_deg


def _bearing(piece: LineString) -> float:
    (x1, y1), (x2, y2) = piece.coords
    return math.atan2(y2 - y1, x2 - x1)


def _faults(scene: Scene, pieces: list[LineString], legs: tuple[bool, bool]) -> Iterator[str]:
    """Give the reasons why a trench is not allowed, but for digging shut ground."""
    onto = [
        piece
        for i, piece in enumerate(pieces)
        if not (legs[0] and i == 0) and not (legs[1] and i == len(pieces) - 1)
    ]
    free = with_edge(scene.free)
    if any(not free.covers(piece) and piece.difference(free).length > NEAR_M for piece in onto):
        yield "It leaves the ground where a trench may lie."
    for turn_deg in _deflections_deg(pieces):
        if scene.bend_charge(turn_deg) is None:
            yield f"It bends by {turn_deg:.0f} degrees, sharper than any bend that is made."
    parts = beside(scene)
    areas = np.array([part.area for part in parts], dtype=object)
    for part in (parts[i] for i in np.flatnonzero(shapely.intersects(areas, MultiLineString(pieces)))):
        zone = part.crossed.zone
        for i in np.flatnonzero(
            shapely.length(shapely.intersection(_array(pieces), part.area)) > NEAR_M
        ).tolist():
            piece = pieces[i]
            starts_in = i == 0 and zone.distance(Point(piece.coords[0])) <= NEAR_M
            ends_in = i == len(pieces) - 1 and zone.distance(Point(piece.coords[1])) <= NEAR_M
            if starts_in or ends_in:
                continue
            turn = math.remainder(_bearing(piece) - math.atan2(part.along[1], part.along[0]), math.pi)
            if abs(math.degrees(turn)) < part.crossed.least_angle_deg - 1e-7:
                yield (
                    f"It lies in the zone of {part.crossed.feature} at {abs(math.degrees(turn)):.0f} degrees to it, "
                    f"less than {part.crossed.least_angle_deg:.0f}."
                )


def _times_crossed(crossed: Crossed, pieces: list[LineString]) -> int:
    """Count how often a trench crosses a line, a bend on it included."""
    if not crossed.axis.dwithin(MultiLineString(pieces), NEAR_M):
        return 0
    count = sum(1 for piece in pieces[:-1] if crossed.axis.distance(Point(piece.coords[1])) <= NEAR_M)
    for i in np.flatnonzero(shapely.intersects(_array(pieces), crossed.axis)).tolist():
        ends = shapely.boundary(pieces[i])
        met = shapely.get_parts(pieces[i].intersection(crossed.axis))
        count += sum(1 for part in met if part.geom_type == "Point" and part.distance(ends) > NEAR_M)
    return count


def _array(pieces: list[LineString]) -> np.ndarray:
    return np.array(pieces, dtype=object)
