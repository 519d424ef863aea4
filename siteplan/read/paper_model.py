"""``[paper]`` of ``site.toml``: who and what the sheets name, and what the office asks of a plot plan."""

from __future__ import annotations

from datetime import date
from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

from siteplan.read.site_fields import Length, Words
from siteplan.site.site import SCALE_PATTERN, Paper


class PaperTable(BaseModel):
    """[paper]: who and what the sheets name; what is not given prints as a blank to fill in."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True, allow_inf_nan=False)

    address: Words = Field(default="", description="a text in quotes")
    parcel_number: Words = Field(default="", description="a text in quotes")
    owner: Words = Field(default="", description="a text in quotes")
    contractor: Words = Field(default="", description="a text in quotes")
    phone: Words = Field(default="", description="a text in quotes")
    permit: Words = Field(default="", description="a text in quotes")
    directions: Words = Field(default="", description="a text in quotes")
    prepared: date | None = Field(default=None, description="a date without quotes, such as 2026-11-20")
    prepared_by: Words = Field(default="", description="who drew the plan, a text in quotes")
    licence: Words = Field(
        default="", description="the contractor's licence or registration number, a text in quotes"
    )
    legal: Words = Field(
        default="", description='the legal description, such as "Lot 7, Block 2, Cedar Bench Subdivision"'
    )
    scales: list[Annotated[str, Field(pattern=SCALE_PATTERN)]] = Field(
        default_factory=list,
        description='scales that the office accepts for the plot plan, such as ["1 in = 20 ft", "1 in = 40 ft"]',
    )
    search_radius: Length | None = Field(
        default=None, description='how far round the well the office asks for hazards, such as "200 ft"'
    )
    beyond_lot: Words = Field(
        default="", description="who looked at the neighbours' land and how far, a text in quotes"
    )
    measured_by: Words = Field(default="", description="who measured the site, a text in quotes")
    measured: date | None = Field(
        default=None, description="the day in the field, a date without quotes, such as 2026-11-18"
    )
    instruments: Words = Field(default="", description="what was measured with, a text in quotes")

    def paper(self) -> Paper:
        """Return it as the sheets use it."""
        stated = self.model_dump(exclude={"search_radius", "scales"})
        return Paper(**stated, search_radius_m=self.search_radius, scales=tuple(self.scales))
