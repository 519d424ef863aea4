"""``[[underlay]]``: pictures of the folder, how they lie by two or three points, and what is said of a slip."""

from __future__ import annotations

import struct
import zlib
from dataclasses import replace
from io import BytesIO
from math import cos, radians, sin
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image
from shapely import Point

from siteplan.errors import InputFaults
from siteplan.plane.place import place
from siteplan.plane.underlay import lie
from siteplan.read import read_site
from siteplan.read.underlay import MOST_PICTURE_BYTES
from siteplan.site.site import Site
from tests.read.small_site import SITE_TOML, only_fault, write

TWO = '[[120, 900, "house SW"], [400, 80, "well"]]'
HOUSE_SW, WELL = (-111.9994, 46.0003), (-111.9998, 46.0008)


def picture(width: int = 600, height: int = 1000, sort: str = "PNG", **options: Any) -> bytes:
    """A grey picture."""
    written = BytesIO()
    Image.new("L", (width, height), 200).save(written, sort, **options)
    return written.getvalue()


def claiming(width: int, height: int) -> bytes:
    """A PNG of one dot whose head says that it is larger (PNG specification, 11.2.1): nothing may be unpacked to find out."""
    small = picture(1, 1)
    head = b"IHDR" + struct.pack(">II", width, height) + small[24:29]
    return small[:12] + head + struct.pack(">I", zlib.crc32(head)) + small[33:]


def toml(points: str = TWO, name: str = "plat.png") -> str:
    """The small site with a picture; its points stand on line 22."""
    return f'{SITE_TOML}\n[[underlay]]\npicture = "{name}"\npoints = {points}\n'


def placed(folder: Path, points: str = TWO, **files: bytes) -> tuple[Site, Any]:
    return place(read_site(write(folder, site__toml=toml(points), **(files or {"plat__png": picture()}))))


def plane_fault(folder: Path, points: str) -> str:
    with pytest.raises(InputFaults) as caught:
        placed(folder, points)
    [fault] = caught.value.faults
    return str(fault)


def test_two_points_lay_it_without_stretching_it(tmp_path: Path) -> None:
    site, frame = placed(tmp_path)
    [under] = site.underlays
    assert under.lie is not None
    assert under.lie.misfit_m is None
    for dots, lonlat in (((120, 900), HOUSE_SW), ((400, 80), WELL)):
        there = frame.to_ground(Point(lonlat))
        assert under.lie.ground(*dots) == pytest.approx((there.x, there.y), abs=1e-6)
    a, b, _, d, e, _ = under.lie.matrix
    assert (a, b) == pytest.approx((-e, d)), "one scale, right angles kept, down is down"


def test_points_by_longitude_and_latitude(tmp_path: Path) -> None:
    by_name, _ = placed(tmp_path)
    by_degrees, _ = placed(tmp_path, "[[120, 900, -111.9994, 46.0003], [400, 80, -111.9998, 46.0008]]")
    one, other = by_name.underlays[0].lie, by_degrees.underlays[0].lie
    assert one is not None
    assert other is not None
    assert one.matrix == pytest.approx(other.matrix, abs=1e-9)


def test_three_points_stretch_it_and_say_by_how_much(tmp_path: Path) -> None:
    """A sheet turned by 10 degrees at 0.2 m a dot; its third point is then read 30 dots too far to the right."""
    turn, scale = radians(10), 0.2
    dots = np.array([[100.0, 100.0], [500.0, 120.0], [200.0, 700.0]])
    up = dots * (1, -1)
    ground = scale * up @ np.array([[cos(turn), sin(turn)], [-sin(turn), cos(turn)]]) + (7, 9)
    true = lie(dots, ground)
    assert true.misfit_m == pytest.approx(0, abs=1e-9)
    off = dots.copy()
    off[2, 0] += 30
    wrong = lie(off, ground)
    assert wrong.misfit_m == pytest.approx(30 * scale)
    for each, there in zip(off, ground, strict=True):
        assert wrong.ground(*each) == pytest.approx(there)


def test_a_photo_is_measured_as_its_camera_turned_it(tmp_path: Path) -> None:
    turned = Image.Exif()
    turned[0x0112] = 6
    upright = picture(1000, 600, "JPEG", exif=turned)
    site = read_site(write(tmp_path, site__toml=toml(), plat__png=upright))
    assert (site.underlays[0].width_px, site.underlays[0].height_px) == (600, 1000)
    assert site.underlays[0].sort == "image/jpeg", "by its bytes, whatever its ending"
    assert site.underlays[0].content == upright


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        (toml(name="no.png"), ["[[underlay]] no.png, picture", '"no.png"', "a file of this folder"]),
        (toml(name="../plat.png"), ["../plat.png", "a file of this folder"]),
        (toml(name="/etc/hostname"), ["/etc/hostname", "a file of this folder"]),
        (toml('[[1, 2, "well"]]'), ["site.toml:22", "two or three points"]),
        (toml('[[1, 2, "well"], [3, 4]]'), ["site.toml:22", "two or three points"]),
        (toml('[[1, 2, "well"], [3, "x", "house SW"]]'), ["two or three points"]),
        (toml('[[1, 2, "well"], [3, nan, "house SW"]]'), ["two or three points"]),
        (toml('[[1, 2, "well"], [3, true, "house SW"]]'), ["two or three points"]),
        (toml('[[1, 2, "well"], [900, 4, "house SW"]]'), ["900, 4", "600 by 1000 dots"]),
        (toml('[[1, 2, "well"], [3, 4, 46.0, -112.0]]'), ["site.toml:22"]),
        (toml() + "opacity = 0.5\n", ["the unknown key", "opacity"]),
    ],
)
def test_a_slip_is_one_line(tmp_path: Path, text: str, parts: list[str]) -> None:
    only_fault(write(tmp_path, site__toml=text, plat__png=picture()), *parts)


@pytest.mark.parametrize(
    ("content", "parts"),
    [
        (b"GIF89a" + b"0" * 50, ["by its first bytes no PNG or JPEG"]),
        (b"<svg onload='alert(1)'/>", ["by its first bytes no PNG or JPEG"]),
        (b"", ["by its first bytes no PNG or JPEG"]),
        (picture()[:60], ["a picture that does not open"]),
        (picture()[:24] + b"\0" * 80, ["a picture that does not open"]),
        (b"\xff\xd8\xff" + b"\0" * 80, ["a picture that does not open"]),
        (claiming(6000, 6000), ["too large a picture", "25 million dots"]),
        (claiming(20000, 20000), ["too large a picture"]),
        (picture() + b"\0" * MOST_PICTURE_BYTES, ["a picture of 4.0 MB", "at most 4 MB"]),
    ],
    ids=range(9),
)
def test_a_picture_that_cannot_be_taken_is_one_line(tmp_path: Path, content: bytes, parts: list[str]) -> None:
    only_fault(write(tmp_path, site__toml=toml(), plat__png=content), "[[underlay]] plat.png", *parts)


def test_a_link_out_of_the_folder_is_refused(tmp_path: Path) -> None:
    outside = tmp_path / "outside.png"
    outside.write_bytes(picture())
    folder = tmp_path / "site"
    folder.mkdir()
    write(folder, site__toml=toml())
    (folder / "plat.png").symlink_to(outside)
    only_fault(folder, "plat.png", "a link that leads out of the folder")


@pytest.mark.parametrize(
    ("points", "parts"),
    [
        ('[[1, 2, "hose SW"], [300, 4, "well"]]', ['"hose SW"', "house SW"]),
        ('[[1, 2, "house SW"], [5, 4, "well"]]', ["nearly one"]),
        ('[[1, 2, "well"], [300, 400, "well"]]', ["nearly one"]),
        (
            '[[0, 900, "house SW"], [100, 900, "house SE"], [205, 901, -111.9990, 46.0003]]',
            ["nearly on one line"],
        ),
        (
            '[[0, 900, "house SE"], [100, 900, "house SW"], [100, 850, "house NW"]]',
            ["the other way round"],
        ),
    ],
)
def test_points_that_lay_nothing_are_one_line(tmp_path: Path, points: str, parts: list[str]) -> None:
    fault = plane_fault(tmp_path, points)
    assert "site.toml:22: [[underlay]] plat.png, points" in fault
    for part in parts:
        assert part in fault


def test_degrees_on_a_tape_grid_are_refused(tmp_path: Path) -> None:
    text = toml("[[1, 2, -112.0, 46.0], [300, 4, -111.9, 46.0]]") + '\n[grid]\nunit = "ft"\n'
    folder = write(
        tmp_path,
        site__toml=text,
        plat__png=picture(),
        site__geojson='{"type":"FeatureCollection","features":[]}',
    )
    with pytest.raises(InputFaults, match="longitude and latitude, on a site with a"):
        read_site(folder)


def test_the_site_as_read_says_nothing_of_the_ground(tmp_path: Path) -> None:
    site, _ = placed(tmp_path)
    as_read = read_site(tmp_path)
    assert as_read.underlays == tuple(replace(each, lie=None) for each in site.underlays)
