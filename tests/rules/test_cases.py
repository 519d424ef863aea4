"""The cases of ``tests/cases/rules``: given facts, the required number and the row that governs."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest
from rules_scenes import feature, line, override, site

from siteplan.rules import load_stack, resolve
from siteplan.rules.setbacks import ranked
from siteplan.units import parse_length

CASES = Path(__file__).parents[1] / "cases" / "rules"


def _cases(table: str) -> list[Any]:
    files = {
        path.stem: tomllib.loads(path.read_text(encoding="utf-8")) for path in sorted(CASES.glob("*.toml"))
    }
    found = [(name, case) for name, data in files.items() for case in data.get(table, [])]
    return [pytest.param(case, id=f"{name}: {case['name']}") for name, case in found]


@pytest.mark.parametrize("case", _cases("setback"))
def test_setback(case: dict[str, Any]) -> None:
    well = feature("well", "well", **case.get("well", {}))
    hazard = feature("hazard", **case["hazard"])
    needs = resolve(
        load_stack(case["stack"]), site(well, hazard, rules=case["stack"], facts=case.get("site"))
    )
    found = [one for one in needs.setbacks if (one.of, one.to) == ("well", "hazard")]
    absent = {one.citation.row for one in found if not one.applies}
    assert set(case.get("not_applicable", [])) <= absent
    assert all(one.because for one in found if not one.applies)
    governing = ranked(found)
    if "distance" not in case:
        assert governing == []
        return
    first = governing[0]
    assert (str(first.least), first.citation.row) == (case["distance"], case["row"])
    assert list(first.missing) == case.get("missing", [])
    assert [[words, str(least or "")] for words, least in first.either] == case.get("either", [])
    assert first.citation.force == case.get("force", first.citation.force)
    assert first.citation.standing == case.get("standing", first.citation.standing)
    if "measured" in case:
        measured = parse_length(case["measured"])
        assert (measured >= first.least.metres) is case["meets"]
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
