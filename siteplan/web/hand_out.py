"""A made document, handed to the browser: read to be looked at, or saved."""

from __future__ import annotations

import zipfile
from collections.abc import Iterable
from io import BytesIO
from pathlib import Path

from starlette.responses import Response

from siteplan.web.handling import Refused

_TYPES = {
    ".html": "text/html",
    ".pdf": "application/pdf",
    ".csv": "text/csv",
    ".gpx": "application/gpx+xml",
    ".kml": "application/vnd.google-earth.kml+xml",
    ".gpkg": "application/geopackage+sqlite3",
    ".txt": "text/plain; charset=utf-8",
    ".zip": "application/zip",
}
_POLICIES = {
    ".html": (
        "sandbox allow-scripts; default-src 'none'; script-src 'unsafe-inline'; style-src 'unsafe-inline'; "
        "img-src data:"
    ),
    ".pdf": "default-src 'none'; object-src 'self'; frame-src 'self'; style-src 'unsafe-inline'",
}
"""The map page is one file with script in it: it is shown shut off from the drawing page. A PDF is shown by the browser."""


def handed_out(folder: Path, name: str) -> Response:
    """Answer with a document of a folder; ``name`` comes out of a fixed list, never from the browser.

    Raises
    ------
    Refused
        It is not made yet.
    """
    path = folder / name
    if not path.is_file():
        raise Refused(404, f"{name} is not made yet")
    return _answer(name, path.read_bytes())


def zipped(folders: Iterable[tuple[str, Path, Iterable[str]]], name: str) -> Response:
    """Answer with all documents that are made, in one archive: the same documents give the same bytes.

    Parameters
    ----------
    folders : iterable of (str, Path, iterable of str)
        Name in the archive, folder, and the names of its documents.
    name : str
        Of the archive.

    Raises
    ------
    Refused
        Nothing is made yet.
    """
    packed = BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        for called, folder, names in folders:
            for path in (folder / each for each in names):
                if path.is_file():
                    archive.writestr(zipfile.ZipInfo(f"{called}/{path.name}"), path.read_bytes())
        if not archive.namelist():
            raise Refused(404, "nothing is made yet")
    return _answer(name, packed.getvalue())


def _answer(name: str, content: bytes) -> Response:
    suffix = Path(name).suffix
    headers = {}
    if suffix in _POLICIES:
        headers["Content-Security-Policy"] = _POLICIES[suffix]
        headers["Content-Disposition"] = f'inline; filename="{name}"'
    else:
        headers["Content-Disposition"] = f'attachment; filename="{name}"'
    return Response(content, media_type=_TYPES.get(suffix, "application/json"), headers=headers)
