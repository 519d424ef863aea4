"""The work strip: which side has room, against a cross-section taken every few centimetres."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
import shapely
from route_scenes import line, site, thing
from shapely import LineString, Point, affinity, box
from shapely.geometry.base import BaseGeometry

from siteplan.route.strip import SHORT_M, Fit, strip_fits, strip_ground

HALF_M, BACK_M, PILE_M, MACHINE_M = 0.3, 0.6, 2.6, 1.8
TOE_M = HALF_M + BACK_M
YARD = box(0, -20, 60, 20)
STRAIGHT = LineString([(0, 0), (60, 0)])


def fits(path: LineString, ground: BaseGeometry, machine_m: float = MACHINE_M) -> tuple[Fit, ...]:
    return strip_fits(path, ground, PILE_M, machine_m, half_top_m=HALF_M, back_m=BACK_M)


def test_open_ground_has_the_pile_on_the_left_all_along() -> None:
    assert fits(STRAIGHT, YARD) == (Fit(0.0, 60.0, "left"),)


def test_the_pile_changes_sides_at_what_is_in_its_way_and_no_sooner() -> None:
    house, pond = box(20, 2, 30, 9), box(45, -9, 50, -3)
    assert fits(STRAIGHT, YARD.difference(house)) == (Fit(0.0, 60.0, "right"),)
    both = fits(STRAIGHT, YARD.difference(shapely.union_all([house, pond])))
    assert both == (Fit(0.0, pytest.approx(45), "right"), Fit(pytest.approx(45), 60.0, "left"))


def test_between_two_walls_neither_side_has_room() -> None:
    lane = box(20, 2, 30, 9).union(box(25, -9, 35, -2))
    assert fits(STRAIGHT, YARD.difference(lane)) == (
        Fit(0.0, pytest.approx(25), "right"),
        Fit(pytest.approx(25), pytest.approx(30), "neither"),
        Fit(pytest.approx(30), 60.0, "left"),
    )


@pytest.mark.parametrize(
    ("room_m", "machine_m", "side"),
    [
        (TOE_M + PILE_M + 0.01, MACHINE_M, "left"),
        (TOE_M + PILE_M - 0.01, MACHINE_M, "neither"),
        (TOE_M + PILE_M + 0.01, 2.4, "neither"),
    ],
)
def test_the_machine_straddles_the_trench_or_stands_over_to_the_other_side(
    room_m: float, machine_m: float, side: str
) -> None:
    """On the right 1 m: half a machine of 1.8 m stands there; one of 2.4 m, its track at the toe, would need 1.5 m."""
    assert [fit.side for fit in fits(STRAIGHT, box(0, -1, 60, room_m), machine_m)] == [side]


def test_a_short_gap_is_worked_round_and_a_short_place_is_no_use() -> None:
    post = box(20, -3, 20 + 0.9 * SHORT_M, 3)
    assert fits(STRAIGHT, YARD.difference(post)) == (Fit(0.0, 60.0, "left"),)
    blocks = box(20, -9, 30, 9).union(box(30 + 0.9 * SHORT_M, -9, 40, 9))
    assert [fit.side for fit in fits(STRAIGHT, YARD.difference(blocks))] == ["left", "neither", "left"]


CORNER = LineString([(0, 0), (20, 0), (20, 20)])
"""A quarter turn to the left: its outside is to the right, the wedge lies beyond x = 20 and below y = 0."""

OPEN = box(-20, -20, 60, 60)
LEFT_SHUT = box(0, 1.2, 15, 3)
"""In the way of a pile to the left, before the bend; half a machine of 1.8 m stands there."""


BLOCK = box(20.5, -2.5, 22.5, -0.5)
"""A square cornerwise to the bend. The ridge of the pile runs 2.2 m off: its arc cuts the sides of the square 0.5 m, and
sqrt(2.2^2 - 0.5^2) = 2.142 m, off the bend, so that 2 x (2.142 - 0.5) / sqrt(2) of the strip are taken."""

TAKEN_M = 2 * (((TOE_M + PILE_M / 2) ** 2 - 0.25) ** 0.5 - 0.5) / 2**0.5


@pytest.mark.parametrize("mirror", [1, -1])
def test_what_stands_in_the_outer_wedge_of_a_bend_is_in_the_way(mirror: int) -> None:
    outside, inside = ("right", "left") if mirror == 1 else ("left", "right")
    ground = OPEN.difference(BLOCK.union(LEFT_SHUT))
    path, ground = (affinity.scale(each, yfact=mirror, origin=(0, 0)) for each in (CORNER, ground))
    # outside up to the block, as the inside is shut up to 15 m; from there on inside
    assert pytest.approx(2.32, abs=0.01) == TAKEN_M
    assert fits(path, ground) == (
        Fit(0.0, pytest.approx(20 - TAKEN_M / 2, abs=0.01), outside),
        Fit(pytest.approx(20 - TAKEN_M / 2, abs=0.01), 40.0, inside),
    )


def test_neither_side_has_room_beside_a_block_in_the_wedge_and_one_inside() -> None:
    """Inside a pile would fit from 19.05 m to 20.95 m; the block outside takes 1.16 m to either side of the bend."""
    inner = box(15, 0.95, 19.05, 18)
    ground = OPEN.difference(BLOCK.union(inner))
    about = [pytest.approx(20 + side * TAKEN_M / 2, abs=0.01) for side in (-1, 1)]
    assert [tuple(fit) for fit in fits(CORNER, ground)] == [
        (0.0, about[0], "right"),
        (about[0], pytest.approx(19.05), "neither"),
        (pytest.approx(19.05), pytest.approx(20.95), "left"),
        (pytest.approx(20.95), about[1], "neither"),
        (about[1], 40.0, "right"),
    ]


def test_what_only_the_outer_foot_of_the_pile_would_meet_is_worked_round() -> None:
    """The ridge is 2.2 m off the bend, the block 2.3 m, cornerwise."""
    beyond_m = (TOE_M + PILE_M / 2 + 0.1) / 2**0.5
    far = box(20 + beyond_m, -20, 40, -beyond_m)
    assert fits(CORNER, OPEN.difference(far.union(LEFT_SHUT))) == (Fit(0.0, 40.0, "right"),)


def test_a_narrow_post_outside_a_bend_is_worked_round() -> None:
    post = box(20.5, -1.1, 21.1, -0.5)
    assert fits(CORNER, OPEN.difference(post.union(LEFT_SHUT))) == (Fit(0.0, 40.0, "right"),)


def has_room(path: LineString, ground: BaseGeometry, at_m: float, left_m: float, right_m: float) -> bool:
    """One cross-section, looked at by itself."""
    here, there = (np.array(path.interpolate(at_m + step).coords[0]) for step in (-1e-3, 1e-3))
    along = (there - here) / np.hypot(*(there - here))
    middle, left = (here + there) / 2, np.array([-along[1], along[0]])
    return bool(ground.covers(LineString([middle + left * left_m, middle - left * right_m])))


@pytest.mark.parametrize("seed", range(12))
def test_against_a_cross_section_every_five_centimetres(seed: int) -> None:
    """Blocks of 2 m and more, so that no gap is a short one; cross-sections within 0.3 m of a change, and bends, are left out."""
    random = np.random.default_rng(seed)
    path = LineString([(2, 0), (30, 0), (52, 9)])
    blocks = [
        box(x, y, x + random.uniform(2, 6), y + random.uniform(2, 4))
        for x, y in zip(random.uniform(2, 50, 5), random.uniform(-9, 9, 5), strict=True)
    ]
    ground = YARD.difference(shapely.union_all(blocks))
    found = fits(path, ground)
    assert found[0].from_m == 0.0
    assert found[-1].to_m == pytest.approx(path.length)
    assert all(one.to_m == two.from_m and one.side != two.side for one, two in pairwise(found))
    other_m = max(HALF_M, MACHINE_M / 2, MACHINE_M - TOE_M)
    extents = {"left": (TOE_M + PILE_M, other_m), "right": (other_m, TOE_M + PILE_M)}
    for fit in found:
        if fit.to_m - fit.from_m < 2 * SHORT_M:
            continue
        wrong = 0
        for at_m in np.arange(fit.from_m + 0.3, fit.to_m - 0.3, 0.05):
            room = {side: has_room(path, ground, at_m, *extent) for side, extent in extents.items()}
            wrong += any(room.values()) if fit.side == "neither" else not room[fit.side]
        assert wrong * 0.05 < SHORT_M, (fit, wrong)


def test_no_pile_on_a_septic_system_a_pond_or_at_the_well() -> None:
    features = [
        thing("parcel", "parcel", box(0, 0, 100, 100)),
        thing("well", "well", Point(10, 50)),
        thing("house", "building", box(80, 40, 95, 60)),
        thing("tank", "septic_tank", box(40, 45, 44, 47)),
        thing("field", "absorption_area", box(50, 70, 60, 80)),
        thing("slab", "slab", box(20, 20, 30, 30)),
        thing("oak", "tree", Point(60, 20), trunk_diameter=0.5),
    ]
    ground = strip_ground(site(features, [line("water", "well", "house")]))
    shut = [(10.5, 50), (85, 50), (42, 46), (55, 75), (60.5, 20), (-1, 50)]
    assert [at for at in shut if ground.intersects(Point(at))] == []
    assert [at for at in [(25, 25), (12, 50), (46, 46)] if not ground.contains(Point(at))] == []
