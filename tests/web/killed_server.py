"""The server of the page in a process of its own that is killed, made from one that has the modules loaded."""

from __future__ import annotations

import multiprocessing
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

from siteplan.web.serve import serve

LOADED = ["siteplan.web.app", "siteplan.web.planner", "uvicorn"]


def _serve(folder: Path, printed: Connection) -> None:
    os.dup2(printed.fileno(), 1)
    sys.stdout = os.fdopen(1, "w", buffering=1, closefd=False)
    serve(folder, open_browser=False)


@contextmanager
def serving(folder: Path) -> Iterator[tuple[str, Any]]:
    """Serve a folder; give the address that is printed, and the process. It is killed at the end."""
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(LOADED)
    told, printed = context.Pipe(duplex=False)
    running = context.Process(target=_serve, args=(folder, printed), daemon=True)
    running.start()
    printed.close()
    try:
        with os.fdopen(told.fileno(), closefd=False) as words:
            yield words.readline().split(" at ")[1].strip(), running
    finally:
        running.kill()
        running.join(20)
        told.close()
