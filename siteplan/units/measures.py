"""The units: what one of each is in SI, and a length in the unit that its source printed."""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite
from typing import Literal, TypeAlias

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
LENGTH_EXAMPLE = 'a length with its unit, such as "10 ft 6 in", "42 in" or "1.8 m"'

LengthUnit: TypeAlias = Literal["ft", "in", "m", "mm", "cm"]
System: TypeAlias = Literal["ft", "ft-in", "m"]
QuantityKind: TypeAlias = Literal["length", "electric_potential", "current", "volume_liquid", "flow"]
GroundKind: TypeAlias = Literal["freezing_index", "temperature", "season", "dry_density", "water", "slope"]
HeatKind: TypeAlias = Literal["chill", "latent_heat", "heat_capacity", "conductivity"]
LENGTH_M: dict[LengthUnit, float] = {"ft": FOOT_M, "in": INCH_M, "m": 1.0, "mm": 0.001, "cm": 0.01}
GROUND_SI: dict[str, tuple[float, float]] = {
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
        if self.unit not in LENGTH_M or not isfinite(self.value):
            raise UnitFault(found=f"{self.value} {self.unit}", expected=LENGTH_EXAMPLE)

    @property
    def metres(self) -> float:
        """The length in metres."""
        return self.value * LENGTH_M[self.unit]

    def __str__(self) -> str:
        return f"{f'{self.value:.4f}'.rstrip('0').rstrip('.')} {self.unit}"


def quoted(text: str) -> str:
    """A text as a fault shows it: in quotes, cut where it is long."""
    return f'"{text}"' if len(text) <= 40 else f'"{text[:37]}..."'
