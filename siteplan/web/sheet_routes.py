"""The documents of the plan: made in the folder ``plan`` of the site, and handed to the browser one by one."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import BaseRoute, Route

from siteplan.document.write import DOCUMENTS
from siteplan.web.desk import Desk
from siteplan.web.handling import Refused, answering, beside, json_object

_TYPES = {
    ".html": "text/html",
    ".pdf": "application/pdf",
    ".csv": "text/csv",
    ".gpx": "application/gpx+xml",
    ".txt": "text/plain; charset=utf-8",
}
_MAP_POLICY = "sandbox allow-scripts; default-src 'none'; script-src 'unsafe-inline'; style-src 'unsafe-inline'; img-src data:"
"""The map page is one file with script in it: it is shown shut off from the drawing page."""


def routes(desk: Desk) -> list[BaseRoute]:
    """Addresses of the documents: one for making them, and one for each of a fixed list."""
    into = desk.folder / "plan"

    async def make(request: Request) -> Response:
        await json_object(request)
        written = await beside(lambda: desk.planner.write(desk.store.site(), into))
        return JSONResponse({"documents": [path.name for path in written]})

    async def document(request: Request) -> Response:
        name = request.url.path.rpartition("/")[2]
        path = into / name
        if not path.is_file():
            raise Refused(404, f"{name} is not made yet")
        kind = _TYPES.get(path.suffix, "application/json")
        if path.suffix == ".html":
            headers = {"Content-Security-Policy": _MAP_POLICY}
        else:
            headers = {"Content-Disposition": f'attachment; filename="{name}"'}
        return Response(path.read_bytes(), media_type=kind, headers=headers)

    return [
        Route("/api/documents", answering(make), methods=["POST"]),
        *(Route(f"/api/documents/{name}", answering(document)) for name in DOCUMENTS),
    ]
