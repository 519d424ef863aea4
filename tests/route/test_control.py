"""What the user may fix: sides that are closed, points to pass, a trench as drawn, and where a line begins."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import pytest
import shapely
from route_scenes import asks, laid, line, site, thing
from shapely import LineString, Point, box

from siteplan.check.drawn import check_drawn
from siteplan.errors import NoRoute
from siteplan.route.layout import lay
from siteplan.route.model import Layout
from siteplan.route.sources import with_sources
from siteplan.site.features import Feature, Line
from siteplan.site.site import Site

PARCEL = thing("parcel", "parcel", box(0, 0, 100, 100))
WELL = thing("well", "well", Point(10, 50))
HOUSE = thing("house", "building", box(80, 40, 95, 60))
WATER = line("water", "well", "house")


def scene(things: Sequence[Feature] = (), lines: Sequence[Line] = (WATER,)) -> Site:
    return site([PARCEL, WELL, HOUSE, *things], lines)


def plan(things: Sequence[Feature] = (), lines: Sequence[Line] = (WATER,)) -> Layout:
    return laid(scene(things, lines), asks())


@pytest.mark.parametrize(("closed", "x"), [((), 80.0), (("west",), None), (("west", "north", "south"), 95.0)])
def test_a_closed_side_is_not_entered(closed: tuple[str, ...], x: float | None) -> None:
    layout = plan(lines=[replace(WATER, closed_sides=closed)])  # type: ignore[arg-type]
    entry = layout.path("water").entry
    if x is None:
        assert entry.y in (pytest.approx(40.0), pytest.approx(60.0))
    else:
        assert entry.x == pytest.approx(x)


def test_all_sides_closed_is_no_way() -> None:
    with pytest.raises(NoRoute, match="no way in on a side of House"):
        plan(lines=[replace(WATER, closed_sides=("north", "east", "south", "west"))])


def test_points_are_passed_in_their_order() -> None:
    """The straights between them by hand: 42.43 and 63.25 m; the other way round the whole is longer."""
    points = [thing("p", "pass_point", Point(40, 20)), thing("q", "pass_point", Point(60, 80))]
    layout = plan(points, [replace(WATER, through=("p", "q"))])
    path = layout.way("water")
    assert isinstance(path, LineString)
    at_m = [path.project(point.shape) for point in points]
    assert [path.distance(point.shape) for point in points] == pytest.approx([0.0, 0.0], abs=1e-9)
    assert at_m == pytest.approx([1800**0.5, 1800**0.5 + 4000**0.5])
    assert layout.length_m < plan(points, [replace(WATER, through=("q", "p"))]).length_m


POND = thing("pond", "pond", box(40, 30, 60, 45))


def test_a_point_to_pass_in_what_is_kept_off_is_refused_and_says_so() -> None:
    """It lies 2 m into the pond; 10 ft and half a trench are kept off that."""
    point = thing("p", "pass_point", Point(50, 43))
    with pytest.raises(NoRoute, match=r"^Water: P is 0.0 ft from Pond, 11.0 ft needed") as closed:
        plan([point, POND], [replace(WATER, through=("p",))])
    assert closed.value.blockers == ("pond",)


@pytest.mark.parametrize("thorough", [False, True])
def test_a_drawn_trench_is_laid_where_none_could_be_routed(thorough: bool) -> None:
    """The pond reaches from fence to fence; the barn on this side is routed, from the well or from what is drawn."""
    fence = thing("fence", "pond", box(40, -1, 60, 101))
    barn = thing("barn", "building", box(20, 10, 30, 20))
    sketch = thing("sketch", "drawn_route", LineString([(10, 50), (80, 50)]))
    made = scene([fence, barn, sketch], [replace(WATER, drawn="sketch"), line("more", "well", "barn")])
    layout = lay(made, asks(), thorough=thorough)
    assert layout.way("water").equals(sketch.shape)
    assert {reach.ends_at for reach in layout.reaches} == {"house", "barn"}
    assert layout.least_price is None
    (finding,) = check_drawn(made, layout)
    assert (finding.verdict, finding.subject, finding.to) == ("short", "water", "fence")
    assert finding.what == "Water through Fence: as drawn, 65.6 ft of trench in it"
    assert (finding.from_m, finding.to_m) == pytest.approx((30.0, 50.0))
    with pytest.raises(NoRoute):
        laid(replace(made, lines=(WATER, *made.lines[1:])), asks())


def test_a_trench_drawn_over_the_property_line_is_short() -> None:
    """It leaves the lot along y = 104 for 30 m, and 4 m up and down."""
    sketch = thing("sketch", "drawn_route", LineString([(10, 50), (10, 104), (40, 104), (40, 50), (80, 50)]))
    made = scene([sketch], [replace(WATER, drawn="sketch")])
    (finding,) = check_drawn(made, laid(made, asks()))
    assert (finding.verdict, finding.to) == ("short", "parcel")
    assert finding.what == "Water through the land of others: as drawn, 124.7 ft of trench in it"


def test_a_routed_trench_goes_through_nothing_that_is_never_dug() -> None:
    made = scene([POND])
    assert list(check_drawn(made, laid(made, asks()))) == []


DRAWN = thing("sketch", "drawn_route", LineString([(10, 50), (30, 30), (60, 30), (80, 50)]))


def test_a_drawn_trench_lies_where_it_was_drawn_and_another_joins_it() -> None:
    barn = thing("barn", "building", box(50, 5, 70, 20))
    layout = plan([DRAWN, barn], [replace(WATER, drawn="sketch"), line("more", "water", "barn")])
    way = layout.way("water")
    assert isinstance(way, LineString)
    assert shapely.hausdorff_distance(way, DRAWN.shape, densify=0.01) < 1e-6
    (branch,) = (reach for reach in layout.reaches if reach.ends_at == "barn")
    assert branch.parent == "Main"
    assert DRAWN.shape.distance(Point(branch.path.coords[0])) < 1e-6
    assert branch.length_m == pytest.approx(10.0)
    assert [item.amount for item in layout.bill if item.row == "tee"] == [1.0]


def test_a_trench_drawn_from_a_tee_begins_on_the_trench_of_its_line() -> None:
    sketch = thing("sketch", "drawn_route", LineString([(50, 50.5), (50, 80)]))
    tap = thing("tap", "hydrant", Point(50, 80))
    layout = plan([sketch, tap], [WATER, replace(line("more", "water", "tap"), drawn="sketch")])
    main, branch = layout.reaches
    assert (main.ends_at, branch.ends_at, branch.parent) == ("house", "tap", "Main")
    assert main.path.distance(Point(branch.path.coords[0])) < 1e-9
    assert branch.path.length == pytest.approx(30.0, abs=1e-6)
    assert branch.path.covers(sketch.shape)


def test_a_line_begins_at_the_well_where_joining_what_is_drawn_is_dearer() -> None:
    """The barn is nearer to the well than to all that is drawn but its beginning, and there it needs no tee."""
    barn = thing("barn", "building", box(5, 70, 15, 80))
    layout = plan([DRAWN, barn], [replace(WATER, drawn="sketch"), line("more", "water", "barn")])
    (reach,) = (reach for reach in layout.reaches if reach.ends_at == "barn")
    assert reach.path.coords[0] == pytest.approx((10, 50))
    assert reach.length_m == pytest.approx(20.0)
    assert not [item for item in layout.bill if item.row == "tee"]


def test_a_line_begins_where_that_is_cheapest() -> None:
    """20 m from the barn at $11 a foot, 70 m from the well, which is told as the other way."""
    barn = thing("barn", "building", box(50, 40, 60, 60))
    open_line = line("power", "well", "house", "electric")
    lines = [replace(open_line, choices=("well", "barn"))]
    settled, others = with_sources(scene([barn], lines), lambda _: asks())
    assert settled.line("power").start == "barn"
    layout = laid(settled, asks())
    assert layout.price == pytest.approx(20 / 0.3048 * 11)
    (other,) = others
    assert other.name == "Power from Well"
    assert other.price > layout.price
    assert other.why.startswith("$")
    assert " dearer: " in other.why


def test_a_start_that_is_settled_has_no_alternatives() -> None:
    settled, others = with_sources(scene(), lambda _: asks())
    assert (settled, others) == (scene(), ())


def test_a_line_that_begins_on_a_buried_line_taps_it_where_it_is_near() -> None:
    """1 m by hand in its tolerance zone at $30 a foot, 19 m by machine at $8, $3 a foot to put back, a tee; no crossing."""
    main = thing("main", "buried_line", LineString([(60, 0), (60, 100)]))
    layout = plan([main], [line("water", "main", "house")])
    (reach,) = layout.reaches
    assert reach.path.coords[0][0] == pytest.approx(60.0)
    assert layout.price == pytest.approx((1 * 30 + 19 * 8 + 20 * 3) / 0.3048 + 120)
    assert [item.amount for item in layout.bill if item.row == "tee"] == [1.0]


def test_two_ends_on_a_tapped_line_share_one_tap_where_that_is_cheaper() -> None:
    """Two ends 20 m from the line: 2 m apart they share a trench, a tap and a tee; 40 m apart each has a tap of its own."""
    main = thing("main", "buried_line", LineString([(60, 0), (60, 100)]))
    for apart_m, lengths in ((2.0, 1), (40.0, 2)):
        ends = [thing(f"e{n}", "hydrant", Point(80, 50 + n * apart_m)) for n in (0, 1)]
        made = site([PARCEL, main, *ends], [line("a", "main", "e0"), line("b", "main", "e1")])
        layout = laid(made, asks())
        on_main = [
            reach for reach in layout.reaches if main.shape.distance(Point(reach.path.coords[0])) < 1e-6
        ]
        assert len(on_main) == lengths
        tees = sum(item.amount for item in layout.bill if item.row == "tee")
        assert len(on_main) <= tees <= 2


def test_what_hangs_on_a_trench_drawn_from_a_tee_joins_it() -> None:
    """By hand: 70 m to the house, 30 m from there to the barn past the hydrant, which needs no trench of its own."""
    things = [
        thing("barn", "building", box(40, 80, 50, 90)),
        thing("hydrant", "hydrant", Point(45, 65)),
        thing("branch", "drawn_route", LineString([(45, 50), (45, 65), (45, 80)])),
    ]
    to_barn = replace(line("to-barn", "water", "barn"), drawn="branch")
    layout = plan(things, [WATER, to_barn, line("to-hydrant", "to-barn", "hydrant")])
    assert layout.length_m == pytest.approx(100.0, abs=0.1)
