"""Files that are dropped on the page: looked at, taken into the drawing, kept beside it, and taken out again."""

from __future__ import annotations

import base64
import binascii
from collections.abc import Mapping
from typing import Any

from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import BaseRoute, Route

from siteplan.site.catalogue import kinds, methods
from siteplan.web import bring
from siteplan.web.bring_names import PARTS, TAKEN, Brought, named
from siteplan.web.desk import Desk
from siteplan.web.handling import Refused, answering, beside, json_object

_BODY_BYTES = bring.MOST_BYTES * 4 // 3 + 1_000_000
_MOST_FILES = 5
_UNITS = ("m", "ft", "us-ft")
_COLUMNS = (
    "id",
    "name",
    "x",
    "y",
    "longitude",
    "latitude",
    "elevation",
    "elevation_ft",
    "elevation_m",
    "kind",
)


def routes(desk: Desk) -> list[BaseRoute]:
    """Addresses of dropped files."""

    async def told(_: Request) -> Response:
        found = await beside(lambda: bring.beside(desk.folder))
        takes = {"takes": [*TAKEN, *PARTS], "most_bytes": bring.MOST_BYTES}
        return JSONResponse({**found, **takes})

    async def look(request: Request) -> Response:
        brought, wanted = await _asked(request, desk)
        return JSONResponse(await beside(lambda: bring.looked_at(brought, wanted, desk.folder)))

    async def take(request: Request) -> Response:
        brought, wanted = await _asked(request, desk)
        return JSONResponse(await beside(lambda: bring.features(brought, wanted, desk.folder)))

    async def keep(request: Request) -> Response:
        body = await json_object(request, _BODY_BYTES)
        instead, wanted = body.get("instead") is True, _wanted(body)
        async with desk.writing:
            brought = await beside(lambda: named(_files(body), desk.folder))
            name = await beside(lambda: bring.keep(brought, wanted, desk.store, instead=instead))
        if name is None:
            raise Refused(409, f"{brought.name} is there already")
        return JSONResponse({"name": name})

    async def take_out(request: Request) -> Response:
        name = (await json_object(request)).get("name")
        async with desk.writing:
            gone = isinstance(name, str) and await beside(lambda: bring.take_out(name, desk.store))
        if not gone:
            raise Refused(404, "there is no such file beside the drawing")
        return JSONResponse({"name": name})

    return [
        Route("/api/bring", answering(told), methods=["GET"]),
        Route("/api/bring/look", answering(look), methods=["POST"]),
        Route("/api/bring/take", answering(take), methods=["POST"]),
        Route("/api/bring/keep", answering(keep), methods=["POST"]),
        Route("/api/bring/take-out", answering(take_out), methods=["POST"]),
    ]


async def _asked(request: Request, desk: Desk) -> tuple[Brought, bring.Wanted]:
    body = await json_object(request, _BODY_BYTES)
    brought = await beside(lambda: named(_files(body), desk.folder))
    return brought, _wanted(body)


def _files(body: Mapping[str, Any]) -> list[tuple[str, bytes]]:
    sent = body.get("files")
    if not isinstance(sent, list) or not 0 < len(sent) <= _MOST_FILES:
        raise Refused(400, f"expected 1 to {_MOST_FILES} files")
    files = [_file(each) for each in sent]
    if sum(len(content) for _, content in files) > bring.MOST_BYTES:
        raise Refused(413, f"expected at most {bring.MOST_BYTES // 1_000_000} MB")
    return files


def _file(sent: object) -> tuple[str, bytes]:
    if isinstance(sent, dict) and isinstance(sent.get("name"), str) and isinstance(sent.get("content"), str):
        try:
            return sent["name"], base64.b64decode(sent["content"], validate=True)
        except (ValueError, binascii.Error):
            pass
    raise Refused(400, 'expected each file as "name" and "content" in base64')


def _wanted(body: Mapping[str, Any]) -> bring.Wanted:
    said, method, outing = body.get("kinds", {}), body.get("method"), body.get("outing")
    epsg, unit, columns = body.get("epsg"), body.get("unit"), body.get("columns", {})
    good = (
        isinstance(said, dict)
        and all(form in ("point", "line", "area") and kind in kinds() for form, kind in said.items())
        and (method is None or method in methods())
        and (outing is None or isinstance(outing, str))
        and (epsg is None or (isinstance(epsg, int) and not isinstance(epsg, bool) and 0 < epsg < 1_000_000))
        and (unit is None or unit in _UNITS)
        and isinstance(columns, dict)
        and all(ours in _COLUMNS and isinstance(theirs, str) for ours, theirs in columns.items())
    )
    if not good:
        raise Refused(
            400, "expected kinds, a method, an outing, an EPSG code, a unit and columns that are known"
        )
    return bring.Wanted(kinds=said, method=method, outing=outing, epsg=epsg, unit=unit, columns=columns)
