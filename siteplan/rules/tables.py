"""What all tables of a rules file share: lengths in their own unit, the head, the source of a row, one condition.

Every row names its source. A row that says ``verified`` must say where and when it was read; one that says ``memory``
cannot have been read. Lengths keep the unit that the rule prints.
"""

from __future__ import annotations

import re
from datetime import date, datetime
from functools import cache
from typing import Annotated, ClassVar, Literal, Self, TypeAlias

from pydantic import (
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    PlainValidator,
    WithJsonSchema,
    model_validator,
)

from siteplan.rules.citation import Force
from siteplan.rules.conditions import Op
from siteplan.rules.faults import Unfit, shown
from siteplan.units import Length, parse_measure

_MONTH = re.compile(r"(\d{4})-(0[1-9]|1[0-2])")

Carries: TypeAlias = Literal["water", "electric", "communications"]
Method: TypeAlias = Literal["nonmetallic_raceway", "rigid_metal_conduit", "direct_burial"]
SurfaceClass: TypeAlias = Literal["yard", "dwelling_drive", "road", "slab"]
Sort: TypeAlias = Literal["length", "volume", "potential", "current", "text", "number", "yes_no", "date"]
Status: TypeAlias = Literal["existing", "proposed", "reserve", "abandoned"]
BURIED = ("water", "electric", "communications", "gas", "fuel", "building_sewer", "effluent_line")
"""What a line in the ground may carry, as separation rows know it."""
SURFACE_CLASSES: tuple[SurfaceClass, ...] = ("yard", "dwelling_drive", "road", "slab")
STATUSES: tuple[Status, ...] = ("existing", "proposed", "reserve", "abandoned")


@cache
def length_of(text: str) -> Length:
    """A length as a rules file writes it; the same few are written over and over."""
    return parse_measure(text)


def _measure(value: object) -> Length:
    if isinstance(value, Length):
        return value
    if isinstance(value, str):
        return length_of(value)
    expected = 'a length with its unit, such as "50 ft", "18 in" or "15 m"'
    raise Unfit(found=f"{shown(value)}, which is not a text", expected=expected)


def _read_on(value: object) -> object:
    """A date, or a month in quotes where the day is not known (its first day then)."""
    if isinstance(value, str) and (month := _MONTH.fullmatch(value)):
        return date(int(month[1]), int(month[2]), 1)
    if value is None or (isinstance(value, date) and not isinstance(value, datetime)):
        return value
    raise Unfit(
        found=shown(value), expected='a date such as 2026-11-25, or a month in quotes such as "2026-11"'
    )


Measure: TypeAlias = Annotated[
    Length,
    PlainValidator(_measure),
    WithJsonSchema({"type": "string", "examples": ["50 ft", "18 in", "15 m"]}),
]
ReadOn: TypeAlias = Annotated[
    date | None,
    BeforeValidator(_read_on),
    WithJsonSchema({"type": "string", "pattern": r"^\d{4}-\d{2}(-\d{2})?$"}),
]
Id: TypeAlias = Annotated[str, Field(pattern=r"^[a-z0-9]+(-[a-z0-9]+)*$")]
Words: TypeAlias = Annotated[str, Field(min_length=1)]


class Table(BaseModel):
    """Base of all tables: no unknown keys, no guessing of types."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True, allow_inf_nan=False)


class Head(Table):
    """[layer]: whose rules these are, and what they do not cover."""

    title: Words
    authority: Words
    edition: str = ""
    covers: Words = Field(description="what the file holds, in words")
    gaps: list[Words] = Field(
        default_factory=list, description="what it does not cover, or what was not read"
    )
    silent: list[str] = Field(
        default_factory=list, description="kinds of which the rule was read in full and gives no number"
    )
    site_facts: dict[str, Sort] = Field(
        default_factory=dict,
        description="facts of the whole site that the conditions ask for, with their sort",
    )
    confidence: float | None = Field(default=None, ge=0.5, lt=1.0, description="confidence of the verdicts")
    preempts: list[str] = Field(
        default_factory=list, description="tables of which the layers below this one count for nothing"
    )
    bbox: list[float] = Field(
        default_factory=list,
        description="rough bounds, degrees: west, south, east, north; a site outside gets a warning",
    )
    thin: bool = Field(default=False, description="not whole: its gaps print on every page")

    @model_validator(mode="after")
    def _bounds_fit(self) -> Self:
        if self.bbox and not _are_bounds(self.bbox):
            raise Unfit(
                found=f"bbox = {shown(self.bbox)}",
                expected="[west, south, east, north] in degrees, west below east, south below north",
            )
        if self.thin and not self.gaps:
            raise Unfit(found="thin = true without gaps", expected="what is not held, in gaps")
        return self


def _are_bounds(numbers: list[float]) -> bool:
    if len(numbers) != 4:
        return False
    west, south, east, north = numbers
    return -180 <= west < east <= 180 and -90 <= south < north <= 90


class Row(Table):
    """What every row says of itself: its id and its source."""

    table: ClassVar[str]

    id: Id
    citation: Words = Field(description="the source as it prints")
    edition: str = ""
    url: str = Field(default="", pattern=r"^(https?://\S+)?$")
    read: ReadOn = Field(default=None, description="the day on which it was read, or the month in quotes")
    status: Literal["verified", "secondary", "memory"]
    force: Force = "required"
    note: str = Field(default="", description="what the reader must know beside the number")
    replaces: str = Field(default="", description="id of the row of a layer above that this row replaces")
    reason: str = Field(default="", description="why it replaces that row")

    @model_validator(mode="after")
    def _has_source(self) -> Self:
        if self.status == "verified" and not (self.url and self.read):
            raise Unfit(
                found="a verified row without url or without read",
                expected="where and when it was read",
                mend='add both, or say status = "memory"',
            )
        if self.status == "memory" and self.read:
            raise Unfit(found="a row from memory with the day it was read", expected="one or the other")
        if bool(self.replaces) != bool(self.reason.strip()):
            raise Unfit(found="only one of replaces and reason", expected="both, or neither")
        return self


class When(Table):
    """One condition: a test of a fact, or ``any`` of several tests."""

    fact: str = Field(
        default="", description="such as well.casing_depth, hazard.watertight, site.subdivision"
    )
    op: Op | None = None
    value: str | bool | int | float | date | list[str] | None = Field(
        default=None,
        description='what the fact is held against, with its unit: "6 m", "120 V", true, "gravel"',
    )
    any: list[When] = Field(default_factory=list)

    @model_validator(mode="after")
    def _one_form(self) -> Self:
        is_test = bool(self.fact) and self.op is not None and self.value is not None
        is_any = len(self.any) > 1 and not any(inner.any for inner in self.any)
        if is_any == is_test or (is_any and (self.fact or self.op or self.value is not None)):
            raise Unfit(
                found="a condition that is neither a test nor a list of tests",
                expected="{ fact = ..., op = ..., value = ... } or { any = [ two or more of them ] }",
            )
        return self
