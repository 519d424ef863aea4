"""The documents of the plan: made in the folder ``plan`` of the site, and handed to the browser one by one or all together."""

from __future__ import annotations

from typing import Any

from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import BaseRoute, Route

from siteplan.document.record_files import RECORDED
from siteplan.document.sheet import PAPERS
from siteplan.document.speech import LANGUAGES
from siteplan.document.write import DOCUMENTS, VARIANCE
from siteplan.rules.clock import call_time
from siteplan.web.desk import Desk
from siteplan.web.hand_out import handed_out, zipped
from siteplan.web.handling import Refused, answering, beside, json_object
from siteplan.web.planner import Wish

_NAMES = (*DOCUMENTS, VARIANCE)


def routes(desk: Desk) -> list[BaseRoute]:
    """Addresses of the documents: the list, the making, each of a fixed list of names, and all in one archive."""
    into = desk.folder / "plan"

    def made() -> dict[str, Any]:
        return {"documents": [name for name in _NAMES if (into / name).is_file()]}

    async def listed(_: Request) -> Response:
        return JSONResponse(made())

    async def make(request: Request) -> Response:
        wish = _wish(await json_object(request))
        stamp = desk.store.stamp()
        written = await beside(lambda: desk.planner.write(desk.store.site(), into, wish))
        return JSONResponse({"documents": [path.name for path in written], "stamp": stamp})

    async def document(request: Request) -> Response:
        return handed_out(into, request.url.path.rpartition("/")[2])

    async def archive(_: Request) -> Response:
        folders = [("plan", into, _NAMES), ("record", desk.folder / "record", RECORDED)]
        return await beside(lambda: zipped(folders, "sheets.zip"))

    return [
        Route("/api/documents", answering(listed), methods=["GET"]),
        Route("/api/documents", answering(make), methods=["POST"]),
        Route("/api/sheets.zip", answering(archive), methods=["GET"]),
        *(Route(f"/api/documents/{name}", answering(document)) for name in _NAMES),
    ]


def _wish(asked: dict[str, Any]) -> Wish:
    paper, language = asked.get("paper", "letter"), asked.get("language", "en")
    if paper not in PAPERS:
        raise Refused(400, f"expected a paper: {', '.join(PAPERS)}")
    if language not in LANGUAGES:
        raise Refused(400, f"expected a language: {', '.join(LANGUAGES)}")
    call, variance = asked.get("call") or "", asked.get("variance", False)
    if not isinstance(call, str) or not isinstance(variance, bool):
        raise Refused(400, 'expected "call" as a time in words, "variance" as true or false')
    when = call_time(call.replace("T", " ")) if call else None
    return Wish(paper=PAPERS[paper], language=language, variance=variance, call=when)
