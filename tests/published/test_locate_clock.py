"""The locate clock against the worked examples that one-call centres and utilities print; the source is at each row."""

from __future__ import annotations

import sys
from datetime import datetime, time
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "rules"))

from clock_cases import rules

from siteplan.rules.citation import Citation
from siteplan.rules.clock import locate_dates
from siteplan.rules.clock_rule import ClockRule

CITED = Citation(row="xx", layer="tests", text="as printed", standing="secondary")
SOUTH_CAROLINA = ClockRule(lead=3, citation=CITED)
ALBERTA_2018 = ClockRule(
    lead=3, starts="call day", cut_off=time(17), off_day_call="next working day", citation=CITED
)
INDIANA = ClockRule(lead=2, citation=CITED)
NEVADA = ClockRule(lead=2, start_on="any day", citation=CITED)

MON, TUE, WED, THU, FRI, SAT = (datetime(2026, 6, day) for day in range(1, 7))


@pytest.mark.parametrize(
    ("rule", "call", "due"),
    [
        # Alabama 811, frequently asked questions: notified on Monday at 8, begins on Thursday at 7 in the morning.
        (rules()["us-al-locate-clock"], MON.replace(hour=8), THU.replace(hour=7)),
        # South Carolina 811, three full working day notice calendar: called on Monday, work begins on Friday morning.
        (SOUTH_CAROLINA, MON.replace(hour=16), FRI),
        # Missouri One Call, "Waiting the required amount of time": called on Monday, work begins on Thursday.
        (rules()["us-mo-locate-clock"], MON.replace(hour=11), THU),
        # Sunshine 811 (Florida): to dig on Saturday, notify no later than Wednesday.
        (rules()["us-fl-locate-clock"], WED.replace(hour=16), SAT),
        # Public Utilities Commission of Nevada, "How 811 works": no later than Wednesday for the weekend.
        (NEVADA, WED.replace(hour=16), SAT),
        # Kosciusko REMC (Indiana): called on Tuesday, the owners have Wednesday and Thursday.
        (INDIANA, TUE.replace(hour=9), FRI),
        # Virginia 811, "for professionals": the marking period ends at 07:00 on the third working day after the notice.
        (rules()["us-va-locate-clock"], TUE.replace(hour=12), FRI.replace(hour=7)),
        # Pennsylvania, 73 P.S. 176 s. 5(2.1) in the excavator's handbook: on or after the third business day after it.
        (rules()["us-pa-locate-clock"], MON.replace(hour=9), THU),
        # Alberta One-Call, answers of its 2018 project: placed before 17:00 on 13 November; the notice days are the 13th, 14th
        # and 15th, the first day of work is the 16th.
        (ALBERTA_2018, datetime(2018, 11, 13, 16, 59), datetime(2018, 11, 16)),
    ],
)
def test_worked_examples(rule: ClockRule, call: datetime, due: datetime) -> None:
    dates = locate_dates(rule, call)
    assert dates.due == due
    assert dates.start in (due, None)


def test_latest_call_for_a_saturday_in_florida_is_wednesday() -> None:
    """Sunshine 811: no later than Wednesday, so a call on Thursday is too late."""
    start = locate_dates(rules()["us-fl-locate-clock"], THU.replace(hour=9)).start
    assert start is not None
    assert start > SAT


def test_trap_of_thanksgiving_week() -> None:
    """Wednesday 25 November 2026, 15:00, worked by hand from the texts.

    Ohio, ORC 3781.25(F): hours on Saturdays, Sundays and legal holidays are excluded, so 9 hours run on Wednesday, 24 on Friday,
    15 on Monday. Florida, F.S. 556.102(1) and 556.105(1)(a): two full business days, of which Thanksgiving and the Friday after
    are none.
    """
    call = datetime(2026, 11, 25, 15)
    assert locate_dates(rules()["us-oh-locate-clock"], call).start == datetime(2026, 11, 30, 15)
    assert locate_dates(rules()["us-fl-locate-clock"], call).start == datetime(2026, 12, 2)
