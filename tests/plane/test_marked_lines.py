"""Paint to lines in the ground: whose place holds, what stays drawn, and where a test hole leads a line."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely import LineString, MultiLineString, Point
from shapely.geometry.base import BaseGeometry

from siteplan.plane.marks import with_marks
from siteplan.site.evidence import Evidence, pair_sigma_m
from siteplan.site.features import Fact, Feature, Source
from siteplan.site.marks import HOLDS_M, within_zones
from siteplan.site.net import Net
from siteplan.site.site import Digging, Site

TAPED = Evidence(method="taped", private_m=0.15)


def thing(own: str, kind: str, shape: BaseGeometry, evidence: Evidence = TAPED, **facts: Fact) -> Feature:
    name = {"mark": "paint mark", "test_hole": "test hole"}.get(kind, own)
    source = Source(file="marks.geojson", line=2)
    return Feature(id=own, kind=kind, name=name, shape=shape, evidence=evidence, facts=facts, source=source)


def site(*features: Feature) -> Site:
    digging = Digging(bucket_m=0.6, bedding_m=0.1, entered=False, soil="sand", laying=TAPED)
    return Site(
        name="",
        folder="",
        units="m",
        coordinates="ground",
        rules="us",
        digging=digging,
        features=features,
        lines=(),
    )


DRAWN = thing(
    "power", "buried_line", LineString([(0, 0), (100, 0)]), Evidence(method="owner_says", private_m=4.5)
)
MARK = thing("m", "mark", LineString([(20, 2), (60, 2)]), colour="red", of="power", width=0.1)


def hole(x: float, y: float, **facts: Fact) -> Feature:
    return thing(f"H{x:g}", "test_hole", Point(x, y), **{"of": "power", "found": True, "depth": 0.8, **facts})


def test_paint_takes_the_drawn_place_over_and_the_rest_stays() -> None:
    at = with_marks(site(DRAWN, MARK))
    assert [each.id for each in at.features] == ["power", "power (not marked)"]
    marked, rest = at.features
    assert marked.shape.equals(MARK.shape)
    assert (marked.evidence.method, marked.facts["carries"], marked.facts["diameter"]) == (
        "marked",
        "electric",
        0.1,
    )
    # joined to the ends of the paint: no gap through which a trench could slip
    assert rest.shape.equals(MultiLineString([[(0, 0), (20, 0), (20, 2)], [(60, 2), (60, 0), (100, 0)]]))
    assert rest.evidence == DRAWN.evidence


def test_paint_of_a_whole_line_leaves_nothing() -> None:
    whole = thing("m", "mark", LineString([(100, 1), (50, 2), (0, 1)]), colour="red", of="power")
    assert [each.id for each in with_marks(site(DRAWN, whole)).features] == ["power"]


def test_a_ring_of_paint_has_no_ends_and_other_drawn_parts_stay() -> None:
    ring = LineString([(0, 0), (9, 0), (9, 9), (0, 0)])
    fence = thing("fence", "buried_line", MultiLineString([ring, [(50, 0), (60, 0)]]))
    paint = thing("m", "mark", LineString([(0, 1), (9, 1), (9, 9), (0, 1)]), colour="orange", of="fence")
    marked, rest = with_marks(site(fence, paint)).features
    assert marked.shape.equals(paint.shape)
    assert rest.shape.equals(LineString([(50, 0), (60, 0)]))


def test_other_paint_is_a_line_of_its_own() -> None:
    green = thing("g", "mark", LineString([(0, 9), (9, 9)]), colour="green")
    gas = thing("y", "mark", LineString([(0, 5), (9, 5)]), colour="yellow", carries="propane")
    white = thing("w", "mark", LineString([(0, 7), (9, 7)]), colour="white")
    at = with_marks(site(DRAWN, green, gas, white))
    kinds = {each.id: (each.kind, each.name, each.facts.get("carries")) for each in at.features}
    assert kinds == {
        "power": ("buried_line", "power", None),
        "g": ("building_sewer", "building sewer, marked", None),
        "y": ("buried_line", "gas, marked", "gas"),
        "w": ("mark", "paint mark", None),
    }


def test_the_tolerance_zone_is_in_every_distance_to_a_marked_line() -> None:
    at = within_zones(with_marks(site(DRAWN, MARK)), lambda: 0.4572)
    assert [each.evidence.zone_m for each in at.features] == [0.4572, 0.0]
    # 18 in at one-sided 95 % is 1.6449 sigma; 0.15 m of the tape is 2.4477 sigma (radius of a circle)
    sigma_m = pair_sigma_m(at.feature("power").evidence, Evidence(method="surveyed"))
    assert sigma_m == pytest.approx(((0.4572 / 1.6449) ** 2 + (0.15 / 2.4477) ** 2) ** 0.5, rel=1e-6)
    assert within_zones(site(DRAWN), pytest.fail) == site(DRAWN), "no rules are asked where nothing is marked"


def test_a_line_is_led_through_the_hole_and_back_on_its_paint() -> None:
    line = with_marks(site(DRAWN, MARK, hole(40, 2.4))).feature("power").shape
    assert line.distance(Point(40, 2.4)) < 1e-9
    for x, y in [
        (40 - HOLDS_M, 2.4),
        (40 + HOLDS_M, 2.4),
        (40 - 2 * HOLDS_M, 2),
        (40 + 2 * HOLDS_M, 2),
        (20, 2),
        (60, 2),
    ]:
        assert line.distance(Point(x, y)) < 1e-9, (x, y)
    assert line.length == pytest.approx(40 + 2 * ((HOLDS_M**2 + 0.4**2) ** 0.5 - HOLDS_M))


def test_a_taped_offset_goes_before_a_rough_place() -> None:
    rough = Evidence(method="phone", shared_m=4.9)
    seen = hole(40, 7, offset=0.3, offset_side="south")
    line = with_marks(site(DRAWN, MARK, replace_evidence(seen, rough))).feature("power").shape
    assert line.distance(Point(40, 1.7)) < 1e-9
    unplaced = with_marks(site(DRAWN, MARK, replace_evidence(hole(40, 7), rough))).feature("power").shape
    assert unplaced.equals(MARK.shape), "a phone does not say where a line is"


def replace_evidence(feature: Feature, evidence: Evidence) -> Feature:
    return thing(feature.id, feature.kind, feature.shape, evidence, **feature.facts)


def test_two_holes_near_each_other_each_hold_their_place() -> None:
    line = with_marks(site(DRAWN, MARK, hole(40, 2.4), hole(43, 1.7))).feature("power").shape
    assert line.is_simple
    assert (line.distance(Point(40, 2.4)), line.distance(Point(43, 1.7))) == pytest.approx((0, 0), abs=1e-9)


def test_a_hole_in_vain_moves_nothing_and_one_beyond_the_paint_is_of_the_rest() -> None:
    at = with_marks(site(DRAWN, MARK, hole(40, 2.4, found=False), hole(90, 0.0)))
    assert at.feature("power").shape.equals(MARK.shape)
    assert at.feature("H40").name == "test hole H40, nothing found"
    assert at.feature("H90").facts["of"] == "power (not marked)"


def test_the_size_seen_is_the_diameter_if_nobody_stated_one() -> None:
    bare = thing("m", "mark", MARK.shape, colour="red", of="power")
    assert with_marks(site(DRAWN, bare, hole(40, 2, size=0.05))).feature("power").facts["diameter"] == 0.05
    assert with_marks(site(DRAWN, MARK, hole(40, 2, size=0.05))).feature("power").facts["diameter"] == 0.1


def test_a_taped_line_that_is_marked_leaves_the_tape_net() -> None:
    net = Net(points=(), covariance=np.zeros((0, 0)), chains={"power": (), "house": ()})
    at = with_marks(replace(site(DRAWN, MARK), net=net))
    assert at.net is not None
    assert list(at.net.chains) == ["house"]
