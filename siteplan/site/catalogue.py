"""The reference tables of ``layers/``: kinds of features, methods, soils, surfaces, materials, products and rates, as nouns.

The tables are data (TOML). They are read once and checked when read; a fault in them is a fault of the installation or of a
table the user edited, and is reported like any other input fault.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any, Literal

from siteplan.errors import Fault, InputFaults, SiteplanError
from siteplan.site.features import Feature
from siteplan.site.frost import FrostSoil, FrostSurface
from siteplan.site.measuring import Measurement
from siteplan.site.rates import ROWS, Rate, Rates, rate
from siteplan.units import UnitFault, parse_length


@cache
def data_folder(name: str) -> Path:
    """Folder ``layers`` or ``example_sites``: inside the installed package, or beside it in a checkout."""
    package = Path(__file__).resolve().parents[1]
    for folder in (package / name, package.parent / name):
        if folder.is_dir():
            return folder
    raise SiteplanError(f"the folder {name} is missing; reinstall siteplan")


def layers_folder() -> Path:
    """Folder that holds the rules layers and the reference tables."""
    return data_folder("layers")


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """One kind of feature.

    Attributes
    ----------
    shapes : tuple of {"point", "line", "area"}
        What it may be drawn as.
    dig : {"never", "cross", "surface", "none"}
        May a trench go there: never; cross it (a buried line, a ditch); it is a surface; no effect.
    dig_clearance_m : float
        Distance [m] that a trench keeps from it in any case (common practice, no source), beside what the rules ask.
    mark : str
        Letter on the sheets (S, G, E ...).
    facts : mapping of str to str
        Facts it may state, by name: length, volume, potential, current, text, number, yes_no or date.
    dig_row, restore_row : str or None
        Rows of the rates table that a metre of digging there, and of putting it back, is paid by; ``None``: as on plain ground.
    material : str or None
        A material of ``layers/materials.toml`` that it is made of if it states no ``surface``: it is put back at that price.
    """

    id: str
    name: str
    group: str
    shapes: tuple[Literal["point", "line", "area"], ...]
    dig: Literal["never", "cross", "surface", "none"] = "none"
    dig_clearance_m: float = 0.0
    mark: str = ""
    facts: Mapping[str, str] = field(default_factory=dict)
    dig_row: str | None = None
    restore_row: str | None = None
    material: str | None = None

    def __post_init__(self) -> None:
        """Raise ``UnitFault`` for a row or a material that is in no table."""
        _check_known(self.dig_row, ROWS)
        _check_known(self.restore_row, ROWS)
        if self.material is not None:
            _check_known(self.material, materials())


@dataclass(frozen=True, slots=True, kw_only=True)
class Method:
    """One way to measure a position, with the usual error (radii that hold 95 %, metres) and where that comes from."""

    id: str
    name: str
    shared_m: float
    private_m: float
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Soil:
    """One soil.

    Attributes
    ----------
    osha_class : {"A", "B", "C", "rock"}
        Class for sloping, as a competent person must still confirm on the day.
    swell, shrink : float
        Loose = bank * (1 + swell); compacted = bank * (1 - shrink).
    repose_deg : float
        Angle of repose of the spoil pile [degrees].
    """

    id: str
    name: str
    osha_class: Literal["A", "B", "C", "rock"]
    swell: float
    shrink: float
    repose_deg: float
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Product:
    """One pipe, conduit or cable.

    Attributes
    ----------
    outside_m : float
        Outside diameter [m].
    least_radius_m : float
        Least bend radius of the centreline [m].
    stock_m : float
        Length of a coil, stick or reel as sold [m]; 0 if cut to length.
    sold : {"coil", "stick", "reel"}
    method : str or None
        Wiring method that the cover rules know it by; ``None`` for water pipe.
    """

    id: str
    name: str
    carries: tuple[str, ...]
    outside_m: float
    least_radius_m: float
    stock_m: float
    sold: Literal["coil", "stick", "reel"]
    method: str | None = None
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Surface:
    """One surface that a trench may cross: its name on the sheets, the class that the cover rules know, and is it soft."""

    id: str
    name: str
    cover_class: str
    soft: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Material:
    """What a drive, walk, road or slab is made of.

    Attributes
    ----------
    restore : str
        Row of the rates table that a metre of putting it back is paid by.
    spellings : tuple of str
        What people write for it, in small letters, beside its id and its name.
    """

    id: str
    name: str
    restore: str
    spellings: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        """Raise ``UnitFault`` for a row that the rates do not have."""
        _check_known(self.restore, ROWS)


_NO_COMMON: dict[str, Any] = {"groups": [], "kinds": [], "facts": {}}


def _check_known(name: str | None, table: Mapping[str, object]) -> None:
    if name is not None and name not in table:
        raise UnitFault(found=f'"{name}"', expected=f"one of {', '.join(table)}")


def _table(name: str) -> tuple[str, dict[str, dict[str, Any]]]:
    path = layers_folder() / name
    try:
        return name, tomllib.loads(path.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise InputFaults(
            [Fault(file=f"layers/{name}", found=str(error), expected="a readable TOML table")]
        ) from error


def _build(cls: type[Any], name: str, lengths: tuple[str, ...]) -> dict[str, Any]:
    file, rows = _table(name)
    return _made(cls, file, rows, lengths)


def _made(
    cls: Callable[..., Any], file: str, rows: Mapping[str, dict[str, Any]], lengths: tuple[str, ...]
) -> dict[str, Any]:
    made: dict[str, Any] = {}
    faults: list[Fault] = []
    for row_id, row in rows.items():
        values = dict(row)
        try:
            for key in lengths:
                if key in values:
                    values[f"{key}_m"] = parse_length(values.pop(key))
            for key, value in values.items():
                if isinstance(value, list):
                    values[key] = tuple(value)
            made[row_id] = cls(id=row_id, **values)
        except (TypeError, UnitFault) as error:
            faults.append(
                Fault(
                    file=f"layers/{file}",
                    where=row_id,
                    found=getattr(error, "found", str(error)),
                    expected=getattr(error, "expected", f"the fields of {cls.__name__}"),
                    mend="mend the table",
                )
            )
    if faults:
        raise InputFaults(faults)
    return made


@cache
def kinds() -> Mapping[str, Kind]:
    """Kinds of features by id; hazards with the facts that ``[common]`` gives to all of them after their own."""
    file, rows = _table("kinds.toml")
    common = _NO_COMMON | rows.pop("common", {})
    for kind, row in rows.items():
        if row.get("group") in common["groups"] or kind in common["kinds"]:
            row["facts"] = {**row.get("facts", {}), **common["facts"]}
    return _made(Kind, file, rows, ("dig_clearance",))


@cache
def kinds_of_sources() -> tuple[str, ...]:
    """Kinds that a rule means by any source of contamination: those of the groups that ``[common]`` names."""
    groups = (_NO_COMMON | _table("kinds.toml")[1].get("common", {}))["groups"]
    return tuple(kind.id for kind in kinds().values() if kind.group in groups)


@cache
def lines_in_the_ground() -> tuple[str, ...]:
    """Kinds of lines that lie in the ground, so that a trench may meet them unseen; a ditch is in plain sight."""
    return tuple(kind.id for kind in kinds().values() if kind.dig == "cross" and kind.id != "ditch")


@cache
def methods() -> Mapping[str, Method]:
    """Ways to measure a position, by id."""
    return _build(Method, "methods.toml", ("shared", "private"))


@cache
def measurements() -> Mapping[str, Measurement]:
    """Measurements that may settle a close call, by id."""
    return _build(Measurement, "measurements.toml", ("error",))


@cache
def soils() -> Mapping[str, Soil]:
    """Soils by id."""
    return _build(Soil, "soils.toml", ())


@cache
def surfaces() -> Mapping[str, Surface]:
    """Surfaces by id."""
    return _build(Surface, "surfaces.toml", ())


@cache
def materials() -> Mapping[str, Material]:
    """What drives, walks, roads and slabs are made of, by id."""
    return _build(Material, "materials.toml", ())


def material_named(text: str) -> Material | None:
    """Return the material that people write so; ``None`` if none is known by it. Case does not matter."""
    word = " ".join(text.casefold().split())
    return next(
        (each for each in materials().values() if word in (each.id, each.name, *each.spellings)), None
    )


def ground_rows(feature: Feature) -> tuple[str | None, str | None]:
    """Return the rows of the rates table for digging in a surface and for putting it back; ``None``: as on plain ground."""
    kind = kinds()[feature.kind]
    if kind.material is None:
        return kind.dig_row, kind.restore_row
    material = material_named(str(feature.facts.get("surface", ""))) or materials()[kind.material]
    return kind.dig_row, material.restore


@cache
def products() -> Mapping[str, Product]:
    """Pipes, conduits and cables by id."""
    lengths = ("outside", "least_radius", "stock")
    return {**_build(Product, "pipes.toml", lengths), **_build(Product, "conduits.toml", lengths)}


@cache
def frost_soils() -> Mapping[str, FrostSoil]:
    """Soils of the computed frost depth, by id."""
    return _build(FrostSoil, "frost_soils.toml", ())


@cache
def frost_surfaces() -> Mapping[str, FrostSurface]:
    """Surfaces of the computed frost depth, by id."""
    return _build(FrostSurface, "frost_surfaces.toml", ())


@cache
def rates() -> Rates:
    """Prices of the work, by row; what a site states itself stands instead (``[rates]``)."""
    file, rows = _table("rates.toml")
    currency: Any = rows.pop("currency", None)
    made: dict[str, Rate] = _made(rate, file, rows, ())
    try:
        return Rates(currency=currency, rows={row: made[row] for row in ROWS if row in made})
    except UnitFault as error:
        raise InputFaults(
            [Fault(file=f"layers/{file}", found=error.found, expected=error.expected, mend="mend the table")]
        ) from error
