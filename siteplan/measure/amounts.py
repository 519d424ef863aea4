"""Rows of the take-off and of the price list."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True, slots=True, kw_only=True)
class Quantity:
    """One row of the take-off.

    ``unit`` is length, volume, area, count; ``amount`` in SI of that unit, ``order`` the amount rounded to what is sold, and
    ``pieces`` that in words ("4 coils of 100.0 ft"; ``""`` for what is not sold in lengths).
    """

    item: str
    unit: Literal["length", "volume", "area", "count"]
    amount: float
    order: float
    note: str = ""
    pieces: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class PriceRow:
    """One row of the price list.

    Attributes
    ----------
    row : str
        Row of the rates table.
    what : str
        What is paid for, as it prints.
    unit : {"length", "count"}
    amount : float
        Metres, or how many.
    low, likely, high : float
        Sums in the currency of the rates.
    stated : bool
        Whether the site states the rate itself.
    """

    row: str
    what: str
    unit: Literal["length", "count"]
    amount: float
    low: float
    likely: float
    high: float
    stated: bool
