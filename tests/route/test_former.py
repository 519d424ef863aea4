"""Former trenches hung between the start and the ends of a group as they lie now."""

from __future__ import annotations

from dataclasses import replace

import pytest
from route_scenes import asks, laid, line, site, thing
from shapely import LineString, Point, Polygon, box

from siteplan.errors import NoRoute
from siteplan.route.approach import Approach
from siteplan.route.former import net_before
from siteplan.route.layout import lay
from siteplan.route.model import Layout
from siteplan.route.separate import Together, together
from siteplan.site.site import Site

RULES = asks([])


def yard() -> Site:
    """A field with a well, two hydrants, a pond between them, and one line to each of the two."""
    features = [
        thing("parcel", "parcel", box(0, 0, 100, 100)),
        thing("well", "well", Point(10, 10)),
        thing("near", "hydrant", Point(60, 10)),
        thing("far", "hydrant", Point(60, 60)),
        thing("pond", "pond", box(30, 5, 36, 30)),
    ]
    return site(features, [line("one", "well", "near"), line("two", "one", "far")])


def group_of(scene: Site) -> Together:
    (group,) = together(scene, RULES)
    return group


def at(name: str, x: float, y: float) -> Approach:
    return Approach(feature=name, places=((Point(x, y), (0.0, 0.0)),), leg_m=0.0)


ENDS = {"near": at("near", 60, 10), "far": at("far", 60, 60)}


def test_a_layout_as_a_net_has_the_same_trenches() -> None:
    scene = yard()
    layout = laid(scene, RULES)
    net = net_before(layout, group_of(scene), at("well", 10, 10), ENDS)
    assert net is not None
    assert net.links().length == pytest.approx(layout.length_m, abs=0.01)
    assert {net.at[net.end.index(0)], net.at[net.end.index(1)]} == {(60.0, 10.0), (60.0, 60.0)}
    assert net.above.count(-1) == 1


def test_start_and_ends_lie_where_they_are_now_and_the_bends_where_they_lay() -> None:
    scene = yard()
    layout = laid(scene, RULES)
    start, ends = at("well", 12, 11), {**ENDS, "far": at("far", 66, 70)}
    here = net_before(layout, group_of(scene), at("well", 10, 10), ENDS)
    net = net_before(layout, group_of(scene), start, ends)
    assert net is not None
    assert here is not None
    assert net.at[0] == (12.0, 11.0)
    assert net.at[net.end.index(1)] == (66.0, 70.0)
    free = [node for node in range(len(net.at)) if net.is_free(node)]
    assert free
    assert [net.at[node] for node in free] == [here.at[node] for node in free]


def test_another_line_start_or_end_is_not_followed() -> None:
    scene = yard()
    layout = laid(scene, RULES)
    lines = scene.lines
    more = replace(scene, lines=(*lines, line("three", "two", "near")))
    away = replace(scene, lines=(lines[0], replace(lines[1], start="near")))
    assert net_before(layout, group_of(more), at("well", 10, 10), ENDS) is None
    groups = together(away, RULES)
    assert all(
        net_before(layout, group, at("near", 60, 10), ENDS) is None
        for group in groups
        if group.root != "well"
    )


def follow(scene: Site, former: Layout) -> Layout:
    return lay(scene, RULES, thorough=False, former=former)


def test_a_pond_that_grows_over_the_trench_is_gone_round() -> None:
    scene = yard()
    layout = laid(scene, RULES)
    grown = replace(
        scene,
        features=tuple(
            replace(each, shape=box(30, 2, 44, 50)) if each.id == "pond" else each for each in scene.features
        ),
    )
    first, searched = follow(grown, layout), laid(grown, RULES)
    assert first.followed
    assert not any(reach.path.crosses(box(30, 2, 44, 50)) for reach in first.reaches)
    assert first.price <= searched.price * 1.01


def test_where_nothing_closes_the_way_any_more_the_trench_gets_straight() -> None:
    """The tee stays at the end where it was: a search finds a better place for it."""
    scene = yard()
    layout = laid(scene, RULES)
    dry = replace(scene, features=tuple(each for each in scene.features if each.id != "pond"))
    first, searched = follow(dry, layout), laid(dry, RULES)
    assert first.followed
    assert first.reaches[0].path.equals_exact(LineString([(10, 10), (60, 10)]), 1e-6)
    assert searched.price <= first.price <= searched.price * 1.02


def single(pond: Polygon) -> Site:
    """A field with a well, one hydrant, and a pond."""
    features = [
        thing("parcel", "parcel", box(0, 0, 100, 100)),
        thing("well", "well", Point(10, 10)),
        thing("far", "hydrant", Point(60, 40)),
        thing("pond", "pond", pond),
    ]
    return site(features, [line("one", "well", "far")])


def test_a_single_trench_is_followed_round_a_pond_that_grows() -> None:
    layout = laid(single(box(30, 5, 36, 24)), RULES)
    grown = single(box(29, 5, 37, 32))
    first, searched = follow(grown, layout), laid(grown, RULES)
    assert first.followed
    assert not searched.followed
    assert not first.reaches[0].path.crosses(box(29, 5, 37, 32))
    assert searched.price * 0.999 <= first.price <= searched.price * 1.01


def test_where_nothing_was_moved_a_single_trench_stays() -> None:
    scene = single(box(30, 5, 36, 24))
    layout = laid(scene, RULES)
    first = follow(scene, layout)
    assert first.followed
    assert first.price == pytest.approx(layout.price, rel=1e-4)
    assert first.reaches[0].path.hausdorff_distance(layout.reaches[0].path) < 0.1


def test_a_single_trench_to_an_end_that_is_shut_off_is_refused_in_the_same_words() -> None:
    """Nothing can be followed there, so the way is looked for and what closes it is said."""
    layout = laid(single(box(30, 5, 36, 24)), RULES)
    moat = single(box(50, 30, 70, 50).difference(box(52, 32, 68, 48)))
    with pytest.raises(NoRoute) as searched:
        laid(moat, RULES)
    with pytest.raises(NoRoute) as first:
        follow(moat, layout)
    assert str(first.value) == str(searched.value)
    assert first.value.blockers == searched.value.blockers == ("pond",)
