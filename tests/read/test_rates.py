"""Prices and the digging that goes by them: what ``site.toml`` may say, and what is said of a slip."""

from __future__ import annotations

from pathlib import Path

import pytest
from small_site import SITE_TOML, changed, faults, only_fault, write

from siteplan.read import read_site, site_schema
from siteplan.site.catalogue import rates
from siteplan.site.rates import ROWS
from siteplan.site.site import Site


def priced(text: str) -> str:
    return SITE_TOML + "[rates]\n" + text


def read(folder: Path, text: str) -> Site:
    return read_site(write(folder, site__toml=text))


def test_a_site_without_prices_has_those_of_the_table(tmp_path: Path) -> None:
    site = read(tmp_path, SITE_TOML)
    assert site.rates == rates()
    assert site.rates.stated == ()


def test_stated_prices_replace_the_row_and_only_it(tmp_path: Path) -> None:
    made = read(tmp_path, priced('currency = "CA$"\ntee = 120\ndig-machine = [3.048, 6.096, 30.48]\n')).rates
    assert (made.currency, made.stated) == ("CA$", ("dig-machine", "tee"))
    dig = made["dig-machine"]
    assert (dig.low, dig.likely, dig.high) == pytest.approx((10.0, 20.0, 100.0))  # 1 ft is 0.3048 m
    assert (dig.per, dig.unit, dig.source) == ("m", "ft", "site.toml")
    assert (made["tee"].low, made["tee"].likely, made["tee"].high, made["tee"].per) == (120, 120, 120, "each")
    assert made["bore"] == rates()["bore"]
    assert made["dig-machine"].name == rates()["dig-machine"].name


def test_prices_may_be_for_a_metre(tmp_path: Path) -> None:
    made = read(tmp_path, priced('currency = "£"\nper = "m"\nbore = [90, 120, 150]\ntee = [1, 2, 3]\n')).rates
    assert (made["bore"].low, made["bore"].likely, made["bore"].high, made["bore"].unit) == (
        90,
        120,
        150,
        "m",
    )
    assert (made["tee"].high, made["tee"].unit) == (3, "each")


BAD_PRICES = {
    "low above likely": (
        "currency = '$'\nbore = [10, 9, 50]\n",
        ["site.toml:21: [rates] bore:", "[10, 9, 50], where low is above likely", "[low, likely, high]"],
    ),
    "likely above high": ("bore = [10, 60, 50]\n", ["site.toml:20:", "where likely is above high"]),
    "negative": ("bore = [-1, 9, 50]\n", ["site.toml:20:", "negative", "zero or more"]),
    "negative for all": ("bore = -3\n", ["site.toml:20:", "negative"]),
    "two prices": ("bore = [1, 2]\n", ["site.toml:20:", "2 prices", "three"]),
    "none": ("bore = []\n", ["site.toml:20:", "0 prices"]),
    "text": ('bore = "12"\n', ["site.toml:20: [rates] bore:", '"12"', "a number without a unit"]),
    "text among them": ('bore = [1, "$2", 3]\n', ["site.toml:20:", '"$2"']),
    "yes": ("bore = true\n", ["site.toml:20:", '"True"']),
    "a table": ("bore = { low = 1 }\n", ["site.toml:20:", "low", "a number without a unit"]),
    "no number": ("bore = nan\n", ["site.toml:20:", "nan"]),
    "endless": ("bore = [1, 2, inf]\n", ["site.toml:20:", "inf", "at most 1000000"]),
    "longer than a float": (f"bore = 1{'0' * 400}\n", ["site.toml:20:", "at most 1000000"]),
    "unknown row": (
        "dig-machin = 5\n",
        ["site.toml:20: [rates] dig-machin:", 'the unknown row "dig-machin"', 'did you mean "dig-machine"?'],
    ),
    "currency that is no text": ("currency = 5\n", ["site.toml:20: [rates] currency:", "found 5", '"$"']),
    "currency of no letters": ('currency = " "\n', ["site.toml:20:", "an empty text"]),
    "currency in words": ('currency = "US dollars"\n', ["site.toml:20:", "10 characters", "at most 4"]),
    "per yard": ('per = "yd"\n', ["site.toml:20: [rates] per:", '"yd"', "'ft' or 'm'"]),
    "a sharp bend for less": (
        "bend-45 = [60, 70, 80]\n",
        ["site.toml:20: [rates] bend-45:", "60 for bend-45 and 25 for bend-90", "the sharper they are"],
    ),
}


@pytest.mark.parametrize("case", BAD_PRICES)
def test_a_bad_price_is_one_line_that_says_where_and_what(tmp_path: Path, case: str) -> None:
    text, parts = BAD_PRICES[case]
    only_fault(write(tmp_path, site__toml=priced(text)), *parts)


def test_each_bad_price_has_a_line_of_its_own(tmp_path: Path) -> None:
    found = faults(write(tmp_path, site__toml=priced("bore = -1\ntee = 5\nno-room = 'x'\n")))
    assert [line.split(":")[1] for line in found] == ["20", "22"]


def test_rates_that_are_no_table(tmp_path: Path) -> None:
    only_fault(write(tmp_path, site__toml='rates = "cheap"\n' + SITE_TOML), "site.toml:1:", "a table [rates]")


def dug(text: str) -> str:
    return changed(SITE_TOML, "entered", text + "\nentered")


def test_the_digging_that_prices_go_by(tmp_path: Path) -> None:
    digging = read(tmp_path, SITE_TOML).digging
    assert (digging.ground, digging.steepest, digging.bore) == ("lawn", None, True)
    assert (digging.longest_bore_m, digging.least_crossing_angle_deg) == (pytest.approx(60 * 0.3048), 45.0)
    keys = 'ground = "field"\nsteepest = "40 %"\nbore = false\nlongest_bore = "20 ft"\nleast_crossing_angle = "60 deg"'
    digging = read(tmp_path, dug(keys)).digging
    assert (digging.ground, digging.steepest, digging.bore) == ("field", pytest.approx(0.4), False)
    assert (digging.longest_bore_m, digging.least_crossing_angle_deg) == (pytest.approx(6.096), 60.0)


BAD_DIGGING = {
    "ground of another sort": (
        'ground = "asphalt"',
        ["[digging] ground:", '"asphalt"', "'lawn', 'field' or"],
    ),
    "slope without unit": ('steepest = "40"', ["[digging] steepest:", "no unit", '"40 %"']),
    "slope as a number": ("steepest = 0.4", ["[digging] steepest:", "0.4, which has no unit"]),
    "slope in degrees": ('steepest = "20 deg"', ["[digging] steepest:", '"deg"', "a slope"]),
    "flat": ('steepest = "0 %"', ["[digging] steepest:", '"0 %"', "1 % to 200 %"]),
    "bore as a text": ('bore = "no"', ["[digging] bore:", '"no"']),
    "bare length": ("longest_bore = 60", ["[digging] longest_bore:", "60, which has no unit"]),
    "more than square": (
        'least_crossing_angle = "95 deg"',
        ["[digging] least_crossing_angle:", "0 to 90 deg"],
    ),
    "negative angle": ('least_crossing_angle = "-5 deg"', ["[digging] least_crossing_angle:", "negative"]),
}


@pytest.mark.parametrize("case", BAD_DIGGING)
def test_bad_digging_is_one_line(tmp_path: Path, case: str) -> None:
    text, parts = BAD_DIGGING[case]
    only_fault(write(tmp_path, site__toml=dug(text)), "site.toml:10:", *parts)


def test_the_schema_knows_every_row_and_no_other() -> None:
    jsonschema = pytest.importorskip("jsonschema")
    schema = site_schema()
    table = schema["$defs"]["RatesTable"]
    assert set(table["properties"]) == {"currency", "per", *ROWS}
    validator = jsonschema.Draft202012Validator({"$defs": schema["$defs"], "$ref": "#/$defs/RatesTable"})
    assert validator.is_valid({"currency": "$", "bore": [1, 2, 3], "tee": 5})
    for slip in ({"boar": 5}, {"bore": "5"}, {"bore": [1, 2]}, {"bore": -1}, {"per": "yd"}):
        assert not validator.is_valid(slip), slip
