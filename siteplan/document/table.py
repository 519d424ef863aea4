"""A ruled table in plain text: columns that line up, cells that wrap, rows that never break over a page."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from siteplan.document.pdf import HAIR, Pen, Stroke, capped, text_width, wrap

TABLE_PT = 12.0
HEAD_PT = 10.0
_PAD = 4.0
_SIDE_PAD = 3.0
_LEADING = 1.2
BLANK_PT = 20.0
_GAP_PT, _LEAST_BLANK_PT = 4.0, 28.0
_MOST_LINES = 16
_RULE = Stroke(1.2)


@dataclass(frozen=True, slots=True)
class Column:
    """One column: heading, share of the table's width, and how its cells stand."""

    head: str
    share: float
    align: str = "left"


@dataclass(frozen=True, slots=True)
class Cell:
    """Text of a cell and how large it prints.

    Attributes
    ----------
    blanks : tuple of str
        At the foot of the cell one bold word or number each, with a line behind it to write on.
    """

    text: str
    size: float = TABLE_PT
    bold: bool = False
    blanks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Row:
    """One row, and lines of text under it over the whole width, that belong to it."""

    cells: tuple[Cell | str, ...]
    notes: tuple[Cell | str, ...] = ()
    least_height: float = 0.0


@dataclass(frozen=True, slots=True)
class _Blank:
    """A line to write on, so much high, behind a word or under it."""

    word: str
    room: float
    under: bool

    @property
    def height(self) -> float:
        return self.room + (TABLE_PT * _LEADING if self.under else 0)


@dataclass(frozen=True, slots=True)
class _Set:
    lines: list[str]
    size: float
    bold: bool
    blanks: tuple[_Blank, ...] = ()

    @property
    def height(self) -> float:
        return len(self.lines) * self.size * _LEADING + sum(blank.height for blank in self.blanks)


class Table:
    """A table of so much width.

    Parameters
    ----------
    columns : sequence of Column
    rows : sequence of Row
    width : float
        Points.
    note_indent : float
        How far the notes under a row are set in [points].
    pad : float
        Free above and below the text of a row [points].
    blank : float
        Height of a line to write on [points].
    """

    def __init__(
        self,
        columns: Sequence[Column],
        rows: Sequence[Row],
        width: float,
        *,
        note_indent: float = 28.0,
        pad: float = _PAD,
        blank: float = BLANK_PT,
    ) -> None:
        self.columns = columns
        whole = sum(column.share for column in columns)
        self._widths = [width * column.share / whole for column in columns]
        self._width = width
        self._note_indent = note_indent
        self._pad = pad
        self._blank = blank
        heads = tuple(Cell(column.head, HEAD_PT, bold=True) for column in columns)
        self._head = self._set(Row(heads))
        self._rows = [self._set(row) for row in rows]

    @property
    def width(self) -> float:
        """Width of the whole table [points]."""
        return self._width

    @property
    def height(self) -> float:
        """Height of the whole table [points]."""
        return self._head[2] + sum(row[2] for row in self._rows)

    def pieces(self, first_room: float, room: float) -> Iterator[tuple[float, range]]:
        """Cut into pieces for the room left on this page and the room on the next ones [points].

        Yields height and rows of each piece; a first piece without rows means that nothing fits here.
        """
        start, space = 0, first_room
        while start < len(self._rows):
            height, end = self._head[2], start
            while end < len(self._rows) and height + self._rows[end][2] <= space:
                height += self._rows[end][2]
                end += 1
            if end == start and space >= room:
                height += self._rows[end][2]
                end += 1
            yield height, range(start, end)
            start, space = end, room

    def draw(self, pen: Pen, x: float, top: float, rows: range) -> None:
        """Draw the heading and these rows with the upper left corner at (x, top)."""
        y = self._draw_row(pen, x, top, self._head)
        pen.line([(x, y), (x + self._width, y)], _RULE)
        pen.line([(x, top), (x + self._width, top)], _RULE)
        for index in rows:
            y = self._draw_row(pen, x, y, self._rows[index])
            pen.line([(x, y), (x + self._width, y)], HAIR)

    def _set(self, row: Row) -> tuple[list[_Set], list[_Set], float]:
        cells = [
            _set_cell(cell, width - 2 * _SIDE_PAD, self._blank)
            for cell, width in zip(row.cells, self._widths, strict=True)
        ]
        beside = self._width - self._note_indent - 2 * _SIDE_PAD
        notes = [_set_cell(note, beside, self._blank) for note in row.notes]
        tallest = max(cell.height for cell in cells)
        height = max(tallest, row.least_height) + sum(note.height for note in notes) + 2 * self._pad
        return cells, notes, height

    def _draw_row(self, pen: Pen, x: float, top: float, row: tuple[list[_Set], list[_Set], float]) -> float:
        cells, notes, height = row
        noted = sum(note.height for note in notes)
        foot = top - height + (noted + self._pad if noted else 0)
        left = x
        for column, width, cell in zip(self.columns, self._widths, cells, strict=True):
            anchor = {
                "left": left + _SIDE_PAD,
                "right": left + width - _SIDE_PAD,
                "centre": left + width / 2,
            }[column.align]
            _draw_set(pen, cell, anchor, top - self._pad, column.align)
            _draw_blanks(pen, cell.blanks, left + _SIDE_PAD, left + width - _SIDE_PAD, foot + self._pad)
            left += width
            if left < x + self._width - 1:
                pen.line([(left, top), (left, foot)], HAIR)
        y = top - (height - noted) + self._pad
        for note in notes:
            _draw_set(pen, note, x + self._note_indent, y, "left")
            y -= note.height
        return top - height


def _set_cell(cell: Cell | str, width: float, blank: float) -> _Set:
    if isinstance(cell, str):
        cell = Cell(cell)
    lines = wrap(cell.text, width, cell.size, bold=cell.bold) if cell.text else []
    blanks = tuple(
        _Blank(word, blank, under=text_width(word, TABLE_PT, bold=True) + _GAP_PT + _LEAST_BLANK_PT > width)
        for word in cell.blanks
    )
    return _Set(capped(lines, _MOST_LINES), cell.size, cell.bold, blanks)


def _draw_blanks(pen: Pen, blanks: Sequence[_Blank], left: float, right: float, low: float) -> None:
    """Draw the lines to write on, the last one at the foot of a cell."""
    y = low + sum(blank.height for blank in blanks)
    for blank in blanks:
        y -= blank.height
        start = left
        if blank.word and not blank.under:
            start += text_width(blank.word, TABLE_PT, bold=True) + _GAP_PT
        pen.line([(start, y + 1), (right, y + 1)], HAIR)
        pen.text(left, y + (blank.room if blank.under else 0) + 3, blank.word, TABLE_PT, bold=True)


def _draw_set(pen: Pen, cell: _Set, x: float, top: float, align: str) -> None:
    y = top - cell.size
    for line in cell.lines:
        pen.text(x, y, line, cell.size, bold=cell.bold, align=align)
        y -= cell.size * _LEADING
