"""A site as prices: the rows of its surfaces, roots and lines, and how near a trench may run to a line that is there."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import pytest
from route_scenes import FOOT, asks, line, separation, site, thing
from shapely import LineString, Point, box

from siteplan.route.ground_prices import Strictness, extent, lines_there, priced, tolerance_zone
from siteplan.route.scene import Scene
from siteplan.route.separate import together
from siteplan.rules.model import Requirements
from siteplan.site.evidence import Evidence
from siteplan.site.features import Feature
from siteplan.site.site import Site

FREE = box(0, 0, 100, 100)
HALF_M = 0.3


def made(things: Sequence[Feature]) -> Site:
    ends = [thing("well", "well", Point(10, 50)), thing("tap", "hydrant", Point(90, 50))]
    return site([*ends, *things], [line("water", "well", "tap")])


def ground(scene: Site, rules: Requirements | None = None, strictness: Strictness = "apart") -> Scene:
    asked = rules or asks()
    (group,) = together(scene, asked)
    return priced(scene, asked, group, FREE, strictness)


def test_plain_ground_costs_what_the_rates_say() -> None:
    """$8 a foot to dig, $3 for lawn; $1 a foot for a field."""
    scene = made([])
    lawn, field = ground(scene), ground(replace(scene, digging=replace(scene.digging, ground="field")))
    assert (lawn.dig.row, lawn.restore.row) == ("dig-machine", "restore-lawn")
    assert lawn.plain == pytest.approx(11 / FOOT)
    assert field.plain == pytest.approx(9 / FOOT)
    assert lawn.tee.price == 120.0
    assert [(deg, charge.row) for deg, charge in lawn.bends] == [
        (22.5, "bend-slight"),
        (45.0, "bend-45"),
        (90.0, "bend-90"),
        (135.0, "bend-sharp"),
    ]


@pytest.mark.parametrize(
    ("surface", "row", "per_ft"),
    [
        ("asphalt", "restore-asphalt", 40),
        ("concrete", "restore-concrete", 50),
        ("gravel", "restore-gravel", 4),
    ],
)
def test_a_drive_is_put_back_as_what_it_is_made_of(surface: str, row: str, per_ft: float) -> None:
    (patch,) = ground(made([thing("drive", "drive", box(40, 0, 44, 100), surface=surface)])).patches
    assert patch.restore is not None
    assert (patch.restore.row, patch.restore.price) == (row, pytest.approx(per_ft / FOOT))
    assert patch.dig is None
    assert patch.bore is not None
    assert patch.bore.price(4.0) == pytest.approx(400 + 1500)
    assert patch.bore.price(18.0) == pytest.approx(400 + max(1500, 18 * 25 / FOOT))
    assert patch.bore.longest_m == pytest.approx(60 * FOOT)


def test_nothing_is_bored_where_the_site_says_so() -> None:
    scene = made([thing("drive", "drive", box(40, 0, 44, 100)), thing("oak", "tree", Point(60, 50))])
    scene = replace(scene, digging=replace(scene.digging, bore=False))
    assert [patch.bore for patch in ground(scene).patches] == [None, None]


def test_a_walk_drawn_as_a_line_covers_its_width() -> None:
    path = LineString([(0, 0), (10, 0)])
    assert extent(thing("walk", "walk", path, width=2.0)).bounds == pytest.approx((0, -1, 10, 1))
    assert extent(thing("walk", "walk", path)).is_empty


def test_roots_are_dug_by_hand_tools_as_far_as_they_reach() -> None:
    """12 times the trunk and half the trench: 12 x 0.5 + 0.3 m."""
    (patch,) = ground(made([thing("oak", "tree", Point(50, 50), trunk_diameter=0.5)])).patches
    assert patch.dig is not None
    assert (patch.dig.row, patch.dig.price) == ("dig-roots", pytest.approx(40 / FOOT))
    reach_m = max(abs(bound - 50) for bound in patch.area.bounds)
    assert 6.3 <= reach_m < 6.36
    assert Point(50, 50).buffer(6.3).difference(patch.area).area < 1e-6


CABLE = LineString([(50, 0), (50, 100)])


def test_the_zone_round_a_line_takes_in_its_error_and_half_its_thickness() -> None:
    """1 m of tolerance, 0.9 m of error and half of 0.2 m."""
    said = Evidence(method="record", private_m=0.9)
    cable = thing("cable", "buried_line", CABLE, said, diameter=0.2)
    zone = tolerance_zone(cable, asks())
    assert zone.bounds[2] == pytest.approx(52.0)
    scene = ground(made([cable]))
    (patch,), (crossed,) = scene.patches, scene.crossed
    assert patch.dig is not None
    assert patch.dig.row == "dig-hand"
    assert patch.area.equals(zone)
    assert (crossed.toll.row, crossed.toll.price, crossed.least_angle_deg) == ("crossing", 150.0, 45.0)


def test_a_gas_line_costs_more_to_cross() -> None:
    cable = thing("gas", "buried_line", CABLE, carries="gas")
    (crossed,) = ground(made([cable])).crossed
    assert (crossed.toll.row, crossed.toll.price) == ("crossing-gas", 300.0)


def test_how_near_it_may_run_depends_on_how_strict_it_is() -> None:
    """The rules ask 3 m beside; both lines are known exactly, so 3 m and half the trench; else the zone of 1 m."""
    rules = asks(separations=[separation("water", "cable", may_share=False, beside_m=3.0)])
    scene = made([thing("cable", "buried_line", CABLE)])
    reach_m = {
        strictness: ground(scene, rules, strictness).crossed[0].zone.bounds[2] - 50
        for strictness in ("apart", "zone", "any")
    }
    assert reach_m == {
        "apart": pytest.approx(3.0 + HALF_M),
        "zone": pytest.approx(1.0),
        "any": pytest.approx(1.0),
    }
    assert ground(scene, rules, "any").crossed[0].least_angle_deg == 0.0


def test_only_lines_that_may_be_crossed_are_lines_there() -> None:
    things = [
        thing("cable", "buried_line", CABLE),
        thing("drive", "drive", box(0, 0, 1, 1)),
        thing("tank", "septic_tank", box(2, 2, 3, 3)),
    ]
    assert [feature.id for feature in lines_there(made(things))] == ["cable"]
