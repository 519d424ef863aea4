"""Who may speak to the drawing page: a browser with the key that was printed, and no other page in it.

Every request passes here. The host must be one that we answer to, by name and port (so that no other site can be resolved to
us): this machine itself, and its address on the local network if that was asked for. Each has a key of its own, which must be
there, and a write must come from our own page. Every answer carries the policy that keeps foreign script out.
"""

from __future__ import annotations

import secrets
import sys
from http.cookies import CookieError, SimpleCookie
from pathlib import Path
from urllib.parse import parse_qs

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; "
    "base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)
HEADERS = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Cache-Control": "no-store",
}
_READS = ("GET", "HEAD")


def policy(pictures: str) -> str:
    """Return the content policy; it names one other origin for pictures, if there is one."""
    return POLICY.replace("img-src 'self' data:", f"img-src 'self' data: {pictures}".rstrip())


def faults(status: int, *lines: str) -> JSONResponse:
    """Answer with what is wrong, one line each."""
    return JSONResponse({"faults": list(lines)}, status_code=status)


def unexpected(error: BaseException) -> str:
    """One line for an error that is ours: what, and in which line of siteplan."""
    trace = error.__traceback__
    while trace is not None and trace.tb_next is not None:
        trace = trace.tb_next
    where = "" if trace is None else f" ({Path(trace.tb_frame.f_code.co_filename).name}:{trace.tb_lineno})"
    return f"siteplan made an error of its own, please report it: {type(error).__name__}{where}"


class Door:
    """Wrap an application: let in what may come in.

    Parameters
    ----------
    app : ASGI application
    port : int
        Port that we listen on.
    key : str
        The secret of this run for this machine's own browser.
    shared : (str, str), optional
        Address of this machine on the local network, and the secret for a browser that comes by it.
    pictures : str
        Origin from which pictures of a map service may come, ``""`` for none.
    """

    def __init__(
        self,
        app: ASGIApp,
        *,
        port: int,
        key: str,
        shared: tuple[str, str] | None = None,
        pictures: str = "",
    ) -> None:
        self._app = app
        self._headers = {**HEADERS, "Content-Security-Policy": policy(pictures)}
        self._keys = {f"127.0.0.1:{port}": key, f"localhost:{port}": key}
        if shared:
            self._keys[f"{shared[0]}:{port}"] = shared[1]
        self._cookie = f"siteplan-{port}"

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        if scope["type"] != "http":
            return
        begun = False

        async def guarded(message: Message) -> None:
            nonlocal begun
            if message["type"] == "http.response.start":
                begun = True
                headers = MutableHeaders(scope=message)
                for name, value in self._headers.items():
                    headers.setdefault(name, value)
            await send(message)

        try:
            refusal = self._refusal(scope)
            await (refusal or self._app)(scope, receive, guarded)
        except Exception as error:
            sys.stderr.write(unexpected(error) + "\n")
            if not begun:
                await faults(500, unexpected(error))(scope, receive, guarded)

    def _refusal(self, scope: Scope) -> Response | None:
        headers = Headers(scope=scope)
        hosts = headers.getlist("host")
        if len(hosts) != 1 or hosts[0] not in self._keys:
            return faults(403, "siteplan does not answer to this address")
        key = self._keys[hosts[0]]
        offered = parse_qs(scope["query_string"].decode("latin-1")).get("key", [""])[0]
        if scope["method"] == "GET" and scope["path"] == "/" and offered:
            return (
                self._let_in(key) if _same(offered, key) else faults(403, "this is not the key of this run")
            )
        if not _same(self._cookie_of(headers), key):
            return faults(403, "open the address that siteplan printed when it started")
        if scope["method"] not in _READS and headers.get("origin") != f"http://{hosts[0]}":
            return faults(403, "only the drawing page itself may change the site")
        return None

    def _let_in(self, key: str) -> Response:
        answer = RedirectResponse("/", status_code=303)
        answer.set_cookie(self._cookie, key, httponly=True, samesite="strict", path="/")
        return answer

    def _cookie_of(self, headers: Headers) -> str:
        try:
            cookie = SimpleCookie(headers.get("cookie", "")).get(self._cookie)
        except CookieError:
            return ""
        return cookie.value if cookie else ""


def _same(offered: str, key: str) -> bool:
    return secrets.compare_digest(offered.encode(), key.encode())
