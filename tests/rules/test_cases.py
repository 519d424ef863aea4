"""The cases of ``tests/cases/rules``: given facts, the required number and the row that governs; every layer has one."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest
import test_setbacks
from rules_scenes import feature, line, override, site

from siteplan.read.facts import parse_fact
from siteplan.rules import load_stack, resolve
from siteplan.rules.model import Setback, Unmeasured
from siteplan.rules.setbacks import ranked
from siteplan.site.catalogue import layers_folder
from siteplan.site.features import Feature
from siteplan.units import parse_length

CASES = Path(__file__).parents[1] / "cases" / "rules"
GIVEN = {"name", "stack", "well", "hazard", "others", "line", "site"}
EXPECTED = {
    *("distance", "row", "force", "standing", "approvable", "multiplied", "prohibit", "unmeasured"),
    *("missing", "either", "not_applicable", "measured", "meets", "meets_50_ft", "holds"),
}
KEYS = GIVEN | EXPECTED
"""As tests/cases/rules/README.md tells them."""
FILES = {
    path.relative_to(folder).with_suffix("").as_posix(): tomllib.loads(path.read_text(encoding="utf-8"))
    for folder in (CASES, CASES.parent)
    for path in sorted(folder.glob("*.toml") if folder == CASES else folder.glob("clock/*.toml"))
}
TABLES = ("setback", "cover", "separation", "locate", "wellhead", "case")

TRAPS: dict[str, list[tuple[str, str]]] = {
    "selective doubling": [
        ("us-mn", "a sensitive well and a small drainfield: 50 ft twice, and 80 ft is short"),
        ("us-mn", "a sensitive well and a septic tank: not doubled"),
    ],
    "adding tanks": [
        ("us-ak", "one oil tank of 300 gal above ground: exempt, federal advice remains"),
        (
            "us-ak",
            "two tanks of 300 gal above ground: 600 gal together are more than 500, so the state's 25 ft hold "
            "beside the advice",
        ),
        ("us-ak", "propane of any size: no row holds"),
        (
            "us-mn",
            "two oil tanks of 300 gal apart from each other are not added: each asks 20 ft, advice 100 ft",
        ),
    ],
    "exactly at the number, and whose flow": [
        ("us-id", "a drainfield of exactly 2,500 gal a day: 100 ft"),
        ("us-id", "a drainfield of 2,501 gal a day: 300 ft"),
        ("test_setbacks", "test_trap_3_the_operator_is_exact"),
        ("test_setbacks", "test_trap_3_the_flow_is_that_of_the_facility"),
    ],
    "not on the ground, or no longer used": [
        ("ca-on", "a bed not built but permitted counts"),
        ("us-wa", "a drainfield approved but not built counts: 100 ft"),
        ("test_setbacks", "test_trap_4_an_abandoned_source_counts_until_it_is_cleaned_out"),
    ],
    "the maximum is not universal": [
        ("us-mi", "Washtenaw: 100 ft to a field stand above the 50 ft of the state"),
        ("test_setbacks", "test_trap_5_preempted_rows_count_for_nothing_and_are_told"),
    ],
    "a reduction is not a pass": [
        (
            "us-nj",
            "a field at 60 ft from a well cased to 100 ft: 100 ft, and only an authority may grant down to 50",
        ),
        ("us-nh", "a property line: 75 ft, less by the owner's release; 60 ft is not met"),
    ],
    "240 V in PVC": [
        ("us", "a 240 V pump in PVC, open yard: 18 in, the 12 in column needs 120 V or less"),
        ("us", "the same pump on direct-burial cable: 24 in"),
    ],
    "rigid conduit across the drive": [
        ("us", "rigid metal conduit across the house drive: 18 in, not 6"),
        ("us", "rigid metal conduit under a road: 24 in"),
    ],
    "frost depth is not trench depth": [
        ("us", "frost 42 in under the model form of the IPC: 48 in of cover"),
        ("us-mn", "frost 42 in: 12 in below it, 54 in"),
    ],
    "a call before Thanksgiving": [
        (
            "clock/hours",
            "Ohio over Thanksgiving: 9 hours on Wednesday, 24 on Friday, 15 on Monday (Friday is no legal holiday)",
        ),
        (
            "clock/days",
            "Florida over Thanksgiving: Thursday and Friday are holidays, Monday and Tuesday the two full days",
        ),
    ],
    "the zone is the width plus 18 in": [
        (
            "us-oh",
            "a 12 in main, paint on its centreline: 24 in to each side, for the zone is the width plus 18 in",
        ),
    ],
    "every operator answers clear": [
        ("us-oh", "every operator answers clear: private lines are not marked"),
    ],
}
"""The twelve traps of the two trade studies, and the cases that hold them; of states without a layer, tests of small rows."""


def _named(table: str) -> list[tuple[str, dict[str, Any]]]:
    return [(name, case) for name, data in FILES.items() for case in data.get(table, [])]


def _cases(table: str) -> list[Any]:
    return [pytest.param(case, id=f"{name}: {case['name']}") for name, case in _named(table)]


LAYERS = sorted(
    path.parent.relative_to(layers_folder()).as_posix() for path in layers_folder().rglob("rules.toml")
)


@pytest.mark.parametrize("layer", LAYERS)
def test_every_layer_has_a_case(layer: str) -> None:
    assert layer in {case.get("stack") for table in TABLES for _, case in _named(table)}


@pytest.mark.parametrize("trap", TRAPS)
def test_every_trap_is_among_the_cases(trap: str) -> None:
    names = {(name, case["name"]) for table in TABLES for name, case in _named(table)}
    names |= {("test_setbacks", name) for name in vars(test_setbacks)}
    assert set(TRAPS[trap]) <= names


def _thing(name: str, stated: dict[str, Any]) -> Feature:
    facts = {key: value for key, value in stated.items() if key not in ("kind", "status")}
    return feature(name, stated["kind"], stated.get("status", "existing"), **facts)


def _pair(case: dict[str, Any]) -> tuple[list[Setback], list[Unmeasured]]:
    """What the rules ask of the well, or of the line if the case has one, against the hazard."""
    stack = load_stack(case["stack"])
    well = _thing("well", {"kind": "well", **case.get("well", {})})
    hazard = _thing("hazard", case["hazard"])
    others = [_thing(f"other-{number}", one) for number, one in enumerate(case.get("others", []))]
    lines = (line("line", **case["line"]),) if "line" in case else ()
    facts = {name: parse_fact(value, stack.site_facts[name]) for name, value in case.get("site", {}).items()}
    needs = resolve(stack, site(well, hazard, *others, lines=lines, rules=case["stack"], facts=facts))
    subject = "line" if lines else "well"
    found = [one for one in needs.setbacks if (one.of, one.to) == (subject, "hazard")]
    return found, [one for one in needs.unmeasured if (one.of, one.to) == (subject, "hazard")]


@pytest.mark.parametrize("case", _cases("setback"))
def test_setback(case: dict[str, Any]) -> None:
    assert set(case) <= KEYS, sorted(set(case) - KEYS)
    found, words_only = _pair(case)
    absent = {one.citation.row for one in (*found, *words_only) if not one.applies}
    assert set(case.get("not_applicable", [])) <= absent
    assert all(one.because for one in (*found, *words_only) if not one.applies)
    said = [one for one in words_only if one.applies]
    if "unmeasured" in case:
        assert bool(said) is case["unmeasured"]
    governing = ranked(found)
    beside = [[one.citation.row, str(one.least)] for one in governing[1:]]
    assert [row for row in case.get("holds", []) if row not in beside] == []
    if case.get("distance", "none") == "none":
        assert [(str(one.least), one.citation.row) for one in governing if not one.prohibit] == []
        if "row" in case:
            holding = (*said, *(one for one in governing if one.prohibit))
            assert case["row"] in [one.citation.row for one in holding]
            assert set(case.get("missing", [])) == {fact for one in holding for fact in one.missing}
        assert any(one.prohibit for one in governing) is case.get("prohibit", False)
        return
    first = governing[0]
    assert (str(first.least), first.citation.row) == (case["distance"], case["row"])
    assert list(first.missing) == case.get("missing", [])
    if "either" in case or not first.missing:
        assert [[words, str(least or "")] for words, least in first.either] == case.get("either", [])
    assert first.citation.force == case.get("force", first.citation.force)
    assert first.citation.standing == case.get("standing", first.citation.standing)
    assert str(first.approvable or "none") == case.get("approvable", "none")
    assert list(first.multiplied) == case.get("multiplied", [])
    assert any(one.prohibit for one in governing) is case.get("prohibit", False)
    if "measured" in case:
        measured = parse_length(case["measured"])
        assert (measured >= first.least.metres) is case["meets"]
        if "meets_50_ft" in case:
            assert (measured >= parse_length("50 ft")) is case["meets_50_ft"]


@pytest.mark.parametrize("case", _cases("cover"))
def test_cover(case: dict[str, Any]) -> None:
    overrides = (override("us-frost", depth=case["frost"]),) if "frost" in case else ()
    one = line("line", **case["line"])
    place = site(feature("well", "well"), lines=(one,), rules=case["stack"], overrides=overrides)
    cover = resolve(load_stack(case["stack"]), place).cover("line", case["surface"])
    assert cover.citation.row == case["row"]
    assert case.get("form_says", "") in cover.form
    if "cover" in case:
        assert cover.least_m == pytest.approx(parse_length(case["cover"]))
    else:
        assert cover.least_m is None


@pytest.mark.parametrize("case", _cases("separation"))
def test_separation(case: dict[str, Any]) -> None:
    one, other = line("line", **case["line"]), _thing("other", case["other"])
    place = site(feature("well", "well"), other, lines=(one,), rules=case["stack"])
    separation = resolve(load_stack(case["stack"]), place).separation("line", "other")
    assert separation is not None
    assert separation.citation.row == case["row"]
    assert separation.beside_m == pytest.approx(parse_length(case["beside"]))
    assert separation.may_share is case["may_share"]
    assert set(case.get("holds", [])) <= {citation.row for citation in separation.also}


@pytest.mark.parametrize("case", _cases("locate"))
def test_locate(case: dict[str, Any]) -> None:
    locate = resolve(load_stack(case["stack"]), site(feature("well", "well"), rules=case["stack"])).locate
    if "each_side" in case:
        each_side_m = parse_length(case["outside"]) / 2 + locate.tolerance_m.value
        assert each_side_m == pytest.approx(parse_length(case["each_side"]))
        assert locate.tolerance_m.citation.row == case["row"]
    else:
        assert locate.citation.row == case["row"]
        assert case["note_says"] in locate.citation.note


@pytest.mark.parametrize("case", _cases("wellhead"))
def test_wellhead(case: dict[str, Any]) -> None:
    needs = resolve(load_stack(case["stack"]), site(feature("well", "well"), rules=case["stack"]))
    head = needs.wellhead
    if head is None:
        assert set(case) == {"name", "stack"}
        return
    assert (str(head.casing_height), head.citation.row) == (case["casing_height"], case["row"])
    assert str(head.above_flood or "none") == case.get("above_flood", "none")
    assert head.citation.force == case.get("force", "required")
    assert head.citation.standing == case.get("standing", head.citation.standing)
    assert case.get("note_says", "") in head.citation.note
    assert (head.citation in needs.unconfirmed) is not head.citation.confirmed
