"""What the tie list and the sheets of the record share: the numbered key plan, and the words for a place on the line."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from shapely import Point
from shapely.geometry.base import BaseGeometry

from siteplan.document.drawing import PlanDrawing
from siteplan.document.model import Plan
from siteplan.document.pdf import THIN, Pen
from siteplan.document.sheet import Box, Viewport, fit, scales
from siteplan.document.symbols import LETTERS, Look
from siteplan.site.features import Line
from siteplan.units import Printer

_NUMBER_PT = 11.0
_SPOT_PT = 3.0
_SPOT_WEIGHT = 40.0
_MARGIN_PT = 26.0


class Spot(NamedTuple):
    """A place on a key plan, with the word that stands beside it."""

    x: float
    y: float
    word: str


def letters_in_words(lines: Iterable[Line]) -> str:
    """Spell out the letters in use: "W water, E electric"."""
    carried = {line.carries for line in lines}
    return ", ".join(f"{letter} {word}" for word, letter in LETTERS.items() if word in carried)


def place_in_words(printer: Printer, places: Iterable[tuple[str, float]]) -> str:
    """Reach and station of a place, of each reach that it lies on: a line each."""
    return "\n".join(f"{reach} {printer.station(distance_m)}" for reach, distance_m in places)


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
    built: Sequence[tuple[BaseGeometry, Look]] = (),
) -> list[Look]:
    """Draw the trenches with spots on them, and the corners that tapes are held to; their words are placed first.

    Parameters
    ----------
    spots : sequence of Spot
    corners : iterable of str
        Names of the corners to show.
    built : sequence of (shapely geometry, Look)
        Lines as built [ground m], drawn in place of the trenches; none: the trenches are drawn.

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
        for shape, drawn in built:
            drawing.line(shape, drawn)
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
