"""A line chart as SVG, written by hand, so that a bench can leave a picture behind."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from html import escape
from pathlib import Path

WIDTH, HEIGHT = 760, 480
LEFT, RIGHT, TOP, BOTTOM = 80, 210, 60, 60
COLOURS = ("#1b6ca8", "#c0392b", "#2e8b57", "#8e5ea2", "#b8860b", "#555555")


@dataclass(frozen=True, slots=True, kw_only=True)
class Series:
    """A named line through points (x, y), both above 0."""

    name: str
    points: Sequence[tuple[float, float]]


def log_log_chart(
    path: Path, *, title: str, x_name: str, y_name: str, series: Sequence[Series], note: str = ""
) -> None:
    """Draw lines over two logarithmic scales and write them as SVG; points of one line are joined in order of x."""
    points = [point for line in series for point in line.points]
    x_low, x_high = _span([x for x, _ in points])
    y_low, y_high = _span([y for _, y in points])

    def at(x: float, y: float) -> tuple[float, float]:
        return (
            LEFT + (math.log10(x) - x_low) / (x_high - x_low) * (WIDTH - LEFT - RIGHT),
            HEIGHT - BOTTOM - (math.log10(y) - y_low) / (y_high - y_low) * (HEIGHT - TOP - BOTTOM),
        )

    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}" font-family="sans-serif" font-size="12">',
        f'<rect width="{WIDTH}" height="{HEIGHT}" fill="white"/>',
        _text(LEFT, 24, title, size=15),
    ]
    for power in range(x_low, x_high + 1):
        x, bottom = at(10.0**power, 10.0**y_low)
        parts += [_rule(x, TOP, x, bottom), _text(x, bottom + 18, _number(power), anchor="middle")]
    for power in range(y_low, y_high + 1):
        left, y = at(10.0**x_low, 10.0**power)
        parts += [_rule(left, y, WIDTH - RIGHT, y), _text(left - 8, y + 4, _number(power), anchor="end")]
    middle = (LEFT + WIDTH - RIGHT) / 2
    parts += [
        _text(middle, HEIGHT - 22, x_name, anchor="middle"),
        _text(8, TOP - 14, y_name),
        _text(LEFT, HEIGHT - 5, note, size=10),
    ]
    for n, line in enumerate(series):
        colour = COLOURS[n % len(COLOURS)]
        places = [at(*point) for point in sorted(line.points)]
        way = " ".join(f"{x:.1f},{y:.1f}" for x, y in places)
        parts.append(f'<polyline points="{way}" fill="none" stroke="{colour}" stroke-width="2"/>')
        parts += [f'<circle cx="{x:.1f}" cy="{y:.1f}" r="3" fill="{colour}"/>' for x, y in places]
        key = TOP + 12 + 20 * n
        parts.append(
            f'<rect x="{WIDTH - RIGHT + 14}" y="{key - 8}" width="14" height="4" fill="{colour}"/>'
            + _text(WIDTH - RIGHT + 34, key, line.name)
        )
    path.write_text("\n".join([*parts, "</svg>"]) + "\n", encoding="utf-8")


def _span(values: Sequence[float]) -> tuple[int, int]:
    """Return the powers of ten between which all values lie, at least one apart."""
    low, high = math.floor(math.log10(min(values))), math.ceil(math.log10(max(values)))
    return low, max(high, low + 1)


def _number(power: int) -> str:
    return f"{10**power:,}" if power >= 0 else f"{10.0**power:.{-power}f}"


def _text(x: float, y: float, text: str, *, anchor: str = "start", size: int = 12) -> str:
    return f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" font-size="{size}">{escape(text)}</text>'


def _rule(x1: float, y1: float, x2: float, y2: float) -> str:
    return f'<line x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}" stroke="#dddddd"/>'
