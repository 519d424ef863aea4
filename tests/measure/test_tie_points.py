"""The places to tape before backfill: which they are, and the two or three tapes to each."""

from __future__ import annotations

from dataclasses import replace
from itertools import product
from math import atan2, hypot, pi, radians, sin
from pathlib import Path

import pytest
from shapely import LineString, Point, box
from trench_scene import FT, HOUSE, IN, POWER, WATER, WELL, feature, layout, line, reach, requirements, site

from siteplan.measure import measure
from siteplan.measure.model import Corner
from siteplan.measure.tie_list import TiePoint, tie_points
from siteplan.measure.ties import ONE_TAPE_M, Tapes, Tie, corners, side_of
from siteplan.route.model import Bored, Layout, LinePath, Run
from siteplan.site.site import Site
from tests.record_scene import plan, record

BARN = feature("barn", "building", box(10, 12, 18, 20))
DRIVE = feature("drive", "drive", box(10, -20, 14, 20))
CABLE = feature("cable", "buried_line", LineString([(6, -20), (6, 20)]))


def listed(at: Site, laid: Layout) -> tuple[TiePoint, ...]:
    return tie_points(at, laid, measure(at, requirements(), laid, None))


def test_starts_ends_bends_crossings_and_sleeve_ends_are_listed_in_order() -> None:
    """Drive from 10 to 14 m: its sleeve goes 2 ft (0.6096 m) beyond either edge; the cable is crossed at 6 m."""
    points = listed(site(WELL, HOUSE, DRIVE, CABLE), layout(reach((0, 0), (20, 0), (30, 3))))
    assert [(point.number, point.what.partition(",")[0]) for point in points] == [
        (1, "casing"),
        (2, "crossing 1"),
        (3, "sleeve end"),
        (4, "sleeve end"),
        (5, "bend B1"),
        (6, "House wall"),
    ]
    along_m = [0.0, 6.0, 10 - 2 * FT, 14 + 2 * FT, 20.0, 20 + hypot(10, 3)]
    assert [point.places[0][1] for point in points] == pytest.approx(along_m)
    assert points[0].corner == "Well casing"
    assert not any(point.corner for point in points[1:])


def test_a_bore_without_a_sleeve_is_listed_by_its_edges() -> None:
    conduit = replace(POWER, method="nonmetallic_raceway")
    bored = Bored(feature="drive", from_m=10.0, to_m=14.0)
    at = site(WELL, HOUSE, DRIVE, lines=(conduit,))
    points = listed(at, layout(reach((0, 0), (30, 0), lines=("power",), bored=(bored,))))
    ends = [point for point in points if point.what == "bore end, Drive"]
    assert [point.places for point in ends] == [(("Main", 10.0),), (("Main", 14.0),)]
    sleeved = listed(site(WELL, HOUSE, DRIVE), layout(reach((0, 0), (30, 0), bored=(bored,))))
    ends = [point for point in sleeved if point.what == "sleeve end, Drive"]
    assert [point.places[0][1] for point in ends] == pytest.approx([10 - 2 * FT, 14 + 2 * FT])


def branched() -> tuple[Site, Layout]:
    to_barn = line("barn", start="water", end="barn")
    at = site(WELL, HOUSE, BARN, lines=(WATER, to_barn))
    main = reach((0, 0), (30, 0))
    branch = reach((14, 0), (14, 12), name="A", lines=("barn",), parent="Main", parent_m=14.0)
    branch = replace(branch, starts_at="Main", ends_at="barn")
    paths = (
        LinePath(line="water", legs=(("Main", 0.0, 30.0),), entry=Point(30, 0)),
        LinePath(line="barn", legs=(("A", 0.0, 12.0),), entry=Point(14, 12)),
    )
    return at, layout(main, replace(branch, runs=(Run(line="barn", from_m=0.0, to_m=12.0),)), paths=paths)


def test_a_tee_is_one_place_with_the_covers_of_both_trenches() -> None:
    points = listed(*branched())
    (tee,) = (point for point in points if point.what == "tee, branch A")
    assert tee.places == (("Main", 14.0), ("A", 0.0))
    assert dict(tee.covers) == pytest.approx({"water": 54 * IN, "barn": 54 * IN})
    assert [point.number for point in points] == list(range(1, len(points) + 1))


def test_ties_are_the_two_of_the_route_sheet_and_measure_true() -> None:
    at, laid = branched()
    works = measure(at, requirements(), laid, None)
    places = {corner.name: corner for corner in works.corners}
    stations = {(each.reach, round(each.distance_m, 3)): each for each in works.stations}
    points = tie_points(at, laid, works)
    for point in points:
        station = stations[point.places[0][0], round(point.places[0][1], 3)]
        assert tuple((tie.name, tie.tape_m) for tie in point.ties[:2]) == station.ties
        for tie in point.ties:
            corner = places[tie.name]
            assert (tie.x, tie.y) == (corner.x, corner.y)
            assert tie.tape_m == pytest.approx(hypot(corner.x - point.x, corner.y - point.y))
    assert any(len(point.ties) == 3 for point in points)


def test_no_tape_goes_through_a_wall_and_a_check_is_within_one_tape() -> None:
    at = site(WELL, HOUSE, BARN)
    tapes = Tapes(at, corners(at))
    thirds = 0
    for x, y in product(range(-20, 60, 7), range(-25, 40, 7)):
        if HOUSE.shape.intersects(Point(x, y)) or BARN.shape.intersects(Point(x, y)):
            continue
        ties = tapes.with_check(x, y)
        assert len({tie.name for tie in ties}) == len(ties) <= 3
        for tie in ties:
            tape = LineString([(x, y), (tie.x, tie.y)])
            for building in (HOUSE, BARN):
                assert tape.intersection(building.shape).length == pytest.approx(0.0, abs=0.05)
        if len(ties) == 3 and _crossing_deg(x, y, ties[:2]) >= 30:
            thirds += 1
            assert ties[2].tape_m <= ONE_TAPE_M
    assert thirds > 20


def _crossing_deg(x: float, y: float, ties: tuple[Tie, ...]) -> float:
    one, other = (atan2(tie.y - y, tie.x - x) for tie in ties)
    return 90 - abs((one - other) % pi - pi / 2) * 180 / pi


def test_the_third_tape_tells_the_place_from_its_mirror_image() -> None:
    """Two arcs always cross twice; here the other place is reckoned by reflection, and the third tape does not fit it."""
    at = site(WELL, HOUSE, BARN)
    a, b, third = Tapes(at, corners(at)).with_check(12.0, -6.0)
    base = LineString([(a.x, a.y), (b.x, b.y)])
    along = ((12 - a.x) * (b.x - a.x) + (-6 - a.y) * (b.y - a.y)) / base.length**2
    foot = (a.x + along * (b.x - a.x), a.y + along * (b.y - a.y))
    image = (2 * foot[0] - 12, 2 * foot[1] + 6)
    for tie in (a, b):
        assert hypot(tie.x - image[0], tie.y - image[1]) == pytest.approx(tie.tape_m)
    assert abs(hypot(third.x - image[0], third.y - image[1]) - third.tape_m) > 0.3


def test_a_flat_pair_gets_a_third_tape_though_it_is_long() -> None:
    """From (0, 0) the near corners cross at 6 deg at most; a shed 40 m off, beyond one tape, crosses them at about 90."""
    near = feature("near", "building", box(20, 0, 22, 2))
    at = site(near, feature("shed", "building", box(0, -43, 3, -40)))
    chosen = Tapes(at, corners(at)).with_check(0.0, 0.0)
    assert _crossing_deg(0.0, 0.0, chosen[:2]) > 30, "a long tape is taken at once where it crosses well"
    flat = site(near, feature("far", "building", box(45, -4, 47, -2)))
    ties = Tapes(flat, corners(flat)).with_check(0.0, 0.0)
    assert _crossing_deg(0.0, 0.0, ties[:2]) < 30
    assert len(ties) == 3


def test_points_beside_it_make_up_for_corners_that_are_not_seen() -> None:
    """Every corner of the house is beyond 200 ft from the first bend: it has the casing, and the second bend, 25.08 m on."""
    far = feature("house", "building", box(100, -5, 110, 5))
    points = listed(site(WELL, far), layout(reach((0, 0), (20, 10), (45, 12), (100, 0))))
    casing, first, second, _ = points
    assert [tie.name for tie in first.ties] == ["Well casing", "point 3"], "point 1 is the casing itself"
    assert first.ties[1].tape_m == pytest.approx(hypot(25, 2))
    assert second.number == 3
    assert casing.corner == "Well casing"
    assert casing.ties == ()


def test_the_side_is_said_where_no_third_tape_tells() -> None:
    """(4, 3) lies left of the way from A (0, 0) to B (8, 0); C on that line tells nothing, C off it tells all."""
    a, b = Tie(name="A", x=0.0, y=0.0, tape_m=5.0), Tie(name="B", x=8.0, y=0.0, tape_m=5.0)
    on_line = Tie(name="C", x=4.0, y=0.0, tape_m=3.0)
    off_line = Tie(name="C", x=4.0, y=10.0, tape_m=7.0)
    assert side_of(4.0, 3.0, [a, b]) == "left"
    assert side_of(4.0, 3.0, [b, a]) == "right"
    assert side_of(4.0, -3.0, [a, b]) == "right"
    assert side_of(4.0, 3.0, [a, b, on_line]) == "left"
    assert side_of(4.0, 3.0, [a, b, off_line]) == ""
    assert side_of(4.0, 0.0, [a, b]) == "", "on the line there is one place only"
    assert side_of(4.0, 3.0, [a]) == ""


def test_corners_in_one_place_are_no_two_corners() -> None:
    """House and garage wall to wall: three names at most, no place twice; with nothing else in sight the tapes cross at 0."""
    at = site(WELL, HOUSE, feature("garage", "building", box(30, 5, 40, 12)))
    ties = Tapes(at, corners(at)).with_check(12.0, -6.0)
    assert len({(tie.x, tie.y) for tie in ties}) == len(ties)
    one = (Tie(name="A", x=3.0, y=4.0, tape_m=5.0), Tie(name="B", x=3.0, y=4.0, tape_m=5.0))
    assert side_of(0.0, 0.0, one) == ""
    known = tuple(Corner(name=name, x=3.0, y=4.0) for name in "AB")
    assert [tie.name for tie in Tapes(site(WELL), known).with_check(0.0, 0.0)] == ["A", "B"]


@pytest.mark.parametrize("count", [2, 3])
def test_a_list_filled_in_as_expected_is_read_as_planned(count: int, tmp_path: Path) -> None:
    """Each row with its own tapes, to 0.1 ft as printed, and its side: the record puts it back where it was planned."""
    planned = plan()
    points = [
        replace(point, ties=point.ties[:count])
        for point in tie_points(planned.site, planned.layout, planned.works)
        if len(point.ties) >= 2 and not point.corner
    ]
    assert len(points) >= 5
    assert {point.side for point in points} == ({"left", "right"} if count == 2 else {""})
    rows = ""
    for point in points:
        ties = [f"{tie.name},{tie.tape_m / FT:.1f} ft" for tie in point.ties] + [","] * (3 - len(point.ties))
        line_id = "water" if point.places[0][0] == "Main" else "barn"
        rows += f"{line_id},place {point.number},,,,{','.join(ties)},{point.side},,,,,,,\n"
    built = record(tmp_path, rows).built
    assert len(built.points) == len(points)
    for point in points:
        (found,) = (each for each in built.points if each.measurement.what == f"place {point.number}")
        off_m = hypot(found.x - point.x, found.y - point.y)
        assert off_m <= 1.5 * 0.05 * FT / sin(radians(point.crossing_deg)), point.what
