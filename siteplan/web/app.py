"""The drawing page as a small web application: a fixed table of addresses, JSON in and out.

No address names a file: the page's own files and the documents of a plan are looked up in fixed lists. Planning runs beside
the answering, so that a slow plan never holds up the page.
"""

from __future__ import annotations

import asyncio
import json
import threading
from collections.abc import Awaitable, Callable
from contextlib import suppress
from functools import cache
from pathlib import Path
from typing import Any, TypeVar

from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from siteplan.document.model import Plan
from siteplan.document.write import DOCUMENTS, write_documents
from siteplan.errors import Fault, InputFaults, SiteplanError
from siteplan.web.answers import blocked, catalogue, fault_lines, plan_answer, site_heading
from siteplan.web.door import Door, faults, unexpected
from siteplan.web.site_store import SiteStore

MOST_BYTES = 10_000_000
"""Largest body that is taken [bytes]."""

_HERE = Path(__file__).resolve().parent
_TYPES = {".html": "text/html", ".css": "text/css", ".js": "text/javascript"}
PAGES = {
    "draw.html": "pages",
    "draw.css": "pages",
    "draw.js": "pages",
    "api.js": "pages",
    "drawing.js": "pages",
    "follow.js": "pages",
    "form.js": "pages",
    "ground.js": "pages",
    "looks.js": "pages",
    "names.js": "pages",
    "review.js": "pages",
    "scale.js": "pages",
    "shapes.js": "pages",
    "leaflet.js": "vendor",
    "leaflet.css": "vendor",
    "leaflet-geoman.js": "vendor",
    "leaflet-geoman.css": "vendor",
}
"""Every file that the browser may ask for, and the folder it lies in."""

_DOCUMENT_TYPES = {
    ".html": "text/html",
    ".pdf": "application/pdf",
    ".csv": "text/csv",
    ".gpx": "application/gpx+xml",
    ".txt": "text/plain; charset=utf-8",
}
_MAP_POLICY = "sandbox allow-scripts; default-src 'none'; script-src 'unsafe-inline'; style-src 'unsafe-inline'; img-src data:"
"""The map page is one file with script in it: it is shown shut off from the drawing page."""

Result = TypeVar("Result")


class _Refused(Exception):
    def __init__(self, status: int, *lines: str) -> None:
        self.answer = faults(status, *lines)
        super().__init__(*lines)


def make_app(folder: Path, plan: Callable[[Path], Plan], *, port: int, key: str) -> Door:
    """Return the application for one site folder.

    Parameters
    ----------
    folder : Path
        A site folder.
    plan : callable
        What plans a folder: ``siteplan.plan.plan_folder``.
    port : int
        Port on which it will listen; requests for any other are refused.
    key : str
        Secret that opens it, as part of the address once and as a cookie from then on.
    """
    desk = _Desk(folder, plan)
    routes = [
        Route("/", _file("draw.html")),
        *(Route(f"/{name}", _file(name)) for name in PAGES if name != "draw.html"),
        Route("/api/site", _faults_as_json(desk.site), methods=["GET"]),
        Route("/api/site", _faults_as_json(desk.save), methods=["PUT"]),
        Route("/api/plan", _faults_as_json(desk.plan), methods=["POST"]),
        Route("/api/documents", _faults_as_json(desk.make_documents), methods=["POST"]),
        *(Route(f"/api/documents/{name}", _faults_as_json(desk.document)) for name in DOCUMENTS),
    ]
    handlers: Any = {404: _no_such, 405: _no_such}
    return Door(Starlette(routes=routes, exception_handlers=handlers), port=port, key=key)


class _Desk:
    """What can be asked about one site folder."""

    def __init__(self, folder: Path, plan: Callable[[Path], Plan]) -> None:
        self._folder = folder
        self._plan = plan
        self._store = SiteStore(folder)
        self._saving = asyncio.Lock()
        self._planning = asyncio.Lock()

    async def site(self, _: Request) -> Response:
        drawing, heading = await _beside(lambda: (self._store.load(), site_heading(self._folder)))
        return JSONResponse(
            {"site": drawing.site, "revision": drawing.revision, **heading, "catalogue": catalogue()}
        )

    async def save(self, request: Request) -> Response:
        asked = await _json(request)
        if not isinstance(asked, dict) or not isinstance(asked.get("revision"), str):
            raise _Refused(400, 'expected a JSON object with "site" and "revision"')
        async with self._saving:
            revision = await _beside(lambda: self._store.save(asked.get("site"), asked["revision"]))
        if revision is None:
            return faults(409, "the file site.geojson was changed by another program since this page read it")
        return JSONResponse({"revision": revision})

    async def plan(self, request: Request) -> Response:
        await _json(request)

        def work() -> dict[str, Any]:
            revision = self._store.revision()
            return {"revision": revision, **plan_answer(self._plan(self._folder))}

        async with self._planning:
            return JSONResponse(await _beside(work))

    async def make_documents(self, request: Request) -> Response:
        await _json(request)
        async with self._planning:
            written = await _beside(lambda: write_documents(self._plan(self._folder), self._folder / "plan"))
        return JSONResponse({"documents": [path.name for path in written]})

    async def document(self, request: Request) -> Response:
        name = request.url.path.rpartition("/")[2]
        path = self._folder / "plan" / name
        if not path.is_file():
            raise _Refused(404, f"{name} is not made yet")
        kind = _DOCUMENT_TYPES.get(path.suffix, "application/json")
        if path.suffix == ".html":
            headers = {"Content-Security-Policy": _MAP_POLICY}
        else:
            headers = {"Content-Disposition": f'attachment; filename="{name}"'}
        return Response(path.read_bytes(), media_type=kind, headers=headers)


Handler = Callable[[Request], Awaitable[Response]]


def _faults_as_json(handler: Handler) -> Handler:
    """Turn what a handler raises into one JSON list of lines."""

    async def answered(request: Request) -> Response:
        try:
            return await handler(request)
        except _Refused as refused:
            return refused.answer
        except SiteplanError as error:
            lines, shapes = fault_lines(error), blocked(error)
            return JSONResponse({"faults": lines, "blocked": shapes}, status_code=422)
        except Exception as error:
            return faults(500, unexpected(error))

    return answered


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


async def _json(request: Request) -> Any:
    """Read a JSON body of at most ``MOST_BYTES``, counted as they come in."""
    kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    if kind != "application/json":
        raise _Refused(415, "expected JSON")
    body = bytearray()
    async for chunk in request.stream():
        body += chunk
        if len(body) > MOST_BYTES:
            raise _Refused(413, f"expected at most {MOST_BYTES // 1_000_000} MB")
    try:
        return json.loads(bytes(body).decode("utf-8"), parse_constant=_refuse)
    except (ValueError, RecursionError) as error:
        raise _Refused(400, "expected JSON in UTF-8") from error


def _refuse(constant: str) -> float:
    raise ValueError(constant)


async def _beside(work: Callable[[], Result]) -> Result:
    """Run work in a thread that does not keep the program from ending."""
    loop = asyncio.get_running_loop()
    done: asyncio.Future[Result] = loop.create_future()

    def settle(result: Result | None, error: BaseException | None) -> None:
        if done.cancelled():
            return
        if error is None:
            done.set_result(result)  # type: ignore[arg-type]
        else:
            done.set_exception(error)

    def run() -> None:
        try:
            outcome: tuple[Result | None, BaseException | None] = (work(), None)
        except Exception as error:
            outcome = (None, error)
        with suppress(RuntimeError):  # the loop is closed when the program has ended meanwhile
            loop.call_soon_threadsafe(settle, *outcome)

    threading.Thread(target=run, daemon=True).start()
    return await done


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
