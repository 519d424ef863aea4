"""The drawing page as a small web application: a fixed table of addresses, JSON in and out.

No address names a file: the page's own files and the documents of a plan are looked up in fixed lists. Planning runs beside
the answering, so that a slow plan never holds up the page.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import BaseRoute, Route

from siteplan.errors import Fault, InputFaults, SiteplanError
from siteplan.web import (
    bring_routes,
    built_routes,
    draft_routes,
    drawing_routes,
    lines_routes,
    plan_routes,
    sheet_routes,
    tape_routes,
    underlay_routes,
    version_routes,
)
from siteplan.web.desk import Desk
from siteplan.web.door import Door, faults
from siteplan.web.handling import Handler
from siteplan.web.map_pictures import origin_of
from siteplan.web.planner import Planner

_HERE = Path(__file__).resolve().parent
_TYPES = {".html": "text/html", ".css": "text/css", ".js": "text/javascript"}
ROOMS = (
    bring_routes,
    built_routes,
    drawing_routes,
    draft_routes,
    lines_routes,
    plan_routes,
    sheet_routes,
    tape_routes,
    underlay_routes,
    version_routes,
)
PAGES = {
    **{path.name: "pages" for path in sorted((_HERE / "pages").iterdir()) if path.suffix in _TYPES},
    "leaflet.js": "vendor",
    "leaflet.css": "vendor",
}
"""Every file that the browser may ask for, and the folder it lies in."""


def make_app(
    folder: Path,
    planner: Planner,
    *,
    port: int,
    key: str,
    shared: tuple[str, str] | None = None,
    pictures: str = "",
) -> Door:
    """Return the application for one site folder.

    Parameters
    ----------
    folder : Path
        A site folder.
    planner : Planner
        What plans it.
    port : int
        Port on which it will listen; requests for any other are refused.
    key : str
        Secret that opens it, as part of the address once and as a cookie from then on.
    shared : (str, str), optional
        Address of this machine on the local network, and the secret that opens it there.
    pictures : str
        Address of a map picture service that the page may show, ``""`` for none.

    Raises
    ------
    SiteplanError
        The address of the pictures is none.
    """
    desk = Desk(folder, planner, pictures=pictures)
    routes: list[BaseRoute] = [
        Route("/", _file("draw.html")),
        *(Route(f"/{name}", _file(name)) for name in PAGES if name != "draw.html"),
        *(route for room in ROOMS for route in room.routes(desk)),
    ]
    handlers: Any = {404: _no_such, 405: _no_such}
    served = Starlette(routes=routes, exception_handlers=handlers)
    return Door(served, port=port, key=key, shared=shared, pictures=origin_of(pictures))


async def _no_such(_: Request, __: Exception) -> Response:
    return faults(404, "there is nothing at this address")


def _file(name: str) -> Handler:
    async def answered(_: Request) -> Response:
        content = _page_file(name)
        return Response(content, media_type=_TYPES[Path(name).suffix])

    return answered


@cache
def _page_file(name: str) -> bytes:
    return (_HERE / PAGES[name] / name).read_bytes()


def missing_parts() -> list[str]:
    """Files of the page that are not installed."""
    return [name for name, folder in PAGES.items() if not (_HERE / folder / name).is_file()]


def check_folder(folder: Path) -> None:
    """Raise ``InputFaults`` if this is no site folder, ``SiteplanError`` if the page's own files are missing."""
    if not (folder / "site.toml").is_file():
        fault = Fault(
            file=str(folder / "site.toml"),
            found="no such file",
            expected="a site folder",
            mend=f"make one with: siteplan new {folder}",
        )
        raise InputFaults([fault])
    if missing := missing_parts():
        raise SiteplanError(
            f"parts of the drawing page are missing ({', '.join(missing)}); reinstall siteplan"
        )
