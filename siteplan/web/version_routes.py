"""What changed in the folder behind the page's back, and the way back to an earlier version."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import BaseRoute, Route

from siteplan.web.desk import Desk
from siteplan.web.door import faults
from siteplan.web.handling import Refused, answering, beside, json_object


def routes(desk: Desk) -> list[BaseRoute]:
    """Addresses of the folder's state and its earlier versions."""
    store = desk.store

    async def state(_: Request) -> Response:
        drawing, folder = await beside(lambda: (store.revision(), store.stamp()))
        return JSONResponse({"revision": drawing, "stamp": folder})

    async def earlier(_: Request) -> Response:
        found = await beside(store.versions.all)
        rows = [
            {"number": each.number, "file": each.file, "until": each.until.isoformat(timespec="seconds")}
            for each in reversed(found)
        ]
        return JSONResponse({"versions": rows})

    async def bring_back(request: Request) -> Response:
        number = (await json_object(request)).get("number")

        def work() -> bool:
            version = next((each for each in store.versions.all() if each.number == number), None)
            if version is None:
                raise Refused(404, "this version is not kept any more")
            changes = {version.file: version.path.read_bytes()}
            return store.save_files(changes, {version.file: store.revision(version.file)})

        async with desk.writing:
            written = await beside(work)
        return JSONResponse({"written": True}) if written else faults(409, "the file was changed meanwhile")

    return [
        Route("/api/state", answering(state), methods=["GET"]),
        Route("/api/versions", answering(earlier), methods=["GET"]),
        Route("/api/versions", answering(bring_back), methods=["POST"]),
    ]
