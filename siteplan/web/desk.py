"""What all that the page asks shares: one site folder, its store, its planner, and one writer at a time."""

from __future__ import annotations

import asyncio
from pathlib import Path

from siteplan.web.planner import Planner
from siteplan.web.site_store import SiteStore


class Desk:
    """One site folder that is being worked on.

    Parameters
    ----------
    folder : Path
        A site folder.
    planner : Planner
        What plans it.
    pictures : str
        Address of a map picture service that the page may show, ``""`` for none.
    """

    def __init__(self, folder: Path, planner: Planner, *, pictures: str = "") -> None:
        self.folder = folder
        self.pictures = pictures
        self.planner = planner
        self.store = SiteStore(folder)
        self.writing = asyncio.Lock()
        """Held by whoever changes a file of the folder."""
