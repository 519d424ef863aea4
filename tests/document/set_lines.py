"""Every line of text that a sheet sets, with where it begins and ends: to see that nothing runs off the paper."""

from __future__ import annotations

from typing import Any, NamedTuple

import pytest

from siteplan.document.labels import Labels
from siteplan.document.pdf import Pen, text_width
from siteplan.document.sheet import Paper


class SetLine(NamedTuple):
    """A line of text: left and right end, baseline and size [points]; page from 1 and its size; turned; words of a drawing."""

    text: str
    left: float
    right: float
    y: float
    size: float
    page: int = 0
    paper: tuple[float, float] = (0.0, 0.0)
    turned: bool = False
    of_drawing: bool = False


def watch(monkeypatch: pytest.MonkeyPatch) -> list[SetLine]:
    """Return a list that fills with each line that a pen sets from now on."""
    lines: list[SetLine] = []
    plain, sized, placed = Pen.text, Pen.size, Labels.draw
    page, paper, drawing = 0, (0.0, 0.0), False

    def watched(pen: Pen, x: float, y: float, text: str, size: float, **how: Any) -> None:
        width = text_width(text, size, bold=how.get("bold", False))
        left = x - {"left": 0.0, "centre": 0.5, "right": 1.0}[how.get("align", "left")] * width
        turned = bool(how.get("turn_deg", 0.0))
        lines.append(SetLine(text, left, left + width, y, size, page, paper, turned, drawing))
        plain(pen, x, y, text, size, **how)

    def begun(pen: Pen, upright: Paper) -> None:
        nonlocal page, paper
        page, paper = page + 1, (upright.width_pt, upright.height_pt)
        sized(pen, upright)

    def lettered(labels: Labels, pen: Pen) -> None:
        nonlocal drawing
        drawing = True
        placed(labels, pen)
        drawing = False

    monkeypatch.setattr(Pen, "text", watched)
    monkeypatch.setattr(Pen, "size", begun)
    monkeypatch.setattr(Labels, "draw", lettered)
    return lines
