"""The sorts of values that stand in ``site.toml``: texts in, checked SI values out, as pydantic types.

Lengths and angles become metres and degrees here; a number without a unit is refused.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial
from typing import Annotated, Any, TypeAlias, get_args

from pydantic import (
    AfterValidator,
    BeforeValidator,
    GetCoreSchemaHandler,
    GetJsonSchemaHandler,
    WithJsonSchema,
)
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from siteplan.read.shapes import check_lonlat, point
from siteplan.read.words import Unusable, clean_text, listed, one_line, shown, suggestion
from siteplan.site.catalogue import frost_soils, frost_surfaces, kinds, methods, products, soils
from siteplan.site.features import Side
from siteplan.site.rates import checked
from siteplan.units import GroundKind, UnitFault, parse_angle_deg, parse_ground, parse_length

_LENGTH = 'a length with its unit, such as "5 ft", "42 in" or "1.8 m"'
_ANGLE = 'an angle with its unit, such as "12 deg"'

_SLOPE = 'a slope of 1 % to 200 % with its unit, such as "40 %"'
_CROSSING = 'an angle of 0 to 90 deg with its unit, such as "45 deg"'


@dataclass(frozen=True)
class Known:
    """A text that must be a key of one of the tables in ``layers/``."""

    what: str
    table: Callable[[], Mapping[str, object]]

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_after_validator_function(self._read, handler(source))

    def __get_pydantic_json_schema__(
        self, schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        return {**handler(schema), "enum": sorted(self.table())}

    def _read(self, value: str) -> str:
        try:
            return known(value, self.what, self.table())
        except Unusable as error:
            raise misfit(error) from error


def known(value: str, what: str, table: Mapping[str, object]) -> str:
    """Return the value if the table has it, else raise ``Unusable`` with the nearest that it has."""
    if value not in table:
        near = suggestion(value, table)
        options = f": {listed(table)}" if len(table) <= 12 or not near else ""
        raise Unusable(found=shown(value), expected=what + options, mend=near)
    return value


def misfit(error: Unusable | UnitFault) -> PydanticCustomError:
    """Hand a misfit through pydantic; ``site_file`` takes it out again."""
    return PydanticCustomError(
        "siteplan",
        "found {found}, expected {expected}",
        {"found": error.found, "expected": error.expected, "mend": getattr(error, "mend", "")},
    )


def _quantity(parse: Callable[..., float], expected: str, *, negative: bool) -> Callable[[object], float]:
    def read(value: object) -> float:
        if not isinstance(value, str):
            bare = isinstance(value, int | float) and not isinstance(value, bool)
            found = f"{shown(value)}, which has no unit" if bare else shown(value)
            raise misfit(Unusable(found=found, expected=expected))
        try:
            return parse(value, allow_negative=negative)
        except UnitFault as error:
            raise misfit(error) from error

    return read


def ground(kind: GroundKind, least: float, most: float, expected: str) -> BeforeValidator:
    """Take a quantity of the ground or the climate between two SI values."""
    parse = partial(parse_ground, kind=kind)
    return BeforeValidator(_between(parse, least, most, expected, negative=kind == "temperature"))


def _parse_slope(text: str, *, allow_negative: bool = False) -> float:
    return parse_ground(text, "slope", allow_negative=allow_negative) / 100


def _between(
    parse: Callable[..., float], least: float, most: float, expected: str, *, negative: bool = False
) -> Callable[[object], float]:
    """Read a quantity that lies between two values."""

    def parsed(text: str, *, allow_negative: bool = False) -> float:
        value = parse(text, allow_negative=allow_negative)
        if not least <= value <= most:
            raise UnitFault(found=shown(text), expected=expected)
        return value

    return _quantity(parsed, expected, negative=negative)


def _text(clean: Callable[[str], str], *, empty: bool = True) -> AfterValidator:
    def read(value: str) -> str:
        try:
            value = clean(value)
        except Unusable as error:
            raise misfit(error) from error
        if not (value or empty):
            raise misfit(Unusable(found="an empty text", expected="some words"))
        return value

    return AfterValidator(read)


def on_earth(origin: list[float]) -> list[float]:
    """Take a longitude and a latitude that are a place."""
    try:
        check_lonlat(point(origin))
    except Unusable as error:
        raise misfit(error) from error
    return origin


def _prices(value: object) -> tuple[float, float, float]:
    try:
        return checked(value if isinstance(value, list) else [value] * 3)
    except UnitFault as error:
        raise misfit(error) from error


def schema(example: str) -> WithJsonSchema:
    """JSON Schema of a quantity: a text, with an example."""
    return WithJsonSchema({"type": "string", "examples": [example]})


Length: TypeAlias = Annotated[
    float, BeforeValidator(_quantity(parse_length, _LENGTH, negative=False)), schema("5 ft")
]
Elevation: TypeAlias = Annotated[
    float, BeforeValidator(_quantity(parse_length, _LENGTH, negative=True)), schema("4450 ft")
]
Angle: TypeAlias = Annotated[
    float, BeforeValidator(_quantity(parse_angle_deg, _ANGLE, negative=True)), schema("12 deg")
]
Slope: TypeAlias = Annotated[
    float, BeforeValidator(_between(_parse_slope, 0.01, 2.0, _SLOPE)), schema("40 %")
]
"""Rise over run."""
CrossingAngle: TypeAlias = Annotated[
    float, BeforeValidator(_between(parse_angle_deg, 0.0, 90.0, _CROSSING)), schema("45 deg")
]
Currency: TypeAlias = Annotated[str, _text(partial(clean_text, longest=4), empty=False)]
Name: TypeAlias = Annotated[str, _text(clean_text, empty=False)]
KindId: TypeAlias = Annotated[str, Known("a kind of layers/kinds.toml", kinds)]
MethodId: TypeAlias = Annotated[str, Known("a method of layers/methods.toml", methods)]
SideId: TypeAlias = Annotated[str, Known("a side of the building", lambda: dict.fromkeys(get_args(Side)))]
ProductId: TypeAlias = Annotated[
    str, Known("a product of layers/pipes.toml or layers/conduits.toml", products)
]
SoilId: TypeAlias = Annotated[str, Known("a soil of layers/soils.toml", soils)]
FrostSoilId: TypeAlias = Annotated[str, Known("a soil of layers/frost_soils.toml", frost_soils)]
FrostSurfaceId: TypeAlias = Annotated[str, Known("a surface of layers/frost_surfaces.toml", frost_surfaces)]
Prices: TypeAlias = Annotated[
    tuple[float, float, float],
    BeforeValidator(_prices),
    WithJsonSchema(
        {
            "anyOf": [
                {"type": "number", "minimum": 0},
                {"type": "array", "items": {"type": "number", "minimum": 0}, "minItems": 3, "maxItems": 3},
            ],
            "examples": [[5, 8, 12]],
        }
    ),
]
"""Low, likely and high; one number stands for all three."""
Words: TypeAlias = Annotated[str, _text(one_line)]
Reason: TypeAlias = Annotated[str, _text(one_line, empty=False)]
Bare: TypeAlias = str | bool | int | float
