"""Bends that no arc of the product fits, and conduits that turn too often."""

from __future__ import annotations

from dataclasses import replace

import pytest
from shapely import LineString, Point, box
from shapely.geometry.base import BaseGeometry

from siteplan.check.bends import check_bends
from siteplan.check.finding import Finding
from siteplan.measure.model import Pull
from siteplan.measure.sweeps import lines_in_arcs
from siteplan.route.model import Layout, LinePath, Reach, Run
from siteplan.site.features import Line
from tests.check.scenes import FT, ROW, SOURCE, number, requirements, site, works

RADIUS_M = 32.875 * FT / 12
"""1 in PE IPS DR 11, as layers/pipes.toml has it."""

YARD = box(-50, -50, 50, 50)
WATER = Line(
    id="water", name="Water", carries="water", start="well", end="house", product="pe-1-ips", source=SOURCE
)


def found(*places: tuple[float, float], free: BaseGeometry = YARD, bucket_m: float = 0.6) -> list[Finding]:
    path = LineString(places)
    run = Run(line="water", from_m=0.0, to_m=path.length)
    reach = Reach(name="Main", path=path, runs=(run,), starts_at="well", ends_at="house")
    way = LinePath(line="water", legs=(("Main", 0.0, path.length),), entry=Point(places[-1]))
    layout = Layout(reaches=(reach,), paths=(way,), kept_off=(), corridor=free, certificate="")
    at = replace(site(), lines=(WATER,), digging=replace(site().digging, bucket_m=bucket_m))
    eased = tuple(lines_in_arcs(at, layout, ()))
    return list(check_bends(at, requirements(), layout, works(eased=eased)))


def test_bends_with_room_say_nothing() -> None:
    assert found((0, 0), (10, 0), (10, 10)) == []


def test_a_bend_sharper_than_any_that_is_priced_is_named() -> None:
    """The last class of the rates ends at 135 degrees."""
    back = [finding for finding in found((0, 0), (10, 0), (1, 1)) if finding.unit == "deg"]
    assert [(each.verdict, each.topic, each.required_m) for each in back] == [("short", "bend", 135.0)]
    assert back[0].measured_m == pytest.approx(180 - 6.3402, abs=1e-3)
    assert back[0].what == "bend of 174 deg at Main 0+32.8"
    assert [finding for finding in found((0, 0), (10, 0), (0, 10)) if finding.unit == "deg"] == []


def test_a_short_leg_between_two_bends_is_named() -> None:
    """An S of two quarter bends 0.5 m apart: their tangents are a radius each, and there is no one arc for both."""
    first, second = found((0, 0), (10, 0), (10, 0.5), (20, 0.5))
    assert (first.verdict, first.topic, first.subject) == ("short", "bend", "water")
    assert first.required_m == pytest.approx(2 * RADIUS_M)
    assert first.measured_m == pytest.approx(0.5)
    assert first.margin_m == pytest.approx(0.5 - 2 * RADIUS_M)
    assert (first.reach, first.from_m) == ("Main", pytest.approx(10.0))
    assert first.what == "Water: bend of 90 deg at Main 0+32.8, room for its arc"
    assert first.because == ("the leg after the bend is 1.6 ft, its arcs take 5.5 ft of it",)
    assert second.because == ("the leg before the bend is 1.6 ft, its arcs take 5.5 ft of it",)


def test_a_bend_with_long_legs_and_no_ground_beside_it() -> None:
    """The arc passes R (sec 45 deg - 1) = 0.35 m inside of its corner; a slot of 0.1 m is 0.14 m wide there, corner to corner."""
    corner = LineString([(0, 0), (10, 0), (10, 10)]).buffer(0.01, join_style="mitre", cap_style="flat")
    (tight,) = found((0, 0), (10, 0), (10, 10), free=corner, bucket_m=0.1)
    assert found((0, 0), (10, 0), (10, 10), free=corner, bucket_m=0.6) == []
    assert tight.verdict == "short"
    assert (tight.required_m, tight.measured_m, tight.margin_m) == (None, None, None)
    assert "kept off" in tight.because[0]


@pytest.mark.parametrize(("plan_deg", "verdict"), [(180.0, "clear"), (181.0, "short")])
def test_the_sum_between_pull_points_against_the_rule(plan_deg: float, verdict: str) -> None:
    pull = Pull(
        line="water", plan_deg=plan_deg, risers_deg=180, sum_deg=180 + plan_deg, limit=number(360), length_m=9
    )
    layout = Layout(reaches=(), paths=(), kept_off=(), corridor=YARD, certificate="")
    (finding,) = check_bends(replace(site(), lines=(WATER,)), requirements(), layout, works(pulls=(pull,)))
    assert (finding.verdict, finding.unit, finding.citation) == (verdict, "deg", ROW)
