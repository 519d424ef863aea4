"""Serve the drawing page of one site folder to this machine, and to a phone on the local network if that is asked for."""

from __future__ import annotations

import gc
import ipaddress
import os
import secrets
import socket
import sys
import threading
import webbrowser
from contextlib import ExitStack, suppress
from pathlib import Path

import click

from siteplan.errors import SiteplanError
from siteplan.web.qr import qr_text

LOOPBACK = "127.0.0.1"
_MADE_BEFORE_COLLECTING = 50_000
"""Objects between two looks for garbage: a plan makes many and leaves few, and is some 12 % quicker than at 700."""
_TURN_S = 0.001
"""So long a plan that is being made may keep a request waiting before each of its steps."""

FIND_IT = "auto"
"""Instead of an address to share at: the one that this machine has on its network."""


def serve(folder: Path, port: int = 0, open_browser: bool = True, share: str = "", tiles: str = "") -> None:
    """Serve until Ctrl-C; print the address, and open the browser if wanted.

    Parameters
    ----------
    folder : Path
        A site folder.
    port : int
        Port on this machine, 0 to 65535; 0 takes a free one.
    open_browser : bool
        Whether to open the address.
    share : str
        Address of this machine on a local network, or ``FIND_IT``, to answer a phone there as well; ``""``: this machine only.
    tiles : str
        Address of a map picture service that the page may show under the drawing; ``""``: none, nothing is fetched.

    Raises
    ------
    InputFaults
        The folder holds no ``site.toml``.
    SiteplanError
        The port or the address cannot be used, or parts of the page are not installed.
    """
    import uvicorn

    from siteplan.web.app import check_folder, make_app
    from siteplan.web.planner import StagedPlanner

    check_folder(folder)
    gc.freeze()
    gc.set_threshold(_MADE_BEFORE_COLLECTING)
    sys.setswitchinterval(_TURN_S)
    with ExitStack() as open_sockets:
        listening = [open_sockets.enter_context(bound(port))]
        port = listening[0].getsockname()[1]
        shared = None
        if share:
            shared = (local_address() if share == FIND_IT else _checked(share), secrets.token_urlsafe(24))
            listening.append(open_sockets.enter_context(bound(port, shared[0])))
        key = secrets.token_urlsafe(24)
        address = f"http://{LOOPBACK}:{port}/?key={key}"
        click.echo(f"Draw {folder} at {address}\n{who_can_open(port, shared)} Ctrl-C stops it.")
        if open_browser:
            threading.Thread(target=webbrowser.open, args=(address,), daemon=True).start()
        config = uvicorn.Config(
            make_app(folder, StagedPlanner(), port=port, key=key, shared=shared, pictures=tiles),
            log_level="critical",
            access_log=False,
            lifespan="off",
            ws="none",
            server_header=False,
            timeout_graceful_shutdown=1,
        )
        with suppress(KeyboardInterrupt):
            uvicorn.Server(config).run(sockets=listening)
    click.echo("Stopped; every change that the page called saved is in the folder.")


def who_can_open(port: int, shared: tuple[str, str] | None) -> str:
    """Say who can open it; for a phone with a code to read."""
    if shared is None:
        return "Only this machine can open it."
    address = f"http://{shared[0]}:{port}/?key={shared[1]}"
    code = "\n".join(
        click.style(line, fg="black", bg="bright_white") for line in qr_text(address).split("\n")
    )
    return (
        f"On a phone in the same network: {address}\n{code}\n"
        "Whoever has this address or sees this code can read and change the site, and the network is not encrypted:"
        " share it on your own hotspot only."
    )


def local_address() -> str:
    """Return the address of this machine on its network; ``SiteplanError`` if it has none. Nothing is sent."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(
                ("192.0.2.1", 9)
            )  # an address for examples (RFC 5737): only the way there is asked for
            found = str(probe.getsockname()[0])
        except OSError:
            found = LOOPBACK
    if ipaddress.ip_address(found).is_loopback:
        raise SiteplanError(
            "this machine is on no network that siteplan can find; join one, or name its address: --share 10.42.0.1"
        )
    return found


def _checked(share: str) -> str:
    try:
        address = ipaddress.IPv4Address(share)
    except ValueError:
        address = None
    if address is None or not address.is_private or address.is_loopback or address.is_unspecified:
        raise SiteplanError(
            f'--share {share}: expected an address of this machine on a local network, such as "10.42.0.1"'
        )
    return str(address)


def bound(port: int, address: str = LOOPBACK) -> socket.socket:
    """Return a socket that listens at an address and port; ``SiteplanError`` if that cannot be used."""
    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    try:
        if os.name == "posix":  # elsewhere it would let a second program take the port
            listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        listening.bind((address, port))
        listening.listen()
    except (OSError, OverflowError) as error:
        listening.close()
        where = f"port {port} on this machine" if address == LOOPBACK else f"{address}:{port}"
        mend = "leave --port out" if address == LOOPBACK else "is it an address of this machine?"
        raise SiteplanError(f"{where} cannot be used: {error}; {mend}") from error
    return listening
