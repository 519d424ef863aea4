"""Pictures underneath: laid by two or three points, and handed to the browser by their number."""

from __future__ import annotations

import base64
import binascii
from math import isfinite
from typing import Any

from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import BaseRoute, Route

from siteplan.read.underlay import MOST_PICTURE_BYTES
from siteplan.web import pictures
from siteplan.web.desk import Desk
from siteplan.web.door import faults
from siteplan.web.handling import Refused, answering, beside, json_object

_BODY_BYTES = MOST_PICTURE_BYTES * 4 // 3 + 1_000_000


def routes(desk: Desk) -> list[BaseRoute]:
    """Addresses of the pictures."""

    async def told(_: Request) -> Response:
        return JSONResponse(await beside(lambda: pictures.told(desk.folder)))

    async def picture(request: Request) -> Response:
        number = int(request.path_params["number"])
        found = await beside(lambda: pictures.picture(desk.folder, number))
        if found is None:
            raise Refused(404, f"there is no picture {number}")
        return Response(found.content, media_type=found.sort)

    async def lay(request: Request) -> Response:
        body = await json_object(request, _BODY_BYTES)
        content, points, keep = _content(body), _points(body), body.get("keep") is True
        async with desk.writing:
            laid = await beside(lambda: pictures.laid(desk.store, content, points, keep=keep))
        if laid is None:
            return faults(409, "the file site.toml was changed by another program meanwhile: try again")
        return JSONResponse(laid)

    async def take_out(request: Request) -> Response:
        number = (await json_object(request)).get("number")
        async with desk.writing:
            gone = isinstance(number, int) and await beside(lambda: pictures.take_out(desk.store, number))
        if not gone:
            raise Refused(404, "there is no such picture")
        return JSONResponse({})

    return [
        Route("/api/underlay", answering(told), methods=["GET"]),
        Route("/api/underlay", answering(lay), methods=["POST"]),
        Route("/api/underlay/take-out", answering(take_out), methods=["POST"]),
        Route("/api/underlay/{number:int}", answering(picture), methods=["GET"]),
    ]


def _content(body: dict[str, Any]) -> bytes:
    content = body.get("content")
    if isinstance(content, str):
        try:
            return base64.b64decode(content, validate=True)
        except (ValueError, binascii.Error):
            pass
    raise Refused(400, 'expected "content", a picture in base64')


def _points(body: dict[str, Any]) -> list[pictures.KnownPoint]:
    points = body.get("points")
    if isinstance(points, list) and 2 <= len(points) <= 3 and all(map(_is_known, points)):
        return [[each if isinstance(each, str) else round(float(each), 9) for each in row] for row in points]
    raise Refused(
        400, "expected two or three points: dots right and down, then a corner or longitude and latitude"
    )


def _is_known(row: object) -> bool:
    if not isinstance(row, list) or len(row) not in (3, 4):
        return False
    numbers = row if len(row) == 4 else row[:2]
    named = len(row) == 4 or isinstance(row[2], str)
    return named and all(
        isinstance(each, int | float) and not isinstance(each, bool) and isfinite(each) for each in numbers
    )
