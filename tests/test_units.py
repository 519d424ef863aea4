"""Text to SI and back; the traps are those a general unit parser falls into."""

from __future__ import annotations

import subprocess
import sys

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from siteplan.units import (
    CUBIC_YARD_M3,
    FOOT_M,
    INCH_M,
    Length,
    Printer,
    UnitFault,
    coordinate_unit_m,
    parse_angle_deg,
    parse_length,
    parse_measure,
    parse_quantity,
)

FEET, FEET_INCHES, METRES = Printer("ft"), Printer("ft-in"), Printer("m")


@pytest.mark.parametrize(
    ("text", "inches"),
    [
        ("10 ft 6 in", 126),
        ("10ft 6in", 126),
        ("10'-6\"", 126),
        ("10′ 6″", 126),
        ("10’ 6”", 126),
        ("10' 6''", 126),
        ("10' 6 1/2\"", 126.5),
        ("10' 6½\"", 126.5),
        ("10'-6 1/2\"", 126.5),
        ("3 ft 6 in", 42),
        ("3' 6\"", 42),
        ("3 ft. 6 in.", 42),
        ("3 1/2 in", 3.5),
        ("3-1/2 in", 3.5),
        ("1-1/4 in", 1.25),
        ("3/4 in", 0.75),
        ("7/4 in", 1.75),
        ("42 in", 42),
        ("42 Inches", 42),
        ("5.5 ft", 66),
        (".5 ft", 6),
        ("1 foot", 12),
        ("6\u00a0feet", 72),
        ("  0 ft 0 in ", 0),
    ],
)
def test_feet_and_inches(text: str, inches: float) -> None:
    assert parse_length(text) == pytest.approx(inches * 0.0254, abs=1e-12)


@pytest.mark.parametrize(
    ("text", "metres"),
    [
        ("1.8 m", 1.8),
        ("450 mm", 0.45),
        ("450mm", 0.45),
        ("45 cm", 0.45),
        ("15 metres", 15.0),
        ("1 meter", 1.0),
    ],
)
def test_metric(text: str, metres: float) -> None:
    assert parse_length(text) == pytest.approx(metres, abs=1e-12)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("36", "no unit"),
        ("", "nothing"),
        ("   ", "nothing"),
        ("ft", '"ft"'),
        ("1,5 m", "comma"),
        ("1,000 ft", "comma"),
        ("3 furlong", "furlong"),
        ("3 in 6 ft", "in 6 ft"),
        ("10 ft 6", "ft 6"),
        ("10.5 ft 6 in", "ft 6 in"),
        ("10 ft 12 in", "fewer than 12 inches"),
        ("10 survey ft", "survey"),
        ("10 US survey feet", "survey"),
        ("10 us-ft", "us-ft"),
        ("-3 ft", "negative"),
        ("−3 ft", "negative"),
        ("-3 ft 6 in", "negative"),
        ("nan ft", "nan ft"),
        ("inf m", "inf m"),
        ("1e400 ft", "e400 ft"),
        ("9" * 400 + " m", "endless"),
        ("9" * 400 + " ft 1 in", "endless"),
        ("1/0 in", "fraction"),
        ("3 5/4 in", "fraction"),
        ("3 ft * 6", "ft * 6"),
        ("5. ft", "5. ft"),
        ("1.2.3 m", "1.2.3"),
        ("٣ m", "٣ m"),
        ("10 ft 6 in 3", "10 ft 6 in 3"),
        ("__import__('os')", "__import__"),
    ],
)
def test_refused_with_what_was_found(text: str, says: str) -> None:
    with pytest.raises(UnitFault) as caught:
        parse_length(text)
    fault = caught.value
    assert says in f"{fault.found} {fault.expected}"
    assert str(fault) == f"found {fault.found}, expected {fault.expected}"
    assert len(fault.found) < 120


def test_negative_where_allowed() -> None:
    assert parse_length("-3 ft 6 in", allow_negative=True) == pytest.approx(-1.0668)
    assert str(parse_length("-0 ft", allow_negative=True)) == "0.0"


@given(st.text(max_size=30) | st.text("0123456789 ftinm'\"/-.½", max_size=12))
@example("0 ft 0/1 in")
def test_any_text_is_read_or_refused(text: str) -> None:
    try:
        metres = parse_length(text)
    except UnitFault:
        return
    assert 0 <= metres < float("inf")


def test_measure_keeps_the_unit_of_its_source() -> None:
    assert parse_measure("50 ft") == Length(50.0, "ft")
    assert [str(parse_measure(text)) for text in ("50 ft", "15 m", "42 in", "3 1/2 in", "10 ft 6 in")] == [
        "50 ft",
        "15 m",
        "42 in",
        "3.5 in",
        "10.5 ft",
    ]
    assert parse_measure("15 m").metres < parse_measure("50 ft").metres  # never "15 m (50 ft)"


@pytest.mark.parametrize(("value", "unit"), [(1.0, "us-ft"), (float("nan"), "m"), (float("inf"), "ft")])
def test_length_refuses(value: float, unit: str) -> None:
    with pytest.raises(UnitFault):
        Length(value, unit)  # type: ignore[arg-type]


@pytest.mark.parametrize("text", ["60", "60 rad", "-60 deg", "60 deg 30"])
def test_angle_refuses(text: str) -> None:
    with pytest.raises(UnitFault):
        parse_angle_deg(text)


def test_angle() -> None:
    assert parse_angle_deg("22.5 Deg") == 22.5
    assert parse_angle_deg("-12°", allow_negative=True) == -12


# One US gallon is 231 cubic inches (NIST Handbook 44, appendix C; from memory), one inch 25.4 mm.
GALLON_M3 = 231 * 0.0254**3


@pytest.mark.parametrize(
    ("text", "kind", "si"),
    [
        ("230 V", "electric_potential", 230),
        ("7.2 kV", "electric_potential", 7200),
        ("20 A", "current", 20),
        ("30 amps", "current", 30),
        ("30 mA", "current", 0.03),
        ("1000 gal", "volume_liquid", 1000 * GALLON_M3),
        ("500 L", "volume_liquid", 0.5),
        ("3.8 m³", "volume_liquid", 3.8),
        ("10 gpm", "flow", 10 * GALLON_M3 / 60),
        ("2000 gal/day", "flow", 2000 * GALLON_M3 / 86400),
        ("60 L/min", "flow", 0.001),
        ("1 m3/day", "flow", 1 / 86400),
        ("5 ft", "length", 1.524),
    ],
)
def test_quantities(text: str, kind: str, si: float) -> None:
    assert parse_quantity(text, kind) == pytest.approx(si, rel=1e-12)  # type: ignore[arg-type]


def test_a_threshold_equals_itself() -> None:
    assert parse_quantity("2000 gpd", "flow") == parse_quantity("2000 gal/day", "flow")
    assert parse_quantity("2001 gpd", "flow") > parse_quantity("2000 gal/day", "flow")


@pytest.mark.parametrize(
    ("text", "kind"), [("230", "electric_potential"), ("230 ft", "current"), ("10,000 gal", "volume_liquid")]
)
def test_quantities_refused(text: str, kind: str) -> None:
    with pytest.raises(UnitFault):
        parse_quantity(text, kind)  # type: ignore[arg-type]


def test_coordinate_units_are_named_exactly() -> None:
    assert coordinate_unit_m("m") == 1
    for name in ("feet", "usft", "FT", ""):
        with pytest.raises(UnitFault):
            coordinate_unit_m(name)


def test_printed_as_promised() -> None:
    metres = 62.4 * FOOT_M
    assert [p.length(metres) for p in (FEET, FEET_INCHES, METRES)] == ["62.4 ft", "62 ft 5 in", "19.02 m"]
    assert [p.number(metres) for p in (FEET, FEET_INCHES, METRES)] == ["62.4", "62'-5\"", "19.02"]
    assert [p.unit for p in (FEET, FEET_INCHES, METRES)] == ["ft", "ft", "m"]
    assert [p.short(18 * INCH_M) for p in (FEET, FEET_INCHES)] == ["18 in", "18 in"]
    assert [p.short(1.315 * INCH_M) for p in (FEET, FEET_INCHES)] == ["1.3 in", "1 3/8 in"]
    assert METRES.short(0.45) == "450 mm"
    assert FEET_INCHES.short(-0.25 * INCH_M) == "-1/4 in"
    assert FEET.volume(12.3 * CUBIC_YARD_M3) == "12.3 CY"
    assert METRES.volume(9.4) == "9.4 m³"
    assert FEET.area(120 * FOOT_M**2) == "120.0 sq ft"
    assert METRES.area(11.1) == "11.1 m²"
    assert FEET.slope(-0.025) == "-2.5 %"


def test_signed() -> None:
    assert FEET.signed(1.2 * FOOT_M) == "+1.2 ft"
    assert FEET.signed(-0.3 * FOOT_M) == "-0.3 ft"
    assert FEET_INCHES.signed(1.5 * FOOT_M) == "+1 ft 6 in"
    assert METRES.signed(-0.001) == METRES.signed(0.001) == "0.00 m"


def test_inches_carry() -> None:
    assert FEET_INCHES.length(5 * FOOT_M + 11.8 * INCH_M) == "6 ft 0 in"
    assert FEET_INCHES.length(5 * FOOT_M + 11.7 * INCH_M) == "5 ft 11 1/2 in"
    assert FEET_INCHES.length(0.5 * INCH_M) == "0 ft 1/2 in"
    assert FEET_INCHES.number(-15 * INCH_M) == "-1'-3\""


def test_halves_go_away_from_zero() -> None:
    assert [METRES.length(v) for v in (0.125, -0.125, 1.005, 2.675)] == [
        "0.13 m",
        "-0.13 m",
        "1.01 m",
        "2.68 m",
    ]


def test_no_minus_on_zero() -> None:
    for printer in (FEET, FEET_INCHES, METRES):
        for show in (printer.length, printer.number, printer.short, printer.station, printer.volume):
            assert "-" not in show(-1e-9).replace("'-", "'"), show
            assert show(-0.0) == show(0.0)


def test_stations() -> None:
    feet = [0, 35.5, 99.94, 99.96, 135.5, 1234.5, -5]
    assert [FEET.station(f * FOOT_M) for f in feet] == [
        "0+00.0",
        "0+35.5",
        "0+99.9",
        "1+00.0",
        "1+35.5",
        "12+34.5",
        "-0+05.0",
    ]
    assert [METRES.station(m) for m in (41.5, 999.96, 1041.54)] == ["0+041.5", "1+000.0", "1+041.5"]


@pytest.mark.parametrize("value", [float("nan"), float("inf"), float("-inf")])
def test_a_missing_number_is_never_printed(value: float) -> None:
    for show in (FEET.length, FEET_INCHES.length, METRES.station, FEET.volume, FEET.slope, METRES.short):
        with pytest.raises(ValueError, match="cannot be printed"):
            show(value)


def test_unknown_system() -> None:
    with pytest.raises(UnitFault):
        Printer("yd")  # type: ignore[arg-type]


LENGTHS = st.floats(min_value=-5000, max_value=5000, allow_subnormal=False)


@given(LENGTHS)
@example(5 * FOOT_M + 11.75 * INCH_M)
def test_round_trip_through_print(metres: float) -> None:
    for printer, step_m in ((FEET, FOOT_M / 10), (FEET_INCHES, INCH_M / 2), (METRES, 0.01)):
        text = printer.length(metres)
        assert abs(parse_length(text, allow_negative=True) - metres) <= step_m / 2 * (1 + 1e-6)
        assert "12 in" not in text
    marks = FEET_INCHES.number(metres)
    assert parse_length(marks, allow_negative=True) == parse_length(
        FEET_INCHES.length(metres), allow_negative=True
    )


@given(LENGTHS)
def test_station_round_trip(metres: float) -> None:
    for printer, unit_m, full in ((FEET, FOOT_M, 100), (METRES, 1.0, 1000)):
        text = printer.station(metres)
        whole, rest = text.lstrip("-").split("+")
        assert 0 <= float(rest) < full
        read = (int(whole) * full + float(rest)) * unit_m * (-1 if text.startswith("-") else 1)
        assert abs(read - metres) <= unit_m / 20 * (1 + 1e-6)


def test_pint_is_imported_only_for_its_factors() -> None:
    code = (
        "import sys, siteplan.units as u; u.parse_length('10 ft 6 in'); assert 'pint' not in sys.modules;"
        "u.parse_quantity('1 gal', 'volume_liquid'); assert 'pint' in sys.modules"
    )
    subprocess.run([sys.executable, "-c", code], check=True)
