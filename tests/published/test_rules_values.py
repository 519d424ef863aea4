"""Numbers of the rules against what the sources print; the source is named at each check."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "rules"))

from rules_scenes import feature, line, site

from siteplan.rules import load_stack, resolve
from siteplan.units import Length

WELL = feature("well", "well", casing_depth="62 ft")
HOUSE = feature("house", "building", dwelling=True)


def _inches(surface: str, product: str, **facts: object) -> float:
    power = line("power", "electric", product=product, **facts)
    cover = resolve(load_stack("us"), site(WELL, HOUSE, lines=(power,))).cover("power", surface)
    assert cover.least_m is not None
    return round(cover.least_m / 0.0254, 6)


@pytest.mark.parametrize(
    ("surface", "inches"),
    [
        ("yard", (24, 6, 18, 12)),
        ("dwelling_drive", (18, 18, 18, 12)),
        ("road", (24, 24, 24, 24)),
        ("slab", (18, 4, 4, 4)),
    ],
)
def test_nec_table_300_5(surface: str, inches: tuple[int, ...]) -> None:
    """NFPA 70, Table 300.5 (300.5(A) from 2023), columns 1 to 4, all inches.

    Two transcriptions agree (up.codes, underground installations, and a second one) but for the slab row, which was
    read once. Column 4 is for a raceway here: 4 in under the slab.
    """
    feeder = {"volts": "240 V", "amps": "20 A", "gfci": True}
    branch = {"volts": "120 V", "amps": "20 A", "gfci": True}
    found = (
        _inches(surface, "pump-cable", **feeder),
        _inches(surface, "rmc-1", **feeder),
        _inches(surface, "pvc-1", **feeder),
        _inches(surface, "pvc-1", **branch),
    )
    assert found == inches


def test_nec_column_4_under_a_slab_by_direct_burial() -> None:
    """The same table: 6 in direct, 4 in raceway."""
    assert _inches("slab", "pump-cable", volts="120 V", amps="20 A", gfci=True) == 6


def test_osha_excavation_numbers() -> None:
    """29 CFR 1926.651(c)(2), 651(j)(2), 652(a)(1), 652(b), subpart P appendix B Table B-1; degrees as Table B-1 prints."""
    from math import atan2, degrees

    trench = resolve(load_stack("us"), site(WELL)).trench
    feet = {
        name: round(getattr(trench, name).value / 0.3048, 6)
        for name in (
            "spoil_back_m",
            "egress_depth_m",
            "egress_spacing_m",
            "protection_depth_m",
            "engineer_depth_m",
        )
    }
    assert feet == {
        "spoil_back_m": 2,
        "egress_depth_m": 4,
        "egress_spacing_m": 25,
        "protection_depth_m": 5,
        "engineer_depth_m": 20,
    }
    angles = {name: round(degrees(atan2(1, slope.value))) for name, slope in trench.slope_by_class.items()}
    assert angles == {"A": 53, "B": 45, "C": 34, "rock": 90}


@pytest.mark.parametrize(
    ("kind", "facts", "cased", "other"),
    [
        ("privy", {"vault": False}, 15, 30),
        ("privy", {"vault": True}, 10, 15),
        ("greywater_system", {}, 10, 15),
        ("cesspool", {}, 30, 60),
        ("septic_tank", {}, 15, 15),
        ("absorption_area", {}, 15, 30),
        ("holding_tank", {}, 15, 15),
    ],
)
def test_ontario_table_4_1(kind: str, facts: dict[str, object], cased: int, other: int) -> None:
    """R.R.O. 1990, Reg. 903 s. 12 as the agency prints it in Table 4-1 (ontario.ca, siting a well): both columns, metres."""
    for casing, metres in (("6 m", cased), ("5.9 m", other)):
        well = feature("well", "well", casing_depth=casing)
        place = site(well, feature("hazard", kind, **facts), rules="ca/on")
        (one,) = [s for s in resolve(load_stack("ca/on"), place).setbacks if s.applies]
        assert (one.least, one.missing) == (Length(float(metres), "m"), ())


def test_montana_36_21_638() -> None:
    """ARM 36.21.638(1) and (2), eff. 2019-06-22 (rules.mt.gov): feet, and shall against should."""
    place = site(
        WELL,
        feature("a", "septic_tank"),
        feature("b", "fuel_tank", buried=True),
        feature("c", "absorption_area"),
        feature("d", "sewage_lagoon", regulated=False),
        feature("e", "sewage_lagoon", regulated=True),
        feature("f", "parcel"),
        feature("g", "building_sewer", watertight=True),
        feature("h", "building_sewer", watertight=False),
        facts={"subdivision": False},
    )
    needs = resolve(load_stack("us/mt"), place)
    found = {
        one.to: (str(one.least), one.citation.force)
        for one in needs.setbacks
        if one.applies and one.citation.text.startswith("ARM 36.21.638")
    }
    assert found == {
        "a": ("50 ft", "required"),
        "b": ("50 ft", "required"),
        "c": ("100 ft", "required"),
        "d": ("100 ft", "required"),
        "e": ("1000 ft", "required"),
        "f": ("10 ft", "advised"),
        "g": ("10 ft", "advised"),
        "h": ("50 ft", "advised"),
    }


def test_montana_subdivision_table() -> None:
    """ARM 17.36.323 Table 2, through 2024-09-20 (regulations.justia.com): individual and shared wells, feet."""
    well = feature("well", "well", **{"class": "individual"})
    kinds = {
        "holding_tank": "50 ft",
        "absorption_area": "100 ft",
        "property_line": "10 ft",
        "stream": "100 ft",
        "floodplain": "10 ft",
        "stormwater": "25 ft",
        "sewage_lagoon": "1000 ft",
    }
    place = site(well, *(feature(kind, kind) for kind in kinds), facts={"subdivision": True})
    found = {
        one.to: str(one.least)
        for one in resolve(load_stack("us/mt"), place).setbacks
        if one.applies and one.citation.text.startswith("ARM 17.36.323")
    }
    assert found == kinds


@pytest.mark.parametrize(("rules", "inches"), [("us/mt/helena", 42), ("us/mt/missoula", 36)])
def test_adopted_frost_depths(rules: str, inches: int) -> None:
    """Helena, Codes and Design Requirements: 42 in to the bottom of footing. Missoula, design criteria: 36 in."""
    water = line("water", "water")
    cover = resolve(load_stack(rules), site(WELL, HOUSE, lines=(water,))).cover("water", "yard")
    assert f"frost {inches} in" in cover.form


def test_root_zone() -> None:
    """Springboro OH 280.01: 1 ft of radius for each inch of trunk, at least 8 ft; 18 in of trunk give 18 ft."""
    roots = resolve(load_stack("us"), site(WELL)).roots
    assert roots.radius_per_diameter.value * Length(18, "in").metres == pytest.approx(Length(18, "ft").metres)
    assert roots.least_m.value == pytest.approx(Length(8, "ft").metres)


def test_montana_locate() -> None:
    """Montana 811, The Tolerance Zone (2018-11): 18 in; MCA 69-4-503 (2019): 2 business days, 10 and 30 days."""
    locate = resolve(load_stack("us/mt"), site(WELL)).locate
    assert locate.tolerance_m.value == pytest.approx(Length(18, "in").metres)
    assert "2 business days" in locate.notice
    assert "10 days" in locate.life
    assert "30 days" in locate.life
