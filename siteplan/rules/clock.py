"""The locate clock: from the time of the call to the earliest legal start, the latest start and the end of the ticket.

Each jurisdiction counts in its own way; a ``ClockRule`` says how. All times are local wall times. Nothing here looks at the
clock of the machine. What comes out is arithmetic on a rule as read: the one-call centre and the ticket decide.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta

from siteplan.errors import Fault, InputFaults
from siteplan.rules.clock_days import WorkCalendar
from siteplan.rules.clock_rule import MIDNIGHT, ClockRule, Event, Gate, Span

CONFIRM = "Confirm with the one-call centre; the dates on the ticket count."
_FIRST_YEAR, _LAST_YEAR = 2000, 2100

GATES: dict[Gate, str] = {
    "clock": "the end of the wait frees; look for every owner's mark or answer all the same",
    "silence": "the end of the wait frees; an owner who neither marks nor answers counts as having no line there",
    "either": "free at the end of the wait, or earlier once every owner has answered",
    "both": "free only when the wait is over and every owner has answered",
    "answer": "no date frees: wait until every owner has answered",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class LocateDates:
    """What follows from one call.

    Attributes
    ----------
    call, received : datetime
        As made, and as it counts.
    due : datetime or None
        End of the wait; with an answer gate the time the owners have.
    start : datetime or None
        Earliest legal start; ``None`` if no date frees.
    gate : str
        What frees, in words.
    latest_start, refresh_by, expires : date or None
        Last days to begin, to renew, and on which the ticket holds, for work that begins at the earliest start; ``None``: the
        rules held say nothing.
    skipped : tuple of (date, str)
        Holidays inside the wait.
    words : tuple of str
        All of it as it prints, one line each, the last one ``CONFIRM``.
    """

    call: datetime
    received: datetime
    due: datetime | None
    start: datetime | None
    gate: str
    latest_start: date | None
    refresh_by: date | None
    expires: date | None
    skipped: tuple[tuple[date, str], ...]
    words: tuple[str, ...] = ()


def call_time(words: str) -> datetime:
    """Read a time of call such as ``2026-11-25 15:00``, local wall time.

    Raises ``InputFaults`` if it is none.

    >>> call_time("2026-11-25 15:00")
    datetime.datetime(2026, 11, 25, 15, 0)
    """
    try:
        call = datetime.strptime(words.strip(), "%Y-%m-%d %H:%M")
    except ValueError:
        call = datetime.min
    if not _FIRST_YEAR <= call.year <= _LAST_YEAR:
        expected = f'a local time such as "2026-11-25 15:00", {_FIRST_YEAR} to {_LAST_YEAR}'
        raise InputFaults([Fault(file="--call", found=f'"{words}"', expected=expected)])
    return call


def locate_dates(rule: ClockRule, call: datetime) -> LocateDates:
    """Work out the dates that follow from a call.

    Parameters
    ----------
    rule : ClockRule
    call : datetime
        Local wall time, without time zone.

    Examples
    --------
    Two whole working days, the day of the call not counted; Thursday 26 November is a holiday:

    >>> from siteplan.rules.clock_days import Holidays
    >>> from siteplan.rules.citation import Citation
    >>> cited = Citation(row="xx-clock", layer="xx", text="an example", standing="memory")
    >>> calendar = WorkCalendar(holidays=Holidays(add=("thanksgiving",)))
    >>> locate_dates(ClockRule(lead=2, calendar=calendar, citation=cited), datetime(2026, 11, 25, 15)).start
    datetime.datetime(2026, 12, 1, 0, 0)
    """
    received = _received(rule, call)
    due = _due(rule, call, received)
    start = None if due is None or rule.gate == "answer" else _on_allowed_day(rule, due)
    days: dict[Event, date | None] = {
        "request": call.date(),
        "issue": received.date(),
        "due": _last_day_before(due) if due else None,
        "start": start.date() if start else None,
    }
    expires = _last_day(rule, rule.life, days)
    if expires and rule.life_rolls and not rule.calendar.works(expires):
        expires = rule.calendar.next_working(expires)
    dates = LocateDates(
        call=call,
        received=received,
        due=due,
        start=start,
        gate=GATES[rule.gate],
        latest_start=_last_day(rule, rule.begin_within, days),
        refresh_by=_refresh_by(rule, call, expires) if expires else None,
        expires=expires,
        skipped=tuple(_skipped(rule, call, start or due)),
    )
    return replace(dates, words=tuple(_words(rule, dates)))


def day_words(day: date, *, year: bool = True) -> str:
    """Return a day as it prints, with its hour if it is a time other than midnight.

    >>> day_words(datetime(2026, 11, 30, 15)), day_words(date(2026, 12, 2))
    ('Mon 30 Nov 2026 15:00', 'Wed 2 Dec 2026')
    """
    hour = f" {day:%H:%M}" if isinstance(day, datetime) and day.time() != MIDNIGHT else ""
    return f"{day:%a} {day.day} {day:%b}{f' {day.year}' if year else ''}{hour}"


def _received(rule: ClockRule, call: datetime) -> datetime:
    day = call.date()
    if rule.calendar.works(day):
        if rule.cut_off is None or call.time() < rule.cut_off:
            return max(call, datetime.combine(day, rule.opens))
    elif rule.off_day_call == "as made":
        return call
    return datetime.combine(rule.calendar.next_working(day), rule.opens)


def _due(rule: ClockRule, call: datetime, received: datetime) -> datetime | None:
    calendar = rule.calendar
    if rule.lead is None:
        return None
    for special in rule.day_calls:
        if call.weekday() == special.weekday:
            return datetime.combine(calendar.step(call.date(), special.working_day), special.at)
    begins = _begins(rule, received)
    if rule.unit == "hours":
        return _run(calendar, begins, timedelta(hours=rule.lead))
    if rule.unit == "calendar days":
        return datetime.combine(begins.date() + timedelta(days=rule.lead), rule.starts_at)
    first = begins.date() if calendar.works(begins.date()) else calendar.next_working(begins.date())
    last = calendar.step(first, rule.lead - 1)
    return datetime.combine(last + timedelta(days=rule.unit != "start date"), rule.starts_at)


def _begins(rule: ClockRule, received: datetime) -> datetime:
    """When the wait begins to run."""
    day = received.date()
    if rule.starts == "at the call":
        begins = received
    elif rule.starts == "call day":
        begins = datetime.combine(day, rule.starts_at)
    elif rule.starts == "next day":
        begins = datetime.combine(day + timedelta(days=1), rule.starts_at)
    else:
        begins = datetime.combine(rule.calendar.next_working(day), rule.starts_at)
    return (
        datetime.combine(rule.calendar.step(begins.date(), rule.further_days), begins.time())
        if rule.further_days
        else begins
    )


def _run(calendar: WorkCalendar, moment: datetime, left: timedelta) -> datetime:
    """Let hours run from a moment on; those of days that do not count stand still."""
    while True:
        midnight = datetime.combine(moment.date() + timedelta(days=1), MIDNIGHT)
        if calendar.works(moment.date()):
            if left <= midnight - moment:
                return moment + left
            left -= midnight - moment
        moment = midnight


def _on_allowed_day(rule: ClockRule, due: datetime) -> datetime:
    if rule.start_on == "any day" or rule.calendar.works(due.date()):
        return due
    return datetime.combine(rule.calendar.next_working(due.date()), rule.starts_at)


def _last_day_before(moment: datetime) -> date:
    """Day on which a wait ends: one that ends at midnight ends on the day before."""
    return (moment - timedelta(microseconds=1)).date()


def _last_day(rule: ClockRule, span: Span | None, days: dict[Event, date | None]) -> date | None:
    first = days[span.from_] if span else None
    if span is None or first is None:
        return None
    if span.unit == "calendar days":
        return first + timedelta(days=span.amount - span.first_day_counts)
    counts = span.first_day_counts and rule.calendar.works(first)
    return rule.calendar.step(first, span.amount - counts)


def _refresh_by(rule: ClockRule, call: datetime, expires: date) -> date | None:
    """Last working day on which renewing is in time."""
    if rule.renew and rule.renew.unit == "working days":
        return rule.calendar.step(expires, -rule.renew.amount)
    if rule.renew:
        day = expires - timedelta(days=rule.renew.amount)
        return day if rule.calendar.works(day) else rule.calendar.step(day, -1)
    end = datetime.combine(expires + timedelta(days=1), MIDNIGHT)
    day = expires
    while day > call.date():
        again = datetime.combine(day, call.time())
        due = _due(rule, again, _received(rule, again))
        if due and due <= end and rule.calendar.works(day):
            return day
        day -= timedelta(days=1)
    return None


def _skipped(rule: ClockRule, call: datetime, end: datetime | None) -> Iterator[tuple[date, str]]:
    day = call.date()
    while end and day <= _last_day_before(end):
        name = rule.calendar.holiday(day)
        if name and day.weekday() not in rule.calendar.weekend:
            yield day, name
        day += timedelta(days=1)


def _words(rule: ClockRule, dates: LocateDates) -> Iterator[str]:
    unconfirmed = "" if rule.citation.confirmed else " (unconfirmed)"
    late = f", counts as received {day_words(dates.received)}" if dates.received != dates.call else ""
    yield f"Call {day_words(dates.call)}{late}."
    if dates.start:
        yield f"Earliest start {day_words(dates.start)}{unconfirmed}."
    elif dates.due:
        yield f"Owners have until {day_words(dates.due)} to answer{unconfirmed}."
    yield f"{dates.gate.capitalize()}."
    if dates.skipped:
        yield f"Does not count: {'; '.join(f'{day_words(day)}, {name}' for day, name in dates.skipped)}."
    if dates.latest_start:
        void = ", or the ticket is void" if rule.void_unless_begun else ""
        yield f"Begin by the end of {day_words(dates.latest_start)}{void}."
    if dates.refresh_by:
        yield f"Renew by {day_words(dates.refresh_by)} if work goes on."
    if dates.expires:
        start = (
            ", for work that begins at the earliest start" if rule.life and rule.life.from_ == "start" else ""
        )
        yield f"Ticket holds to the end of {day_words(dates.expires)}{start}, as long as the marks can be seen."
    if rule.from_memory:
        yield f"Not read at the source: {'; '.join(rule.from_memory)}."
    yield f"{rule.citation.text}{f', {rule.citation.edition}' if rule.citation.edition else ''}."
    yield CONFIRM
