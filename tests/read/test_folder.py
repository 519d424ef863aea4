from __future__ import annotations

import os
from pathlib import Path

import pytest
from small_site import collection, faults, feature, good, only_fault, write

from siteplan.errors import InputFaults
from siteplan.read import folder as folder_module
from siteplan.read import read_site, write_new_site


def test_no_folder_and_no_site_toml(tmp_path: Path) -> None:
    for folder, said in ((tmp_path / "nowhere", "no folder"), (tmp_path, "no site.toml")):
        with pytest.raises(InputFaults, match=said) as caught:
            read_site(folder)
        assert "siteplan new makes one" in str(caught.value)


def test_what_is_for_later_hidden_or_in_a_subfolder_is_not_read(tmp_path: Path) -> None:
    for name in (
        "asbuilt.geojson",
        "shots.csv",
        ".site.geojson",
        "notes.txt",
        "old.json",
    ):
        (tmp_path / name).write_text("no such thing")
    (tmp_path / "plan").mkdir()
    (tmp_path / "plan" / "plan.geojson").write_text("no such thing")
    (tmp_path / "old.gpx").mkdir()
    assert len(read_site(write(tmp_path)).features) == 3


@pytest.mark.parametrize("name", ["site.toml", "site.geojson", "t.csv", "t.gpx", "t.kml"])
def test_a_file_that_is_not_utf_8(tmp_path: Path, name: str) -> None:
    write(tmp_path, **{name.replace(".", "__"): "# Müller\n# Hütte".encode("latin-1")})
    only_fault(tmp_path, f"{name}:1:", "the byte 0xfc", "UTF-8")


@pytest.mark.parametrize("name", ["site.toml", "site.geojson", "t.csv", "t.gpkg", "t.kml"])
def test_a_file_over_50_mb_is_refused_unread(
    tmp_path: Path, name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    write(tmp_path)
    with (tmp_path / name).open("wb") as file:
        file.truncate(50_000_001)
    read_bytes = Path.read_bytes
    monkeypatch.setattr(
        Path, "read_bytes", lambda path: pytest.fail("read") if path.name == name else read_bytes(path)
    )
    only_fault(tmp_path, f"{name}:", "50 MB", "at most 50 MB")


@pytest.mark.parametrize("name", ["site.geojson", "site.toml", "t.gpkg"])
def test_a_link_out_of_the_folder_is_refused(tmp_path: Path, name: str) -> None:
    inside, outside = tmp_path / "site", tmp_path / "secret"
    inside.mkdir()
    write(inside)
    outside.write_text(collection(good()))
    (inside / name).unlink(missing_ok=True)
    (inside / name).symlink_to(outside)
    only_fault(inside, f"{name}:", "a link that leads out of the folder")


def test_a_part_of_a_shapefile_that_is_a_link(tmp_path: Path) -> None:
    inside = tmp_path / "site"
    inside.mkdir()
    write(inside, t__shp=b"\x00\x00\x27\x0a" + bytes(96))
    (inside / "t.dbf").symlink_to("/etc/hostname")
    only_fault(inside, "t.dbf:", "a link that leads out of the folder")


def test_a_link_within_the_folder_and_one_in_a_ring(tmp_path: Path) -> None:
    write(tmp_path)
    (tmp_path / "land.txt").write_text(collection([feature("t", "tree", "Point", [-111.9995, 46.0005])]))
    (tmp_path / "trees.geojson").symlink_to("land.txt")
    assert read_site(tmp_path).feature("t").kind == "tree"
    (tmp_path / "ring.geojson").symlink_to("ring.geojson")
    assert faults(tmp_path)[0].startswith("ring.geojson: found")


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes on this system")
def test_a_pipe_does_not_hang(tmp_path: Path) -> None:
    os.mkfifo(write(tmp_path) / "t.geojson")
    only_fault(tmp_path, "t.geojson:", "no ordinary file")


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root may read everything")
def test_a_file_that_may_not_be_read(tmp_path: Path) -> None:
    (write(tmp_path) / "site.geojson").chmod(0)
    only_fault(tmp_path, "site.geojson:", "cannot be opened")


def test_too_many_features(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("siteplan.read.files.MOST_FEATURES", 10)
    trees = [feature(f"t{n}", "tree", "Point", [-111.9995, 46.0005]) for n in range(8)]
    only_fault(
        write(tmp_path, trees__geojson=collection(trees)),
        "trees.geojson:",
        "more than 10 things",
        "at most 10",
    )
    assert folder_module.MOST_FEATURES == 20_000


def test_the_same_folder_gives_the_same_site(tmp_path: Path) -> None:
    assert repr(read_site(write(tmp_path))) == repr(read_site(tmp_path))


@pytest.mark.parametrize("name", ["site.kmz", "site.zip", "site.DXF"])
def test_a_file_that_is_not_read_is_not_passed_over_in_silence(tmp_path: Path, name: str) -> None:
    write_new_site(tmp_path / "site")
    (tmp_path / "site" / name).write_bytes(b"PK")
    with pytest.raises(InputFaults) as caught:
        read_site(tmp_path / "site")
    assert [fault.file for fault in caught.value.faults] == [name]
    assert "does not read" in str(caught.value)
