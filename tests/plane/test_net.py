"""Tape nets of whole sites: what is moved, what is said, and what is asked."""

from __future__ import annotations

from dataclasses import replace
from math import hypot
from pathlib import Path

import numpy as np
import pytest
from taped_site import HEAD, HOUSE, SITE_TOML, WELL, misfit, point, points_csv, solved, tie, write

from siteplan.errors import InputFaults
from siteplan.plane.place import place
from siteplan.read import read_site
from siteplan.site.net import Net, NetPoint, error_ellipse
from siteplan.units import FOOT_M

THINGS = """
[[thing]]
id = "parcel"
kind = "parcel"
points = ["P1", "P2", "P3", "P4"]
[[thing]]
id = "house"
kind = "building"
name = "House"
points = ["H1", "H2", "H3", "H4"]
[[thing]]
id = "well"
kind = "well"
name = "Well"
casing_depth = "62 ft"
points = ["W"]
"""
ALONE = """\
point,from,distance,turn,to,along,offset,side,bearing,declination
H2,H1,40 ft,,,,,,,
H3,H2,28 ft,left,,,,,,
H4,H3,40 ft,left,,,,,,
H1,H4,28 ft,left,,,,,,
W,H1,102.59 ft,,,,,,,
W,H2,80.78 ft,,,,,,,
W,H3,55.76 ft,,,,,,,
P1,H1,,,H2,0 ft,60 ft right,,,
P2,H1,,,H2,150 ft,60 ft right,,,
P3,H1,,,H2,150 ft,140 ft left,,,
P4,H1,,,H2,0 ft,140 ft left,,,
"""


def fault(folder: Path, ties: str, *parts: str, **more: str) -> str:
    """The one fault there is, which must hold all the parts."""
    with pytest.raises(InputFaults) as raised:
        place(read_site(write(folder, ties, **more)))
    [line] = str(raised.value).splitlines()
    for part in parts:
        assert part in line, line
    return line


def test_a_well_by_phone_goes_where_the_tapes_put_it(tmp_path: Path) -> None:
    """Phone fix 12 ft off; four tapes from the house are right to 0.001 ft."""
    site, net = solved(
        tmp_path, HEAD + "".join(map(tie, HOUSE)), points=points_csv(well_at=(WELL[0] + 12, WELL[1]))
    )
    well = site.feature("well").shape
    assert (well.x / FOOT_M, well.y / FOOT_M) == pytest.approx(WELL, abs=0.15)
    assert all(abs(each.standardised) < 0.5 for each in net.misfits)
    assert net.warnings == ()
    assert site.feature("well").evidence.method == "taped"
    assert site.feature("well").evidence.private_m < 0.5


def test_gps_shifts_the_whole_and_bends_nothing(tmp_path: Path) -> None:
    """One outing by phone, 16 ft out as a whole: the distance from house to well is the taped one."""
    drawn = points_csv(house="phone", house_outing="walk").replace("75.0,phone,", "75.0,phone,walk")
    ties = HEAD + "".join(tie(corner) for corner in ("NE", "SE", "NW"))
    ties += (
        "House SE,House NE,28 ft\nHouse SW,House SE,40 ft\nHouse NW,House SW,28 ft\nHouse NE,House NW,40 ft\n"
    )
    ties += f"House NE,House SW,{hypot(40, 28):.3f} ft\n"
    site, net = solved(tmp_path, ties, points=drawn)
    well, house = site.feature("well"), site.feature("house")
    assert well.shape.distance(house.shape) / FOOT_M == pytest.approx(hypot(30, 47), abs=0.01)
    near = (40 * FOOT_M, 28 * FOOT_M)
    sigma = net.sigma_m("well", (well.shape.x, well.shape.y), "house", near)
    assert sigma is not None
    assert sigma < 0.1 < well.evidence.shared_m / 2.4477
    assert well.evidence.outing == house.evidence.outing == "walk"


def test_things_of_the_same_outing_go_along_with_the_shift(tmp_path: Path) -> None:
    """House traced 6 ft too far east, its corner taped to a surveyed post: the parcel of the same photo moves too."""
    drawn = points_csv(house="traced", house_outing="photo", well="surveyed").replace(
        ",surveyed,\n", ",traced,photo\n", 4
    )
    moved = drawn.replace("house,building,House,area,40.0", "house,building,House,area,46.0").replace(
        "house,building,House,area,0.0", "house,building,House,area,6.0"
    )
    site, net = solved(tmp_path, HEAD + "".join(map(tie, HOUSE)), points=moved)
    [shift] = net.shifts
    assert shift.outing == "photo"
    assert shift.east_m / FOOT_M == pytest.approx(-6.0, abs=1.0)
    west = site.feature("parcel").shape.bounds[0]
    assert west == pytest.approx(-50 * FOOT_M + shift.east_m, abs=1e-9)
    assert net.sigma_m("parcel", (0, 0), "well", (0, 0)) is None


def test_hard_site_2_two_ties_from_one_wall_ask_the_side(tmp_path: Path) -> None:
    """Well known by the two tapes alone (a thing by its point): the mirror place fits as well."""
    toml = SITE_TOML + '\n[[thing]]\nid = "well"\nkind = "well"\nname = "Well"\npoints = ["W"]\n'
    drawn = "\n".join(points_csv().splitlines()[:-1]) + "\n"
    two = [tie(corner, name="W").strip() for corner in ("NW", "NE")]
    fault(
        tmp_path,
        HEAD + "\n".join(two) + "\n",
        "ties.csv:2:",
        "two places for W",
        "side",
        toml=toml,
        points=drawn,
    )
    told = f"point,from,distance,to,side\n{two[0]},House NE,left\n{two[1]},,\n"
    site, _ = solved(tmp_path, told, toml=toml, points=drawn)
    assert site.feature("well").shape.y / FOOT_M == pytest.approx(WELL[1], abs=0.01)
    other, _ = solved(tmp_path, told.replace("left", "right"), toml=toml, points=drawn)
    assert other.feature("well").shape.y / FOOT_M == pytest.approx(28 - (WELL[1] - 28), abs=0.01)


def test_hard_site_2_a_third_tie_from_off_the_wall_answers(tmp_path: Path) -> None:
    toml = SITE_TOML + '\n[[thing]]\nid = "well"\nkind = "well"\nname = "Well"\npoints = ["W"]\n'
    drawn = "\n".join(points_csv().splitlines()[:-1]) + "\n"
    ties = HEAD + "".join(tie(corner, name="W") for corner in ("NW", "NE", "SE"))
    site, _ = solved(tmp_path, ties, toml=toml, points=drawn)
    assert site.feature("well").shape.y / FOOT_M == pytest.approx(WELL[1], abs=0.01)


@pytest.mark.parametrize("bad", list(HOUSE))
def test_hard_site_3_names_the_tie_that_is_2_ft_out(tmp_path: Path, bad: str) -> None:
    """Four ties, one of them 2 ft too long: it is named first, and the others are not blamed."""
    ties = HEAD + "".join(tie(corner, 2.0 if corner == bad else 0.0) for corner in HOUSE)
    _, net = solved(tmp_path, ties, points=points_csv(house="surveyed"))
    assert net.worst is not None
    assert net.worst.what == f"Well casing from House {bad}"
    [warning] = net.warnings
    assert warning.text.startswith(f"Well casing from House {bad}: ")
    assert warning.source.line == 2 + list(HOUSE).index(bad)
    without = misfit(net, f"Well casing from House {bad}").without
    assert without is not None
    assert without / FOOT_M == pytest.approx(2.0, abs=0.1)


def test_hard_site_3_three_ties_have_one_check_and_say_so(tmp_path: Path) -> None:
    """Three tapes from surveyed corners have one check: any of them may be wrong, the worst is named with the others."""
    stake = (20.0, -30.0)
    ties = HEAD + "".join(tie(corner, off, stake, "T") for corner, off in (("SW", 0), ("SE", 0), ("NE", 2.0)))
    drawn = (
        points_csv(house="stated")
        .replace("outing\n", "outing,error\n")
        .replace("stated,", "stated,,0.001 ft")
    )
    _, net = solved(tmp_path, ties, points=drawn)
    [warning] = net.warnings
    for corner in ("SW", "SE", "NE"):
        assert f"T from House {corner}" in warning.text
    assert "one more measurement tells which" in warning.text
    sigmas = [abs(each.standardised) for each in net.misfits]
    assert min(sigmas) > 3.0
    assert sigmas == pytest.approx([sigmas[0]] * 3, rel=1e-3)
    assert abs(misfit(net, "T from House NE").without or 0.0) / FOOT_M == pytest.approx(2.0, abs=0.05)


def test_hard_site_13_a_slope_tape_counts_by_its_level_length(tmp_path: Path) -> None:
    """18 % slope: 50.80 ft along the ground are 50.0 ft level."""
    ties = "point,from,distance,rise\n" + "".join(
        f"W2,House {corner},{length * hypot(1, 0.18):.3f} ft,18 %\n"
        for corner, length in (("NE", 50.0), ("SE", hypot(50, 28)), ("NW", 90.0))
    )
    _, net = solved(tmp_path, ties)
    placed = point(net, "W2")
    assert (placed.x / FOOT_M, placed.y / FOOT_M) == pytest.approx((90.0, 28.0), abs=0.02)


def test_hard_site_13_a_tape_over_a_slope_that_says_nothing_is_asked_about(tmp_path: Path) -> None:
    """Levels that rise 18 ft in 100 ft to the east: a tape along the slope is named, one across it and a reduced one are not."""
    (tmp_path / "levels.csv").write_text(
        "x,y,elevation_ft\n" + "".join(f"{x},{y},{4000 + 0.18 * x}\n" for x in (-50, 150) for y in (-60, 140))
    )
    ties = "point,from,distance,rise\nT,House SE,50 ft,\nT,House NE,57.307 ft,\nT,House SW,91.448 ft,18 %\n"
    _, net = solved(tmp_path, ties)
    steep = [each for each in net.warnings if "the ground rises 9.0 ft along this tape" in each.text]
    assert [each.source.line for each in steep] == [2, 3]


def test_flat_crossings_are_named(tmp_path: Path) -> None:
    """A far point ahead of one wall: tapes cross at about 8 deg."""
    far = (20.0, 300.0)
    ties = "point,from,distance,to,side\n" + "".join(
        tie(corner, to=far, name="T").strip() + ",,\n" for corner in ("NW", "NE")
    )
    _, net = solved(tmp_path, ties.replace("ft,,\n", "ft,House NE,left\n", 1))
    [warning] = net.warnings
    assert warning.text.startswith("T: its tapes cross at 8 deg at best")
    assert "from the east or west" in warning.text


def test_the_same_tie_twice(tmp_path: Path) -> None:
    """1.5 ft apart: both are kept and it is said; 0.2 ft apart: a check within the errors; the same again: said."""
    good = HEAD + "".join(map(tie, HOUSE))
    _, net = solved(tmp_path, good + tie("NE", 1.5))
    assert len(net.misfits) == 5
    assert any("measure again" in each.text and each.source.line == 6 for each in net.warnings)
    assert solved(tmp_path, good + tie("NE", 0.2))[1].warnings == ()
    [twice] = solved(tmp_path, good + tie("NE"))[1].warnings
    assert "counts as two measurements" in twice.text


def test_tapes_that_bend_a_badly_known_house_are_said(tmp_path: Path) -> None:
    """House only drawn (15 ft a corner) and 4 ft too wide: two stakes taped from its corners, then its walls as well."""
    drawn = points_csv(house="drawn").replace("House,area,40.0", "House,area,44.0")
    stakes = {"T1": (20.0, 60.0), "T2": (20.0, -40.0)}
    ties = HEAD + "".join(tie(corner, to=at, name=name) for name, at in stakes.items() for corner in HOUSE)
    ties += f"T2,T1,{100.0} ft\n"
    _, net = solved(tmp_path, ties, points=drawn)
    assert any(each.text.startswith("House comes out up to") for each in net.warnings)
    walls = (
        "House SE,House NE,28 ft\nHouse SW,House SE,40 ft\nHouse NW,House SW,28 ft\nHouse NE,House NW,40 ft\n"
    )
    site, net = solved(tmp_path, ties + walls, points=drawn)
    assert net.warnings == ()
    assert site.feature("house").shape.area / FOOT_M**2 == pytest.approx(40 * 28, rel=0.01)


def test_coordinates_that_the_tapes_contradict(tmp_path: Path) -> None:
    """A surveyed well 5 ft from where four tapes put it."""
    drawn = points_csv(house="surveyed", well="surveyed", well_at=(WELL[0] + 5, WELL[1]))
    ties = HEAD + "".join(map(tie, HOUSE)) + tie("NE", 0.1) + tie("SE", 0.1)
    _, net = solved(tmp_path, ties, points=drawn)
    assert any(each.source.file == "points.csv" and each.text.startswith("Well") for each in net.warnings)


def test_a_site_of_tapes_alone(tmp_path: Path) -> None:
    """No coordinate at all: the first point is 0, 0, the first wall points along the grid's north."""
    toml = SITE_TOML.replace('north = "0 deg"', 'north = "90 deg"') + THINGS
    site, net = solved(tmp_path, ALONE, toml=toml, points="")
    well, house = site.feature("well").shape, site.feature("house").shape
    assert (well.x / FOOT_M, well.y / FOOT_M) == pytest.approx(WELL, abs=0.02)
    assert house.area / FOOT_M**2 == pytest.approx(40 * 28, rel=1e-4)
    assert site.feature("parcel").shape.area / FOOT_M**2 == pytest.approx(150 * 200, rel=1e-4)
    assert site.feature("well").facts["casing_depth"] == pytest.approx(62 * FOOT_M)
    assert point(net, "H1").ellipse.radius_m < 0.001
    assert {each.evidence.method for each in site.features} == {"taped"}


def test_bearings_turn_a_site_of_tapes_alone(tmp_path: Path) -> None:
    """Magnetic N 80 E with 10 degrees of east declination is true east."""
    ties = ALONE.replace("H2,H1,40 ft,,,,,,,", "H2,H1,40 ft,,,,,,N 80 E,10 E")
    site, _ = solved(tmp_path, ties, toml=SITE_TOML + THINGS, points="")
    well = site.feature("well").shape
    assert (well.x / FOOT_M, well.y / FOOT_M) == pytest.approx(WELL, abs=0.02)


def test_a_phone_on_the_well_alone_places_the_sketch(tmp_path: Path) -> None:
    """House and parcel by tape, the well by phone at its place plus 10 ft, one bearing: all lies 10 ft off, no distance does."""
    toml = SITE_TOML + THINGS[: THINGS.rindex("[[thing]]")]
    drawn = f"id,kind,name,x,y,method\nwell,well,Well,{WELL[0] + 10},{WELL[1]},phone\n"
    ties = ALONE.replace("W,", "Well casing,").replace("H2,H1,40 ft,,,,,,,", "H2,H1,40 ft,,,,,,E,0")
    site, net = solved(tmp_path, ties, toml=toml, points=drawn)
    well, house = site.feature("well"), site.feature("house")
    assert (well.shape.x / FOOT_M, well.shape.y / FOOT_M) == pytest.approx((80.0, 75.0), abs=0.02)
    assert house.shape.bounds[0] / FOOT_M == pytest.approx(10.0, abs=0.05)
    assert well.shape.distance(house.shape) / FOOT_M == pytest.approx(hypot(30, 47), abs=0.02)
    assert well.evidence.private_m < 1.0 < well.evidence.shared_m
    near = ((50 * FOOT_M, 28 * FOOT_M), (well.shape.x, well.shape.y))
    assert 0 < (net.sigma_m("house", near[0], "well", near[1]) or 0) < 0.15


def test_a_phone_on_the_well_alone_wants_a_bearing(tmp_path: Path) -> None:
    toml = SITE_TOML + THINGS[: THINGS.rindex("[[thing]]")]
    drawn = f"id,kind,name,x,y,method\nwell,well,Well,{WELL[0]},{WELL[1]},phone\n"
    fault(
        tmp_path,
        ALONE.replace("W,", "Well casing,"),
        "ties.csv:6:",
        "take a bearing",
        toml=toml,
        points=drawn,
    )


def test_a_sketch_that_may_be_mirrored_asks(tmp_path: Path) -> None:
    ties = "\n".join(line.replace(",left,", ",,") for line in ALONE.splitlines()) + "\n"
    ties += "H3,H1,48.83 ft,,,,,,,\nH4,H2,48.83 ft,,,,,,,\n"
    ties = ties.replace("40 ft,,,,,,,\nH3", "40 ft,,,,,,,\nH3")
    without_sides = "\n".join(line for line in ties.splitlines() if not line.startswith("P")) + "\n"
    toml = SITE_TOML + THINGS.replace('points = ["P1", "P2", "P3", "P4"]', 'points = ["H1", "H2", "W"]')
    line = fault(tmp_path, without_sides, "two places for", toml=toml, points="")
    assert "side" in line


def test_the_error_of_the_compass_turns_the_whole_and_is_in_no_distance(tmp_path: Path) -> None:
    """The same sketch with and without a bearing, which is out by up to 2 deg: the same ellipses and the same sigma."""
    _, plain = solved(tmp_path, ALONE, toml=SITE_TOML + THINGS, points="")
    ties = ALONE.replace("H2,H1,40 ft,,,,,,,", "H2,H1,40 ft,,,,,,N,0")
    _, turned = solved(tmp_path, ties, toml=SITE_TOML + THINGS, points="")
    for one, other in zip(plain.points, turned.points, strict=True):
        assert one.ellipse.major_m == pytest.approx(other.ellipse.major_m, rel=1e-3, abs=1e-3)
    places = (-WELL[1] * FOOT_M, WELL[0] * FOOT_M), (-28 * FOOT_M, 40 * FOOT_M)
    sigmas = [net.sigma_m("well", places[0], "house", places[1]) for net in (plain, turned)]
    assert sigmas[0] == pytest.approx(sigmas[1], rel=1e-3)
    assert np.trace(turned.covariance) > 2 * np.trace(plain.covariance)


@pytest.mark.parametrize(
    ("ties", "parts"),
    [
        (HEAD + "Well casing,House NX,50 ft\n", ("ties.csv:2:", "from", '"House NX"', 'did you mean "House')),
        (HEAD + "Well casng,House NE,50 ft\n", ("ties.csv:2:", '"Well casng"', 'did you mean "Well casing"')),
        (HEAD + "T1,house,50 ft\n", ("ties.csv:2:", "which is a building", "House NE")),
        (HEAD + "T1,parcel,50 ft\n", ("ties.csv:2:", "which is a parcel")),
        (HEAD + "T1,House NE,5 ft\nT1,House SW,6 ft\n", ("ties.csv:3:", "cannot meet the one on line 2")),
        (HEAD + "T1,House NE,5 ft\nT1,House SW,90 ft\n", ("ties.csv:3:", "cannot meet the one on line 2")),
        (HEAD + "T1,House NE,50 ft\n", ("ties.csv:2:", "T1 with 1 measurement", "one more corner")),
        (
            HEAD + "A,B,50 ft\nB,C,50 ft\nC,A,50 ft\n",
            ("ties.csv:2:", "A, B, C, tied only to each other", "one more corner"),
        ),
    ],
)
def test_what_cannot_be_solved_is_named(tmp_path: Path, ties: str, parts: tuple[str, ...]) -> None:
    fault(tmp_path, ties, *parts)


def test_a_bearing_wants_to_know_how_the_grid_lies(tmp_path: Path) -> None:
    toml = SITE_TOML.replace('origin = [-112.0, 46.0]\nnorth = "0 deg"\n', "")
    ties = "point,from,distance,bearing,declination\nT,House NE,50 ft,N 20 E,11 E\n"
    fault(tmp_path, ties, "ties.csv:2: bearing", "how the tape grid lies to north", toml=toml)


def test_a_site_of_tapes_alone_begins_with_a_distance(tmp_path: Path) -> None:
    ties = "point,from,bearing,declination\nH2,H1,N,0\nH3,H1,E,0\nH4,H1,N 45 E,0\nW,H1,S,0\n"
    more = "".join(f"P{number},H1,N {number} W,0\n" for number in (1, 2, 3, 4))
    fault(
        tmp_path,
        ties + more,
        "ties.csv:2:",
        "no distance between two points",
        toml=SITE_TOML + THINGS,
        points="",
    )


def test_a_stake_by_two_bearings(tmp_path: Path) -> None:
    """From the ends of the 40 ft south wall at N 45 E and N 45 W: 20 ft ahead of its middle."""
    ties = "point,from,bearing,declination,bearing_error\nT,House SW,N 45 E,0,0.5 deg\nT,House SE,N 45 W,0,0.5 deg\n"
    _, net = solved(tmp_path, ties)
    placed = point(net, "T")
    assert (placed.x / FOOT_M, placed.y / FOOT_M) == pytest.approx((20.0, 20.0), abs=0.01)


def test_a_thing_by_corners_of_what_is_drawn_needs_no_tape(tmp_path: Path) -> None:
    toml = (
        SITE_TOML
        + '\n[[thing]]\nid = "porch"\nkind = "slab"\npoints = ["House NE", "House SE", "House SW"]\n'
    )
    site, net = solved(tmp_path, "point,from,distance\n", toml=toml)
    assert site.feature("porch").shape.area / FOOT_M**2 == pytest.approx(40 * 28 / 2)
    assert (net.misfits, net.warnings, net.worst) == ((), (), None)


def test_a_point_of_a_thing_that_nobody_measured(tmp_path: Path) -> None:
    toml = SITE_TOML + '\n[[thing]]\nid = "tank"\nkind = "septic_tank"\npoints = ["T1", "T2", "T3"]\n'
    ties = HEAD + "".join(tie(corner, to=(-20.0, 10.0), name="T1") for corner in HOUSE)
    with pytest.raises(InputFaults) as raised:
        place(read_site(write(tmp_path, ties, toml=toml)))
    assert ['"T2"' in str(each) or '"T3"' in str(each) for each in raised.value.faults] == [True, True]


def test_a_thing_whose_points_are_out_of_order(tmp_path: Path) -> None:
    corners = {"T1": (-20.0, 0.0), "T2": (-10.0, 0.0), "T3": (-10.0, 8.0), "T4": (-20.0, 8.0)}
    toml = SITE_TOML + '\n[[thing]]\nid = "tank"\nkind = "septic_tank"\npoints = ["T1", "T3", "T2", "T4"]\n'
    ties = HEAD + "".join(tie(corner, to=at, name=name) for name, at in corners.items() for corner in HOUSE)
    fault(tmp_path, ties, "site.toml", "crosses itself", toml=toml)


def test_a_side_that_the_tapes_contradict(tmp_path: Path) -> None:
    ties = "point,from,distance,to,side\n" + "".join(tie(corner).strip() + ",,\n" for corner in HOUSE)
    fault(tmp_path, ties.replace("ft,,\n", "ft,House SE,right\n", 1), "ties.csv:2: side", "to the left")


def test_sigma_between_edges_follows_the_corners() -> None:
    """Two walls, each corner with its own sigma of 0.1 m: halfway along an edge it is 0.1 / sqrt 2, so 0.1 between two."""
    ellipse = error_ellipse(np.eye(2) * 0.01)
    places = [(0.0, 0.0), (10.0, 0.0), (0.0, 20.0), (10.0, 20.0)]
    net = Net(
        points=tuple(NetPoint(name=str(at), x=at[0], y=at[1], ellipse=ellipse) for at in places),
        covariance=np.eye(8) * 0.01,
        chains={"a": ((0, 1),), "b": ((2, 3),), "post": ((3,),)},
    )
    assert net.sigma_m("a", (5.0, 0.0), "b", (5.0, 20.0)) == pytest.approx(0.1)
    assert net.sigma_m("a", (0.0, 0.0), "b", (0.0, 20.0)) == pytest.approx(0.1 * 2**0.5)
    assert net.sigma_m("a", (10.0, 0.0), "post", (10.0, 20.0)) == pytest.approx(0.1 * 2**0.5)
    assert net.sigma_m("b", (10.0, 20.0), "post", (10.0, 20.0)) == 0.0
    assert net.sigma_m("a", (0.0, 0.0), "c", (0.0, 20.0)) is None
    together = replace(net, covariance=np.kron(np.ones((4, 4)), np.eye(2)) * 0.01)
    assert together.sigma_m("a", (5.0, 0.0), "b", (5.0, 20.0)) == pytest.approx(0.0, abs=1e-9)


def test_sigma_is_that_of_many_trials(tmp_path: Path) -> None:
    """Distance from well to house wall, tapes drawn anew 100 times: its spread is the sigma of the net within 25 %."""
    rng = np.random.default_rng(3)
    drawn = points_csv(house="surveyed")
    near = (HOUSE["NE"][0] * FOOT_M, HOUSE["NE"][1] * FOOT_M)
    lengths, sigma = [], 0.0
    for _ in range(100):
        ties = HEAD + "".join(tie(corner, float(rng.normal(0, 0.5 / 1.96))) for corner in HOUSE)
        site, net = solved(tmp_path, ties, points=drawn)
        well = site.feature("well").shape
        lengths.append(hypot(well.x - near[0], well.y - near[1]))
        sigma = net.sigma_m("well", (well.x, well.y), "house", near) or 0.0
    corner_sigma = 0.1 * FOOT_M / 2.4477
    assert np.hypot(np.std(lengths), corner_sigma) == pytest.approx(sigma, rel=0.25)
