"""What the trenches come to: the amounts that the router priced, at low, likely and high rates."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable

from siteplan.measure.amounts import PriceRow
from siteplan.route.priced.bill import Item
from siteplan.site.rates import ROWS
from siteplan.site.site import Site


def price_list(
    site: Site, bill: Iterable[Item], *, no_room_m: float, pull_points: int
) -> tuple[PriceRow, ...]:
    """Price the trenches of a layout row by row, in the order of the rates table; rows of nothing are left out.

    Parameters
    ----------
    bill : iterable of Item
        Of the layout, all but the two rows that are measured.
    no_room_m : float
        Length [m] along which neither side has room for the pile.
    pull_points : int
        Pull points of all conduits.

    Notes
    -----
    Pipe, conduit, wire, pumps, permits, rock that nobody drew and water in the trench are not in it.
    """
    amounts: dict[str, float] = defaultdict(float)
    for item in bill:
        amounts[item.row] += item.amount
    amounts |= {"no-room": no_room_m, "pull-point": float(pull_points)}
    return tuple(_row(site, row, amounts[row]) for row in ROWS if amounts.get(row, 0.0) > 0.0)


def total(prices: tuple[PriceRow, ...]) -> tuple[float, float, float]:
    """Return the sums of a price list: low, likely and high."""
    low, likely, high = (
        math.fsum(getattr(row, which) for row in prices) for which in ("low", "likely", "high")
    )
    return low, likely, high


def _row(site: Site, row: str, amount: float) -> PriceRow:
    rate = site.rates[row]
    return PriceRow(
        row=row,
        what=rate.name,
        unit="count" if rate.per == "each" else "length",
        amount=amount,
        low=rate.low * amount,
        likely=rate.likely * amount,
        high=rate.high * amount,
        stated=row in site.rates.stated,
    )
