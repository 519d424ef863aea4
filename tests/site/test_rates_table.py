"""The tables of prices and materials: whole, in order, with sources, and said to be wrong where they are."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from shapely import Point

from siteplan.errors import InputFaults
from siteplan.site import catalogue
from siteplan.site.catalogue import ground_rows, kinds, layers_folder, material_named, materials, rates
from siteplan.site.evidence import Evidence
from siteplan.site.features import Fact, Feature, Source
from siteplan.site.rates import BENDS, ROWS

FOOT_M = 0.3048


def feature(kind: str, **facts: Fact) -> Feature:
    return Feature(
        id="a",
        kind=kind,
        name="A",
        shape=Point(0, 0),
        evidence=Evidence(method="surveyed"),
        facts=facts,
        source=Source(file="site.geojson"),
    )


def test_every_row_is_there_in_order_and_says_where_it_comes_from() -> None:
    table = rates()
    assert tuple(table.rows) == tuple(ROWS)
    for row in table.rows.values():
        assert 0 <= row.low <= row.likely <= row.high, row.id
        assert (row.per == "each") == (ROWS[row.id] == "each"), row.id
        assert "https://" in row.source or row.source == "common practice, no source", row.id
        assert row.name[0].islower(), row.id


def test_the_published_ranges_for_a_foot() -> None:
    """Consumer guides: trenching $5-12/ft (homeguide), boring $10-50/ft and $1,000-2,500 at least (engineerfix)."""
    dig, bore, least = (rates()[row] for row in ("dig-machine", "bore", "bore-least"))
    assert (dig.low * FOOT_M, dig.high * FOOT_M) == pytest.approx((5, 12))
    assert (bore.low * FOOT_M, bore.high * FOOT_M) == pytest.approx((10, 50))
    assert (least.low, least.high) == (1000, 2500)


def test_rock_multiplies_the_price_of_a_trench_by_three_to_four() -> None:
    dig, ledge = rates()["dig-machine"], rates()["dig-ledge"]
    assert (ledge.low, ledge.likely, ledge.high) == pytest.approx(
        (3 * dig.low, 3.5 * dig.likely, 4 * dig.high)
    )


def test_classes_of_bends_go_up() -> None:
    assert [largest_deg for largest_deg, _ in BENDS] == [22.5, 45, 90, 135]
    likely = [rates()[row].likely for _, row in BENDS]
    assert likely == sorted(likely)


def test_paved_ground_is_dearer_to_put_back_than_soft_ground() -> None:
    rows = ("restore-field", "restore-lawn", "restore-gravel", "restore-asphalt", "restore-concrete")
    likely = [rates()[row].likely for row in rows]
    assert likely == sorted(set(likely))


@pytest.mark.parametrize(
    ("kind", "surface", "rows"),
    [
        ("drive", None, (None, "restore-gravel")),
        ("road", None, (None, "restore-asphalt")),
        ("walk", None, (None, "restore-concrete")),
        ("drive", "Concrete", (None, "restore-concrete")),
        ("walk", "  paving   STONES ", (None, "restore-concrete")),
        ("road", "two-track", (None, "restore-field")),
        ("drive", "moon dust", (None, "restore-gravel")),
        ("drive", "", (None, "restore-gravel")),
        ("lawn", None, (None, "restore-lawn")),
        ("field", None, (None, "restore-field")),
        ("woods", None, ("dig-wooded", "restore-wooded")),
        ("ledge", None, ("dig-ledge", None)),
    ],
)
def test_what_ground_is_paid_by(kind: str, surface: str | None, rows: tuple[str | None, str | None]) -> None:
    assert ground_rows(feature(kind, **({} if surface is None else {"surface": surface}))) == rows


def test_every_spelling_names_one_material() -> None:
    words = [word for each in materials().values() for word in {each.id, each.name, *each.spellings}]
    assert len(words) == len(set(words))
    assert all(word == word.casefold() for word in words)
    assert material_named("gravl") is None


def test_what_fixes_a_route_is_in_nobodys_way() -> None:
    for kind in (kinds()["pass_point"], kinds()["drawn_route"]):
        assert (kind.group, kind.dig, dict(kind.facts)) == ("route", "none", {})
        assert kind.id not in catalogue.kinds_of_sources()


BAD_TABLES = {
    "a row missing": ("rates", "[tee]\n", "[te]\n", ["te", 'the unknown row "te"', "tee"]),
    "low above likely": ("rates", "[10, 25, 50]", "[10, 5, 50]", ["bore", "low is above likely"]),
    "a text": ("rates", "[10, 25, 50]", '[10, "25", 50]', ["bore", '"25"', "a number"]),
    "a bend per foot": (
        "rates",
        'degrees"\nper = "each"\nprices = [15',
        'degrees"\nper = "ft"\nprices = [15',
        ["bend-45", 'a price per "ft"', "each"],
    ),
    "a row without its source": ("rates", 'source = "c', 'sorce = "c', ["sorce"]),
    "no currency": ("rates", 'currency = "$"', "", ["the currency None", "a text"]),
    "a sharp bend for less": (
        "rates",
        "prices = [50, 100, 200]",
        "prices = [1, 2, 3]",
        ["low 25 for bend-90 and 1 for bend-sharp", "the sharper they are"],
    ),
    "a material without a price": ("materials", "restore-field", "restore-dirt", ["restore-dirt"]),
    "a kind dug at no price": ("kinds", "dig-ledge", "dig-rock", ["ledge", "dig-rock"]),
    "a kind of no material": ("kinds", 'material = "asphalt"', 'material = "tar"', ["road", '"tar"']),
}


@pytest.mark.parametrize("case", BAD_TABLES)
def test_a_spoilt_table_says_what_is_wrong_in_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, case: str
) -> None:
    name, old, new, parts = BAD_TABLES[case]
    folder = tmp_path / "layers"
    shutil.copytree(layers_folder(), folder)
    path = folder / f"{name}.toml"
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    monkeypatch.setattr(catalogue, "layers_folder", lambda: folder)
    with pytest.raises(InputFaults) as caught:
        getattr(catalogue, name).__wrapped__()
    said = str(caught.value)
    assert said.startswith(f"layers/{name}.toml:")
    for part in parts:
        assert part in said, said
