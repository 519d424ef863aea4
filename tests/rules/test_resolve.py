"""Rules against the facts of a site: overrides, what nobody looked for, separations."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from rules_scenes import feature, line, override, site, write_layer

from siteplan.errors import InputFaults
from siteplan.rules import explain, load_stack, resolve
from siteplan.site.features import Feature
from siteplan.units import parse_length

WELL = feature("well", "well", casing_depth="62 ft")
HOUSE = feature("house", "building", dwelling=True)
WATER = line("water", "water")
POWER = line("power", "electric", volts="240 V", amps="20 A", gfci=False)


def _faults(**of_site: object) -> list[str]:
    with pytest.raises(InputFaults) as caught:
        resolve(load_stack("us/mt"), site(WELL, **of_site))  # type: ignore[arg-type]
    return [str(fault) for fault in caught.value.faults]


def test_override_prints_its_reason_and_governs() -> None:
    place = site(
        WELL,
        feature("field", "absorption_area"),
        overrides=(override("us-mt-well-drainfield", distance="80 ft", reason="variance 2026-114 granted"),),
    )
    needs = resolve(load_stack("us/mt"), place)
    (changed,) = [one for one in needs.setbacks if one.citation.standing == "site"]
    assert (str(changed.least), changed.citation.layer, changed.citation.note) == (
        "80 ft",
        "site",
        "variance 2026-114 granted",
    )
    assert changed.citation.text == "site override of ARM 36.21.638(1)(b)"
    assert needs.overridden == (changed.citation,)
    assert changed.citation not in needs.unconfirmed


@pytest.mark.parametrize(
    ("one", "words"),
    [
        (override("us-mt-well-drainfeld", distance="80 ft"), 'did you mean "us-mt-well-drainfield"?'),
        (override("us-mt-well-drainfield", distnce="80 ft"), 'did you mean "distance"?'),
        (override("us-mt-well-drainfield", distance=80.0), "expected a length with its unit"),
        (override("us-mt-well-drainfield", distance="80"), "which has no unit"),
        (override("us-mt-well-drainfield"), "found no number"),
        (override("us-mt-well-drainfield", reason=" ", distance="80 ft"), "found no reason"),
        (override("us-mt-well-drainfield", status="verified"), 'unknown key "status"'),
        (override("us-nec-300-5-yard", pvc="12 in"), "one of direct_burial, rigid_metal_conduit"),
        (override("us-mt-upc-609-1", fixed="60 in", least="50 in"), "none or several forms of cover"),
    ],
)
def test_override_that_does_not_fit_names_its_line(one: object, words: str) -> None:
    faults = _faults(overrides=(one,))
    assert all(fault.startswith("site.toml:40: override of ") for fault in faults)
    assert any(words in fault for fault in faults), faults


def test_overrides_of_cover_and_conduit() -> None:
    place = site(
        WELL,
        HOUSE,
        lines=(WATER, POWER),
        overrides=(
            override("us-mt-upc-609-1", fixed="72 in"),
            override("us-frost", depth="40 in"),
            override("us-nec-300-5-yard", nonmetallic_raceway="24 in"),
        ),
    )
    needs = resolve(load_stack("us/mt"), place)
    water, power = needs.cover("water", "yard"), needs.cover("power", "yard")
    assert (water.least_m, water.form) == (pytest.approx(parse_length("72 in")), "fixed 72 in")
    assert power.least_m == pytest.approx(parse_length("24 in"))
    assert [one.row for one in needs.overridden] == ["us-nec-300-5-yard", "us-frost", "us-mt-upc-609-1"]


def test_site_fact_of_the_wrong_sort_is_a_fault() -> None:
    assert _faults(facts={"subdivision": "no"}) == [
        'site.toml: facts.subdivision: found "no", expected true or false'
    ]


def test_site_fact_one_letter_off_is_a_fault_but_a_strange_one_is_not() -> None:
    (fault,) = _faults(facts={"subdivison": False})
    assert 'did you mean "subdivision"?' in fault
    resolve(load_stack("us/mt"), site(WELL, facts={"subdivision": False, "altitude": 3.0}))


def test_what_nobody_looked_for_is_named_once_with_the_strictest_row() -> None:
    place = site(WELL, feature("parcel", "parcel"), facts={"subdivision": False}, looked={"cesspool": "none"})
    unlooked = {kind: citation.row for kind, citation in resolve(load_stack("us/mt"), place).unlooked}
    assert unlooked["absorption_area"] == "us-mt-well-drainfield"
    assert unlooked["fuel_tank"] == "us-cdc-well-fuel"
    assert unlooked["septic_tank"] in ("us-cdc-well-septic", "us-mt-well-septic-tank")
    assert not {"cesspool", "parcel", "property_line"} & set(unlooked), "looked for, or drawn"
    assert not {"pond", "stream", "floodplain", "stormwater", "holding_tank"} & set(unlooked), (
        "subdivisions only"
    )


def test_rows_for_subdivisions_name_kinds_where_it_may_be_one() -> None:
    for facts in ({}, {"subdivision": True}):
        unlooked = dict(resolve(load_stack("us/mt"), site(WELL, facts=facts)).unlooked)
        assert {"pond", "stream", "floodplain", "stormwater", "parcel"} <= set(unlooked)


def test_every_well_is_measured() -> None:
    place = site(WELL, feature("old", "well"), feature("tank", "septic_tank"), facts={"subdivision": False})
    subjects = {one.of for one in resolve(load_stack("us/mt"), place).setbacks if one.applies}
    assert subjects == {"well", "old"}


def test_water_line_keeps_10_ft_from_sewage() -> None:
    place = site(
        WELL, HOUSE, feature("tank", "septic_tank"), lines=(WATER, POWER), facts={"subdivision": False}
    )
    (one,) = [s for s in resolve(load_stack("us/mt"), place).setbacks if s.subject == "line" and s.applies]
    assert (one.of, one.to, str(one.least), one.citation.standing) == ("water", "tank", "10 ft", "memory")


def _separation(*buried: Feature, rules: str = "us") -> dict[tuple[str, str], tuple[object, ...]]:
    place = site(WELL, HOUSE, *buried, lines=(WATER, POWER), rules=rules)
    return {
        (one.of, one.to): (one.beside_m, one.crossing_m, one.over, one.may_share, one.citation.row)
        for one in resolve(load_stack(rules), place).separations
    }


def test_separations() -> None:
    found = _separation(feature("sewer", "building_sewer"), feature("gas", "buried_line", carries="propane"))
    assert found["water", "power"] == (0.3048, 0.3048, None, True, "us-water-electric")
    assert found["water", "sewer"] == (1.524, 0.3048, True, False, "us-ipc-603-2")
    assert found["power", "gas"] == (0.6096, 0.3048, None, False, "us-electric-gas")
    assert found["water", "gas"] == (0.3048, 0.3048, None, False, "us-water-gas")


def test_line_of_which_nobody_says_what_it_carries_gets_the_strictest_row() -> None:
    beside, _, over, may_share, _ = _separation(feature("what", "buried_line"))["water", "what"]
    assert (beside, over, may_share) == (pytest.approx(3.048), None, False)
    assert _separation(feature("what", "buried_line", carries="slurry"))["water", "what"][0] == beside


def test_lines_of_two_wells_or_communications_are_known_too() -> None:
    stack = load_stack("us")
    place = site(WELL, HOUSE, lines=(WATER, line("phone", "communications")))
    needs = resolve(stack, place)
    assert needs.cover("phone", "yard").citation.text == "common practice, no source"
    separation = needs.separation("phone", "water")
    assert separation is not None
    assert separation.may_share


def test_method_without_a_row_asks() -> None:
    strange = replace(POWER, method="armoured_cable")
    cover = resolve(load_stack("us"), site(WELL, HOUSE, lines=(strange,))).cover("power", "yard")
    assert cover.least_m is None
    assert cover.form == "no row for armoured_cable under yard: ask"


def test_casing_height_of_montana_is_not_confirmed() -> None:
    needs = resolve(load_stack("us/mt"), site(WELL))
    assert needs.wellhead is not None
    assert needs.wellhead.casing_height.metres == pytest.approx(parse_length("18 in"))
    assert needs.wellhead.citation in needs.unconfirmed


def test_rules_without_the_numbers_of_a_trench_name_what_lacks(tmp_path: Path) -> None:
    write_layer(tmp_path, "xx", "")
    with pytest.raises(InputFaults) as caught:
        resolve(load_stack("xx", tmp_path), site(WELL))
    found = [fault.found for fault in caught.value.faults]
    assert "no trench row for egress_depth" in found
    assert "no locate zone" in found
    assert "no bend limit" in found


def test_stricter_state_number_governs_and_confidence_is_the_most_local(tmp_path: Path) -> None:
    us = (Path(__file__).parents[2] / "layers" / "us" / "rules.toml").read_text(encoding="utf-8")
    (tmp_path / "us").mkdir()
    (tmp_path / "us" / "rules.toml").write_text(us, encoding="utf-8")
    head = '[layer]\ntitle = "T"\nauthority = "A"\ncovers = "C"\nconfidence = 0.9\n'
    rows = """
    [[trench]]
    id = "us-wa-protection"
    what = "protection_depth"
    distance = "4 ft"
    SOURCE
    """
    write_layer(tmp_path, "us/wa", rows, head)
    needs = resolve(load_stack("us/wa", tmp_path), site(WELL))
    assert needs.trench.protection_depth_m.citation.row == "us-wa-protection"
    assert needs.trench.protection_depth_m.value == pytest.approx(1.2192)
    assert needs.confidence == 0.9


def test_explain_tells_the_chain() -> None:
    place = site(
        WELL, HOUSE, feature("sewer", "building_sewer"), lines=(WATER,), facts={"subdivision": False}
    )
    stack = load_stack("us/mt")
    text = explain(stack, place, "well", "building_sewer")
    assert "50 ft from the casing edge to the nearest edge: governs" in text
    assert "not stated: hazard.watertight" in text
    assert "permanent watertight joints: 10 ft" in text
    assert "ARM 36.21.638(2)(c)" in text
    assert "gives no number" in explain(stack, place, "well", "house")
    assert "water passes over sewer" in explain(stack, place, "water", "sewer")
    with pytest.raises(InputFaults, match='did you mean "well"'):
        explain(stack, place, "wel", "sewer")
