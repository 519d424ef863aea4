"""The bound of the price over the ground, against searches that know nothing of it and against arithmetic."""

from __future__ import annotations

import math

import pytest
import shapely
from ground_reference import charge, random_scene, reference_trench
from scipy.optimize import minimize
from shapely import LineString, MultiLineString, Point, Polygon, box

from siteplan.route.mesh import FreeGround
from siteplan.route.proof.ground import Search, least_over_ground
from siteplan.route.proof.own_price import OwnPrice
from siteplan.route.proof.regions import cut_into_regions
from siteplan.route.scene import Bore, Crossed, Patch, Scene
from siteplan.route.shortest import shortest_to_point

FIELD = box(0, 0, 30, 20)
WANTED = 0.005


def scene(*patches: Patch, free: Polygon = FIELD, crossed: tuple[Crossed, ...] = ()) -> Scene:
    """Plain ground at 1 a metre."""
    return Scene(free=free, dig=charge(0.7), restore=charge(0.3), patches=patches, crossed=crossed)


def strip(x0: float, x1: float, **prices: object) -> Patch:
    """A patch right across the field and beyond it."""
    return Patch(feature="strip", area=box(x0, -5, x1, 25), **prices)  # type: ignore[arg-type]


def gas(toll: float, least_angle_deg: float = 0.0, axis: LineString | None = None) -> Crossed:
    axis = axis or LineString([(-5, 10), (35, 10)])
    zone = axis.buffer(2.0, cap_style="flat", join_style="mitre")
    return Crossed(feature="gas", axis=axis, zone=zone, toll=charge(toll), least_angle_deg=least_angle_deg)


def check(ground: Scene, start: object, goal: object, exact: float, wanted: float = WANTED) -> None:
    proven = least_over_ground(ground, start, goal, wanted=wanted)  # type: ignore[arg-type]
    assert (1 - wanted) * exact * (1 - 1e-8) <= proven.bound <= exact * (1 + 1e-9)
    assert proven.best == pytest.approx(exact, rel=1e-6)
    assert proven.line is not None
    assert OwnPrice(ground).of(proven.line) == proven.best


# --- never too high ------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(20))
def test_never_above_a_trench_that_could_be_dug(seed: int) -> None:
    """Looked for further than need be, so that a potential that is too high cannot hide behind the best known price."""
    ground, start, goal = random_scene(seed)
    proven = Search(ground, start, goal, best=math.inf, margin=-0.25).run(0.02, 20_000)
    found, _ = reference_trench(ground, start, goal, 10)
    assert proven.bound <= min(found, proven.best) * (1 + 1e-7)
    assert proven.bound > 0.0


@pytest.mark.parametrize("seed", [3, 7, 12, 18, 24])
def test_best_is_no_worse_than_the_plain_search_and_the_gap_is_closed(seed: int) -> None:
    ground, start, goal = random_scene(seed)
    proven = least_over_ground(ground, start, goal, wanted=0.01)
    found, _ = reference_trench(ground, start, goal, 10)
    assert proven.best <= found * (1 + 1e-6)
    assert proven.bound >= 0.99 * proven.best * (1 - 1e-8)


# --- places --------------------------------------------------------------------------------------


def test_plain_ground_is_the_shortest_way() -> None:
    houses = [box(6, 2, 10, 14), box(13, 6, 17, 20), box(20, -1, 23, 12)]
    free = FIELD.difference(shapely.union_all(houses))
    start, goal = Point(2, 9), Point(28, 8)
    shortest = shortest_to_point(FreeGround(free), start, goal)
    assert shortest is not None
    check(scene(free=free), start, goal, shortest.length_m)


def test_in_sight_of_each_other() -> None:
    check(scene(), Point(1, 1), Point(4, 5), 5.0)


def test_from_a_point_to_walls() -> None:
    walls = MultiLineString([[(25, 4), (25, 12)], [(25, 12), (29, 12)]])
    check(scene(strip(10, 12, restore=charge(4.3))), Point(3, 8), walls, 20.0 + 2 * 5.0)


def test_between_walls_across_edges() -> None:
    """The nearest places of the two walls face each other from y = 6 to 9; walls on and off the edges of a strip."""
    start = MultiLineString([[(3, 1), (3, 9)]])
    goal = MultiLineString([[(20, 6), (20, 15)], [(20, 15), (29, 15)]])
    check(scene(strip(10, 12, restore=charge(1.3))), start, goal, 15.0 + 2 * 2.0)


def test_no_way() -> None:
    free = box(0, 0, 10, 20).union(box(12, 0, 30, 20))
    proven = least_over_ground(scene(free=free), Point(2, 2), Point(20, 2))
    assert proven.bound == math.inf
    assert proven.best == math.inf
    assert proven.line is None


def test_a_place_off_the_ground() -> None:
    assert least_over_ground(scene(), Point(2, 2), Point(50, 2)).bound == math.inf


# --- bores ---------------------------------------------------------------------------------------

BORE = Bore(pits=charge(8.0), per_m=charge(1.5), least=charge(6.0), longest_m=12.0)


def test_shut_ground_is_bored() -> None:
    check(scene(strip(10, 20, bore=BORE, shut=True)), Point(3, 8), Point(27, 8), 14.0 + 8.0 + 15.0)


def test_least_charge_of_a_short_bore() -> None:
    check(scene(strip(10, 12, bore=BORE, shut=True)), Point(3, 8), Point(27, 8), 22.0 + 8.0 + 6.0)


def test_no_bore_longer_than_the_longest() -> None:
    proven = least_over_ground(scene(strip(8, 21, bore=BORE, shut=True)), Point(3, 8), Point(27, 8))
    assert proven.bound == math.inf


def test_shut_ground_without_a_bore_parts_the_field() -> None:
    assert least_over_ground(scene(strip(10, 20, shut=True)), Point(3, 8), Point(27, 8)).bound == math.inf


def test_dug_or_bored_whichever_is_cheaper() -> None:
    start, goal = Point(3, 8), Point(27, 8)
    check(scene(strip(10, 12, dig=charge(5.7), bore=BORE)), start, goal, 22.0 + 2 * 6.0)
    check(scene(strip(10, 20, dig=charge(5.7), bore=BORE)), start, goal, 14.0 + 8.0 + 15.0)


def test_a_bore_spares_what_lies_over_its_patch() -> None:
    """A dear band in the middle of the road does not break the bore into two."""
    road, band = strip(10, 20, dig=charge(9.7), bore=BORE), strip(14, 15, dig=charge(40.0))
    check(scene(road, band), Point(3, 8), Point(27, 8), 14.0 + 8.0 + 15.0)


def test_no_bore_begins_within_its_patch() -> None:
    check(scene(strip(10, 20, dig=charge(1.7), bore=BORE)), Point(12, 8), Point(18, 8), 6 * 2.0)


# --- lines in the ground -------------------------------------------------------------------------


def test_toll_is_due_once() -> None:
    check(scene(crossed=(gas(5.0),)), Point(3, 4), Point(7, 16), math.hypot(4, 12) + 5.0)


def test_toll_is_due_for_each_line() -> None:
    lines = gas(5.0), gas(2.0, axis=LineString([(-5, 13), (10, 13.5), (35, 14)]))
    check(scene(crossed=lines), Point(3, 4), Point(7, 17), math.hypot(4, 13) + 7.0, wanted=0.01)


def test_round_the_end_of_a_line_where_that_is_cheaper() -> None:
    line = gas(5.0, axis=LineString([(-5, 10), (8, 10)]))
    check(scene(crossed=(line,)), Point(6, 4), Point(6, 16), 2 * math.hypot(2, 6))
    check(scene(crossed=(line,)), Point(1, 4), Point(1, 16), 12.0 + 5.0)


def test_crossing_at_the_edge_of_a_strip_is_no_way_out() -> None:
    """The line crosses the edges of a strip near the way; the toll is due all the same."""
    ground = scene(strip(9, 11, restore=charge(0.8)), crossed=(gas(5.0),))
    check(ground, Point(8, 4), Point(8.5, 16), math.hypot(0.5, 12) + 5.0, wanted=0.01)


def test_crossing_where_a_line_bends_is_no_way_out() -> None:
    """With a least angle the ground is cut square off the bend, and the bend is a corner of four regions."""
    axis = LineString([(-5, 9), (8, 10), (35, 8)])
    ground = scene(crossed=(gas(5.0, least_angle_deg=30.0, axis=axis),))
    check(ground, Point(7.5, 4), Point(8.5, 16), math.hypot(1, 12) + 5.0, wanted=0.01)


def test_least_angle() -> None:
    """Across a zone of 4 m at no less than 60 degrees: the bends are where calculus puts them."""
    start, goal = Point(2, 6), Point(26, 14)
    straight = start.distance(goal)

    def length(x: list[float]) -> float:
        return math.hypot(x[0] - 2, 2) + math.hypot(x[1], 4) + math.hypot(26 - x[0] - x[1], 2)

    most = 4 / math.tan(math.radians(60))
    exact = minimize(length, [10.0, 1.0], bounds=[(2, 26), (0, most)], options={"ftol": 1e-15}).fun
    assert exact > straight + 1
    ground = scene(crossed=(gas(0.0, least_angle_deg=60.0),))
    proven = least_over_ground(ground, start, goal, best=exact, wanted=0.002)
    assert 0.997 * exact <= proven.bound <= exact * (1 + 1e-9)


def test_least_angle_does_not_bind_a_trench_that_starts_in_the_zone() -> None:
    check(scene(crossed=(gas(0.0, least_angle_deg=60.0),)), Point(2, 9), Point(26, 14), math.hypot(24, 5))


# --- search --------------------------------------------------------------------------------------


def test_a_known_trench_that_cannot_be_beaten() -> None:
    start, goal = Point(3, 8), Point(27, 8)
    ground = scene(strip(10, 20, dig=charge(5.7)))
    exact = 14.0 + 10 * 6.0
    proven = least_over_ground(ground, start, goal, best=exact, wanted=0.01)
    assert proven.line is None
    assert proven.best == exact
    assert 0.99 * exact * (1 - 1e-8) <= proven.bound <= exact


def test_a_known_trench_that_is_beaten() -> None:
    start, goal = Point(3, 8), Point(27, 8)
    proven = least_over_ground(scene(strip(10, 20, dig=charge(5.7))), start, goal, best=90.0, wanted=0.01)
    assert proven.line is not None
    assert proven.best == pytest.approx(74.0, rel=1e-9)


def test_the_limit_of_pairs_leaves_a_true_bound() -> None:
    ground, start, goal = random_scene(26)
    full = least_over_ground(ground, start, goal, wanted=0.001)
    short = least_over_ground(ground, start, goal, wanted=0.001, most_pairs=1)
    assert short.pairs < full.pairs
    assert 0.0 < short.bound <= full.best
    assert short.bound < full.bound


def test_same_input_same_result() -> None:
    ground, start, goal = random_scene(3)
    one, other = (least_over_ground(ground, start, goal) for _ in range(2))
    assert (one.bound, one.best, one.pairs, one.cells) == (other.bound, other.best, other.pairs, other.cells)
    assert one.line is not None
    assert one.line.equals_exact(other.line, 0.0)


# --- regions -------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(10))
def test_regions_fill_the_free_ground_that_may_be_dug(seed: int) -> None:
    ground, _, _ = random_scene(seed)
    regions = cut_into_regions(ground).regions
    dug = [region for region in regions if region.bore is None]
    shut = shapely.union_all([patch.area for patch in ground.patches if patch.shut])
    assert sum(region.area.area for region in dug) == pytest.approx(
        ground.free.difference(shut).area, abs=1e-4
    )
    for region in dug:
        for place in shapely.get_parts(region.area.buffer(-0.05)):
            if not place.is_empty:
                inner = place.representative_point()
                short = LineString([(inner.x - 0.01, inner.y), (inner.x + 0.01, inner.y)])
                unbored = Scene(
                    free=ground.free,
                    dig=ground.dig,
                    restore=ground.restore,
                    patches=tuple(
                        Patch(feature=patch.feature, area=patch.area, dig=patch.dig, restore=patch.restore)
                        for patch in ground.patches
                    ),
                )
                assert OwnPrice(unbored).of(short) == pytest.approx(0.02 * region.rate, rel=1e-6)
