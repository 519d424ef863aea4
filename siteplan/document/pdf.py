"""The only file that knows reportlab: a pen that draws black on white, and the making of a PDF.

Text is set as plain strings in an embedded TrueType font, so that a name is never read as markup. Importing this module
imports reportlab: do it inside the function that prints.
"""

from __future__ import annotations

import unicodedata
from bisect import bisect_right
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import cache, lru_cache
from io import BytesIO
from math import ceil, hypot
from pathlib import Path
from typing import Any, Self, cast

import reportlab
import shapely
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas
from shapely.geometry.base import BaseGeometry

from siteplan.document.sheet import Box, Paper

CONDENSED = 0.88
"""Width of letters over the font's own: the font is a broad one, and a table has many columns."""

_UNITS = frozenset(("ft", "in", "mm", "m", "deg", "CY", "gal", "L", "°", "%"))
_ENDS = ".,;:)"
_REGULAR, _BOLD = "Vera", "VeraBd"
_STAND_INS = str.maketrans(
    {
        **dict.fromkeys("′‵", "'"),
        **dict.fromkeys("″‶", '"'),
        **{"→": "to", "☐": "[ ]", "⅛": " 1/8", "⅜": " 3/8", "⅝": " 5/8", "⅞": " 7/8", "‑": "-", "∅": "Ø"},
    }
)


@dataclass(frozen=True, slots=True)
class Stroke:
    """A line type: width and dashes [points]; ``round_dots`` sets dots instead of dashes."""

    width: float
    dash: tuple[float, ...] = ()
    round_dots: bool = False


HAIR = Stroke(0.6)
THIN = Stroke(0.8)


@cache
def _glyphs() -> frozenset[int]:
    """Register the fonts that reportlab brings, and say which characters they hold."""
    folder = Path(reportlab.__file__).parent / "fonts"
    for name in (_REGULAR, _BOLD):
        pdfmetrics.registerFont(TTFont(name, str(folder / f"{name}.ttf")))
    return frozenset(pdfmetrics.getFont(_REGULAR).face.charToGlyph)


@lru_cache(maxsize=4096)
def printable(text: str) -> str:
    r"""Return the text on one line in characters that the font holds; what it lacks becomes a likeness or ``?``.

    >>> printable("Ångström’s  5′–6″\n漢")
    'Ångström’s 5\'–6" ?'
    """
    plain = " ".join(text.translate(_STAND_INS).split())
    held = _glyphs()

    def likeness(sign: str) -> str:
        if ord(sign) in held:
            return sign
        base = "".join(part for part in unicodedata.normalize("NFKD", sign) if ord(part) in held)
        return base or ("" if unicodedata.category(sign) in ("Cc", "Cf", "Mn") else "?")

    return "".join(likeness(sign) for sign in plain)


def text_width(text: str, size: float, *, bold: bool = False) -> float:
    """Width [points] of a line of text."""
    return size * _unit_width(text, bold)


@lru_cache(maxsize=16384)
def _unit_width(text: str, bold: bool) -> float:
    """Width of a line of text of one point."""
    return CONDENSED * float(pdfmetrics.stringWidth(printable(text), _BOLD if bold else _REGULAR, 1.0))


def wrap(text: str, width: float, size: float, *, bold: bool = False) -> list[str]:
    """Break text into lines no wider than ``width`` [points]; a word that is too long is broken itself.

    Line feeds in the text are kept.
    """
    lines: list[str] = []
    for paragraph in text.split("\n"):
        line = ""
        for word in _words(printable(paragraph), width, size, bold=bold):
            longer = f"{line} {word}" if line else word
            if text_width(longer, size, bold=bold) <= width:
                line = longer
                continue
            if line:
                lines.append(line)
            line = word
            while text_width(line, size, bold=bold) > width and len(line) > 1:
                fits = max(1, _holds(line, width, size, bold=bold))
                lines.append(line[:fits])
                line = line[fits:]
        lines.append(line)
    return lines


def _words(text: str, width: float, size: float, *, bold: bool) -> list[str]:
    """Words of a text; a number with its sign ± and its unit are one, if a line holds them."""
    words: list[str] = []
    for word in text.split(" "):
        last = words[-1] if words else ""
        belongs = last == "±" or (word.rstrip(_ENDS) in _UNITS and last[-1:].isdigit())
        if belongs and text_width(f"{words[-1]} {word}", size, bold=bold) <= width:
            words[-1] = f"{words[-1]} {word}"
        else:
            words.append(word)
    return words


def capped(lines: list[str], most: int) -> list[str]:
    """Keep so many lines, the last with an ellipsis if some are left out.

    >>> capped(["one", "two", "three"], 2)
    ['one', 'tw…']
    """
    return lines if len(lines) <= most else [*lines[: most - 1], lines[most - 1][:-1] + "…"]


def shorten(text: str, width: float, size: float, *, bold: bool = False) -> str:
    """Cut text to one line of ``width`` [points], with an ellipsis where something is left out."""
    shown = printable(text)
    if text_width(shown, size, bold=bold) <= width:
        return shown
    kept = _holds(shown, width - text_width("…", size, bold=bold), size, bold=bold)
    return shown[:kept].rstrip() + "…"


def shorten_within(text: str, width: float, size: float, *, bold: bool = False) -> str:
    """Cut text to ``width`` [points] with an ellipsis in its middle: what tells names apart often stands at their end."""
    shown = printable(text)
    if text_width(shown, size, bold=bold) <= width:
        return shown
    half = (width - text_width("…", size, bold=bold)) / 2
    first = shown[: _holds(shown, half, size, bold=bold)].rstrip()
    last = shown[::-1][: _holds(shown[::-1], half, size, bold=bold)][::-1].lstrip()
    return f"{first}…{last}"


def _holds(line: str, width: float, size: float, *, bold: bool) -> int:
    """How many letters of a line fit a width, the last one never counted."""
    return bisect_right(range(1, len(line)), width, key=lambda n: text_width(line[:n], size, bold=bold))


class Pen:
    """Draws on one page after another, in page points."""

    def __init__(self, canvas: Any) -> None:
        self._canvas = canvas

    def size(self, paper: Paper) -> None:
        """Set the size of the page that is being drawn."""
        self._canvas.setPageSize((paper.width_pt, paper.height_pt))

    def bookmark(self, key: str, words: str) -> None:
        """Name the page in the outline of the document."""
        self._canvas.bookmarkPage(key)
        self._canvas.addOutlineEntry(printable(words), key)

    def end_page(self) -> None:
        """Finish the page."""
        self._canvas.showPage()

    def text(
        self,
        x: float,
        y: float,
        text: str,
        size: float,
        *,
        bold: bool = False,
        align: str = "left",
        turn_deg: float = 0.0,
    ) -> None:
        """Set one line of text with its baseline at (x, y); ``align`` is left, centre or right."""
        shown = printable(text)
        shift = {"left": 0.0, "centre": 0.5, "right": 1.0}[align] * text_width(shown, size, bold=bold)
        canvas = self._canvas
        canvas.saveState()
        canvas.translate(x, y)
        if turn_deg:
            canvas.rotate(turn_deg)
        line = canvas.beginText(-shift, 0)
        line.setFont(_BOLD if bold else _REGULAR, size)
        line.setHorizScale(100 * CONDENSED)
        line.textOut(shown)
        canvas.drawText(line)
        canvas.restoreState()

    def line(self, points: Sequence[tuple[float, float]], stroke: Stroke) -> None:
        """Draw a line through points."""
        if len(points) < 2:
            return
        canvas = self._canvas
        canvas.setLineWidth(stroke.width)
        canvas.setLineCap(1 if stroke.round_dots else 0)
        canvas.setLineJoin(1)
        canvas.setDash(list(stroke.dash))
        path = canvas.beginPath()
        path.moveTo(*points[0])
        for point in points[1:]:
            path.lineTo(*point)
        canvas.drawPath(path)

    def lines(self, shape: BaseGeometry, stroke: Stroke) -> None:
        """Draw all lines of a shape that is in page points; areas by their outline."""
        for part in line_parts(shape):
            self.line([(float(x), float(y)) for x, y in part.coords], stroke)

    def hatch(self, area: BaseGeometry, stroke: Stroke, *, spacing: float = 4.0) -> None:
        """Fill an area in page points with slanting lines."""
        if area.is_empty:
            return
        west, south, east, north = area.bounds
        high = north - south
        slants = [
            shapely.LineString([(west - high + n * spacing, south), (west + n * spacing, north)])
            for n in range(1, ceil((east - west + high) / spacing))
        ]
        if slants:
            self.lines(shapely.intersection(shapely.MultiLineString(slants), area), stroke)

    def box(self, box: Box, stroke: Stroke) -> None:
        """Draw a rectangle."""
        corners = [(box.x, box.y), (box.right, box.y), (box.right, box.top), (box.x, box.top), (box.x, box.y)]
        self.line(corners, stroke)

    def fill(self, box: Box, *, black: bool = False) -> None:
        """Fill a rectangle with black or with the white of the paper."""
        self._canvas.setFillGray(0 if black else 1)
        self._canvas.rect(box.x, box.y, box.width, box.height, stroke=0, fill=1)
        self._canvas.setFillGray(0)

    def circle(
        self, x: float, y: float, radius: float, stroke: Stroke, *, fill: str | None = "white"
    ) -> None:
        """Draw a circle, filled white or black, or not at all."""
        canvas = self._canvas
        canvas.setLineWidth(stroke.width)
        canvas.setDash(list(stroke.dash))
        canvas.setFillGray(0 if fill == "black" else 1)
        canvas.circle(x, y, radius, stroke=1, fill=int(fill is not None))
        canvas.setFillGray(0)

    def arrow(
        self, start: tuple[float, float], end: tuple[float, float], stroke: Stroke, head: float = 4.0
    ) -> None:
        """Draw a line with an open arrow head at its end."""
        self.line([start, end], stroke)
        long = hypot(end[0] - start[0], end[1] - start[1]) or 1.0
        ux, uy = (end[0] - start[0]) / long, (end[1] - start[1]) / long
        for side in (1, -1):
            barb = (end[0] - head * ux + side * 0.4 * head * uy, end[1] - head * uy - side * 0.4 * head * ux)
            self.line([barb, end], stroke)


def line_parts(shape: BaseGeometry) -> Iterable[shapely.LineString]:
    """All lines of a shape; areas give their outlines."""
    if shape.geom_type in ("Polygon", "MultiPolygon"):
        shape = shape.boundary
    for part in shapely.get_parts(shape):
        if part.geom_type in ("LineString", "LinearRing") and not part.is_empty:
            yield part
        elif part.geom_type in ("Polygon", "MultiPolygon", "MultiLineString"):
            yield from line_parts(part)


class _NoCanvas:
    """Takes whatever is drawn and keeps nothing."""

    def __getattr__(self, name: str) -> Self:
        return self

    def __call__(self, *arguments: object, **named: object) -> Self:
        return self


def rehearse(draw: Callable[[Pen], None]) -> None:
    """Go through a drawing without making a PDF, to see how many pages it takes."""
    _glyphs()
    draw(Pen(cast("Canvas", _NoCanvas())))


def pdf_bytes(title: str, draw: Callable[[Pen], None], *, author: str = "", language: str = "en") -> bytes:
    """Make a PDF; the same drawing gives the same bytes.

    Parameters
    ----------
    title : str
        Title of the document.
    draw : callable
        Draws all pages with the pen, ending each.
    author : str
        Who made it, if that is known.
    language : str
        Code of the language that it is in, ISO 639-1.
    """
    _glyphs()
    file = BytesIO()
    canvas = Canvas(file, invariant=1, pageCompression=1, lang=language)
    canvas.setTitle(printable(title))
    if author:
        canvas.setAuthor(printable(author))
    canvas.setCreator("siteplan")
    canvas.setProducer("siteplan")
    draw(Pen(canvas))
    canvas.save()
    return file.getvalue()
