"""The as-built record from the page: what is taped goes into ``shots.csv``, and the record is made of it."""

from __future__ import annotations

from typing import Any

from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import BaseRoute, Route

from siteplan.document.record_files import RECORDED
from siteplan.read.shots import FILE
from siteplan.web.built_answer import tie_list_answer
from siteplan.web.desk import Desk
from siteplan.web.door import faults
from siteplan.web.hand_out import handed_out
from siteplan.web.handling import Refused, answering, beside, json_object
from siteplan.web.shots_file import check_shots, checked_row, rows_of, with_rows

_CHANGED = "shots.csv was changed by another window or program since this page read it: read it again"


def routes(desk: Desk) -> list[BaseRoute]:
    """Addresses of the record."""
    store, into = desk.store, desk.folder / "record"

    async def tie_list(_: Request) -> Response:
        def work() -> dict[str, Any]:
            revision, text = store.revision(FILE), store.text(FILE)
            plan = desk.planner.plan("proven", store.site())
            return {"revision": revision, **tie_list_answer(plan, rows_of(text))}

        return JSONResponse(await beside(work))

    async def take_rows(request: Request) -> Response:
        asked = await json_object(request)
        sent, revision = asked.get("rows"), asked.get("revision")
        if not isinstance(sent, list) or not isinstance(revision, str):
            raise Refused(400, 'expected a JSON object with "rows" and "revision"')

        def work() -> str | None:
            rows = [_numbered(each) for each in sent]
            text = with_rows(store.text(FILE), rows)
            check_shots(text, store.site())
            return store.save_file(FILE, text, revision)

        async with desk.writing:
            written = await beside(work)
        return faults(409, _CHANGED) if written is None else JSONResponse({"revision": written})

    async def make(request: Request) -> Response:
        await json_object(request)
        async with desk.writing:
            told = await beside(lambda: desk.planner.record(store.site(), desk.folder, into))
        return JSONResponse({**told, "documents": [name for name in RECORDED if (into / name).is_file()]})

    async def document(request: Request) -> Response:
        return handed_out(into, request.url.path.rpartition("/")[2])

    return [
        Route("/api/built", answering(tie_list), methods=["GET"]),
        Route("/api/built", answering(take_rows), methods=["POST"]),
        Route("/api/record", answering(make), methods=["POST"]),
        *(Route(f"/api/record/{name}", answering(document)) for name in RECORDED),
    ]


def _numbered(sent: object) -> tuple[int | None, dict[str, str]]:
    if not isinstance(sent, dict):
        raise Refused(400, "expected rows, each a JSON object")
    number = sent.pop("number", None)
    if number is not None and not isinstance(number, int):
        raise Refused(400, "expected the number of a row")
    return number, checked_row(sent)
