"""Lengths and other quantities as people write them, to SI and back: the only room that knows feet.

Inside siteplan every number is an SI float. Text comes in here (``10 ft 6 in`` -> 3.2004) and goes out here (``Printer``).
"""

from siteplan.units.measures import (
    BTU_J,
    CUBIC_YARD_M3,
    FOOT_M,
    GALLON_M3,
    INCH_M,
    POUND_KG,
    US_SURVEY_FOOT_M,
    GroundKind,
    HeatKind,
    Length,
    LengthUnit,
    QuantityKind,
    System,
    UnitFault,
)
from siteplan.units.printing import Printer, money
from siteplan.units.reading import (
    coordinate_unit_m,
    parse_angle_deg,
    parse_ground,
    parse_length,
    parse_measure,
    parse_quantity,
    parse_station,
)

__all__ = [
    "BTU_J",
    "CUBIC_YARD_M3",
    "FOOT_M",
    "GALLON_M3",
    "INCH_M",
    "POUND_KG",
    "US_SURVEY_FOOT_M",
    "GroundKind",
    "HeatKind",
    "Length",
    "LengthUnit",
    "Printer",
    "QuantityKind",
    "System",
    "UnitFault",
    "coordinate_unit_m",
    "money",
    "parse_angle_deg",
    "parse_ground",
    "parse_length",
    "parse_measure",
    "parse_quantity",
    "parse_station",
]
