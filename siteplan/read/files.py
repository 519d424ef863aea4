"""All files of a site folder that say what is on the ground, each through its reader, into one ``Ground``."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from siteplan.read.features import feature_of
from siteplan.read.folder import GIS, LEVELS, MOST_FEATURES, NOT_READ, read_text
from siteplan.read.geojson import read_geojson
from siteplan.read.ground import Ground
from siteplan.read.placing import placed
from siteplan.read.points_csv import read_levels_csv, read_points_csv
from siteplan.read.record import Contents, Record, Spot
from siteplan.read.site_file import SiteFile
from siteplan.read.site_model import FileTable, GridTable
from siteplan.read.tracks import read_gpx, read_kml
from siteplan.read.words import FaultList, Place, listed, shown, suggestion
from siteplan.site.catalogue import kinds


def read_files(paths: Sequence[Path], site_file: SiteFile, faults: FaultList) -> tuple[Ground, list[Spot]]:
    """Read what is on the ground and the ground heights, in the coordinates of the site. Faults go into the list."""
    return _Files(site_file, faults).read(paths)


def read_alone(
    path: Path, entry: FileTable | None, grid: GridTable | None, faults: FaultList
) -> Contents | None:
    """Read one file by itself, in the coordinates of the site; nothing is understood yet. Faults go into the list.

    Parameters
    ----------
    entry : FileTable or None
        What ``site.toml`` says about the file.
    grid : GridTable or None
        The tape grid of the site.

    Returns
    -------
    Contents or None
        None, with the fault noted, if it cannot be read.
    """
    contents = _contents(path, entry, faults)
    if contents is None:
        return None
    if len(contents.records) + len(contents.spots) > MOST_FEATURES:
        _note_too_many(path, faults)
        return None
    return placed(_renamed(contents, entry), path.name, entry, grid, faults)


class _Files:
    """Reads the files of a folder one after the other into what is on the ground."""

    def __init__(self, site_file: SiteFile, faults: FaultList) -> None:
        self._site_file, self._faults = site_file, faults
        self._entries = {row.table.path: row for row in site_file.files}
        self._ground, self._spots, self._count = Ground(), list[Spot](), 0

    def read(self, paths: Sequence[Path]) -> tuple[Ground, list[Spot]]:
        self._check_entries([path.name for path in paths])
        for path in paths:
            if ("grid", "") in self._site_file.spoilt or ("file", path.name) in self._site_file.spoilt:
                self._ground.whole = False
            elif self._count <= MOST_FEATURES:
                self._add(path)
        return self._ground, self._spots

    def _check_entries(self, names: Sequence[str]) -> None:
        for row in self._site_file.files:
            if row.table.path not in names:
                self._faults.add(
                    row.at("path"),
                    found=f"{shown(row.table.path)}, which is not in the folder or not read",
                    expected=f"one of {listed(names)}" if names else "a file of this folder",
                    mend=suggestion(row.table.path, names),
                )

    def _add(self, path: Path) -> None:
        row = self._entries.get(path.name)
        entry = row.table if row else None
        contents = _contents(path, entry, self._faults)
        if contents is None:
            self._ground.whole = False
            return
        self._count += len(contents.records) + len(contents.spots)
        if self._count > MOST_FEATURES:
            self._ground.whole = False
            _note_too_many(path, self._faults)
            return
        contents = placed(_renamed(contents, entry), path.name, entry, self._site_file.grid, self._faults)
        self._spots += contents.spots
        for record in contents.records:
            self._put(record, entry)

    def _put(self, record: Record, entry: FileTable | None) -> None:
        """Understand one record and keep it, or keep its id so that nothing is said to be missing for its sake."""
        feature = feature_of(record, entry, self._faults)
        first = self._ground.features.get(record.id)
        if feature is None:
            kind = str(record.properties.get("kind", entry.kind if entry else None))
            self._ground.spoilt[record.id] = kind if kind in kinds() else None
        elif first is None:
            self._ground.features[feature.id] = feature
        else:
            at = first.source.file + (f":{first.source.line}" if first.source.line else "")
            self._faults.add(
                record.place,
                found=f"the id {shown(record.id)} a second time",
                expected="an id of its own",
                mend=f"the first is at {at}",
            )


def _contents(path: Path, entry: FileTable | None, faults: FaultList) -> Contents | None:
    suffix = path.suffix.lower()
    columns, kind, epsg = (entry.columns, entry.kind, entry.epsg) if entry else ({}, None, None)
    if suffix in NOT_READ:
        faults.add(
            Place(file=path.name),
            found=f"a {suffix} file, which siteplan does not read",
            expected="GeoJSON, CSV, GPX, KML, GeoPackage, FlatGeobuf or Shapefile",
            mend=NOT_READ[suffix],
        )
        return None
    if suffix in GIS:
        from siteplan.read.gis_file import read_gis_file

        return read_gis_file(path, faults, epsg)
    text = read_text(path, faults)
    contents = None
    if text is None:
        pass
    elif path.name.lower() == LEVELS:
        contents = read_levels_csv(text, path.name, faults, columns)
    elif suffix == ".csv":
        contents = read_points_csv(text, path.name, path.stem, faults, columns, kind)
    elif suffix == ".gpx":
        contents = read_gpx(text, path.name, path.stem, faults, kind)
    elif suffix == ".kml":
        contents = read_kml(text, path.name, path.stem, faults)
    else:
        contents = read_geojson(text, path.name, path.stem, faults)
    return contents


def _note_too_many(path: Path, faults: FaultList) -> None:
    faults.add(
        Place(file=path.name),
        found=f"more than {MOST_FEATURES} things with this file",
        expected=f"at most {MOST_FEATURES} on a site",
        mend="keep what lies on the site and next to it",
    )


def _renamed(contents: Contents, entry: FileTable | None) -> Contents:
    """Give the columns of a file the names that ``site.toml`` states."""
    if entry is None or not entry.columns:
        return contents
    ours = {theirs: own for own, theirs in entry.columns.items()}
    return replace(
        contents,
        records=tuple(
            replace(
                record, properties={ours.get(name, name): value for name, value in record.properties.items()}
            )
            for record in contents.records
        ),
    )
