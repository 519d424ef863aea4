"""Every line of text that a sheet sets, with where it begins and ends: to see that nothing runs off the paper."""

from __future__ import annotations

from typing import Any, NamedTuple

import pytest

from siteplan.document.pdf import Pen, text_width


class SetLine(NamedTuple):
    """A line of text: left and right end, baseline and size [points]."""

    text: str
    left: float
    right: float
    y: float
    size: float


def watch(monkeypatch: pytest.MonkeyPatch) -> list[SetLine]:
    """Return a list that fills with each line that a pen sets from now on."""
    lines: list[SetLine] = []
    plain = Pen.text

    def watched(pen: Pen, x: float, y: float, text: str, size: float, **how: Any) -> None:
        width = text_width(text, size, bold=how.get("bold", False))
        left = x - {"left": 0.0, "centre": 0.5, "right": 1.0}[how.get("align", "left")] * width
        lines.append(SetLine(text, left, left + width, y, size))
        plain(pen, x, y, text, size, **how)

    monkeypatch.setattr(Pen, "text", watched)
    return lines
