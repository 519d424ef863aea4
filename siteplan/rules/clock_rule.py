"""How one jurisdiction counts from the call for locates: the rule that the locate clock runs by."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import time
from typing import Literal

from siteplan.rules.citation import Citation
from siteplan.rules.clock_days import WorkCalendar

LeadUnit = Literal["hours", "working days", "calendar days", "start date"]
ClockStart = Literal["at the call", "call day", "next day", "next working day"]
Gate = Literal["clock", "silence", "either", "both", "answer"]
SpanUnit = Literal["working days", "calendar days"]
Event = Literal["request", "issue", "due", "start"]

MIDNIGHT = time(0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """A number of days; ``from_`` says from where they are counted, ``first_day_counts`` if that day is day 1."""

    amount: int
    unit: SpanUnit
    from_: Event = "request"
    first_day_counts: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class DayCall:
    """A call on one day of the week with a rule of its own: due at an hour of the n-th working day after it."""

    weekday: int
    working_day: int
    at: time


@dataclass(frozen=True, slots=True, kw_only=True)
class ClockRule:
    """How one jurisdiction counts.

    Attributes
    ----------
    lead, unit : int or None, LeadUnit
        The wait. ``hours`` run on working days only, around the clock. ``working days`` and ``calendar days`` are whole days
        that must pass. ``start date``: digging begins on the n-th working day. ``None``: the law sets no time.
    starts : ClockStart
        When it begins to count: at the minute of the call, with the call day as day 1, or on the (working) day after it.
    starts_at : time
        Hour at which such a day begins, and the wait ends.
    further_days : int
        Working days that pass before that.
    cut_off, opens : time or None, time
        A call at or after ``cut_off`` counts as received when the next working day opens.
    off_day_call : {"as made", "next working day"}
        When a call on a day that does not count is received.
    day_calls : tuple of DayCall
        Days of the week with a rule of their own.
    calendar : WorkCalendar
        Days that do not count.
    gate : Gate
        What frees: the clock or the owners' answers.
    start_on : {"working day", "any day"}
        Whether the start moves on from a day that does not count.
    life : Span or None
        How long the ticket holds; ``life_rolls``: a last day that does not count moves on.
    begin_within : Span or None
        Latest start. ``void_unless_begun``: otherwise the ticket is void.
    renew : Span or None
        How long before the end to renew; ``None``: so early that the new wait ends in time.
    from_memory : tuple of str
        What was not read at the source, in words.
    """

    lead: int | None
    unit: LeadUnit = "working days"
    starts: ClockStart = "next working day"
    starts_at: time = MIDNIGHT
    further_days: int = 0
    cut_off: time | None = None
    opens: time = MIDNIGHT
    off_day_call: Literal["as made", "next working day"] = "as made"
    day_calls: tuple[DayCall, ...] = ()
    calendar: WorkCalendar = field(default_factory=WorkCalendar)
    gate: Gate = "clock"
    start_on: Literal["working day", "any day"] = "working day"
    life: Span | None = None
    life_rolls: bool = False
    begin_within: Span | None = None
    void_unless_begun: bool = False
    renew: Span | None = None
    from_memory: tuple[str, ...] = ()
    citation: Citation
