"""What the proof with bends rests on, each claim on its own, against samples and brute force.

The bound itself can be far below the cheapest trench, and would hide a claim that is wrong.
"""

from __future__ import annotations

import math
from itertools import combinations_with_replacement, pairwise, permutations

import numpy as np
import pytest
import shapely
from ground_reference import random_scene, reference_trench
from shapely import LineString, Point, Polygon, box

from siteplan.route.proof.bends import _Proof
from siteplan.route.proof.dear import DearGround, metre_in
from siteplan.route.proof.forced import least_metre
from siteplan.route.proof.link_prices import LinkPrices, shapes_of
from siteplan.route.proof.links import Planes, layers, through
from siteplan.route.proof.places import Places
from siteplan.route.proof.square import leg_bends
from siteplan.route.proof.too_dear import too_dear
from siteplan.route.proof.turning import BendsOnTheWay, Directions, Turning
from siteplan.route.scene import Bore, Charge, Patch, Scene

CLASSES = ((22.5, 15.0), (45.0, 30.0), (90.0, 50.0), (135.0, 100.0))


def charge(price: float) -> Charge:
    return Charge(row="test", price=price)


def scene_of(*patches: Patch, bends: tuple[tuple[float, float], ...] = CLASSES) -> Scene:
    """A yard of 40 x 40 m at 2 a metre."""
    return Scene(
        free=box(0, 0, 40, 40),
        dig=charge(2.0),
        restore=charge(0.0),
        patches=patches,
        bends=tuple((limit, charge(price)) for limit, price in bends),
    )


def random_cells(rng: np.random.Generator, count: int) -> np.ndarray:
    """Triangles, intervals and points of all sizes."""
    cells = rng.uniform(3, 37, (count, 1, 2)) + rng.uniform(-1, 1, (count, 3, 2)) * rng.uniform(
        0.05, 3, (count, 1, 1)
    )
    cells[::4, 2] = cells[::4, 1]
    cells[::7] = cells[::7, :1]
    return cells


def weights(rng: np.random.Generator, count: int) -> np.ndarray:
    return np.concatenate([np.eye(3), rng.dirichlet([0.6] * 3, count)])


@pytest.mark.parametrize("seed", range(4))
def test_every_segment_pays_for_the_dear_ground_that_all_do(seed: int) -> None:
    rng = np.random.default_rng([seed, 31])
    patches = tuple(
        Patch(feature="", area=Point(rng.uniform(10, 30, 2)).buffer(rng.uniform(3, 9)), restore=charge(more))
        for more in (3.0, 7.0, 7.0)
    )
    scene = scene_of(*patches)
    cells = random_cells(rng, 40)
    one, other = np.triu_indices(40, 1)
    more, _ = DearGround(scene, 2.0).more(cells, one, other)
    assert (more > 0.0).sum() > 50
    dearest = shapely.union_all([patch.area for patch in patches[1:]])
    dear = patches[0].area.difference(dearest)
    for share, onward in zip(weights(rng, 12), weights(rng, 12)[::-1], strict=True):
        ends = np.stack([share @ cells[one], onward @ cells[other]], axis=1)
        lines = shapely.linestrings(ends)
        paid = sum(
            step * shapely.length(shapely.intersection(lines, area))
            for step, area in ((3, dear), (7, dearest))
        )
        assert (more * shapely.length(lines) <= paid + 1e-6).all()


@pytest.mark.parametrize("seed", range(5))
def test_a_trench_along_the_edge_of_dear_ground_pays_for_the_cheaper_side(seed: int) -> None:
    """Straight pieces of the cheapest trenches over points on edges, many of them along an edge, each between two points."""
    known = []
    for number in range(16):
        scene, start, goal = random_scene(16 * seed + number)
        price, line = reference_trench(scene, start, goal, 3)
        if line is None:
            continue
        at = shapely.get_coordinates(line)
        each, metre = np.arange(len(at) - 1), least_metre(scene)
        more, _ = DearGround(scene, metre).more(at[:, None].repeat(3, axis=1), each, each + 1)
        least = float(((metre + more) * np.linalg.norm(np.diff(at, axis=0), axis=1)).sum())
        assert least <= price * (1 + 1e-9) + 1e-6
        known.append(least / price)
    assert max(known) > 0.9


def test_a_bore_is_left_out_only_if_it_costs_too_much_more() -> None:
    bore = Bore(pits=charge(40.0), per_m=charge(3.0), least=charge(30.0), longest_m=12.0)
    patch = Patch(feature="", area=box(10, 10, 20, 20), restore=charge(90.0), bore=bore)
    scene = scene_of(patch)
    lengths = np.linspace(1e-3, 12, 2000)
    more = min(bore.price(length) - 2.0 * length for length in lengths)
    assert metre_in(scene, patch, 2.0, more - 0.01) == pytest.approx(92.0)
    assert metre_in(scene, patch, 2.0, more + 0.1) == pytest.approx(
        min(bore.price(length) / length for length in lengths)
    )


@pytest.mark.parametrize("seed", range(4))
def test_turning_costs_no_more_than_any_bends_that_turn_so_far(seed: int) -> None:
    """Brute force: the cheapest bends by steps of half a degree, each as sharp as its class allows or less."""
    rng = np.random.default_rng([seed, 32])
    limits = np.sort(rng.choice(np.arange(10, 300), 3, replace=False)) / 2.0
    prices = np.sort(rng.uniform(5, 90, 3))
    turning = Turning(scene_of(bends=tuple(zip(limits.tolist(), prices.tolist(), strict=True))))
    least = np.zeros(361)
    for half in range(1, 361):
        least[half] = min(
            price + least[max(half - round(2 * limit), 0)]
            for limit, price in zip(limits, prices, strict=True)
        )
    # the least price only grows with the angle: turning further may be cheaper, and turns no less
    found = turning.price(np.radians(np.arange(361) / 2.0))
    assert (found <= least + 1e-9).all()
    assert found == pytest.approx(np.minimum(least, 13 * prices[0]))


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("fewest", [1, 2, 4])
def test_so_many_bends_or_more_cost_no_less_than_told(seed: int, fewest: int) -> None:
    """Brute force: all ways of choosing up to seven bends, and what they turn by at most."""
    rng = np.random.default_rng([seed, 37])
    limits = np.sort(rng.choice(np.arange(10, 300), 3, replace=False)) / 2.0
    prices = np.sort(rng.uniform(5, 90, 3))
    turning = Turning(scene_of(bends=tuple(zip(limits.tolist(), prices.tolist(), strict=True))))
    angles = np.arange(0.0, 180.0, 1.7)
    least = np.full(len(angles), np.inf)
    for count in range(fewest, 8):
        for bends in combinations_with_replacement(range(3), count):
            reached = limits[list(bends)].sum() >= angles
            least[reached] = np.minimum(least[reached], prices[list(bends)].sum())
    found = turning.price(np.radians(angles), fewest)
    assert (found <= least + 1e-9).all()
    cheap = least < 8 * prices[0]
    assert cheap.any()
    assert found[cheap] == pytest.approx(least[cheap])


@pytest.mark.parametrize("seed", range(4))
def test_no_two_segments_are_nearer_in_direction_than_told(seed: int) -> None:
    rng = np.random.default_rng([seed, 38])
    scene, places = scene_of(), Places([])
    cells = random_cells(rng, 24)
    shapes = shapes_of(places, places.add(cells.reshape(-1, 2)).reshape(-1, 3))
    links = LinkPrices(scene, 2.0).between(places, shapes, *np.triu_indices(24, 1), np.zeros((0, 276), bool))
    directions = Directions(shapes.at, links)
    one, other = rng.integers(0, len(links.one), (2, 3000))
    shares = weights(rng, 30)
    told = 0
    for ways in ((0, 0), (0, 1), (1, 0), (1, 1)):
        least = directions.least_between(one, ways[0], other, ways[1])
        told += (least > 0.3).sum()
        for _ in range(30):
            heading = []
            for pairs, back in zip((one, other), ways, strict=True):
                share, onward = shares[rng.integers(len(shares), size=2)]
                way = onward @ cells[links.other[pairs]] - share @ cells[links.one[pairs]]
                heading.append(-way if back else way)
            (x, y), (u, v) = (way.T for way in heading)
            turn = np.abs(np.arctan2(x * v - y * u, x * u + y * v))
            moved = (np.hypot(x, y) > 1e-9) & (np.hypot(u, v) > 1e-9)
            assert (least <= turn + 1e-6)[moved].all()
            sharp = [scene.bend_charge(math.degrees(each)) for each in turn[:200]]
            paid = np.array([each.price if each else math.inf for each in sharp])
            assert (Turning(scene).one_bend(least[:200]) <= paid)[moved[:200]].all()
    assert told > 1000


@pytest.mark.parametrize("seed", range(4))
def test_no_segment_turns_from_a_leg_by_less_than_told(seed: int) -> None:
    rng = np.random.default_rng([seed, 33])
    scene, places = scene_of(), Places([])
    cells = random_cells(rng, 40)
    shapes = shapes_of(places, places.add(cells.reshape(-1, 2)).reshape(-1, 3))
    links = LinkPrices(scene, 2.0).between(places, shapes, *np.triu_indices(40, 1), np.zeros((0, 780), bool))
    directions = Directions(shapes.at, links)
    told = 0
    for angle in rng.uniform(0, math.tau, 8):
        leg = np.array([math.cos(angle), math.sin(angle)])
        onward = np.tile(leg, (len(links.one), 1))
        due, _ = leg_bends(scene, shapes.at[links.other], shapes.at[links.one], onward)
        for back in (False, True):
            least = directions.least_turns(leg, back=back)
            told += (least > 0.3).sum()
            for share, further in zip(weights(rng, 12), weights(rng, 12)[::-1], strict=True):
                way = further @ cells[links.other] - share @ cells[links.one]
                way = -way if back else way
                turn = np.abs(np.arctan2(leg[0] * way[:, 1] - leg[1] * way[:, 0], way @ leg))
                moved = np.hypot(*way.T) > 1e-9
                assert (least <= turn + 1e-6)[moved].all()
                if not back:
                    sharp = [scene.bend_charge(math.degrees(each)) for each in turn]
                    paid = np.array([each.price if each else math.inf for each in sharp])
                    assert (due <= np.where(turn > 1e-6, paid, 0.0) + 1e-9)[moved].all()
    assert told > 1000


@pytest.mark.parametrize("seed", range(4))
def test_link_prices_and_planes_are_below_every_straight_piece(seed: int) -> None:
    rng = np.random.default_rng([seed, 34])
    scene, places = scene_of(), Places([])
    cells = random_cells(rng, 40)
    shapes = shapes_of(places, places.add(cells.reshape(-1, 2)).reshape(-1, 3))
    links = LinkPrices(scene, 2.0).between(places, shapes, *np.triu_indices(40, 1), np.zeros((0, 780), bool))
    so_far = rng.uniform(0, 10, (3, 40)) * rng.choice([0.2, 1.0, 3.0], 40)
    so_far[2, ::4], so_far[:, ::7] = so_far[1, ::4], so_far[0, ::7]
    carried = Planes(so_far, shapes.at, 2.0).at(links.one, links.other)
    for share, onward in zip(weights(rng, 20), weights(rng, 20)[::-1], strict=True):
        length = np.linalg.norm(onward @ cells[links.other] - share @ cells[links.one], axis=1)
        between = np.einsum("i,ijk,j->k", share, links.price, onward)
        assert (between <= 2.0 * length + 1e-6).all()
        assert (links.least <= 2.0 * length + 1e-6).all()
        assert (onward @ carried <= share @ so_far[:, links.one] + 2.0 * length + 1e-6).all()


@pytest.mark.parametrize("seed", range(6))
def test_no_trench_costs_less_than_told_at_any_of_its_pieces(seed: int) -> None:
    """Brute force: all trenches of up to four pieces by way of seven places, each bend priced by its angle."""
    rng = np.random.default_rng([seed, 36])
    scene, places, count = scene_of(bends=(*CLASSES[:3], (180.0, 100.0))), Places([]), 4
    at = rng.uniform(2, 38, (7, 2))
    turn = rng.uniform(0, math.tau, 3)
    onward = np.zeros((7, 2))
    onward[[0, 1, 6]] = np.stack([np.cos(turn), np.sin(turn)], axis=1)
    shapes = shapes_of(places, places.add(at)[:, None].repeat(3, axis=1), onward)
    one, other = (ids[1:] for ids in np.triu_indices(7, 1))  # all pairs but the two starts
    links = LinkPrices(scene, 2.0).between(places, shapes, one, other, np.zeros((0, 20), bool))
    assert len(links.one) == 20
    ends = np.arange(7) < 2, np.arange(7) == 6
    fields = [layers(links, shapes.at, 2.0, end, np.zeros((3, 7)), count) for end in ends]
    bends = BendsOnTheWay(links, shapes.at, onward, ends, Turning(scene), count)
    whole, of_any = through(links, shapes.at, 2.0, fields, bends.least, 0.0)
    number = {pair: k for k, pair in enumerate(zip(links.one.tolist(), links.other.tolist(), strict=True))}
    cheapest = np.full(len(whole), math.inf)
    tried, tightest = 0, 0.0
    for first in (0, 1):
        for between in (way for k in range(count) for way in permutations(range(2, 6), k)):
            way = [first, *between, 6]
            headings = [-onward[first], *np.diff(at[way], axis=0), onward[6]]
            turned = [scene.bend_charge(angle_deg(*pair)) for pair in pairwise(headings)]
            if None in turned:
                continue
            prices = [each.price for each in turned if each]
            total = sum(prices) + 2.0 * float(np.linalg.norm(np.diff(at[way], axis=0), axis=1).sum())
            for a, (here, there) in enumerate(pairwise(way)):
                back, k = int(here > there), number[min(here, there), max(here, there)]
                told = float(bends.least(back, a, len(way) - 2 - a, np.array([k]))[0])
                assert told <= sum(prices) + 1e-9
                assert whole[k] <= total + 1e-6
                tightest = max(tightest, told / max(sum(prices), 1.0))
                cheapest[k] = min(cheapest[k], total)
                tried += 1
    assert tried > 200
    assert tightest == pytest.approx(1.0)
    assert 0.75 * cheapest.min() < of_any <= cheapest.min() + 1e-6
    reached = np.isfinite(cheapest)
    assert (whole[reached] / cheapest[reached]).max() > 0.75


def angle_deg(come: np.ndarray, go: np.ndarray) -> float:
    return math.degrees(math.atan2(come[0] * go[1] - come[1] * go[0], come @ go))


@pytest.mark.parametrize("seed", range(6))
def test_ground_is_closed_only_where_going_in_and_out_costs_what_is_to_spare(seed: int) -> None:
    rng = np.random.default_rng([seed, 35])
    at = rng.uniform(12, 28, 2)
    corners = [
        at + rng.uniform(3, 9) * np.array([math.cos(a), math.sin(a)]) for a in np.arange(9) * math.tau / 9
    ]
    area, more, spare = Polygon(corners), float(rng.uniform(2, 9)), float(rng.uniform(2, 14))
    scene = scene_of(Patch(feature="", area=area, restore=charge(more)))
    closed = too_dear(scene, LineString([(0, 0), (40, 0)]), 2.0, spare)
    assert not closed.is_empty
    depth = shapely.distance(shapely.points(shapely.get_coordinates(closed)), area.exterior)
    assert (2.0 * depth * more >= spare).all()
    assert area.covers(closed)
    assert too_dear(scene, Point(at), 2.0, spare).is_empty


@pytest.mark.parametrize("more", [0.5, 1.0, 1.5])
def test_dear_ground_that_is_best_gone_through_stays_open(more: float) -> None:
    """A wide bar 4 m deep: straight through costs 2 x 20 + 4 more; 5 % are left above it, so that no bound can hide there."""
    bar = Patch(feature="", area=box(2, 18, 38, 22), restore=charge(more))
    known = 2.0 * 20 + 4.0 * more
    proof = _Proof(scene_of(bar), Point(20, 10), Point(20, 30), best=1.05 * known)
    found = proof.proven(1e-6, 20_000).bound
    assert 0.99 * known <= found <= known * (1 + 1e-8)
