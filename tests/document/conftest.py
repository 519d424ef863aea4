"""The map page, written once, and a browser that opens it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from siteplan.document.web_map import map_html
from tests.document.map_page import Opened, planned


@pytest.fixture(scope="session")
def page_text() -> str:
    return map_html(planned())


@pytest.fixture
def opened(browser: Any, tmp_path: Path) -> Iterator[Any]:
    pages: list[Opened] = []

    def open_page(text: str, width: int = 1400, height: int = 900, **options: Any) -> Opened:
        file = tmp_path / "map.html"
        file.write_text(text, encoding="utf-8")
        pages.append(Opened(browser, file, width, height, **options))
        return pages[-1]

    yield open_page
    for one in pages:
        assert len(one.requests) == 1
        assert one.messages == []
        one.context.close()
