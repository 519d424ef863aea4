"""What all tests share: no network but the loopback, and one real browser."""

from __future__ import annotations

import ipaddress
import os
import shutil
import socket
from collections.abc import Callable, Generator, Iterator
from typing import Any

import pytest
from hypothesis import settings

settings.register_profile("siteplan", deadline=None)  # no test asserts a time
settings.load_profile("siteplan")

LONGEST_FIRST = ("tests/web/test_new_user", "tests/web/", "tests/document/", "tests/route/", "tests/test_")
BROWSER_ARGUMENTS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


def _is_local(host: object) -> bool:
    if host in (None, "", b"", "localhost"):
        return True
    try:
        return ipaddress.ip_address(str(host).partition("%")[0]).is_loopback
    except ValueError:
        return False


def _guarded(function: Callable[..., Any]) -> Callable[..., Any]:
    """Let a socket method through if its last argument is a local address."""

    def checked(self: socket.socket, *arguments: Any) -> Any:
        address = arguments[-1]
        if self.family in (socket.AF_INET, socket.AF_INET6) and not _is_local(address[0]):
            pytest.fail(f"a test must not reach the network: {address}")
        return function(self, *arguments)

    return checked


def _guarded_lookup(function: Callable[..., Any]) -> Callable[..., Any]:
    def checked(host: object, *arguments: Any, **options: Any) -> Any:
        if not _is_local(host):
            pytest.fail(f"a test must not look up a host: {host}")
        return function(host, *arguments, **options)

    return checked


@pytest.fixture(autouse=True, scope="session")
def no_network() -> Iterator[None]:
    """Fail whatever test speaks to another machine."""
    with pytest.MonkeyPatch.context() as patch:
        for name in ("connect", "connect_ex", "sendto"):
            patch.setattr(socket.socket, name, _guarded(getattr(socket.socket, name)))
        patch.setattr(socket, "getaddrinfo", _guarded_lookup(socket.getaddrinfo))
        yield


@pytest.fixture(autouse=True, scope="session")
def compiled_once() -> Iterator[None]:
    """Let the programs that tests start keep what they compile: each takes seconds to start otherwise."""
    with pytest.MonkeyPatch.context() as patch:
        patch.delenv("PYTHONDONTWRITEBYTECODE", raising=False)
        yield


@pytest.fixture
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """Lay trenches without the proof and the alternatives: for tests that are not about those."""
    from tests.plans import quick_lay

    monkeypatch.setattr("siteplan.plan.lay", quick_lay)


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    """Give the system's Chromium, driven by playwright."""
    chromium = shutil.which("chromium")
    if chromium is None:
        pytest.skip("no chromium on the PATH")
    playwright = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    with playwright.sync_playwright() as driver:
        running = driver.chromium.launch(executable_path=chromium, args=BROWSER_ARGUMENTS)
        yield running
        running.close()


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark each test that uses the browser; put the longest files first, so that no worker waits for another at the end."""
    for item in items:
        if "browser" in getattr(item, "fixturenames", ()):
            item.add_marker(pytest.mark.browser)
    items.sort(key=_rank)


def _rank(item: pytest.Item) -> int:
    return next(
        (n for n, start in enumerate(LONGEST_FIRST) if item.nodeid.startswith(start)), len(LONGEST_FIRST)
    )


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(
    item: pytest.Item, call: pytest.CallInfo[None]
) -> Generator[None, pytest.TestReport, pytest.TestReport]:
    """Turn a skipped browser test into a failed one on CI: there the browser is part of the deal."""
    report = yield
    if report.skipped and os.environ.get("CI") and item.get_closest_marker("browser"):
        report.outcome = "failed"
        report.longrepr = f"skipped on CI: {call.excinfo.value if call.excinfo else ''}"
    return report
