"""What a trench keeps off, and by how much."""

from __future__ import annotations

import pytest
from route_scenes import FOOT, asks, line, setback, site, thing
from shapely import LineString, MultiPoint, Point, Polygon, box
from shapely.geometry.base import BaseGeometry

from siteplan.route.grown import ROUND_M, grown
from siteplan.route.keep_off import NO_PARCEL_M, STRUCTURAL_SHARE, keep_off, land_of
from siteplan.site.evidence import Evidence
from siteplan.units import Length

TAPED = Evidence(method="taped", private_m=0.5 * FOOT)
STAKED = Evidence(method="staked", private_m=0.5 * FOOT)
RECORD = Evidence(method="record", private_m=3 * FOOT, edge_m=2 * FOOT)

SHAPES = [
    Point(3, 4),
    MultiPoint([(0, 0), (9, 2)]),
    LineString([(0, 0), (10, 3), (14, -5), (15, -5)]),
    Polygon([(0, 0), (10, 1), (12, 9), (6, 5), (1, 8)]),
    box(0, 0, 20, 20).difference(box(6, 6, 14, 14)),
]


@pytest.mark.parametrize("shape", SHAPES, ids=lambda shape: shape.geom_type)
@pytest.mark.parametrize("distance_m", [0.2, 1.5, 4.3])
def test_grown_encloses_the_true_area_by_no_more_than_said(shape: BaseGeometry, distance_m: float) -> None:
    true = shape.buffer(distance_m, quad_segs=400)
    outside = grown(shape, distance_m, corners="outside")
    inside = grown(shape, distance_m, corners="inside")
    assert outside.boundary.distance(shape) >= distance_m - 1e-9
    assert outside.buffer(1e-9).covers(true)
    assert true.buffer(ROUND_M + 1e-4).covers(outside)
    assert true.buffer(1e-4).covers(inside)
    assert inside.buffer(1.1 * ROUND_M).covers(true)


def test_grown_is_exact_along_a_slanting_wall() -> None:
    wall = LineString([(0, 0), (30, 40)])
    middle = Point(15, 20)
    for corners in ("outside", "inside"):
        assert grown(wall, 2.5, corners=corners).boundary.distance(middle) == pytest.approx(2.5, abs=1e-9)


def test_the_three_parts_of_the_distance_are_as_worked_by_hand() -> None:
    """Taped and staked, 0.5 ft each: 1.6449 x 0.5/2.4477 x sqrt 2 = 0.475 ft. Record 3 ft, edge 2 ft, staked: 2.860 ft."""
    scene = site(
        [
            thing("parcel", "parcel", box(0, 0, 100, 100), TAPED),
            thing("well", "well", Point(10, 10), TAPED),
            thing("house", "building", box(60, 60, 75, 70), TAPED),
            thing("tank", "septic_tank", box(40, 40, 43, 42), TAPED),
            thing("field", "absorption_area", box(40, 50, 50, 60), RECORD),
        ],
        [line("water", "well", "house"), line("power", "well", "house", "electric")],
        bucket_m=2 * FOOT,
        laying=STAKED,
    )
    rules = asks([setback("water", "tank", Length(10, "ft")), setback("water", "field", Length(10, "ft"))])
    kept = {(k.feature, k.lines): k for k in keep_off(scene, rules)}
    both = ("water", "power")

    def feet(feature: str, lines: tuple[str, ...]) -> list[float]:
        k = kept[feature, lines]
        return [round(m / FOOT, 3) for m in (k.required_m, k.error_m, k.half_width_m, k.distance_m)]

    assert feet("tank", ("water",)) == [10.0, 0.475, 1.0, 11.475]
    assert feet("tank", ("power",)) == [5.0, 0.475, 1.0, 6.475]
    assert feet("field", ("water",)) == [10.0, 2.860, 1.0, 13.860]
    assert feet("house", both) == [3.0, 0.475, 1.0, 4.475]
    assert feet("parcel", both) == [0.0, 0.475, 1.0, 1.475]
    assert kept["tank", ("water",)].row == "test-setback"
    assert kept["tank", ("power",)].row == ""
    assert ("well", both) not in kept
    inside = land_of(scene).difference(kept["parcel", both].area)
    assert inside.bounds[0] / FOOT == pytest.approx(1.475, abs=1e-3)


def test_roots_grow_with_the_trunk_and_never_less_than_the_least() -> None:
    scene = site(
        [
            thing("parcel", "parcel", box(0, 0, 100, 100)),
            thing("well", "well", Point(10, 10)),
            thing("tap", "hydrant", Point(90, 10)),
            thing("oak", "tree", Point(50, 50), trunk_diameter=1.5 * FOOT),
            thing("sapling", "tree", Point(30, 50), trunk_diameter=0.1 * FOOT),
            thing("stump", "tree", Point(70, 50)),
        ],
        [line("water", "well", "tap")],
    )
    kept = {k.feature: k for k in keep_off(scene, asks())}
    assert kept["oak"].required_m == pytest.approx(STRUCTURAL_SHARE * 18 * FOOT)
    assert kept["oak"].row == "test-roots"
    assert kept["sapling"].required_m == pytest.approx(STRUCTURAL_SHARE * 6 * FOOT)
    assert kept["stump"].row == "test-roots-least"
    assert set(kept) == {"parcel", "oak", "sapling", "stump"}


def test_what_may_be_crossed_is_kept_off_only_if_a_rule_names_it() -> None:
    features = [
        thing("parcel", "parcel", box(0, 0, 100, 100)),
        thing("well", "well", Point(10, 50)),
        thing("tap", "hydrant", Point(90, 50)),
        thing("cable", "buried_line", LineString([(50, 0), (50, 100)])),
        thing("drive", "drive", box(20, 0, 25, 100)),
        thing("corral", "livestock_yard", box(30, 0, 40, 30)),
    ]
    scene = site(features, [line("water", "well", "tap")])
    assert {k.feature for k in keep_off(scene, asks())} == {"parcel"}
    named = asks(
        [
            setback("water", "corral", Length(50, "ft")),
            setback("water", "drive", Length(5, "ft"), applies=False),
        ]
    )
    assert {k.feature for k in keep_off(scene, named)} == {"parcel", "corral"}


def test_a_property_line_setback_of_a_line_holds_all_round() -> None:
    scene = site(
        [
            thing("lot-1", "parcel", box(0, 0, 50, 100)),
            thing("lot-2", "parcel", box(50, 0, 100, 100)),
            thing("well", "well", Point(20, 50)),
            thing("tap", "hydrant", Point(80, 50)),
        ],
        [line("water", "well", "tap")],
    )
    (kept,) = keep_off(scene, asks([setback("water", "lot-2", Length(2, "m"))]))
    assert kept.distance_m == pytest.approx(2.3)
    assert land_of(scene).difference(kept.area).bounds == pytest.approx((2.3, 2.3, 97.7, 97.7))


def test_an_easement_that_allows_digging_is_ground_too() -> None:
    well = thing("well", "well", Point(10, 10))
    parcel = thing("parcel", "parcel", box(0, 0, 100, 100))
    strip = box(100, 40, 120, 60)
    allowed = thing("strip", "easement", strip, digging_allowed=True)
    silent = thing("strip", "easement", strip)
    assert land_of(site([parcel, well, allowed], [])).area == pytest.approx(10_400)
    assert land_of(site([parcel, well, silent], [])).area == pytest.approx(10_000)


def test_without_a_parcel_the_ground_round_everything_drawn_serves() -> None:
    scene = site(
        [thing("well", "well", Point(0, 0)), thing("tap", "hydrant", Point(40, 0))],
        [line("w", "well", "tap")],
    )
    assert keep_off(scene, asks()) == ()
    assert land_of(scene).bounds == (-NO_PARCEL_M, -NO_PARCEL_M, 40 + NO_PARCEL_M, NO_PARCEL_M)
