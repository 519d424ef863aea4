"""A copied example site, and the page's application before it."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from web_client import Client, client_for

from siteplan.site.catalogue import data_folder


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Copy the example site."""
    copied = tmp_path / "site"
    shutil.copytree(data_folder("example_sites") / "cedar-bench", copied)
    return copied


@pytest.fixture
def client(folder: Path) -> Client:
    """Open the page of the copied example."""
    return client_for(folder)
