"""The table [frost] of ``site.toml``."""

from __future__ import annotations

from pathlib import Path

import pytest
from small_site import SITE_TOML, changed, only_fault, write

from siteplan.read import read_site
from siteplan.units import UnitFault, parse_ground

FROST = """
[frost]
freezing_index = "2000 F-days"
mean_annual = "45.5 F"
season = "120 days"
surface = "turf"
snow_cleared = true
soil = "silt-clay"
dry_density = "100 pcf"
water = "15 %"
"""


def test_read(tmp_path: Path) -> None:
    frost = read_site(write(tmp_path, site__toml=SITE_TOML + FROST)).frost
    assert frost is not None
    assert frost.freezing_index_c_days == pytest.approx(1111.11, abs=0.01)
    assert frost.mean_annual_c == pytest.approx(7.5)
    assert frost.dry_density_kg_m3 == pytest.approx(1601.85, abs=0.01)
    assert (frost.season_days, frost.water_percent, frost.soil) == (120, 15, "silt-clay")
    assert (frost.n_factor, frost.surface) == (0.7, "turf, snow cleared off")
    assert frost.source.line == SITE_TOML.count("\n") + 8


@pytest.mark.parametrize(
    ("old", "new", "n_factor", "surface"),
    [
        ("snow_cleared = true", "snow_cleared = false", 0.5, "turf, snow left lying"),
        ('surface = "turf"', "n = 0.6", 0.6, "as stated"),
        ("snow_cleared = true\n", "", 0.7, "turf, snow cleared off"),
    ],
)
def test_n_factor(tmp_path: Path, old: str, new: str, n_factor: float, surface: str) -> None:
    frost = read_site(write(tmp_path, site__toml=SITE_TOML + changed(FROST, old, new))).frost
    assert frost is not None
    assert (frost.n_factor, frost.surface) == (n_factor, surface)


def test_without_the_table(tmp_path: Path) -> None:
    assert read_site(write(tmp_path)).frost is None


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('"2000 F-days"', "2000", ["freezing_index", "2000, which has no unit", "F-days"]),
        ('"2000 F-days"', '"0 F-days"', ["freezing_index", "0 F-days", "10 to 10 000 F-days"]),
        ('"2000 F-days"', '"2000 F"', ['with the unit "f"', "F-days"]),
        ('"45.5 F"', '"30 F"', ["mean_annual", "above freezing"]),
        ('"45.5 F"', '"-3 C"', ["mean_annual", "above freezing"]),
        ('"120 days"', '"400 days"', ["season", "5 to 330 days"]),
        ('"120 days"', '"20 days"', ["[frost]", "a season of 20 days", "long enough"]),
        ('"turf"', '"tufr"', ["surface", 'did you mean "turf"?']),
        ('surface = "turf"\n', "", ["[frost]", "none or both of surface and n"]),
        ('surface = "turf"', 'surface = "turf"\nn = 0.5', ["[frost]", "none or both of surface and n"]),
        ('surface = "turf"', "n = 1.2", ["n:", "1.2", "up to 1"]),
        ('"silt-clay"', '"loam"', ["soil", "sandy, silt-clay"]),
        ('"100 pcf"', '"150 pcf"', ["dry_density", "150 pcf", "70 to 140 pcf"]),
        ('"100 pcf"', '"136 pcf"', ["[frost]", "2179 kg/m3", "1120 to 2080 kg/m3 for silt-clay"]),
        ('"15 %"', '"5 %"', ["[frost]", "5.0 % of water", "7 % to 26.1 %"]),
        ('"15 %"', '"30 %"', ["[frost]", "30.0 % of water", "pores"]),
        ('water = "15 %"\n', "", ["[frost]", "no water", "add water"]),
    ],
)
def test_faults(tmp_path: Path, old: str, new: str, words: list[str]) -> None:
    only_fault(write(tmp_path, site__toml=SITE_TOML + changed(FROST, old, new)), *words)


@pytest.mark.parametrize(
    ("kind", "text", "value"),
    [
        ("freezing_index", "1800 °F-days", 1000.0),
        ("freezing_index", "1000 C-days", 1000.0),
        ("temperature", "32 F", 0.0),
        ("temperature", "7.2 °C", 7.2),
        ("season", "1 day", 1.0),
        ("dry_density", "1600 kg/m3", 1600.0),
        ("dry_density", "62.428 lb/ft3", 1000.0),
        ("water", "12.5%", 12.5),
    ],
)
def test_parse_ground(kind: str, text: str, value: float) -> None:
    """62.428 lb/ft3 is the density of water at its heaviest, 1000 kg/m3 (handbooks, from memory)."""
    assert parse_ground(text, kind) == pytest.approx(value, rel=1e-5, abs=1e-12)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("kind", "text"),
    [("freezing_index", "2,000 F-days"), ("water", "-1 %"), ("season", "4 months"), ("dry_density", "100")],
)
def test_parse_ground_refuses(kind: str, text: str) -> None:
    with pytest.raises(UnitFault):
        parse_ground(text, kind)  # type: ignore[arg-type]
