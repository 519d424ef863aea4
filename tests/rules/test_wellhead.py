"""How high the casing must end: the greatest height over a stack, and the greatest above a flood, each with its row."""

from __future__ import annotations

from pathlib import Path

import pytest
from rules_scenes import BASE, feature, override, site, write_layer

from siteplan.errors import InputFaults
from siteplan.rules import load_stack, resolve
from siteplan.rules.model import Requirements
from siteplan.rules.pages import layer_page
from siteplan.units import parse_length

ROW = '[[wellhead]]\nid = "{id}"\ncasing_height = "{height}"\n{flood}SOURCE\n\n'


def row(ident: str, height: str, flood: str = "") -> str:
    return ROW.format(id=ident, height=height, flood=f'above_flood = "{flood}"\n' if flood else "")


def needs(tmp_path: Path, state: str, county: str = "", **overridden: str) -> Requirements:
    write_layer(tmp_path, "xx", BASE + state)
    write_layer(tmp_path, "xx/yy", county)
    changes = (override("xx-head", **overridden),) if overridden else ()
    place = site(feature("well", "well"), rules="xx/yy", overrides=changes)
    return resolve(load_stack("xx/yy", tmp_path), place)


def heights(found: Requirements) -> tuple[str, str, str, list[str]]:
    head = found.wellhead
    assert head is not None
    flood = str(head.above_flood or "none")
    return str(head.casing_height), flood, head.citation.row, [citation.row for citation in head.also]


def test_no_row_asks_for_no_height(tmp_path: Path) -> None:
    assert needs(tmp_path, "").wellhead is None


@pytest.mark.parametrize(
    ("state", "county", "expected"),
    [
        (("12 in", "2 ft"), ("", ""), ("12 in", "2 ft", "xx-head", [])),
        (("12 in", ""), ("18 in", ""), ("18 in", "none", "yy-head", [])),
        (("18 in", ""), ("12 in", ""), ("18 in", "none", "xx-head", [])),
        (("12 in", ""), ("1 ft", ""), ("1 ft", "none", "yy-head", [])),
        (("12 in", "2 ft"), ("12 in", ""), ("12 in", "2 ft", "xx-head", [])),
        (("12 in", "2 ft"), ("18 in", ""), ("18 in", "2 ft", "yy-head", ["xx-head"])),
        (("12 in", "2 ft"), ("18 in", "1 ft"), ("18 in", "2 ft", "yy-head", ["xx-head"])),
        (("18 in", "1 ft"), ("12 in", "2 ft"), ("18 in", "2 ft", "xx-head", ["yy-head"])),
        (("12 in", ""), ("31 cm", ""), ("31 cm", "none", "yy-head", [])),
    ],
)
def test_greatest_heights_govern_and_of_equal_ones_the_most_local(
    tmp_path: Path, state: tuple[str, str], county: tuple[str, str], expected: tuple[str, str, str, list[str]]
) -> None:
    local = row("yy-head", *county) if county[0] else ""
    assert heights(needs(tmp_path, row("xx-head", *state), local)) == expected


def test_a_county_may_replace_the_row_of_its_state(tmp_path: Path) -> None:
    instead = row("yy-head", "8 in").replace(
        "SOURCE", 'replaces = "xx-head"\nreason = "its own code"\nSOURCE'
    )
    assert heights(needs(tmp_path, row("xx-head", "18 in", "2 ft"), instead)) == (
        "8 in",
        "none",
        "yy-head",
        [],
    )


def test_a_site_may_override_it(tmp_path: Path) -> None:
    found = needs(tmp_path, row("xx-head", "18 in"), casing_height="24 in")
    assert found.wellhead is not None
    assert found.wellhead.casing_height.metres == pytest.approx(parse_length("24 in"))
    assert found.wellhead.citation.layer == "site"
    assert found.wellhead.citation in found.overridden


def test_both_rows_are_told_as_unconfirmed(tmp_path: Path) -> None:
    found = needs(tmp_path, row("xx-head", "12 in", "2 ft"), row("yy-head", "18 in"))
    assert {"xx-head", "yy-head"} <= {citation.row for citation in found.unconfirmed}


def test_a_height_above_flood_alone_is_a_fault(tmp_path: Path) -> None:
    write_layer(tmp_path, "xx", BASE + '[[wellhead]]\nid = "xx-head"\nabove_flood = "2 ft"\nSOURCE\n')
    with pytest.raises(InputFaults, match="casing_height"):
        load_stack("xx", tmp_path)


def test_page_prints_both_heights() -> None:
    page = layer_page("us/wa")
    assert "casing at least 6 in above finished grade, 2 ft above the flood elevation" in page
    assert "casing at least 18 in above finished grade\n" in layer_page("us/mt")
