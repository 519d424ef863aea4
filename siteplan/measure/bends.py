"""Bends of the trench and of each conduit: what the pipe must turn, and what the wire must be pulled round."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from itertools import count, pairwise

from siteplan.measure.along import TOUCH_M, turns
from siteplan.measure.model import Bend, Pull
from siteplan.measure.profile import Trench
from siteplan.measure.pull_points import pull_points
from siteplan.measure.said import Said
from siteplan.route.model import Layout, LinePath
from siteplan.rules.model import Requirements
from siteplan.site.catalogue import products
from siteplan.site.features import Line
from siteplan.site.site import Site

LEAST_BEND_DEG = 1.0
"""A smaller deflection is dug as a straight. Common practice, no source."""

SWEEP_DEG = 11.25
"""A larger bend takes a factory sweep; a smaller one is bent in place. Common practice, no source."""

RISER_DEG = 90.0
"""Each end of a conduit turns up once."""


def bends(site: Site, trenches: Iterable[Trench]) -> tuple[Bend, ...]:
    """Bends of the trench, B1, B2 ... over all reaches, each with the largest least radius of the lines in it."""
    found = [
        (trench, turn)
        for trench in trenches
        for turn in turns(trench.reach.path)
        if abs(turn.deflection_deg) > LEAST_BEND_DEG
    ]
    return tuple(
        Bend(
            name=f"B{number}",
            reach=trench.name,
            distance_m=turn.distance_m,
            x=turn.x,
            y=turn.y,
            deflection_deg=turn.deflection_deg,
            least_radius_m=max(
                (
                    products()[site.line(line).product].least_radius_m
                    for line in trench.reach.lines_at(turn.distance_m)
                ),
                default=0.0,
            ),
        )
        for number, (trench, turn) in enumerate(found, start=1)
    )


def is_conduit(line: Line) -> bool:
    """Does it carry wire that is pulled in later."""
    return line.carries != "water" and wiring_method(line) != "direct_burial"


def wiring_method(line: Line) -> str | None:
    """Wiring method of a line: as it states, else as its product is known."""
    return line.method or products()[line.product].method


def pulls(
    site: Site, requirements: Requirements, layout: Layout, developed_m: Mapping[str, float]
) -> tuple[Pull, ...]:
    """Pulls of each electric line in conduit, in order: its bends in plan, and a riser at each end of the conduit.

    Where the bends of the whole conduit are more than may be pulled round, pull points P1, P2 ... part it at bends; their
    number is one less than the pulls of the line. A part is as long as its share of the map length says.
    """
    found: list[Pull] = []
    points = count(1)
    for path in layout.paths:
        line = site.line(path.line)
        if line.carries != "electric" or not is_conduit(line):
            continue
        way = layout.way(path.line)
        turned = turns(way)
        limit = requirements.bend_limit_deg
        bends_deg = [abs(turn.deflection_deg) for turn in turned]
        chosen = pull_points(bends_deg, limit.value, riser_deg=RISER_DEG)
        edges = [-1, *chosen, len(turned)]
        edges_m = [0.0, *(turned[at].distance_m for at in chosen), float(way.length)]
        names = [
            _name(site, line.start),
            *(Said("pull point {name}", name=f"P{next(points)}") for _ in chosen),
            _name(site, line.end),
        ]
        for number, (after, before) in enumerate(pairwise(edges)):
            plan_deg = sum(bends_deg[after + 1 : before])
            risers_deg = RISER_DEG * ((after == -1) + (before == len(turned)))
            from_m, to_m = edges_m[number : number + 2]
            found.append(
                Pull(
                    line=line.id,
                    start=names[number],
                    end=names[number + 1],
                    from_m=from_m,
                    to_m=to_m,
                    plan_deg=plan_deg,
                    risers_deg=risers_deg,
                    sum_deg=plan_deg + risers_deg,
                    limit=limit,
                    length_m=developed_m[line.id] * ((to_m - from_m) / way.length if chosen else 1.0),
                )
            )
    return tuple(found)


def _name(site: Site, place: str) -> str:
    """Name of the feature where a line starts or ends, or of the line that it tees off."""
    lines = {line.id: line.name for line in site.lines}
    return lines.get(place) or site.feature(place).name


def sweeps(layout: Layout, path: LinePath, pulls: Iterable[Pull]) -> int:
    """Sweeps of one conduit: one at each end, one at each sharper bend that is no pull point."""
    points_m = [pull.from_m for pull in pulls if pull.line == path.line]
    return 2 + sum(
        abs(turn.deflection_deg) > SWEEP_DEG
        and all(abs(turn.distance_m - point_m) > TOUCH_M for point_m in points_m)
        for turn in turns(layout.way(path.line))
    )
