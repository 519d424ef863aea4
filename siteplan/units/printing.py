"""SI to text, in the one system that a sheet prints."""

from __future__ import annotations

from dataclasses import dataclass
from math import copysign, floor, isfinite
from typing import Literal, get_args

from siteplan.units.measures import (
    CUBIC_YARD_M3,
    FOOT_M,
    GALLON_M3,
    GROUND_SI,
    INCH_M,
    GroundKind,
    HeatKind,
    System,
    UnitFault,
    quoted,
)

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
            raise UnitFault(found=quoted(self.system), expected='"ft", "ft-in" or "m"')

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
        factor, zero = GROUND_SI[unit]
        return f"{_trimmed(value / factor + zero, decimals)} {unit}"

    def _either(self, value: float, customary: float, customary_unit: str, metric_unit: str) -> str:
        if self.system == "m":
            return f"{_fixed(value, 1)} {metric_unit}"
        return f"{_fixed(value / customary, 1)} {customary_unit}"


def money(amount: float, currency: str) -> str:
    """Write a sum in whole units of its currency.

    Examples
    --------
    >>> money(5119.6, "$"), money(-40, "$"), money(1200, "CAD")
    ('$5,120', '-$40', 'CAD 1,200')
    """
    sign = "-" if amount <= -0.5 else ""
    gap = " " if currency[-1:].isalpha() else ""
    return f"{sign}{currency}{gap}{abs(amount):,.0f}"


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
