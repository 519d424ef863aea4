"""The clock cases of ``tests/cases/clock``: rows as a layer holds them, and what follows from a call."""

from __future__ import annotations

import tomllib
from functools import lru_cache
from pathlib import Path
from typing import Any

from siteplan.rules import load_stack
from siteplan.rules.citation import Citation
from siteplan.rules.clock_rows import ClockRow
from siteplan.rules.clock_rule import ClockRule

CASES = Path(__file__).parents[1] / "cases" / "clock"


@lru_cache(maxsize=1)
def files() -> dict[str, dict[str, Any]]:
    """All files by name."""
    return {
        path.stem: tomllib.loads(path.read_text(encoding="utf-8")) for path in sorted(CASES.glob("*.toml"))
    }


@lru_cache(maxsize=1)
def rules() -> dict[str, ClockRule]:
    """All rules by the id of their row: those of the files, and those of the layers that the files name."""
    found: dict[str, ClockRule] = {}
    for data in files().values():
        for raw in data.get("locate_clock", []):
            row = ClockRow.model_validate(raw)
            found[row.id] = row.rule(
                Citation(
                    row=row.id, layer="tests", text=row.citation, edition=row.edition, standing=row.status
                )
            )
        if "layer" in data:
            placed = load_stack(data["layer"]).of(ClockRow)[-1]
            found[data["layer"]] = placed.row.rule(placed.cite())
    return found
