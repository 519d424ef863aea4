"""Lines laid in arcs: no place of a drawn line is turned tighter than its product takes."""

from __future__ import annotations

from math import hypot

import numpy as np
import pytest
import shapely
from shapely import LineString, Point
from trench_scene import IN, POWER, WATER, layout, reach, requirements, site

from siteplan.measure import measure
from siteplan.measure.model import Works
from siteplan.route.arcs import CHORD_M
from siteplan.route.model import LinePath

PE_M, PVC_M = 32.875 * IN, 6 * IN
"""Least radius of 1 in PE IPS DR 11 and of 1 in PVC conduit, as layers/pipes.toml and layers/conduits.toml have them."""


def laid(*places: tuple[float, float]) -> Works:
    at = site(lines=(WATER, POWER))
    return measure(at, requirements(), layout(reach(*places, lines=("water", "power"))), None)


def least_radius_m(line: LineString) -> float:
    """Radius of the tightest circle through three places that follow each other."""
    places = shapely.get_coordinates(line)
    found = []
    for a, b, c in zip(places, places[1:], places[2:], strict=False):
        sides = [hypot(*(p - q)) for p, q in ((a, b), (b, c), (c, a))]
        area = abs((b - a)[0] * (c - a)[1] - (b - a)[1] * (c - a)[0]) / 2
        if area > 1e-12:
            found.append(sides[0] * sides[1] * sides[2] / (4 * area))
    return min(found)


def test_each_line_has_the_radius_of_its_own_product() -> None:
    works = laid((0, 0), (10, 0), (10, 10), (20, 10))
    eased = dict(works.eased)
    for line, radius_m in (("water", PE_M), ("power", PVC_M)):
        assert [arc.radius_m for arc in eased[line].arcs] == [pytest.approx(radius_m)] * 2
        assert eased[line].tight == ()
        assert least_radius_m(eased[line].shape) >= radius_m * (1 - 1e-6)
        # a quarter bend saves 2 R - pi R / 2 of the way, less the chords
        saved_m = 2 * (2 - np.pi / 2) * radius_m
        assert eased[line].shape.length == pytest.approx(30 - saved_m, abs=20 * CHORD_M)


def test_the_bend_says_radius_and_tangent() -> None:
    """T = R tan(D/2), and tan 45 deg is 1."""
    (bend,) = laid((0, 0), (10, 0), (10, 10)).bends
    assert (bend.least_radius_m, bend.tangent_m) == pytest.approx((PE_M, PE_M))


def test_a_leg_too_short_for_its_arcs_is_tight() -> None:
    """An S of two quarter bends half a metre apart: PE needs 1.67 m of it, the conduit 0.30 m."""
    eased = dict(laid((0, 0), (10, 0), (10, 0.5), (20, 0.5)).eased)
    assert eased["water"].tight == (1, 2)
    assert eased["power"].tight == ()


def test_a_pull_point_stays_a_corner() -> None:
    zigzag = [(0, 0), (6, 0), (6, 6), (12, 6), (12, 0), (18, 0), (18, 6)]
    eased = dict(laid(*zigzag).eased)
    assert len(eased["water"].arcs) == 5
    assert [arc.bends for arc in eased["power"].arcs] == [(1,), (2,), (4,), (5,)]
    assert eased["power"].shape.distance(Point(zigzag[3])) < 1e-9


def test_a_line_that_ends_where_it_tees_has_no_way() -> None:
    paths = (
        LinePath(line="water", legs=(("Main", 0, 30),), entry=Point(30, 0)),
        LinePath(line="power", legs=(("Main", 12, 12),), entry=Point(12, 0)),
    )
    at = site(lines=(WATER, POWER))
    works = measure(at, requirements(), layout(reach((0, 0), (30, 0)), paths=paths), None)
    assert [line for line, _ in works.eased] == ["water"]


def test_ways_over_two_reaches_have_no_bend_where_the_trench_goes_straight_on() -> None:
    main = reach((0, 0), (10, 0), (20, 0), (30, 0))
    works = measure(site(), requirements(), layout(main), None)
    ((_, eased),) = works.eased
    assert (eased.arcs, eased.tight) == ((), ())
    assert list(eased.shape.coords) == [(0, 0), (30, 0)]
