"""What the call taker of the one-call centre asks, in that order, with what the plan knows; a blank for the rest."""

from __future__ import annotations

from siteplan.document.dig_area import STRIP_M
from siteplan.document.dig_words import land_in_words, sides_in_words, trench_in_words
from siteplan.document.hazards import overhead, overhead_in_words
from siteplan.document.model import Plan
from siteplan.document.words import named
from siteplan.rules.clock import day_words
from siteplan.units import Printer

BLANK = "________________________"


def answers(plan: Plan) -> list[tuple[str, str]]:
    """Questions of the call taker with the answers that the plan knows; a blank for the others."""
    site, paper, printer = plan.site, plan.site.paper, Printer(plan.site.units)
    rules = plan.requirements.locate
    wires = overhead(plan)
    near = [overhead_in_words(plan, found) for found in wires if found.lies != "elsewhere"]
    side = printer.length(STRIP_M)
    deepest = max(station.cut_m for station in plan.works.stations)
    widest = max(section.top_width_m for section in plan.works.sections)
    lines = ", ".join(line.name for line in site.lines)
    sides, land = sides_in_words(plan), land_in_words(plan)
    return [
        ("Caller and company", paper.contractor or BLANK),
        ("Phone", paper.phone or BLANK),
        ("Other contact, e-mail", BLANK),
        ("Work for", paper.owner or BLANK),
        ("Type of work", f"trench for a private well service: {lines}"),
        ("Equipment", site.digging.machine or BLANK),
        (
            "Depth",
            f"{printer.length(deepest)} at the deepest; trench {printer.length(widest)} wide at the top",
        ),
        ("Explosives, boring, near a railway", _boring(plan)),
        ("Start date and time; how long", _start(plan)),
        ("County, town, in or out of limits", BLANK),
        ("Address", paper.address or BLANK),
        ("Nearest cross street, distance and direction", BLANK),
        ("How to get there", paper.directions or BLANK),
        ("Parcel, subdivision, lot", paper.legal or paper.parcel_number or BLANK),
        ("Township, range, section", BLANK),
        ("Latitude, longitude of the well", _well_on_earth(plan)),
        *(_where_to_mark(plan)),
        (
            "Front, rear or side of the property",
            f"{sides}; front, rear or side: __________" if sides else BLANK,
        ),
        ("Private land or right-of-way", land or BLANK),
        ("Marked in white", "[ ] yes  [ ] no, on ______________"),
        (
            f"Overhead lines within {side}",
            f"yes: {'; '.join(near)}" if near else _overhead_no(bool(wires)),
        ),
        ("Gates, dogs, access", f"{site.digging.way_in}; " * bool(site.digging.way_in) + _GATES),
        ("Special instructions", BLANK),
        ("Notice that the rules ask", f"{rules.notice}; confirm with the one-call centre"),
        ("Ticket life", f"{rules.life}; confirm with the one-call centre"),
        *dates(plan),
    ]


_GATES = "gate locked [ ] yes [ ] no; dogs [ ] yes [ ] no; ask for __________"


def dates(plan: Plan) -> list[tuple[str, str]]:
    """Ticket number and dig dates: worked out where the time of the call and the rule are known, else blank."""
    known, ticket = plan.locate_dates, ("Ticket number", BLANK)
    if known is None:
        unknown = "the rules held do not say how the wait is counted: ask the one-call centre"
        told = [("Dates from the time of the call", unknown)] if plan.call else []
        return [*told, ticket, ("Dig from", BLANK), ("Renew by; expires", BLANK)]
    start = (
        f"{day_words(known.start)}, if the ticket says no later"
        if known.start
        else "when every owner has answered"
    )
    ends = (("renew by", known.refresh_by), ("expires at the end of", known.expires))
    life = "; ".join(f"{what} {day_words(day)}" for what, day in ends if day)
    return [
        ("Dates from the time of the call", " ".join(known.words)),
        ticket,
        ("Dig from", start),
        ("Renew by; expires", f"{life}, if the ticket says no earlier" if life else BLANK),
    ]


def _where_to_mark(plan: Plan) -> list[tuple[str, str]]:
    reaches = plan.layout.reaches
    if len(reaches) == 1:
        return [("Where to mark", trench_in_words(plan, reaches[0]))]
    return [(f"Where to mark, trench {reach.name}", trench_in_words(plan, reach)) for reach in reaches]


def _start(plan: Plan) -> str:
    known = plan.locate_dates
    if known is None or known.start is None:
        return BLANK
    return f"__________, not before {day_words(known.start)}; for ______ days"


def _boring(plan: Plan) -> str:
    under = dict.fromkeys(
        named(plan, bored.feature) for reach in plan.layout.reaches for bored in reach.bored
    )
    return f"boring under {', '.join(under)}; explosives, railway: {BLANK}" if under else BLANK


def _overhead_no(any_drawn: bool) -> str:
    return "none drawn nearer; look up on the day" if any_drawn else "none drawn; look up on the day"


def _well_on_earth(plan: Plan) -> str:
    if not plan.frame.placed:
        return BLANK
    spot = plan.frame.to_lonlat(plan.site.well.shape).centroid
    return f"{spot.y:.6f}, {spot.x:.6f} (WGS 84)"
