"""The owner's picture: on one page, in plain words, what is torn up, for how long, at what price, and what to do."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

from siteplan.document.hazards import overhead
from siteplan.document.model import Plan
from siteplan.document.pages import Book, Flow, make_book
from siteplan.document.pdf import Pen, shorten, wrap
from siteplan.document.picture_map import LARGE_PT, draw_picture
from siteplan.document.private_lines import not_located
from siteplan.document.sheet import LETTER, Box, Paper
from siteplan.document.words import feature_name, named
from siteplan.measure.prices import total
from siteplan.measure.torn_up import TornUp, torn_up
from siteplan.measure.way_in import way_in
from siteplan.measure.work_days import days_of
from siteplan.units import Printer, money

_LEAST_PICTURE_PT = 200.0
_GAP_PT = 11.0
_DASH_PT = 12.0
_LEADING = 1.18
_MOST_NAMED = 3
_NAME_PT = 180.0
"""Longest name in the words [points]."""


class _Line(NamedTuple):
    dash: str
    text: str
    bold: bool = False


def picture(plan: Plan, paper: Paper = LETTER) -> bytes:
    """Print the owner's picture.

    Parameters
    ----------
    plan : Plan
    paper : Paper
        Upright.

    Returns
    -------
    bytes
        A PDF of one page, if the words leave room for a drawing. The same plan gives the same bytes.
    """
    strip = torn_up(plan.site, plan.requirements, plan.layout, plan.works)
    left = (("What is dug up", [*_dug_up(plan, strip)]), ("Take care", [*_care(plan)]))
    right = (("What it costs", [*_costs(plan)]), ("What you do", [*_you_do(plan)]))

    def draw(book: Book) -> None:
        flow = Flow(book)
        width = (flow.width - _GAP_PT) / 2
        columns = [[line for part in side for line in _lines(*part, width)] for side in (left, right)]
        tall = max(len(lines) for lines in columns) * LARGE_PT * _LEADING
        height = max(_LEAST_PICTURE_PT, flow.room - tall - _GAP_PT)
        flow.block(height, lambda box: draw_picture(book.pen, plan, strip, box, words=book.total > 0))
        flow.block(min(tall, flow.full_room), lambda box: _set(book.pen, box, columns))

    return make_book(plan, "PICTURE FOR THE OWNER", paper, draw)


def _lines(head: str, items: Sequence[str], width: float) -> list[_Line]:
    """Words of one part as lines: its head, then its items, each with a dash."""
    lines = [_Line("", head, bold=True)]
    for item in items:
        wrapped = wrap(item, width - _DASH_PT, LARGE_PT)
        lines += [_Line("" if n else "–", text) for n, text in enumerate(wrapped)]
    return lines


def _set(pen: Pen, box: Box, columns: Sequence[Sequence[_Line]]) -> None:
    for n, lines in enumerate(columns):
        x, y = box.x + n * (box.width + _GAP_PT) / 2, box.top
        for line in lines:
            y -= LARGE_PT * _LEADING
            pen.text(x, y + 3, line.dash, LARGE_PT)
            pen.text(x + (0.0 if line.bold else _DASH_PT), y + 3, line.text, LARGE_PT, bold=line.bold)


def _dug_up(plan: Plan, strip: TornUp) -> Iterator[str]:
    site, works, printer = plan.site, plan.works, Printer(plan.site.units)
    deepest = max(station.cut_m for station in works.stations)
    widest = max(section.top_width_m for section in works.sections)
    yield (
        f"Thick: trench {printer.length(plan.layout.length_m)} long, {printer.length(widest)} wide,"
        f" up to {printer.length(deepest)} deep."
    )
    yield f"Slanted: dirt pile. Dashed: room for the machine. In all {printer.area(strip.ground.area)}."
    days = days_of(plan.layout, works)
    yield f"Open about {days.few} to {days.many} work days (a guess)."
    yield _comes_in(plan)
    roots = dict.fromkeys(named(plan, each.to) for each in plan.findings if each.topic == "roots")
    if roots:
        yield f"Roots are cut or dug round by hand: {_some(roots)}."
    elif any(site.of_kind("tree")):
        yield "The trench keeps off the tree roots."
    back = [row.what.removesuffix(" put back") for row in works.prices if row.row.startswith("restore-")]
    if back:
        yield f"Put back over the trench: {', '.join(back)}. It sinks at first."


def _comes_in(plan: Plan) -> str:
    if plan.site.digging.way_in:
        return f"Machine comes in: {plan.site.digging.way_in}."
    found = way_in(plan.site)
    if found is None:
        return "Machine comes in: ______________"
    return f"Machine comes in by {_some([named(plan, found[0])])}? Agree on it."


def _costs(plan: Plan) -> Iterator[str]:
    prices, currency = plan.works.prices, plan.site.rates.currency
    if prices:
        low, likely, high = (money(each, currency) for each in total(prices))
        rough = "" if all(row.stated for row in prices) else " Rough, no offer."
        yield f"Trench: likely {likely}, from {low} to {high}.{rough}"
    private = not_located(plan)
    harm = f", harm to your {len(private)} unmarked line{'s' * (len(private) > 1)}" if private else ""
    yield (
        "Not in it: pipe, wire, pump, permits, electrician, rock, water in the ground,"
        f" ground under pile and machine{harm}."
    )


def _you_do(plan: Plan) -> Iterator[str]:
    private = not_located(plan)
    known = f": {_some(feature_name(each) for each in private)}" if private else ""
    yield f"Mark your own buried lines{known}. Sign their page."
    if any(section.surface == "drive" for section in plan.works.sections):
        yield "Cars out before the drive is cut."
    yield "Clear the strip of all you want to keep."
    yield "Keep children and dogs off, day and night."


def _care(plan: Plan) -> Iterator[str]:
    call = plan.requirements.locate.call or "the one-call centre"
    yield f"No digging before {call} was called and every owner has answered."
    yield "Stay out of the trench: its walls fall."
    if overhead(plan):
        yield "Overhead wires: raise nothing near them."
    yield "Do not drink until the water is tested."


def _some(names: Iterable[str]) -> str:
    every = list(names)
    more = f" and {len(every) - _MOST_NAMED} more" if len(every) > _MOST_NAMED else ""
    return ", ".join(shorten(name, _NAME_PT, LARGE_PT) for name in every[:_MOST_NAMED]) + more
