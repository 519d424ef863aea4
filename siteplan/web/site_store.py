"""The files of one site folder on disk: read whole, written whole, every earlier version kept.

A change with a fault of its own is not saved: the faults come back, and the files stay as they were. One without is saved even
where another file now lacks something, such as the house that a line ends at: the plan says so, and nothing drawn is lost.
"""

from __future__ import annotations

import hashlib
import json
import time
from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from shutil import rmtree
from typing import Any

from siteplan.document.geojson import collection
from siteplan.document.write import write_files
from siteplan.errors import Fault, InputFaults, SiteplanError
from siteplan.read import read_site
from siteplan.site.site import Site
from siteplan.web.trial import Changes, newly_wrong, tried
from siteplan.web.versions import Versions

SITE_FILE = "site.geojson"
NO_FILE = "none"
"""Revision of a file that is not there."""
_LEFT_BEHIND_S = 3600.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawing:
    """A drawing as it stands on disk: the GeoJSON FeatureCollection, and a name for exactly these bytes."""

    site: dict[str, Any]
    revision: str


class SiteStore:
    """The drawing of one site folder.

    Parameters
    ----------
    folder : Path
        A site folder.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.versions = Versions(folder)
        self._read: tuple[object, Site] | None = None
        self._tried: tuple[object, Changes, Site] | None = None
        self._clear_away()

    def revision(self, name: str = SITE_FILE) -> str:
        """Name the bytes of a file as it stands now."""
        return _revision(self._bytes(name))

    def text(self, name: str) -> str:
        """Return a file as text, empty if it is not there; ``InputFaults`` if it is not UTF-8."""
        try:
            return (self._bytes(name) or b"").decode("utf-8")
        except UnicodeDecodeError as error:
            raise InputFaults([Fault(file=name, found="bytes that are no UTF-8", expected="text")]) from error

    def stamp(self) -> str:
        """Name the state of the whole folder: another one after any change of any file that is read."""
        return hashlib.sha256(repr(self._state()).encode()).hexdigest()

    def site(self) -> Site:
        """Read the site; not again if nothing in the folder has changed.

        Raises
        ------
        InputFaults
            All that must be mended in the files.
        """
        state = self._state()
        if self._read is None or self._read[0] != state:
            self._read = (state, read_site(self.folder))
        return self._read[1]

    def site_with(self, drawn: object, based_on: str) -> Site | None:
        """Read the site as it would be with another drawing, which is not saved; ``None`` if it is not ``based_on`` any more.

        Raises
        ------
        InputFaults
            All that must be mended in the files.
        """
        if self.revision() != based_on:
            return None
        outcome = self._tried_out({SITE_FILE: self.drawing_bytes(drawn)})
        if not isinstance(outcome, Site):
            raise InputFaults(outcome)
        return outcome

    def load(self) -> Drawing:
        """Read the drawing; an empty one if there is no file yet.

        Raises
        ------
        InputFaults
            The file is no GeoJSON FeatureCollection.
        """
        content = self._bytes(SITE_FILE)
        return Drawing(site=_parse(content), revision=_revision(content))

    def drawing_bytes(self, site: object) -> bytes:
        """Return a drawing as it goes into its file: what a browser passed through unchanged stays as it stands there.

        Raises
        ------
        InputFaults
            It is no GeoJSON FeatureCollection.
        """
        checked = _checked(site)
        before = self._bytes(SITE_FILE)
        return _written(checked if before is None else _as_it_stood(checked, _parse(before)))

    def save(
        self, site: object, based_on: str, *, meanwhile: Callable[[Site | None], object] = lambda _: None
    ) -> str | None:
        """Write a drawing, as ``save_file`` does.

        Parameters
        ----------
        site : object
            What was sent: a GeoJSON FeatureCollection, if all is well.
        based_on : str
            Revision that the drawing began from.
        meanwhile : callable
            Told the site as it will be, before the disk is waited for; ``None`` first, if that has to be read.

        Returns
        -------
        str or None
            The new revision; ``None`` if the file on disk is not ``based_on`` any more. Then nothing is written.
        """
        if self.revision() != based_on:
            return None
        drawn = self.drawing_bytes(site)
        if not self._was_tried({SITE_FILE: drawn}):
            meanwhile(None)
        outcome = self._tried_out({SITE_FILE: drawn})
        if isinstance(outcome, Site):
            meanwhile(outcome)
        return self.save_file(SITE_FILE, drawn, based_on)

    def save_file(self, name: str, content: str | bytes | None, based_on: str) -> str | None:
        """Write one file, as ``save_files`` does; its new revision, or ``None`` if another hand changed it."""
        encoded = content.encode("utf-8") if isinstance(content, str) else content
        return _revision(encoded) if self.save_files({name: encoded}, {name: based_on}) else None

    def save_files(self, changes: Changes, based_on: Mapping[str, str]) -> bool:
        """Write files of the folder together and keep the versions before them.

        Refused is a change that brings a fault into a line that it writes. What other files then lack is for the plan to say:
        a drawing is saved while the house is still to come.

        Parameters
        ----------
        changes : mapping
            Plain file names of this folder and what they are to hold; ``None`` takes a file away.
        based_on : mapping
            Revision that each change began from, by file name.

        Returns
        -------
        bool
            Whether it was written; not if one of the files is not ``based_on`` any more.

        Raises
        ------
        InputFaults
            All that keeps the change from being saved.
        SiteplanError
            The folder cannot be written.
        """
        before = {name: self._bytes(name) for name in changes}
        if any(_revision(before[name]) != based_on[name] for name in changes):
            return False
        changed = {name: content for name, content in changes.items() if content != before[name]}
        if not changed:
            return True
        try:
            site = self._try_out(changed)
            replaced = {name: stood for name in changed if (stood := before[name]) is not None}
            written = {
                self.folder / name: content for name, content in changed.items() if content is not None
            }
            write_files({**self.versions.places(replaced), **written})
            for name in changed.keys() - {path.name for path in written}:
                (self.folder / name).unlink(missing_ok=True)
            self.versions.prune()
        except OSError as error:
            raise SiteplanError(f"{error.filename or ''}: cannot write: {error.strerror}") from error
        self._read = None if site is None else (self._state(), site)
        return True

    def _bytes(self, name: str) -> bytes | None:
        try:
            return (self.folder / name).read_bytes()
        except FileNotFoundError:
            return None
        except OSError as error:
            found = f"a file that cannot be opened ({error.strerror})"
            raise InputFaults([Fault(file=name, found=found, expected="a readable file")]) from error

    def _try_out(self, changes: Changes) -> Site | None:
        """Return the site as it will be read, ``None`` if it cannot be; raise ``InputFaults`` if that is this change's fault."""
        outcome = self._tried_out(changes)
        if isinstance(outcome, Site):
            return outcome
        ours = [fault for fault in outcome if fault.file in changes and fault.line is not None]
        stood = tried(self.folder, {}, self.versions.folder) if ours else ()
        if newly_wrong(ours, () if isinstance(stood, Site) else stood):
            raise InputFaults(outcome)
        return None

    def _tried_out(self, changes: Changes) -> Site | tuple[Fault, ...]:
        """Read a copy of the folder with these changes; what was tried last is not read again."""
        if tried_before := self._was_tried(changes):
            return tried_before
        state = self._state()
        self.versions.folder.mkdir(exist_ok=True)
        outcome = tried(self.folder, changes, self.versions.folder)
        if isinstance(outcome, Site):
            self._tried = (state, changes, outcome)
        return outcome

    def _was_tried(self, changes: Changes) -> Site | None:
        """Return the site with these changes if it was the last to be tried out, and the folder is as it was."""
        return self._tried[2] if self._tried and self._tried[:2] == (self._state(), changes) else None

    def _state(self) -> list[tuple[str, int, int]]:
        """Name, size and time of each file that may be read as part of the site."""
        found = []
        for path in self.folder.iterdir():
            with suppress(FileNotFoundError):
                told = path.stat()
                if path.is_file() and not path.name.startswith("."):
                    found.append((path.name, told.st_size, told.st_mtime_ns))
        return sorted(found)

    def _clear_away(self) -> None:
        """Take away trial copies that a run which was killed left behind, not those of another window."""
        for left in self.versions.folder.glob("trial-*"):
            if time.time() - left.stat().st_mtime > _LEFT_BEHIND_S:
                rmtree(left, ignore_errors=True)


def _revision(content: bytes | None) -> str:
    return NO_FILE if content is None else hashlib.sha256(content).hexdigest()


def _parse(content: bytes | None) -> dict[str, Any]:
    if content is None:
        return {"type": "FeatureCollection", "features": []}
    try:
        return _checked(json.loads(content.decode("utf-8-sig"), parse_constant=_refuse))
    except json.JSONDecodeError as error:
        fault = Fault(file=SITE_FILE, line=error.lineno, found=f"no JSON ({error.msg})", expected="GeoJSON")
        raise InputFaults([fault]) from error
    except (ValueError, RecursionError) as error:
        fault = Fault(file=SITE_FILE, found="text that is no JSON in UTF-8", expected="GeoJSON")
        raise InputFaults([fault]) from error


def _refuse(constant: str) -> float:
    raise ValueError(constant)


def _checked(site: object) -> dict[str, Any]:
    """Return a FeatureCollection, as far as the shape of the JSON goes: ``read_site`` judges what is in it."""
    if isinstance(site, dict) and site.get("type") == "FeatureCollection":
        features = site.get("features")
        if isinstance(features, list) and all(isinstance(each, dict) for each in features):
            return site
    raise InputFaults(
        [
            Fault(
                file=SITE_FILE,
                found="another JSON value",
                expected='a GeoJSON "FeatureCollection" with a list of "features"',
            )
        ]
    )


def _as_it_stood(drawn: dict[str, Any], stood: dict[str, Any]) -> dict[str, Any]:
    """Take from the file what a browser passed through unchanged: it knows no whole numbers past 2^53 and no 11.0."""
    by_id = {json.dumps(each["id"]): each for each in stood["features"] if "id" in each}
    features = []
    for feature in drawn["features"]:
        old = by_id.get(json.dumps(feature.get("id")), {})
        kept = _unchanged(feature, old)
        if isinstance(feature.get("properties"), dict) and isinstance(old.get("properties"), dict):
            kept["properties"] = _unchanged(feature["properties"], old["properties"])
        features.append(kept)
    return {**_unchanged(drawn, stood), "features": features}


def _unchanged(new: dict[str, Any], old: dict[str, Any]) -> dict[str, Any]:
    return {
        key: old[key] if key in old and _same_in_browser(old[key], value) else value
        for key, value in new.items()
    }


def _same_in_browser(one: object, other: object) -> bool:
    return repr(one) == repr(other) or _in_browser(one) == _in_browser(other)


def _in_browser(value: object) -> str:
    return json.dumps(json.loads(json.dumps(value), parse_int=float), sort_keys=True)


def _written(site: dict[str, Any]) -> bytes:
    members = {key: value for key, value in site.items() if key not in ("type", "features")}
    try:
        return collection(site["features"], **members).encode("utf-8")
    except (ValueError, RecursionError) as error:
        found = "half a character, or a number without end"
        fault = Fault(file=SITE_FILE, found=found, expected="text in UTF-8 and finite numbers")
        raise InputFaults([fault]) from error
