"""What the work costs: a price for each sort of trench and for each thing on its way, as low, likely and high."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Literal, TypeAlias

from siteplan.units import FOOT_M, UnitFault

PriceUnit: TypeAlias = Literal["ft", "m", "each"]
"""What a price is stated for."""

BENDS: tuple[tuple[float, str], ...] = (
    (22.5, "bend-slight"),
    (45.0, "bend-45"),
    (90.0, "bend-90"),
    (135.0, "bend-sharp"),
)
"""Largest deflection [deg] of each class of bends, and its row; the prices do not fall from one to the next."""

ROWS: Mapping[str, Literal["length", "each"]] = {
    "dig-machine": "length",
    "dig-hand": "length",
    "dig-wooded": "length",
    "dig-ledge": "length",
    "dig-roots": "length",
    "restore-lawn": "length",
    "restore-field": "length",
    "restore-gravel": "length",
    "restore-asphalt": "length",
    "restore-concrete": "length",
    "restore-wooded": "length",
    "bore-pits": "each",
    "bore": "length",
    "bore-least": "each",
    "crossing": "each",
    "crossing-gas": "each",
    **{row: "each" for _, row in BENDS},
    "tee": "each",
    "pull-point": "each",
    "no-room": "length",
    "easement": "length",
}
"""Every row that a table of rates holds, and what its price is for."""

MOST = 1e6
"""Largest price that is taken, as stated: beyond it is a slip of the keyboard (own choice)."""

_UNIT_M: Mapping[PriceUnit, float] = {"ft": FOOT_M, "m": 1.0, "each": 1.0}


@dataclass(frozen=True, slots=True, kw_only=True)
class Rate:
    """One price.

    Attributes
    ----------
    id : str
        A row of ``ROWS``.
    name : str
        What is paid for, as it prints.
    per : {"m", "each"}
        What ``low``, ``likely`` and ``high`` are for.
    low, likely, high : float
        In the currency of the table; 0 <= low <= likely <= high.
    source : str
        Where the price comes from; "common practice, no source" if nowhere else.
    unit : {"ft", "m", "each"}
        What the price was stated for, and is printed for.
    """

    id: str
    name: str
    per: Literal["m", "each"]
    low: float
    likely: float
    high: float
    source: str
    unit: PriceUnit

    def restated(self, prices: Sequence[float], per: PriceUnit, source: str) -> Rate:
        """Return the row with three other prices; parameters and errors as of ``rate``."""
        return rate(id=self.id, name=self.name, per=per, prices=prices, source=source)


@dataclass(frozen=True, slots=True, kw_only=True)
class Rates:
    """The prices of a site.

    Attributes
    ----------
    currency : str
        As it prints before a sum: ``$``.
    rows : mapping of str to Rate
        Every row of ``ROWS``.
    stated : tuple of str
        Rows that the site states itself; the others are those of ``layers/rates.toml``.

    Raises
    ------
    UnitFault
        A currency that is no text, a row that is missing, or a sharper bend that is cheaper than a slighter one.
    """

    currency: str
    rows: Mapping[str, Rate]
    stated: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        """Check the table as a whole."""
        if not isinstance(self.currency, str) or not self.currency:
            raise UnitFault(found=f"the currency {self.currency!s:.40}", expected="a text")
        if missing := [row for row in ROWS if row not in self.rows]:
            raise UnitFault(found=f"no {', '.join(missing)}", expected="every row")
        for (_, slight), (_, sharp) in pairwise(BENDS):
            for which in ("low", "likely", "high"):
                less, more = getattr(self.rows[slight], which), getattr(self.rows[sharp], which)
                if less > more:
                    raise UnitFault(
                        found=f"{which} {less:g} for {slight} and {more:g} for {sharp}",
                        expected="bends that cost no less the sharper they are",
                    )

    def __getitem__(self, row: str) -> Rate:
        """Return the price of a row; KeyError if there is none."""
        return self.rows[row]

    def with_stated(self, stated: Mapping[str, Rate], currency: str | None = None) -> Rates:
        """Return the table with the rows, and the currency, that a site states itself; raises as when it is made."""
        return replace(
            self,
            currency=currency or self.currency,
            rows={**self.rows, **stated},
            stated=tuple(row for row in self.rows if row in stated),
        )


def rate(*, id: str, name: str, per: PriceUnit, prices: Sequence[float], source: str) -> Rate:  # noqa: A002
    """Make a row from prices as they were stated.

    Parameters
    ----------
    id : str
        A row of ``ROWS``.
    per : {"ft", "m", "each"}
        What the prices are for. International feet.
    prices : three of float
        Low, likely and high.

    Raises
    ------
    UnitFault
        An unknown row, a unit that does not fit it, or prices that are negative, endless or fall from low to high.

    Examples
    --------
    >>> trench = rate(id="dig-machine", name="trench", per="ft", prices=(3.048, 6.096, 9.144), source="")
    >>> round(trench.low, 9), round(trench.likely, 9), trench.per
    (10.0, 20.0, 'm')
    """
    units = {"length": ("ft", "m"), "each": ("each",)}.get(ROWS.get(id, ""))
    if units is None:
        raise UnitFault(found=f'the unknown row "{id}"', expected=f"one of {', '.join(sorted(ROWS))}")
    if per not in units:
        raise UnitFault(found=f'a price per "{per}"', expected=f"one per {' or '.join(units)}")
    low, likely, high = (price / _UNIT_M[per] for price in checked(prices))
    return Rate(
        id=id,
        name=name,
        per="each" if per == "each" else "m",
        low=low,
        likely=likely,
        high=high,
        source=source,
        unit=per,
    )


def checked(prices: Sequence[object]) -> tuple[float, float, float]:
    """Return three prices if they are numbers that are not negative and do not fall from low over likely to high.

    Raises ``UnitFault``.

    >>> checked([5, 8, 12])
    (5.0, 8.0, 12.0)
    """
    numbers = []
    for price in prices:
        if not isinstance(price, int | float) or isinstance(price, bool):
            raise UnitFault(found=f'the price "{price!s:.40}"', expected="a number without a unit")
        if not -MOST <= price <= MOST:
            raise UnitFault(found=f"the price {price!s:.40}", expected=f"at most {MOST:.0f}")
        numbers.append(float(price))
    shown = f"[{', '.join(f'{number:g}' for number in numbers)}]"
    if len(numbers) != 3:
        raise UnitFault(found=f"{len(numbers)} prices", expected="three: [low, likely, high]")
    if min(numbers) < 0:
        raise UnitFault(found=f"{shown}, of which one is negative", expected="prices of zero or more")
    low, likely, high = numbers
    for name, lower, above, upper in (("low", low, "likely", likely), ("likely", likely, "high", high)):
        if lower > upper:
            raise UnitFault(
                found=f"{shown}, where {name} is above {above}", expected="[low, likely, high] in that order"
            )
    return low, likely, high
