"""Straight links: their price against sums worked out by hand."""

from __future__ import annotations

import math
from itertools import combinations

import numpy as np
import pytest
import shapely
from priced_scenes import bore, charge, field
from shapely import LineString, Polygon, affinity, box

from siteplan.route.mesh import Floats
from siteplan.route.priced.bill import bill
from siteplan.route.priced.links import Links
from siteplan.route.scene import Crossed, Patch, Scene


def price(scene: Scene, *places: tuple[float, float], **how: bool) -> float:
    """Price of one link."""
    start, end = np.array(places, dtype=float)
    return float(Links(scene).prices(start[None], end[None], **how)[0])


def road(**more: object) -> Patch:
    """A road 4 m wide, 100 a metre to restore."""
    return Patch(feature="road", area=box(0, 10, 40, 14), restore=charge(100), **more)  # type: ignore[arg-type]


def gas(angle_deg: float, toll: float = 70.0) -> Crossed:
    """A line along y = 20 with a zone of half a metre."""
    axis = LineString([(0, 20), (40, 20)])
    zone = box(0, 19.5, 40, 20.5)
    return Crossed(feature="gas", axis=axis, zone=zone, toll=charge(toll), least_angle_deg=angle_deg)


def test_dearest_digging_and_dearest_restoring_hold_where_patches_overlap() -> None:
    wood = Patch(feature="wood", area=box(10, 0, 20, 40), dig=charge(50))
    lawn = Patch(feature="lawn", area=box(15, 0, 25, 40), dig=charge(40), restore=charge(30))
    assert price(field(wood, lawn), (5, 5), (30, 5)) == pytest.approx(
        5 * 30 + 5 * (50 + 10) + 5 * (50 + 30) + 5 * (40 + 30) + 5 * 30
    )


def test_cheaper_patch_is_cheaper_than_plain_ground() -> None:
    assert price(field(Patch(feature="sand", area=box(0, 0, 40, 9), dig=charge(5))), (1, 4), (11, 4)) == 150


@pytest.mark.parametrize(("pits", "bored"), [(359.0, True), (361.0, False)])
def test_bored_exactly_where_that_is_cheaper(pits: float, bored: bool) -> None:
    """Digging 4 m of road costs 4 x 120 = 480; a bore costs its pits and 4 x 30 = 120."""
    found = price(field(road(bore=bore(pits, 30))), (20, 5), (20, 20))
    assert found == pytest.approx(11 * 30 + min(480, pits + 120))
    assert (found < 11 * 30 + 480) == bored


def test_least_charge_and_longest_bore() -> None:
    assert price(field(road(bore=bore(50, 30, least=200))), (20, 5), (20, 20)) == pytest.approx(11 * 30 + 250)
    assert price(field(road(bore=bore(50, 30, longest_m=3.9))), (20, 5), (20, 20)) == pytest.approx(
        11 * 30 + 480
    )


def test_link_that_ends_in_a_patch_does_not_bore_it() -> None:
    scene = field(road(bore=bore(0, 1)))
    assert price(scene, (20, 5), (20, 13)) == pytest.approx(5 * 30 + 3 * 120)
    assert price(scene, (20, 10), (20, 14)) == pytest.approx(4)


def test_shut_ground_is_bored_or_not_crossed() -> None:
    assert price(field(road(shut=True)), (20, 5), (20, 20)) == math.inf
    shut = field(road(shut=True, bore=bore(1000, 30)))
    assert price(shut, (20, 5), (20, 20)) == pytest.approx(11 * 30 + 1120)
    assert price(shut, (20, 5), (20, 13)) == math.inf
    assert price(shut, (5, 10), (30, 10)) == pytest.approx(25 * 30)


def test_two_bores_over_each_other_are_both_made_or_one() -> None:
    """One bore spares what lies over it: 6 m of drive from y = 12 to 18, 2 m of them under the road's bore."""
    drive = Patch(feature="drive", area=box(0, 12, 40, 18), restore=charge(200), bore=bore(100, 10))
    scene = field(road(bore=bore(40, 10)), drive)
    dug_m, road_only, drive_only, both = 7, 80 + 4 * 220, 2 * 120 + 160, 80 + 160
    assert price(scene, (20, 5), (20, 20)) == pytest.approx(dug_m * 30 + min(road_only, drive_only, both))


def test_toll_at_each_crossing_dug_or_bored() -> None:
    assert price(field(crossed=(gas(45),)), (20, 15), (20, 25)) == pytest.approx(300 + 70)
    verge = Patch(feature="verge", area=box(0, 19, 40, 21), restore=charge(500), bore=bore(1, 1))
    assert price(field(verge, crossed=(gas(45),)), (20, 15), (20, 25)) == pytest.approx(8 * 30 + 3 + 70)


def test_bend_on_a_line_owes_half_an_end_there_nothing() -> None:
    scene = field(crossed=(gas(0),))
    assert price(scene, (20, 15), (20, 20)) == pytest.approx(150 + 35)
    assert price(scene, (20, 15), (20, 20), last=True) == pytest.approx(150)
    assert price(scene, (20, 20), (20, 15), first=True) == pytest.approx(150)


def test_flat_crossing_and_running_along_are_forbidden() -> None:
    scene = field(crossed=(gas(45),))
    assert price(scene, (10, 15), (22, 25)) == math.inf
    assert price(scene, (15, 15), (25, 25)) < math.inf
    assert price(scene, (5, 20.2), (30, 20.2)) == math.inf
    assert price(scene, (5, 20.5), (30, 20.5)) == pytest.approx(25 * 30)
    assert price(field(crossed=(gas(0),)), (5, 20.2), (30, 20.2)) == pytest.approx(25 * 30)


def test_first_and_last_link_may_be_flat_in_the_zone_where_the_trench_starts_or_ends() -> None:
    scene = field(crossed=(gas(45),))
    assert price(scene, (5, 20.2), (30, 21), first=True) < math.inf
    assert price(scene, (5, 21), (30, 20.2), first=True) == math.inf
    assert price(scene, (5, 21), (30, 20.2), last=True) < math.inf


def test_free_ground_holds_its_boundary_and_a_millionth_of_a_metre() -> None:
    yard = field(free=box(0, 0, 40, 40).difference(box(10, 10, 20, 20)))
    assert price(yard, (5, 10), (30, 10)) == pytest.approx(25 * 30)
    assert price(yard, (5, 10 + 9e-7), (30, 10 + 9e-7)) == pytest.approx(25 * 30)
    assert price(yard, (5, 10.00001), (30, 10.00001)) == math.inf
    assert price(yard, (10, 10), (20, 20)) == math.inf
    assert price(yard, (10, 10), (20, 20), in_free=False) == pytest.approx(math.hypot(10, 10) * 30)


def test_along_an_edge_the_cheaper_side_counts_if_it_is_free_ground() -> None:
    ledge = Patch(feature="ledge", area=box(0, 0, 40, 5), dig=charge(200))
    assert price(field(ledge), (3, 5), (9, 5)) == pytest.approx(6 * 30)
    assert price(field(ledge), (3, 0), (9, 0)) == pytest.approx(6 * 210)


def test_many_links_at_once_are_priced_as_one_by_one() -> None:
    rng = np.random.default_rng(5)
    scene = field(road(bore=bore(50, 30)), crossed=(gas(45),))
    starts, ends = rng.uniform(0, 40, (2, 2500, 2))
    at_once = Links(scene).prices(starts, ends)
    some = range(0, 2500, 97)
    assert [at_once[i] for i in some] == pytest.approx(
        [price(scene, starts[i], ends[i]) for i in some], rel=1e-12
    )


def abutting(seed: int) -> Scene:
    """A turned drive of 30 x 20 m with three more surfaces, each along a part of one of its edges, inside or outside."""
    rng = np.random.default_rng(seed)
    drive = affinity.rotate(box(0, 0, 30, 20), rng.uniform(0, 90), origin=(0, 0))
    ring = shapely.get_coordinates(drive)
    patches = [Patch(feature="drive", area=drive, dig=charge(50.0))]
    for number in range(3):
        side = rng.integers(4)
        here, along = ring[side], ring[side + 1] - ring[side]
        begin, end = (here + along * part for part in np.sort(rng.uniform(0, 1, 2)))
        across = np.array([-along[1], along[0]]) / np.hypot(*along) * rng.choice([-1, 1]) * rng.uniform(2, 6)
        area = Polygon([begin, end, end + across, begin + across])
        patches.append(Patch(feature=f"more-{number}", area=area, dig=charge(float(rng.uniform(20, 90)))))
    return Scene(free=box(-60, -60, 60, 60), dig=charge(10.0), restore=charge(5.0), patches=tuple(patches))


def sampled(scene: Scene, here: Floats, there: Floats) -> float:
    """What a trench costs, at 2,000 places along it: on an edge as the cheaper side, 0.01 mm beside it."""
    along, length_m = there - here, math.dist(here, there)
    middles = here + (np.arange(2000)[:, None] + 0.5) / 2000 * along
    sides = []
    for aside_m in (1e-5, -1e-5):
        x, y = (middles + aside_m * np.array([-along[1], along[0]]) / length_m).T
        over = [
            np.where(shapely.contains_xy(patch.area, x, y), patch.dig.price, 0.0) for patch in scene.patches
        ]
        dearest = np.max(over, axis=0)
        sides.append(np.where(dearest > 0.0, dearest, scene.dig.price) + scene.restore.price)
    return float(np.minimum(*sides).mean() * length_m)


@pytest.mark.parametrize("seed", range(8))
def test_surfaces_that_share_an_edge(seed: int) -> None:
    """From corner to corner, along shared edges too, links and bills come to what the ground costs beside them."""
    scene = abutting(seed)
    links = Links(scene)
    corners = shapely.get_coordinates([patch.area for patch in scene.patches])
    pairs = [(a, b) for a, b in combinations(corners, 2) if math.dist(a, b) > 1e-3][::3]
    prices = links.prices(*(np.array(ends) for ends in zip(*pairs, strict=True)))
    for (here, there), price in zip(pairs, prices.tolist(), strict=True):
        plain = pytest.approx(sampled(scene, here, there), rel=3e-3, abs=0.05)
        assert price == plain
        assert bill(scene, LineString([here, there])).price == plain
