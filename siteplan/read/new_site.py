"""A new site folder: a commented ``site.toml`` and a small drawing that plans as it stands."""

from __future__ import annotations

import json
from pathlib import Path

from siteplan.errors import Fault, InputFaults
from siteplan.read.words import Unusable, clean_text

_TEMPLATES = {"site.toml": "new_site.toml", "site.geojson": "new_site.geojson"}


def write_new_site(folder: Path, name: str = "New site") -> None:
    """Write a new site folder, all of it or nothing.

    Parameters
    ----------
    folder : Path
        Made if it is not there; may be empty.
    name : str
        Name of the site, as it prints.

    Raises
    ------
    InputFaults
        The folder holds something already, cannot be written, or the name does not print on one line.
    """
    try:
        title = clean_text(name) or "New site"
    except Unusable as misfit:
        fault = Fault(file=str(folder), where="name", found=misfit.found, expected=misfit.expected)
        raise InputFaults([fault]) from misfit
    texts = {
        own: Path(__file__).with_name(template).read_text(encoding="utf-8").replace('"$name"', _quoted(title))
        for own, template in _TEMPLATES.items()
    }
    halves = {folder / f".{own}.part": folder / own for own in texts}
    try:
        folder.mkdir(parents=True, exist_ok=True)
        if any(folder.iterdir()):
            fault = Fault(
                file=str(folder),
                found="a folder with files",
                expected="an empty one",
                mend="choose another name",
            )
            raise InputFaults([fault])
        try:
            for half, text in zip(halves, texts.values(), strict=True):
                half.write_text(text, encoding="utf-8", newline="\n")
            for half, whole in halves.items():
                half.replace(whole)
        except OSError:
            for half in halves:
                half.unlink(missing_ok=True)
            raise
    except OSError as error:
        fault = Fault(
            file=str(folder),
            found=f"no folder to write to ({error.strerror})",
            expected="a folder",
            mend="choose another place",
        )
        raise InputFaults([fault]) from error


def is_new_drawing(drawing: object) -> bool:
    """Whether a drawing (GeoJSON) is the one that a new site folder begins with."""
    template = Path(__file__).with_name(_TEMPLATES["site.geojson"]).read_text(encoding="utf-8")
    return bool(drawing == json.loads(template))


def _quoted(text: str) -> str:
    """A TOML text; what JSON escapes is written alike there."""
    return json.dumps(text, ensure_ascii=False)
