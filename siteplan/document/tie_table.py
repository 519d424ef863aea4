"""What the tie list and the sheets of the record share: the numbered key plan, and the words for a place on the line."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import NamedTuple

from shapely import Point
from shapely.geometry.base import BaseGeometry

from siteplan.document.drawing import PlanDrawing
from siteplan.document.model import Plan
from siteplan.document.pages import SMALL_PT
from siteplan.document.pdf import THIN, Pen, wrap
from siteplan.document.record_model import Record
from siteplan.document.sheet import Box, Viewport, fit, scales
from siteplan.document.symbols import AS_BUILT, LETTERS, ONLY_PLANNED, Look
from siteplan.measure.built_places import BuiltPlace
from siteplan.measure.ties import Tie
from siteplan.site.features import Line
from siteplan.units import Printer

_NUMBER_PT = 11.0
_SPOT_PT = 3.0
_SPOT_WEIGHT = 40.0
_MARGIN_PT = 26.0
_BESIDE_PT, _GAP_PT = 208.0, 8.0
_LEADING = 1.2
_BETWEEN_PT = 3.0


class Spot(NamedTuple):
    """A place on a key plan, with the word that stands beside it."""

    x: float
    y: float
    word: str


class Beside:
    """Paragraphs down the left of a box, beside a key plan.

    Parameters
    ----------
    paragraphs : sequence of str
    head : str
        Printed bold over them.
    """

    def __init__(self, paragraphs: Sequence[str], head: str = "") -> None:
        heads = [(wrap(head, _BESIDE_PT, SMALL_PT, bold=True), True)] if head else []
        self._set = heads + [(wrap(words, _BESIDE_PT, SMALL_PT), False) for words in paragraphs]

    @property
    def height(self) -> float:
        """Height of them all [points]."""
        return sum(len(lines) * SMALL_PT * _LEADING + _BETWEEN_PT for lines, _ in self._set)

    def rest(self, box: Box) -> Box:
        """Return what is left of a box beside them."""
        return replace(box, x=box.x + _BESIDE_PT + _GAP_PT, width=box.width - _BESIDE_PT - _GAP_PT)

    def draw(self, pen: Pen, box: Box) -> None:
        """Draw them down from the top of a box."""
        y = box.top
        for lines, bold in self._set:
            for n, line in enumerate(lines):
                pen.text(box.x, y - SMALL_PT * (1 + n * _LEADING), line, SMALL_PT, bold=bold)
            y -= len(lines) * SMALL_PT * _LEADING + _BETWEEN_PT


def letters_in_words(lines: Iterable[Line]) -> str:
    """Spell out the letters in use: "W water, E electric"."""
    carried = {line.carries for line in lines}
    return ", ".join(f"{letter} {word}" for word, letter in LETTERS.items() if word in carried)


def place_in_words(printer: Printer, places: Iterable[tuple[str, float]]) -> str:
    """Reach and station of a place, of each reach that it lies on: a line each."""
    return "\n".join(f"{reach} {printer.station(distance_m)}" for reach, distance_m in places)


def corner_names(ties: Iterable[Iterable[Tie]]) -> list[str]:
    """Names of the corners that tapes are held to, each once."""
    return list(dict.fromkeys(tie.name for each in ties for tie in each))


def built_shapes(record: Record) -> list[tuple[BaseGeometry, Look, str]]:
    """Stretches of the lines as built [ground m], how each is drawn, and its letter: in brackets where it is only planned."""
    site, shapes = record.plan.site, []
    for stretch in (stretch for line in record.built.lines for stretch in line.stretches):
        letter = LETTERS[site.line(stretch.line).carries]
        if stretch.position == "measured":
            shapes.append((stretch.path, AS_BUILT, letter))
        else:
            shapes.append((stretch.path, ONLY_PLANNED, f"({letter})"))
    return shapes


def standing_in_words(place: BuiltPlace) -> str:
    """How a place of the record is known: measured, its cover only, or not at all."""
    if place.placed:
        return "measured"
    return "PLANNED, cover measured" if place.point else "PLANNED"


def view_of(
    plan: Plan, box: Box, spots: Iterable[Spot], corners: Iterable[str], lines: Iterable[BaseGeometry] = ()
) -> Viewport:
    """Viewport of a key plan: spots, the corners of these names, the well, and lines [ground m], else the trenches."""
    wanted = set(corners)
    shown = [Point(corner.x, corner.y) for corner in plan.works.corners if corner.name in wanted]
    shapes = list(lines) or [reach.path for reach in plan.layout.reaches]
    places = [Point(spot.x, spot.y) for spot in spots]
    every = [*shapes, *places, *shown, plan.site.well.shape]
    return fit(every, box, scales(plan.site.units), margin_pt=_MARGIN_PT)


def key_plan(
    pen: Pen,
    plan: Plan,
    view: Viewport,
    spots: Sequence[Spot],
    corners: Iterable[str],
    *,
    built: Sequence[tuple[BaseGeometry, Look, str]] = (),
) -> list[Look]:
    """Draw the trenches with spots on them, and the corners that tapes are held to; their words are placed first.

    Parameters
    ----------
    spots : sequence of Spot
    corners : iterable of str
        Names of the corners to show.
    built : sequence of (shapely geometry, Look, str)
        Lines as built [ground m], how each is drawn, and its letter: in place of the trenches. None: the trenches are drawn.

    Returns
    -------
    list of Look
        Line types in use, for a legend.
    """
    drawing = PlanDrawing(pen, plan, view)
    _spots(drawing, spots)
    drawing.corners(corners)
    drawing.surroundings()
    if built:
        for shape, drawn, letter in built:
            drawing.line(shape, drawn, letter)
    else:
        drawing.trenches(plan.layout.reaches)
    drawing.finish()
    return list(drawing.used.values())


def _spots(drawing: PlanDrawing, spots: Sequence[Spot]) -> None:
    """Draw the spots, each with its word beside it."""
    for spot in spots:
        x, y = drawing.view.place(spot.x, spot.y)
        drawing.pen.circle(x, y, _SPOT_PT, THIN, fill="black")
        drawing.labels.keep_clear(Box(x - 4, y - 4, 8, 8), _SPOT_WEIGHT)
        drawing.labels.add((x, y), spot.word, _NUMBER_PT, bold=True)
