"""Strip drawings: one trench at a time, running up the page, cut at match lines where it is too long for one sheet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from shapely import LineString
from shapely.ops import substring

from siteplan.document.drawing import PlanDrawing
from siteplan.document.hazards import crossing_in_words, span
from siteplan.document.model import Plan
from siteplan.document.pages import SMALL_PT, TEXT_PT, WARNING_PT, Book
from siteplan.document.pdf import HAIR, Stroke, capped, shorten, wrap
from siteplan.document.sheet import Box, Scale, Viewport, fit, scales
from siteplan.document.speech import word
from siteplan.document.words import bearing_deg, lines_in, reach_title, sweep_in_words
from siteplan.measure.model import Station
from siteplan.route.model import Reach
from siteplan.units import Printer

NO_LEVELS = word("CUT FROM GROUND SURFACE ONLY")
SPOIL_SIDES = {
    "left": word("SPOIL LEFT, looking up-station"),
    "right": word("SPOIL RIGHT, looking up-station"),
}
_COLUMN_PT = 176.0
_MARGIN_PT = 40.0
_CALLOUT_PT = 10.5
_LINE_PT = 12.5
_MOST_PIECES = 200
_MOST_LINES = 7
_SMALLEST = {"ft": 360.0, "ft-in": 360.0, "m": 500.0}
"""Smallest scale of a strip (1 in = 30 ft, 1:500): beyond it the strip is cut."""


@dataclass(frozen=True, slots=True)
class _Piece:
    from_m: float
    to_m: float
    view: Viewport


@dataclass(frozen=True, slots=True)
class _Callout:
    lines: list[str]
    at: tuple[float, float]
    bold: bool

    @property
    def height(self) -> float:
        return len(self.lines) * _LINE_PT + 3


def strip_pages(book: Book, plan: Plan, reach: Reach) -> None:
    """Draw the strips of one reach, each on a page of its own."""
    say = plan.say
    body = book.new_page(say("strip of {reach}", reach=reach.name))
    pieces = _pieces(plan, reach, Box(body.x, body.y, body.width - _COLUMN_PT, body.height - 62))
    for n, piece in enumerate(pieces):
        if n:
            part = {"reach": reach.name, "n": str(n + 1), "total": str(len(pieces))}
            book.new_page(say("strip of {reach}, {n} of {total}", **part))
        _draw_piece(book, plan, reach, piece, body)


def _pieces(plan: Plan, reach: Reach, box: Box) -> list[_Piece]:
    smallest = _SMALLEST[plan.site.units]
    choices = [scale for scale in scales(plan.site.units) if scale.ratio <= smallest]
    for scale in choices:
        whole = _piece(reach, 0.0, reach.length_m, box, scale)
        if _fits(plan, reach, whole):
            return [whole]
    pieces: list[_Piece] = []
    for count in range(2, _MOST_PIECES):
        cuts = [reach.length_m * n / count for n in range(count + 1)]
        pieces = [_piece(reach, start, end, box, choices[-1]) for start, end in pairwise(cuts)]
        if all(_fits(plan, reach, piece) for piece in pieces):
            break
    return pieces


def _piece(reach: Reach, start_m: float, end_m: float, box: Box, scale: Scale) -> _Piece:
    stretch = substring(reach.path, start_m, end_m)
    up = bearing_deg(stretch.coords[0][:2], stretch.coords[-1][:2])
    return _Piece(start_m, end_m, fit([stretch], box, [scale], turn_deg=up))


def _fits(plan: Plan, reach: Reach, piece: _Piece) -> bool:
    room = piece.view.box.inset(_MARGIN_PT)
    stretch = substring(reach.path, piece.from_m, piece.to_m)
    spots = [piece.view.place(x, y) for x, y in stretch.coords]
    inside = all(room.x <= x <= room.right and room.y <= y <= room.top for x, y in spots)
    callouts = _callouts(plan, reach, piece)
    return inside and sum(callout.height for callout in callouts) <= piece.view.box.height


def _stations(plan: Plan, reach: Reach, piece: _Piece) -> list[Station]:
    return [
        station
        for station in plan.works.stations
        if station.reach == reach.name and piece.from_m - 1e-6 <= station.distance_m <= piece.to_m + 1e-6
    ]


def _callouts(plan: Plan, reach: Reach, piece: _Piece) -> list[_Callout]:
    printer, made = Printer(plan.site.units), []
    for station in _stations(plan, reach, piece):
        if station.kind == "interval":
            continue
        words = f"{printer.station(station.distance_m)}  {plan.say.of(station.what)}"
        lines = _callout_lines(words, _more(plan, station))
        made.append(_Callout(lines, piece.view.place(station.x, station.y), station.hand_dig))
    return made


def _callout_lines(words: str, more: str) -> list[str]:
    """Break a callout into lines; a long one is cut in its first words, so that how to pass stays."""
    width = _COLUMN_PT - 18
    whole = wrap(words + more, width, _CALLOUT_PT, bold=True)
    if len(whole) <= _MOST_LINES:
        return whole
    last = capped(wrap(more.lstrip(",:; "), width, _CALLOUT_PT, bold=True), _MOST_LINES - 1)
    return [*capped(wrap(words, width, _CALLOUT_PT, bold=True), _MOST_LINES - len(last)), *last]


def _more(plan: Plan, station: Station) -> str:
    """What the strip adds to the words of a station."""
    printer = Printer(plan.site.units)
    here = (station.reach, round(station.distance_m, 3))
    if station.kind == "bend":
        for bend in plan.works.bends:
            if (bend.reach, round(bend.distance_m, 3)) == here:
                words = sweep_in_words(bend, printer, plan.say)
                return f", {words}" if words else ""
    if station.kind == "crossing":
        for crossing in plan.works.crossings:
            if (crossing.reach, round(crossing.distance_m, 3)) == here:
                return f": {crossing_in_words(plan, crossing)}"
    return ""


def _draw_piece(book: Book, plan: Plan, reach: Reach, piece: _Piece, body: Box) -> None:
    pen, printer, box, say = book.pen, Printer(plan.site.units), piece.view.box, plan.say
    stretch = span(printer, piece.from_m, piece.to_m, say)
    where = say("{stretch} of {title}", stretch=stretch, title=reach_title(plan, reach))
    where = shorten(where, body.width, TEXT_PT, bold=True)
    pen.text(body.x, body.top - 14, where, TEXT_PT, bold=True)
    inside = say("Up the page is up-station. In it: {lines}.", lines=lines_in(plan, reach))
    pen.text(body.x, body.top - 29, shorten(inside, body.width, SMALL_PT), SMALL_PT)
    for spoil in plan.works.spoil:
        if spoil.reach == reach.name:
            some = "" if all(one.side == spoil.side for one in spoil.fits) else say(", not all along")
            words = say(SPOIL_SIDES[spoil.side]) + some
            pen.text(body.x, body.top - 48, words, WARNING_PT - 3, bold=True)
    if not plan.works.levelled:
        pen.text(body.right, body.top - 48, say(NO_LEVELS), WARNING_PT, bold=True, align="right")
    drawing = PlanDrawing(pen, plan, piece.view)
    others = [other for other in plan.layout.reaches if other.name != reach.name]
    drawing.surroundings()
    drawing.trenches([*others, reach])
    drawing.hand_dig([reach], words_pt=TEXT_PT)
    _spoil_side(drawing, reach, piece)
    _ticks(drawing, reach, piece)
    drawing.bends([reach])
    drawing.crossings([reach])
    _match_lines(book, drawing, reach, piece)
    callouts = _callouts(plan, reach, piece)
    _draw_callouts(drawing, callouts, box)
    drawing.finish()


def _spoil_side(drawing: PlanDrawing, reach: Reach, piece: _Piece) -> None:
    for spoil in drawing.plan.works.spoil:
        if spoil.reach != reach.name:
            continue
        for begin_m, end_m, side in spoil.fits:
            from_m, to_m = max(begin_m, piece.from_m), min(end_m, piece.to_m)
            if side == "neither" or to_m <= from_m:
                continue
            stretch = substring(reach.path, from_m, to_m)
            edge = stretch.offset_curve(spoil.strip_m if side == "left" else -spoil.strip_m)
            drawn = drawing.view.on_page(edge)
            drawing.pen.lines(drawn, Stroke(1.0, (2, 4)))
            for part in getattr(drawn, "geoms", [drawn])[:1]:
                if isinstance(part, LineString) and not part.is_empty:
                    drawing.labels.add_along(part, drawing.plan.say("SPOIL STRIP"), SMALL_PT, bold=True)


def _ticks(drawing: PlanDrawing, reach: Reach, piece: _Piece) -> None:
    printer = Printer(drawing.plan.site.units)
    for station in _stations(drawing.plan, reach, piece):
        x, y = drawing.view.place(station.x, station.y)
        before = reach.path.interpolate(max(station.distance_m - 0.05, 0))
        after = reach.path.interpolate(min(station.distance_m + 0.05, reach.length_m))
        (x0, y0), (x1, y1) = (drawing.view.place(spot.x, spot.y) for spot in (before, after))
        long = ((x1 - x0) ** 2 + (y1 - y0) ** 2) ** 0.5 or 1.0
        half = 8.0 if station.kind == "interval" else 5.0
        dx, dy = -(y1 - y0) / long * half, (x1 - x0) / long * half
        drawing.pen.line([(x - dx, y - dy), (x + dx, y + dy)], Stroke(1.0))
        if station.kind == "interval":
            drawing.labels.add(
                (x + 1.6 * dx, y + 1.6 * dy), printer.station(station.distance_m), SMALL_PT, bold=True
            )


def _match_lines(book: Book, drawing: PlanDrawing, reach: Reach, piece: _Piece) -> None:
    printer, box = Printer(drawing.plan.site.units), drawing.view.box
    for along, ends, sheet in (
        (piece.from_m, 0.0, book.sheet - 1),
        (piece.to_m, reach.length_m, book.sheet + 1),
    ):
        if abs(along - ends) < 1e-6:
            continue
        spot = reach.path.interpolate(along)
        _, y = drawing.view.place(spot.x, spot.y)
        drawing.pen.line([(box.x, y), (box.right, y)], Stroke(1.4, (14, 4, 3, 4)))
        words = drawing.plan.say(
            "MATCH LINE {station}, see sheet {sheet}", station=printer.station(along), sheet=str(sheet)
        )
        drawing.labels.add((box.x + box.width / 2, y), words, SMALL_PT, bold=True, width=260)


def _draw_callouts(drawing: PlanDrawing, callouts: Sequence[_Callout], box: Box) -> None:
    """Set the callouts in a column beside the box, in the order of their stations, none on another."""
    pen, x = drawing.pen, box.right + 16
    lows = _stacked([(callout.at[1], callout.height) for callout in callouts], box)
    for callout, low in zip(callouts, lows, strict=True):
        across, up = callout.at
        elbow, foot = (box.right, up), (x - 3, low + callout.height - _LINE_PT + 3)
        pen.line([(across, up), elbow, foot], HAIR)
        drawing.labels.keep_clear_along(LineString([(across + 6, up), elbow]), 2.0, 0.6)
        y = low + callout.height - _CALLOUT_PT
        for n, line in enumerate(callout.lines):
            pen.text(x, y - n * _LINE_PT, line, _CALLOUT_PT, bold=callout.bold or n == 0)


def _stacked(wanted: Sequence[tuple[float, float]], box: Box) -> list[float]:
    """Return the low side of each text so that none overlaps: (middle wanted, height), in any order.

    >>> _stacked([(50.0, 20.0), (52.0, 20.0)], Box(0, 0, 10, 100))
    [40.0, 60.0]
    """
    lows = [0.0] * len(wanted)
    order = sorted(range(len(wanted)), key=lambda n: (wanted[n][0], n))
    floor = box.y
    for n in order:
        middle, height = wanted[n]
        lows[n] = max(middle - height / 2, floor)
        floor = lows[n] + height
    ceiling = box.top
    for n in reversed(order):
        height = wanted[n][1]
        lows[n] = min(lows[n], ceiling - height)
        ceiling = lows[n]
    return lows
