"""Trees over priced ground and tolled lines, bounded by potentials: never above brute force, whatever the potentials are."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
import shapely
from shapely import LineString, MultiLineString, Point, box

from siteplan.route.approach import Approach
from siteplan.route.between import Goal
from siteplan.route.priced.tree import cheapest_tree
from siteplan.route.proof.calibration import _Search, calibrated
from siteplan.route.proof.calibration_mesh import Mesh, mesh_of
from siteplan.route.proof.components import least_of_components
from siteplan.route.proof.dear import levels_of
from siteplan.route.proof.forced import dear_ground, least_metre
from siteplan.route.scene import Crossed, Patch, Scene
from tests.route.proof.dear_tree_reference import charge, tree_price, yard

OPEN = box(-50, -50, 50, 50)


def mesh(scene: Scene, places: list[Goal]) -> Mesh:
    metre = least_metre(scene)
    return mesh_of(scene.free, levels_of(scene, metre), scene.crossed, metre, places)


def price(scene: Scene, places: list[Goal]) -> float:
    first, *others = places
    assert isinstance(first, Point)
    return calibrated(mesh(scene, places), first, others).price


def of_points(seed: int) -> tuple[Scene, list[Goal]]:
    scene, places = yard(seed, 2 + seed % 2)
    return scene, [place if isinstance(place, Point) else place.geoms[0].centroid for place in places]


@pytest.mark.parametrize("seed", [21, 22, 24, 31])
def test_never_above_a_tree_found_by_brute_force(seed: int) -> None:
    """With potentials as they are found, and with bad ones: these prove less, but nothing false."""
    scene, places = of_points(seed)
    found = tree_price(scene, places)
    metre = least_metre(scene)
    bound = least_of_components(
        scene,
        places,
        scene.free,
        metre=metre,
        levels=levels_of(scene, metre),
        spare=np.inf,
        target=np.inf,
        legs=[()] * (len(places) - 1),
    )
    assert 0.9 * found <= bound <= found * (1 + 1e-9)
    ground = mesh(scene, places)
    start, *ends = places
    assert isinstance(start, Point)
    good = calibrated(ground, start, ends).potentials / metre
    random = np.random.default_rng(seed)
    for share in (0.001, 0.01, 0.1, 1.0):
        spoilt = good + share * random.normal(0.0, np.abs(good).max(), good.shape) * random.integers(
            0, 2, good.shape
        )
        assert _Search(ground, start, ends)._proven(spoilt).price <= found * (1 + 1e-9)
    assert _Search(ground, start, ends)._proven(good).price == pytest.approx(
        metre * good_rises(ground, good, ends), rel=0.01
    )


def good_rises(ground: Mesh, potentials: np.ndarray, ends: list[Goal]) -> float:
    total = 0.0
    for values, end in zip(potentials, ends, strict=True):
        table, _ = ground.at_places(shapely.get_coordinates(end))
        total += float((table @ values).min())
    return total


def test_a_toll_is_paid_once_by_a_tree_that_branches_beyond_it() -> None:
    """40 m and 20 m square off it at 12 a metre, joined at 150 degrees, and a toll of 100: by hand, law of cosines."""
    line = Crossed(
        feature="",
        axis=LineString([(0, -60), (0, 60)]),
        zone=Point(0, 0).buffer(1),
        toll=charge(100.0),
        least_angle_deg=0,
    )
    scene = Scene(free=OPEN, dig=charge(10.0), restore=charge(2.0), crossed=(line,))
    places: list[Goal] = [Point(-20, 0), Point(20, 0), Point(20, 20)]
    joined_m = (40**2 + 20**2 + 3**0.5 * 40 * 20) ** 0.5
    least = 12 * joined_m + 100
    assert 0.995 * least <= price(scene, places) <= least


def test_a_line_that_ends_is_gone_round() -> None:
    """Its end lies on the edge of the ground: along that edge one gets past it for nothing."""
    for end, least in ((50.0, 12 * 40.0), (60.0, 12 * 40.0 + 100)):
        axis = LineString([(0, -60), (0, end)])
        line = Crossed(feature="", axis=axis, zone=axis.buffer(1), toll=charge(100.0), least_angle_deg=0)
        scene = Scene(free=OPEN, dig=charge(10.0), restore=charge(2.0), crossed=(line,))
        assert 0.99 * least <= price(scene, [Point(-20, 50), Point(20, 50)]) <= least


def test_round_a_building() -> None:
    """10 m wide, the places 15 m off its middle: twice to a corner and along the wall, by Pythagoras."""
    scene = Scene(free=OPEN.difference(box(-5, -20, 5, 5)), dig=charge(10.0), restore=charge(2.0))
    least = 12 * (2 * (10**2 + 5**2) ** 0.5 + 10)
    assert 0.99 * least <= price(scene, [Point(-15, 0), Point(15, 0)]) <= least


def test_a_wall_is_reached_where_it_is_nearest() -> None:
    scene = Scene(free=OPEN.difference(box(10, -10, 20, 10)), dig=charge(10.0), restore=charge(2.0))
    wall = MultiLineString([[(10, -10), (10, 10)], [(10, 10), (20, 10)]])
    assert 0.995 * 240 <= price(scene, [Point(-10, 3), wall]) <= 240


@pytest.mark.parametrize(("reach", "least"), [(1.0, 12 * 40 + 100 * 4), (0.0, 0.0)])
def test_the_rim_of_dear_ground_costs_what_lies_beyond(reach: float, least: float) -> None:
    """A road of 4 m right across; where it ends on the edge of the ground, a trench runs past it along that edge."""
    road = Patch(feature="", area=box(-2, -50 - reach, 2, 50 + reach), restore=charge(102.0))
    scene = Scene(free=OPEN, dig=charge(10.0), restore=charge(2.0), patches=(road,))
    places: list[Goal] = [Point(-20, 45), Point(20, 45)]
    along_rim = 12 * (2 * (18**2 + 5**2) ** 0.5 + 4)
    least = least or along_rim
    assert 0.98 * least <= price(scene, places) <= least
    assert dear_ground(scene, *places) == pytest.approx(400.0 if reach else 0.0, abs=0.01)


def test_bends_where_an_end_is_passed() -> None:
    """20 m east and 20 m north by way of an end, on to a wall: one bend of a right angle there, or no less in others."""
    bends = ((22.5, charge(20.0)), (45.0, charge(35.0)), (90.0, charge(50.0)))
    scene = Scene(
        free=OPEN.difference(box(10, 20, 30, 30)),
        dig=charge(10.0),
        restore=charge(0.0),
        tee=charge(200.0),
        bends=bends,
    )
    wall = LineString([(18, 20), (22, 20)])
    places: list[Goal] = [Point(0, 0), Point(20, 0), MultiLineString([wall])]
    bound = least_of_components(
        scene,
        places,
        scene.free,
        metre=10.0,
        levels=(),
        spare=np.inf,
        target=np.inf,
        legs=[(), ((wall, (0.0, 1.0)),)],
    )
    assert 0.995 * 450 <= bound <= 450
    free = replace(scene, bends=())
    assert (
        least_of_components(
            free,
            places,
            free.free,
            metre=10.0,
            levels=(),
            spare=np.inf,
            target=np.inf,
            legs=[(), ((wall, (0.0, 1.0)),)],
        )
        <= 400
    )


def farm(seed: int, *, dear: bool) -> tuple[Scene, list[Approach]]:
    """A house with legs from its walls, points about it, bends, tees; a drive, roots and a tolled line, or little dear ground."""
    random = np.random.default_rng([seed, 901])
    x, y = random.uniform(6, 26, 2)
    house = box(x, y, x + 8, y + 6)
    y = random.uniform(10, 30)
    axis = LineString([(-1, y), (20, y + random.uniform(-4, 4)), (41, y)])
    zone, x = axis.buffer(1.5, cap_style="flat"), random.uniform(8, 32)
    patches = (
        Patch(feature="zone", area=zone, dig=charge(40.0)),
        Patch(feature="drive", area=box(x - 2, -1, x + 2, 41), restore=charge(6.0)),
        Patch(feature="root", area=Point(*random.uniform(5, 35, 2)).buffer(3, quad_segs=4), dig=charge(45.0)),
    )
    line = Crossed(
        feature="line",
        axis=axis,
        zone=zone,
        toll=charge(random.uniform(20, 90)),
        least_angle_deg=45 * (seed % 2),
    )
    far = Patch(feature="far", area=box(38.5, 38.5, 39.5, 39.5), dig=charge(40.0))
    scene = Scene(
        free=box(0, 0, 40, 40).difference(house),
        dig=charge(10.0),
        restore=charge(2.0),
        patches=patches if dear else (far,),
        crossed=(line,) if dear else (),
        bends=((22.5, charge(15.0)), (45.0, charge(30.0)), (90.0, charge(50.0)), (135.0, charge(100.0))),
        tee=charge([20.0, 60.0, 120.0][seed % 3]),
    )
    points: list[Point] = []
    while len(points) < 3 - (seed % 4 == 0):
        place = Point(*random.uniform(2, 38, 2))
        if (
            scene.free.contains(place)
            and min(scene.free.boundary.distance(place), axis.distance(place)) > 0.3
        ):
            points.append(place)
    corners = shapely.get_coordinates(house)
    inwards = [-(way := b - a)[::-1] * [1, -1] / np.hypot(*way) for a, b in pairwise(corners)]
    if not shapely.Polygon(corners).contains(Point(corners[:2].mean(axis=0) + inwards[0])):
        inwards = [-way for way in inwards]
    walls = tuple(
        (LineString(pair), (float(leg[0]), float(leg[1])))
        for pair, leg in zip(pairwise(corners), inwards, strict=True)
    )
    start, *ends = (Approach(feature="", places=((point, (0.0, 0.0)),), leg_m=0.0) for point in points)
    return scene, [start, Approach(feature="house", places=walls, leg_m=1.0), *ends]


@pytest.mark.parametrize("dear", [False, True])
@pytest.mark.parametrize("seed", range(6))
def test_never_above_a_tree_with_its_bends_and_legs(seed: int, dear: bool) -> None:
    """Trees as they are laid, priced by what prices them; a last leg of 1 m is counted at the least price."""
    scene, places = farm(seed, dear=dear)
    metre = least_metre(scene)
    found = cheapest_tree(scene, places[0], places[1:])
    assert found is not None
    bound = least_of_components(
        scene,
        [way.goal for way in places],
        scene.free,
        metre=metre,
        levels=levels_of(scene, metre),
        spare=np.inf,
        target=np.inf,
        legs=[() if isinstance(way.goal, Point) else way.places for way in places[1:]],
    )
    assert 0.7 * found.price <= bound + metre <= found.price * (1 + 1e-9)
