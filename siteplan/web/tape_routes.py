"""Placing by tape: the corners to tape from, where measurements put a thing, and their rows in ``ties.csv``."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import BaseRoute, Route

from siteplan.read.folder import TIES
from siteplan.web import tapes, tapes_told
from siteplan.web.desk import Desk
from siteplan.web.handling import Handler, Refused, answering, beside, json_object

_MOST_BYTES = 100_000


def routes(desk: Desk) -> list[BaseRoute]:
    """Addresses of the tapes."""

    async def told(_: Request) -> Response:
        return JSONResponse(await beside(lambda: tapes_told.told(desk.folder)))

    async def tried(request: Request) -> Response:
        thing, rows, _ = _asked(await json_object(request, _MOST_BYTES))
        return JSONResponse(await beside(lambda: tapes.tried(desk.folder, thing, rows)))

    async def keep(request: Request) -> Response:
        thing, rows, side = _asked(await json_object(request, _MOST_BYTES))
        async with desk.writing:
            based_on = desk.store.revision(TIES)
            text, lines = await beside(lambda: tapes.kept(desk.folder, thing, rows, side))
            await _save(desk, text, based_on)
        return JSONResponse({"lines": lines})

    async def take_out(request: Request) -> Response:
        lines = (await json_object(request, _MOST_BYTES)).get("lines")
        if not isinstance(lines, list) or not all(isinstance(line, str) for line in lines):
            raise Refused(400, 'expected a JSON object with "lines"')
        async with desk.writing:
            based_on = desk.store.revision(TIES)
            text = await beside(lambda: tapes.without(desk.folder, lines))
            await _save(desk, text, based_on)
        return JSONResponse({})

    return [
        Route("/api/tapes", answering(told), methods=["GET"]),
        Route("/api/tapes/try", _by_row(tried), methods=["POST"]),
        Route("/api/tapes/keep", _by_row(keep), methods=["POST"]),
        Route("/api/tapes/take-out", answering(take_out), methods=["POST"]),
    ]


async def _save(desk: Desk, text: str | None, based_on: str) -> None:
    if await beside(lambda: desk.store.save_file(TIES, text, based_on)) is None:
        raise Refused(409, f"{TIES} was changed by another window or program meanwhile: try again")


def _by_row(handler: Handler) -> Handler:
    """Answer with what is wrong in each measurement that was typed."""

    async def answered(request: Request) -> Response:
        try:
            return await handler(request)
        except tapes.Refused as refused:
            rows = {str(number): lines for number, lines in refused.rows.items()}
            return JSONResponse({"rows": rows, "faults": refused.rows.get(-1, [])}, status_code=422)

    return answering(answered)


def _asked(body: Mapping[str, Any]) -> tuple[Mapping[str, Any], list[dict[str, str]], str | None]:
    thing, rows, side = body.get("thing"), body.get("rows"), body.get("side")
    typed = isinstance(rows, list) and all(
        isinstance(row, dict) and all(isinstance(text, str) for text in row.values()) for row in rows
    )
    if not isinstance(thing, dict) or not typed or side not in (None, "left", "right"):
        raise Refused(400, 'expected a JSON object with "thing" and "rows" of texts')
    return thing, rows, side  # type: ignore[return-value]
