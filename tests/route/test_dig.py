"""The cheapest trenches over ground that is priced: dear surfaces, bores, lines that are there, steep ground."""

from __future__ import annotations

from dataclasses import replace
from itertools import count
from math import asin, degrees, hypot

import pytest
from route_scenes import FOOT, asks, laid, line, site, thing
from shapely import LineString, Point, box

from siteplan.errors import NoRoute
from siteplan.plane.ground import GroundSurface
from siteplan.route.choice import Choice
from siteplan.route.dig import as_good, dig
from siteplan.route.keep_off import Yard, keep_off, land_of
from siteplan.route.layout import STEEP, lay
from siteplan.route.model import Layout
from siteplan.route.separate import together
from siteplan.site.features import Feature
from siteplan.site.site import Site

PARCEL = thing("parcel", "parcel", box(0, 0, 100, 100))
WELL = thing("well", "well", Point(10, 50))
HOUSE = thing("house", "building", box(80, 40, 95, 60))
PLAIN = (8 + 3) / FOOT
ASPHALT = (8 + 40) / FOOT


def scene(*things: Feature, **digging: object) -> Site:
    made = site([PARCEL, WELL, HOUSE, *things], [line("water", "well", "house")])
    return replace(made, digging=replace(made.digging, **digging))  # type: ignore[arg-type]


def plan(*things: Feature, **digging: object) -> Layout:
    return laid(scene(*things, **digging), asks())


def amounts(layout: Layout) -> dict[tuple[str, str], float]:
    found: dict[tuple[str, str], float] = {}
    for item in layout.bill:
        found[item.row, item.of] = found.get((item.row, item.of), 0.0) + item.amount
    return found


def asphalt(*bounds: float) -> Feature:
    return thing("drive", "drive", box(*bounds), surface="asphalt")


def test_a_dear_surface_is_gone_round_if_that_is_cheaper() -> None:
    """Over it: 20 m at $48 a foot. Round its corner at (40, 52): 2 m off the straight, and one bend."""
    layout = plan(asphalt(40, 20, 60, 52))
    over = (50 * PLAIN) + 20 * ASPHALT
    round_it = (hypot(30, 2) + 40) * PLAIN + 15
    assert round_it < over
    assert not [item for item in layout.bill if item.of == "drive"]
    assert layout.price <= round_it + 1e-6


def test_a_narrow_drive_is_opened_and_a_wide_one_bored() -> None:
    """Opening costs $40 - $3 a foot more than plain ground, a bore $400 + $1,500: even at 12.6 m with the digging saved."""
    narrow, wide = plan(asphalt(40, 0, 44, 100)), plan(asphalt(40, 0, 56, 100))
    assert narrow.price == pytest.approx(66 * PLAIN + 4 * ASPHALT)
    assert not narrow.reaches[0].bored
    assert wide.price == pytest.approx(54 * PLAIN + 400 + 1500)
    (bored,) = wide.reaches[0].bored
    assert (bored.feature, bored.from_m, bored.to_m) == ("drive", pytest.approx(30), pytest.approx(46))
    assert amounts(wide) == {
        ("dig-machine", ""): pytest.approx(54),
        ("restore-lawn", ""): pytest.approx(54),
        ("bore-pits", "drive"): 1.0,
        ("bore-least", "drive"): 1.0,
    }


def test_what_may_not_be_bored_is_opened() -> None:
    layout = plan(asphalt(40, 0, 56, 100), bore=False)
    assert layout.price == pytest.approx(54 * PLAIN + 16 * ASPHALT)
    assert amounts(layout)["restore-asphalt", "drive"] == pytest.approx(16)


def crossing_angles_deg(layout: Layout, axis: LineString) -> list[float]:
    (ax, ay), (bx, by) = axis.coords[0], axis.coords[-1]
    found = []
    for reach in layout.reaches:
        for here, there in zip(reach.path.coords, reach.path.coords[1:], strict=False):
            piece = LineString([here, there])
            if piece.crosses(axis):
                cross = (bx - ax) * (there[1] - here[1]) - (by - ay) * (there[0] - here[0])
                found.append(degrees(asin(min(1.0, abs(cross) / axis.length / piece.length))))
    return found


@pytest.mark.parametrize("least_deg", [30.0, 45.0, 60.0, 90.0])
def test_a_line_that_is_there_is_crossed_no_flatter_than_the_least_angle(least_deg: float) -> None:
    cable = thing("cable", "buried_line", LineString([(0, 40), (100, 75)]))
    layout = plan(cable, least_crossing_angle_deg=least_deg)
    (angle_deg,) = crossing_angles_deg(layout, cable.shape)
    assert angle_deg >= least_deg - 1e-6
    assert amounts(layout)["crossing", "cable"] == 1.0


def test_the_trench_does_not_run_along_a_line_that_is_there() -> None:
    """The cable lies on the straight from the well to the house; 1 m to either side is dug by hand."""
    cable = thing("cable", "buried_line", LineString([(5, 50), (78, 50)]))
    layout = plan(cable)
    along = layout.reaches[0].path.intersection(cable.shape.buffer(1.0 - 1e-6))
    assert along.length < 2.0
    assert amounts(layout)["dig-hand", "cable"] < 2.0


def test_where_there_is_no_other_way_the_trench_runs_along_a_line_that_is_there() -> None:
    """Between two walls 2.4 m apart the zone of the cable fills the gap: the check names it, but a way is laid."""
    walls = [thing("n", "no_dig", box(20, 51.2, 70, 100)), thing("s", "no_dig", box(20, 0, 70, 48.8))]
    cable = thing("cable", "buried_line", LineString([(12, 50), (100, 50)]))
    layout = plan(cable, *walls)
    assert amounts(layout)["dig-hand", "cable"] > 50.0
    assert layout.reaches[0].path.distance(walls[0].shape) >= 0.3 - 1e-6


def ridge() -> GroundSurface:
    """Level ground with a ridge of 1 in 1 along x = 45, as far as y = 70."""
    return GroundSurface(
        [
            (float(x), float(y), 5.0 if x == 45 and y <= 70 else 0.0)
            for x in (0, 40, 45, 50, 100)
            for y in (0, 35, 70, 75, 100)
        ]
    )


def test_steep_ground_is_kept_off() -> None:
    made, ground = scene(steepest=0.25), ridge()
    layout = lay(made, asks(), ground, thorough=False)
    (steep,) = (kept for kept in layout.kept_off if kept.feature == STEEP)
    assert steep.area.intersects(Point(45, 50))
    assert layout.reaches[0].path.intersection(steep.area.buffer(-1e-6)).is_empty
    assert layout.length_m > 71.0
    anywhere = lay(scene(), asks(), ground, thorough=False)
    assert anywhere.length_m == pytest.approx(70.0)


def test_no_route_keeps_its_ways_out() -> None:
    slab = thing("slab", "slab", box(40, -20, 43, 120))
    with pytest.raises(NoRoute) as closed:
        lay(scene(slab), asks())
    assert [way.kind for way in closed.value.ways_out] == ["bore"]
    assert str(closed.value).endswith(closed.value.ways_out[0].words)


def test_a_through_point_that_turns_the_trench_back_is_billed_as_the_sharpest_bend() -> None:
    """It turns by 164 and by about 158 degrees: no class of bends holds that."""
    made = scene(thing("p", "pass_point", Point(95, 20)), thing("q", "pass_point", Point(20, 25)))
    layout = laid(replace(made, lines=(replace(made.lines[0], through=("p", "q")),)), asks())
    assert amounts(layout)["bend-sharp", ""] == 2.0


@pytest.mark.parametrize(
    ("choice", "holds"),
    [
        (Choice(), True),
        (Choice(closed=(box(40, 0, 60, 20),)), True),
        (Choice(closed=(box(40, 45, 60, 55),)), False),
        (Choice(bored=frozenset(["drive"])), False),
        (Choice(dug=frozenset(["walk"])), True),
        (Choice(crossed="walk"), False),
        (Choice(bored=frozenset(["oak"])), False),
    ],
)
def test_a_group_stays_where_a_condition_takes_nothing_from_it(choice: Choice, holds: bool) -> None:
    """The trench runs straight along y = 50 over the drive and by the trunk of an oak, 3 m off; a walk lies at y = 10."""
    walk = thing("walk", "walk", box(0, 9, 100, 11), surface="concrete")
    oak = thing("oak", "tree", Point(60, 53), trunk_diameter=0.5)
    made, rules = scene(asphalt(40, 0, 44, 100), walk, oak), asks()
    (group,) = together(made, rules)
    yard = Yard(land=land_of(made), kept_off=keep_off(made, rules))
    dug = dig(made, rules, group, yard, (f"T{n}" for n in count()), Choice())
    assert as_good(dug, choice) is holds
