"""The owner's page of the record, in plain words: where the lines are, what to keep off them, who built them, how it is known."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from siteplan.document.model import Plan
from siteplan.document.pages import SMALL_PT, WARNING_PT, Book, Flow, make_book
from siteplan.document.record_model import Record
from siteplan.document.sheet import LETTER, Box, Paper
from siteplan.document.symbols import LETTERS
from siteplan.document.table import Cell, Column, Row, Table
from siteplan.document.tie_table import (
    Beside,
    Spot,
    built_shapes,
    corner_names,
    key_plan,
    letters_in_words,
    standing_in_words,
    view_of,
)
from siteplan.document.words import coded, feature_name
from siteplan.measure.built_places import BuiltPlace, built_places
from siteplan.measure.record_model import BuiltLine
from siteplan.site.catalogue import products
from siteplan.units import Printer

_PART = "keep it with the papers of the house, hand it on"
_PICTURES_PT = (420.0, 380.0, 340.0, 300.0, 260.0, 220.0)
"""Heights of the picture, the largest that leaves it all on one page."""

_PAD_PT = 1.5
_SINGLE_M = 0.3
"""A line of which less than this [m] was measured was measured at single points."""

_BLANK = "_" * 14
_TO_REACH = ("tee", "pull point")
_SHUTOFFS = ("shutoff", "shut-off", "curb stop", "valve", "stop and waste")
_FIELDS = ("septic_tank", "holding_tank", "absorption_area", "reserve_area")


def owner_page(record: Record, paper: Paper = LETTER) -> bytes:
    """Print the owner's page of a record.

    Parameters
    ----------
    record : Record
    paper : Paper
        Upright.

    Returns
    -------
    bytes
        A PDF of one page, if what there is to reach fits it. The same record gives the same bytes.
    """
    plan = record.plan
    every = built_places(plan.site, plan.layout, plan.works, record.built)
    sheets = 0

    def draw_with(picture_pt: float) -> bytes:
        def draw(book: Book) -> None:
            nonlocal sheets
            _draw(book, record, every, picture_pt)
            sheets = book.sheet

        return make_book(plan, "OWNER'S PAGE", paper, draw)

    for picture_pt in _PICTURES_PT:
        page = draw_with(picture_pt)
        if sheets == 1:
            break
    return page


def _to_reach(place: BuiltPlace) -> bool:
    """Is it something to find again: an end, a tee, a pull point, or what the crew gave a name that the list has not."""
    if place.listed is None:
        return place.point is not None and bool(place.point.measurement.what)
    words = place.listed.what.split("; ")
    return place.listed.kind in ("start", "end") or any(part.startswith(_TO_REACH) for part in words)


def _draw(book: Book, record: Record, every: Sequence[BuiltPlace], picture_pt: float) -> None:
    plan, places = record.plan, [place for place in every if _to_reach(place)]
    flow = Flow(book, _PART)
    flow.text(
        f"CALL {plan.requirements.locate.call} BEFORE ANYBODY DIGS, AND SHOW THIS PAGE.",
        size=WARNING_PT - 1,
        bold=True,
    )
    flow.text(
        "The one-call centre does not mark these lines: they are your own. Drawn thick: measured in the open trench."
        f" Dashed, or its letter in brackets: as planned, not measured. {letters_in_words(plan.site.lines)}.",
        size=SMALL_PT,
    )
    beside = Beside([f"– {words}" for words in _keep_off(plan)], head="What to keep off the lines")

    def top(box: Box) -> None:
        beside.draw(book.pen, box)
        _picture(book, record, places, beside.rest(box))

    flow.block(max(picture_pt, beside.height), top)
    flow.table(_table(plan, places, flow.width))
    flow.columns([*_lines(record), *_who(record)], size=SMALL_PT)
    flow.text(_how_known(every), size=SMALL_PT)


def _picture(book: Book, record: Record, places: Sequence[BuiltPlace], box: Box) -> None:
    plan, built = record.plan, built_shapes(record)
    spots = [Spot(place.x, place.y, str(place.number)) for place in places]
    corners = corner_names(place.ties[:2] for place in places)
    served = [
        each.shape
        for each in plan.site.of_kind("building")
        if each.id in {line.end for line in plan.site.lines}
    ]
    view = view_of(plan, box, spots, corners, [*served, *(shape for shape, _, _ in built)])
    key_plan(book.pen, plan, view, spots, corners, built=built)


def _table(plan: Plan, places: Sequence[BuiltPlace], width: float) -> Table:
    printer = Printer(plan.site.units)
    columns = (
        Column("No.", 28),
        Column("What is there", 184),
        Column(f"Tape level, {printer.unit}, from two corners", 208),
        Column("Cover", 60, "right"),
        Column("How known", 80),
    )
    return Table(columns, [_row(plan, place, printer) for place in places], width, pad=_PAD_PT)


def _row(plan: Plan, place: BuiltPlace, printer: Printer) -> Row:
    taken = place.point.measurement if place.point else None
    lines = [taken.line] if taken else [line for line, _ in place.listed.covers] if place.listed else []
    what = f"{_plainly(place)} ({', '.join(plan.site.line(line).name for line in lines)})"
    ties = ", ".join(f"{coded(plan, tie.name)} {printer.number(tie.tape_m)}" for tie in place.ties[:2])
    cover = printer.short(taken.cover_m) if taken and taken.cover_m is not None else "–"
    return Row(
        (
            Cell(str(place.number), bold=True),
            what.replace(" deg", "°"),
            ties or "–",
            cover,
            Cell(standing_in_words(place), bold=not place.placed),
        )
    )


def _plainly(place: BuiltPlace) -> str:
    """What is there, without what only the digger asked for."""
    if place.listed is None:
        return place.what
    parts = place.listed.what.split("; ")
    return "; ".join([part for part in parts if part.startswith(_TO_REACH)] or parts)


def _lines(record: Record) -> Iterator[str]:
    """Each line in one sentence or two: what it is, how deep, how much of it was measured."""
    plan, printer = record.plan, Printer(record.plan.site.units)
    for built in record.built.lines:
        line = plan.site.line(built.line)
        volts = line.facts.get("volts")
        what = [
            products()[line.product].name,
            f"{volts:g} V" if isinstance(volts, float) else "",
            f"{printer.length(built.path.length)} on the map" if built.path.length else "",
        ]
        sentences = [
            f"{line.name} ({LETTERS[line.carries]}): {', '.join(word for word in what if word)}",
            _cover(plan, built, printer),
            _position(built, printer),
            _said("confirmed in the trench", (*built.said("material"), *built.said("size"))),
            _said("tracer wire comes up", built.said("tracer")),
        ]
        yield "; ".join(sentence for sentence in sentences if sentence) + "."


def _position(built: BuiltLine, printer: Printer) -> str:
    if not built.path.length:
        return "ends where it tees off"
    if built.position != "measured in part":
        return f"place {built.position}"
    if built.measured_m < _SINGLE_M:
        return "place planned, measured at single points only"
    return f"place measured over {printer.length(built.measured_m)}, the rest planned"


def _said(head: str, words: Iterable[str]) -> str:
    said = ", ".join(words)
    return f"{head}: {said}" if said else ""


def _cover(plan: Plan, built: BuiltLine, printer: Printer) -> str:
    """Least and greatest taped cover, or the planned one."""
    taped = [point.measurement.cover_m for point in built.points if point.measurement.cover_m is not None]
    planned = [
        laid.cover_m for section in plan.works.sections for laid in section.lines if laid.line == built.line
    ]
    covers, how = (taped, "cover taped") if taped else (planned, "cover as planned, not measured,")
    if not covers:
        return ""
    ends = dict.fromkeys((printer.short(min(covers)), printer.short(max(covers))))
    return f"{how} {' to '.join(ends)}"


def _keep_off(plan: Plan) -> Iterator[str]:
    """What harms the lines, the well, the septic system and people."""
    printer, roots = Printer(plan.site.units), plan.requirements.roots
    by_hand = printer.length(plan.requirements.locate.tolerance_m.value)
    yield f"No deep digging over the lines: no post holes, no cellar, no pond. Within {by_hand} by hand only."
    yield "Leave the ground over them as high as it is: it keeps the water from freezing. Fill dips where the trench settles."
    times = f"{roots.radius_per_diameter.value:g}"
    yield f"No trees or large shrubs within reach of their roots: {times} times the trunk they will grow to."
    names = [feature_name(each) for each in plan.site.of_kind(*_FIELDS)]
    if names:
        yield f"No driving, parking or heavy loads on {', '.join(names)}."
    yield "Keep the well casing above grade, capped; no soil or mulch against it, the ground sloping away."
    yield "Wiring and the pump: a licensed electrician, the power locked off."
    yield "After any work on well or line: disinfect, flush, and have the water tested before anyone drinks it."


def _who(record: Record) -> Iterator[str]:
    """Who built it, when, and under which tickets."""
    paper, visits = record.plan.site.paper, record.built.visits
    built_by = ", ".join(word for word in (paper.contractor, paper.phone) if word)
    yield f"Built by {built_by or _BLANK}; permit {paper.permit or _BLANK}."
    days = _each_once(visit.day for visit in visits)
    crews = _each_once(visit.crew for visit in visits)
    tickets = _each_once(ticket for visit in visits for ticket in visit.tickets)
    yield f"Measured {days or _BLANK} by {crews or _BLANK}; locate tickets {tickets or _BLANK}."
    yield f"Water tested {_BLANK}, result {_BLANK}."


def _each_once(words: Iterable[str]) -> str:
    return ", ".join(dict.fromkeys(word for word in words if word))


def _how_known(places: Sequence[BuiltPlace]) -> str:
    measured = sum(place.placed for place in places)
    words = (
        f"{measured} of the {len(places)} places of the tie sheet were measured in the open trench; the others are only planned,"
        " and the line may lie elsewhere."
    )
    if not any(word in place.what.casefold() for place in places for word in _SHUTOFFS):
        words += " No shutoff or curb stop is in this record: ask who built it where the water is turned off."
    return words
