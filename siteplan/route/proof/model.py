"""What is proven about the price of a trench."""

from __future__ import annotations

from dataclasses import dataclass

from shapely import LineString


@dataclass(frozen=True, slots=True, kw_only=True)
class Proven:
    """A price that no trench between two places falls below.

    Attributes
    ----------
    bound : float
        No trench costs less; infinite if there is no way.
    best : float
        Price of the cheapest trench that is known, its bends free of charge.
    line : LineString or None
        That trench, if it was found here and is cheaper than the one that was known before.
    cells, pairs : int
        How many cells, and pairs of cells, were looked at in all.
    """

    bound: float
    best: float
    line: LineString | None
    cells: int
    pairs: int
