"""The drawing of one site folder on disk: read whole, written whole, every earlier version kept.

A drawing is saved only if the folder can still be read with it; what cannot be read comes back as faults and the file
stays as it was. Earlier versions lie in ``.history``, numbered.
"""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from siteplan.document.geojson import collection
from siteplan.document.write import write_files
from siteplan.errors import Fault, InputFaults, SiteplanError
from siteplan.read import read_site

SITE_FILE = "site.geojson"
HISTORY = ".history"
KEPT = 200
NO_FILE = "none"
"""Revision of a site without the file."""


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
        self._path = folder / SITE_FILE
        self._history = folder / HISTORY

    def revision(self) -> str:
        """Name the bytes of the file as it stands now."""
        return _revision(self._bytes())

    def load(self) -> Drawing:
        """Read the drawing; an empty one if there is no file yet.

        Raises
        ------
        InputFaults
            The file is no GeoJSON FeatureCollection.
        """
        content = self._bytes()
        return Drawing(site=_parse(content), revision=_revision(content))

    def save(self, site: object, based_on: str) -> str | None:
        """Write a drawing and keep the version before it.

        Refused is a drawing with a fault in one of its lines, and one that makes a readable folder unreadable. A folder
        that could not be read before (no house yet, a slip in ``site.toml``) takes every drawing without such a fault.

        Parameters
        ----------
        site : object
            What was sent: a GeoJSON FeatureCollection, if all is well.
        based_on : str
            Revision that the drawing began from.

        Returns
        -------
        str or None
            The new revision; ``None`` if the file on disk is not ``based_on`` any more. Then nothing is written.

        Raises
        ------
        InputFaults
            All that keeps the drawing from being saved.
        SiteplanError
            The folder cannot be written.
        """
        before = self._bytes()
        if _revision(before) != based_on:
            return None
        checked = _checked(site)
        if before is not None:
            checked = _as_it_stood(checked, _parse(before))
        content = _written(checked)
        if content == before:
            return based_on
        try:
            self._history.mkdir(exist_ok=True)
            self._try_out(content, before)
            earlier = {} if before is None else {self._next_earlier(): before}
            write_files({**earlier, self._path: content})
            self._prune()
        except OSError as error:
            raise SiteplanError(f"{error.filename or ''}: cannot write: {error.strerror}") from error
        return _revision(content)

    def _bytes(self) -> bytes | None:
        try:
            return self._path.read_bytes()
        except FileNotFoundError:
            return None
        except OSError as error:
            found = f"a file that cannot be opened ({error.strerror})"
            raise InputFaults([Fault(file=SITE_FILE, found=found, expected="a readable file")]) from error

    def _try_out(self, content: bytes, before: bytes | None) -> None:
        faults = self._faults(content)
        drawn_wrong = any(fault.file == SITE_FILE and fault.line is not None for fault in faults)
        if faults and (drawn_wrong or not self._faults(before)):
            raise InputFaults(faults)

    def _faults(self, content: bytes | None) -> tuple[Fault, ...]:
        """All that ``read_site`` says to a copy of the folder that holds this drawing."""
        with tempfile.TemporaryDirectory(prefix="trial-", dir=self._history) as name:
            trial = Path(name)
            for path in self.folder.iterdir():
                if path.is_file() and path.name != SITE_FILE and not path.name.startswith("."):
                    _link_or_copy(path.resolve(), trial / path.name)
            if content is not None:
                (trial / SITE_FILE).write_bytes(content)
            try:
                read_site(trial)
            except InputFaults as faults:
                return faults.faults
        return ()

    def _earlier(self) -> list[Path]:
        found = [path for path in self._history.glob(f"*-{SITE_FILE}") if path.name.split("-")[0].isdecimal()]
        return sorted(found, key=_number)

    def _next_earlier(self) -> Path:
        earlier = self._earlier()
        number = _number(earlier[-1]) + 1 if earlier else 1
        return self._history / f"{number:04}-{SITE_FILE}"

    def _prune(self) -> None:
        for path in self._earlier()[:-KEPT]:
            path.unlink(missing_ok=True)


def _number(path: Path) -> int:
    return int(path.name.split("-")[0])


def _link_or_copy(source: Path, to: Path) -> None:
    try:
        os.link(source, to)
    except OSError:
        shutil.copyfile(source, to)


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
        key: old[key] if key in old and _in_browser(old[key]) == _in_browser(value) else value
        for key, value in new.items()
    }


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
