"""Bends of the lines: how much a conduit turns between pull points, and whether each bend has room for its arc."""

from __future__ import annotations

from collections.abc import Iterator

from siteplan.check.finding import Finding
from siteplan.check.verdicts import ROUNDING_M, judge
from siteplan.measure.along import turns
from siteplan.measure.model import Works
from siteplan.measure.pull_points import on_reach
from siteplan.route.arcs import EasedLine, tangent_m
from siteplan.route.model import Layout
from siteplan.rules.model import Requirements
from siteplan.site.catalogue import products
from siteplan.site.rates import BENDS
from siteplan.site.site import Site
from siteplan.units import Printer

_ROUNDING_DEG = 1e-6


def check_bends(site: Site, requirements: Requirements, layout: Layout, works: Works) -> Iterator[Finding]:
    """Sum of bends of each conduit between pull points, its risers counted; bends too tight for it, or too sharp."""
    yield from _sharp_bends(site, layout)
    for line, eased in works.eased:
        yield from _tight_bends(site, layout, line, eased)
    for pull in works.pulls:
        margin = pull.limit.value - pull.sum_deg
        yield Finding(
            topic="bend",
            what=f"{site.line(pull.line).name}: bends between pull points",
            subject=pull.line,
            verdict=judge(margin, 0.0, pull.limit.citation.force),
            required_m=pull.limit.value,
            required_text=f"{pull.limit.value:g} deg at most",
            measured_m=pull.sum_deg,
            error_m=0.0,
            margin_m=margin,
            unit="deg",
            method=f"planned: {pull.plan_deg:.0f} deg in plan and {pull.risers_deg:.0f} deg in the risers",
            settle="" if margin >= 0 else "Set a pull box along the run, or straighten the route.",
            confidence=requirements.confidence,
            citation=pull.limit.citation,
        )


def _sharp_bends(site: Site, layout: Layout) -> Iterator[Finding]:
    """Bends of the trench sharper than any that the rates price: a trench that is drawn or must pass a point may have them."""
    sharpest_deg, printer = BENDS[-1][0], Printer(site.units)
    for reach in layout.reaches:
        for turn in turns(reach.path):
            turn_deg = abs(turn.deflection_deg)
            if turn_deg > sharpest_deg + _ROUNDING_DEG:
                yield Finding(
                    topic="bend",
                    what=f"bend of {turn_deg:.0f} deg at {reach.name} {printer.station(turn.distance_m)}",
                    subject=reach.name,
                    verdict="short",
                    required_m=sharpest_deg,
                    required_text=f"{sharpest_deg:g} deg at most",
                    measured_m=turn_deg,
                    margin_m=sharpest_deg - turn_deg,
                    unit="deg",
                    method="planned; the sharpest bend that the rates hold a price for, and it is priced as that",
                    reach=reach.name,
                    from_m=turn.distance_m,
                    to_m=turn.distance_m,
                    settle="Move the drawn line or the point that it must pass, or make the turn in two bends.",
                )


def _tight_bends(site: Site, layout: Layout, line_id: str, eased: EasedLine) -> Iterator[Finding]:
    """Bends of one line where no arc of the least radius of its product fits."""
    printer, line = Printer(site.units), site.line(line_id)
    product, way, path = products()[line.product], layout.way(line_id), layout.path(line_id)
    turned = turns(way) if eased.tight else []
    stops_m = [0.0, *(turn.distance_m for turn in turned), float(way.length)]
    tangents_m = [0.0, *(tangent_m(product.least_radius_m, turn.deflection_deg) for turn in turned), 0.0]
    for number in eased.tight:
        turn = turned[number - 1]
        legs = [
            ("before", stops_m[number] - stops_m[number - 1], tangents_m[number - 1] + tangents_m[number]),
            ("after", stops_m[number + 1] - stops_m[number], tangents_m[number] + tangents_m[number + 1]),
        ]
        because = tuple(
            f"the leg {which} the bend is {printer.length(leg_m)}, its arcs take {printer.length(arcs_m)} of it"
            for which, leg_m, arcs_m in legs
            if leg_m < arcs_m - ROUNDING_M
        )
        _, measured_m, required_m = min(legs, key=lambda leg: leg[1] - leg[2])
        reach, at_m = on_reach(path, turn.distance_m)
        yield Finding(
            topic="bend",
            what=f"{line.name}: bend of {abs(turn.deflection_deg):.0f} deg at {reach} {printer.station(at_m)}, room for its arc",
            subject=line.id,
            verdict="short",
            required_m=required_m if because else None,
            required_text=f"radius {printer.short(product.least_radius_m)} at least",
            measured_m=measured_m if because else None,
            margin_m=measured_m - required_m if because else None,
            method=f"planned, {product.name}",
            reach=reach,
            from_m=at_m,
            to_m=at_m,
            because=because or ("the arc would leave the trench, and the ground beside it is kept off",),
            settle="Set a fitting made for that bend, or move the bend.",
        )
