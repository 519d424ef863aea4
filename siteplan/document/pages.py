"""What all sheets share: the page frame with its check bars, the title block, and the flow of parts down the pages."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from siteplan.document.cautions import DECIDES
from siteplan.document.model import Plan
from siteplan.document.pdf import HAIR, Pen, Stroke, capped, pdf_bytes, rehearse, shorten, text_width, wrap
from siteplan.document.rule_words import page_mark
from siteplan.document.sheet import INCH_PT, POINTS_PER_METRE, Box, Paper
from siteplan.document.speech import word
from siteplan.document.table import Table

MARGIN_PT = 27.5
"""9.7 mm: A4 then holds the same tables as letter did with half an inch, and every common printer reaches it."""
TEXT_PT = 12.0
SMALL_PT = 10.0
LEAST_PT = 9.0
WARNING_PT = 16.0
_HEAD_PT = 40.0
_FOOT_PT = 44.0
_GAP_PT = 10.0
_HEADING_PT = 13.0
_TABLE_PT = 700.0
_LEADING = 1.25
_CLOSE_LEADING = 1.18
_RULE = Stroke(1.2)
_MOST_LINES = 6
BLANK = "_" * 16


class Book:
    """The pages of one document, one after another.

    Parameters
    ----------
    pen : Pen
    plan : Plan
    title : str
        Printed over every page.
    paper : Paper
        As it stands upright.
    total : int
        Number of sheets; 0 while they are being counted.
    """

    def __init__(self, pen: Pen, plan: Plan, title: str, paper: Paper, total: int) -> None:
        self.pen = pen
        self.plan = plan
        self.sheet = 0
        self.total = total
        self._title = title
        self._upright = paper
        self._paper = paper

    def new_page(self, part: str = "", *, turned: bool = False) -> Box:
        """Begin a page and return the box that is free on it; ``part`` names what it shows."""
        self.finish()
        self.sheet += 1
        self._paper = self._upright.turned if turned else self._upright
        self.pen.size(self._paper)
        self.pen.bookmark(f"{self.sheet}", part or self._title)
        self._head(part)
        self._foot()
        return self.body

    def finish(self) -> None:
        """End the page in hand, if there is one."""
        if self.sheet:
            self.pen.end_page()

    @property
    def narrow(self) -> bool:
        """Whether a table of many columns needs the paper's long side."""
        return self._upright.width_pt - 2 * MARGIN_PT < _TABLE_PT

    @property
    def body(self) -> Box:
        """The free part of the page."""
        return self._free(self._paper)

    def free(self, *, turned: bool) -> Box:
        """Return what is free on a new page, on the paper's long side or not."""
        return self._free(self._upright.turned if turned else self._upright)

    def _free(self, paper: Paper) -> Box:
        low = MARGIN_PT + _FOOT_PT
        return Box(
            MARGIN_PT,
            low,
            paper.width_pt - 2 * MARGIN_PT,
            paper.height_pt - MARGIN_PT - _HEAD_PT - low,
        )

    def _head(self, part: str) -> None:
        pen, left, right = self.pen, MARGIN_PT, self._paper.width_pt - MARGIN_PT
        top = self._paper.height_pt - MARGIN_PT
        pen.text(left, top - 14, self._title, WARNING_PT, bold=True)
        after = left + text_width(self._title, WARNING_PT, bold=True) + 14
        say = self.plan.say
        sheets = say("sheet {n} of {total}", n=str(self.sheet), total=str(self.total))
        pen.text(right, top - 14, sheets, TEXT_PT, bold=True, align="right")
        room = right - text_width(sheets, TEXT_PT, bold=True) - 14 - after
        pen.text(after, top - 14, shorten(part, room, TEXT_PT), TEXT_PT)
        site = self.plan.site
        name = "  ·  ".join(word for word in (site.name, site.paper.address) if word)
        mark = page_mark(self.plan)
        pen.text(right, top - 29, mark, SMALL_PT, bold=True, align="right")
        room = right - left - (text_width(mark, SMALL_PT, bold=True) + 14 if mark else 0)
        pen.text(left, top - 29, shorten(name, room, SMALL_PT), SMALL_PT)
        pen.line([(left, top - 34), (right, top - 34)], _RULE)

    def _foot(self) -> None:
        pen, left, right, low = self.pen, MARGIN_PT, self._paper.width_pt - MARGIN_PT, MARGIN_PT
        pen.line([(left, low + 38), (right, low + 38)], HAIR)
        bars = ((low + 22, 0.1 * POINTS_PER_METRE, "100 mm"), (low + 4, 4 * INCH_PT, "4 in"))
        for y, long, name in bars:
            pen.line([(left, y + 4), (left, y), (left + long, y), (left + long, y + 4)], _RULE)
            pen.text(left + long / 2, y + 3, name, LEAST_PT, align="centre")
        x = left + 4 * INCH_PT + 12
        say = self.plan.say
        check = say(
            "Check bars: measure them. If they are not true, use the bar scale or the written distances."
        )
        words = f"{check} {say(DECIDES)}"
        for n, line in enumerate(wrap(words, right - x, LEAST_PT)[:4]):
            pen.text(x, low + 27 - 10 * n, line, LEAST_PT)


class Flow:
    """Parts placed one below the other, on as many pages as they need.

    Parameters
    ----------
    book : Book
    part : str
        What the pages show, for their head.
    turned : bool
        On the paper's long side.
    """

    def __init__(self, book: Book, part: str = "", *, turned: bool = False) -> None:
        self._book = book
        self._part = part
        self._turned = turned
        self._body = book.new_page(part, turned=turned)
        self._y = self._body.top

    @property
    def width(self) -> float:
        """Width of the page between its margins [points]."""
        return self._body.width

    @property
    def room(self) -> float:
        """Height left on this page [points]."""
        return self._y - self._body.y

    @property
    def full_room(self) -> float:
        """Height of an empty page [points]."""
        return self._body.height

    def turn_page(self) -> None:
        """Go on at the top of a new page."""
        self._body = self._book.new_page(self._part, turned=self._turned)
        self._y = self._body.top

    def space(self, height: float) -> None:
        """Leave a gap."""
        self._y -= height

    def keep(self, height: float) -> None:
        """Go to a new page unless so much is left on this one."""
        if height > self.room and self._y < self._body.top:
            self.turn_page()

    def block(self, height: float, draw: Callable[[Box], None]) -> None:
        """Place something of a given height that is not to be broken."""
        self.keep(height)
        draw(Box(self._body.x, self._y - height, self.width, height))
        self._y -= height + _GAP_PT

    def heading(self, text: str, *, below: float = 60.0) -> None:
        """Set a heading, and keep so much of what follows on its page, if a page holds it."""
        lines = capped(wrap(text, self.width, _HEADING_PT, bold=True), 3)
        self.keep(min(len(lines) * 16 + 4 + below, self.full_room))
        for line in lines:
            self._book.pen.text(self._body.x, self._y - 13, line, _HEADING_PT, bold=True)
            self._y -= 16
        self._y -= 4

    def text(self, text: str, *, size: float = TEXT_PT, bold: bool = False, indent: float = 0.0) -> None:
        """Set a paragraph."""
        for line in wrap(text, self.width - indent, size, bold=bold):
            self.keep(size * _LEADING)
            self._book.pen.text(self._body.x + indent, self._y - size, line, size, bold=bold)
            self._y -= size * _LEADING
        self._y -= 3

    def items(self, texts: Sequence[str], *, size: float = TEXT_PT) -> None:
        """Set a list, one dash each."""
        for text in texts:
            lines = wrap(text, self.width - 14, size)
            self.keep(len(lines) * size * _LEADING)
            self._book.pen.text(self._body.x, self._y - size, "–", size)
            self.text("\n".join(lines), size=size, indent=14)

    def columns(self, texts: Sequence[str], *, size: float = SMALL_PT) -> None:
        """Set a list in two columns of about the same height, down the first and then down the second."""
        half, dash = (self.width - _GAP_PT) / 2, 10.0
        most = int((self.full_room - 1) / (size * _CLOSE_LEADING))
        waiting = [capped(wrap(text, half - dash, size), most) for text in texts]
        while waiting:
            heights = [len(lines) * size * _CLOSE_LEADING + 1 for lines in waiting]
            self.keep(heights[0])
            left = _filled(heights, min(self.room, max(sum(heights) / 2, heights[0])))
            fits = left < len(heights) and heights[left] <= self.room
            right = _filled(heights[left:], self.room) if fits else 0
            used = max(sum(heights[:left]), sum(heights[left : left + right]))
            for x, entries in ((0.0, waiting[:left]), (half + _GAP_PT, waiting[left : left + right])):
                self._column(entries, self._body.x + x, dash, size)
            waiting = waiting[left + right :]
            self._y -= used
        self._y -= 5

    def _column(self, entries: Sequence[list[str]], x: float, dash: float, size: float) -> None:
        y = self._y
        for lines in entries:
            self._book.pen.text(x, y - size, "–", size)
            for line in lines:
                self._book.pen.text(x + dash, y - size, line, size)
                y -= size * _CLOSE_LEADING
            y -= 1

    def table(self, table: Table) -> None:
        """Place a table, broken between rows where it must be."""
        for height, rows in table.pieces(self.room, self.full_room):
            if not rows:
                self.turn_page()
                continue
            if height > self.room:
                self.turn_page()
            table.draw(self._book.pen, self._body.x, self._y, rows)
            self._y -= height
        self._y -= _GAP_PT


def _filled(heights: Sequence[float], room: float) -> int:
    """How many of the first entries a column holds; at least one.

    >>> _filled([10, 10, 10], 25)
    2
    """
    count, used = 0, 0.0
    while count < len(heights) and (not count or used + heights[count] <= room):
        used += heights[count]
        count += 1
    return count


def title_block(
    flow: Flow, book: Book, more: Sequence[tuple[str, str]] = (), *, without: Sequence[str] = ()
) -> None:
    """Place name, address, parcel, owner, contractor, phone, permit, date and more; what is empty is a blank to fill in.

    ``without`` names what another part of the page holds.
    """
    site, paper = book.plan.site, book.plan.site.paper
    say = book.plan.say
    prepared = say.written(paper.prepared) if paper.prepared else ""
    fields = (
        (word("Site"), site.name),
        (word("Owner"), paper.owner),
        (word("Address"), paper.address),
        (word("Contractor"), paper.contractor),
        (word("Parcel"), paper.parcel_number),
        (word("Phone"), paper.phone),
        (word("Permit"), paper.permit),
        (word("Prepared"), prepared),
        *more,
    )
    across = 4 if flow.width > 600 else 2
    cell = flow.width / across
    label = 58.0
    sets = [
        (say(name), capped(wrap(value or BLANK, cell - label - 10, TEXT_PT), _MOST_LINES))
        for name, value in fields
        if name not in without
    ]
    rows = [sets[n : n + across] for n in range(0, len(sets), across)]
    heights = [max(len(lines) for _, lines in row) * 14.0 + 5 for row in rows]

    def draw(box: Box) -> None:
        pen = book.pen
        pen.box(box, _RULE)
        top = box.top
        for row, height in zip(rows, heights, strict=True):
            for column, (name, lines) in enumerate(row):
                x = box.x + column * cell
                pen.text(x + 5, top - 14, name, LEAST_PT)
                for n, line in enumerate(lines):
                    pen.text(x + label, top - 14 - 14 * n, line, TEXT_PT)
                if column:
                    pen.line([(x, top), (x, top - height)], HAIR)
            top -= height
            if top > box.y + 1:
                pen.line([(box.x, top), (box.right, top)], HAIR)

    flow.block(sum(heights), draw)


def count_pages(plan: Plan, paper: Paper, draw: Callable[[Book], None]) -> int:
    """Count the sheets that a document takes, without making it."""
    sheets = 0

    def go(pen: Pen) -> None:
        nonlocal sheets
        book = Book(pen, plan, "", paper, 0)
        draw(book)
        sheets = book.sheet

    rehearse(go)
    return sheets


def make_book(plan: Plan, title: str, paper: Paper, draw: Callable[[Book], None]) -> bytes:
    """Go through a document twice: once to count its sheets, once to draw and number them."""
    total = count_pages(plan, paper, draw)

    def draw_all(pen: Pen) -> None:
        book = Book(pen, plan, title, paper, total)
        draw(book)
        book.finish()

    return pdf_bytes(
        f"{title}: {plan.site.name}", draw_all, author=plan.site.paper.contractor, language=plan.say.language
    )
