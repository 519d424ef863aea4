"""Bends of the trench and of each conduit: what the pipe must turn, and what the wire must be pulled round."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from siteplan.measure.along import turns
from siteplan.measure.model import Bend, Pull
from siteplan.measure.profile import Trench
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
    """One pull for each electric line in conduit, from end to end: its bends in plan and a riser at each end."""
    found = []
    for path in layout.paths:
        line = site.line(path.line)
        if line.carries != "electric" or not is_conduit(line):
            continue
        plan_deg = sum(abs(turn.deflection_deg) for turn in turns(layout.way(path.line)))
        found.append(
            Pull(
                line=line.id,
                plan_deg=plan_deg,
                risers_deg=2 * RISER_DEG,
                sum_deg=plan_deg + 2 * RISER_DEG,
                limit=requirements.bend_limit_deg,
                length_m=developed_m[line.id],
            )
        )
    return tuple(found)


def sweeps(layout: Layout, path: LinePath) -> int:
    """Sweeps of one conduit: one at each end, one at each sharper bend."""
    return 2 + sum(abs(turn.deflection_deg) > SWEEP_DEG for turn in turns(layout.way(path.line)))
