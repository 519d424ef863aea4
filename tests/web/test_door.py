"""Attacks on the drawing page: everything but the page itself, in this machine's browser, with the key, is turned away."""

from __future__ import annotations

import json
import re
from collections.abc import AsyncIterator
from pathlib import Path

import pytest
from starlette.routing import Route
from web_client import KEY, PORT, Client, QuickPlanner, client_for, no_plan

from siteplan.errors import SiteplanError
from siteplan.web.app import PAGES, ROOMS, make_app
from siteplan.web.desk import Desk
from siteplan.web.door import POLICY


def addresses(writing: bool) -> list[tuple[str, str]]:
    """Every address of every room, as it is asked for."""
    desk = Desk(Path("no-such-site"), QuickPlanner(Path("no-such-site"), no_plan))
    routes = [route for room in ROOMS for route in room.routes(desk) if isinstance(route, Route)]
    return [
        (method, re.sub(r"\{[^}]*\}", "1", route.path))
        for route in routes
        for method in sorted(route.methods or ())
        if method != "HEAD" and (method != "GET") == writing
    ]


WRITES = addresses(writing=True)
READS = ["/", "/draw.js", "/leaflet.js", *(address for _, address in addresses(writing=False))]


def faults(answer: object) -> list[str]:
    lines = answer.json()["faults"]  # type: ignore[attr-defined]
    assert lines
    assert all(isinstance(line, str) and "\n" not in line for line in lines)
    return list(lines)


def test_the_printed_address_sets_a_strict_cookie_and_leaves_the_key_behind(folder: Path) -> None:
    client = client_for(folder, key="")
    answer = client.get(f"/?key={KEY}", follow_redirects=False)
    assert (answer.status_code, answer.headers["location"]) == (303, "/")
    cookie = answer.headers["set-cookie"].lower()
    assert "httponly" in cookie and "samesite=strict" in cookie and f"siteplan-{PORT}=" in cookie
    assert client.get("/").status_code == 200


@pytest.mark.parametrize("key", ["", "wrong", KEY[:-1], KEY + "x", "é"])
def test_nothing_is_read_without_the_key(folder: Path, key: str) -> None:
    client = client_for(folder, key=key)
    for address in READS:
        answer = client.get(address)
        assert answer.status_code == 403, address
        assert faults(answer)


@pytest.mark.parametrize(
    "host", ["evil.example", f"evil.example:{PORT}", "127.0.0.1", "127.0.0.1:1", f"0.0.0.0:{PORT}", ""]
)
def test_a_foreign_host_is_refused_even_with_the_key(client: Client, host: str) -> None:
    assert client.get("/api/site", headers={"Host": host}).status_code == 403
    assert client.get(f"/?key={KEY}", headers={"Host": host}, follow_redirects=False).status_code == 403


def test_localhost_is_this_machine_too(folder: Path) -> None:
    client = Client(client_for(folder).app, base_url=f"http://localhost:{PORT}")
    client.get(f"/?key={KEY}")
    assert client.get("/api/site").status_code == 200
    kept = client.post("/api/plan", json={}, headers={"Origin": f"http://localhost:{PORT}"})
    assert kept.status_code == 422, "let in; the plan itself is refused here"


@pytest.mark.parametrize(
    "origin",
    [
        "http://evil.example",
        "null",
        f"https://127.0.0.1:{PORT}",
        "http://127.0.0.1:1",
        f"http://localhost:{PORT}",
        "",
    ],
)
def test_a_foreign_page_writes_nothing(client: Client, folder: Path, origin: str) -> None:
    before = {path: path.is_file() and path.read_bytes() for path in folder.rglob("*")}
    body = {
        "site": {"type": "FeatureCollection", "features": []},
        "revision": client.get("/api/site").json()["revision"],
    }
    for method, address in WRITES:
        answer = client.request(method, address, json=body, headers={"Origin": origin})
        assert answer.status_code == 403, address
    assert {path: path.is_file() and path.read_bytes() for path in folder.rglob("*")} == before


def test_there_are_addresses_to_attack() -> None:
    assert {("PUT", "/api/site"), ("POST", "/api/plan"), ("POST", "/api/versions")} <= set(WRITES)
    assert {"/api/site", "/api/documents/map.html", "/api/record/tie-sheet.pdf"} <= set(READS)


def test_a_write_without_an_origin_is_refused(client: Client) -> None:
    del client.headers["Origin"]
    assert client.post("/api/plan", json={}).status_code == 403


@pytest.mark.parametrize(
    "path",
    [
        "/../site.toml",
        "/..%2fsite.toml",
        "/%2e%2e/%2e%2e/etc/passwd",
        "/pages/draw.html",
        "/draw.html",
        "/app.py",
        "/vendor/leaflet.js",
        "/api/documents/../site.toml",
        "/api/documents/..%2fsite.toml",
        "/api/documents/%2e%2e%2fsite.toml",
        "/api/documents//etc/passwd",
        "/api/documents/site.toml",
        "/api/documents/C:%5cWindows%5cwin.ini",
        "/api/documents/map.html%00.pdf",
        "/.history/0001-site.geojson",
    ],
)
def test_no_path_from_the_browser_is_opened(client: Client, path: str) -> None:
    answer = client.get(path)
    assert answer.status_code == 404
    assert "rules" not in answer.text and "root:" not in answer.text
    assert faults(answer)


@pytest.mark.parametrize(
    "kind", ["text/plain", "application/x-www-form-urlencoded", "multipart/form-data; boundary=x", ""]
)
def test_only_json_is_taken(client: Client, kind: str) -> None:
    for method, address in WRITES:
        answer = client.request(method, address, content=b"{}", headers={"Content-Type": kind})
        assert answer.status_code == 415, address
        assert faults(answer)


MOST_PIECES = 400
"""More than any address takes [MB]."""


async def chunks(count: int) -> AsyncIterator[bytes]:
    for _ in range(count):
        yield b" " * 1_000_000


def test_a_giant_body_is_counted_not_believed(client: Client) -> None:
    """Sent in pieces, with no length told beforehand."""
    for method, address in WRITES:
        kind = {"Content-Type": "application/json"}
        answer = client.request(method, address, content=chunks(MOST_PIECES), headers=kind)
        assert answer.status_code == 413, address
        assert faults(answer)


NO_USE = [
    *(b"", b"{", b"\xff\xfe", b"NaN", b'{"site": Infinity}', b"[" * 200_000, b"9" * 10_000),
    *(b'{"site": {}}', b"[]", b'"x"', b'{"revision": 3}'),
]


@pytest.mark.parametrize("body", NO_USE)
def test_a_body_that_is_no_use_is_one_line(
    client: Client, body: bytes, capfd: pytest.CaptureFixture[str]
) -> None:
    answer = client.put("/api/site", content=body, headers={"Content-Type": "application/json"})
    assert answer.status_code == 400
    assert faults(answer)
    assert "Traceback" not in "".join(capfd.readouterr())


def test_every_answer_carries_the_policy(client: Client) -> None:
    addresses = ["/", "/draw.js", "/leaflet.css", "/api/site", "/no-such", "/api/documents/map.html"]
    for answer in [*map(client.get, addresses), client.get("/", headers={"Host": "evil.example"})]:
        assert answer.headers["content-security-policy"] == POLICY
        assert answer.headers["x-content-type-options"] == "nosniff"
        assert answer.headers["cache-control"] == "no-store"
        assert "access-control-allow-origin" not in answer.headers
    assert "unsafe" not in POLICY
    for part in (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "connect-src 'self'",
        "frame-ancestors 'none'",
    ):
        assert part in POLICY


def test_the_map_is_shown_shut_off_from_the_page(client: Client, folder: Path) -> None:
    """A made map holds script of its own: in a sandbox without our origin it cannot use the key."""
    (folder / "plan").mkdir()
    (folder / "plan" / "map.html").write_text("<p>map</p>", encoding="utf-8")
    policy = client.get("/api/documents/map.html").headers["content-security-policy"]
    assert "sandbox allow-scripts" in policy
    assert "allow-same-origin" not in policy
    (folder / "plan" / "findings.json").write_text("{}", encoding="utf-8")
    assert client.get("/api/documents/findings.json").headers["content-disposition"].startswith("attachment")


def test_every_page_file_is_there_and_the_page_has_no_script_inside(client: Client) -> None:
    for name in PAGES:
        if name != "draw.html":
            assert client.get(f"/{name}").status_code == 200, name
    page = client.get("/").text
    assert page.count("<script") == page.count("<script src=")
    assert "style=" not in page and " on" + "click" not in page


def test_an_error_of_ours_is_one_line(folder: Path, capfd: pytest.CaptureFixture[str]) -> None:
    def broken(_: Path) -> None:
        raise ZeroDivisionError("secret of /home/somebody")

    answer = client_for(folder, broken).post("/api/plan", json={})  # type: ignore[arg-type]
    assert answer.status_code == 500
    (line,) = faults(answer)
    assert "ZeroDivisionError" in line and "secret" not in line
    assert "Traceback" not in line + "".join(capfd.readouterr())


def test_a_name_with_script_in_it_stays_a_text(client: Client, folder: Path) -> None:
    evil = '<img src=x onerror=alert(1)>"</script><script>alert(2)</script>'
    asked = client.get("/api/site").json()
    asked["site"]["features"][1]["properties"]["name"] = evil
    saved = client.put("/api/site", json={"site": asked["site"], "revision": asked["revision"]})
    assert saved.status_code == 200
    again = client.get("/api/site")
    assert again.headers["content-type"].startswith("application/json")
    assert again.json()["site"]["features"][1]["properties"]["name"] == evil
    assert evil in [
        each["properties"]["name"] for each in json.loads((folder / "site.geojson").read_text())["features"]
    ]


def test_pictures_of_a_map_service_come_from_the_named_host_alone(folder: Path) -> None:
    address = "https://pictures.example:8443/{z}/{x}/{y}.png"
    app = make_app(folder, QuickPlanner(folder, no_plan), port=PORT, key=KEY, pictures=address)
    client = Client(app)
    client.get(f"/?key={KEY}")
    policy = client.get("/").headers["content-security-policy"]
    assert policy == POLICY.replace("data:;", "data: https://pictures.example:8443;")
    assert client.get("/api/site").json()["pictures"] == address


@pytest.mark.parametrize(
    "address",
    [
        "http://pictures.example/{z}/{x}/{y}",
        "https://pictures.example/{z}/{x}",
        "https://pictures.example; script-src *//{z}/{x}/{y}",
        "https://*/{z}/{x}/{y}",
        "https://user@pictures.example/{z}/{x}/{y}",
        "https://[::1/{z}/{x}/{y}",
        "javascript:{z}{x}{y}",
    ],
)
def test_no_other_address_gets_into_the_policy(folder: Path, address: str) -> None:
    with pytest.raises(SiteplanError, match="expected an address such as"):
        make_app(folder, QuickPlanner(folder, no_plan), port=PORT, key=KEY, pictures=address)
