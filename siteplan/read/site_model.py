"""What ``site.toml`` may say: the pydantic models of its tables. Their descriptions are printed when a value misfits."""

from __future__ import annotations

from typing import Annotated, Any, Literal, Self

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, model_validator

from siteplan.read.paper_model import PaperTable
from siteplan.read.site_fields import (
    Angle,
    Bare,
    CrossingAngle,
    Currency,
    Elevation,
    FrostSoilId,
    FrostSurfaceId,
    KindId,
    Length,
    MethodId,
    Name,
    Prices,
    ProductId,
    Reason,
    SideId,
    Slope,
    SoilId,
    Words,
    ground,
    misfit,
    on_earth,
    schema,
)
from siteplan.read.underlay import UnderlayTable
from siteplan.read.words import Unusable
from siteplan.site.catalogue import frost_soils, frost_surfaces, rates
from siteplan.site.frost import most_water_percent


class _Table(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True, frozen=True, allow_inf_nan=False)


class SiteTable(_Table):
    """[site]: what the whole plan goes by."""

    name: Name = Field(description="the name of the site, as it prints")
    rules: str = Field(
        description='the rules layer, such as "us/mt"; the layers above it hold as well',
        pattern=r"^[a-z0-9_-]+(/[a-z0-9_-]+)*$",
    )
    units: Literal["ft", "ft-in", "m"] = Field(description="how the sheets print lengths")
    elevation: Elevation | None = Field(
        default=None,
        description='height above the sea with its unit, such as "4450 ft"; distances are what a level tape reads there',
    )


class DiggingTable(_Table):
    """[digging]: how the trench is dug."""

    bucket: Length = Field(description='the width of the bucket or chain, such as "24 in"')
    bedding: Length = Field(description='the depth of bedding below the lowest line, such as "4 in"')
    entered: bool = Field(description="true if a person gets into the trench, else false")
    soil: SoilId = Field(description="a soil of layers/soils.toml")
    machine: Words = Field(default="", description="the machine in the contractor's words")
    way_in: Words = Field(default="", description="where the machine comes in and leaves, in words")
    machine_width: Length = Field(
        default=0.0, description='the width of the strip that the machine needs, such as "8 ft"'
    )
    laying: MethodId = Field(
        default="staked", description="how the line is laid out: a method of layers/methods.toml"
    )
    laying_error: Length | None = Field(
        default=None, description='how far a line may lie from where it was drawn (95 %), such as "6 in"'
    )
    depth_error: Length | None = Field(
        default=None, description='how far the bottom may be off its depth (95 %), such as "3 in"'
    )
    ground: Literal["lawn", "field", "gravel"] = Field(
        default="lawn", description="what the ground is where no surface is drawn"
    )
    steepest: Slope | None = Field(
        default=None, description='the steepest ground that the machine digs on, such as "40 %"'
    )
    bore: bool = Field(default=True, description="false if nothing is to be bored under, else true")
    bored_under: list[Name] = Field(
        default_factory=list,
        description="the ids of the drives, walks, roads and trees that are bored under wherever they are crossed",
    )
    longest_bore: Length | None = Field(
        default=None, description='the longest bore between the edges, such as "60 ft"'
    )
    least_crossing_angle: CrossingAngle | None = Field(
        default=None, description='the least angle at which a buried line is crossed, such as "45 deg"'
    )

    @model_validator(mode="after")
    def _has_error(self) -> Self:
        if self.laying == "stated" and not self.laying_error:
            raise misfit(
                Unusable(found='laying = "stated" without an error', expected="laying_error above zero")
            )
        return self


_INDEX = 'the air freezing index, 10 to 10 000 F-days, such as "2000 F-days" or "1100 C-days"'
_MEAN = 'the mean annual air temperature with its unit, above freezing and up to 30 C, such as "45.5 F"'
_SEASON = 'the length of the freezing season, 5 to 330 days, such as "120 days"'
_DENSITY = 'the dry density with its unit, 70 to 140 pcf (1120 to 2250 kg/m3), such as "100 pcf"'
_WATER = 'the water in percent of the dry weight, 1 % to 50 %, such as "15 %"'


class FrostTable(_Table):
    """[frost]: what a frost depth is computed from. It counts beside the adopted depth and never undercuts it."""

    freezing_index: Annotated[float, ground("freezing_index", 5.5, 5556.0, _INDEX), schema("2000 F-days")] = (
        Field(description=_INDEX)
    )
    mean_annual: Annotated[float, ground("temperature", 0.01, 30.0, _MEAN), schema("45.5 F")] = Field(
        description=_MEAN
    )
    season: Annotated[float, ground("season", 5.0, 330.0, _SEASON), schema("120 days")] = Field(
        description=_SEASON
    )
    surface: FrostSurfaceId | None = Field(
        default=None, description="the surface along the line: a surface of layers/frost_surfaces.toml"
    )
    snow_cleared: bool = Field(default=True, description="false if snow is left lying along the line")
    n: float | None = Field(
        default=None, gt=0, le=1, description="instead of a surface: its n-factor, above 0 and up to 1"
    )
    soil: FrostSoilId = Field(description="a soil of layers/frost_soils.toml")
    dry_density: Annotated[float, ground("dry_density", 1120.0, 2250.0, _DENSITY), schema("100 pcf")] = Field(
        description=_DENSITY
    )
    water: Annotated[float, ground("water", 1.0, 50.0, _WATER), schema("15 %")] = Field(description=_WATER)

    @property
    def n_factor(self) -> tuple[float, str]:
        """The n-factor, and the surface in words."""
        if self.n is not None:
            return self.n, "as stated"
        surface = frost_surfaces()[str(self.surface)]
        if self.snow_cleared:
            return surface.n_cleared, f"{surface.name}, snow cleared off"
        return surface.n, f"{surface.name}, snow left lying"

    @model_validator(mode="after")
    def _holds_together(self) -> Self:
        if (self.surface is None) == (self.n is None):
            raise misfit(Unusable(found="none or both of surface and n", expected="one of them"))
        if self.freezing_index > 40 * self.season:
            expected = "a season long enough for the freezing index: at most 40 C below freezing on average"
            raise misfit(Unusable(found=f"a season of {self.season:.0f} days", expected=expected))
        soil, most = frost_soils()[self.soil], most_water_percent(self.dry_density)
        least_density, most_density = soil.density_kg_m3
        if not least_density <= self.dry_density <= most_density:
            expected = f"{least_density:.0f} to {most_density:.0f} kg/m3 for {self.soil}"
            raise misfit(Unusable(found=f"a dry density of {self.dry_density:.0f} kg/m3", expected=expected))
        if not soil.least_water_percent <= self.water <= most:
            expected = f"{soil.least_water_percent:.0f} % to {most:.1f} %, with which the pores of this {self.soil} are full"
            raise misfit(Unusable(found=f"{self.water:.1f} % of water", expected=expected))
        return self


class LineTable(_Table):
    """[[line]]: one line to lay. Keys that are not named here are facts of the line for the rules."""

    model_config = ConfigDict(extra="allow")
    __pydantic_extra__: dict[str, Bare]

    id: Name = Field(description="a short name of its own")
    name: Name | None = Field(default=None, description="the name that prints")
    carries: Literal["water", "electric", "communications"] = Field(description="what the line carries")
    start: Name = Field(
        alias="from",
        description='the id of what it starts from: a well, a line that it tees off, a line in the ground; or "cheapest"',
    )
    end: Name = Field(alias="to", description="the id of the building, entry or hydrant that it ends at")
    product: ProductId = Field(description="a product of layers/pipes.toml or layers/conduits.toml")
    method: str | None = Field(
        default=None, description="the wiring method, as layers/conduits.toml names it"
    )
    cover: Length | None = Field(
        default=None, description='your own design cover to the top of the line, such as "5 ft"'
    )
    through: list[Name] = Field(
        default_factory=list, description='ids of the points that it passes, in order, such as ["gate"]'
    )
    drawn: Name | None = Field(
        default=None, description="the id of the drawn route that its trench lies in exactly"
    )
    closed_sides: list[SideId] = Field(
        default_factory=list, description='sides of its building without an entry, such as ["north"]'
    )


def _rows_of_rates(schema_: dict[str, Any]) -> None:
    """Name the rows in the JSON Schema, and take no others."""
    prices = schema_.pop("additionalProperties")
    table = rates()
    for row in table.rows.values():
        schema_["properties"][row.id] = {**prices, "description": f"{row.name}, {row.unit}: {row.source}"}
    schema_["additionalProperties"] = False


class RatesTable(_Table):
    """[rates]: your own prices. The other keys are rows of layers/rates.toml: [low, likely, high], or one price for all."""

    model_config = ConfigDict(extra="allow", json_schema_extra=_rows_of_rates)
    __pydantic_extra__: dict[str, Prices]

    currency: Currency | None = Field(default=None, description='what prints before a sum, such as "$"')
    per: Literal["ft", "m"] | None = Field(
        default=None,
        description="what these prices by length are for; as in layers/rates.toml if left out",
    )


class OverrideTable(_Table):
    """[[override]]: numbers of one rule replaced for this site. The other keys are those of the rule."""

    model_config = ConfigDict(extra="allow")
    __pydantic_extra__: dict[str, Bare]

    row: Name = Field(description="the id of the rule")
    reason: Reason = Field(description="why it differs here, in words; it prints on every sheet")

    @model_validator(mode="after")
    def _replaces_something(self) -> Self:
        if not self.model_extra:
            raise misfit(Unusable(found="an override of nothing", expected="the keys of the rule to replace"))
        return self


class ThingTable(_Table):
    """[[thing]]: one thing that is known by points of ties.csv. Keys that are not named here are facts of its kind."""

    model_config = ConfigDict(extra="allow")
    __pydantic_extra__: dict[str, Bare]

    id: Name = Field(description="a short name of its own")
    kind: KindId = Field(description="a kind of layers/kinds.toml")
    name: Name | None = Field(default=None, description="the name that prints")
    points: Annotated[list[Name], Field(min_length=1)] = Field(
        description='its points as ties.csv names them, in order round it or along it, such as ["H1", "H2", "H3"]'
    )
    shape: Literal["point", "line", "area"] | None = Field(
        default=None, description="what the points make, where its kind leaves that open: point, line or area"
    )


class FileTable(_Table):
    """[[file]]: what a file of the folder does not say itself."""

    path: Name = Field(description="the name of a file in this folder")
    epsg: int | None = Field(
        default=None, description="the EPSG code of its coordinates, such as 32100", gt=0
    )
    unit: Literal["m", "ft", "us-ft"] | None = Field(
        default=None,
        description="the unit of its coordinates: m, ft (international) or us-ft (US survey foot)",
    )
    kind: KindId | None = Field(default=None, description="the kind of everything that states none")
    method: MethodId | None = Field(default=None, description="the method of everything that states none")
    outing: Name | None = Field(default=None, description="the outing of everything that states none")
    columns: dict[str, str] = Field(
        default_factory=dict, description='our names and those of the file, such as { x = "Easting" }'
    )


class BenchMarkTable(_Table):
    """[bench_mark]: what the laser is set up from, in the datum of levels.csv."""

    at: Name = Field(description='what it is, such as "painted mark on the casing"')
    elevation: Elevation = Field(description='its elevation with its unit, such as "4475.2 ft"')
    rod: Length | None = Field(default=None, description='the rod reading on it, such as "4.2 ft"')


class GridTable(_Table):
    """[grid]: the site is measured in a local tape grid, x to the right of the +y axis.

    A site of taped points alone has its 0, 0 at the first point of ties.csv, and its +y axis along the first row unless a bearing
    is taken.
    """

    unit: Literal["m", "ft", "us-ft"] = Field(description="the unit of the grid: m, ft or us-ft")
    origin: Annotated[list[float], Field(min_length=2, max_length=2), AfterValidator(on_earth)] | None = (
        Field(default=None, description="[longitude, latitude] of the point 0, 0")
    )
    north: Angle | None = Field(
        default=None, description='the bearing of the +y axis clockwise from true north, such as "12 deg"'
    )

    @model_validator(mode="after")
    def _has_north(self) -> Self:
        if self.origin is not None and self.north is None:
            raise misfit(
                Unusable(found="an origin without north", expected="both, or neither", mend="add north = ...")
            )
        return self


class SiteToml(_Table):
    """The whole of ``site.toml``."""

    site: SiteTable = Field(description="the table [site]")
    digging: DiggingTable = Field(description="the table [digging]")
    line: list[LineTable] = Field(description="a table [[line]] for each line to lay", min_length=1)
    paper: PaperTable = Field(default=PaperTable(), description="the table [paper]")
    facts: dict[str, Bare] = Field(
        default_factory=dict, description="facts of the whole site that rules ask for"
    )
    looked: dict[KindId, Reason] = Field(
        default_factory=dict, description="kinds looked for and not found, with the words to print"
    )
    override: list[OverrideTable] = Field(default_factory=list, description="tables [[override]]")
    file: list[FileTable] = Field(default_factory=list, description="tables [[file]]")
    thing: list[ThingTable] = Field(default_factory=list, description="tables [[thing]]")
    grid: GridTable | None = Field(default=None, description="the table [grid]")
    frost: FrostTable | None = Field(default=None, description="the table [frost]")
    bench_mark: BenchMarkTable | None = Field(default=None, description="the table [bench_mark]")
    rates: RatesTable | None = Field(default=None, description="the table [rates]")
    underlay: list[UnderlayTable] = Field(default_factory=list, description="tables [[underlay]]")


TABLES: dict[str, Any] = {
    "site": SiteTable,
    "digging": DiggingTable,
    "paper": PaperTable,
    "grid": GridTable,
    "frost": FrostTable,
    "bench_mark": BenchMarkTable,
    "rates": RatesTable,
    "line": LineTable,
    "override": OverrideTable,
    "file": FileTable,
    "thing": ThingTable,
    "underlay": UnderlayTable,
}
"""Model of each table of ``site.toml`` that has fixed keys."""
