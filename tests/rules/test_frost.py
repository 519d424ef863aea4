"""The computed frost depth beside the adopted one, in the form of a cover."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rules_scenes import feature, line, override, site

from siteplan.rules import load_stack, resolve
from siteplan.rules.frost import berggren_coefficient, computed_frost, frost_under, frost_used, frost_words
from siteplan.rules.model import Cover, Requirements
from siteplan.site.features import Source
from siteplan.site.frost import FrostInputs, most_water_percent
from siteplan.units import Length, Printer, parse_length

MILD = FrostInputs(
    freezing_index_c_days=500.0,
    mean_annual_c=9.0,
    season_days=100.0,
    n_factor=0.5,
    surface="turf, snow left lying",
    soil="silt-clay",
    dry_density_kg_m3=1600.0,
    water_percent=15.0,
    source=Source(file="site.toml"),
)
HARD = replace(MILD, freezing_index_c_days=2000.0, mean_annual_c=3.0, season_days=170.0, n_factor=0.9)

winters = st.builds(
    FrostInputs,
    freezing_index_c_days=st.floats(6, 3000),
    mean_annual_c=st.floats(0.1, 20),
    season_days=st.floats(80, 300),
    n_factor=st.floats(0.1, 1),
    surface=st.just("as stated"),
    soil=st.just("silt-clay"),
    dry_density_kg_m3=st.floats(1200, 1600),
    water_percent=st.floats(7, 25),
    source=st.just(Source(file="site.toml")),
)
more = st.floats(1.001, 1.5)


def _needs(rules: str, frost: FrostInputs | None, adopted: str = "") -> Requirements:
    place = site(
        feature("well", "well"),
        lines=(line("water", "water"),),
        rules=rules,
        overrides=(override("us-frost", depth=adopted),) if adopted else (),
    )
    return resolve(load_stack(rules), replace(place, frost=frost))


def _cover(rules: str, frost: FrostInputs | None, surface: str = "yard") -> Cover:
    return _needs(rules, frost).cover("water", surface)


@given(winters, more)
def test_a_harder_winter_freezes_deeper(one: FrostInputs, factor: float) -> None:
    harder = replace(one, freezing_index_c_days=one.freezing_index_c_days * factor)
    assert computed_frost(harder).depth_m > computed_frost(one).depth_m


@given(winters, more)
def test_a_barer_surface_freezes_deeper(one: FrostInputs, factor: float) -> None:
    barer = replace(one, n_factor=one.n_factor * factor)
    assert computed_frost(barer).depth_m > computed_frost(one).depth_m


@given(winters, more)
def test_a_warmer_year_freezes_shallower(one: FrostInputs, factor: float) -> None:
    warmer = replace(one, mean_annual_c=one.mean_annual_c * factor)
    assert computed_frost(warmer).depth_m < computed_frost(one).depth_m


@given(winters)
def test_never_past_the_stefan_depth(one: FrostInputs) -> None:
    found = computed_frost(one)
    assert 0 < found.depth_m <= found.stefan_m
    assert found.depth_m == pytest.approx(found.coefficient * found.stefan_m)


@given(st.floats(0, 50), st.floats(1e-4, 6), more)
def test_coefficient_falls_with_both_of_its_numbers(alpha: float, mu: float, factor: float) -> None:
    one = berggren_coefficient(alpha, mu)
    assert 0 < one <= 1
    assert berggren_coefficient(alpha * factor + 0.001, mu) < one
    assert berggren_coefficient(alpha, mu * factor) < one


@pytest.mark.parametrize(("alpha", "mu"), [(-0.1, 0.2), (0.3, 0.0), (0.3, 11.0), (float("nan"), 0.2)])
def test_coefficient_out_of_range(alpha: float, mu: float) -> None:
    with pytest.raises(ValueError, match="no coefficient"):
        berggren_coefficient(alpha, mu)


@given(winters, st.sampled_from(["in", "ft", "m", "cm", "mm"]), st.floats(0.1, 3))
def test_a_computed_depth_never_undercuts_an_adopted_one(
    one: FrostInputs, unit: str, adopted_m: float
) -> None:
    adopted = Length(adopted_m / Length(1, unit).metres, unit)  # type: ignore[arg-type]
    computed = computed_frost(one)
    depth, _ = frost_used(adopted, computed, "in")
    assert depth is not None
    assert depth.metres >= max(adopted.metres, computed.depth_m) - 1e-9
    assert depth == adopted or depth.metres < computed.depth_m + 0.0305


def test_adopted_depth_governs_a_shallower_computed_one() -> None:
    plain, cover = _cover("us/mt/helena", None), _cover("us/mt/helena", MILD)
    depth = computed_frost(MILD).rounded_up("in")
    assert depth.value < 42
    assert cover.least_m == plain.least_m == parse_length("54 in")
    assert cover.form == f"max(frost 42 in adopted (computed {depth}) + 12 in, 12 in) = 54 in"
    assert plain.form == "max(frost 42 in + 12 in, 12 in) = 54 in"


def test_deeper_computed_depth_governs_and_prints_unconfirmed() -> None:
    needs = _needs("us/mt/helena", HARD)
    cover = needs.cover("water", "yard")
    depth = computed_frost(HARD).rounded_up("in")
    assert depth.value > 42
    assert cover.least_m == pytest.approx((depth.value + 12) * 0.0254)
    assert cover.form.startswith(f"max(frost {depth} computed (adopted 42 in) + 12 in, 12 in)")
    assert "computed-frost" in {one.row for one in cover.also}
    assert "computed-frost" in {one.row for one in needs.unconfirmed}


def test_without_an_adopted_depth_the_computed_one_stands_and_says_so() -> None:
    assert _cover("us", None).least_m is None
    cover = _cover("us", HARD)
    depth = computed_frost(HARD).rounded_up("in")
    assert cover.least_m == pytest.approx((depth.value + 6) * 0.0254)
    assert f"frost {depth} computed (none adopted)" in cover.form


def test_no_row_of_computed_frost_where_none_is_computed() -> None:
    needs = _needs("us", None, adopted="40 in")
    assert "computed-frost" not in {one.row for cover in needs.covers for one in cover.also}


def test_frost_goes_deeper_under_a_drive_than_under_turf() -> None:
    assert frost_under(MILD, "yard").depth_m == computed_frost(MILD).depth_m
    for paved in ("dwelling_drive", "road", "slab"):
        assert frost_under(MILD, paved).inputs.n_factor == 0.75
        assert frost_under(MILD, paved).depth_m > frost_under(MILD, "yard").depth_m
        assert frost_under(HARD, paved) == computed_frost(HARD)
    assert (_cover("us", MILD, "dwelling_drive").least_m or 0) > (_cover("us", MILD).least_m or 0)


@pytest.mark.parametrize(
    ("unit", "step"), [("in", 0.0254), ("ft", 0.03048), ("m", 0.01), ("cm", 0.01), ("mm", 0.01)]
)
def test_rounded_up_to_a_step_of_the_tape(unit: str, step: float) -> None:
    computed = computed_frost(HARD)
    depth = computed.rounded_up(unit)  # type: ignore[arg-type]
    assert computed.depth_m <= depth.metres < computed.depth_m + step
    assert depth.metres / step == pytest.approx(round(depth.metres / step))
    assert replace(computed, depth_m=40 * 0.0254).rounded_up("in") == Length(40, "in")


def test_words_print_every_input_in_the_units_of_the_sheet() -> None:
    feet, metres = ("\n".join(frost_words(computed_frost(MILD), Printer(system))) for system in ("ft", "m"))
    for words in (
        "900 F-days",
        "100 days",
        "48.2 °F",
        "n-factor 0.5",
        "turf, snow left lying",
        "100 pcf",
        "15 %",
    ):
        assert words in feet
    for words in ("500 C-days", "9 °C", "1600 kg/m³", "W/(m K)", "MJ/m³", "Kersten", "2.5 °C below freezing"):
        assert words in metres
    assert "none for insulation unless the rules grant it" in feet
    assert "never lessens an adopted one" in feet


def test_full_pores() -> None:
    """Half a cubic metre of grains of 2750 kg/m3 leaves room for 500 kg of water."""
    assert most_water_percent(1375) == pytest.approx(100 * 500 / 1375)
