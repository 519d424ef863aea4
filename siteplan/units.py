"""Lengths and other quantities as people write them, to SI and back: the only file that knows feet.

Inside siteplan every number is an SI float. Text comes in here (``10 ft 6 in`` -> 3.2004) and goes out here
(``Printer``). The grammar is siteplan's own and small, because a general one guesses: it may take "3 ft 6 in"
for a product. A number without a unit is refused, never assumed. ``pint`` supplies the factors that are not
exact by definition of the foot, and is imported only when one is wanted.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from math import copysign, floor, isfinite
from typing import Any, Literal, TypeAlias, cast, get_args

FOOT_M = 0.3048
"""International foot [m], exact (NIST SP 811, appendix B.6; from memory)."""
INCH_M = FOOT_M / 12
US_SURVEY_FOOT_M = 1200 / 3937
"""US survey foot [m], exact (NIST SP 811, appendix B.6; from memory). Used only where a file names it."""
CUBIC_YARD_M3 = (3 * FOOT_M) ** 3
GALLON_M3 = 231 * INCH_M**3
"""US liquid gallon [m3]: 231 cubic inches, exact (NIST Handbook 44, appendix C; from memory)."""
POUND_KG = 0.45359237
"""Avoirdupois pound [kg], exact (NIST SP 811, appendix B.8; from memory)."""
BTU_J = 1055.05585262
"""International Table Btu [J], exact (NIST SP 811, appendix B.8; from memory)."""

LengthUnit: TypeAlias = Literal["ft", "in", "m", "mm", "cm"]
System: TypeAlias = Literal["ft", "ft-in", "m"]
QuantityKind: TypeAlias = Literal["length", "electric_potential", "current", "volume_liquid", "flow"]
GroundKind: TypeAlias = Literal["freezing_index", "temperature", "season", "dry_density", "water"]
HeatKind: TypeAlias = Literal["chill", "latent_heat", "heat_capacity", "conductivity"]

_LENGTH_M: dict[LengthUnit, float] = {"ft": FOOT_M, "in": INCH_M, "m": 1.0, "mm": 0.001, "cm": 0.01}


class _Kind:
    """How one kind of quantity is written: a text to show, and for each unit (pint's name) its words."""

    def __init__(self, example: str, units: Mapping[str, str]) -> None:
        self.example = example
        self.unit_of = {word: unit for unit, words in units.items() for word in words.split()}


_LENGTH = _Kind(
    'a length with its unit, such as "10 ft 6 in", "42 in" or "1.8 m"',
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
}
_GROUND_SI: dict[str, tuple[float, float]] = {
    "F-days": (5 / 9, 0.0),
    "C-days": (1.0, 0.0),
    "°F": (5 / 9, 32.0),
    "°C": (1.0, 0.0),
    "days": (1.0, 0.0),
    "pcf": (POUND_KG / FOOT_M**3, 0.0),
    "kg/m³": (1.0, 0.0),
    "%": (1.0, 0.0),
    "°F below freezing": (5 / 9, 0.0),
    "°C below freezing": (1.0, 0.0),
    "Btu/ft³": (BTU_J / FOOT_M**3, 0.0),
    "MJ/m³": (1e6, 0.0),
    "Btu/(ft³ °F)": (BTU_J / FOOT_M**3 * 1.8, 0.0),
    "MJ/(m³ K)": (1e6, 0.0),
    "Btu/(h ft °F)": (BTU_J / 3600 / FOOT_M * 1.8, 0.0),
    "W/(m K)": (1.0, 0.0),
}
"""What one of a unit is inside siteplan, and the reading that counts as zero."""
_GROUND_PRINTED: dict[GroundKind | HeatKind, tuple[tuple[str, int], tuple[str, int]]] = {
    "freezing_index": (("F-days", 0), ("C-days", 0)),
    "temperature": (("°F", 1), ("°C", 1)),
    "season": (("days", 0), ("days", 0)),
    "dry_density": (("pcf", 0), ("kg/m³", 0)),
    "water": (("%", 1), ("%", 1)),
    "chill": (("°F below freezing", 1), ("°C below freezing", 1)),
    "latent_heat": (("Btu/ft³", 0), ("MJ/m³", 1)),
    "heat_capacity": (("Btu/(ft³ °F)", 1), ("MJ/(m³ K)", 2)),
    "conductivity": (("Btu/(h ft °F)", 2), ("W/(m K)", 2)),
}
"""Unit and decimals beside feet, and beside metres."""

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


class UnitFault(ValueError):
    """A text that is not the quantity it should be.

    Attributes
    ----------
    found, expected : str
        As in ``siteplan.errors.Fault``, so that a reader can add the file and the line.
    """

    def __init__(self, *, found: str, expected: str) -> None:
        self.found = found
        self.expected = expected
        super().__init__(f"found {found}, expected {expected}")


@dataclass(frozen=True, slots=True)
class Length:
    """A length in the unit its source printed, so that a rule of 50 ft stays 50 ft.

    Attributes
    ----------
    value : float
        Number in ``unit``; finite.
    unit : str
        "ft" (international), "in", "m", "mm" or "cm".

    Examples
    --------
    >>> Length(50, "ft").metres
    15.24
    >>> print(Length(42.0, "in"), "|", Length(10.5, "ft"))
    42 in | 10.5 ft
    """

    value: float
    unit: LengthUnit

    def __post_init__(self) -> None:
        if self.unit not in _LENGTH_M or not isfinite(self.value):
            raise UnitFault(found=f"{self.value} {self.unit}", expected=_LENGTH.example)

    @property
    def metres(self) -> float:
        """The length in metres."""
        return self.value * _LENGTH_M[self.unit]

    def __str__(self) -> str:
        return f"{_trimmed(self.value, 4)} {self.unit}"


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
    siteplan.units.UnitFault: found "36", which has no unit, expected a length with its unit, such as ...
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
            raise UnitFault(found=_quoted(text), expected="fewer than 12 inches after whole feet")
        return Length(_signed(both[1], float(both[2]) + inches / 12, text, _LENGTH, allow_negative), "ft")
    if "survey" in plain:
        raise UnitFault(
            found=_quoted(text),
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
    """Read what a site states of its winters and its soil.

    Parameters
    ----------
    text : str
        A number and its unit: ``2000 F-days``, ``45.5 F``, ``120 days``, ``100 pcf``, ``15 %``, or the metric ones.
    kind : str
        "freezing_index", "temperature", "season", "dry_density" or "water".
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
    factor, zero = _GROUND_SI[unit]
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
        raise UnitFault(found=_quoted(text), expected=expected)
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
            found=_quoted(name), expected='"m", "ft" (international) or "us-ft" (US survey foot)'
        ) from None


@dataclass(frozen=True, slots=True)
class Printer:
    """Numbers as one sheet prints them: one system a sheet, never mixed.

    Attributes
    ----------
    system : str
        "ft" (feet to 0.1), "ft-in" (feet and inches to 1/2 in) or "m" (metres to 0.01).

    All methods take SI and round to the nearest step, halves away from zero; ``finer``: to a tenth of that step
    (beside feet and inches to 1/16 in). They raise ``ValueError`` for a
    number that is not finite: a missing value is the caller's to word.

    Examples
    --------
    >>> [Printer(system).length(19.02) for system in ("ft", "ft-in", "m")]
    ['62.4 ft', '62 ft 5 in', '19.02 m']
    >>> Printer("ft").station(41.3), Printer("m").station(41.3)
    ('1+35.5', '0+041.3')
    """

    system: System

    def __post_init__(self) -> None:
        if self.system not in get_args(System):
            raise UnitFault(found=_quoted(self.system), expected='"ft", "ft-in" or "m"')

    @property
    def unit(self) -> Literal["ft", "m"]:
        """What stands in the head of a column of ``number``."""
        return "m" if self.system == "m" else "ft"

    def number(self, length_m: float, *, finer: bool = False) -> str:
        """Print a length for a column: ``62.4``, ``62'-5"`` or ``19.02``."""
        if self.system == "m":
            return _fixed(length_m, 2 + finer)
        if self.system == "ft":
            return _fixed(length_m / FOOT_M, 1 + finer)
        sign, feet, inches = _feet_and_inches(length_m, 16 if finer else 2)
        return f"{sign}{feet}'-{inches}\""

    def length(self, length_m: float, *, finer: bool = False) -> str:
        """Print a length: ``62.4 ft``, ``62 ft 5 in`` or ``19.02 m``."""
        if self.system != "ft-in":
            return f"{self.number(length_m, finer=finer)} {self.unit}"
        sign, feet, inches = _feet_and_inches(length_m, 16 if finer else 2)
        return f"{sign}{feet} ft {inches} in"

    def signed(self, length_m: float) -> str:
        """Print a length with its sign always shown, none on zero: ``+1.2 ft``."""
        text = self.length(length_m)
        is_zero = not any(digit in text for digit in "123456789")
        return text if is_zero or text.startswith("-") else f"+{text}"

    def short(self, length_m: float, *, finer: bool = False) -> str:
        """Print a size: ``18 in`` (to 0.1 in, or 1/8 in beside feet and inches) or ``450 mm``."""
        if self.system == "m":
            return f"{_trimmed(length_m * 1000, int(finer))} mm"
        if self.system == "ft":
            return f"{_trimmed(length_m / INCH_M, 1 + finer)} in"
        in_one = 16 if finer else 8
        parts = _steps(length_m, INCH_M / in_one)
        return f"{'-' if parts < 0 else ''}{_mixed(abs(parts), in_one)} in"

    def station(self, length_m: float) -> str:
        """Print a station: ``1+35.5`` of 100 ft, also beside feet and inches, or ``0+041.3`` of 1000 m."""
        unit_m, full, width = (1.0, 1000, 5) if self.system == "m" else (FOOT_M, 100, 4)
        tenths = _steps(length_m, unit_m / 10)
        whole, rest = divmod(abs(tenths), full * 10)
        return f"{'-' if tenths < 0 else ''}{whole}+{rest / 10:0{width}.1f}"

    def volume(self, volume_m3: float) -> str:
        """Print an amount of dirt: ``12.3 CY`` or ``9.4 m³``."""
        return self._either(volume_m3, CUBIC_YARD_M3, "CY", "m³")

    def liquid(self, volume_m3: float) -> str:
        """Print what a tank holds: ``1000 gal`` (US liquid gallon) or ``3785 L``.

        >>> Printer("ft").liquid(3.785411784), Printer("m").liquid(3.785411784)
        ('1000 gal', '3785 L')
        """
        if self.system == "m":
            return f"{_steps(volume_m3, 0.001)} L"
        return f"{_steps(volume_m3, GALLON_M3)} gal"

    def area(self, area_m2: float) -> str:
        """Print a piece of ground: ``120.0 sq ft`` or ``11.1 m²``."""
        return self._either(area_m2, FOOT_M**2, "sq ft", "m²")

    def slope(self, rise_over_run: float) -> str:
        """Print a grade: ``2.5 %``, in every system."""
        return f"{_fixed(rise_over_run * 100, 1)} %"

    def ground(self, value: float, kind: GroundKind | HeatKind) -> str:
        """Print what ``parse_ground`` reads, or heat [°C, J/m3, J/(m3 K), W/(m K)]: ``2000 F-days`` or ``1111 C-days``."""
        unit, decimals = _GROUND_PRINTED[kind][self.system == "m"]
        factor, zero = _GROUND_SI[unit]
        return f"{_trimmed(value / factor + zero, decimals)} {unit}"

    def _either(self, value: float, customary: float, customary_unit: str, metric_unit: str) -> str:
        if self.system == "m":
            return f"{_fixed(value, 1)} {metric_unit}"
        return f"{_fixed(value / customary, 1)} {customary_unit}"


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
            found=f"{_quoted(text)}, where the comma may mark decimals or thousands",
            expected="a number with a decimal point and no commas",
        )
    return plain


def _one_unit(text: str, kind: _Kind, allow_negative: bool = False) -> tuple[float, str]:
    match = _ONE_UNIT.fullmatch(_plain(text, kind))
    if match is None:
        raise UnitFault(found=_quoted(text), expected=kind.example)
    sign, number, word = match.groups()
    if word is None:
        raise UnitFault(found=f"{_quoted(text)}, which has no unit", expected=kind.example)
    if (unit := kind.unit_of.get(word.removesuffix("."))) is None:
        raise UnitFault(found=f"{_quoted(text)} with the unit {_quoted(word)}", expected=kind.example)
    return _signed(sign, _number(number, text, kind), text, kind, allow_negative), unit


def _number(number: str, text: str, kind: _Kind) -> float:
    """``3``, ``3.5``, ``1/2``, ``3 1/2`` or ``3-1/2``."""
    if "/" not in number:
        return float(number)
    *whole, top, bottom = (float(part) for part in re.split(r"[ /-]+", number))
    if bottom == 0 or (whole and top >= bottom):
        raise UnitFault(found=f"{_quoted(text)} with a fraction that is not one", expected=kind.example)
    return sum(whole) + top / bottom


def _signed(sign: str, size: float, text: str, kind: _Kind, allow_negative: bool) -> float:
    if not isfinite(size):
        raise UnitFault(found=f"{_quoted(text)}, which is endless", expected=kind.example)
    if sign and not allow_negative:
        raise UnitFault(found=f"{_quoted(text)}, which is negative", expected=kind.example)
    return -size if sign and size else size


def _quoted(text: str) -> str:
    return f'"{text}"' if len(text) <= 40 else f'"{text[:37]}..."'


def _steps(value: float, step: float) -> int:
    """Nearest count of steps, halves away from zero; a billionth of a step forgives binary fractions."""
    if not isfinite(value):
        raise ValueError(f"{value} cannot be printed as a number")
    return int(copysign(floor(abs(value) / step + 0.5 + 1e-9), value))


def _fixed(value: float, decimals: int) -> str:
    return f"{_steps(value, 10**-decimals) / 10**decimals:.{decimals}f}"


def _trimmed(value: float, decimals: int) -> str:
    """At most so many decimals, without idle zeros."""
    text = _fixed(value, decimals)
    return text.rstrip("0").rstrip(".") if decimals else text


def _feet_and_inches(length_m: float, in_one: int) -> tuple[str, int, str]:
    parts = _steps(length_m, INCH_M / in_one)
    feet, rest = divmod(abs(parts), 12 * in_one)
    return "-" if parts < 0 else "", feet, _mixed(rest, in_one)


def _mixed(parts: int, in_one: int) -> str:
    """Whole number and lowest fraction: ``_mixed(11, 2)`` is "5 1/2"."""
    whole, top = divmod(parts, in_one)
    while top and top % 2 == 0:
        top, in_one = top // 2, in_one // 2
    if not top:
        return str(whole)
    return f"{whole} {top}/{in_one}" if whole else f"{top}/{in_one}"
