"""How a request is read and answered: JSON in, JSON out, what is wrong as one line each."""

from __future__ import annotations

import asyncio
import json
import threading
from collections.abc import Awaitable, Callable
from contextlib import suppress
from typing import Any, TypeVar

from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from siteplan.errors import SiteplanError
from siteplan.web.answers import blocked, fault_lines
from siteplan.web.door import faults, unexpected
from siteplan.web.planner import OutOfDate

MOST_BYTES = 10_000_000
"""Largest body that is taken unless a handler says another [bytes]."""

Handler = Callable[[Request], Awaitable[Response]]
Result = TypeVar("Result")


class Refused(Exception):
    """A request that is not taken: the status, and why in one line each."""

    def __init__(self, status: int, *lines: str) -> None:
        self.answer = faults(status, *lines)
        super().__init__(*lines)


def answering(handler: Handler) -> Handler:
    """Turn what a handler raises into one JSON list of lines."""

    async def answered(request: Request) -> Response:
        try:
            return await handler(request)
        except Refused as refused:
            return refused.answer
        except OutOfDate:
            return faults(409, "the site was changed meanwhile: try again when it is planned")
        except SiteplanError as error:
            lines, shapes = fault_lines(error), blocked(error)
            return JSONResponse({"faults": lines, "blocked": shapes}, status_code=422)
        except Exception as error:
            return faults(500, unexpected(error))

    return answered


async def json_body(request: Request, most_bytes: int = MOST_BYTES) -> Any:
    """Read a JSON body of at most ``most_bytes``, counted as they come in."""
    kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    if kind != "application/json":
        raise Refused(415, "expected JSON")
    body = bytearray()
    async for chunk in request.stream():
        body += chunk
        if len(body) > most_bytes:
            raise Refused(413, f"expected at most {most_bytes // 1_000_000} MB")
    try:
        return json.loads(bytes(body).decode("utf-8"), parse_constant=_refuse)
    except (ValueError, RecursionError) as error:
        raise Refused(400, "expected JSON in UTF-8") from error


async def json_object(request: Request, most_bytes: int = MOST_BYTES) -> dict[str, Any]:
    """Read a JSON body that is an object."""
    asked = await json_body(request, most_bytes)
    if not isinstance(asked, dict):
        raise Refused(400, "expected a JSON object")
    return asked


def _refuse(constant: str) -> float:
    raise ValueError(constant)


async def beside(work: Callable[[], Result]) -> Result:
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
