"""What the contractor decides of a route: points to pass, a trench already drawn, walls without an entry, a start to choose."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import get_args

from shapely import LineString, Point

from siteplan.read.ground import Ground
from siteplan.read.shapes import rough_metres
from siteplan.read.site_file import Row
from siteplan.read.site_model import LineTable
from siteplan.read.words import FaultList, shown
from siteplan.site.features import Feature, Line, Side, carried_by
from siteplan.units import FOOT_M

CHEAPEST = "cheapest"
"""Stands for the start of a line that the router chooses."""

NEAR_M = 3 * FOOT_M
"""Largest distance [m] from an end of a drawn route to what it begins or ends at (own choice)."""

_FED = ("building", "entry", "hydrant")
_FEEDS = ("building", "entry")


def check_control(
    row: Row[LineTable], line: Line, ground: Ground, faults: FaultList, *, lonlat: bool
) -> None:
    """Note what one line decides of its route that cannot be, or not together.

    Parameters
    ----------
    line : Line
        As made of ``row``.
    lonlat : bool
        The shapes are in degrees, not in metres.
    """
    _check_sides(row, line, ground, faults)
    if len(set(line.through)) < len(line.through):
        faults.add(row.at("through"), found="a point twice", expected="each point once")
    if line.drawn is None:
        return
    beside = {"through": bool(line.through), "closed_sides": bool(line.closed_sides)}
    for key in (key for key, stated in beside.items() if stated):
        faults.add(
            row.at(key), found=f"{key} beside drawn", expected="one of them, as a drawn route is not routed"
        )
    if line.start == CHEAPEST:
        faults.add(
            row.at("from"),
            found=f"{shown(CHEAPEST)} beside drawn",
            expected="what the drawn route begins at",
        )
    _check_drawn(row, line, ground, faults, lonlat=lonlat)


def _check_sides(row: Row[LineTable], line: Line, ground: Ground, faults: FaultList) -> None:
    end = ground.features.get(line.end)
    if line.closed_sides and end is not None and end.kind != "building":
        faults.add(
            row.at("closed_sides"),
            found=f"closed sides of {shown(end.id)}, which is a {end.kind}",
            expected="a line that ends at a building",
        )
    elif len(line.closed_sides) == len(get_args(Side)):
        faults.add(row.at("closed_sides"), found="all four sides", expected="at least one side left open")


def _check_drawn(row: Row[LineTable], line: Line, ground: Ground, faults: FaultList, *, lonlat: bool) -> None:
    """A drawn route begins and ends where its line does."""
    drawn = ground.features.get(line.drawn or "")
    if drawn is None or drawn.kind != "drawn_route":
        return
    if not isinstance(drawn.shape, LineString):
        faults.add(row.at("drawn"), found=f"{shown(drawn.id)} in several parts", expected="one unbroken line")
        return
    meant = {
        word: ground.features[end]
        for word, end in (("begins", line.start), ("ends", line.end))
        if end in ground.features
    }
    path, *shapes = rough_metres([drawn.shape, *(each.shape for each in meant.values())], lonlat=lonlat)
    first, last = (Point(path.coords[at]) for at in (0, -1))
    here, there = {"begins": first, "ends": last}, {"begins": last, "ends": first}
    off_m = {word: shape.distance(here[word]) for word, shape in zip(meant, shapes, strict=True)}
    wrong = [word for word, away_m in off_m.items() if away_m > NEAR_M]
    if wrong and all(
        shape.distance(there[word]) <= NEAR_M for word, shape in zip(meant, shapes, strict=True)
    ):
        faults.add(
            row.at("drawn"),
            found=f"{shown(drawn.id)}, which runs from {line.end} to {line.start}",
            expected=f"a drawn route from {line.start} to {line.end}",
            mend="draw it the other way round",
        )
        return
    for word in wrong:
        faults.add(
            row.at("drawn"),
            found=f"{shown(drawn.id)}, which {word} {off_m[word]:.1f} m from {meant[word].id}",
            expected=f"a drawn route that {word} within 3 ft of it",
            mend="draw it on to there",
        )


def may_be_tapped(there: Feature, carries: str) -> bool:
    """Whether a line in the ground is in use and stated to carry the same."""
    return there.status != "abandoned" and carried_by(there) == carries


def with_choices(
    rows: Sequence[Row[LineTable]],
    lines: Sequence[Line],
    ground: Ground,
    faults: FaultList,
    *,
    all_read: bool,
) -> list[Line]:
    """Return the lines, those whose start is to be chosen with their choices, starting at the first of them.

    Choices are, in this order: the well; each line that carries the same and ends at a building, an entry or a hydrant;
    each building or entry that such a line ends at; each line in the ground that is stated to carry the same. A line is no
    choice if it may hang on the line that chooses, so that no rings come about whatever is chosen; of two lines that
    might choose each other the later may choose the earlier.
    """
    made = {line.id: line for line in lines if line.start != CHEAPEST}
    for row, line in zip(rows, lines, strict=True):
        if line.start != CHEAPEST:
            continue
        choices = _choices(line, lines, made, ground)
        if choices:
            made[line.id] = replace(line, start=choices[0], choices=choices)
            continue
        made[line.id] = line
        if all_read and ground.whole and not ground.spoilt:
            faults.add(
                row.at("from"),
                found=f"{shown(CHEAPEST)} with nothing to choose from",
                expected=f"a well, or a line that carries {line.carries}",
            )
    return [made[line.id] for line in lines]


def _choices(line: Line, lines: Sequence[Line], made: Mapping[str, Line], ground: Ground) -> tuple[str, ...]:
    wells = [well.id for well in ground.of_kind("well")]
    named = [well for well in wells if well in {each.start for each in lines}]
    usable = named or (wells if len(wells) == 1 else [])
    tees = [each for each in lines if _may_feed(each, line, lines, made, ground)]
    hanging = {each.end for each in lines if each.carries == line.carries and each not in tees}
    fed = dict.fromkeys(each.end for each in tees if each.end not in hanging)
    choices = (
        *usable[:1],
        *(each.id for each in tees),
        *(end for end in fed if ground.features[end].kind in _FEEDS),
        *(there.id for there in ground.of_kind("buried_line") if may_be_tapped(there, line.carries)),
    )
    return tuple(choice for choice in choices if choice != line.end)


def _may_feed(
    other: Line, line: Line, lines: Sequence[Line], made: Mapping[str, Line], ground: Ground
) -> bool:
    """Whether a line may tee off another: it carries the same, ends where it is of use, and does not hang on it."""
    end = ground.features.get(other.end)
    if other is line or other.carries != line.carries or end is None or end.kind not in _FED:
        return False
    seen: set[str] = set()
    ahead = [other.id]
    while ahead:
        here = ahead.pop()
        if here == line.id or here not in made:
            return False
        if here in seen:
            continue
        seen.add(here)
        starts = made[here].choices or (made[here].start,)
        ahead += [
            each.id for each in lines if each.carries == line.carries and {each.id, each.end} & set(starts)
        ]
    return True
