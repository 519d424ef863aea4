"""A site folder to one checked ``Site``: the files are read, understood, held against each other, and put together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from shapely import get_coordinates

from siteplan.errors import Fault, InputFaults
from siteplan.read.checks import check_elevation, check_ground, mean_elevation_m
from siteplan.read.facts import free_fact
from siteplan.read.features import stated_evidence
from siteplan.read.files import read_files
from siteplan.read.folder import input_files, read_text
from siteplan.read.ground import Ground, id_named
from siteplan.read.lines import lines_of
from siteplan.read.marks import check_marks, marked_as
from siteplan.read.rates import rates_of
from siteplan.read.record import Spot
from siteplan.read.site_file import SITE_TOML, SiteFile, read_site_file
from siteplan.read.site_model import DiggingTable, SiteTable
from siteplan.read.things import put_things
from siteplan.read.ties import read_ties
from siteplan.read.underlay import read_underlays
from siteplan.read.words import FaultList, Unusable, listed
from siteplan.site.features import Fact, Line, Source
from siteplan.site.field_notes import FieldNotes
from siteplan.site.frost import FrostInputs
from siteplan.site.rates import Rates
from siteplan.site.site import BORED_UNDER, Digging, Level, Override, Site, StatedMark

_OF_THE_GROUND = frozenset(("site", "digging", "grid", "file", "thing", "underlay"))
"""Tables of ``site.toml`` without which nobody can tell what is on the ground."""


def read_site(folder: Path, *, finished: bool = True) -> Site:
    """Read a site folder.

    Parameters
    ----------
    folder : Path
        Holds ``site.toml`` and files of what is on the ground: GeoJSON, CSV, GPX, KML, GeoPackage, FlatGeobuf or Shapefile, and
        ``levels.csv``, ``ties.csv``, and the marks of the locate. Subfolders are not looked into; shots and as-built files are
        not read here.
    finished : bool
        ``False``: what is on the ground so far, of a site that is still being drawn. Nothing is missing then, and neither the
        lines to lay nor what else the plan alone needs is read.

    Returns
    -------
    Site
        In longitude and latitude ("lonlat"), or in metres of a tape grid ("local") if ``site.toml`` has a ``[grid]``. Things
        known by taped points have empty shapes until ``plane.place`` solves the tapes.

    Raises
    ------
    InputFaults
        Everything that wants mending in all files, by file and line.
    """
    faults = FaultList()
    paths = _inputs(folder)
    text = read_text(folder / SITE_TOML, faults)
    site_file = None if text is None else read_site_file(text, faults)
    if site_file is None:
        raise faults.error()
    if not finished:
        site_file, faults = _of_the_ground(site_file, faults), FaultList()
    ground, spots = read_files(paths, site_file, faults)
    notes = FieldNotes(
        by_points=put_things(site_file.things, ground, faults), measurements=read_ties(folder, faults)
    )
    check_marks(ground, faults, lonlat=site_file.grid is None)
    check_ground(ground, spots, lonlat=site_file.grid is None, faults=faults, finished=finished)
    all_read = not any(table == "line" for table, _ in site_file.spoilt)
    lines = lines_of(site_file.lines, ground, faults, all_read=all_read, lonlat=site_file.grid is None)
    facts = _free_facts(site_file, faults)
    prices = rates_of(site_file, faults)
    underlays = read_underlays(site_file.underlays, folder, faults, lonlat=site_file.grid is None)
    _check_looked(site_file, ground, faults)
    table = site_file.site
    digging = _digging(site_file, site_file.digging, ground, faults) if site_file.digging else None
    if table and table.elevation is not None:
        check_elevation(table.elevation, spots, site_file.at("site", "elevation"), faults)
    if site_file.bench_mark is not None:
        where = site_file.at("bench_mark", "elevation")
        check_elevation(site_file.bench_mark.elevation, spots, where, faults)
    if len(faults) or table is None or digging is None:
        raise faults.error()
    site = _site(folder, site_file, table, digging, ground, spots, lines, facts, prices, notes)
    return replace(site, underlays=underlays)


def _of_the_ground(site_file: SiteFile, faults: FaultList) -> SiteFile:
    """Leave out what only the plan needs; the faults of the rest still hold."""
    if _OF_THE_GROUND & {table for table, _ in site_file.spoilt}:
        raise faults.error()
    digging = site_file.digging and site_file.digging.model_copy(update={"bored_under": []})
    return replace(site_file, digging=digging, lines=[], facts={}, looked={}, rates=None)


def _inputs(folder: Path) -> list[Path]:
    try:
        paths = input_files(folder)
        there = (folder / SITE_TOML).exists()
    except OSError as error:
        raise InputFaults(
            [
                Fault(
                    file=str(folder),
                    found=f"no folder ({error.strerror})",
                    expected="a site folder",
                    mend="siteplan new makes one",
                )
            ]
        ) from error
    if not there:
        raise InputFaults(
            [
                Fault(
                    file=str(folder),
                    found=f"no {SITE_TOML}",
                    expected="a site folder",
                    mend="siteplan new makes one",
                )
            ]
        )
    return paths


def _check_looked(site_file: SiteFile, ground: Ground, faults: FaultList) -> None:
    """What was looked for and not found cannot be drawn as well."""
    for kind in site_file.looked:
        if drawn := [*ground.of_kind(kind), *marked_as(kind, ground)]:
            faults.add(
                site_file.at("looked", kind),
                found=f"{kind} as looked for and not found, while {listed(each.id for each in drawn)} is drawn",
                expected="one or the other",
                mend="take the line out if it was found",
            )


def _free_facts(site_file: SiteFile, faults: FaultList) -> dict[str, Fact]:
    facts: dict[str, Fact] = {}
    for key, value in site_file.facts.items():
        try:
            facts[key] = free_fact(value)
        except Unusable as misfit:
            faults.take(site_file.at("facts", key), misfit)
    return facts


def _site(
    folder: Path,
    site_file: SiteFile,
    table: SiteTable,
    digging: Digging,
    ground: Ground,
    spots: Sequence[Spot],
    lines: Sequence[Line],
    facts: Mapping[str, Fact],
    prices: Rates,
    notes: FieldNotes,
) -> Site:
    grid = site_file.grid
    elevation_m = table.elevation
    if elevation_m is None:
        elevation_m = mean_elevation_m(spots) if spots else 0.0
    return Site(
        name=table.name,
        folder=str(folder),
        units=table.units,
        coordinates="local" if grid else "lonlat",
        elevation_m=elevation_m,
        grid_origin=(grid.origin[0], grid.origin[1]) if grid and grid.origin else None,
        grid_north_deg=grid.north if grid else None,
        rules=table.rules,
        overrides=tuple(
            Override(
                row=row.table.row,
                values=row.table.model_extra or {},
                reason=row.table.reason,
                source=Source(file=SITE_TOML, line=row.place.line),
            )
            for row in site_file.overrides
        ),
        paper=site_file.paper.paper(),
        digging=digging,
        features=tuple(ground.features.values()),
        lines=tuple(lines),
        levels=tuple(
            Level(
                x=x,
                y=y,
                elevation_m=spot.elevation_m,
                source=Source(file=spot.place.file, line=spot.place.line),
            )
            for spot, (x, y) in zip(
                spots, get_coordinates([spot.point for spot in spots]).tolist(), strict=True
            )
        ),
        bench_mark=_bench_mark(site_file),
        looked=site_file.looked,
        facts=facts,
        frost=_frost(site_file),
        rates=prices,
        field_notes=notes if notes.measurements or notes.by_points else None,
    )


def _digging(site_file: SiteFile, table: DiggingTable, ground: Ground, faults: FaultList) -> Digging:
    place = site_file.at("digging", "bored_under")
    if table.bored_under and not table.bore:
        faults.add(place, found="bored_under beside bore = false", expected="one of them")
    stated = {
        "depth_error_m": table.depth_error,
        "longest_bore_m": table.longest_bore,
        "least_crossing_angle_deg": table.least_crossing_angle,
    }
    return Digging(
        bucket_m=table.bucket,
        bedding_m=table.bedding,
        entered=table.entered,
        soil=table.soil,
        machine=table.machine,
        way_in=table.way_in,
        machine_width_m=table.machine_width,
        laying=stated_evidence(table.laying, table.laying_error, None),
        ground=table.ground,
        steepest=table.steepest,
        bore=table.bore,
        bored_under=tuple(
            id_named(place, name, BORED_UNDER, ground, faults, lines=()) for name in table.bored_under
        ),
        **{name: value for name, value in stated.items() if value is not None},
    )


def _bench_mark(site_file: SiteFile) -> StatedMark | None:
    table = site_file.bench_mark
    if table is None:
        return None
    return StatedMark(at=table.at, elevation_m=table.elevation, rod_m=table.rod)


def _frost(site_file: SiteFile) -> FrostInputs | None:
    table = site_file.frost
    if table is None:
        return None
    n_factor, surface = table.n_factor
    return FrostInputs(
        freezing_index_c_days=table.freezing_index,
        mean_annual_c=table.mean_annual,
        season_days=table.season,
        n_factor=n_factor,
        surface=surface,
        soil=table.soil,
        dry_density_kg_m3=table.dry_density,
        water_percent=table.water,
        source=Source(file=SITE_TOML, line=site_file.at("frost", "soil").line),
    )
