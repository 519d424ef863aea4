"""The search for the cheapest trench: against brute force on a fine grid, the exact core, and sums by hand."""

from __future__ import annotations

import heapq
import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from priced_scenes import SIDE_M, at, bore, charge, field, random_ends, random_scene
from shapely import LineString, Point, box
from shapely.affinity import rotate, scale

from siteplan.route.approach import Approach
from siteplan.route.between import shortest_between
from siteplan.route.mesh import FreeGround
from siteplan.route.priced.bill import bill
from siteplan.route.priced.cheapest import Search, Way, cheapest
from siteplan.route.priced.links import Links
from siteplan.route.scene import Bore, Charge, Crossed, Patch, Scene

BENDS = ((22.5, charge(20, "bend-22")), (45.0, charge(30, "bend-45")), (90.0, charge(45, "bend-90")))


def found(scene: Scene, start: Approach, goal: Approach) -> Way:
    """The cheapest trench; its price must be that of its bill."""
    way = cheapest(scene, start, goal)
    assert way is not None
    legs = (start.leg_m > 0, goal.leg_m > 0)
    assert way.price == bill(scene, way.line, legs=legs).price
    return way


def on_a_grid(scene: Scene, start: np.ndarray, goal: np.ndarray, step_m: float) -> float:
    """Least price over all polylines through a square grid and the corners of the scene, by Dijkstra over links."""
    spots = np.arange(step_m / 2, SIDE_M, step_m)
    grid = np.stack(np.meshgrid(spots, spots), axis=-1).reshape(-1, 2)
    corners = shapely.get_coordinates([scene.free, *(patch.area for patch in scene.patches)])
    places = np.vstack([start, goal, grid, np.unique(corners.round(6), axis=0)])
    count = len(places)
    a, b = np.triu_indices(count, 1)
    price = np.full((count, count), math.inf)
    price[a, b] = price[b, a] = Links(scene).prices(places[a], places[b], first=a < 2, last=b < 2)
    bearing = np.arctan2(*(places[None, :] - places[:, None]).transpose(2, 1, 0)).T
    limits = np.radians([limit for limit, _ in scene.bends] or [360.0]) + 1e-9
    charges = np.array(
        [0.0, *(charge.price for _, charge in scene.bends), *([] if scene.bends else [0.0]), math.inf]
    )
    queue, done = [(0.0, 0, 0)], set()
    while queue:
        so_far, node, before = heapq.heappop(queue)
        if node == 1:
            return so_far
        if (node, before) in done:
            continue
        done.add((node, before))
        onward = so_far + price[node]
        if node != before:
            turn = bearing[node] - bearing[before, node]
            turn = np.abs((turn + math.pi) % (2 * math.pi) - math.pi)
            onward = onward + charges[np.searchsorted(np.r_[1e-8, limits], turn)]
        for there in np.flatnonzero(onward < math.inf).tolist():
            if (there, node) not in done:
                heapq.heappush(queue, (float(onward[there]), there, node))
    return math.inf


@pytest.mark.parametrize("seed", [1, 2, 8])
def test_no_way_on_a_grid_is_cheaper_by_a_hundredth(seed: int) -> None:
    scene = random_scene(seed)
    start, goal = random_ends(scene, seed)
    grid = on_a_grid(scene, start, goal, step_m=5.0)
    way = cheapest(scene, at(*start), at(*goal))
    assert (way.price if way else math.inf) <= grid * 1.01


@pytest.mark.parametrize("seed", [4, 5, 11])
def test_same_from_either_end(seed: int) -> None:
    scene = random_scene(seed)
    start, goal = random_ends(scene, seed)
    there, back = cheapest(scene, at(*start), at(*goal)), cheapest(scene, at(*goal), at(*start))
    assert (there is None) == (back is None)
    if there and back:
        assert there.price == pytest.approx(back.price, rel=1e-9)
        assert there.line.equals_exact(shapely.reverse(back.line), 1e-9)


def test_refraction_between_two_prices() -> None:
    """Snell condition for shortest paths in weighted regions (Mitchell and Papadimitriou, Journal of the ACM 38, 1991);
    its root for 40 m at 1 over 30 m at 3, 100 m along, worked out apart from this program: 193.349950 crossing at 90.398."""
    rock = Patch(feature="rock", area=box(-20, -30, 120, 0), dig=charge(3))
    scene = Scene(free=box(-20, -30, 120, 40), dig=charge(1), restore=charge(0), patches=(rock,))
    way = found(scene, at(0, 40), at(100, -30))
    assert way.price == pytest.approx(193.349950, rel=1e-3)
    assert way.line.coords[1] == pytest.approx((90.398, 0.0), abs=0.5)


def test_one_price_and_free_bends_give_the_exact_shortest_line() -> None:
    free = box(0, 0, 40, 40).difference(shapely.union_all([box(5, 5, 15, 35), Point(25, 20).buffer(7)]))
    scene = field(free=free)
    exact = shortest_between(FreeGround(free), Point(2, 20), Point(38, 21))
    way = found(scene, at(2, 20), at(38, 21))
    assert exact is not None
    assert way.line.equals(exact.line)
    assert way.price == pytest.approx(exact.length_m * 30)


@pytest.mark.parametrize(("pits", "bored"), [(300.0, True), (420.0, False)])
def test_bore_is_taken_where_it_pays(pits: float, bored: bool) -> None:
    """4 m of road: dug at 120 a metre 480, bored for the pits and 120."""
    road = Patch(feature="road", area=box(0, 10, 40, 14), restore=charge(100), bore=bore(pits, 30))
    scene = field(road, bends=BENDS)
    way = found(scene, at(20, 2), at(20, 30))
    assert (bill(scene, way.line).amount("pits") == 1) == bored
    assert way.price == pytest.approx(24 * 30 + min(480, pits + 120))


def test_line_in_the_way_is_crossed_steeply() -> None:
    """Straight across would be at 27 degrees; both bends of the way at 45 degrees are of the least class."""
    axis = LineString([(0, 20), (40, 20)])
    gas = Crossed(feature="gas", axis=axis, zone=axis.buffer(0.5), toll=charge(50), least_angle_deg=45)
    way = found(field(crossed=(gas,), bends=BENDS), at(10, 15), at(30, 25))
    straight = 30 * math.hypot(20, 10) + 50
    assert straight < way.price < straight * 1.12


def test_dear_ground_is_gone_round_only_if_that_pays() -> None:
    direct = found(
        field(Patch(feature="roots", area=box(18, 15, 22, 25), dig=charge(25))), at(5, 20), at(35, 20)
    )
    assert direct.price == pytest.approx(30 * 30 + 4 * 5)
    round_it = found(
        field(Patch(feature="roots", area=box(18, 18, 22, 25), dig=charge(500))), at(5, 20), at(35, 20)
    )
    assert round_it.price == pytest.approx(30 * (2 * math.hypot(13, 2) + 4))


def test_wall_is_met_square_where_a_bend_onto_the_leg_costs() -> None:
    house = box(10, 20, 30, 30)
    free = box(0, 0, 40, 40).difference(house.buffer(1.5, join_style="mitre"))
    wall = Approach(
        feature="house", places=((LineString([(10.5, 18.5), (29.5, 18.5)]), (0.0, 1.5)),), leg_m=1.5
    )
    way = found(field(free=free, bends=BENDS), at(20, 2), wall)
    assert way.line.equals(LineString([(20, 2), (20, 20)]))
    assert way.price == pytest.approx(18 * 30)
    from_side = found(field(free=free, bends=BENDS), at(5, 10), wall)
    assert from_side.line.coords[-1][1] == pytest.approx(20)
    assert from_side.price <= 30 * (math.hypot(5.5, 8.5) + 1.5) + 30 + 1e-6


def test_line_is_met_anywhere_along_it() -> None:
    main = Approach(feature="main", places=((LineString([(0, 5), (40, 5)]), (0.0, 0.0)),), leg_m=0.0)
    assert found(field(bends=BENDS), main, at(17, 25)).line.equals(LineString([(17, 5), (17, 25)]))


def test_start_on_the_goal_costs_nothing() -> None:
    assert found(field(bends=BENDS), at(5, 5), at(5, 5)).price == 0.0


def test_no_way() -> None:
    free = shapely.union_all([box(0, 0, 10, 40), box(20, 0, 40, 40)])
    assert cheapest(field(free=free), at(5, 5), at(30, 5)) is None
    wall = Patch(feature="rail", area=box(12, -5, 15, 45), shut=True)
    assert cheapest(field(wall), at(5, 5), at(30, 5)) is None


def test_one_search_serves_several_pairs() -> None:
    scene = random_scene(7)
    search = Search(scene)
    for start, goal in (random_ends(scene, seed) for seed in (8, 20)):
        way, alone = search.way(at(*start), at(*goal)), cheapest(scene, at(*start), at(*goal))
        assert way is not None
        assert alone is not None
        assert way.price == pytest.approx(alone.price, rel=5e-3)


@pytest.mark.parametrize("seed", [9, 14])
def test_turned_and_scaled(seed: int) -> None:
    """Turned by 30 degrees the price stays, twice as large with prices of a metre halved too, up to where the search stops."""
    scene = random_scene(seed)
    start, goal = random_ends(scene, seed)
    first = cheapest(scene, at(*start), at(*goal))
    turned = _moved(scene, 30.0, 1.0)
    places = [rotate(Point(place), 30.0, origin=(0, 0)) for place in (start, goal)]
    second = cheapest(turned, *(at(place.x, place.y) for place in places))
    assert first is not None
    assert second is not None
    assert second.price == pytest.approx(first.price, rel=2e-3)
    double = _moved(scene, 0.0, 2.0)
    third = cheapest(double, at(*(2 * start)), at(*(2 * goal)))
    assert third is not None
    assert third.price == pytest.approx(first.price, rel=1e-2)


def _moved(scene: Scene, turn_deg: float, times: float) -> Scene:
    """A scene turned and made larger about the origin, a metre cheaper in the same measure."""

    def area(shape: shapely.Geometry) -> shapely.Geometry:
        turned = rotate(shape, turn_deg, origin=(0, 0))
        return turned if times == 1.0 else scale(turned, times, times, origin=(0, 0))

    def metre(price: Charge | None) -> Charge | None:
        return price and charge(price.price / times, price.row)

    def bored(one: Bore | None) -> Bore | None:
        if one is None:
            return None
        per_m = charge(one.per_m.price / times)
        return Bore(pits=one.pits, per_m=per_m, least=one.least, longest_m=one.longest_m * times)

    return Scene(
        free=area(scene.free),
        dig=charge(scene.dig.price / times),
        restore=charge(scene.restore.price / times),
        patches=tuple(
            Patch(
                feature=patch.feature,
                area=area(patch.area),
                dig=metre(patch.dig),
                restore=metre(patch.restore),
                bore=bored(patch.bore),
                shut=patch.shut,
            )
            for patch in scene.patches
        ),
        crossed=tuple(
            Crossed(
                feature=line.feature,
                axis=area(line.axis),  # type: ignore[arg-type]
                zone=area(line.zone),
                toll=line.toll,
                least_angle_deg=line.least_angle_deg,
            )
            for line in scene.crossed
        ),
        bends=scene.bends,
    )


@pytest.mark.parametrize("seed", [2, 7, 13])
def test_a_search_that_goes_on_from_another_finds_the_same(seed: int) -> None:
    scene = random_scene(seed)
    moved = replace(scene, free=scene.free.difference(box(14.0, 14.0, 16.0, 16.5)))
    start, goal = (at(*end) for end in random_ends(moved, seed))
    before = Search(scene)
    before.way(start, goal)
    fresh, further = Search(moved).way(start, goal), Search(moved, former=before).way(start, goal)
    assert fresh is not None
    assert further is not None
    assert further.price == pytest.approx(fresh.price, rel=1e-12)
