"""Which days count for the locate clock: weekends and holidays by name, with the day on which a holiday is observed.

A day is named by its rule (``fourth thursday of november``, ``friday after thanksgiving``), so no list of dates is kept. The
public holidays of a country or state come from the ``holidays`` library; a row adds or drops days.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date, timedelta
from functools import lru_cache
from typing import Literal

from siteplan.errors import Fault, InputFaults
from siteplan.rules.faults import Unfit, nearest, shown

Observed = Literal["as it falls", "nearest weekday", "sunday to monday", "next monday"]
"""When a holiday falls on a weekend: nearest weekday is Saturday to Friday, Sunday to Monday; next monday is both to Monday.

Where that day is a holiday already, one that moves on is kept on the next day that is none.
"""

WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
_MONTHS = (
    "january",
    "february",
    "march",
    "april",
    "may",
    "june",
    "july",
    "august",
    "september",
    "october",
    "november",
    "december",
)
_NTH = {"first": 1, "second": 2, "third": 3, "fourth": 4}
NAMED_DAYS = {
    "new year's day": "january 1",
    "martin luther king day": "third monday of january",
    "presidents' day": "third monday of february",
    "memorial day": "last monday of may",
    "juneteenth": "june 19",
    "independence day": "july 4",
    "labor day": "first monday of september",
    "columbus day": "second monday of october",
    "veterans day": "november 11",
    "thanksgiving": "fourth thursday of november",
    "friday after thanksgiving": "day after thanksgiving",
    "christmas eve": "day before christmas",
    "christmas": "december 25",
}
_OF_MONTH = re.compile(rf"(first|second|third|fourth|last) ({'|'.join(WEEKDAYS)}) of ({'|'.join(_MONTHS)})")
_FIXED = re.compile(rf"({'|'.join(_MONTHS)}) (\d{{1,2}})")
_BESIDE = re.compile(rf"(day|{'|'.join(WEEKDAYS)}) (after|before) (.+)")
_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Holidays:
    """The holidays of one rule.

    Attributes
    ----------
    country, state : str
        Codes of the ``holidays`` library, such as ``US`` and ``OH``; without a country only ``add`` counts.
    add, drop : tuple of str
        Days by name or rule, on top of the public holidays or not among them.
    observed : Observed
        The day on which one that falls on a weekend counts.
    """

    country: str = ""
    state: str = ""
    add: tuple[str, ...] = ()
    drop: tuple[str, ...] = ()
    observed: Observed = "as it falls"


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkCalendar:
    """The days that do not count: days of the week (Monday is 0) and holidays."""

    weekend: frozenset[int] = frozenset({5, 6})
    holidays: Holidays = field(default_factory=Holidays)

    def holiday(self, day: date) -> str:
        """Name of the holiday on this day, ``""`` if it is none."""
        for year in (day.year, day.year + 1):
            for when, name in _holidays_of(self.holidays, year):
                if when == day:
                    return name
        return ""

    def works(self, day: date) -> bool:
        """Whether the day counts."""
        return day.weekday() not in self.weekend and not self.holiday(day)

    def next_working(self, day: date) -> date:
        """Return the first day after this one that counts."""
        return self.step(day, 1)

    def step(self, day: date, count: int) -> date:
        """Return the day that is ``count`` working days after this one (before it, if negative).

        >>> WorkCalendar().step(date(2026, 11, 27), 2)
        datetime.date(2026, 12, 1)
        """
        one = _DAY if count > 0 else -_DAY
        for _ in range(abs(count)):
            day += one
            while not self.works(day):
                day += one
        return day


def day_in_year(words: str, year: int) -> date:
    """Return the day that a name or a rule means in one year.

    Parameters
    ----------
    words : str
        A name of ``NAMED_DAYS``, or ``november 11``, ``last monday of may``, ``friday after <day>``, ``day before <day>``.

    Raises
    ------
    Unfit
        The words name no day.

    Examples
    --------
    >>> day_in_year("friday after thanksgiving", 2026)
    datetime.date(2026, 11, 27)
    """
    rule = NAMED_DAYS.get(words, words)
    try:
        if found := _FIXED.fullmatch(rule):
            return date(year, _MONTHS.index(found[1]) + 1, int(found[2]))
    except ValueError:
        raise Unfit(found=shown(words), expected="a day of that month") from None
    if found := _OF_MONTH.fullmatch(rule):
        return _of_month(year, _MONTHS.index(found[3]) + 1, found[1], WEEKDAYS.index(found[2]))
    if found := _BESIDE.fullmatch(rule):
        step = _DAY if found[2] == "after" else -_DAY
        day = day_in_year(found[3], year) + step
        while found[1] != "day" and day.weekday() != WEEKDAYS.index(found[1]):
            day += step
        return day
    raise Unfit(
        found=shown(words),
        expected='a day such as "thanksgiving", "november 11", "last monday of may" or "friday after thanksgiving"',
        mend=nearest(words, NAMED_DAYS),
    )


def _of_month(year: int, month: int, nth: str, weekday: int) -> date:
    if nth == "last":
        day = date(year + month // 12, month % 12 + 1, 1) - _DAY
        return day - timedelta(days=(day.weekday() - weekday) % 7)
    day = date(year, month, 1)
    return day + timedelta(days=(weekday - day.weekday()) % 7 + 7 * (_NTH[nth] - 1))


_SHIFTS: dict[Observed, Callable[[int], int]] = {
    "as it falls": lambda weekday: 0,
    "nearest weekday": lambda weekday: {5: -1, 6: 1}.get(weekday, 0),
    "sunday to monday": lambda weekday: {6: 1}.get(weekday, 0),
    "next monday": lambda weekday: {5: 2, 6: 1}.get(weekday, 0),
}


@lru_cache(maxsize=512)
def _holidays_of(holidays: Holidays, year: int) -> tuple[tuple[date, str], ...]:
    """Holidays of one year as observed; the first of January may be observed in the year before."""
    days = _public(holidays, year) if holidays.country else {}
    for words in holidays.drop:
        days.pop(day_in_year(words, year), None)
    days |= {day_in_year(words, year): _title(words) for words in holidays.add}
    shift = _SHIFTS[holidays.observed]
    observed: dict[date, str] = {}
    for day, name in sorted(days.items()):
        moved = day + timedelta(days=shift(day.weekday()))
        while moved > day and (moved in days or moved in observed):
            moved += _DAY
        observed.setdefault(moved, name if moved == day else f"{name}, observed")
    return tuple(observed.items())


def _title(words: str) -> str:
    return " ".join(
        word if word in ("of", "after", "before") else word.capitalize() for word in words.split()
    )


def _public(holidays: Holidays, year: int) -> dict[date, str]:
    from holidays import country_holidays

    try:
        found = country_holidays(
            holidays.country, subdiv=holidays.state or None, years=year, observed=False, language="en_US"
        )
    except NotImplementedError:
        fault = Fault(
            file="rules",
            where="locate_clock holidays",
            found=" ".join(part for part in (holidays.country, holidays.state) if part),
            expected="codes of a country and of a state in it whose public holidays are known",
        )
        raise InputFaults([fault]) from None
    return {day: name for day, name in found.items() if day.year == year}
