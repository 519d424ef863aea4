"""The tie sheet of the record: where each place of the line lies as built, and how to tape to it in twenty years."""

from __future__ import annotations

from collections.abc import Sequence

from siteplan.document.drawing import LEGEND_ROW_PT, draw_legend, legend_rows
from siteplan.document.model import Plan
from siteplan.document.pages import SMALL_PT, WARNING_PT, Book, Flow, make_book, title_block
from siteplan.document.record_model import Record
from siteplan.document.record_words import cover_words, deviation_words
from siteplan.document.sheet import LETTER, Box, Paper
from siteplan.document.symbols import Look
from siteplan.document.table import Cell, Column, Row, Table
from siteplan.document.tie_table import (
    Spot,
    built_shapes,
    corner_names,
    key_plan,
    letters_in_words,
    place_in_words,
    standing_in_words,
    view_of,
)
from siteplan.document.words import coded
from siteplan.measure.built_places import BuiltPlace, built_places
from siteplan.site.catalogue import methods
from siteplan.units import Printer

_PART = "as built: measured where it says so"
_ROW_PT = 18.0
_PAD_PT = 2.0


def tie_sheet(record: Record, paper: Paper = LETTER) -> bytes:
    """Print the tie sheet of a record.

    Parameters
    ----------
    record : Record
    paper : Paper
        Upright; the table turns it.

    Returns
    -------
    bytes
        A PDF: key plan of the built lines, then one row a place. The same record gives the same bytes.
    """
    plan = record.plan
    places = built_places(plan.site, plan.layout, plan.works, record.built)

    def draw(book: Book) -> None:
        flow = Flow(book, _PART)
        title_block(flow, book)
        flow.text(
            f"CALL {plan.requirements.locate.call} AND WAIT BEFORE ANYBODY DIGS.", size=WARNING_PT, bold=True
        )
        for words in _how(record, places):
            flow.text(words, size=SMALL_PT)
        used: list[Look] = []
        flow.block(
            flow.room - 4 * LEGEND_ROW_PT - 40, lambda box: used.extend(_key(book, record, places, box))
        )
        rows = legend_rows(used, flow.width)
        flow.block(len(rows) * LEGEND_ROW_PT, lambda box: draw_legend(book.pen, box, rows))
        flow = Flow(book, _PART, turned=book.narrow)
        flow.table(_table(plan, places, flow.width))
        for warning in record.built.warnings:
            flow.text(f"Look again: {warning}.", size=SMALL_PT)

    return make_book(plan, "TIE SHEET", paper, draw)


def _how(record: Record, places: Sequence[BuiltPlace]) -> list[str]:
    plan, printer = record.plan, Printer(record.plan.site.units)
    measured = sum(place.placed for place in places)
    gone = sum(point.superseded for point in record.built.points) + len(record.built.strays)
    later = f" Measurements that no longer hold are in asbuilt.geojson only: {gone}." if gone else ""
    return [
        f"To find a place: tape level, in {printer.unit}, from two of the corners named; where the arcs cross is the place. The"
        " third tape tells it from its mirror image, or the words lies left: of the line from the first corner to the second."
        " Between two places the line is taken as straight. The error ± holds 95 %. Dig the last of it by hand, and expect the"
        " line anywhere within the error.",
        "; ".join(
            f"{plan.site.line(line.line).name}: place {line.position}, cover {line.cover}"
            for line in record.built.lines
        )
        + ".",
        f"{measured} of {len(places)} places were measured in the open trench; PLANNED means that nobody did.{later}"
        f" {letters_in_words(plan.site.lines)}; in brackets: as planned.",
    ]


def _key(book: Book, record: Record, places: Sequence[BuiltPlace], box: Box) -> list[Look]:
    plan, built = record.plan, built_shapes(record)
    spots = [Spot(place.x, place.y, str(place.number)) for place in places]
    corners = corner_names(place.ties for place in places)
    view = view_of(plan, box, spots, corners, [shape for shape, _, _ in built])
    return key_plan(book.pen, plan, view, spots, corners, built=built)


def _table(plan: Plan, places: Sequence[BuiltPlace], width: float) -> Table:
    columns = (
        Column("No.", 30),
        Column("Place", 146),
        Column("Taped then, as written", 130),
        Column("Ties as built", 130),
        Column("Cover", 88),
        Column("Off the plan", 72),
        Column("±", 42, "right"),
        Column("How known", 78),
        Column("Date, photo", 92),
    )
    return Table(columns, [_row(plan, place) for place in places], width, pad=_PAD_PT)


def _row(plan: Plan, place: BuiltPlace) -> Row:
    printer, point = Printer(plan.site.units), place.point
    where = place_in_words(printer, [(place.reach, place.station_m)])
    words = (f"{where} {place.what.replace(' deg', '°')}", *_line_in_words(plan, place))
    how, error = standing_in_words(place), "–"
    if point and place.placed:
        evidence = point.measurement.evidence
        way = methods()[evidence.method].name.partition(",")[0]
        how, error = f"{how}, {way}", printer.number(evidence.radius_m)
    side = [f"lies {place.side}"] if place.side else []
    day = point.measurement.day if point else None
    photos = point.measurement.photos if point else ()
    return Row(
        (
            Cell(str(place.number), WARNING_PT, bold=True),
            "\n".join(words),
            _as_written(place) or "–",
            "\n".join(
                (*(f"{coded(plan, tie.name)} {printer.number(tie.tape_m)}" for tie in place.ties), *side)
            )
            or "–",
            cover_words(plan, point).removeprefix("cover ") if point else "",
            deviation_words(plan, point).removesuffix(" of plan") if point else "",
            error,
            Cell(how, bold=not place.placed),
            "\n".join((day.isoformat() if day else "", *photos)),
        ),
        least_height=_ROW_PT,
    )


def _line_in_words(plan: Plan, place: BuiltPlace) -> list[str]:
    """Line that was measured, and what of it was confirmed in the trench."""
    if place.point is None:
        return []
    taken = place.point.measurement
    confirmed = ", ".join(word for word in (taken.material, taken.size) if word)
    return [plan.site.line(taken.line).name + (f"; CONFIRMED: {confirmed}" if confirmed else "")]


def _as_written(place: BuiltPlace) -> str:
    """What the crew wrote of the place itself, in its own words."""
    if place.point is None:
        return ""
    taken = place.point.measurement
    row = dict(taken.row)
    if taken.placing == "ties":
        ties = ((row.get(f"from_{n}", ""), row.get(f"tape_{n}", "")) for n in (1, 2, 3))
        return "\n".join(f"{corner} {tape}" for corner, tape in ties if corner)
    if taken.placing == "offset":
        return f"station {row.get('station', '')}, offset {row.get('offset', '')}"
    return {"lonlat": "longitude, latitude", "xy": "in the tape grid"}.get(taken.placing, "")
