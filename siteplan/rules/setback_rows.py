"""Distances in a rules file: setback rows, the forms their number may take, and the rows that multiply them."""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal, Self

from pydantic import Field, model_validator

from siteplan.rules.conditions import label
from siteplan.rules.faults import Unfit
from siteplan.rules.tables import STATUSES, Measure, Row, Status, Table, When, Words
from siteplan.site.catalogue import kinds_of_sources
from siteplan.units import LengthUnit

ANY_SOURCE = "any_source"
"""In ``to``: every kind that may foul water."""

From = Literal["well", "suction_line", "line:water", "line:electric", "line:communications"]


def kinds_named(to: list[str]) -> tuple[str, ...]:
    """Kinds that a row speaks of, ``any_source`` spelled out."""
    if ANY_SOURCE not in to:
        return tuple(to)
    every = (one for kind in to for one in (kinds_of_sources() if kind == ANY_SOURCE else (kind,)))
    return tuple(dict.fromkeys(every))


class Interpolate(Table):
    """A distance that runs straight between points of a fact, and stays flat beyond them."""

    fact: Words
    points: list[Annotated[tuple[str | int | float, Measure], Field(strict=False)]] = Field(
        min_length=2, description="[value of the fact, distance], the fact ascending"
    )


class Scale(Table):
    """A distance of factor x fact^power, never less than floor, never more than most."""

    fact: Words = Field(description="a number without unit, or a length, which counts in unit")
    factor: float = Field(default=1.0, gt=0)
    power: float = Field(default=1.0, gt=0)
    unit: LengthUnit
    floor: Measure | None = None
    most: Measure | None = None

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        if self.floor and self.most and self.most.metres < self.floor.metres:
            raise Unfit(found=f"most {self.most} below floor {self.floor}", expected="floor below most")
        return self


class SumOf(Table):
    """A fact added up over all things of the hazard's kind; conditions then test ``sum.`` and its name."""

    fact: Words = Field(description="such as hazard.capacity")
    over: list[When] = Field(default_factory=list, description="tests of hazard.* that a thing must meet")


class SetbackRow(Row):
    """[[setback]]: how far a well or a line to lay keeps from something."""

    table: ClassVar[str] = "setback"

    from_: From = Field(alias="from", description="suction_line: a water line whose pump is not in the well")
    to: list[str] = Field(min_length=1, description="kinds of layers/kinds.toml, or any_source")
    distance: Measure | None = None
    interpolate: Interpolate | None = None
    scale: Scale | None = None
    defers_to: str = Field(default="", description="the row gives no number here and points elsewhere")
    prohibit: bool = Field(default=False, description="must not lie in, under or through it")
    measured: Literal["horizontal", "vertical"] = Field(
        default="horizontal", description="vertical: never tested in plan"
    )
    default: bool = Field(
        default=False, description="holds only where no other row of this file gives the pair a distance"
    )
    approvable_to: Measure | None = Field(default=None, description="an authority may grant down to this")
    approval: str = Field(default="", description="who grants it, on what evidence")
    sum_of: SumOf | None = None
    from_point: Literal["casing edge", "casing centre", "nearest edge"] = "nearest edge"
    to_edge: Words = "nearest edge"
    when: list[When] = Field(default_factory=list)
    group: str = Field(
        default="", description="rows of one rule that are alternatives to each other share it"
    )
    statuses: list[Status] = Field(default_factory=lambda: list(STATUSES), min_length=1)
    words: str = Field(default="", description="the conditions in words, as they print")

    @property
    def asks(self) -> str:
        """The number in words, or what stands in its place."""
        if self.prohibit:
            return "never in, under or through it"
        if self.interpolate is not None:
            points = ", ".join(f"{length} at {value}" for value, length in self.interpolate.points)
            return f"straight between {points} of {label(self.interpolate.fact)}"
        if self.scale is not None:
            power = "" if self.scale.power == 1 else f"^{self.scale.power:g}"
            ends = (("not less than", self.scale.floor), ("not more than", self.scale.most))
            bounds = "".join(f", {words} {length}" for words, length in ends if length is not None)
            return f"{self.scale.factor:g} x {label(self.scale.fact)}{power}, in {self.scale.unit}{bounds}"
        if self.defers_to:
            return f"no number here: {self.defers_to}"
        return f"{self.distance}{', measured vertically' if self.measured == 'vertical' else ''}"

    @property
    def in_plan(self) -> bool:
        """Whether it gives something that a plan can be tested against."""
        return self.measured == "horizontal" and not self.defers_to

    @model_validator(mode="after")
    def _one_number(self) -> Self:
        ways = (self.interpolate, self.scale, self.defers_to or None, self.prohibit or None)
        only_zero = self.prohibit and self.distance is not None and self.distance.value == 0
        given = sum(way is not None for way in ways) + (self.distance is not None and not only_zero)
        if given != 1:
            raise Unfit(
                found="no distance" if not given else "more than one answer in one row",
                expected="one of distance, interpolate, scale, defers_to, prohibit",
                mend="" if not given else "write a row for each",
            )
        return self

    @model_validator(mode="after")
    def _vertical_fits(self) -> Self:
        stray = [
            name
            for name, is_set in (
                ("defers_to", self.defers_to),
                ("prohibit", self.prohibit),
                ("default", self.default),
                ("approvable_to", self.approvable_to),
            )
            if is_set
        ]
        if self.measured == "vertical" and stray:
            raise Unfit(
                found=f"measured vertical with {' and '.join(stray)}", expected="a number and no more"
            )
        return self

    @model_validator(mode="after")
    def _approval_fits(self) -> Self:
        if bool(self.approvable_to) != bool(self.approval.strip()):
            raise Unfit(
                found="only one of approvable_to and approval", expected="how far down, and who grants it"
            )
        if self.approvable_to is None:
            return self
        if self.force == "by_approval":
            raise Unfit(
                found='approvable_to with force = "by_approval"',
                expected="approvable_to where there is a lowest distance, by_approval where there is none",
            )
        if self.prohibit or self.defers_to:
            raise Unfit(found="approvable_to without a distance", expected="a distance to be lowered")
        if self.distance and self.approvable_to.metres >= self.distance.metres:
            raise Unfit(
                found=f"approvable_to {self.approvable_to}, no less than {self.distance}",
                expected="less than the distance",
            )
        return self


class MultiplierRow(Row):
    """[[multiplier]]: multiplies the distances of the rows of its own file for the pairs that it speaks of."""

    table: ClassVar[str] = "multiplier"

    from_: From = Field(alias="from")
    to: list[str] = Field(min_length=1, description="kinds of layers/kinds.toml, or any_source")
    rows: list[str] = Field(default_factory=list, description="only these setback rows of this file")
    factor: float = Field(gt=0)
    when: list[When] = Field(default_factory=list)
    words: str = Field(default="", description="the conditions in words, as they print")
