"""Layouts: distances kept, walls met square, lines shared or apart, stations and tees."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations, pairwise
from math import atan2, degrees, hypot, remainder, sqrt
from time import process_time

import pytest
import shapely
from route_scenes import FOOT, asks, laid, line, separation, setback, site, thing
from shapely import LineString, Point, Polygon, box
from shapely.geometry.base import BaseGeometry
from shapely.ops import substring

from siteplan.errors import NoRoute
from siteplan.route.keep_off import STRUCTURAL_SHARE
from siteplan.route.layout import lay
from siteplan.route.model import Layout, Reach
from siteplan.rules.model import Requirements
from siteplan.site.evidence import Evidence
from siteplan.site.site import Site
from siteplan.units import Length

TAPED = Evidence(method="taped", private_m=0.5 * FOOT)
STAKED = Evidence(method="staked", private_m=0.5 * FOOT)
RECORD = Evidence(method="record", private_m=3 * FOOT, edge_m=2 * FOOT)
PARCEL = thing("parcel", "parcel", box(0, 0, 100, 100))
HALF_M = 0.3
CLEARANCE_M = 3 * FOOT


def feet(shape: BaseGeometry) -> BaseGeometry:
    return shapely.transform(shape, lambda places: places * FOOT)


def farm() -> tuple[Site, Requirements]:
    """A farm of 430 x 530 ft, sketched in feet."""
    features = [
        thing("parcel", "parcel", feet(Polygon([(0, 0), (430, 0), (450, 300), (410, 530), (0, 505)])), TAPED),
        thing("well", "well", feet(Point(90, 330)), TAPED),
        thing(
            "house",
            "building",
            feet(Polygon([(250, 165), (298, 165), (298, 205), (272, 205), (272, 213), (250, 213)])),
            TAPED,
        ),
        thing("barn", "building", feet(box(320, 355, 368, 391)), TAPED),
        thing("hydrant", "hydrant", feet(Point(352, 300)), TAPED),
        thing("tank", "septic_tank", feet(box(214, 199, 224, 205)), TAPED),
        thing("field", "absorption_area", feet(box(141, 190, 196, 242)), RECORD),
        thing("reserve", "reserve_area", feet(box(141, 130, 196, 182)), RECORD),
        thing("oak", "tree", feet(Point(168, 270)), TAPED, trunk_diameter=18 * FOOT / 12),
        thing("pine", "tree", feet(Point(128, 318)), TAPED, trunk_diameter=12 * FOOT / 12),
        thing("spruce", "tree", feet(Point(205, 330)), TAPED, trunk_diameter=14 * FOOT / 12),
        thing("propane", "fuel_tank", feet(box(318, 150, 328, 154)), TAPED),
        thing("drive", "drive", feet(box(238, 213, 250, 520)), TAPED),
    ]
    lines = [
        line("water-house", "well", "house"),
        line("pump-power", "well", "house", "electric"),
        line("water-barn", "water-house", "barn"),
        line("water-hydrant", "water-barn", "hydrant"),
    ]
    water = ("water-house", "water-barn", "water-hydrant")
    rows = [setback(of, to, Length(10, "ft")) for of in water for to in ("tank", "field")]
    return site(features, lines, bucket_m=2 * FOOT, laying=STAKED), asks(rows)


def last_leg(reach: Reach) -> tuple[LineString, LineString]:
    """The reach without its last leg, and the last leg."""
    coords = list(reach.path.coords)
    return LineString(coords[:-1]), LineString(coords[-2:])


def angle_deg(one: LineString, other: LineString) -> float:
    (a, b), (c, d) = one.coords, other.coords
    turn = atan2(b[1] - a[1], b[0] - a[0]) - atan2(d[1] - c[1], d[0] - c[0])
    return abs(degrees(remainder(turn, 3.141592653589793)))


def wall_at(building: Polygon, place: Point) -> LineString:
    walls = [LineString(wall) for wall in pairwise(building.exterior.coords)]
    return min(walls, key=lambda wall: wall.distance(place))


def check_legs(scene: Site, layout: Layout) -> None:
    """Each line goes without a gap from its start, or from its parent, to its end."""
    for to_lay in scene.lines:
        path = layout.path(to_lay.id)
        pieces = [(layout.reach(name).path, from_m, to_m) for name, from_m, to_m in path.legs]
        for (before, _, before_m), (after, after_m, _) in pairwise(pieces):
            assert before.interpolate(before_m).distance(after.interpolate(after_m)) < 1e-6
        first, from_m, _ = pieces[0]
        last, _, to_m = pieces[-1]
        begin, end = first.interpolate(from_m), last.interpolate(to_m)
        assert end.distance(path.entry) < 1e-9
        assert end.distance(scene.feature(to_lay.end).shape) < 1e-6
        parents = [other.id for other in scene.lines if other.id == to_lay.start]
        if parents:
            assert any(
                substring(layout.reach(name).path, a, b).distance(begin) < 1e-6
                for name, a, b in layout.path(parents[0]).legs
            )
        else:
            assert begin.distance(scene.feature(to_lay.start).shape) < 1e-6
        for name, a, b in path.legs:
            runs = [(r.from_m, r.to_m) for r in layout.reach(name).runs if r.line == to_lay.id]
            assert runs == ([(a, b)] if b > a else [])


def test_the_farm_keeps_every_distance() -> None:
    scene, rules = farm()
    layout = laid(scene, rules)
    band_ft = 1.6449 * sqrt(2) * 0.5 / 2.4477
    asked_ft = {
        "tank": 10.0,
        "oak": STRUCTURAL_SHARE * 18.0,
        "pine": STRUCTURAL_SHARE * 12.0,
        "spruce": STRUCTURAL_SHARE * 14.0,
        "propane": 5.0,
        "house": 3.0,
        "barn": 3.0,
    }
    for reach in layout.reaches:
        for feature, asked in asked_ft.items():
            trench = last_leg(reach)[0] if feature == reach.ends_at else reach.path
            away_ft = trench.distance(scene.feature(feature).shape) / FOOT
            assert away_ft >= asked + band_ft + 1.0 - 1e-4, (reach.name, feature)
        edge = scene.feature("parcel").shape.boundary
        assert reach.path.distance(edge) / FOOT >= band_ft + 1.0 - 1e-4
        for kept in layout.kept_off:
            if kept.feature != reach.ends_at and set(kept.lines) & {run.line for run in reach.runs}:
                shape = edge if kept.feature == "parcel" else scene.feature(kept.feature).shape
                assert reach.path.distance(shape) >= kept.distance_m - 1e-6


def test_the_farm_goes_round_the_roots_that_it_need_not_dig() -> None:
    """12 ft of roots round the pine and half the bucket: the trench bends there, and digs among no roots."""
    scene, rules = farm()
    layout = laid(scene, rules)
    assert layout.reach("Main").path.distance(scene.feature("pine").shape) == pytest.approx(13 * FOOT)
    assert not [item for item in layout.bill if item.row == "dig-roots"]


def test_the_farm_is_named_stationed_and_teed() -> None:
    scene, rules = farm()
    layout = laid(scene, rules)
    main, branch = layout.reaches
    assert [(r.name, r.starts_at, r.ends_at, r.parent) for r in layout.reaches] == [
        ("Main", "well", "house", None),
        ("A", "Main", "barn", "Main"),
    ]
    assert main.path.coords[0] == pytest.approx((90 * FOOT, 330 * FOOT))
    assert branch.parent_m is not None
    assert main.path.interpolate(branch.parent_m).distance(Point(branch.path.coords[0])) < 1e-6
    assert branch.path.distance(feet(Point(352, 300))) < 1e-9
    assert [run.line for run in main.runs] == ["water-house", "pump-power"]
    assert main.lines_at(main.length_m / 2) == ("water-house", "pump-power")
    check_legs(scene, layout)
    for reach in layout.reaches:
        leg = last_leg(reach)[1]
        wall = wall_at(scene.feature(reach.ends_at).shape, Point(leg.coords[1]))
        assert angle_deg(leg, wall) == pytest.approx(90, abs=1e-3)
        assert leg.length >= (3 + 0.475 + 1) * FOOT - 1e-4
        assert min(Point(leg.coords[1]).distance(Point(corner)) for corner in wall.coords) >= 0.5 - 1e-6


def test_the_farm_is_laid_quickly_and_the_same_twice() -> None:
    scene, rules = farm()
    once = laid(scene, rules)
    start = process_time()
    again = laid(scene, rules)
    assert process_time() - start < 2.0
    assert again == once


def one_tank() -> tuple[Site, Requirements]:
    scene = site(
        [
            PARCEL,
            thing("well", "well", Point(10, 50)),
            thing("house", "building", box(80, 40, 95, 60)),
            thing("tank", "septic_tank", box(40, 45, 44, 70)),
        ],
        [line("water", "well", "house")],
    )
    return scene, asks([setback("water", "tank", Length(3, "m"))])


def test_one_trench_round_a_tank_as_worked_by_hand() -> None:
    """From (10, 50) tight round two corners of radius 3.3 m, then square to the wall at x = 80; it cannot do without a bend."""
    scene, rules = one_tank()
    layout = lay(scene, rules)
    (reach,) = layout.reaches
    radius = 3 + HALF_M
    to_corner = hypot(30, 5)
    first = sqrt(to_corner**2 - radius**2)
    turn_in = atan2(5, 30) + atan2(radius, first)
    last_y = 45 - radius
    by_hand = first + radius * turn_in + 4 + (80 - 44)
    assert last_y > 40 + 0.5
    assert by_hand <= reach.length_m
    assert reach.length_m == pytest.approx(by_hand, abs=0.15)
    one_bend = 15.0
    least = (8 + 3) / FOOT * by_hand + one_bend
    assert least <= layout.price <= 1.002 * least
    assert layout.least_price is not None
    assert 0.99 * least <= layout.least_price <= layout.price
    assert reach.path.distance(scene.feature("tank").shape) >= radius - 1e-6
    assert layout.certificate.startswith("Proven: no layout that keeps every distance is more than ")
    assert reach.path.coords[-1] == pytest.approx((80, last_y), abs=0.06)
    assert laid(scene, rules).certificate == "How near this layout comes to the cheapest was not worked out."


def test_two_inch_corners_keep_the_bends_few() -> None:
    scene, rules = one_tank()
    assert len(laid(scene, rules).reaches[0].path.coords) <= 8


def test_the_trench_does_not_go_to_a_wall_across_what_is_kept_off() -> None:
    slab = thing("slab", "slab", box(78.9, 45, 79.5, 56))
    house = thing("house", "building", box(80, 40, 95, 60))
    well = thing("well", "well", Point(10, 50))
    scene = site([PARCEL, well, house, slab], [line("water", "well", "house")])
    (reach,) = laid(scene, asks()).reaches
    assert reach.path.distance(slab.shape) >= HALF_M - 1e-6
    assert reach.path.coords[-1][0] == pytest.approx(80)
    assert not 45 - HALF_M < reach.path.coords[-1][1] < 56 + HALF_M


def test_an_entry_and_a_hydrant_beside_a_wall_are_come_to_square() -> None:
    features = [
        PARCEL,
        thing("well", "well", Point(10, 20)),
        thing("house", "building", box(60, 40, 80, 60)),
        thing("entry", "entry", Point(65, 40.1)),
        thing("tap", "hydrant", Point(70, 60.5)),
    ]
    scene = site(features, [line("water", "well", "entry"), line("yard", "water", "tap")])
    layout = laid(scene, asks())
    main, branch = layout.reaches
    ring_m = CLEARANCE_M + HALF_M
    assert main.path.coords[-2] == pytest.approx((65, 40 - ring_m))
    assert main.path.coords[-1] == pytest.approx((65, 40))
    assert branch.path.coords[-2] == pytest.approx((70, 60 + ring_m))
    assert branch.path.coords[-1] == pytest.approx((70, 60.5))


def test_a_branch_from_an_early_tee_makes_its_parent_tee_early() -> None:
    """The tap's line comes off the barn's line before the barn's trench leaves Main: both lie in Main from there."""
    features = [
        PARCEL,
        thing("well", "well", Point(10, 50)),
        thing("house", "hydrant", Point(95, 50)),
        thing("barn", "hydrant", Point(75, 85)),
        thing("tap", "hydrant", Point(45, 3)),
    ]
    lines = [
        line("main", "well", "house"),
        line("barn-line", "main", "barn"),
        line("tap-line", "barn-line", "tap"),
    ]
    scene = site(features, lines)
    layout = laid(scene, asks())
    check_legs(scene, layout)
    tap = next(reach for reach in layout.reaches if reach.ends_at == "tap")
    barn = next(reach for reach in layout.reaches if reach.ends_at == "barn")
    assert tap.parent_m is not None
    assert barn.parent_m is not None
    assert tap.parent_m < barn.parent_m
    assert [(tap.name, barn.name)] == [("A", "B")]
    assert layout.path("barn-line").legs[0] == ("Main", tap.parent_m, barn.parent_m)
    assert layout.path("tap-line").legs[0][0] == "A"


def parted(beside_m: float, **moved: BaseGeometry) -> tuple[Site, Requirements]:
    shapes = {"well": Point(10, 50), "house": box(80, 40, 95, 60)} | moved
    features = [PARCEL, thing("well", "well", shapes["well"]), thing("house", "building", shapes["house"])]
    features += [
        thing(f"wall-{i}", "no_dig", shape)
        for i, (n, shape) in enumerate(moved.items())
        if n.startswith("wall")
    ]
    scene = site(features, [line("water", "well", "house"), line("power", "well", "house", "electric")])
    return scene, asks(separations=[separation("power", "water", may_share=False, beside_m=beside_m)])


def test_lines_that_may_share_lie_in_one_trench() -> None:
    scene, _ = parted(0.3)
    silent = laid(scene, asks())
    assert [[run.line for run in reach.runs] for reach in silent.reaches] == [["water", "power"]]
    assert silent.shared == (
        ("water", "power", "one trench as far as both go: the rules read here say nothing against it"),
    )
    allowed = laid(scene, asks(separations=[separation("power", "water", may_share=True, beside_m=0.3048)]))
    assert len(allowed.reaches) == 1
    assert allowed.shared[0][2] == "one trench as far as both go, 1.0 ft apart (test-apart)"


def test_lines_that_may_not_share_are_kept_apart() -> None:
    scene, rules = parted(3.0)
    layout = laid(scene, rules)
    water, power = layout.reaches
    apart_m = 3.0 + 2 * HALF_M
    assert [reach.name for reach in layout.reaches] == ["Main", "A"]
    assert power.parent is None
    assert layout.shared == (("water", "power", "own trench: kept 9.8 ft apart (test-apart)"),)
    far = power.path.difference(Point(10, 50).buffer(apart_m * sqrt(2)))
    assert far.distance(water.path) >= apart_m - 1e-6
    assert layout.path("power").entry.distance(layout.path("water").entry) >= apart_m - 1e-6
    assert power.length_m < water.length_m + 3.0
    kept = next(kept for kept in layout.kept_off if kept.feature == "water")
    assert (kept.row, kept.lines, kept.distance_m) == ("test-apart", ("power",), pytest.approx(apart_m))


def test_no_room_beside_a_trench_is_told() -> None:
    walls = {"wall_south": box(30, 0, 60, 48.5), "wall_north": box(30, 51.5, 60, 100)}
    scene, rules = parted(3.0, **walls)
    assert len(laid(scene, asks()).reaches) == 1
    with pytest.raises(
        NoRoute, match=r"^Power: there is no room beside the trench of Water: 11.8 ft needed; "
    ) as blocked:
        laid(scene, rules)
    assert "water" in blocked.value.blockers


def test_a_line_from_another_place_has_its_own_trench_square_at_both_ends() -> None:
    features = [
        PARCEL,
        thing("well", "well", Point(10, 20)),
        thing("house", "building", box(40, 40, 55, 50)),
        thing("barn", "building", box(70, 70, 90, 85)),
    ]
    scene = site(features, [line("water", "well", "house"), line("barn-power", "house", "barn", "electric")])
    layout = laid(scene, asks())
    main, power = layout.reaches
    assert (power.name, power.starts_at, power.ends_at, power.parent) == ("A", "house", "barn", None)
    check_legs(scene, layout)
    coords = list(power.path.coords)
    for leg, building in ((coords[:2], "house"), (coords[-2:][::-1], "barn")):
        shape = scene.feature(building).shape
        assert angle_deg(LineString(leg), wall_at(shape, Point(leg[0]))) == pytest.approx(90, abs=1e-3)
        assert LineString(leg).length == pytest.approx(CLEARANCE_M + HALF_M)
    assert main.ends_at == "house"
    assert layout.shared[0][2] == "own trench: they begin at different places"


def test_reaches_never_lie_over_each_other() -> None:
    features = [
        PARCEL,
        thing("well", "well", Point(10, 10)),
        thing("shop", "building", box(20, 0, 30, 70)),
        thing("house", "building", box(60, 10, 75, 20)),
        thing("barn", "building", box(60, 40, 80, 50)),
        thing("tap", "hydrant", Point(50, 80)),
    ]
    lines = [
        line("w1", "well", "house"),
        line("w2", "w1", "barn"),
        line("w3", "w1", "tap"),
        line("p", "well", "barn", "electric"),
    ]
    scene = site(features, lines)
    layout = laid(scene, asks())
    check_legs(scene, layout)
    assert len(layout.reaches) > 1
    for one, other in combinations(layout.reaches, 2):
        assert one.path.intersection(other.path).length < 1e-6
    assert {run.line for run in layout.reach("Main").runs} >= {"w1", "p"}


def test_only_ground_metres_are_taken() -> None:
    scene, rules = one_tank()
    with pytest.raises(ValueError, match="ground"):
        laid(replace(scene, coordinates="lonlat"), rules)
