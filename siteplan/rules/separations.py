"""How far the lines to lay keep from each other and from what is in the ground, edge to edge."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import cache
from itertools import combinations

from siteplan.rules.model import Separation
from siteplan.rules.rows import BURIED, SeparationRow
from siteplan.rules.stack import Placed, Stack
from siteplan.site.features import Feature, carried_by
from siteplan.site.site import Site
from siteplan.units import Length

_UNKNOWN = "unknown"


def separations(stack: Stack, site: Site) -> Iterator[Separation]:
    """Yield what each two lines to lay ask of each other, and each line to lay of each line in the ground.

    A pair of which no row speaks is left out. A buried line of which nobody says what it carries is given the strictest
    of the rows it might fall under, and never a place in the same trench.
    """
    rows = stack.of(SeparationRow)

    @cache
    def between(one: str, other: str) -> Separation | None:
        """What a line that carries one thing asks of one that carries another; their ids are still to be named."""
        found = _between(rows, one, other)
        return _separation(found, one) if found else None

    for line, other in combinations(site.lines, 2):
        if asked := between(line.carries, other.carries):
            yield replace(asked, of=line.id, to=other.id)
    buried = [
        feature
        for feature in site.features
        if feature.kind in ("buried_line", "building_sewer", "effluent_line")
    ]
    for line in site.lines:
        for feature in buried:
            carries = carried(feature)
            asked = between(line.carries, carries)
            if asked is None:
                continue
            separation = replace(asked, of=line.id, to=feature.id)
            if carries == _UNKNOWN:
                note = f"what {feature.id} carries is not stated: the strictest row is taken"
                citation = replace(separation.citation, note=note)
                separation = replace(separation, may_share=False, shelf_m=None, over=None, citation=citation)
            yield separation


def carried(feature: Feature) -> str:
    """What a line in the ground carries, in the words of the separation rows, or ``unknown``."""
    if feature.kind != "buried_line":
        return feature.kind
    carries = carried_by(feature)
    return carries if carries in BURIED else _UNKNOWN


def _between(rows: tuple[Placed[SeparationRow], ...], one: str, other: str) -> list[Placed[SeparationRow]]:
    """Rows for this pair, the strictest first; against an unknown line every row of the known one."""
    if other == _UNKNOWN:
        found = [placed for placed in rows if one in placed.row.between]
    else:
        found = [placed for placed in rows if placed.row.between in ([one, other], [other, one])]
    return sorted(found, key=lambda placed: -max(_metres(placed.row.beside), _metres(placed.row.crossing)))


def _metres(length: Length | None) -> float:
    return length.metres if length is not None else 0.0


def _separation(found: list[Placed[SeparationRow]], carries: str) -> Separation:
    """All rows hold together: the largest of each number; one trench only if no row with a number forbids it."""

    def largest(number: Callable[[SeparationRow], Length | None]) -> float | None:
        lengths = [number(placed.row) for placed in found]
        return max((length.metres for length in lengths if length is not None), default=None)

    numbered = [p for p in found if p.row.beside or p.row.crossing or p.row.shelf] or found
    over = next((placed.row.over for placed in found if placed.row.over), "")
    return Separation(
        of="",
        to="",
        beside_m=largest(lambda row: row.beside),
        crossing_m=largest(lambda row: row.crossing),
        over=(over == carries) if over else None,
        may_share=all(placed.row.may_share for placed in numbered),
        shelf_m=largest(lambda row: row.shelf),
        citation=found[0].cite(),
        also=tuple(placed.cite() for placed in found[1:]),
    )
