"""A first look follows the plan before: it keeps whatever a search keeps, and is hardly dearer."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
import shapely
from shapely import affinity

from siteplan.document.model import Plan
from siteplan.plan import plan_site
from siteplan.read import read_site
from siteplan.route.price_words import FIRST_LOOK
from siteplan.site.catalogue import data_folder
from siteplan.site.site import Site
from tests.plans import quick_site

MOVES = [
    ("cedar-bench", "propane", 1.0, 0.5),
    ("cedar-bench", "barn", -1.5, 1.0),
    ("cedar-bench", "oak-2", 2.0, -3.0),
    ("cedar-bench", "well", 0.8, 2.0),
    ("birch-landing", "cabin", 0.4, -0.3),
    ("birch-landing", "tank", 1.0, 1.0),
]
DEARER = 0.03
"""A first look after one of these moves is no more than this share dearer than a search; most are within 0.001."""


@cache
def read(name: str) -> Site:
    return read_site(data_folder("example_sites") / name)


def before(name: str) -> Plan:
    return quick_site(read(name))


def moved(name: str, thing: str, east_m: float, north_m: float) -> Site:
    """The example with one thing elsewhere."""
    site, frame = read(name), before(name).frame

    def shifted(shape: shapely.Geometry) -> shapely.Geometry:
        return frame.to_lonlat(affinity.translate(frame.to_ground(shape), east_m, north_m))

    return replace(
        site,
        features=tuple(
            replace(each, shape=shifted(each.shape)) if each.id == thing else each for each in site.features
        ),
    )


def met(plan: Plan) -> set[str]:
    """Ids of what the lines start from and end at: there the last leg leads over ground that is kept off."""
    return {place for line in plan.site.lines for place in (line.start, line.end)}


def on_closed_ground(plan: Plan) -> list[str]:
    """Say which line lies in what is kept off."""
    return [
        f"{line} in {kept.feature}"
        for kept in plan.layout.kept_off
        for line in kept.lines
        if kept.feature not in met(plan)
        and plan.layout.way(line).intersection(kept.area.buffer(-1e-5)).length > 1e-6
    ]


def sharpest_deg(plan: Plan) -> float:
    """The sharpest bend of all trenches."""
    turns = [0.0]
    for reach in plan.layout.reaches:
        ways = np.diff(shapely.get_coordinates(reach.path), axis=0)
        turns += np.abs(
            np.remainder(np.diff(np.arctan2(ways[:, 1], ways[:, 0])) + math.pi, math.tau) - math.pi
        ).tolist()
    return math.degrees(max(turns))


def wanting(plan: Plan) -> set[tuple[str, str, str, str]]:
    """What is short or too close to call."""
    return {
        (finding.topic, finding.subject, finding.to, finding.verdict)
        for finding in plan.findings
        if finding.verdict in ("short", "too close to call", "needs approval")
    }


def test_where_nothing_was_moved_the_plan_stays() -> None:
    plan = before("cedar-bench")
    assert plan_site(read("cedar-bench"), former=plan) == plan
    assert not plan.layout.followed


@pytest.mark.parametrize(("name", "thing", "east_m", "north_m"), MOVES)
def test_a_first_look_keeps_what_a_search_keeps(name: str, thing: str, east_m: float, north_m: float) -> None:
    site = moved(name, thing, east_m, north_m)
    first, searched = plan_site(site, former=before(name)), quick_site(site)
    assert first.layout.followed
    assert first.layout.certificate == FIRST_LOOK
    assert not searched.layout.followed
    assert on_closed_ground(first) == on_closed_ground(searched) == []
    assert sharpest_deg(first) <= 90.0 + 1e-6
    for line in first.site.lines:
        end = first.site.feature(line.end).shape
        assert first.layout.path(line.id).entry.distance(end) < 1e-6
        assert first.layout.way(line.id).distance(end) < 1e-6
    assert first.layout.price <= searched.layout.price * (1 + DEARER)
    assert wanting(first) == wanting(searched)


def test_a_tree_that_is_put_on_the_trench_is_led_round() -> None:
    plan, site = before("cedar-bench"), read("cedar-bench")
    main = plan.layout.reaches[0].path
    oak = next(each for each in site.features if each.kind == "tree")
    here = plan.frame.to_lonlat(main.interpolate(0.4, normalized=True))
    more = replace(site, features=(*site.features, replace(oak, id="new-oak", name="New oak", shape=here)))
    first = plan_site(more, former=plan)
    assert first.layout.followed
    assert on_closed_ground(first) == []
    assert first.layout.length_m > plan.layout.length_m
    assert first.layout.price <= quick_site(more).layout.price * (1 + DEARER)


def test_a_line_less_is_followed_and_a_line_more_is_searched_for() -> None:
    """There is no trench of the plan before that could be followed to a new end."""
    plan, site = before("cedar-bench"), read("cedar-bench")
    fewer = replace(site, lines=tuple(line for line in site.lines if line.id != "water-hydrant"))
    first = plan_site(fewer, former=plan)
    assert first.layout.followed
    assert first.layout.price < plan.layout.price
    back = plan_site(site, former=first)
    assert not back.layout.followed
    assert back.layout.price == pytest.approx(plan.layout.price)
