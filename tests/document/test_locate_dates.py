"""The dig dates on the sheets: a date where one frees, words where only answers do, blanks where no rule counts."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from sample_plan import cite, sample_plan

from siteplan.document.locate_request import answers, locate_request_text
from siteplan.document.model import Plan
from siteplan.document.route_sheet import route_sheet
from siteplan.document.summary import summary
from siteplan.rules.clock_rule import ClockRule, Gate, Span
from tests.document.printed import pages, sheet_of

CALL = datetime(2026, 6, 1, 10)


def planned(gate: Gate) -> Plan:
    clock = ClockRule(
        lead=2,
        gate=gate,
        life=Span(amount=21, unit="calendar days"),
        citation=cite("us-xx-clock", "X. Code 1"),
    )
    plan = sample_plan()
    return replace(plan, requirements=replace(plan.requirements, clock=clock), call=CALL)


def first_page(plan: Plan) -> str:
    return pages(sheet_of(route_sheet, plan))[0]


def test_a_clock_gives_the_date() -> None:
    plan = planned("clock")
    told = dict(answers(plan))
    assert told["Dig from"] == "Thu 4 Jun 2026, if the ticket says no later"
    assert "expires at the end of Mon 22 Jun 2026, if the ticket says no earlier" in told["Renew by; expires"]
    assert "X. Code 1" in told["Dates from the time of the call"]
    assert "Dig from: Thu 4 Jun 2026" in locate_request_text(plan)
    assert "Thu 4 Jun" in first_page(plan)
    assert "Mon 22 Jun" in first_page(plan)
    assert "Earliest start Thu 4 Jun 2026." in summary(plan)


def test_an_answer_gate_gives_no_date() -> None:
    plan = planned("answer")
    assert dict(answers(plan))["Dig from"] == "when every owner has answered"
    assert "when all answer" in first_page(plan)
    assert "Earliest start" not in summary(plan)


def test_a_call_without_a_rule_says_so() -> None:
    plan = replace(sample_plan(), call=CALL)
    assert plan.locate_dates is None
    told = dict(answers(plan))
    assert "ask the one-call centre" in told["Dates from the time of the call"]
    assert set(told["Dig from"]) == {"_"}
    assert "ask the one-call centre" in summary(plan)


def test_a_row_that_nobody_verified_says_so_beside_the_date() -> None:
    plan = planned("clock")
    clock = plan.requirements.clock
    assert clock is not None
    doubtful = replace(clock, citation=replace(clock.citation, standing="secondary"))
    plan = replace(plan, requirements=replace(plan.requirements, clock=doubtful))
    assert "Mon 1 Jun 2026 10:00 (unconfirmed)." in first_page(plan)


def test_the_longest_date_leaves_room_for_the_ticket_number() -> None:
    hours = ClockRule(
        lead=48,
        unit="hours",
        starts="at the call",
        life=Span(amount=21, unit="calendar days"),
        citation=cite("us-xx-clock", "X. Code 1"),
    )
    plan = planned("clock")
    plan = replace(
        plan, requirements=replace(plan.requirements, clock=hours), call=datetime(2026, 11, 25, 22, 58)
    )
    said = first_page(plan)
    assert "Fri 27 Nov 22:58" in said
    assert "Wed 16 Dec" in said
