"""Cover where the frost depth is not stated: what binds stands, what is only advised is told beside it."""

from __future__ import annotations

from pathlib import Path

import pytest
from rules_scenes import BASE, feature, line, override, site, write_layer

from siteplan.rules import load_stack, resolve
from siteplan.rules.model import Cover
from siteplan.site.site import Override
from siteplan.units import parse_length

FROST = '[[frost]]\nid = "xx-frost"\npurpose = "footing"\nSOURCE\n\n'


def _row(ident: str, form: str, force: str) -> str:
    return f'[[cover]]\nid = "{ident}"\nline = "water"\nform = {{ {form} }}\nforce = "{force}"\nSOURCE\n\n'


def _cover(folder: Path, *rows: str, overrides: tuple[Override, ...] = ()) -> Cover:
    write_layer(folder, "xx", BASE + FROST + "".join(rows))
    place = site(feature("well", "well"), lines=(line("water", "water"),), overrides=overrides)
    return resolve(load_stack("xx", folder), place).cover("water", "yard")


MODEL = 'frost_plus = "6 in", floor = "12 in"'
TOWN = _row("xx-town", 'fixed = "60 in"', "required")


def test_a_town_keeps_its_number_beside_advice_that_hangs_on_the_frost(tmp_path: Path) -> None:
    cover = _cover(tmp_path, TOWN, _row("xx-model", MODEL, "advised"))
    assert cover.least_m == pytest.approx(parse_length("60 in"))
    assert cover.citation.row == "xx-town"
    assert cover.form == (
        "fixed 60 in; advised beside it, max(frost + 6 in, 12 in): no frost depth is stated (row xx-frost): ask"
    )
    notes = {citation.row: citation.note for citation in cover.also}
    assert notes == {"xx-model": "frost depth not stated: no number", "xx-frost": ""}


def test_a_required_form_that_hangs_on_the_frost_leaves_the_answer_open(tmp_path: Path) -> None:
    cover = _cover(tmp_path, TOWN, _row("xx-model", MODEL, "required"))
    assert (cover.least_m, cover.citation.row) == (None, "xx-model")


def test_an_advised_number_beside_open_advice_leaves_the_answer_open(tmp_path: Path) -> None:
    rows = (_row("xx-town", 'fixed = "60 in"', "advised"), _row("xx-model", MODEL, "advised"))
    cover = _cover(tmp_path, *rows)
    assert (cover.least_m, cover.citation.row) == (None, "xx-model")
    cover = _cover(tmp_path, *rows, overrides=(override("xx-town", fixed="70 in"),))
    assert cover.least_m == pytest.approx(parse_length("70 in")), (
        "a number that the site states for itself stands"
    )


def test_with_the_frost_depth_the_deeper_governs_again(tmp_path: Path) -> None:
    rows = (TOWN, _row("xx-model", MODEL, "advised"))
    for frost, row, least in (("60 in", "xx-model", "66 in"), ("40 in", "xx-town", "60 in")):
        cover = _cover(tmp_path, *rows, overrides=(override("xx-frost", depth=frost),))
        assert (cover.citation.row, cover.least_m) == (row, pytest.approx(parse_length(least)))
        assert "not stated" not in cover.form


def test_of_equal_depths_the_required_one_governs(tmp_path: Path) -> None:
    rows = (_row("xx-a", 'fixed = "60 in"', "advised"), _row("xx-b", 'fixed = "5 ft"', "required"))
    assert _cover(tmp_path, *rows).citation.row == "xx-b"
