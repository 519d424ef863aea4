"""What is printed of how wrong the drawing may be, held against the review: the thing is moved, the trench stays."""

from __future__ import annotations

from dataclasses import replace

import pytest
from shapely import Point
from shapely.affinity import translate
from shapely.ops import nearest_points

from siteplan.check import check
from siteplan.check.finding import Finding
from siteplan.measure import measure
from siteplan.plan import Plan
from siteplan.route.drawing_error import Tolerance, words
from siteplan.route.keep_off import half_trench_m
from tests.plans import example

SLIGHTLY_M = 0.02


def planned() -> Plan:
    return example("cedar-bench")


def told(way: str, feature: str, row: str) -> Tolerance:
    plan = planned()
    (found,) = (
        each
        for each in plan.tolerances
        if (each.way, each.feature, each.row, each.fails) == (way, feature, row, "distance")
    )
    return found


def moved(tolerance: Tolerance, by_m: float) -> list[Finding]:
    """Review the same trench with the thing moved so far, straight at what comes into it first."""
    plan = planned()
    feature = plan.site.feature(tolerance.feature)
    start = plan.site.feature(tolerance.way).shape if tolerance.way == "well" else tolerance.where
    here, there = nearest_points(start, feature.shape)
    away_m = here.distance(there)
    shape = translate(feature.shape, (here.x - there.x) / away_m * by_m, (here.y - there.y) / away_m * by_m)
    features = (replace(each, shape=shape) if each is feature else each for each in plan.site.features)
    site = replace(plan.site, features=tuple(features))
    works = measure(site, plan.requirements, plan.layout, plan.ground)
    return list(check(site, plan.requirements, plan.layout, works))


def of_the_well(findings: list[Finding], row: str) -> Finding:
    (found,) = (
        each for each in findings if each.citation and each.citation.row == row and each.to == "field"
    )
    return found


def test_the_field_may_lie_as_much_nearer_to_the_well_as_is_printed_and_no_more() -> None:
    """100 ft are asked from the casing; as drawn it is 101.5 ft: 1.4 ft are printed, and 1.5 ft would be too much."""
    tolerance = told("well", "field", "us-mt-well-drainfield")
    assert "within 1.4 ft of where it is drawn" in words(planned().site, tolerance)
    for by_m, holds in ((tolerance.shift_m - SLIGHTLY_M, True), (tolerance.shift_m + SLIGHTLY_M, False)):
        margin_m = of_the_well(moved(tolerance, by_m), tolerance.row).margin_m
        assert margin_m is not None
        assert (margin_m > 0.0) is holds
        assert abs(margin_m) == pytest.approx(SLIGHTLY_M, abs=1e-3)


def test_a_tree_may_stand_as_much_nearer_to_the_trench_as_is_printed_and_no_more() -> None:
    """Its roots are short as soon as the edge of the trench comes into them: no other finding names them."""
    plan = planned()
    tolerance = min(
        (each for each in plan.tolerances if plan.site.feature(each.feature).kind == "tree"),
        key=lambda each: (each.fails != "distance", each.shift_m),
    )
    for by_m, names in ((tolerance.shift_m - SLIGHTLY_M, 0), (tolerance.shift_m + SLIGHTLY_M, 1)):
        roots = [each for each in moved(tolerance, by_m) if each.topic == "roots"]
        assert [each.to for each in roots] == [tolerance.feature] * names


def test_the_tank_comes_too_near_to_the_pipe_within_half_a_trench_of_what_is_printed() -> None:
    """What is printed counts from the edge of the trench, the review from the pipe in it: never later than half a trench."""
    plan = planned()
    (tolerance,) = (
        each
        for each in plan.tolerances
        if each.fails == "distance" and each.feature == "tank" and each.way == "water-house"
    )
    margins_m = []
    for by_m in (tolerance.shift_m - SLIGHTLY_M, tolerance.shift_m + 2 * half_trench_m(plan.site)):
        (margin_m,) = (
            each.margin_m
            for each in moved(tolerance, by_m)
            if each.citation
            and each.citation.row == tolerance.row
            and (each.subject, each.to) == ("water-house", "tank")
        )
        margins_m.append(margin_m or 0.0)
    assert margins_m[0] > 0.0 > margins_m[1]
    assert isinstance(tolerance.where, Point)
