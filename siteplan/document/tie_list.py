"""The tie list: what to tape at each place of the line before it is covered, the distances to expect, and blanks to fill in."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import product

from siteplan.document.cautions import cautions
from siteplan.document.model import Plan
from siteplan.document.pages import SMALL_PT, WARNING_PT, Book, Flow, make_book
from siteplan.document.pdf import HAIR, Pen, text_width
from siteplan.document.rule_words import on_every_sheet
from siteplan.document.sheet import LETTER, Box, Paper, Viewport
from siteplan.document.symbols import LETTERS
from siteplan.document.table import Cell, Column, Row, Table
from siteplan.document.tie_table import (
    Beside,
    Spot,
    corner_names,
    key_plan,
    letters_in_words,
    place_in_words,
    view_of,
)
from siteplan.document.words import coded
from siteplan.measure.tie_list import TiePoint, tie_points
from siteplan.plane.corners import LEAST_CROSSING_DEG
from siteplan.units import Printer

_PART = "Before backfill. No entry unprotected. Call for locates."
_PAD_PT = 2.0
_SIGNED = ("Date", "Crew", "Ticket no.")
_SIGN_PT = 18.0
_BLANKS_PT = (20.0, 16.0)
_EMPTY_ROWS = (3, 1)
_MORE_KEY_PT = (140.0, 70.0, 0.0)
_LEAST_KEY_PT = 196.0


def tie_list(plan: Plan, paper: Paper = LETTER) -> bytes:
    """Print the tie list.

    Parameters
    ----------
    plan : Plan
    paper : Paper
        Upright.

    Returns
    -------
    bytes
        A PDF: warnings, how to tape, key plan, one row a place. The same plan gives the same bytes.
    """
    points = tie_points(plan.site, plan.layout, plan.works)

    def draw(book: Book) -> None:
        flow = Flow(book, _PART)
        flow.text(
            "TAKE TIES BEFORE BACKFILL. DO NOT ENTER THE TRENCH UNPROTECTED. CALL FOR LOCATES AND WAIT.",
            size=WARNING_PT - 1,
            bold=True,
        )
        said = [each.text for each in cautions(plan) if each.id in ("entry", "stop")]
        call = f"Call {plan.requirements.locate.call} before you dig."
        flow.text(" ".join((call, *said, *on_every_sheet(plan))), size=SMALL_PT)
        flow.block(_SIGN_PT, lambda box: _draw_signed(book.pen, box))
        beside = Beside(_how(plan, points))
        least = max(_LEAST_KEY_PT, beside.height)
        corners = [*(point.corner for point in points), *corner_names(point.ties for point in points)]
        spots = [Spot(point.x, point.y, str(point.number)) for point in points]

        def key_view(box: Box) -> Viewport:
            return view_of(plan, beside.rest(box), spots, corners)

        def top(box: Box) -> None:
            beside.draw(book.pen, box)
            key_plan(book.pen, plan, key_view(box), spots, corners)

        def ratio(height: float) -> float:
            return key_view(Box(0, 0, flow.width, height)).scale.ratio

        table, height = _best_set(plan, points, flow, [least + more for more in _MORE_KEY_PT], ratio)
        flow.block(height, top)
        flow.table(table)

    return make_book(plan, "TIE LIST", paper, draw)


def _how(plan: Plan, points: Sequence[TiePoint]) -> list[str]:
    """How to fill in the list, one sentence or two each."""
    printer = Printer(plan.site.units)
    aside_m = max((abs(laid.offset_m) for each in plan.works.sections for laid in each.lines), default=0.0)
    off = printer.length(plan.site.digging.laying.radius_m + aside_m)
    longest_m = max((tie.tape_m for point in points for tie in point.ties), default=0.0)
    unit = "metres" if plan.site.units == "m" else "inches"
    return [
        f"TIES in {printer.unit}: tape level, from the corner named (C1, C2 on the key plan) to the water line (where there"
        " is none, to the conduit), a plumb stick held over it from the trench edge.",
        f"Printed: to the middle of the trench as planned. Write what you read; off by more than {off}, tape again"
        " and write that. Tape C is a check: it tells the place from its mirror image."
        f" Longest tape {printer.length(longest_m)}.",
        f"COVER in {unit}, finished grade to top of line. Printed: the least that the rules ask. Less: stop, do not"
        f" backfill. {letters_in_words(plan.site.lines)}.",
        "PHOTO with the tape in it: write its number.",
        "A splice, or what is not as planned: use an empty row.",
    ]


def _draw_signed(pen: Pen, box: Box) -> None:
    """Draw lines to sign on, side by side."""
    for n, label in enumerate(_SIGNED):
        left, right = (box.x + box.width * part / len(_SIGNED) for part in (n, n + 1))
        pen.text(left, box.y + 2, label, SMALL_PT, bold=True)
        pen.line([(left + text_width(label, SMALL_PT, bold=True) + 4, box.y), (right - 8, box.y)], HAIR)


def _best_set(
    plan: Plan,
    points: Sequence[TiePoint],
    flow: Flow,
    heights: Sequence[float],
    ratio: Callable[[float], float],
) -> tuple[Table, float]:
    """Set the table under a key plan of one of some heights.

    On the fewest pages; then with the key plan at the largest scale, room to write, and rows left empty.
    """
    tables = {
        (blank, empty): _table(plan, points, flow.width, blank, empty)
        for blank, empty in product(_BLANKS_PT, _EMPTY_ROWS)
    }

    def cost(choice: tuple[float, int, float]) -> tuple[float, ...]:
        blank, empty, height = choice
        pieces = tables[blank, empty].pieces(flow.room - height - 10, flow.full_room)
        return sum(1 for _ in pieces), ratio(height), -blank, -empty, height

    blank, empty, height = min(product(_BLANKS_PT, _EMPTY_ROWS, heights), key=cost)
    return tables[blank, empty], height


def _table(plan: Plan, points: Sequence[TiePoint], width: float, blank: float, empty: int) -> Table:
    columns = (
        Column("No.", 28),
        Column("Place", 112),
        Column("Tape A", 84),
        Column("Tape B", 84),
        Column("Tape C", 84),
        Column("Cover", 84),
        Column("Photo", 38),
        Column("Initials", 46),
    )
    rows = [*(_row(plan, point) for point in points), *[Row(("",) * len(columns), least_height=26.0)] * empty]
    return Table(columns, rows, width, pad=_PAD_PT, blank=blank)


def _row(plan: Plan, point: TiePoint) -> Row:
    printer = Printer(plan.site.units)
    ties = [Cell(coded(plan, tie.name), blanks=(printer.number(tie.tape_m),)) for tie in point.ties]
    if len(ties) == 2 and point.side:
        ties.append(Cell(f"none: {point.side} of the line A to B"))
    ties += [Cell("–")] * (3 - len(ties))
    return Row(
        (
            Cell(str(point.number), WARNING_PT, bold=True),
            _place(printer, point),
            *ties,
            Cell("", blanks=_covers(plan, point, printer)),
            "",
            "",
        )
    )


def _place(printer: Printer, point: TiePoint) -> str:
    words = f"{place_in_words(printer, point.places)}\n{point.what.replace(' deg', '°')}"
    if point.corner:
        return f"{words}; a corner itself"
    if len(point.ties) < 2:
        return f"{words}; TOO FEW CORNERS IN SIGHT: tape along the trench too"
    if point.crossing_deg < LEAST_CROSSING_DEG:
        words += "; TAPES CROSS FLAT, tape twice"
    return f"{words}; {point.side} of the line A to B" if point.side and len(point.ties) > 2 else words


def _covers(plan: Plan, point: TiePoint, printer: Printer) -> tuple[str, ...]:
    """Letter and least cover of each line, alike ones once."""
    asked = dict.fromkeys(
        (LETTERS[plan.site.line(line).carries], round(cover_m, 4)) for line, cover_m in point.covers
    )
    if plan.site.units == "m":
        return tuple(f"{letter} {printer.number(cover_m)}" for letter, cover_m in asked)
    return tuple(f"{letter} {printer.short(cover_m).removesuffix(' in')}" for letter, cover_m in asked)
