"""All files of an as-built record, and the history of its data: nothing that was ever recorded is written over.

``asbuilt.geojson`` is the data; the others follow from it. Where its content changes, the former file is kept as
``history/asbuilt-<n>.geojson`` first.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path

from siteplan.document.asbuilt import record_geojson
from siteplan.document.gpx import built_gpx
from siteplan.document.kml import built_kml
from siteplan.document.record_model import Record
from siteplan.document.sheet import LETTER, Paper
from siteplan.document.tables import findings_json
from siteplan.document.write import write_files
from siteplan.errors import SiteplanError

DATA = "asbuilt.geojson"
HISTORY = "history"


def _geopackage(record: Record) -> bytes:
    from siteplan.document.geopackage import built_gpkg

    return built_gpkg(record)


def _findings(record: Record) -> str:
    return findings_json(replace(record.plan, findings=record.findings))


def _tie_sheet(record: Record, paper: Paper) -> bytes:
    from siteplan.document.tie_sheet import tie_sheet

    return tie_sheet(record, paper)


def _owner_page(record: Record, paper: Paper) -> bytes:
    from siteplan.document.owner_page import owner_page

    return owner_page(record, paper)


DERIVED: Mapping[str, Callable[[Record], str | bytes]] = {
    "findings.json": _findings,
    "as-built.gpx": built_gpx,
    "as-built.kml": built_kml,
    "as-built.gpkg": _geopackage,
}
"""What follows from the data, in the order of writing."""

SHEETS: Mapping[str, Callable[[Record, Paper], bytes]] = {
    "tie-sheet.pdf": _tie_sheet,
    "owner-page.pdf": _owner_page,
}
"""What is printed of it."""

RECORDED = (DATA, *DERIVED, *SHEETS)
"""Every file that ``siteplan record`` writes."""


def write_record(record: Record, out: Path, paper: Paper = LETTER) -> tuple[Path, ...]:
    """Make every file first, then write: the former data into the history, the data, what follows from it.

    Whatever stops it, each file is there whole, the data of every visit with it; the next run mends what follows.

    Raises
    ------
    SiteplanError
        The folder cannot be read or written.
    """
    data = record_geojson(record)
    contents: dict[Path, str | bytes] = {**_former(out, data.encode()), out / DATA: data}
    for name, make in DERIVED.items():
        contents[out / name] = make(record)
    for name, make_sheet in SHEETS.items():
        contents[out / name] = make_sheet(record, paper)
    return write_files(contents)


def _former(out: Path, data: bytes) -> dict[Path, str | bytes]:
    """The former data where it differs, under the next number; nothing if the history holds it already."""
    try:
        now = (out / DATA).read_bytes() if (out / DATA).exists() else data
        kept = {
            int(match[1]): path
            for path in (out / HISTORY).glob("asbuilt-*.geojson")
            if (match := re.fullmatch(r"asbuilt-(\d+)\.geojson", path.name))
        }
        last = max(kept, default=0)
        if now == data or (kept and kept[last].read_bytes() == now):
            return {}
    except OSError as error:
        raise SiteplanError(f"{error.filename or out}: cannot read: {error.strerror}") from error
    return {out / HISTORY / f"asbuilt-{last + 1}.geojson": now}
