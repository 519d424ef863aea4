"""The cases of ``tests/cases/rules``: given facts, the required number and the row that governs."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest
from rules_scenes import feature, line, override, site

from siteplan.read.facts import parse_fact
from siteplan.rules import load_stack, resolve
from siteplan.rules.model import Setback, Unmeasured
from siteplan.rules.setbacks import ranked
from siteplan.site.features import Feature
from siteplan.units import parse_length

CASES = Path(__file__).parents[1] / "cases" / "rules"
GIVEN = {"name", "stack", "well", "hazard", "others", "line", "site"}
EXPECTED = {
    *("distance", "row", "force", "standing", "approvable", "multiplied", "prohibit", "unmeasured"),
    *("missing", "either", "not_applicable", "measured", "meets", "meets_50_ft"),
}
KEYS = GIVEN | EXPECTED
"""As tests/cases/rules/README.md tells them."""


def _cases(table: str) -> list[Any]:
    files = {
        path.stem: tomllib.loads(path.read_text(encoding="utf-8")) for path in sorted(CASES.glob("*.toml"))
    }
    found = [(name, case) for name, data in files.items() for case in data.get(table, [])]
    return [pytest.param(case, id=f"{name}: {case['name']}") for name, case in found]


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
