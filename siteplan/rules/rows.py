"""What a rules file may say: the tables of ``rules.toml`` as pydantic models, the only door to it.

``tables`` holds what they share, ``setback_rows`` the distances; the rows of all other tables are here.
"""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from siteplan.rules.clock_rows import ClockRow
from siteplan.rules.faults import Unfit, shown
from siteplan.rules.setback_rows import MultiplierRow, SetbackRow
from siteplan.rules.tables import (
    BURIED,
    STATUSES,
    SURFACE_CLASSES,
    Carries,
    Head,
    Measure,
    Method,
    Row,
    SurfaceClass,
    Table,
    When,
    Words,
)
from siteplan.site.site import SCALE_PATTERN

__all__ = [
    "BURIED",
    "ROWS",
    "STATUSES",
    "SURFACE_CLASSES",
    "BendRow",
    "ConduitRow",
    "CoverRow",
    "Form",
    "FrostRow",
    "Head",
    "LocateRow",
    "MultiplierRow",
    "PlotPlanRow",
    "RootRow",
    "Row",
    "SeparationRow",
    "SetbackRow",
    "SurfaceClass",
    "TrenchRow",
    "WellheadRow",
    "When",
]


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
    """[[wellhead]]: least height of the finished casing above grade, and above the flood elevation."""

    table = "wellhead"

    casing_height: Measure = Field(description="above finished grade")
    above_flood: Measure | None = Field(default=None, description="above the flood elevation")


class PlotPlanRow(Row):
    """[[plot_plan]]: how far round the well the plan of an application shows hazards, and the scales that are accepted."""

    table = "plot_plan"

    search_radius: Measure | None = Field(default=None, description="round the well")
    scales: list[Annotated[str, Field(pattern=SCALE_PATTERN)]] = Field(
        default_factory=list, description='accepted scales, such as ["1 in = 20 ft", "1 in = 40 ft"]'
    )

    @model_validator(mode="after")
    def _asks_something(self) -> Self:
        if self.search_radius is None and not self.scales:
            raise Unfit(found="neither a radius nor a scale", expected="search_radius, scales, or both")
        return self


ROWS: tuple[type[Row], ...] = (
    SetbackRow,
    MultiplierRow,
    CoverRow,
    ConduitRow,
    FrostRow,
    SeparationRow,
    BendRow,
    TrenchRow,
    LocateRow,
    ClockRow,
    RootRow,
    WellheadRow,
    PlotPlanRow,
)
"""The row tables, in the order in which they print."""
