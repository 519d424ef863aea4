"""North arrow and bar scale of a plan drawing."""

from __future__ import annotations

from math import cos, radians, sin

from siteplan.document.model import Plan
from siteplan.document.pdf import HAIR, Pen, Stroke, text_width
from siteplan.document.sheet import Box, Viewport
from siteplan.units import FOOT_M, Printer

_STEPS = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000)
_WORDS_PT = 9.0


def north_arrow(pen: Pen, view: Viewport) -> Box:
    """Draw the north arrow in the upper right corner; returns the box that it takes."""
    x, y = view.box.right - 22, view.box.top - 26
    turn = radians(90 + view.turn_deg)
    dx, dy = 16 * cos(turn), 16 * sin(turn)
    around = Box(x - 20, y - 22, 40, 44)
    pen.fill(around)
    pen.arrow((x - dx, y - dy), (x + dx, y + dy), Stroke(1.6), 9)
    pen.fill(Box(x - 5, y - 6, 10, 12))
    pen.text(x, y - 4.5, "N", 12, bold=True, align="centre")
    return around


def bar_scale(pen: Pen, view: Viewport, plan: Plan) -> Box:
    """Draw the bar scale in the lower left corner, with the scale in words; returns the box that it takes."""
    printer = Printer(plan.site.units)
    unit_m = FOOT_M if printer.unit == "ft" else 1.0
    step_m = max(
        (unit_m * step for step in _STEPS if view.scale.points(unit_m * step) * 4 <= 160), default=unit_m
    )
    step = view.scale.points(step_m)
    end = printer.length(4 * step_m)
    around = Box(
        view.box.x + 3, view.box.y + 3, 4 * step + 24 + text_width(end, _WORDS_PT, bold=True) / 2, 35
    )
    x, y = view.box.x + 12, view.box.y + 19
    pen.fill(around)
    for n in range(4):
        pen.fill(Box(x + n * step, y, step, 4), black=n % 2 == 0)
    pen.box(Box(x, y, 4 * step, 4), HAIR)
    pen.text(x, y + 8, plan.say("scale {scale}", scale=view.scale.text), _WORDS_PT, bold=True)
    pen.text(x, y - 10, "0", _WORDS_PT, bold=True, align="centre")
    middle = printer.number(2 * step_m)
    if text_width(middle, _WORDS_PT) < step:
        pen.text(x + 2 * step, y - 10, middle, _WORDS_PT, bold=True, align="centre")
    pen.text(x + 4 * step, y - 10, end, _WORDS_PT, bold=True, align="centre")
    return around
