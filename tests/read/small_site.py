"""A small good site, written to a folder file by file, so that a test may put one bad thing into it."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

from siteplan.errors import InputFaults
from siteplan.read import read_site

SITE_TOML = """\
[site]
name = "Test site"
rules = "us/mt"
units = "ft"
elevation = "4000 ft"

[digging]
bucket = "24 in"
bedding = "4 in"
entered = false
soil = "sand"

[[line]]
id = "water"
carries = "water"
from = "well"
to = "house"
product = "pe-1-ips"
"""

PARCEL = [[-112.0, 46.0], [-111.999, 46.0], [-111.999, 46.001], [-112.0, 46.001], [-112.0, 46.0]]
HOUSE = [
    [-111.9994, 46.0003],
    [-111.9992, 46.0003],
    [-111.9992, 46.0004],
    [-111.9994, 46.0004],
    [-111.9994, 46.0003],
]
WELL = [-111.9998, 46.0008]


def feature(own: str, kind: str, shape: str, coordinates: Any, **properties: Any) -> dict[str, Any]:
    """A GeoJSON feature."""
    return {
        "type": "Feature",
        "id": own,
        "properties": {"kind": kind, **properties},
        "geometry": {"type": shape, "coordinates": coordinates},
    }


def good() -> list[dict[str, Any]]:
    """Parcel, well and house, on lines 2, 3 and 4 of the file."""
    return [
        feature("parcel", "parcel", "Polygon", [PARCEL], method="surveyed"),
        feature("well", "well", "Point", WELL, method="taped", casing_depth="62 ft"),
        feature("house", "building", "Polygon", [HOUSE], method="taped"),
    ]


def collection(features: list[Any], **members: Any) -> str:
    """One feature a line, as people and programs write it."""
    head = json.dumps({"type": "FeatureCollection", **members})[:-1]
    return head + ', "features": [\n' + ",\n".join(json.dumps(each) for each in features) + "\n]}\n"


def write(folder: Path, **texts: str | bytes) -> Path:
    """Write the small site; ``site__toml="..."`` stands for ``site.toml``."""
    files: dict[str, str | bytes] = {"site.toml": SITE_TOML, "site.geojson": collection(good())}
    files |= {name.replace("__", "."): text for name, text in texts.items()}
    for name, text in files.items():
        content = text.encode() if isinstance(text, str) else text
        (folder / name).write_bytes(content)
    return folder


def faults(folder: Path) -> list[str]:
    """What ``read_site`` says, a line each; ``[]`` if it has nothing to say."""
    try:
        read_site(folder)
    except InputFaults as error:
        lines = str(error).splitlines()
        assert len(lines) == len(error.faults), "a fault is one line"
        return lines
    return []


def only_fault(folder: Path, *parts: str) -> str:
    """The one fault there is, which must hold all the parts."""
    [fault] = faults(folder)
    for part in parts:
        assert part in fault, f"{part!r} not in {fault!r}"
    return fault


def changed(text: str, old: str, new: str) -> str:
    """The text with one thing replaced, which must be in it."""
    assert old in text
    return text.replace(old, new, 1)


Change = Callable[[list[dict[str, Any]]], None]
