"""Texts that a site states and no condition knows are told; and facts print in the unit of the rule."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from rules_scenes import BASE, HEAD, feature, line, setback, site, when, write_layer

from siteplan.rules import explain_all, load_stack, resolve
from siteplan.rules.stack import Stack


def _row(far: str, test: str, kind: str = "septic_tank", start: str = "well") -> str:
    body = f'distance = "{far}"\ngroup = "g"\nwhen = [{test}]'
    return setback(f"xx-{kind.replace('_', '-')}-{far.partition(' ')[0]}", body, kind, start)


IRON = _row("10 ft", when("hazard.material", "in", '["cast iron", "ductile iron"]'), "building_sewer")
PUBLIC = _row("100 ft", when("well.class", "==", '"Public"'))


def _stack(folder: Path, rows: str, head: str = HEAD) -> Stack:
    write_layer(folder, "xx", BASE + rows, head)
    return load_stack("xx", folder)


def _warnings(stack: Stack, sewer: dict[str, Any], **well: Any) -> tuple[str, ...]:
    place = site(feature("well", "well", **well), feature("sewer", "building_sewer", **sewer))
    return resolve(stack, place).warnings


@pytest.mark.parametrize("text", ["cast iron", "Cast Iron", "DUCTILE IRON"])
def test_case_does_not_matter(tmp_path: Path, text: str) -> None:
    stack = _stack(tmp_path, IRON)
    place = site(feature("well", "well"), feature("sewer", "building_sewer", material=text))
    needs = resolve(stack, place)
    assert needs.warnings == ()
    assert [one.applies for one in needs.setbacks] == [True]


def test_a_text_that_no_condition_knows_is_told_with_those_that_it_knows(tmp_path: Path) -> None:
    stack = _stack(tmp_path, IRON + PUBLIC)
    assert _warnings(stack, {"material": "cast irn"}, **{"class": "publik"}) == (
        'well (well): class "publik" is no text that the rules xx test; they know public: did you mean "public"?',
        'sewer (building sewer): material "cast irn" is no text that the rules xx test; they know cast iron, '
        'ductile iron: did you mean "cast iron"?',
    )
    place = site(feature("well", "well"), feature("sewer", "building_sewer", material="clay"))
    assert 'material "clay" is no text' in explain_all(stack, place)
    assert not resolve(stack, place).outside


def test_a_text_that_no_condition_tests_is_not_told(tmp_path: Path) -> None:
    stack = _stack(tmp_path, IRON)
    assert _warnings(stack, {"use": "anything"}, **{"class": "publik"}) == ()
    tank = feature("tank", "septic_tank", material="glass")
    assert resolve(stack, site(feature("well", "well"), tank)).warnings == (), "no row tests it of a tank"


def test_texts_of_sums_of_the_whole_site_and_of_what_a_line_carries(tmp_path: Path) -> None:
    rows = setback(
        "xx-fuel",
        'distance = "25 ft"\nsum_of = { fact = "hazard.capacity", over = ['
        + when("hazard.product", "!=", '"propane"')
        + "] }\nwhen = ["
        + when("sum.capacity", ">", '"500 gal"')
        + ", "
        + when("site.zone", "==", '"rural"')
        + "]",
        "fuel_tank",
    ) + _row("5 ft", when("hazard.carries", "==", '"gas"'), "buried_line")
    stack = _stack(tmp_path, rows, HEAD + 'site_facts = { zone = "text" }\n')
    things = [
        feature("tank", "fuel_tank", product="propan"),
        feature("wire", "buried_line", carries="electric"),
        feature("what", "buried_line", carries="slurry"),
    ]
    told = resolve(stack, site(feature("well", "well"), *things, facts={"zone": "Rurall"})).warnings
    assert [words.partition(" is no")[0] for words in told] == [
        'tank (fuel tank): product "propan"',
        'what (buried line): carries "slurry"',
        'the whole site: zone "Rurall"',
    ]


def test_a_volume_prints_in_the_unit_of_the_rule(tmp_path: Path) -> None:
    stack = _stack(tmp_path, _row("25 ft", when("hazard.capacity", ">", '"500 gal"'), "fuel_tank"))
    for capacity, words in (
        ("300 gal", "capacity 300 gal (the rule says more than 500 gal)"),
        ("1000 gal", "capacity 1000 gal (more than 500 gal)"),
        ("2000 L", "capacity 528.34 gal (more than 500 gal)"),
    ):
        place = site(feature("well", "well"), feature("tank", "fuel_tank", capacity=capacity))
        (one,) = resolve(stack, place).setbacks
        assert one.because == (words,)


def test_a_row_of_a_line_may_test_the_well_that_the_line_comes_from(tmp_path: Path) -> None:
    """N.J.A.C. 7:9A-4.3 footnote 4 hangs on the casing of the well; the distances here are made up."""
    rows = "".join(
        _row(far, when("well.casing_depth", op, '"50 ft"'), "absorption_area", "line:water")
        for far, op in (("50 ft", ">="), ("100 ft", "<"))
    )
    stack = _stack(tmp_path, rows)
    for casing, expected in (({"casing_depth": "60 ft"}, "50 ft"), ({"casing_depth": "40 ft"}, "100 ft")):
        place = site(
            feature("well", "well", **casing),
            feature("old", "well", casing_depth="1 ft"),
            feature("house", "building"),
            feature("field", "absorption_area"),
            lines=(line("water", "water"),),
        )
        assert [str(one.least) for one in resolve(stack, place).setbacks if one.applies] == [expected]
    place = site(
        feature("well", "well"), feature("field", "absorption_area"), lines=(line("water", "water"),)
    )
    (one,) = resolve(stack, place).setbacks
    assert (str(one.least), one.missing) == ("100 ft", ("well.casing_depth",))


def test_a_surface_of_an_unknown_material_is_told_with_what_it_is_priced_as(tmp_path: Path) -> None:
    stack = _stack(tmp_path, IRON)
    well = feature("well", "well")
    ways = [feature("way", "drive", surface=text) for text in ("Gravel", "blacktop", "gravl", "moon dust")]
    assert [resolve(stack, site(well, way)).warnings for way in ways] == [
        (),
        (),
        (
            'way: surface "gravl" is no material of layers/materials.toml; it is priced as gravel: did you mean "gravel"?',
        ),
        ('way: surface "moon dust" is no material of layers/materials.toml; it is priced as gravel',),
    ]
