"""The legend of the map: what is drawn on it, each line type with its words."""

from __future__ import annotations

from collections.abc import Iterator

from siteplan.document.map_parts import section
from siteplan.document.map_shapes import drawn, is_measured, site_look, slug
from siteplan.document.model import Plan
from siteplan.document.page import escaped
from siteplan.document.symbols import ALL_LOOKS, BORED, is_on_the_ground, look
from siteplan.site.catalogue import kinds

MOST_BESIDE = 20
"""So many rows stand beside the cautions on paper; more stand under them."""

_LINE, _AREA, _POINT = "M1 9h48", "M2 2h46v14h-46z", "M30 9a5 5 0 1 1-10 0a5 5 0 1 1 10 0z"
_MARKS = (
    ("line trench", _LINE, "trench"),
    ("line hand-dig", _LINE, "hand dig, no machine"),
    ("point station", _POINT, "station"),
    ("point station bend", _POINT, "bend"),
    ("area root-zone", _AREA, "roots of a tree"),
    ("area kept-off", _AREA, "kept off by the rules"),
    ("line other-way", _LINE, "another way"),
)


def legend(plan: Plan) -> str:
    """Compose the legend of what this plan draws."""
    rows = "".join(_row(*each) for each in _rows(plan))
    return section("Legend", f'<ul class="legend">{rows}</ul>', name="legend")


def _row(classes: str, path: str, words: str, letter: str = "") -> str:
    text = f'<text x="25" y="14">{letter}</text>' if letter else ""
    return (
        f'<li><svg width="50" height="18" viewBox="0 0 50 18" aria-hidden="true"><path class="{classes}" d="{path}"/>{text}</svg>'
        f"{escaped(words)}</li>"
    )


def _rows(plan: Plan) -> Iterator[tuple[str, str, str, str]]:
    """Classes, path, words and letter of each row."""
    used = {each.classes for each in drawn(plan)}
    for classes, path, words in _MARKS:
        if any(set(classes.split()) <= set(each.split()) for each in used):
            yield classes, path, words, ""
    if any(reach.bored for reach in plan.layout.reaches):
        yield f"line {slug(BORED.legend)}", _LINE, BORED.legend, ""
    for verdict in dict.fromkeys(
        each.verdict for each in plan.findings if is_measured(each) and each.verdict != "not applicable"
    ):
        yield f"line setback {slug(verdict)}", _LINE, f"distance, {verdict}", ""
    things = [each for each in plan.site.features if is_on_the_ground(each)]
    points = {each.kind: each for each in things if each.shape.geom_type.endswith("Point")}
    for kind, point in points.items():
        yield f"point {site_look(point)} {slug(kind)}", _POINT, kinds()[kind].name, ""
    for each in ALL_LOOKS:
        alike = [thing for thing in things if look(thing) == each and thing.kind not in points]
        if alike:
            is_area = any("Polygon" in thing.shape.geom_type for thing in alike)
            form, path = ("area", _AREA) if is_area else ("line", _LINE)
            yield f"{form} {slug(each.legend)}", path, each.legend, "" if is_area else each.letter
