"""Speaks to the page's application in tests."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import httpx

from siteplan.document.model import Plan
from siteplan.errors import SiteplanError
from siteplan.site.site import Site
from siteplan.web.app import make_app
from siteplan.web.planner import Wish, keep_record, write_wished
from tests.plans import quick_plan

PORT = 8123
HERE = f"http://127.0.0.1:{PORT}"
KEY = "the-key-of-this-run"


class QuickPlanner:
    """Plans a folder in this thread, without a proof and without other ways, whatever the stage."""

    def __init__(self, folder: Path, plan: Callable[[Path], Plan] = quick_plan) -> None:
        self._folder, self._plan = folder, plan

    def plan(self, stage: str, site: Site) -> Plan:
        return self._plan(self._folder)

    def expect(self, site: Site | None) -> None:
        """It plans when it is asked."""

    def write(self, site: Site, into: Path, wish: Wish) -> tuple[Path, ...]:
        return write_wished(self._plan(self._folder), into, wish)

    def record(self, site: Site, folder: Path, into: Path) -> dict[str, Any]:
        return keep_record(self._plan(self._folder), folder, into)


class Client:
    """A browser of few words: it keeps cookies, and speaks to the application without a socket."""

    def __init__(self, app: Any, *, base_url: str = HERE) -> None:
        self._http = httpx.AsyncClient(
            transport=httpx.ASGITransport(app), base_url=base_url, headers={"Origin": base_url}
        )
        self.app = app
        self.headers = self._http.headers

    def request(self, method: str, address: str, **options: Any) -> httpx.Response:
        with ThreadPoolExecutor(1) as elsewhere:  # the browser fixture keeps a loop running in this thread
            return elsewhere.submit(asyncio.run, self._http.request(method, address, **options)).result()

    def get(self, address: str, **options: Any) -> httpx.Response:
        return self.request("GET", address, **options)

    def put(self, address: str, **options: Any) -> httpx.Response:
        return self.request("PUT", address, **options)

    def post(self, address: str, **options: Any) -> httpx.Response:
        return self.request("POST", address, **options)


def no_plan(folder: Path) -> Plan:
    raise SiteplanError(f"no plan is wanted of {folder.name} here")


def client_for(folder: Path, plan: Callable[[Path], Plan] = no_plan, *, key: str = KEY) -> Client:
    """Return a browser that has opened the printed address, unless ``key`` is not the key."""
    client = Client(make_app(folder, QuickPlanner(folder, plan), port=PORT, key=KEY))
    if key:
        client.get(f"/?key={key}")
    return client
