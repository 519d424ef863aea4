"""Pictures under the drawing: laid by points of them, kept as ``[[underlay]]`` of ``site.toml``, handed out by number."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeAlias

from shapely import LineString

from siteplan.document.map_tools import laid_words
from siteplan.errors import Fault, InputFaults
from siteplan.plane.local import Plane
from siteplan.plane.place import place
from siteplan.read import read_site
from siteplan.read.site_file import SITE_TOML
from siteplan.read.underlay import MOST_PICTURE_BYTES
from siteplan.site.site import Site
from siteplan.site.underlay import Underlay
from siteplan.units import Printer
from siteplan.web.site_store import NO_FILE, SiteStore
from siteplan.web.toml_edit import add_member, remove_table
from siteplan.web.trial import tried

KnownPoint: TypeAlias = list[float | str]
"""Dots to the right and down, then a corner by name, or longitude and latitude."""

_ENDINGS = {b"\x89PNG\r\n\x1a\n": ".png", b"\xff\xd8\xff": ".jpg"}
_MOST_PICTURES = 20


@dataclass(frozen=True, slots=True)
class _Laid:
    site: Site
    plane: Plane


def told(folder: Path) -> dict[str, Any]:
    """All pictures of a site, and how they lie; where something keeps them from being laid, its faults."""
    site = read_site(folder, finished=False)
    try:
        laid: _Laid | None = _Laid(*place(site))
        faults: list[str] = []
    except InputFaults as error:
        laid, faults = None, [str(fault) for fault in error.faults]
    except ValueError:
        laid, faults = None, []
    pictures = laid.site.underlays if laid else site.underlays
    return {
        "pictures": [{"number": number, **_told(each, laid)} for number, each in enumerate(pictures, 1)],
        "faults": faults if pictures else [],
        "most_bytes": MOST_PICTURE_BYTES,
    }


def picture(folder: Path, number: int) -> Underlay | None:
    """Return one picture by its number, from 1."""
    pictures = read_site(folder, finished=False).underlays
    return pictures[number - 1] if 0 < number <= len(pictures) else None


def laid(
    store: SiteStore, content: bytes, points: Sequence[KnownPoint], *, keep: bool
) -> dict[str, Any] | None:
    """Lay a further picture; with ``keep`` it and its table are written.

    Returns
    -------
    dict or None
        How it lies; ``None`` if ``site.toml`` was changed meanwhile. Then nothing is written.

    Raises
    ------
    InputFaults
        It is no PNG or JPEG, too large, or cannot be laid by these points.
    """
    name = _free_name(store.folder, content)
    revision = store.revision(SITE_TOML)
    text = add_member(store.text(SITE_TOML), "underlay", {"picture": name, "points": list(points)})
    changes = {name: content, SITE_TOML: text.encode()}
    within = store.versions.folder
    within.mkdir(exist_ok=True)
    planes: list[Plane] = []

    def read(trial: Path) -> Site:
        site, plane = place(read_site(trial, finished=False))
        planes.append(plane)
        return site

    outcome = tried(store.folder, changes, within, read)
    if not isinstance(outcome, Site):
        raise InputFaults(outcome)
    told_ = _told(outcome.underlays[-1], _Laid(outcome, planes[0]))
    if keep and not store.save_files(changes, {name: NO_FILE, SITE_TOML: revision}):
        return None
    return told_


def take_out(store: SiteStore, number: int) -> bool:
    """Take a picture and its table out again; ``False`` if there is none of that number."""
    under = picture(store.folder, number)
    if under is None:
        return False
    text = remove_table(store.text(SITE_TOML), ("underlay", number - 1))
    changes: dict[str, bytes | None] = {SITE_TOML: text.encode()}
    others = read_site(store.folder, finished=False).underlays
    if sum(each.name == under.name for each in others) == 1:
        changes[under.name] = None
    return store.save_files(changes, {each: store.revision(each) for each in changes})


def _told(under: Underlay, laid: _Laid | None) -> dict[str, Any]:
    made: dict[str, Any] = {
        "name": under.name,
        "width": under.width_px,
        "height": under.height_px,
        "words": under.name,
    }
    if laid is None or under.lie is None:
        return made
    dots = ((0, 0), (under.width_px, 0), (0, under.height_px))
    corners = laid.plane.to_lonlat(LineString([under.lie.ground(*each) for each in dots]))
    print_ = Printer(laid.site.units)
    misfit_m = under.lie.misfit_m
    return {
        **made,
        "corners": [list(each) for each in corners.coords],
        "misfit": None if misfit_m is None else print_.length(misfit_m),
        "words": laid_words(under, print_),
    }


def _free_name(folder: Path, content: bytes) -> str:
    ending = next((ending for first, ending in _ENDINGS.items() if content.startswith(first)), None)
    if ending is None:
        raise _refusal("a file that is no PNG or JPEG by its first bytes", "a PNG or JPEG picture")
    if len(content) > MOST_PICTURE_BYTES:
        found, most = f"{len(content) / 1e6:.1f} MB", f"at most {MOST_PICTURE_BYTES / 1e6:.0f} MB"
        raise _refusal(found, most, "save it smaller: grey, 150 dots to the inch")
    taken = {path.stem.lower() for path in folder.iterdir()}
    free = [number for number in range(1, _MOST_PICTURES + 1) if f"picture-{number}" not in taken]
    if not free:
        raise _refusal(f"{_MOST_PICTURES} pictures", "fewer", "take one out first")
    return f"picture-{free[0]}{ending}"


def _refusal(found: str, expected: str, mend: str = "") -> InputFaults:
    return InputFaults([Fault(file="the picture", found=found, expected=expected, mend=mend)])
