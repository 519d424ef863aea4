"""Text as people write it, to SI.

The grammar is siteplan's own and small, because a general one guesses: it may take "3 ft 6 in" for a product. A number without
a unit is refused, never assumed. ``pint`` supplies the factors that are not exact by definition of the foot, and is imported
only when one is wanted.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import cache
from math import isfinite
from typing import Any, cast

from siteplan.units.measures import (
    FOOT_M,
    GROUND_SI,
    LENGTH_EXAMPLE,
    US_SURVEY_FOOT_M,
    GroundKind,
    Length,
    LengthUnit,
    QuantityKind,
    System,
    UnitFault,
    quoted,
)


class _Kind:
    """How one kind of quantity is written: a text to show, and for each unit (pint's name) its words."""

    def __init__(self, example: str, units: Mapping[str, str]) -> None:
        self.example = example
        self.unit_of = {word: unit for unit, words in units.items() for word in words.split()}


_LENGTH = _Kind(
    LENGTH_EXAMPLE,
    {
        "ft": "ft foot feet '",
        "in": 'in inch inches "',
        "m": "m metre metres meter meters",
        "mm": "mm millimetre millimetres millimeter millimeters",
        "cm": "cm centimetre centimetres centimeter centimeters",
    },
)
_ANGLE = _Kind('an angle with its unit, such as "60 deg"', {"deg": "deg degree degrees °"})
_OTHERS: dict[str, _Kind] = {
    "electric_potential": _Kind(
        'a voltage with its unit, such as "230 V"', {"volt": "v volt volts", "kilovolt": "kv"}
    ),
    "current": _Kind(
        'a current with its unit, such as "20 A"',
        {"ampere": "a amp amps ampere amperes", "milliampere": "ma"},
    ),
    "volume_liquid": _Kind(
        'a volume with its unit, such as "1000 gal" or "3800 L"',
        {
            "US_liquid_gallon": "gal gallon gallons",
            "liter": "l litre litres liter liters",
            "meter ** 3": "m3 m³",
        },
    ),
    "flow": _Kind(
        'a flow with its unit, such as "10 gpm" or "40 L/min"',
        {
            "US_liquid_gallon / minute": "gpm gal/min",
            "US_liquid_gallon / day": "gpd gal/day gal/d",
            "liter / second": "l/s",
            "liter / minute": "l/min",
            "liter / day": "l/day l/d",
            "meter ** 3 / day": "m3/day m3/d m³/day m³/d",
        },
    ),
}
_GROUND: dict[GroundKind, _Kind] = {
    "freezing_index": _Kind(
        'a freezing index with its unit, such as "2000 F-days" or "1100 C-days"',
        {
            "F-days": "f-days f-day fdays °f-days °f·days degf-days",
            "C-days": "c-days c-day cdays °c-days °c·days degc-days",
        },
    ),
    "temperature": _Kind(
        'a temperature with its unit, such as "45 F" or "7.2 C"', {"°F": "f °f degf", "°C": "c °c degc"}
    ),
    "season": _Kind('a number of days, such as "120 days"', {"days": "day days d"}),
    "dry_density": _Kind(
        'a dry density with its unit, such as "100 pcf" or "1600 kg/m3"',
        {"pcf": "pcf lb/ft3 lb/ft³", "kg/m³": "kg/m3 kg/m³"},
    ),
    "water": _Kind('water in percent of the dry weight, such as "15 %"', {"%": "% percent"}),
    "slope": _Kind('a slope in percent, such as "40 %"', {"%": "% percent"}),
}
_SI_ALREADY = ("volt", "ampere")
"""Units that need no factor: most facts of a line do without loading pint."""
_PLAIN_SIGNS = str.maketrans(
    {
        **dict.fromkeys("′’", "'"),
        **dict.fromkeys("″”", '"'),
        **dict.fromkeys("−–", "-"),
        **{"½": " 1/2", "¼": " 1/4", "¾": " 3/4", "⅛": " 1/8", "⅜": " 3/8", "⅝": " 5/8", "⅞": " 7/8"},
    }
)
_NUMBER = r"(?:[0-9]+(?: | ?- ?)[0-9]+/[0-9]+|[0-9]+/[0-9]+|[0-9]+(?:\.[0-9]+)?|\.[0-9]+)"
_ONE_UNIT = re.compile(rf"(-?) ?({_NUMBER}) ?([^0-9. ].*)?")
_FEET_AND_INCHES = re.compile(
    rf"(-?) ?([0-9]+) ?(?:ft|feet|foot|')\.? ?-? ?({_NUMBER}) ?(?:in|inch|inches|\")\.?",
)


def parse_length(text: str, *, allow_negative: bool = False) -> float:
    """Read a length.

    Parameters
    ----------
    text : str
        ``10 ft 6 in``, ``10'-6"``, ``3 1/2 in``, ``1-1/4 in``, ``42 in``, ``5.5 ft``, ``1.8 m``, ``45 cm``,
        ``450 mm``. Feet are international feet. After whole feet the inches must be under 12.
    allow_negative : bool
        Whether a leading minus is taken.

    Returns
    -------
    float
        Metres, finite.

    Raises
    ------
    UnitFault
        A bare number, an unknown unit, a comma, a survey foot, a negative or an endless number.

    Examples
    --------
    >>> round(parse_length("10 ft 6 1/2 in"), 6)
    3.2131
    >>> parse_length("36")  # doctest: +ELLIPSIS
    Traceback (most recent call last):
        ...
    siteplan.units.measures.UnitFault: found "36", which has no unit, expected a length with its unit, such as ...
    """
    return parse_measure(text, allow_negative=allow_negative).metres


def parse_measure(text: str, *, allow_negative: bool = False) -> Length:
    """Read a length and keep the unit it was written in; feet with inches become feet.

    Raises ``UnitFault`` as ``parse_length`` does.

    >>> parse_measure("10 ft 6 in")
    Length(value=10.5, unit='ft')
    >>> parse_measure("450 mm")
    Length(value=450.0, unit='mm')
    """
    plain = _plain(text, _LENGTH)
    if both := _FEET_AND_INCHES.fullmatch(plain):
        inches = _number(both[3], text, _LENGTH)
        if inches >= 12:
            raise UnitFault(found=quoted(text), expected="fewer than 12 inches after whole feet")
        return Length(_signed(both[1], float(both[2]) + inches / 12, text, _LENGTH, allow_negative), "ft")
    if "survey" in plain:
        raise UnitFault(
            found=quoted(text),
            expected="international feet (a survey foot belongs to a file of coordinates)",
        )
    value, unit = _one_unit(text, _LENGTH, allow_negative)
    return Length(value, cast("LengthUnit", unit))


def parse_angle_deg(text: str, *, allow_negative: bool = False) -> float:
    """Read an angle written in degrees; raises ``UnitFault`` as ``parse_length`` does.

    >>> parse_angle_deg("60 deg"), parse_angle_deg("22.5°")
    (60.0, 22.5)
    """
    return _one_unit(text, _ANGLE, allow_negative)[0]


def parse_quantity(text: str, kind: QuantityKind) -> float:
    """Read a fact or a threshold of a rule.

    Parameters
    ----------
    text : str
        A number and its unit. A gallon is the US liquid gallon.
    kind : str
        "length", "electric_potential", "current", "volume_liquid" or "flow".

    Returns
    -------
    float
        In SI: m, V, A, m3 or m3/s; not negative. The same text always gives the same float, so that a
        threshold of exactly 2000 gal/day equals a flow of 2000 gal/day.

    Raises
    ------
    UnitFault
        As ``parse_length``.

    Examples
    --------
    >>> parse_quantity("230 V", "electric_potential")
    230.0
    >>> round(parse_quantity("1000 gal", "volume_liquid"), 6)
    3.785412
    """
    if kind == "length":
        return parse_length(text)
    value, unit = _one_unit(text, _OTHERS[kind])
    return value if unit in _SI_ALREADY else value * _si_factors()[unit]


def parse_ground(text: str, kind: GroundKind, *, allow_negative: bool = False) -> float:
    """Read what a site states of its winters, its soil and its slopes.

    Parameters
    ----------
    text : str
        A number and its unit: ``2000 F-days``, ``45.5 F``, ``120 days``, ``100 pcf``, ``15 %``, or the metric ones.
    kind : str
        "freezing_index", "temperature", "season", "dry_density", "water" or "slope".
    allow_negative : bool
        Whether a leading minus is taken.

    Returns
    -------
    float
        C-days, °C, days, kg/m3 or percent.

    Raises
    ------
    UnitFault
        As ``parse_length``.

    Examples
    --------
    >>> round(parse_ground("2000 F-days", "freezing_index"), 1), parse_ground("50 F", "temperature")
    (1111.1, 10.0)
    >>> round(parse_ground("100 pcf", "dry_density"), 1), parse_ground("15 %", "water")
    (1601.8, 15.0)
    """
    value, unit = _one_unit(text, _GROUND[kind], allow_negative)
    factor, zero = GROUND_SI[unit]
    return (value - zero) * factor


def parse_station(text: str, system: System) -> float:
    """Read a station as the sheets print it: ``1+35.5`` of 100 ft, ``0+041.3`` of 1000 m.

    Parameters
    ----------
    text : str
        Full stations, a plus, and the rest below one full station.
    system : str
        The system of the sheet that the station was read off.

    Returns
    -------
    float
        Distance along the reach [m].

    Raises
    ------
    UnitFault

    Examples
    --------
    >>> round(parse_station("1+35.5", "ft"), 4), parse_station("0+041.3", "m")
    (41.3004, 41.3)
    """
    full, unit_m = (1000, 1.0) if system == "m" else (100, FOOT_M)
    expected = 'a station such as "0+041.3"' if system == "m" else 'a station such as "1+35.5"'
    match = re.fullmatch(r"([0-9]{1,4})\+([0-9]{1,3}(?:\.[0-9]+)?)", text.strip())
    if match is None or float(match[2]) >= full:
        raise UnitFault(found=quoted(text), expected=expected)
    return (int(match[1]) * full + float(match[2])) * unit_m


def coordinate_unit_m(name: str) -> float:
    """Metres in one unit of a table of coordinates: "m", "ft" (international) or "us-ft" (US survey foot).

    Two million feet east differ by 4 ft between the two feet, so the name must be given, and exactly.

    >>> coordinate_unit_m("us-ft") / coordinate_unit_m("ft") - 1 < 2.1e-6
    True
    """
    try:
        return {"m": 1.0, "ft": FOOT_M, "us-ft": US_SURVEY_FOOT_M}[name]
    except KeyError:
        raise UnitFault(
            found=quoted(name), expected='"m", "ft" (international) or "us-ft" (US survey foot)'
        ) from None


@cache
def _si_factors() -> dict[str, float]:
    """SI units in one of each unit of ``_OTHERS``; pint sees names from this file, never a user's text."""
    import pint  # 0.15 s, and as much again for the registry

    registry: Any = pint.UnitRegistry()
    units = {unit for kind in _OTHERS.values() for unit in kind.unit_of.values()}
    return {unit: float(registry.Quantity(1, unit).to_base_units().magnitude) for unit in units}


def _plain(text: str, kind: _Kind) -> str:
    """One kind of prime, minus, fraction and blank; lower case."""
    plain = " ".join(text.translate(_PLAIN_SIGNS).replace("''", '"').lower().split())
    if not plain:
        raise UnitFault(found="nothing", expected=kind.example)
    if "," in plain:
        raise UnitFault(
            found=f"{quoted(text)}, where the comma may mark decimals or thousands",
            expected="a number with a decimal point and no commas",
        )
    return plain


def _one_unit(text: str, kind: _Kind, allow_negative: bool = False) -> tuple[float, str]:
    match = _ONE_UNIT.fullmatch(_plain(text, kind))
    if match is None:
        raise UnitFault(found=quoted(text), expected=kind.example)
    sign, number, word = match.groups()
    if word is None:
        raise UnitFault(found=f"{quoted(text)}, which has no unit", expected=kind.example)
    if (unit := kind.unit_of.get(word.removesuffix("."))) is None:
        raise UnitFault(found=f"{quoted(text)} with the unit {quoted(word)}", expected=kind.example)
    return _signed(sign, _number(number, text, kind), text, kind, allow_negative), unit


def _number(number: str, text: str, kind: _Kind) -> float:
    """``3``, ``3.5``, ``1/2``, ``3 1/2`` or ``3-1/2``."""
    if "/" not in number:
        return float(number)
    *whole, top, bottom = (float(part) for part in re.split(r"[ /-]+", number))
    if bottom == 0 or (whole and top >= bottom):
        raise UnitFault(found=f"{quoted(text)} with a fraction that is not one", expected=kind.example)
    return sum(whole) + top / bottom


def _signed(sign: str, size: float, text: str, kind: _Kind, allow_negative: bool) -> float:
    if not isfinite(size):
        raise UnitFault(found=f"{quoted(text)}, which is endless", expected=kind.example)
    if sign and not allow_negative:
        raise UnitFault(found=f"{quoted(text)}, which is negative", expected=kind.example)
    return -size if sign and size else size
