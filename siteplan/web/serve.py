"""Serve the drawing page of one site folder to this machine, and to no other."""

from __future__ import annotations

import os
import secrets
import socket
import threading
import webbrowser
from contextlib import suppress
from pathlib import Path

import click

from siteplan.errors import SiteplanError

LOOPBACK = "127.0.0.1"


def serve(folder: Path, port: int = 0, open_browser: bool = True) -> None:
    """Serve until Ctrl-C; print the address, and open the browser if wanted.

    Parameters
    ----------
    folder : Path
        A site folder.
    port : int
        Port on this machine, 0 to 65535; 0 takes a free one.
    open_browser : bool
        Whether to open the address.

    Raises
    ------
    InputFaults
        The folder holds no ``site.toml``.
    SiteplanError
        The port is taken, or parts of the page are not installed.
    """
    import uvicorn

    from siteplan.web.app import check_folder, make_app
    from siteplan.web.planner import StagedPlanner

    check_folder(folder)
    with bound(port) as listening:
        port = listening.getsockname()[1]
        key = secrets.token_urlsafe(24)
        address = f"http://{LOOPBACK}:{port}/?key={key}"
        click.echo(f"Draw {folder} at {address}\nOnly this machine can open it. Ctrl-C stops it.")
        if open_browser:
            threading.Thread(target=webbrowser.open, args=(address,), daemon=True).start()
        config = uvicorn.Config(
            make_app(folder, StagedPlanner(), port=port, key=key),
            log_level="critical",
            access_log=False,
            lifespan="off",
            ws="none",
            server_header=False,
            timeout_graceful_shutdown=1,
        )
        with suppress(KeyboardInterrupt):
            uvicorn.Server(config).run(sockets=[listening])
    click.echo("Stopped; every change that the page called saved is in the folder.")


def bound(port: int) -> socket.socket:
    """Return a socket that listens on the loopback at this port; ``SiteplanError`` if it is taken."""
    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    try:
        if os.name == "posix":  # elsewhere it would let a second program take the port
            listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        listening.bind((LOOPBACK, port))
        listening.listen()
    except (OSError, OverflowError) as error:
        listening.close()
        raise SiteplanError(
            f"port {port} on this machine cannot be used: {error}; leave --port out"
        ) from error
    return listening
