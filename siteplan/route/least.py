"""What is proven about the price of the trenches of one group of lines.

The proof is made on the same ground with round corners cut inside the true round, so that no trench is lost that keeps its
distances. The last legs to the walls are counted at the least that a metre costs anywhere.
"""

from __future__ import annotations

import math

from shapely import Point

from siteplan.route.approach import Approach
from siteplan.route.between import Goal
from siteplan.route.dig import Dug, reach_in
from siteplan.route.ground_prices import priced
from siteplan.route.keep_off import Yard
from siteplan.route.priced.cheapest import cheapest
from siteplan.route.priced.faces import least_rate
from siteplan.route.proof.bends import least_with_bends
from siteplan.route.proof.ground import least_over_ground
from siteplan.route.proof.trees import least_tree
from siteplan.route.scene import Scene
from siteplan.rules.model import Requirements
from siteplan.site.site import Site

WANTED = 0.01
"""Share of the price by which the proof may fall short before it is refined no more."""

MOST_PAIRS = 30_000
"""Pairs of cells that each part of a proof looks at: a second or two (own choice)."""

_FEW_PAIRS = 20_000


def least_price(site: Site, requirements: Requirements, dug: Dug, yard: Yard) -> float:
    """Return a price that no trenches for the lines of a group fall below.

    Parameters
    ----------
    site : Site
        In ground metres.
    dug : Dug
        The trenches that were found.
    yard : Yard
        What its lines keep off, whatever other groups keep off them.
    """
    reached = reach_in(site, requirements, dug.group, yard.reaching_in(site))
    scene = priced(site, requirements, dug.group, reached.ground.area, dug.strictness)
    price = math.fsum(item.price for item in dug.bill)
    leg_m = reached.start.leg_m + math.fsum(way.leg_m for way in reached.ends.values())
    legs = leg_m * least_rate(scene)
    start, ends = reached.start, list(reached.ends.values())
    if len(ends) == 1:
        least = _least_way(scene, start, ends[0], price - legs)
    else:
        goals = [way.goal for way in ends]
        least = least_tree(
            scene,
            start.goal,
            goals,
            best=price - legs,
            pair_bound=lambda one, other: _least_between(scene, one, other),
            wanted=WANTED,
            legs=[() if isinstance(way.goal, Point) else way.places for way in ends],
        )
    return legs + least


def _least_way(scene: Scene, start: Approach, end: Approach, best: float) -> float:
    """Return what no single trench falls below, its bends counted; ``best`` is a price that is known."""
    if not scene.bend_price:
        return least_over_ground(
            scene, start.goal, end.goal, best=best, wanted=WANTED / 2, most_pairs=MOST_PAIRS
        ).bound
    return least_with_bends(scene, start, end, best=best, wanted=WANTED, most_pairs=MOST_PAIRS).bound


def _least_between(scene: Scene, start: Goal, goal: Goal) -> float:
    """Return what no single trench between two places falls below, its bends free."""
    way = cheapest(scene, _bare(start), _bare(goal))
    best = way.price if way else math.inf
    return least_over_ground(scene, start, goal, best=best, wanted=WANTED, most_pairs=_FEW_PAIRS).bound


def _bare(place: Goal) -> Approach:
    """Return a place as it is come to without a last leg."""
    return Approach(
        feature="",
        places=tuple((part, (0.0, 0.0)) for part in getattr(place, "geoms", [place])),
        leg_m=0.0,
    )
