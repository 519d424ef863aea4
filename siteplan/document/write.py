"""All files of one plan, each written whole or not at all."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable, Mapping
from dataclasses import replace
from glob import escape
from pathlib import Path

from siteplan.document.asbuilt import asbuilt_geojson
from siteplan.document.geojson import plan_geojson
from siteplan.document.gpx import route_gpx
from siteplan.document.model import Plan
from siteplan.document.sheet import LETTER, Paper
from siteplan.document.speech import Speech
from siteplan.document.tables import findings_json, quantities_csv, stations_csv
from siteplan.errors import SiteplanError


def _map(plan: Plan) -> str:
    from siteplan.document.web_map import map_html

    return map_html(plan)


def _route_sheet(plan: Plan, paper: Paper) -> bytes:
    from siteplan.document.route_sheet import route_sheet

    return route_sheet(plan, paper)


def _tie_list(plan: Plan, paper: Paper) -> bytes:
    from siteplan.document.tie_list import tie_list

    return tie_list(plan, paper)


def _setback_review(plan: Plan, paper: Paper) -> bytes:
    from siteplan.document.setback_review import setback_review

    return setback_review(plan, paper)


def _plot_plan(plan: Plan, paper: Paper) -> bytes:
    from siteplan.document.plot_plan import plot_plan

    return plot_plan(plan, paper)


def _variance(plan: Plan, paper: Paper) -> dict[str, bytes]:
    from siteplan.document.variance import to_ask, variance

    return {VARIANCE: variance(plan, paper)} if to_ask(plan) else {}


def _locate_request(plan: Plan, paper: Paper) -> bytes:
    from siteplan.document.locate_request import locate_request

    return locate_request(plan, paper)


def _quantities(plan: Plan, paper: Paper) -> bytes:
    from siteplan.document.quantities import quantities_sheet

    return quantities_sheet(plan, paper)


def _picture(plan: Plan, paper: Paper) -> bytes:
    from siteplan.document.picture import picture

    return picture(plan, paper)


def _locate_request_text(plan: Plan) -> str:
    from siteplan.document.locate_request import locate_request_text

    return locate_request_text(plan)


SHEETS: Mapping[str, Callable[[Plan, Paper], bytes]] = {
    "route-sheet.pdf": _route_sheet,
    "tie-list.pdf": _tie_list,
    "setback-review.pdf": _setback_review,
    "plot-plan.pdf": _plot_plan,
    "locate-request.pdf": _locate_request,
    "quantities.pdf": _quantities,
    "picture.pdf": _picture,
}
TEXTS: Mapping[str, Callable[[Plan], str]] = {
    "map.html": _map,
    "locate-request.txt": _locate_request_text,
    "plan.geojson": plan_geojson,
    "asbuilt.geojson": asbuilt_geojson,
    "findings.json": findings_json,
    "quantities.csv": quantities_csv,
    "stations.csv": stations_csv,
    "route.gpx": route_gpx,
}
UNFINISHED = ".unfinished"
"""Ending of a file that is being written."""

DOCUMENTS = (*SHEETS, *TEXTS)
"""Every file that ``siteplan plan`` writes."""

VARIANCE = "variance.pdf"
"""The appendix that is written on demand, if there is something to ask for."""

TRANSLATED = ("route-sheet.pdf",)
"""Sheets that speak the languages of ``speech.LANGUAGES``; the others are in English."""

IN_DEGREES = ("map.html", "plan.geojson", "asbuilt.geojson", "route.gpx")
"""Files that are nothing without longitude and latitude: a site in a tape grid without an origin has none of them."""


def write_documents(
    plan: Plan,
    out: Path,
    paper: Paper = LETTER,
    *,
    language: str = "en",
    variance: bool = False,
    begun: Callable[[str], None] = lambda name: None,
) -> tuple[Path, ...]:
    """Make every document first, then write them: a fault in one leaves the folder as it was.

    Those of ``IN_DEGREES`` are left out where the site has no degrees; those of ``TRANSLATED`` are in the language asked for.
    With ``variance`` that appendix is among them if a required setback is short, needs approval or is too close to call.
    ``begun`` is told the name of each as it is begun.

    Raises
    ------
    SiteplanError
        The folder cannot be written.
    """
    spoken = replace(plan, say=Speech(language))
    made: dict[str, str | bytes] = {}
    for name, make_sheet in SHEETS.items():
        begun(name)
        made[name] = make_sheet(spoken if name in TRANSLATED else plan, paper)
    if variance:
        made |= _variance(plan, paper)
    left_out = () if plan.frame.placed else IN_DEGREES
    for name, make_text in TEXTS.items():
        if name not in left_out:
            begun(name)
            made[name] = make_text(plan)
    return write_files({out / name: content for name, content in made.items()})


def write_files(contents: Mapping[Path, str | bytes]) -> tuple[Path, ...]:
    """Write files so that no reader ever sees half of one, and one that is interrupted loses nothing.

    All are first written in full beside where they go; then each takes its place, in the order given, and is there for good
    before the next one is. So what others follow from comes first.

    Raises
    ------
    SiteplanError
        A folder or file cannot be written; nothing that stood there is lost.
    """
    waiting: list[tuple[Path, Path]] = []
    try:
        for path, content in contents.items():
            path.parent.mkdir(parents=True, exist_ok=True)
            _clear_away(path)
            handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.", suffix=UNFINISHED)
            waiting.append((Path(name), path))
            with os.fdopen(handle, "wb") as file:
                file.write(content.encode("utf-8") if isinstance(content, str) else content)
                file.flush()
                os.fsync(file.fileno())
            Path(name).chmod(0o644)
        for unfinished, path in waiting:
            unfinished.replace(path)
            _settle(path.parent)
    except OSError as error:
        raise SiteplanError(f"{error.filename or ''}: cannot write: {error.strerror}") from error
    finally:
        for unfinished, _ in waiting:
            unfinished.unlink(missing_ok=True)
    return tuple(contents)


def _clear_away(path: Path) -> None:
    """Take away what a run that was killed left beside a file."""
    for left in path.parent.glob(f".{escape(path.name)}.*{UNFINISHED}"):
        left.unlink(missing_ok=True)


def _settle(folder: Path) -> None:
    """Make the names in a folder as lasting as the files, where the system can."""
    if os.name != "posix":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
