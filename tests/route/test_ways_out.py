"""Ways out where there is none: what it takes, worked by hand, and tried."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import pi

import pytest
from route_scenes import FOOT, asks, line, setback, site, thing
from shapely import LineString, Point, box
from shapely.affinity import translate

from siteplan.errors import NoRoute, WayOut
from siteplan.route.blocked import no_route
from siteplan.route.keep_off import Yard, keep_off, land_of
from siteplan.route.model import KeptOff
from siteplan.route.relax import Question
from siteplan.rules.model import Requirements
from siteplan.site.evidence import Evidence
from siteplan.site.features import Feature
from siteplan.site.site import Site
from siteplan.units import Length

HALF_M = 0.3
HOUSE = thing("house", "building", box(80, 40, 95, 60))
PARCEL = thing("parcel", "parcel", box(0, 0, 100, 100))
WELL = thing("well", "well", Point(10, 50))
FENCE = [thing("south", "no_dig", box(40, -20, 44, 40)), thing("north", "no_dig", box(40, 60, 44, 120))]
"""Leaves a gate 20 m wide, from y = 40 to 60."""


def scene_of(features: Sequence[Feature], rules: Requirements) -> tuple[Site, Yard]:
    scene = site([PARCEL, WELL, HOUSE, *features], [line("water", "well", "house")])
    return scene, Yard(land=land_of(scene), kept_off=keep_off(scene, rules))


def refused(
    features: Sequence[Feature], rules: Requirements | None = None, zones: Sequence[tuple[str, object]] = ()
) -> NoRoute:
    rules = rules or asks()
    scene, yard = scene_of(features, rules)
    if not zones:
        question = Question(site=scene, yard=yard, root=scene.feature("well"), end=scene.feature("house"))
        assert not question.is_open()
    return no_route(scene, yard, "well", "house", "Water", zones=zones, setbacks=rules.setbacks)  # type: ignore[arg-type]


def the(error: NoRoute, kind: str, feature: str = "") -> WayOut:
    (way,) = [way for way in error.ways_out if way.kind == kind and feature in ("", way.feature)]
    return way


def kinds_of(error: NoRoute) -> list[str]:
    return [way.kind for way in error.ways_out]


def test_a_variance_is_what_the_row_asks_less_what_there_is_room_for() -> None:
    """The gate holds a tank with 8 m to the south of it: 8 m less two half trenches is left of 10 m, 0.3 m to the fence."""
    tank = thing("tank", "septic_tank", box(41, 48, 43, 60))
    rules = asks([setback("water", "tank", Length(10, "m"), row="tank-row")])
    error = refused([*FENCE, tank], rules)
    way = the(error, "variance", "tank")
    assert way.row == "tank-row"
    assert way.price is None
    assert way.amount_m == pytest.approx(10 - (8 - 2 * HALF_M), abs=0.06)
    assert way.amount_m >= 10 - (8 - 2 * HALF_M)
    assert way.words == (
        "8.6 ft less than the 32.8 ft from Tank of tank-row, 24.2 ft, would leave a way: "
        "ask the authority having jurisdiction in writing"
    )
    assert str(error).endswith(f"; {error.ways_out[0].words}")


def test_a_variance_opens_the_way_when_it_is_granted() -> None:
    tank = thing("tank", "septic_tank", box(41, 48, 43, 60))
    rules = asks([setback("water", "tank", Length(10, "m"))])
    less_m = the(refused([*FENCE, tank], rules), "variance").amount_m
    for granted_m, is_open in ((less_m + 1e-6, True), (less_m - 0.06, False)):
        rules = asks([setback("water", "tank", Length(10 - granted_m, "m"))])
        scene, yard = scene_of([*FENCE, tank], rules)
        ask = Question(site=scene, yard=yard, root=scene.feature("well"), end=scene.feature("house"))
        assert ask.is_open() is is_open


def test_a_lower_row_that_asks_more_than_is_left_is_named_as_well() -> None:
    tank = thing("tank", "septic_tank", box(41, 48, 43, 60))
    rows = [
        setback("water", "tank", Length(m, "m"), row=row)
        for m, row in ((10, "state"), (8, "county"), (5, "old"))
    ]
    way = the(refused([*FENCE, tank], asks(rows)), "variance", "tank")
    assert way.row == "state"
    assert "of state and county, " in way.words


def test_common_practice_is_come_nearer_to_by_hand_at_a_price() -> None:
    """Ten feet are usual from a pond; 2 m less two half trenches are there."""
    pond = thing("pond", "pond", box(41, 42, 43, 60))
    error = refused([*FENCE, pond])
    way = the(error, "hand dig", "pond")
    assert "digging by hand 4.6 ft from Pond instead of the usual 10.0 ft would leave a way" in way.words
    zone_m = 2 * (10 * FOOT + HALF_M) + 2
    assert 2.0 < way.amount_m <= 1.2 * zone_m
    scene, _ = scene_of([], asks())
    assert way.price == pytest.approx(way.amount_m * scene.rates["dig-hand"].likely)
    assert not [way for way in error.ways_out if way.kind == "variance"]


def test_a_thing_nobody_measured_is_to_be_measured_first() -> None:
    """Seven metres between two tanks, 5 ft usual to either, and 3.1 m of doubt to each: knowing one of them leaves a way."""
    said = Evidence(method="owner_says", private_m=15 * FOOT)
    doubt_m = 1.6449 * 15 * FOOT / 2.4477
    kept_m = 5 * FOOT + HALF_M
    for gap_m, spare_m, features in ((7.0, 7 - 2 * kept_m - doubt_m, ["a", "b"]), (5.0, 2.5 - kept_m, ["a"])):
        shapes = {"a": box(40, -50, 44, 50 - gap_m / 2), "b": box(40, 50 + gap_m / 2, 44, 150)}
        error = refused([thing(name, "septic_tank", shape, said) for name, shape in shapes.items()])
        first = error.ways_out[: len(features)]
        assert [(way.kind, way.feature) for way in first] == [("measure", feature) for feature in features]
        assert [way.amount_m for way in first] == pytest.approx([spare_m] * len(first), abs=0.01)
        assert "measure" not in kinds_of(error)[len(features) :]
    assert first[0].words == "A and B, where drawn and known to 2.2 ft or better, would leave a way"


def test_roots_are_bored_under_at_their_narrowest() -> None:
    """A trunk in a gate between fences: from edge to edge of what is kept off, and two pits."""
    oak = thing("oak", "tree", Point(42, 50), trunk_diameter=1.0)
    gate = [
        thing("south", "no_dig", box(41.5, -20, 42.5, 49)),
        thing("north", "no_dig", box(41.5, 51, 42.5, 120)),
    ]
    scene, yard = scene_of([*gate, oak], asks())
    error = no_route(scene, yard, "well", "house", "Water")
    way = the(error, "bore", "oak")
    assert "variance" not in kinds_of(error)
    radius_m = next(kept.distance_m for kept in yard.kept_off if kept.feature == "oak")
    assert way.amount_m == pytest.approx(2 * radius_m, abs=0.2)
    rates = scene.rates
    priced = rates["bore-pits"].likely + max(rates["bore-least"].likely, way.amount_m * rates["bore"].likely)
    assert way.price == pytest.approx(priced)
    short = replace(scene, digging=replace(scene.digging, longest_bore_m=radius_m))
    assert "bore" not in kinds_of(no_route(short, yard, "well", "house", "Water"))
    barred = replace(scene, digging=replace(scene.digging, bore=False))
    assert "bore" not in kinds_of(no_route(barred, yard, "well", "house", "Water"))


def test_a_slab_before_the_walls_is_bored_under_to_the_wall() -> None:
    paving = box(79, 39, 96, 61).difference(HOUSE.shape)
    error = refused([thing("paving", "slab", paving)])
    way = the(error, "bore", "paving")
    assert way.amount_m == pytest.approx(1 + HALF_M, abs=0.06)
    assert way.words == "a bore of 4.3 ft under Paving would leave a way"


def test_round_the_end_of_a_wall_over_the_ground_of_others() -> None:
    """A wall from edge to edge and 2 m past it: 2 m up and down, 4 m along it, and half a turn 0.3 m off its corners."""
    wall = thing("wall", "no_dig", box(40, -30, 44, 102))
    error = refused([wall])
    way = the(error, "easement")
    assert way.feature == "parcel"
    assert way.amount_m == pytest.approx(2 + 2 + 4 + pi * HALF_M, abs=0.1)
    scene, _ = scene_of([], asks())
    assert way.price == pytest.approx(way.amount_m * scene.rates["easement"].likely)
    assert "ask its owner in writing" in way.words
    assert kinds_of(error) == ["easement"]
    far = thing("wall", "no_dig", box(40, -30, 44, 130))
    assert refused([far]).ways_out == ()


def test_a_proposed_thing_is_moved_the_least_that_leaves_a_way() -> None:
    """The gate is 20 m, the tank 16 m; to the fence 0.6 m of trench and its 5 ft: half a metre too little on the south side."""
    needed_m = 5 * FOOT + 2 * HALF_M
    tank = thing("tank", "septic_tank", box(41, 40 + needed_m - 0.5, 43, 60))
    assert "move" not in kinds_of(refused([*FENCE, tank]))
    planned = replace(tank, status="proposed")
    error = refused([*FENCE, planned])
    way = the(error, "move", "tank")
    assert way.amount_m == pytest.approx(0.5, abs=0.06)
    assert way.words == "Tank is only proposed: 1.6 ft farther north it would leave a way"
    scene, yard = scene_of([*FENCE, replace(planned, shape=translate(tank.shape, 0, way.amount_m))], asks())
    assert Question(site=scene, yard=yard, root=scene.feature("well"), end=scene.feature("house")).is_open()


def test_a_proposed_well_in_what_is_kept_off_is_moved_out_of_it() -> None:
    pond = thing("pond", "pond", Point(13.5, 50).buffer(1.0, quad_segs=32))
    scene, _ = scene_of([pond], asks())
    planned = replace(WELL, status="proposed")
    scene = replace(scene, features=(PARCEL, planned, HOUSE, pond))
    error = no_route(
        scene, Yard(land=land_of(scene), kept_off=keep_off(scene, asks())), "well", "house", "Water"
    )
    way = the(error, "move")
    assert way.feature == "well"
    assert way.amount_m == pytest.approx(10 * FOOT + HALF_M - 2.5, abs=0.07)
    assert way.words.endswith("farther west it would leave a way")


def test_two_that_close_it_each_on_its_own_need_a_way_out_each() -> None:
    walls = [thing(name, "slab", box(x, -1, x + 2, 101)) for name, x in (("first", 30), ("second", 50))]
    error = refused(walls)
    assert error.blockers == ("first", "second")
    bores = [way for way in error.ways_out if way.kind == "bore"]
    assert [way.feature for way in bores] == ["first", "second"]
    assert [way.amount_m for way in bores] == pytest.approx([2 + 2 * HALF_M] * 2, abs=0.1)
    assert bores[0].words == "a bore of 8.5 ft under First would leave a way, with a way out past Second"


def test_a_tolerance_zone_that_closes_the_way_is_dug_by_hand() -> None:
    gas = thing("gas", "buried_line", LineString([(42, -10), (42, 110)]))
    error = refused([gas], zones=[("gas", box(41.5, -10, 42.5, 110))])
    assert error.blockers == ("gas",)
    way = the(error, "hand dig", "gas")
    assert way.amount_m == pytest.approx(1.0, abs=0.05)
    assert str(error).startswith(
        "Water: the tolerance zone of Gas closes the way; digging by hand in the tolerance zone of Gas"
    )


def test_closed_sides_and_what_is_not_drawn_are_named() -> None:
    yard = box(60, 30, 100, 70).difference(box(60.5, 30.5, 99, 69.5)).difference(box(59, 45, 61, 55))
    ring = thing("ring", "no_dig", yard)
    scene, kept = scene_of([ring], asks())
    lines = (replace(scene.lines[0], closed_sides=("west", "north", "south", "east")),)
    error = no_route(replace(scene, lines=lines), kept, "well", "house", "Water")
    assert str(error) == "Water: no way in on a side of House that is open"
    assert error.blockers == ("house",)
    assert (
        str(no_route(scene, kept, "well", "house", "Water"))
        == "Water: no way from Well to House as it is asked for"
    )
    hill = KeptOff(
        feature="steep ground",
        area=box(30, -1, 50, 101),
        distance_m=0.0,
        required_m=0.0,
        error_m=0.0,
        half_width_m=0.0,
        row="",
        lines=("water",),
    )
    steep = no_route(scene, replace(kept, kept_off=(*kept.kept_off, hill)), "well", "house", "Water")
    assert str(steep).startswith("Water: steep ground closes the way")


def test_nothing_is_promised() -> None:
    tank = thing("tank", "septic_tank", box(41, 48, 43, 60), trunk_diameter=1.0)
    rules = asks([setback("water", "tank", Length(10, "m"))])
    words = " ".join(way.words for way in refused([*FENCE, tank], rules).ways_out)
    assert "in writing" in words
    assert not [word for word in ("granted", "safe", "compliant", "allowed", "permitted") if word in words]
