"""The locate clock: the cases of ``tests/cases/clock``, the grammar of its row, and what holds for every rule and call."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import Any

import pytest
from clock_cases import files, rules
from hypothesis import given, settings
from hypothesis import strategies as st
from rules_scenes import feature, site, write_layer

from siteplan.errors import InputFaults
from siteplan.rules import check_file, layer_page, load_stack, resolve
from siteplan.rules.clock import CONFIRM, GATES, LocateDates, call_time, day_words, locate_dates
from siteplan.rules.clock_days import NAMED_DAYS, Holidays, WorkCalendar, day_in_year
from siteplan.rules.clock_rows import ClockRow
from siteplan.site.catalogue import layers_folder

CASES = [
    pytest.param(case.get("rule", data.get("layer")), case, id=f"{name}: {case['name']}")
    for name, data in files().items()
    for case in data["case"]
]
DATES = ("received", "due", "start", "latest_start", "refresh_by", "expires")


def _moment(text: str) -> datetime:
    return datetime.fromisoformat(text)


@pytest.mark.parametrize(("rule", "case"), CASES)
def test_case(rule: str, case: dict[str, Any]) -> None:
    dates = locate_dates(rules()[rule], _moment(case["call"]))
    for key in DATES:
        if key not in case:
            continue
        found = getattr(dates, key)
        if case[key] == "none":
            assert found is None, key
        elif isinstance(found, datetime):
            assert found == _moment(case[key]), key
        else:
            assert found == date.fromisoformat(case[key]), key
    if "skipped" in case:
        assert [day.isoformat() for day, _ in dates.skipped] == case["skipped"]
    if "gate" in case:
        assert dates.gate == GATES[case["gate"]]
    assert case.get("says", "") in " ".join(dates.words)


def test_every_key_of_a_case_is_known() -> None:
    known = {"name", "rule", "call", "skipped", "gate", "says", *DATES}
    assert {key for data in files().values() for case in data["case"] for key in case} <= known


def test_words_say_all_of_it_and_defer_to_the_centre() -> None:
    dates = locate_dates(rules()["us-fl-locate-clock"], datetime(2026, 11, 25, 15))
    said = "\n".join(dates.words)
    assert "Earliest start Wed 2 Dec 2026." in said
    assert "Thu 26 Nov 2026, Thanksgiving; Fri 27 Nov 2026, Friday after Thanksgiving" in said
    assert "to the end of Mon 28 Dec 2026" in said
    assert "Not read at the source: the hour after which" in said
    assert "F.S. 556.102" in said
    assert dates.words[-1] == CONFIRM
    assert "safe" not in said
    waiting = locate_dates(rules()["ca/on"], datetime(2026, 12, 21, 10))
    assert any(line.startswith("No date frees") for line in waiting.words)
    assert not any("Earliest start" in line for line in waiting.words)


def test_row_that_nobody_verified_says_so() -> None:
    assert (
        "Earliest start Thu 4 Jun 2026 (unconfirmed)." in _dates("us-ca-locate-clock", 2026, 6, 1, 10).words
    )


def _dates(rule: str, *call: int) -> LocateDates:
    return locate_dates(rules()[rule], datetime(*call))


CALLS = st.datetimes(datetime(2024, 1, 1), datetime(2031, 12, 31)).map(
    lambda call: call.replace(second=0, microsecond=0)
)
RULES = st.sampled_from(sorted(rules()))


@settings(max_examples=150, deadline=None)
@given(RULES, CALLS)
def test_start_is_after_the_call_and_on_a_day_that_counts(name: str, call: datetime) -> None:
    rule = rules()[name]
    dates = locate_dates(rule, call)
    assert dates.received >= call
    if dates.due is not None:
        assert dates.due > call
    if dates.start is not None and dates.due is not None:
        assert dates.start >= dates.due
        assert rule.start_on == "any day" or rule.calendar.works(dates.start.date())
    assert (dates.start is None) == (rule.gate == "answer")
    for day in (dates.latest_start, dates.expires):
        assert day is None or dates.start is None or day >= dates.start.date()
    if dates.refresh_by is not None:
        assert dates.expires is not None
        assert dates.refresh_by <= dates.expires
        assert rule.calendar.works(dates.refresh_by)


@settings(max_examples=150, deadline=None)
@given(
    RULES.filter(lambda name: not rules()[name].day_calls),
    CALLS,
    st.timedeltas(timedelta(minutes=1), timedelta(days=6)),
)
def test_later_call_never_gives_an_earlier_start(name: str, call: datetime, later: timedelta) -> None:
    first, second = (locate_dates(rules()[name], moment) for moment in (call, call + later))
    if first.due is not None and second.due is not None:
        assert first.due <= second.due
    if first.start is not None and second.start is not None:
        assert first.start <= second.start


def test_law_of_texas_itself_lets_saturday_overtake_friday() -> None:
    """Tex. Util. Code 251.151(b): a Saturday notice is due on Tuesday 11:59, a late Friday notice later that day."""
    friday, saturday = (
        _dates("us-tx-locate-clock", 2026, 6, 5, 18),
        _dates("us-tx-locate-clock", 2026, 6, 6, 9),
    )
    assert friday.start == datetime(2026, 6, 9, 18)
    assert saturday.start == datetime(2026, 6, 9, 11, 59)


@settings(max_examples=60, deadline=None)
@given(CALLS)
def test_renewal_leaves_no_gap(call: datetime) -> None:
    rule = rules()["us/mt"]
    dates = locate_dates(rule, call)
    assert dates.refresh_by is not None
    assert dates.expires is not None
    end = datetime.combine(dates.expires + timedelta(days=1), time(0))
    last = locate_dates(rule, datetime.combine(dates.refresh_by, call.time())).due
    next_day = locate_dates(
        rule, datetime.combine(rule.calendar.next_working(dates.refresh_by), call.time())
    ).due
    assert last is not None
    assert next_day is not None
    assert last <= end < next_day


@pytest.mark.parametrize("year", [2026, 2027, 2028, 2032])
def test_named_days_are_the_federal_holidays(year: int) -> None:
    """5 U.S.C. 6103(a) as the ``holidays`` library holds it, against the rules of the names kept here."""
    from holidays import country_holidays

    federal = set(country_holidays("US", years=year, observed=False))
    ours = {
        day_in_year(name, year)
        for name in NAMED_DAYS
        if name not in ("christmas eve", "friday after thanksgiving")
    }
    assert ours == federal


@pytest.mark.parametrize(
    ("observed", "christmas", "kept"),
    [
        ("as it falls", 2027, "2027-12-25"),
        ("nearest weekday", 2027, "2027-12-24"),
        ("nearest weekday", 2022, "2022-12-26"),
        ("sunday to monday", 2027, "2027-12-25"),
        ("sunday to monday", 2022, "2022-12-26"),
        ("next monday", 2027, "2027-12-27"),
    ],
)
def test_where_a_holiday_on_a_weekend_is_kept(observed: Any, christmas: int, kept: str) -> None:
    calendar = WorkCalendar(holidays=Holidays(add=("christmas",), observed=observed))
    days = [date(christmas, 12, day) for day in range(20, 32)]
    assert [day.isoformat() for day in days if calendar.holiday(day)] == [kept]


def test_boxing_day_moves_on_where_monday_is_taken() -> None:
    """25 and 26 December 2027 are Saturday and Sunday, in 2022 Sunday and Monday: two days are kept either time."""
    calendar = WorkCalendar(holidays=Holidays(country="CA", state="ON", observed="next monday"))
    for year in (2022, 2027):
        kept = [day for day in range(24, 32) if calendar.holiday(date(year, 12, day))]
        assert [day for day in kept if date(year, 12, day).weekday() < 5] == (
            [26, 27] if year == 2022 else [27, 28]
        )


def test_unknown_state_is_a_fault_and_no_traceback() -> None:
    with pytest.raises(InputFaults, match="US QQ"):
        WorkCalendar(holidays=Holidays(country="US", state="QQ")).works(date(2026, 6, 1))


LAYERS = [
    path.parent.relative_to(layers_folder()).as_posix()
    for path in sorted(layers_folder().glob("**/rules.toml"))
    if "[[locate_clock]]" in path.read_text(encoding="utf-8")
]


@pytest.mark.parametrize("name", LAYERS)
def test_clock_of_a_layer_that_ships_can_be_counted(name: str) -> None:
    rows = load_stack(name).of(ClockRow)
    assert rows
    for placed in rows:
        assert locate_dates(placed.row.rule(placed.cite()), datetime(2026, 11, 25, 15)).words[-1] == CONFIRM


@pytest.mark.parametrize(
    "text", ["tomorrow", "2026-11-25", "2026-13-01 10:00", "25.11.2026 15:00", "0001-01-01 00:00", ""]
)
def test_bad_time_of_call_is_one_fault(text: str) -> None:
    with pytest.raises(InputFaults) as caught:
        call_time(text)
    (fault,) = caught.value.faults
    assert "--call" in str(fault)
    assert "2026-11-25 15:00" in str(fault)


def test_days_print_the_same_everywhere() -> None:
    assert day_words(datetime(2026, 12, 2)) == "Wed 2 Dec 2026"
    assert day_words(datetime(2026, 12, 2, 7), year=False) == "Wed 2 Dec 07:00"


ROW = """
[[locate_clock]]
id = "xx-clock"
lead = { amount = 2, unit = "working days" }
gate = "clock"
SOURCE
"""


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('unit = "working days"', 'unit = "work days"', 'did you mean "working days"?'),
        ('gate = "clock"', 'gate = "clok"', 'did you mean "clock"?'),
        ('gate = "clock"', "", 'expected the key "gate"'),
        ('lead = { amount = 2, unit = "working days" }', "", "without lead"),
        ('gate = "clock"', 'gate = "clock"\nclock_starts = "at the call"', 'whole days from "at the call"'),
        ('working days" }', 'hours" }\nclock_starts = "call day"', 'hours from "call day"'),
        ('working days" }', 'start date" }\nclock_starts = "call day"', 'a start date from "call day"'),
        (
            'gate = "clock"',
            'gate = "clock"\ncut_off = "5 pm"',
            'expected an hour of the day in quotes, such as "17:00"',
        ),
        ('gate = "clock"', 'gate = "clock"\ncut_off = "24:00"', "an hour of the day"),
        (
            'gate = "clock"',
            'gate = "clock"\nholidays = { add = ["thanksgivin"] }',
            'did you mean "thanksgiving"?',
        ),
        ('gate = "clock"', 'gate = "clock"\nholidays = { add = ["february 30"] }', "a day of that month"),
        ('gate = "clock"', 'gate = "clock"\nholidays = { state = "OH" }', "state or drop without country"),
        ('gate = "clock"', 'gate = "clock"\nholidays = { county = "US" }', 'did you mean "country"?'),
        (
            'gate = "clock"',
            'gate = "answer"\nlife = { amount = 3, unit = "calendar days", from = "start" }',
            'days from "start" where no date frees',
        ),
        (
            'gate = "clock"',
            'gate = "clock"\nweekend = ["monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"]',
            "a weekend of seven days",
        ),
        ("amount = 2", "amount = 0", "found 0"),
    ],
)
def test_fault_of_a_clock_row(tmp_path: Path, old: str, new: str, words: str) -> None:
    assert old in ROW
    path = write_layer(tmp_path, "xx", ROW.replace(old, new))
    assert any(words in str(fault) for fault in check_file(path)), [str(fault) for fault in check_file(path)]


def test_clock_row_as_it_stands_fits(tmp_path: Path) -> None:
    assert check_file(write_layer(tmp_path, "xx", ROW)) == []


def test_requirements_hold_the_clock_of_the_most_local_layer() -> None:
    needs = resolve(load_stack("us/mt/helena"), site(feature("well", "well"), rules="us/mt/helena"))
    assert needs.clock is not None
    assert needs.clock.citation.row == "us-mt-locate-clock"
    assert resolve(load_stack("us"), site(feature("well", "well"), rules="us")).clock is None
    assert "wait 2 working days" in layer_page("us/mt")
