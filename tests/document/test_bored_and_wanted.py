"""A bored stretch and what only says where a line is wanted: how each looks on the sheets and on the map."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace

import pytest
from shapely import LineString, Point, box
from shapely.geometry import shape

from siteplan.document.geojson import plan_geojson
from siteplan.document.hazards import hand_dig_stretches, hazards
from siteplan.document.locate_request import answers, locate_request
from siteplan.document.map_cards import cards
from siteplan.document.map_lettering import labels
from siteplan.document.map_profile import profile
from siteplan.document.map_shapes import bounds, drawn
from siteplan.document.model import Plan
from siteplan.document.route_sheet import route_sheet
from siteplan.document.setback_review import setback_review
from siteplan.document.trench_section import is_opened
from siteplan.measure.model import Interval
from siteplan.measure.spoil import NO_ROOM
from siteplan.measure.sweeps import lines_in_arcs
from siteplan.route.model import Bored
from siteplan.route.strip import Fit
from siteplan.site.catalogue import products
from siteplan.site.features import Feature
from tests.document.printed import said, sheet_of
from tests.document.sample_plan import MAIN, REACHES, on_drive, sample_plan, thing

FROM_M, TO_M = on_drive(REACHES[0])
WANTED = (
    thing("here", "pass_point", "Pass the stump", Point(20, 30)),
    thing("owners", "drawn_route", "As the owner drew it", LineString([(9, 38), (30, 30), (38, 15)])),
)
COVERS = (
    thing("lawn", "lawn", "South lawn", box(1, 19, 20, 30)),
    thing("wood", "woods", "Beech wood", box(45, 41, 60, 45)),
    thing("meadow", "field", "Meadow", box(1, 41, 10, 45)),
)


def bored_plan() -> Plan:
    """The sample with Main bored under the drive, and no room for the pile on 3 m of it."""
    plan = sample_plan()
    bored = replace(REACHES[0], bored=(Bored(feature="drive", from_m=FROM_M, to_m=TO_M),))
    cramped = Interval(reach="Main", from_m=2.0, to_m=5.0, what=NO_ROOM)
    fits = (
        Fit(0.0, 2.0, "left"),
        Fit(2.0, 5.0, "neither"),
        Fit(5.0, 9.0, "right"),
        Fit(9.0, MAIN.length, "left"),
    )
    works = replace(
        plan.works,
        stations=tuple(replace(each, section=each.section or "1") for each in plan.works.stations),
        intervals=(*plan.works.intervals, cramped),
        spoil=(replace(plan.works.spoil[0], fits=fits), *plan.works.spoil[1:]),
    )
    return replace(plan, layout=replace(plan.layout, reaches=(bored, *REACHES[1:])), works=works)


def with_features(*more: Feature) -> Plan:
    plan = sample_plan()
    return replace(plan, site=replace(plan.site, features=(*plan.site.features, *more)))


def test_the_route_sheet_says_where_it_is_bored_and_where_no_pile_fits() -> None:
    text = said(sheet_of(route_sheet, bored_plan()))
    assert "under Gravel drive: do not open." in text
    assert "NO ROOM FOR SPOIL, haul it: 0+06.6 to 0+16.4." in text
    assert "Spoil RIGHT 0+16.4 to 0+29.5." in text
    assert "SPOIL LEFT, looking up-station, not all along" in text
    assert "bored, not opened" in text  # the legend
    assert "bored, not opened" not in said(sheet_of(route_sheet, sample_plan()))


def test_neither_is_among_what_can_hurt() -> None:
    assert hazards(bored_plan()) == hazards(sample_plan())


def test_a_section_that_is_bored_wherever_it_holds_has_no_trench() -> None:
    plan = bored_plan()
    whole = replace(
        plan.layout,
        reaches=tuple(
            replace(reach, bored=(Bored(feature="drive", from_m=0.0, to_m=reach.length_m),))
            for reach in REACHES
        ),
    )
    assert not any(is_opened(replace(plan, layout=whole), section) for section in plan.works.sections)
    assert all(is_opened(sample_plan(), section) for section in plan.works.sections)
    text = said(sheet_of(route_sheet, replace(plan, layout=whole)))
    assert text.count(", BORED,") == len(plan.works.sections)


def test_the_call_taker_is_told_of_the_bore() -> None:
    told = dict(answers(bored_plan()))["Explosives, boring, near a railway"]
    assert told.startswith("boring under Gravel drive; explosives, railway: ____")
    assert set(dict(answers(sample_plan()))["Explosives, boring, near a railway"]) == {"_"}


def test_the_map_shows_the_casing_over_the_trench() -> None:
    plan = bored_plan()
    shapes = list(drawn(plan))
    bores = [each for each in shapes if each.ref == "bore-main-1"]
    assert [each.classes for each in bores] == ["line bored-not-opened", "line bore-inside"]
    assert all(each.shape.length == pytest.approx(TO_M - FROM_M) for each in bores)
    last_trench = max(n for n, each in enumerate(shapes) if each.classes == "line trench")
    assert shapes.index(bores[0]) > last_trench
    card = cards(plan)["bore-main-1"]
    assert ("Under", "Gravel drive") in card["rows"]
    assert 'class="bore"' in profile(plan, plan.layout.reaches[0])
    assert any(NO_ROOM in dict(each["rows"]).get("Spoil", "") for each in cards(plan).values())


def test_plan_geojson_says_where_it_is_bored() -> None:
    data = {each["id"]: each["properties"] for each in json.loads(plan_geojson(bored_plan()))["features"]}
    assert data["trench-Main"]["bored"] == [
        {"of": "drive", "from_m": pytest.approx(FROM_M, abs=1e-4), "to_m": pytest.approx(TO_M, abs=1e-4)}
    ]
    assert data["trench-A"]["bored"] == []
    assert {"what": NO_ROOM, "from_m": 2.0, "to_m": 5.0, "row": ""} in data["trench-Main"]["intervals"]


def test_lines_lie_in_arcs_in_plan_geojson() -> None:
    """The least radius of the product, from the circle through each three places that follow each other."""
    plan = sample_plan()
    eased = tuple(lines_in_arcs(plan.site, plan.layout, plan.works.pulls))
    arced = replace(plan, works=replace(plan.works, eased=eased))
    lines = {each["id"]: each for each in json.loads(plan_geojson(arced))["features"]}
    line = lines["line-water-house"]
    radius_m = products()["pe-1-ips"].least_radius_m
    assert line["properties"]["least_radius_m"] == pytest.approx(radius_m, abs=1e-4)
    places = plan.frame.to_ground(shape(line["geometry"])).coords
    assert len(places) > len(MAIN.coords)
    for a, b, c in zip(places, places[1:], places[2:], strict=False):
        triangle = shape({"type": "Polygon", "coordinates": [[a, b, c, a]]})
        sides = [Point(p).distance(Point(q)) for p, q in ((a, b), (b, c), (c, a))]
        if triangle.area > 1e-7:
            assert (
                sides[0] * sides[1] * sides[2] / (4 * triangle.area) >= radius_m * 0.98
            )  # 0.1 mm of rounding


@pytest.mark.parametrize("sheet", [route_sheet, locate_request, setback_review])
def test_what_is_only_wanted_is_no_thing_on_the_ground(sheet: Callable[[Plan], bytes]) -> None:
    text = said(sheet_of(sheet, with_features(*WANTED)))
    assert "Pass the stump" not in text
    assert "As the owner drew it" not in text
    assert said(sheet_of(sheet, sample_plan())) == text


def test_what_is_only_wanted_is_with_the_other_ways_on_the_map() -> None:
    plan = with_features(*WANTED)
    number = len(sample_plan().site.features) + 1
    found = {each.ref: each for each in drawn(plan) if each.group == "other"}
    cross, route = found[f"thing-{number}"], found[f"thing-{number + 1}"]
    assert (cross.classes, route.classes) == ("line pass-point", "line drawn-route")
    assert (cross.shape.centroid.x, cross.shape.centroid.y) == pytest.approx((20, 30))
    assert 0.5 < cross.shape.bounds[2] - cross.shape.bounds[0] < 1.5
    assert route.shape.equals(WANTED[1].shape)
    groups = {each["text"]: each["group"] for each in labels(plan)}
    assert groups["Pass the stump"] == groups["As the owner drew it"] == "other"
    assert bounds(plan) == bounds(sample_plan())
    themes = {each["id"]: each["properties"]["theme"] for each in json.loads(plan_geojson(plan))["features"]}
    assert themes["here"] == themes["owners"] == "wanted way"
    assert themes["well"] == "site"


def test_lawn_field_and_woods_are_quiet_and_named_inside() -> None:
    plan = with_features(*COVERS)
    assert "lawn, field, woods" in said(sheet_of(route_sheet, plan))
    looks = [each.classes for each in drawn(plan) if "lawn-field-woods" in each.classes]
    assert [classes.split()[2] for classes in looks] == ["lawn", "woods", "field"]
    named = {each["text"]: each for each in labels(plan)}
    for each in COVERS:
        assert named[each.name]["inside"]
        assert "along" not in named[each.name]
    assert bounds(plan) == bounds(sample_plan())


def test_a_crossing_in_a_bore_is_found_first_and_not_dug() -> None:
    plan = bored_plan()
    none = tuple(
        replace(each, hand_from_m=each.distance_m, hand_to_m=each.distance_m) for each in plan.works.crossings
    )
    intervals = tuple(each for each in plan.works.intervals if not each.what.startswith("hand dig"))
    quiet = replace(plan, works=replace(plan.works, crossings=none, intervals=intervals))
    said_of = [words for words in hazards(quiet) if "crossing 1," in words]
    assert said_of[0].startswith("FIND IT FIRST Main ")
    assert not [words for words in hazards(quiet) if "HAND DIG" in words]
    assert hand_dig_stretches(quiet) == []
    assert not [each for each in drawn(quiet) if "hand-dig" in each.classes]
