"""Where the words of a drawing go: beside their point, not on one another, not on what must be seen."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import product
from math import hypot

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, Point
from shapely.geometry.base import BaseGeometry

from siteplan.document.pdf import HAIR, Pen, capped, text_width, wrap
from siteplan.document.sheet import Box

_LEADING = 1.15
_REACHES_PT = (6.0, 18.0, 34.0, 54.0, 80.0)
_ALONG = sorted((n / 50 for n in range(6, 45)), key=lambda part: (round(abs(part - 0.5), 6), part))
"""Parts of a line at which words may be set into it, from the middle outward."""
_PLACED_WEIGHT = 60.0
_HEAVY, _TOUCHING_PT = 20.0, 1.0
"""From this weight on a part of the drawing is not covered by words that may be left out, beyond so much [points]."""
_BESIDE_PT, _BESIDE_COST = 9.0, 150.0
_PASSING_PT, _PASSING_COST = 5.0, 2000.0
_SAME_PT = 3.0
"""Words, or their leader, so near to a point to go to that is not theirs; within the last it is theirs [points]."""
_WAYS = ((1, 0), (1, 1), (0, 1), (-1, 1), (-1, 0), (-1, -1), (0, -1), (1, -1))


@dataclass(frozen=True, slots=True)
class _Label:
    at: tuple[tuple[float, float], ...]
    lines: list[str]
    size: float
    bold: bool
    on_it: bool
    aside: bool
    framed: bool
    optional: bool = False

    @property
    def marks(self) -> bool:
        """Whether it names a point to go to or to tape from: these print bold beside it."""
        return self.aside and self.bold and not self.on_it

    @property
    def width(self) -> float:
        return max(text_width(line, self.size, bold=self.bold) for line in self.lines) + 4

    @property
    def height(self) -> float:
        return len(self.lines) * self.size * _LEADING + 2


class Labels:
    """Words waiting for their place in one drawing.

    Parameters
    ----------
    box : Box
        Where the drawing is; no word leaves it.
    """

    def __init__(self, box: Box) -> None:
        self._box = box
        self._taken: list[tuple[float, float, float, float, float]] = []
        self._waiting: list[_Label] = []

    def keep_clear(self, box: Box, weight: float = 3.0) -> None:
        """Name a part of the drawing that words should not cover."""
        self._taken.append((box.x, box.y, box.right, box.top, weight))

    def keep_clear_along(
        self, page_shape: BaseGeometry, half_width: float = 3.0, weight: float = 1.0
    ) -> None:
        """Name lines of the drawing, in page points, that words should not cover."""
        step = 2 * half_width
        for part in getattr(page_shape, "geoms", [page_shape]):
            if part.is_empty:
                continue
            outline = part.boundary if part.geom_type == "Polygon" else part
            for n in range(int(outline.length / step) + 1):
                spot = outline.interpolate(n * step)
                self.keep_clear(
                    Box(spot.x - half_width, spot.y - half_width, step, step),
                    weight,
                )

    def add(
        self,
        at: tuple[float, float],
        text: str,
        size: float,
        *,
        bold: bool = False,
        width: float = 110.0,
        most_lines: int = 2,
        centred: bool = False,
        framed: bool = False,
        optional: bool = False,
    ) -> None:
        """Ask for words at a page point.

        ``centred``: on the point itself if there is room; ``framed``: in a box; ``optional``: placed after the others, and left
        out where they would cover words or a symbol.
        """
        lines = capped(wrap(text, width, size, bold=bold), most_lines)
        if any(lines):
            self._waiting.append(_Label((at,), lines, size, bold, centred, True, framed, optional))

    def add_along(
        self, line: LineString, text: str, size: float, *, bold: bool = False, framed: bool = False
    ) -> bool:
        """Ask for words set into a line in page points, wherever along it they cover least; False if it is too short."""
        width = text_width(text, size, bold=bold) + 4
        if not text or line.length <= 1.2 * width:
            return False
        spots = [line.interpolate(part, normalized=True) for part in _ALONG]
        at = tuple((spot.x, spot.y) for spot in spots)
        self._waiting.append(_Label(at, [text], size, bold, True, False, framed))
        return True

    def draw(self, pen: Pen) -> None:
        """Place all words in the order in which they were asked for, far ones with a leader, which goes under all words."""
        placed: list[tuple[Box, _Label]] = []
        for label in sorted(self._waiting, key=lambda one: one.optional):
            spot = self._best(label)
            if label.optional and self._covers(spot):
                continue
            self._taken.append((spot.x, spot.y, spot.right, spot.top, _PLACED_WEIGHT))
            placed.append((spot, label))
            self._leader(pen, spot, label)
        for spot, label in placed:
            pen.fill(spot)
            if label.framed:
                pen.box(spot, HAIR)
            y = spot.top - label.size
            for line in label.lines:
                pen.text(spot.x + spot.width / 2, y, line, label.size, bold=label.bold, align="centre")
                y -= label.size * _LEADING

    def _covers(self, spot: Box) -> bool:
        """Whether words there would lie on other words, on a symbol, or on the scale."""
        return any(
            weight >= _HEAVY
            and min(spot.right, right) - max(spot.x, left) > _TOUCHING_PT
            and min(spot.top, top) - max(spot.y, low) > _TOUCHING_PT
            for left, low, right, top, weight in self._taken
        )

    def _spots(self, label: _Label) -> Iterable[Box]:
        width, height = label.width, label.height
        for x, y in label.at:
            if label.on_it:
                yield self._inside(Box(x - width / 2, y - height / 2, width, height))
            for reach, (right, up) in product(_REACHES_PT if label.aside else (), _WAYS):
                left = x + right * reach - (width if right < 0 else width / 2 if right == 0 else 0)
                low = y + up * reach - (height if up < 0 else height / 2 if up == 0 else 0)
                yield self._inside(Box(left, low, width, height))

    def _inside(self, box: Box) -> Box:
        x = min(max(box.x, self._box.x + 2), self._box.right - box.width - 2)
        y = min(max(box.y, self._box.y + 2), self._box.top - box.height - 2)
        return Box(x, y, box.width, box.height)

    def _best(self, label: _Label) -> Box:
        """Return the spot that covers least and is not far; the first of equals."""
        spots = list(self._spots(label))
        places = np.array([(spot.x, spot.y, spot.right, spot.top) for spot in spots])[:, None, :]
        taken = np.array(self._taken or [(0.0, 0.0, 0.0, 0.0, 0.0)])[None, :, :]
        wide = np.minimum(places[..., 2], taken[..., 2]) - np.maximum(places[..., 0], taken[..., 0])
        high = np.minimum(places[..., 3], taken[..., 3]) - np.maximum(places[..., 1], taken[..., 1])
        cost = (np.maximum(wide, 0) * np.maximum(high, 0) * taken[..., 4]).sum(axis=1)
        if label.aside:
            cost += [self._distance_cost(spot, label) for spot in spots]
        if label.marks:
            cost += self._mistaken_cost(spots, label)
        return spots[int(np.argmin(np.round(cost, 6)))]

    def _distance_cost(self, spot: Box, label: _Label) -> float:
        x, y = label.at[0]
        away = max(spot.x - x, x - spot.right, 0) + max(spot.y - y, y - spot.top, 0)
        return 2 * away + (0.0 if label.on_it or away else 40.0)

    def _mistaken_cost(self, spots: list[Box], label: _Label) -> NDArray[np.float64]:
        """Cost of spots at which a reader may take the words for those of another point to go to."""
        x, y = label.at[0]
        marked = [other.at[0] for other in self._waiting if other.marks]
        others = np.array(
            [Point(at) for at in marked if hypot(at[0] - x, at[1] - y) > _SAME_PT], dtype=object
        )
        boxes = shapely.box(*np.array([(spot.x, spot.y, spot.right, spot.top) for spot in spots]).T)
        leaders = shapely.linestrings([(_nearest(spot, x, y), (x, y)) for spot in spots])
        beside = shapely.distance(boxes[:, None], others[None, :]) < _BESIDE_PT
        passed = shapely.distance(leaders[:, None], others[None, :]) < _PASSING_PT
        cost: NDArray[np.float64] = _BESIDE_COST * beside.sum(axis=1) + _PASSING_COST * passed.sum(axis=1)
        return cost

    def _leader(self, pen: Pen, spot: Box, label: _Label) -> None:
        x, y = label.at[0]
        near = _nearest(spot, x, y)
        if label.aside and abs(near[0] - x) + abs(near[1] - y) > 12:
            pen.line([near, (x, y)], HAIR)


def _nearest(spot: Box, x: float, y: float) -> tuple[float, float]:
    return min(max(x, spot.x), spot.right), min(max(y, spot.y), spot.top)
