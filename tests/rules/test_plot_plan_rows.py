"""What is asked of the plan of an application: the greatest search radius, the scales of the most local row, the faults."""

from __future__ import annotations

from pathlib import Path

import pytest
from rules_scenes import BASE, feature, site, write_layer

from siteplan.errors import InputFaults
from siteplan.rules import load_stack, resolve
from siteplan.rules.model import PlotPlanRules
from siteplan.rules.pages import layer_page


def row(ident: str, words: str) -> str:
    return f'[[plot_plan]]\nid = "{ident}"\n{words}\nSOURCE\n\n'


def asked(tmp_path: Path, state: str, county: str = "") -> PlotPlanRules:
    write_layer(tmp_path, "xx", BASE + state)
    write_layer(tmp_path, "xx/yy", county)
    return resolve(load_stack("xx/yy", tmp_path), site(feature("well", "well"), rules="xx/yy")).plot_plan


def test_no_row_asks_for_nothing(tmp_path: Path) -> None:
    assert asked(tmp_path, "") == PlotPlanRules()


def test_the_greatest_radius_holds_and_the_scales_of_the_county(tmp_path: Path) -> None:
    state = row("xx-plan", 'search_radius = "200 ft"\nscales = ["1 in = 100 ft"]')
    found = asked(tmp_path, state, row("yy-plan", 'search_radius = "50 ft"\nscales = ["1 in = 20 ft"]'))
    assert found.search_radius is not None
    assert found.search_radius.metres == pytest.approx(200 * 0.3048)
    assert found.scales == ("1 in = 20 ft",)
    assert found.radius_from is not None
    assert found.scales_from is not None
    assert (found.radius_from.row, found.scales_from.row) == ("xx-plan", "yy-plan")


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        ("", "neither a radius nor a scale"),
        ('search_radius = "200"', "search_radius"),
        ('search_radius = "-5 ft"', "search_radius"),
        ('scales = ["1 in = twenty ft"]', "scales"),
        ('radius = "200 ft"', "radius"),
    ],
)
def test_what_does_not_fit_is_named_with_file_and_line(tmp_path: Path, words: str, expected: str) -> None:
    write_layer(tmp_path, "xx", BASE + row("xx-plan", words))
    with pytest.raises(InputFaults, match=expected) as caught:
        load_stack("xx", tmp_path)
    assert all("xx/rules.toml" in fault.file and fault.line for fault in caught.value.faults)


def test_the_pages_say_what_was_read() -> None:
    """10 NYCRR 5-2.8(h): sources of pollution within 200 feet."""
    assert "hazards within 200 ft of the well" in layer_page("us/ny")
    assert "hazards within 150 ft of the well" in layer_page("us/mi/washtenaw")
    assert "scales 1 in = 10 ft, 1 in = 20 ft" in layer_page("us/in/elkhart")
