"""A phone on the local network: only when asked for, by its own address and its own key."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import zxingcpp
from web_client import KEY, PORT, Client, QuickPlanner, no_plan

from siteplan.errors import SiteplanError
from siteplan.web import serve as served
from siteplan.web.app import make_app
from siteplan.web.qr import qr_modules, qr_text

PHONE_HOST, PHONE_KEY = "10.42.0.1", "the-key-of-the-phone"
ADDRESS = f"http://{PHONE_HOST}:{PORT}/?key={'aB3_-' * 6}xy"


def client_at(host: str, folder: Path, *, shared: bool = True) -> Client:
    told = (PHONE_HOST, PHONE_KEY) if shared else None
    app = make_app(folder, QuickPlanner(folder, no_plan), port=PORT, key=KEY, shared=told)
    return Client(app, base_url=f"http://{host}:{PORT}")


@pytest.mark.parametrize(
    ("host", "key", "status"),
    [
        ("127.0.0.1", KEY, 200),
        (PHONE_HOST, PHONE_KEY, 200),
        ("127.0.0.1", PHONE_KEY, 403),
        (PHONE_HOST, KEY, 403),
        ("10.42.0.2", PHONE_KEY, 403),
    ],
)
def test_each_address_has_its_own_key(folder: Path, host: str, key: str, status: int) -> None:
    client = client_at(host, folder)
    client.get(f"/?key={key}")
    assert client.get("/api/site").status_code == status
    if status == 200:
        assert client.post("/api/plan", json={}).status_code == 422, "let in; no plan is made here"
        foreign = {"Origin": "http://evil.example"}
        assert client.post("/api/plan", json={}, headers=foreign).status_code == 403
        for other in ("127.0.0.1", PHONE_HOST):
            if other != host:
                assert client.get("/api/site", headers={"Host": f"{other}:{PORT}"}).status_code == 403


def test_unasked_no_phone_is_answered(folder: Path) -> None:
    client = client_at(PHONE_HOST, folder, shared=False)
    assert client.get(f"/?key={PHONE_KEY}").status_code == 403


@pytest.mark.parametrize("address", ["8.8.8.8", "127.0.0.1", "0.0.0.0", "phone.local", "10.42.0"])
def test_only_a_local_address_is_shared(folder: Path, address: str) -> None:
    with pytest.raises(SiteplanError, match="address of this machine on a local network"):
        served.serve(folder, open_browser=False, share=address)


def test_an_address_of_another_machine_is_named(folder: Path) -> None:
    with pytest.raises(SiteplanError, match=r"10\.255\.255\.254:\d+ cannot be used"):
        served.serve(folder, open_browser=False, share="10.255.255.254")


def test_a_reader_of_codes_reads_the_address_off_the_terminal() -> None:
    """Read back by ZXing (zxing-cpp), an independent reader of ISO/IEC 18004 codes."""
    upper = {" ": (0, 0), "▀": (1, 0), "▄": (0, 1), "█": (1, 1)}
    lines = qr_text(ADDRESS).split("\n")
    dark = np.array([[upper[each][half] for each in line] for line in lines for half in (0, 1)], dtype=bool)
    assert (dark[: len(qr_modules(ADDRESS))] == np.array(qr_modules(ADDRESS))).all()
    picture = np.where(np.kron(dark, np.ones((4, 4), dtype=bool)), 0, 255).astype(np.uint8)
    found = zxingcpp.read_barcodes(picture)
    assert [(code.format.name, code.text) for code in found] == [("QRCode", ADDRESS)]


def test_what_is_printed_warns() -> None:
    told = served.who_can_open(8123, ("10.42.0.1", "k"))
    assert "http://10.42.0.1:8123/?key=k" in told
    assert "not encrypted" in told
    assert all(len(line) <= 100 for line in told.split("\n") if "▀" in line)
