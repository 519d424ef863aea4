"""The table [bench_mark] of ``site.toml``, and where the machine comes in."""

from __future__ import annotations

from pathlib import Path

import pytest
from small_site import SITE_TOML, changed, only_fault, write

from siteplan.read import read_site
from siteplan.site.site import StatedMark

MARK = """
[bench_mark]
at = "painted mark on the casing"
elevation = "4002.5 ft"
rod = "4.2 ft"
"""
LEVELS = """id,longitude,latitude,elevation
L1,-111.9999,46.0001,4000 ft
L2,-111.9995,46.0005,4001 ft
L3,-111.9999,46.0008,4003 ft
"""


def test_read(tmp_path: Path) -> None:
    site = read_site(write(tmp_path, site__toml=SITE_TOML + MARK, levels__csv=LEVELS))
    mark = site.bench_mark
    assert mark is not None
    assert mark.at == "painted mark on the casing"
    assert mark.elevation_m == pytest.approx(4002.5 * 0.3048)
    assert mark.rod_m == pytest.approx(4.2 * 0.3048)


def test_the_rod_may_be_left_for_the_day(tmp_path: Path) -> None:
    toml = SITE_TOML + changed(MARK, 'rod = "4.2 ft"\n', "")
    mark = read_site(write(tmp_path, site__toml=toml)).bench_mark
    assert mark == StatedMark(at="painted mark on the casing", elevation_m=4002.5 * 0.3048)
    assert read_site(write(tmp_path)).bench_mark is None


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('"4002.5 ft"', "4002.5", ["elevation", "4002.5, which has no unit"]),
        ('"4002.5 ft"', '"100 ft"', ["[bench_mark] elevation", "30 m", "the levels lie about 1220 m"]),
        ('at = "painted mark on the casing"\n', "", ["[bench_mark]", "at"]),
        ('rod = "4.2 ft"', 'hi = "4006.7 ft"', ["hi"]),
    ],
)
def test_faults(tmp_path: Path, old: str, new: str, words: list[str]) -> None:
    toml = SITE_TOML + changed(MARK, old, new)
    fault = only_fault(write(tmp_path, site__toml=toml, levels__csv=LEVELS))
    for word in words:
        assert word in fault


def test_way_in(tmp_path: Path) -> None:
    toml = changed(SITE_TOML, 'soil = "sand"', 'soil = "sand"\nway_in = "by the north gate"')
    assert read_site(write(tmp_path, site__toml=toml)).digging.way_in == "by the north gate"
