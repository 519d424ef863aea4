"""Stated facts: from what a file holds to a text, a yes or no, or a number in SI units."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from datetime import date, datetime
from functools import lru_cache

from siteplan.read.words import LONGEST_TEXT, Unusable, clean_text, shown
from siteplan.site.features import Fact
from siteplan.units import UnitFault, parse_length, parse_quantity

LINE_FACTS = {
    "volts": "potential",
    "amps": "current",
    "gfci": "yes_no",
    "dwelling": "yes_no",
    "suction": "yes_no",
}
"""Facts of a line to lay whose sort is fixed."""

_YES_NO = {"yes": True, "true": True, "no": False, "false": False}
_PLAIN_NUMBER = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d+)?", re.ASCII)


def parse_fact(value: object, sort: str) -> Fact:
    """Read a fact of a known sort.

    Parameters
    ----------
    value : object
        As the file holds it; formats that know only texts may write "yes" and "11".
    sort : str
        length, volume, potential, current, text, number, yes_no or date, as ``layers/kinds.toml`` names it.

    Returns
    -------
    str, float or bool
        SI: metres, cubic metres, volts, amperes. A date as ``2026-11-20``.

    Raises
    ------
    Unusable
        The value is not of that sort.

    Examples
    --------
    >>> parse_fact("62 ft", "length")
    18.8976
    >>> parse_fact("yes", "yes_no"), parse_fact(11, "number")
    (True, 11.0)
    """
    return _SORTS[sort](value)


def free_fact(value: str | bool | float) -> Fact:
    """Read a fact of no known sort: a text that is a length with its unit becomes metres, the rest stays.

    >>> free_fact("10 ft"), free_fact("gravel"), free_fact(True)
    (3.048, 'gravel', True)
    """
    if not isinstance(value, str):
        return value
    try:
        return parse_length(value)
    except UnitFault:
        return _text(value)


def parse_number(value: object) -> float:
    """Read a bare finite number, also one written as a text."""
    if isinstance(value, str) and _PLAIN_NUMBER.fullmatch(value.strip()):
        value = float(value)
    if isinstance(value, int | float) and not isinstance(value, bool) and abs(value) <= 1e15:
        return float(value)
    raise Unusable(found=shown(value), expected="a number without a unit")


def _quantity(kind: str, example: str) -> Callable[[object], Fact]:
    expected = f"a {kind} with its unit, such as {example}"
    pint_kind = {"volume": "volume_liquid", "potential": "electric_potential"}.get(kind, kind)

    def read(value: object) -> float:
        if not isinstance(value, str):
            bare = isinstance(value, int | float) and not isinstance(value, bool)
            raise Unusable(
                found=f"{shown(value)}, which has no unit" if bare else shown(value), expected=expected
            )
        try:
            return _in_si(value, pint_kind)
        except UnitFault as error:
            raise Unusable(found=error.found, expected=error.expected) from error

    return read


@lru_cache(maxsize=1024)
def _in_si(text: str, kind: str) -> float:
    """A quantity; the same text is read once."""
    return parse_quantity(text, kind)  # type: ignore[arg-type]


def _text(value: object) -> str:
    if isinstance(value, bool | list | dict):
        raise Unusable(found=shown(value), expected="a text")
    return clean_text(str(value), longest=LONGEST_TEXT)


def _yes_no(value: object) -> bool:
    if isinstance(value, bool):
        return value
    if isinstance(value, str) and value.strip().lower() in _YES_NO:
        return _YES_NO[value.strip().lower()]
    raise Unusable(found=shown(value), expected="true or false")


def _date(value: object) -> str:
    if isinstance(value, datetime):
        value = value.date()
    if isinstance(value, date):
        return value.isoformat()
    try:
        return date.fromisoformat(str(value)).isoformat()
    except ValueError:
        raise Unusable(found=shown(value), expected="a date such as 2026-11-20") from None


_SORTS: Mapping[str, Callable[[object], Fact]] = {
    "length": _quantity("length", '"62 ft" or "18.9 m"'),
    "volume": _quantity("volume", '"1000 gal" or "3800 L"'),
    "potential": _quantity("potential", '"240 V"'),
    "current": _quantity("current", '"20 A"'),
    "text": _text,
    "number": parse_number,
    "yes_no": _yes_no,
    "date": _date,
}
