"""[[locate_clock]]: how a jurisdiction counts from the call for locates to the start of digging and the end of the ticket."""

from __future__ import annotations

import re
from datetime import time
from typing import Annotated, Literal, Self, TypeAlias

from pydantic import Field, PlainValidator, WithJsonSchema, model_validator

from siteplan.rules.citation import Citation
from siteplan.rules.clock_days import WEEKDAYS, Holidays, Observed, WorkCalendar, day_in_year
from siteplan.rules.clock_rule import ClockRule, ClockStart, DayCall, Event, Gate, LeadUnit, Span, SpanUnit
from siteplan.rules.faults import Unfit, shown
from siteplan.rules.tables import Row, Table, Words

_LEAP_YEAR = 2028
_HOUR = re.compile(r"([01]\d|2[0-3]):[0-5]\d")

Weekday: TypeAlias = Literal["monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"]


def _hour(value: object) -> time:
    if isinstance(value, time):
        return value
    if isinstance(value, str) and _HOUR.fullmatch(value):
        return time.fromisoformat(value)
    raise Unfit(found=shown(value), expected='an hour of the day in quotes, such as "17:00"')


def _day(value: object) -> str:
    if not isinstance(value, str):
        raise Unfit(found=shown(value), expected='a day by name or rule, such as "friday after thanksgiving"')
    day_in_year(value, _LEAP_YEAR)
    return value


Hour: TypeAlias = Annotated[
    time,
    PlainValidator(_hour),
    WithJsonSchema({"type": "string", "pattern": r"^\d\d:\d\d$", "examples": ["17:00"]}),
]
NamedDay: TypeAlias = Annotated[
    str,
    PlainValidator(_day),
    WithJsonSchema(
        {"type": "string", "examples": ["thanksgiving", "last monday of may", "day before christmas"]}
    ),
]


class LeadTable(Table):
    """The wait: ``amount`` and ``unit``."""

    amount: int = Field(ge=1)
    unit: LeadUnit = Field(
        description="hours run on working days only; working or calendar days are whole and must pass; "
        "start date: digging begins on the n-th working day"
    )


class SpanTable(Table):
    """A number of days counted from an event."""

    amount: int = Field(ge=1)
    unit: SpanUnit
    from_: Event = Field(
        default="request",
        alias="from",
        description="request: day of the call; issue: day it counts as received; due: end of the wait; start: earliest start",
    )
    first_day_counts: bool = Field(default=False, description="is that day itself day 1")

    def span(self) -> Span:
        """Return it for the clock."""
        return Span(
            amount=self.amount, unit=self.unit, from_=self.from_, first_day_counts=self.first_day_counts
        )


class LifeTable(SpanTable):
    """How long the ticket holds."""

    rolls: bool = Field(
        default=False, description="a last day that does not count moves to the next that does"
    )


class LatestTable(SpanTable):
    """Latest day to begin."""

    else_void: bool = Field(default=False, description="not begun by then, the ticket is void")


class RenewTable(Table):
    """How long before its end the ticket is renewed."""

    amount: int = Field(ge=1)
    unit: SpanUnit


class DayCallTable(Table):
    """A day of the week whose calls have a rule of their own."""

    day: Weekday
    working_day: int = Field(ge=1, description="due on this working day after the call")
    at: Hour


class HolidaysTable(Table):
    """Days that do not count beside the weekend."""

    country: str = Field(default="", pattern=r"^([A-Z]{2})?$", description="its public holidays, such as US")
    state: str = Field(
        default="", pattern=r"^([A-Z]{2})?$", description="those of a state or province, such as OH"
    )
    add: list[NamedDay] = Field(
        default_factory=list, description="further days; without country the whole list"
    )
    drop: list[NamedDay] = Field(
        default_factory=list, description="days of the country or state that do count"
    )
    observed: Observed = Field(default="as it falls", description="where one on a weekend is kept")

    @model_validator(mode="after")
    def _of_a_country(self) -> Self:
        if (self.state or self.drop) and not self.country:
            raise Unfit(
                found="state or drop without country", expected="the country whose holidays are meant"
            )
        return self


class ClockRow(Row):
    """[[locate_clock]]: from the call to the earliest start, the latest start and the end of the ticket."""

    table = "locate_clock"

    lead: LeadTable | None = Field(
        default=None, description="without it the law sets no time; gate is then answer"
    )
    clock_starts: ClockStart = "next working day"
    day_begins: Hour = Field(
        default=time(0), description="hour at which a counted day begins, and the wait ends"
    )
    further_days: int = Field(default=0, ge=0, description="working days that pass before the clock starts")
    cut_off: Hour | None = Field(
        default=None, description="a call from then on counts as of the next working day"
    )
    opens: Hour = Field(default=time(0), description="hour at which such a call counts as received")
    off_day_call: Literal["as made", "next working day"] = "as made"
    day_calls: list[DayCallTable] = Field(default_factory=list)
    weekend: list[Weekday] = Field(default=["saturday", "sunday"])
    holidays: HolidaysTable = Field(default_factory=HolidaysTable)
    gate: Gate = Field(
        description="clock; silence (none heard is none there); either; both; answer (every owner answers)"
    )
    start_on: Literal["working day", "any day"] = "working day"
    life: LifeTable | None = None
    latest_start: LatestTable | None = None
    renew: RenewTable | None = None
    fields_from_memory: list[Words] = Field(
        default_factory=list, description="what was not read at the source, in words"
    )

    @model_validator(mode="after")
    def _can_be_counted(self) -> Self:
        unit = self.lead.unit if self.lead else None
        if self.lead is None and self.gate != "answer":
            raise Unfit(found=f'gate = "{self.gate}" without lead', expected='lead, or gate = "answer"')
        if unit == "hours" and self.clock_starts == "call day":
            raise Unfit(
                found='hours from "call day"', expected='"at the call", "next day" or "next working day"'
            )
        if unit not in (None, "hours") and self.clock_starts == "at the call":
            raise Unfit(
                found='whole days from "at the call"', expected='"call day", "next day" or "next working day"'
            )
        if unit == "start date" and self.clock_starts == "call day":
            raise Unfit(found='a start date from "call day"', expected='"next day" or "next working day"')
        if len(set(self.weekend)) == len(WEEKDAYS):
            raise Unfit(found="a weekend of seven days", expected="at least one day that counts")
        if self.gate == "answer" and any(
            span and span.from_ == "start" for span in (self.life, self.latest_start)
        ):
            raise Unfit(found='days from "start" where no date frees', expected='"request", "issue" or "due"')
        return self

    def rule(self, citation: Citation) -> ClockRule:
        """Return the rule that the clock runs by."""
        off, life, latest = self.holidays, self.life, self.latest_start
        return ClockRule(
            lead=self.lead.amount if self.lead else None,
            unit=self.lead.unit if self.lead else "working days",
            starts=self.clock_starts,
            starts_at=self.day_begins,
            further_days=self.further_days,
            cut_off=self.cut_off,
            opens=self.opens,
            off_day_call=self.off_day_call,
            day_calls=tuple(
                DayCall(weekday=WEEKDAYS.index(one.day), working_day=one.working_day, at=one.at)
                for one in self.day_calls
            ),
            calendar=WorkCalendar(
                weekend=frozenset(WEEKDAYS.index(day) for day in self.weekend),
                holidays=Holidays(
                    country=off.country,
                    state=off.state,
                    add=tuple(off.add),
                    drop=tuple(off.drop),
                    observed=off.observed,
                ),
            ),
            gate=self.gate,
            start_on=self.start_on,
            life=life.span() if life else None,
            life_rolls=bool(life and life.rolls),
            begin_within=latest.span() if latest else None,
            void_unless_begun=bool(latest and latest.else_void),
            renew=Span(amount=self.renew.amount, unit=self.renew.unit) if self.renew else None,
            from_memory=tuple(self.fields_from_memory),
            citation=citation,
        )

    def in_words(self) -> str:
        """Return the wait, the gate and the life in one line."""
        parts = (
            [f"wait {self.lead.amount} {self.lead.unit}, clock starts {self.clock_starts}"]
            if self.lead
            else []
        )
        parts.append(f"gate: {self.gate}")
        for what, span in (("begin within", self.latest_start), ("ticket holds", self.life)):
            if span:
                parts.append(f"{what} {span.amount} {span.unit} from {span.from_}")
        return "; ".join(parts)
