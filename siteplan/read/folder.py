"""Which files of a site folder are read, and their text, with the limits that keep a bad file from doing harm."""

from __future__ import annotations

from pathlib import Path

from siteplan.read.words import FaultList, Place

MOST_BYTES = 50_000_000
MOST_FEATURES = 20_000

LEVELS = "levels.csv"
GIS = frozenset((".gpkg", ".fgb", ".shp"))
_TEXTS = frozenset((".geojson", ".csv", ".gpx", ".kml"))
NOT_READ = {
    ".kmz": "unzip it and keep the .kml inside",
    ".zip": "unzip it here",
    ".dxf": "save it as GeoJSON or GeoPackage in a GIS",
    ".gml": "save it as GeoJSON or GeoPackage in a GIS",
}
"""Files that look like a site's but are not read, and what to do: nothing that somebody drew is missing without a word."""

TIES = "ties.csv"
_LATER = frozenset(("asbuilt.geojson", "shots.csv", TIES))


def input_files(folder: Path) -> list[Path]:
    """Files of the folder that say what is on the ground, sorted by name; subfolders are not looked into."""
    return [
        path
        for path in sorted(folder.iterdir(), key=lambda path: path.name)
        if path.suffix.lower() in GIS | _TEXTS | NOT_READ.keys()
        and path.name.lower() not in _LATER
        and not path.name.startswith(".")
        and not path.is_dir()
    ]


def may_be_read(path: Path, faults: FaultList) -> bool:
    """Whether it is an ordinary file of its own folder and not too large; if not, that is noted."""
    place = Place(file=path.name)
    try:
        if not path.resolve().is_relative_to(path.parent.resolve()):
            faults.add(
                place,
                found="a link that leads out of the folder",
                expected="a file",
                mend="copy the file here",
            )
        elif not path.is_file():
            faults.add(place, found="no ordinary file", expected="a file", mend="take it out of the folder")
        elif (size := path.stat().st_size) > MOST_BYTES:
            faults.add(
                place,
                found=f"{size / 1e6:.0f} MB",
                expected=f"at most {MOST_BYTES / 1e6:.0f} MB",
                mend="keep the site only",
            )
        else:
            return True
    except (OSError, RuntimeError) as error:
        _unreadable(place, error, faults)
    return False


def read_text(path: Path, faults: FaultList) -> str | None:
    """Read the text of a file, None (and a fault) if it cannot be had."""
    if not may_be_read(path, faults):
        return None
    place = Place(file=path.name)
    try:
        content = path.read_bytes()
    except OSError as error:
        _unreadable(place, error, faults)
        return None
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        faults.add(
            Place(file=path.name, line=content.count(b"\n", 0, error.start) + 1),
            found=f"the byte 0x{content[error.start]:02x}",
            expected="text in UTF-8",
            mend="save the file as UTF-8",
        )
        return None


def _unreadable(place: Place, error: Exception, faults: FaultList) -> None:
    reason = getattr(error, "strerror", None) or "a link that leads nowhere"
    faults.add(place, found=f"a file that cannot be opened ({reason})", expected="a readable file")
