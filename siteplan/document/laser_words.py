"""What the route sheet says to whoever holds the rod: the bench mark, how to set up, where one reading holds."""

from __future__ import annotations

from siteplan.document.hazards import span
from siteplan.document.model import Plan
from siteplan.document.pages import Flow
from siteplan.document.table import Cell, Column, Row, Table
from siteplan.measure.laser import HELD_WITHIN_FT_M, HELD_WITHIN_M
from siteplan.measure.model import BenchMark
from siteplan.units import Printer

_BLANK = "________"


def laser(flow: Flow, plan: Plan) -> None:
    """Place the words of the laser and the table of held readings; nothing without levels."""
    mark, say = plan.works.bench_mark, plan.say
    if mark is None:
        return
    flow.heading(say("Laser"), below=60)
    for words in _set_up(plan, mark):
        flow.text(words)
    held = [
        Row(
            (
                f"{one.reach} {span(Printer(plan.site.units), one.from_m, one.to_m, say)}",
                Cell(rod(plan, mark, one.level_m), bold=True),
            )
        )
        for one in plan.works.held
    ]
    if held:
        flow.text(say("One rod reading holds here, the bottom within {within} of it:", within=_within(plan)))
        columns = (Column(say("From, to"), 3), Column(rod_heading(plan, mark), 2, "right"))
        flow.table(Table(columns, held, flow.width / 2, pad=2.0))
        flow.text(say("Elsewhere the bottom follows the ground: read the rod at every station."))
    else:
        flow.text(
            say("No one reading holds: the bottom follows the ground. Read the rod at every station."),
            bold=True,
        )


def rod_heading(plan: Plan, mark: BenchMark) -> str:
    """Head of the column of rod readings: what stands there, or what is to be added to the rod on the bench mark."""
    return plan.say("Rod at bottom" if mark.rod_m is not None else "Add to rod on BM")


def rod(plan: Plan, mark: BenchMark, level_m: float) -> str:
    """Rod reading at a level, or what is added to the rod on the bench mark: "+5.3"; a dash over the laser."""
    printer, below_m = Printer(plan.site.units), mark.below_m(level_m)
    if mark.rod_m is not None:
        return printer.number(mark.rod_m + below_m) if mark.rod_m + below_m >= 0 else "–"
    sign = "" if printer.number(below_m).startswith("-") else "+"
    return sign + printer.number(below_m)


def _set_up(plan: Plan, mark: BenchMark) -> list[str]:
    say, printer = plan.say, Printer(plan.site.units)
    at = mark.at or say(
        "the ground at {reach} {station}", reach=mark.reach, station=printer.station(mark.distance_m)
    )
    said = [say("Bench mark (BM): {at}, elevation {level}.", at=at, level=printer.number(mark.elevation_m))]
    if not mark.at:
        said.append(
            say(
                "Nobody stated a bench mark; this is the ground as the levels give it, good to no better than they are."
                " Level a firm point from it before the ground is dug."
            )
        )
    if mark.rod_m is None:
        said.append(
            say(
                "Set the laser up, read the rod on the bench mark: {blank}. Rod at the bottom = that reading + the number"
                " in the column. Height of instrument (HI) = elevation + that reading: {blank}.",
                blank=_BLANK,
            )
        )
    else:
        said.append(
            say(
                "Rod on the bench mark {rod}: height of instrument (HI) {level}. If you read another, rod at the bottom ="
                " HI - bottom elevation.",
                rod=printer.number(mark.rod_m),
                level=printer.number(mark.elevation_m + mark.rod_m),
            )
        )
    said.append(
        say(
            "Where the reading is longer than the rod, or over the laser, move it: carry the level over a firm point."
            " Check: the rod on the bench mark again, before and after each move."
        )
    )
    return said


def _within(plan: Plan) -> str:
    return Printer(plan.site.units).length(HELD_WITHIN_M if plan.site.units == "m" else HELD_WITHIN_FT_M)
