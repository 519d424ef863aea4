"""The proven bound with bends against brute force: all straight pieces between points of a grid, and simple cases by hand.

The brute force prices every straight piece between two points of a fine grid, the corners of the ground and the ends
that shapely finds to lie on the ground, with bends at any of these points; what it finds is a trench, so no bound may
be above it.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import scipy.sparse
import shapely
from scipy.sparse.csgraph import dijkstra
from shapely import LineString, MultiLineString, Point, affinity, box

from siteplan.route.approach import Approach
from siteplan.route.mesh import FreeGround
from siteplan.route.proof.bends import _Proof, least_with_bends
from siteplan.route.proof.cells import enclosing_circles
from siteplan.route.proof.convex import blockers_of
from siteplan.route.proof.ground import least_over_ground
from siteplan.route.proof.places import Places
from siteplan.route.proof.taut import Corners, TautWays, bend_corners, taut_errors_m
from siteplan.route.proof.taut_tolls import Tolls
from siteplan.route.scene import Bore, Charge, Crossed, Patch, Scene
from siteplan.route.shortest import shortest_to_point, shortest_to_walls

SIDE_M = 30.0


def charge(price: float) -> Charge:
    return Charge(row="test", price=price)


def open_scene(free: shapely.Polygon, bend: float = 5.0) -> Scene:
    return Scene(free=free, dig=charge(1.5), restore=charge(0.5), bends=((180.0, charge(bend)),))


def random_scene(seed: int) -> tuple[Scene, Point, Point]:
    """Obstacles, up to two lines that are crossed, and in every second scene one or two strips of dear ground."""
    rng = np.random.default_rng([seed, 5])
    obstacles = []
    for _ in range(rng.integers(2, 8)):
        middle = rng.uniform(3, 27, 2)
        if rng.uniform() < 0.4:
            shape = Point(middle).buffer(rng.uniform(1, 5), quad_segs=3)
        else:
            wide, deep = rng.uniform(1, 10), rng.uniform(1, 3)
            flat = affinity.translate(box(-wide / 2, -deep / 2, wide / 2, deep / 2), *middle)
            shape = affinity.rotate(flat, rng.uniform(0, 90))
        obstacles.append(shape)
    free = box(0, 0, SIDE_M, SIDE_M).difference(shapely.union_all(obstacles), grid_size=1e-6)
    free = max(shapely.get_parts(free), key=lambda part: part.area)
    crossed = []
    for _ in range(rng.integers(0, 3)):
        axis = LineString(rng.uniform(-3, 33, (2, 2)))
        angle = float(rng.choice([0, 45, 60]))
        zone = axis.buffer(rng.choice([0.01, 0.4]))
        crossed.append(
            Crossed(
                feature="line", axis=axis, zone=zone, toll=charge(rng.uniform(0.5, 6)), least_angle_deg=angle
            )
        )
    patches = []
    for k in range(rng.integers(1, 3) if seed % 2 else 0):
        low, width = rng.uniform(5, 22), rng.uniform(1, 4)
        area = box(-1, low, rng.choice([15, 31]), low + width) if k == 0 else box(low, -1, low + width, 31)
        bore = Bore(pits=charge(3), per_m=charge(rng.choice([0.8, 2.5])), least=charge(1), longest_m=9)
        patches.append(
            Patch(
                feature="strip",
                area=area,
                restore=charge(rng.choice([0.1, 2, 5])),
                bore=bore if rng.uniform() < 0.4 else None,
            )
        )
    ends: list[Point] = []
    while len(ends) < 2:
        place = Point(rng.uniform(1, 29, 2))
        if free.buffer(-0.05).contains(place) and (not ends or ends[0].distance(place) > 10):
            ends.append(place)
    scene = Scene(
        free=free,
        dig=charge(0.7),
        restore=charge(0.3),
        patches=tuple(patches),
        crossed=tuple(crossed),
        bends=((180.0, charge(rng.choice([0.3, 1, 3]))),),
    )
    return scene, ends[0], ends[1]


def piece_prices(scene: Scene, start: np.ndarray, end: np.ndarray, ends: list[Point]) -> np.ndarray:
    """Prices of straight pieces, dug or with one bore, infinite where they may not be laid."""
    lines = shapely.linestrings(np.stack([start, end], axis=1))
    price = scene.plain * shapely.length(lines)
    taken = shapely.Polygon()
    saved = np.zeros(len(lines))
    for patch in sorted(scene.patches, key=lambda patch: -patch.restore.price):
        seen = patch.area.difference(taken)  # the dearest restoring holds
        taken = taken.union(patch.area)
        more = (patch.restore.price - scene.restore.price) * shapely.length(shapely.intersection(lines, seen))
        price += more
        if (
            patch.bore
        ):  # one patch at most, from edge to edge; what else lies over the bore is paid all the same
            outside = ~shapely.intersects_xy(patch.area, *start.T) & ~shapely.intersects_xy(
                patch.area, *end.T
            )
            under = shapely.length(shapely.intersection(lines, patch.area))
            bored = np.array([patch.bore.price(float(length)) for length in under])
            saved = np.maximum(
                saved, np.where(outside & (under > 0.0), scene.plain * under + more - bored, 0.0)
            )
    price -= saved
    for line in scene.crossed:
        price += line.toll.price * shapely.intersects(lines, line.axis)
        along = np.diff(line.axis.coords, axis=0)[0] / line.axis.length
        cosine = np.abs((end - start) @ along) / np.maximum(np.linalg.norm(end - start, axis=1), 1e-12)
        if line.least_angle_deg:
            flat = cosine > math.cos(math.radians(line.least_angle_deg))
            flat &= shapely.intersects(lines, line.zone)
            for place in ends:
                if line.zone.distance(place) < 1e-6:
                    flat &= shapely.distance(lines, place) > 1e-9
            price[flat] = np.inf
    return price


def pieces_on_grid(
    scene: Scene, start: Point, goal: Point, step_m: float
) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Points of a grid, the first two the ends; the pairs that see each other, and their prices."""
    side = np.arange(0.4, SIDE_M, step_m)
    grid = np.stack(np.meshgrid(side, side), axis=-1).reshape(-1, 2)
    grid = grid[shapely.contains_xy(scene.free, grid)]
    points = np.concatenate([[*start.coords, *goal.coords], bend_corners(scene.free), grid])
    wide = scene.free.buffer(1e-6)
    shapely.prepare(wide)
    one, other = np.triu_indices(len(points), 1)
    lines = shapely.linestrings(np.stack([points[one], points[other]], axis=1))
    seen = shapely.covers(wide, lines)
    one, other = one[seen], other[seen]
    price = piece_prices(scene, points[one], points[other], [start, goal])
    laid = np.isfinite(price)
    return points, one[laid], other[laid], price[laid]


def cheapest_on_grid(scene: Scene, start: Point, goal: Point, step_m: float) -> float:
    """The cheapest trench with bends on a grid only, where all bends cost the same."""
    points, one, other, price = pieces_on_grid(scene, start, goal, step_m)
    graph = scipy.sparse.csr_matrix((price + scene.bend_price, (one, other)), shape=(len(points),) * 2)
    return float(dijkstra(graph, directed=False, indices=0)[1]) - scene.bend_price


def cheapest_by_angles(scene: Scene, start: Point, goal: Point, step_m: float, legs: np.ndarray) -> float:
    """The cheapest trench with bends on a grid only, each priced by its angle, those onto the last legs with them."""
    points, one, other, price = pieces_on_grid(scene, start, goal, step_m)
    count = len(points)
    pieces = np.full((count, count), np.inf)
    pieces[one, other] = pieces[other, one] = price
    way = points[None] - points[:, None]
    heading = np.arctan2(way[..., 1], way[..., 0])
    limits = np.array([limit for limit, _ in scene.bends])
    charges = np.array([*(each.price for _, each in scene.bends), math.inf])

    def bend(turn: np.ndarray) -> np.ndarray:
        deg = np.degrees(np.abs(np.remainder(turn + math.pi, math.tau) - math.pi))
        return charges[np.searchsorted(limits, deg - 1e-9)]

    onto = []
    for turn in (heading[0] - math.atan2(*-legs[0, ::-1]), heading[:, 1] - math.atan2(*legs[1, ::-1])):
        straight = np.abs(np.remainder(turn + math.pi, math.tau) - math.pi) < 1e-8
        onto.append(np.where(straight, 0.0, bend(turn)))
    reached = np.full((count, count), np.inf)
    reached[0] = pieces[0] + onto[0]
    best = math.inf
    for _ in range(9):
        best = min(best, float((reached[:, 1] + onto[1]).min()))
        further = np.full((count, count), np.inf)
        for here in range(count):
            come = np.flatnonzero(reached[:, here] < best)
            go = np.flatnonzero(np.isfinite(pieces[here]))
            if len(come) and len(go):
                turn = heading[here, go][None] - heading[come, here][:, None]
                further[here, go] = (reached[come, here][:, None] + bend(turn)).min(axis=0) + pieces[here, go]
        reached = further
    return best


def check_against_grid(seed: int, step_m: float, wanted: float, most_pairs: int) -> tuple[float, float]:
    scene, start, goal = random_scene(seed)
    known = cheapest_on_grid(scene, start, goal, step_m)
    proof = _Proof(scene, start, goal, best=known, limit=1.25)
    # what lies up to a quarter above the best is kept, so that a bound that is too high cannot hide behind it
    proof.proven(wanted, most_pairs)
    line = proof.routes.line if proof.routes else None
    if line is not None and math.isfinite(known):
        known = min(known, priced(scene, line, [start, goal]))
    return proof.bound, known


def priced(scene: Scene, line: LineString, ends: list[Point]) -> float:
    at = shapely.get_coordinates(line)
    assert scene.free.buffer(2e-6).covers(line)
    return float(piece_prices(scene, at[:-1], at[1:], ends).sum()) + scene.bend_price * (len(at) - 2)


@pytest.mark.parametrize("seed", range(8))
def test_no_trench_on_a_grid_costs_less_than_the_bound(seed: int) -> None:
    bound, known = check_against_grid(seed, 2.0, 0.01, 5_000)
    assert math.isfinite(known)
    assert 0.0 < bound <= known * (1 + 1e-8)


def check_with_legs(seed: int, step_m: float, most_pairs: int) -> tuple[float, float]:
    scene, start, goal = random_scene(seed)
    slight = scene.bend_price
    classes = tuple(
        (limit, charge(slight * k)) for limit, k in ((22.5, 1.0), (45.0, 2.0), (90.0, 3.0), (135.0, 6.0))
    )
    scene = replace(scene, bends=classes)
    turn = np.random.default_rng([seed, 8]).uniform(0.0, math.tau, 2)
    legs = np.stack([np.cos(turn), np.sin(turn)], axis=1)
    known = cheapest_by_angles(scene, start, goal, step_m, legs)
    ends = [
        Approach(feature="", places=((place, (leg[0], leg[1])),), leg_m=1.0)
        for place, leg in zip((start, goal), legs, strict=True)
    ]
    proof = _Proof(scene, *ends, best=known, limit=1.25)
    proof.proven(0.01, most_pairs)
    return proof.bound, known


@pytest.mark.parametrize("seed", range(6))
def test_the_bend_onto_a_last_leg_is_never_counted_too_high(seed: int) -> None:
    bound, known = check_with_legs(seed, 2.6, 5_000)
    assert 0.0 < bound <= known * (1 + 1e-8)


def test_a_last_leg_square_to_the_way_is_a_bend() -> None:
    scene = yard()
    start = Approach(feature="", places=((Point(1, 5), (-1.0, 0.0)),), leg_m=1.0)
    goal = Approach(feature="", places=((Point(13, 5), (0.0, 1.0)),), leg_m=1.0)
    assert least_with_bends(scene, start, goal, best=math.inf, wanted=0.01).bound == pytest.approx(
        29.0, rel=0.01
    )
    assert least_with_bends(scene, start, goal.goal, best=math.inf, wanted=0.01).bound == pytest.approx(24.0)


def test_dear_ground_that_can_be_gone_round_is_counted() -> None:
    """A strip 9 dearer reaches half across: straight through it costs 2 x 18 + 9 x 2, round its end two bends and 2.8 m."""
    strip = Patch(feature="strip", area=box(9, -1, 11, 6), restore=charge(9.5))
    scene = replace(yard(), patches=(strip,))
    round_it = 2.0 * (2 * math.hypot(8, 1) + 2) + 10.0
    found = least_with_bends(scene, Point(1, 5), Point(19, 5), best=round_it, wanted=0.01)
    assert 0.985 * (2.0 * 2 * math.hypot(9, 1 + 1 / 8) + 5.0) <= found.bound <= round_it


def test_turning_is_paid_for_however_it_is_shared_out() -> None:
    """Straight out of one wall and square into the next: 8 + 8 m with a bend of 90 degrees, or 11.3 m with more of them.

    By hand: two of 45 degrees at the legs cost 2 x 7; so do one of 45 and two of 22.5, and four of 22.5.
    """
    classes = ((22.5, charge(3.5)), (45.0, charge(7.0)), (90.0, charge(14.0)))
    scene = replace(open_scene(box(0, 0, 20, 10)), bends=classes)
    start = Approach(feature="", places=((Point(1, 1), (-1.0, 0.0)),), leg_m=1.0)
    goal = Approach(feature="", places=((Point(9, 9), (0.0, 1.0)),), leg_m=1.0)
    known = 2.0 * 8 * math.sqrt(2) + 14.0
    found = least_with_bends(scene, start, goal, best=known, wanted=0.02)
    assert 0.98 * known * (1 - 1e-8) <= found.bound <= known


def test_ground_too_dear_to_enter_is_gone_round() -> None:
    """A square of ground 500 dearer: only its edge may be touched, and the bound is that with a hole in its place."""
    bad = Patch(feature="bad", area=box(9, 2, 11, 11), restore=charge(500.0))
    round_it = 2.0 * 2.0 * math.hypot(9, 3 + 3 / 8) + 5.0
    scene = replace(yard(), patches=(bad,))
    found = least_with_bends(scene, Point(1, 5), Point(19, 5), best=round_it, wanted=0.01)
    assert found.bound >= 0.985 * round_it
    assert found.bound <= round_it


def yard(*holes: shapely.Polygon) -> Scene:
    """A yard of 20 x 10 m; a metre costs 2, a bend 5."""
    return open_scene(box(0, 0, 20, 10).difference(shapely.union_all(holes)))


def test_in_straight_sight_the_bound_is_the_price_of_the_straight_line() -> None:
    found = least_with_bends(yard(), Point(1, 1), Point(13, 6), best=26.0)
    assert found.bound == pytest.approx(26.0, rel=1e-8)
    assert found.bound <= 26.0


def test_an_obstacle_in_between_costs_a_bend() -> None:
    scene = yard(box(9, 2, 11, 10))
    start, goal = Point(1, 5), Point(19, 5)
    shortest = shortest_to_point(FreeGround(scene.free), start, goal)
    assert shortest is not None
    found = least_with_bends(scene, start, goal, best=math.inf, wanted=0.002)
    assert found.bound > 2.0 * shortest.length_m + 5.0
    # by hand: either one bend below the obstacle, at the crossing of two sides that graze its corners, or one at each
    low = 2.0 * 2.0 * math.hypot(9, 3 + 3 / 8) + 5.0
    both = 2.0 * (2.0 * math.hypot(8, 3) + 2.0) + 10.0
    assert found.best == pytest.approx(min(low, both), rel=1e-4)
    assert found.bound >= 0.998 * found.best * (1 - 1e-8)
    assert found.line is not None
    assert priced(scene, found.line, []) == pytest.approx(found.best)


def test_the_bound_is_never_above_what_is_known() -> None:
    known = 2.0 * 18.0
    found = least_with_bends(yard(box(9, 2, 11, 10)), Point(1, 5), Point(19, 5), best=known)
    assert found.bound <= known


def test_free_bends_leave_the_shortest_way() -> None:
    scene = replace(yard(box(9, 2, 11, 10)), bends=())
    found = least_with_bends(scene, Point(1, 5), Point(19, 5), best=60.0)
    assert found.bound == pytest.approx(2 * (2 * math.hypot(8, 3) + 2))


def test_no_way_has_no_price() -> None:
    assert (
        least_with_bends(yard(box(9, -1, 11, 11)), Point(1, 5), Point(19, 5), best=math.inf).bound == math.inf
    )


def test_walls_are_reached_anywhere_along_them() -> None:
    scene = yard(box(9, 2, 11, 10))
    west, east = (MultiLineString([[(x, 0.5), (x, 6)], [(x, 8), (x, 9)]]) for x in (2, 18))
    straight = least_with_bends(scene, west, east, best=math.inf)
    assert straight.best == pytest.approx(32.0)
    assert straight.bound == pytest.approx(32.0, rel=0.02)
    assert straight.bound <= 32.0
    high = MultiLineString([[(18, 5), (18, 9)]])
    bent = least_with_bends(scene, Point(1, 5), high, best=math.inf, wanted=0.002)
    exact = shortest_to_walls(FreeGround(scene.free), Point(1, 5), high)
    assert exact is not None
    assert bent.bound > 2.0 * exact.length_m + 5.0
    assert bent.bound <= bent.best


def test_walls_on_both_sides_of_a_crossed_line_need_no_toll() -> None:
    axis = LineString([(-1, 5), (21, 5)])
    line = Crossed(feature="gas", axis=axis, zone=axis.buffer(0.5), toll=charge(50), least_angle_deg=45)
    scene = replace(yard(), crossed=(line,))
    here, there = (MultiLineString([[(x, 2), (x, 8)]]) for x in (2, 18))
    assert least_with_bends(scene, here, there, best=32.0).bound <= 32.0
    south = MultiLineString([[(18, 1), (18, 2)]])
    assert least_with_bends(scene, Point(2, 8), south, best=math.inf).bound > 2.0 * math.hypot(16, 6) + 50.0


def test_a_toll_is_saved_by_going_round_the_end_of_a_line() -> None:
    axis = LineString([(10, -1), (10, 6)])
    line = Crossed(feature="gas", axis=axis, zone=axis.buffer(0.01), toll=charge(4), least_angle_deg=0)
    across = least_with_bends(replace(yard(), crossed=(line,)), Point(1, 4), Point(19, 4), best=math.inf)
    assert across.best == pytest.approx(36.0 + 4.0)
    dear = replace(line, toll=charge(40))
    round_it = least_with_bends(replace(yard(), crossed=(dear,)), Point(1, 4), Point(19, 4), best=math.inf)
    assert round_it.best == pytest.approx(4.0 * math.hypot(9, 2) + 5.0, rel=1e-4)
    for found in (across, round_it):
        assert 0.98 * found.best * (1 - 1e-8) <= found.bound <= found.best


def test_a_road_right_across_is_paid_for_on_top_of_bends() -> None:
    road = Patch(feature="road", area=box(5, -1, 7, 11), restore=charge(10.5))
    scene = replace(yard(box(9, 2, 11, 10)), patches=(road,))
    found = least_with_bends(scene, Point(1, 5), Point(19, 5), best=math.inf, most_pairs=40_000)
    assert found.line is None
    assert found.bound > 2.0 * (2 * math.hypot(8, 3) + 2) + 2.0 * 10.0 + 5.0 - 1e-3


def bent_line(least_angle_deg: float) -> Crossed:
    """A line right across the yard with a corner in the middle, 4 for each crossing."""
    axis = LineString([(9.37, -1), (10.123457, 5.3), (9.71, 11)])
    return Crossed(
        feature="gas", axis=axis, zone=axis.buffer(0.5), toll=charge(4), least_angle_deg=least_angle_deg
    )


@pytest.mark.parametrize("least_angle_deg", [0.0, 45.0])
def test_the_corner_of_a_line_is_not_passed_free_of_its_toll(least_angle_deg: float) -> None:
    """The straight way from end to end goes through the corner, 18 m at 2; each way round has to cross, too."""
    scene = replace(yard(), crossed=(bent_line(least_angle_deg),))
    start, goal = Point(1.123457, 5.3), Point(19.123457, 5.3)
    assert _Proof(scene, start, goal, best=60.0).direct == pytest.approx(40.0, abs=0.02)
    over_ground = least_over_ground(scene, start, goal, best=60.0, wanted=0.005, most_pairs=60_000)
    assert 0.994 * 40.0 <= over_ground.bound <= 40.0 * (1 + 1e-6)


def test_a_trench_that_starts_in_a_zone_may_leave_it_at_any_angle() -> None:
    """By hand: straight on, over the line at 6 degrees, 18 m at 2 and the toll."""
    axis = LineString([(-1, 4.9), (19, 6.9)])
    line = Crossed(feature="gas", axis=axis, zone=axis.buffer(0.5), toll=charge(4), least_angle_deg=45)
    found = least_with_bends(replace(yard(), crossed=(line,)), Point(1, 5.2), Point(19, 5.2), best=math.inf)
    assert found.best == pytest.approx(40.0)
    assert 0.98 * 40.0 * (1 - 1e-8) <= found.bound <= 40.0


def test_the_work_over_many_surfaces_is_counted() -> None:
    """Thirty rectangles over each other, 60 x 60 m: no more pairs than asked, and no more than the straight way costs."""
    rng = np.random.default_rng(30)
    patches = []
    for _ in range(30):
        wide, deep = rng.uniform(4, 25, 2)
        flat = affinity.translate(box(-wide / 2, -deep / 2, wide / 2, deep / 2), *rng.uniform(5, 55, 2))
        area = affinity.rotate(flat, rng.uniform(0, 90))
        patches.append(Patch(feature="", area=area, restore=charge(rng.choice([1.0, 3.0, 8.0]))))
    scene = replace(open_scene(box(0, 0, 60, 60)), patches=tuple(patches))
    start, goal = Point(3, 4), Point(57, 55)
    straight = float(piece_prices(scene, np.array(start.coords), np.array(goal.coords), [])[0])
    found = least_with_bends(scene, start, goal, best=straight, wanted=0.01, most_pairs=2_000)
    assert found.pairs <= 8 * 2_000
    assert 2.0 * start.distance(goal) < found.bound <= straight


@pytest.mark.parametrize("seed", range(6))
def test_interpolated_lengths_are_never_above_the_exact_shortest(seed: int) -> None:
    """Random triangles, most of them with a corner of an obstacle for their own, against the exact core of the router."""
    rng = np.random.default_rng([seed, 9])
    scene, start, _ = random_scene(seed)
    free = scene.free
    ground = FreeGround(free)
    places = Places(blockers_of(free))
    bends = bend_corners(free)
    corners = Corners(places=places.add(bends), beside=bends)
    seen = np.stack(np.triu_indices(len(bends), 1))
    seen = seen[:, places.sees(*corners.places[seen])]
    end = places.add(np.array([start.coords[0]]))[[0, 0]][None]
    ways = TautWays(places, corners, seen, end, Tolls([], 1.0))
    cells = np.array(list(cells_near(rng, free, bends)))
    assert len(cells) > 60
    lengths = ways.at(places.add(cells.reshape(-1, 2)), cells.reshape(-1, 2)).reshape(-1, 3)
    errors = taut_errors_m(cells, *enclosing_circles(cells), bends, places.at[end])
    worst = -math.inf
    for corner_m, error_m, cell in zip(lengths, errors, cells, strict=True):
        for weight in [*np.eye(3), *rng.dirichlet([0.7] * 3, 6)]:
            exact = shortest_to_point(ground, Point(weight @ cell), start)
            assert exact is not None
            worst = max(worst, weight @ corner_m - error_m - exact.length_m)
    assert worst <= 1e-6
    assert (np.abs(lengths[:, 0] - [exact_m(ground, cell[0], start) for cell in cells]) < 1e-5).all()


def exact_m(ground: FreeGround, place: np.ndarray, end: Point) -> float:
    found = shortest_to_point(ground, Point(place), end)
    assert found is not None
    return found.length_m


def cells_near(rng: np.random.Generator, free: shapely.Polygon, bends: np.ndarray) -> list[np.ndarray]:
    """Triangles in the free ground: a third with no corner, with one, and with two corners of an obstacle."""
    found = []
    inside = free.buffer(1e-9)
    for trial in range(3000):
        middle = bends[rng.integers(len(bends))]
        cell = middle + rng.uniform(-1, 1, (3, 2)) * rng.choice([0.5, 2, 5])
        if trial % 3:
            cell[0] = middle
        if trial % 3 == 2:
            others = bends[(np.linalg.norm(bends - middle, axis=1) < 6) & (bends != middle).any(axis=1)]
            if len(others):
                cell[1] = others[rng.integers(len(others))]
        polygon = shapely.Polygon(cell)
        if polygon.area > 1e-3 and inside.covers(polygon):
            found.append(cell)
    return found[:70]
