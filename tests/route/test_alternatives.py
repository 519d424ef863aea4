"""Layouts of another kind, told beside the cheapest one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import cache
from itertools import combinations
from math import hypot

import pytest
import shapely
from route_scenes import FOOT, asks, line, site, thing
from shapely import LineString, Point, box

from siteplan.route.alternatives import alternatives, other_ways
from siteplan.route.choice import Attempt, Choice
from siteplan.route.layout import lay
from siteplan.route.model import MOST_ALTERNATIVES, Layout, Reach
from siteplan.route.over_ground import APART_M, MOST_BESIDE
from siteplan.route.priced.bill import Item
from siteplan.route.scene import Patch
from siteplan.site.features import Feature
from siteplan.site.site import Site

PARCEL = thing("parcel", "parcel", box(0, 0, 100, 100))
WELL = thing("well", "well", Point(10, 50))
HOUSE = thing("house", "building", box(80, 40, 95, 60))
PLAIN = (8 + 3) / FOOT
ASPHALT = (8 + 40) / FOOT


def scene(*things: Feature) -> Site:
    return site([PARCEL, WELL, HOUSE, *things], [line("water", "well", "house")])


TANK = thing("tank", "septic_tank", box(40, 40, 44, 60))
ROAD = thing("road", "drive", box(50, 0, 56, 100), surface="asphalt")
DRIVE = thing("drive", "drive", box(50, 20, 56, 100), surface="asphalt")


@cache
def laid_with(*kinds: str) -> Layout:
    things = {"tank": TANK, "drive": DRIVE, "road": ROAD}
    return lay(scene(*(things[kind] for kind in kinds)), asks())


def test_open_ground_has_no_other_way() -> None:
    assert laid_with().alternatives == ()


def test_a_drive_that_is_opened_could_be_bored_under() -> None:
    """By hand: 64 m of lawn and 6 m of asphalt; or 64 m of lawn and a bore for $400 + $1,500."""
    layout = laid_with("road")
    assert layout.price == pytest.approx(64 * PLAIN + 6 * ASPHALT)
    (bored,) = layout.alternatives
    assert bored.name == "bored under Road"
    assert bored.price == pytest.approx(64 * PLAIN + 1900)
    more = 1900 - 6 * ASPHALT
    assert bored.why == (
        f"${more:,.0f} dearer: a bore under Road, 19.7 ft less of Road to restore. "
        "It would pay only with more than 39.6 ft of Road on the way; there are 19.7 ft."
    )


def test_a_drive_that_is_opened_could_be_gone_round() -> None:
    """At $37 a foot beyond lawn, less the bends, 6 m of asphalt pay for so much of a detour at $11 a foot."""
    layout = laid_with("drive")
    assert layout.price == pytest.approx(64 * PLAIN + 6 * ASPHALT)
    (way_round,) = layout.alternatives
    assert way_round.name == "round Drive"
    assert not shapely.union_all(list(way_round.paths)).intersects(DRIVE.shape.buffer(-1e-3))
    longer_m = hypot(40, 30) + 6 + hypot(80 - 56 - 1.2144, 20.5) + 1.2144 - 70
    bends = way_round.price - (70 + longer_m) * PLAIN
    assert way_round.length_m == pytest.approx(70 + longer_m, abs=0.01)
    even_m = (6 * (ASPHALT - PLAIN) - bends) / PLAIN
    assert way_round.why.endswith(
        f"It would pay only if it were less than {even_m / FOOT:.1f} ft longer; it is {longer_m / FOOT:.1f} ft longer."
    )


OAK = thing("oak", "tree", Point(45, 53.5), trunk_diameter=0.5)
ROOTS_M = 2 * (6.3**2 - 3.5**2) ** 0.5
"""Twelve trunk diameters and half a trench are 6.3 m; the straight goes by 3.5 m off the trunk."""


def test_roots_that_are_gone_round_could_be_bored_under() -> None:
    """The straight lies outside the roots that hold the tree up, 2.8 m: 1900 for the bore, the rest is lawn."""
    layout = lay(scene(OAK), asks())
    assert layout.reaches[0].bored == ()
    (bored,) = [other for other in layout.alternatives if other.name == "bored under the roots of Oak"]
    assert bored.price == pytest.approx((70 - ROOTS_M) * PLAIN + 1900, rel=2e-3)
    assert "a bore under the roots of Oak" in bored.why
    assert bored.price > layout.price


SHUT = (
    thing("north", "no_dig", box(30, 55, 60, 100)),
    thing("south", "no_dig", box(30, 5, 60, 49.5)),
)
"""They leave the way by the trunk, and one far south."""


def test_roots_that_are_bored_under_could_be_gone_round_but_not_dug() -> None:
    """52 ft in the roots of a trunk of 80 cm, 6 m off it, at 43 a foot are dearer than 1900."""
    oak = thing("oak", "tree", Point(45, 56), trunk_diameter=0.8)
    layout = lay(scene(oak, *SHUT), asks())
    assert [bored.feature for bored in layout.reaches[0].bored] == ["oak"]
    names = [other.name for other in layout.alternatives]
    assert "round the roots of Oak" in names
    assert not [name for name in names if "open cut" in name]


def test_roots_that_are_dug_could_be_bored_under() -> None:
    """1900 for a bore against 43 a foot in the roots: 44.2 ft. Here it is some 34 ft.

    Up to 60 ft all bores cost the same, so it goes 2.8 m past the trunk, where the roots are widest; that takes a slight bend.
    How many feet of roots would pay for it is told from its price.
    """
    layout = lay(scene(OAK, *SHUT), asks())
    assert layout.reaches[0].bored == ()
    (roots,) = [item for item in layout.bill if item.row == "dig-roots"]
    assert roots.amount == pytest.approx(ROOTS_M, rel=0.02)
    (bored,) = [other for other in layout.alternatives if other.name == "bored under the roots of Oak"]
    widest_m, slight_bend = 2 * (6.3**2 - 2.8**2) ** 0.5, 15
    by_hand = (bored.length_m - widest_m) * PLAIN + slight_bend + 1900
    assert bored.price == pytest.approx(by_hand, rel=1e-3)  # round roots are cut straight, up to 5 cm outside
    assert bored.price < layout.price + 1900 - roots.amount * (40 + 3) / FOOT
    even_m = roots.amount + (bored.price - layout.price) / ((40 + 3) / FOOT)
    assert bored.why.endswith(
        f"It would pay only with more than {even_m / FOOT:.1f} ft of the roots of Oak on the way;"
        f" there are {roots.amount / FOOT:.1f} ft."
    )


def test_the_cheapest_of_each_kind_comes_before_a_second_of_one() -> None:
    others = [
        (Choice(name=f"{kind} {n}", kind=kind), attempt(50 + 5 * n, 1000 + 10 * n + more))
        for n in (1, 2, 3)
        for kind, more in (("side", 0), ("bore", 500))
    ]
    told = alternatives(scene(), attempt(50, 1000), others)
    assert [other.name for other in told] == ["side 1", "side 2", "side 3", "bore 1"]


def test_the_other_side_of_a_thing_is_told() -> None:
    """The tank is 10 m to either side of the straight; the other side comes to the mirrored way or nearly."""
    layout = laid_with("tank")
    (other,) = layout.alternatives
    assert other.name == "round the other side of Tank"
    here, there = layout.reaches[0].path, other.paths[0]
    assert (here.centroid.y > 50) != (there.centroid.y > 50)
    assert other.price >= layout.price * (1 - 1e-9)


def test_a_surface_that_is_gone_round_could_be_crossed() -> None:
    """By hand: over the drive 64 m of lawn and 6 m of asphalt; round its end is along that, at y = 42."""
    short = thing("drive", "drive", box(50, 42, 56, 100), surface="asphalt")
    layout = lay(scene(short), asks())
    assert layout.price < 64 * PLAIN + 6 * ASPHALT
    (across,) = [other for other in layout.alternatives if other.name == "across Drive"]
    assert across.price == pytest.approx(64 * PLAIN + 6 * ASPHALT, rel=0.01)
    assert across.price >= layout.price
    assert 4.0 < shapely.union_all(list(across.paths)).intersection(short.shape).length < 8.0
    assert "19.7 ft more of Drive to restore" in across.why


def test_two_ends_that_share_a_trench_could_have_one_each() -> None:
    """Two houses side by side far off: shared, the run up to them is dug once; each alone takes a slight bend to its wall."""
    houses = [
        thing("north", "building", box(80, 54, 90, 64)),
        thing("south", "building", box(80, 36, 90, 46)),
    ]
    made = site([PARCEL, WELL, *houses], [line("a", "well", "north"), line("b", "well", "south")])
    layout = lay(made, asks())
    assert layout.apart_price is not None
    (apart,) = [other for other in layout.alternatives if other.name == "a trench for each end"]
    assert apart.price == pytest.approx(layout.apart_price)
    bends = sum(len(path.coords) - 2 for path in apart.paths)
    assert apart.price == pytest.approx(sum(path.length for path in apart.paths) * PLAIN + bends * 15)
    assert [path.coords[0] for path in apart.paths] == [(10.0, 50.0), (10.0, 50.0)]
    assert apart.price > layout.price
    assert apart.why.startswith("$") and "more trench" in apart.why


@pytest.mark.parametrize("kinds", [("drive",), ("tank",), ("road",)])
def test_alternatives_are_few_dearer_and_differ_in_kind(kinds: Sequence[str]) -> None:
    layout = laid_with(*kinds)
    prices = [other.price for other in layout.alternatives]
    assert 0 < len(prices) <= MOST_ALTERNATIVES
    assert prices == sorted(prices)
    assert prices[0] >= layout.price * (1 - 1e-9)
    ways = [[reach.path for reach in layout.reaches], *([*other.paths] for other in layout.alternatives)]
    bored = ["", *(other.name if other.name.startswith("bored") else "" for other in layout.alternatives)]
    for (one, one_bored), (other, other_bored) in combinations(zip(ways, bored, strict=True), 2):
        apart_m = shapely.hausdorff_distance(shapely.union_all(one), shapely.union_all(other), densify=0.05)
        assert apart_m > APART_M or one_bored != other_bored
    for name in (other.name for other in layout.alternatives):
        assert name.split()[0] in ("round", "bored", "across", "an"), name


def attempt(y: float, price: float) -> Attempt:
    item = Item(row="dig-machine", of="", amount=70.0, price=price)
    path = LineString([(10, 50), (45, y), (80, 50)])
    reach = Reach(name="Main", path=path, runs=(), starts_at="well", ends_at="house")
    return Attempt(layout=replace(BARE, reaches=(reach,)), bill=(item,))


BARE = Layout(reaches=(), paths=(), kept_off=(), corridor=Point(), certificate="")


def test_only_the_four_cheapest_are_named() -> None:
    others = [(Choice(name=f"way {n}"), attempt(50 + 5 * n, 1000 + 10 * n)) for n in (5, 3, 1, 4, 2)]
    told = alternatives(scene(), attempt(50, 1000), others)
    assert [(other.name, other.price) for other in told] == [
        ("way 1", 1010),
        ("way 2", 1020),
        ("way 3", 1030),
        ("way 4", 1040),
    ]


def test_the_price_of_an_attempt_is_the_sum_of_its_bill() -> None:
    items = tuple(Item(row="tee", of="", amount=1.0, price=price) for price in (0.1, 0.2, 0.3))
    assert Attempt(layout=BARE, bill=items).price == pytest.approx(0.6)


PATCHES = (Patch(feature="drive", area=DRIVE.shape),)


def test_a_way_that_is_nearly_the_same_is_no_other_way() -> None:
    made = scene(DRIVE)
    chosen = attempt(50, 1000)
    for y, told in ((50.9, 0), (58.0, 1)):

        def lay_it(choice: Choice, y: float = y) -> Attempt | None:
            return attempt(y, 1100) if choice.closed else None

        found = other_ways(made, chosen, (), PATCHES, lay_it)
        assert len(found) == told


def test_of_many_surfaces_beside_the_trench_only_the_nearest_are_tried() -> None:
    """Twenty drives in a row south of it, one under it: the eight nearest, and under, through or round the one."""
    drives = [
        thing(f"d{n}", "drive", box(20, 47 - 2 * n, 30, 48 - 2 * n), surface="gravel") for n in range(20)
    ]
    asked: list[str] = []

    def nothing(choice: Choice) -> None:
        asked.append(choice.name)

    patches = [Patch(feature=each.id, area=each.shape) for each in (*drives, ROAD)]
    assert other_ways(scene(ROAD, *drives), attempt(50, 1000), (), patches, nothing) == []
    assert asked == [*(f"across D{n}" for n in range(MOST_BESIDE)), "round Road"]
