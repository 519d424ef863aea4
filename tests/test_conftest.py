"""The guards of the test suite hold."""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
import sys
from pathlib import Path

import pytest

# 192.0.2.0/24 and 2001:db8::/32 are set aside for documentation (RFC 5737, RFC 3849): nobody answers there.


@pytest.mark.parametrize(
    ("family", "host"), [(socket.AF_INET, "192.0.2.1"), (socket.AF_INET6, "2001:db8::1")]
)
def test_no_test_can_connect_to_another_machine(family: socket.AddressFamily, host: str) -> None:
    with socket.socket(family) as outgoing, pytest.raises(pytest.fail.Exception, match="network"):
        outgoing.connect((host, 80))


def test_no_test_can_send_a_datagram_or_look_up_a_name() -> None:
    with (
        socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as outgoing,
        pytest.raises(pytest.fail.Exception, match="network"),
    ):
        outgoing.sendto(b"x", ("192.0.2.1", 53))
    with pytest.raises(pytest.fail.Exception, match="look up"):
        socket.getaddrinfo("example.invalid", 80)


def test_the_loopback_stays_open() -> None:
    with (
        socket.create_server(("127.0.0.1", 0)) as server,
        socket.create_connection(("localhost", server.getsockname()[1])) as client,
        server.accept()[0] as answering,
    ):
        answering.sendall(b"here")
        assert client.recv(4) == b"here"


@pytest.mark.parametrize(("ci", "verdict"), [("true", "1 error"), ("", "1 skipped")])
def test_a_missing_browser_skips_at_home_and_fails_on_ci(tmp_path: Path, ci: str, verdict: str) -> None:
    shutil.copy(Path(__file__).with_name("conftest.py"), tmp_path)
    (tmp_path / "test_page.py").write_text("def test_page(browser): pass\n")
    (tmp_path / "pytest.ini").write_text("[pytest]\nmarkers = browser\n")
    run = subprocess.run(
        [sys.executable, "-m", "pytest", "-q", "-rs", "-p", "no:cacheprovider", str(tmp_path)],
        env=os.environ | {"CI": ci, "PATH": str(tmp_path)},
        capture_output=True,
        text=True,
        check=False,
    )
    assert verdict in run.stdout
    assert "no chromium on the PATH" in run.stdout
    assert (run.returncode != 0) == bool(ci)
