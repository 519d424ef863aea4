"""What a rules file may say: the tables of ``rules.toml`` as pydantic models, the only door to it.

Every row names its source. A row that says ``verified`` must say where and when it was read; one that says ``memory``
cannot have been read. Lengths keep the unit that the rule prints.
"""

from __future__ import annotations

import re
from datetime import date, datetime
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

from siteplan.rules.conditions import Op
from siteplan.rules.faults import Unfit, shown
from siteplan.rules.model import Force
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


def _measure(value: object) -> Length:
    if isinstance(value, Length):
        return value
    if isinstance(value, str):
        return parse_measure(value)
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


class SetbackRow(Row):
    """[[setback]]: how far a well or a line to lay keeps from something."""

    table = "setback"

    from_: Literal["well", "line:water", "line:electric", "line:communications"] = Field(alias="from")
    to: list[str] = Field(min_length=1, description="kinds of layers/kinds.toml")
    distance: Measure
    from_point: Literal["casing edge", "casing centre", "nearest edge"] = "nearest edge"
    to_edge: Words = "nearest edge"
    when: list[When] = Field(default_factory=list)
    group: str = Field(
        default="", description="rows of one rule that are alternatives to each other share it"
    )
    statuses: list[Status] = Field(default_factory=lambda: list(STATUSES), min_length=1)
    words: str = Field(default="", description="the conditions in words, as they print")


class Form(Table):
    """How a depth of cover is found: exactly one of four forms."""

    fixed: Measure | None = None
    frost_plus: Measure | None = Field(default=None, description="added to the frost depth")
    floor: Measure | None = Field(default=None, description="with frost_plus: never less than this")
    least: Measure | None = Field(default=None, description="a range: least cover")
    most: Measure | None = Field(default=None, description="a range: greatest cover")
    performance: str | None = Field(default=None, description="the rule in words where it gives no number")

    @model_validator(mode="after")
    def _one_form(self) -> Self:
        forms = (self.fixed, self.frost_plus, self.least, self.performance)
        stray = (self.floor and not self.frost_plus) or (self.most and not self.least)
        if sum(form is not None for form in forms) != 1 or stray:
            raise Unfit(
                found="none or several forms of cover",
                expected="one of { fixed }, { frost_plus, floor }, { least, most }, { performance }",
            )
        return self


class CoverRow(Row):
    """[[cover]]: cover over a line, from finished grade to the top of it."""

    table = "cover"

    line: Carries
    form: Form
    surfaces: list[SurfaceClass] = Field(default_factory=lambda: list(SURFACE_CLASSES), min_length=1)


class ConduitRow(Row):
    """[[conduit_cover]]: cover over an electric line under one surface, by wiring method."""

    table = "conduit_cover"

    surface: SurfaceClass
    cover: dict[Method, Measure] = Field(min_length=1)
    when: list[When] = Field(default_factory=list)
    instead_of: str = Field(default="", description="row that this one relieves where its conditions hold")
    words: str = Field(default="", description="the conditions in words, as they print")

    @model_validator(mode="after")
    def _relief_has_conditions(self) -> Self:
        if bool(self.when) != bool(self.instead_of):
            raise Unfit(found="only one of when and instead_of", expected="both, or neither")
        return self


class FrostRow(Row):
    """[[frost]]: the frost depth of a place; without depth the rule leaves it to the place."""

    table = "frost"

    depth: Measure | None = None
    purpose: Words
    statistic: str = ""


class SeparationRow(Row):
    """[[separation]]: how far two lines in the ground keep from each other, edge to edge."""

    table = "separation"

    between: list[str] = Field(min_length=2, max_length=2)
    beside: Measure | None = None
    crossing: Measure | None = None
    over: str = Field(default="", description="which of the two passes over the other")
    may_share: bool = False
    shelf: Measure | None = None

    @model_validator(mode="after")
    def _known_lines(self) -> Self:
        for carries in self.between:
            if carries not in BURIED:
                raise Unfit(found=shown(carries), expected=f"one of {', '.join(BURIED)}")
        if self.over and self.over not in self.between:
            raise Unfit(found=shown(self.over), expected=f"one of {', '.join(self.between)}")
        return self


class BendRow(Row):
    """[[bend]]: the largest sum of bends between two pull points, degrees."""

    table = "bend"

    limit_deg: float = Field(gt=0)


class TrenchRow(Row):
    """[[trench]]: one number of trench safety."""

    table = "trench"

    what: Literal[
        "spoil_back", "egress_depth", "egress_spacing", "protection_depth", "engineer_depth", "slope"
    ]
    distance: Measure | None = None
    soil_class: Literal["A", "B", "C", "rock"] | None = None
    slope: float | None = Field(default=None, ge=0, description="horizontal : vertical")

    @model_validator(mode="after")
    def _number_fits(self) -> Self:
        sloped = self.soil_class is not None and self.slope is not None and self.distance is None
        plain = self.soil_class is None and self.slope is None and self.distance is not None
        if not (sloped if self.what == "slope" else plain):
            raise Unfit(
                found=f"the wrong numbers for {self.what}", expected="distance, or soil_class and slope"
            )
        return self


class LocateRow(Row):
    """[[locate]]: the hand-dig zone each side of a marked line, or the words of the notice."""

    table = "locate"

    tolerance: Measure | None = Field(default=None, description="each side of the outer edge")
    call: str = ""
    notice: str = ""
    life: str = ""

    @model_validator(mode="after")
    def _zone_or_words(self) -> Self:
        words = (self.call, self.notice, self.life)
        if (self.tolerance is not None) == any(words) or (any(words) and not all(words)):
            raise Unfit(found="neither a zone nor a notice", expected="tolerance, or call, notice and life")
        return self


class RootRow(Row):
    """[[roots]]: radius of the root zone of a tree in trunk diameters, and the least radius."""

    table = "roots"

    times_trunk: float = Field(gt=0)
    least: Measure


class WellheadRow(Row):
    """[[wellhead]]: least height of the casing above finished grade."""

    table = "wellhead"

    casing_height: Measure


ROWS: tuple[type[Row], ...] = (
    SetbackRow,
    CoverRow,
    ConduitRow,
    FrostRow,
    SeparationRow,
    BendRow,
    TrenchRow,
    LocateRow,
    RootRow,
    WellheadRow,
)
"""The row tables, in the order in which they print."""
